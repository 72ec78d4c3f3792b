"""One profile for all property tests: fixed seed, so that a failure can be repeated; long tests only on demand."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings

from support.kept_plans import keep_plans
from support.quick import LEFT_OUT_OF_QUICK, QUICK, Spent, has_quick
from support.shared_out import ByFile, rank_of, unit_of

settings.register_profile(
    "fixed",
    derandomize=True,
    max_examples=100,
    deadline=None,
    database=None,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("fixed")


def pytest_configure(config: pytest.Config) -> None:
    """`-m quick` measures itself, and fails when it outgrows its budget."""
    if config.option.markexpr == QUICK:
        config.pluginmanager.register(Spent(config), "spent by the quick tests")


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """`-m quick` imports only files that have a quick test."""
    is_test = collection_path.name.startswith("test_") and collection_path.suffix == ".py"
    return True if is_test and config.option.markexpr == QUICK and not has_quick(collection_path) else None


def mark_shares(items: list[pytest.Item]) -> None:
    """Of the cases of a test marked `share(n)` every n-th stays, the first among them; the others are `soak`."""
    seen: Counter[str] = Counter()
    for item in items:
        share = item.get_closest_marker("share")
        if share is not None:
            name = item.nodeid.partition("[")[0]
            if seen[name] % share.args[0]:
                item.add_marker(pytest.mark.soak)
            seen[name] += 1


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leaves out what is marked `soak`, unless `-m` speaks of it; workers begin with what takes longest.

    A quick file may hold slow tests: `-m quick` leaves them out too. Where `CI` is set a browser test that fails is run
    once more, and the summary names it as run again: a first failure is to be looked into, as faults of pages show so.
    """
    mark_shares(items)
    left = LEFT_OUT_OF_QUICK if config.option.markexpr == QUICK else ("soak",)
    if "soak" not in config.option.markexpr:
        long = [item for item in items if any(item.get_closest_marker(name) for name in left)]
        config.hook.pytest_deselected(items=long)
        gone = set(map(id, long))
        items[:] = [item for item in items if id(item) not in gone]
    if os.environ.get("CI"):
        for item in items:
            if item.get_closest_marker("browser"):
                item.add_marker(pytest.mark.flaky(reruns=1))
    if hasattr(config, "workerinput"):
        items.sort(key=lambda item: rank_of(unit_of(item.nodeid)))


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> Any:
    """With `--dist loadgroup`, files and groups of files go to the workers as a whole."""
    if config.getoption("dist") != "loadgroup":
        return None
    config.option.loadscopereorder = False
    return ByFile(config, log)


@pytest.fixture(autouse=True, scope="session")
def _kept_plans() -> Iterator[None]:
    """One bank, asked again and again, is planned once a process."""
    with pytest.MonkeyPatch.context() as patch:
        keep_plans(patch)
        yield

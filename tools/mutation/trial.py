"""One change tried in a process of its own: a changed function, or a changed constant, in the place of what is loaded.

Gives: in_a_child(), failure(), with_function(), with_constant(). Nothing is written to the tree.
"""

from __future__ import annotations

import ast
import contextlib
import gc
import io
import json
import os
import select
import signal
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from types import CodeType, FunctionType
from typing import Any

import pytest
from _pytest.runner import runtestprotocol

from mutation.changes import SRC, Change

__all__ = ["failure", "in_a_child", "with_constant", "with_function"]


def in_a_child(work: Callable[[], Any], seconds: float) -> Any:
    """What `work` returns, as JSON, from a forked process; None where it does not end in time or dies."""
    inlet, outlet = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(inlet)
        with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
            try:
                answer = json.dumps(work())
            except BaseException as error:
                answer = json.dumps(f"{type(error).__name__}")
        with os.fdopen(outlet, "w") as stream:
            stream.write(answer)
        os._exit(0)
    os.close(outlet)
    return _answer(inlet, child, seconds)


def _answer(inlet: int, child: int, seconds: float) -> Any:
    text = b""
    with os.fdopen(inlet, "rb", buffering=0) as stream:
        while select.select([stream], [], [], seconds)[0]:
            part = stream.read(65536)
            if not part:
                break
            text += part
        else:
            os.kill(child, signal.SIGKILL)
            text = b""
    os.waitpid(child, 0)
    return json.loads(text) if text else None


def failure(items: Sequence[pytest.Item]) -> str | None:
    """The first of these tests that fails; None if all pass."""
    for n, item in enumerate(items):
        following = items[n + 1] if n + 1 < len(items) else None
        reports = runtestprotocol(item, log=False, nextitem=following)
        if any(report.failed for report in reports):
            return item.nodeid
    return None


def _codes(code: CodeType) -> list[CodeType]:
    return [code, *(each for const in code.co_consts if isinstance(const, CodeType) for each in _codes(const))]


def with_function(change: Change, items: Sequence[pytest.Item]) -> str | None:
    """The first test that fails with the changed function in the place of the one that is loaded."""
    path = str(SRC / change.file)
    text = change.applied(Path(path).read_text("utf-8"))
    name = change.place.removesuffix("()").rpartition(".")[2]
    new = next(
        c
        for c in _codes(compile(text, path, "exec", dont_inherit=True))
        if c.co_firstlineno == change.head and c.co_name == name
    )
    loaded = [
        each
        for each in gc.get_objects()
        if isinstance(each, FunctionType)
        and each.__code__.co_filename == path
        and each.__code__.co_firstlineno == change.head
        and each.__code__.co_name == name
    ]
    for function in loaded:
        function.__code__ = new
    return failure(items) if loaded else "not loaded"


def with_constant(change: Change, items: Sequence[pytest.Item]) -> str | None:
    """The first test that fails with a changed constant, set in its module and wherever it was imported by name."""
    module = sys.modules[".".join(["bankwright", *Path(change.file).with_suffix("").parts])]
    tree = ast.parse(change.applied((SRC / change.file).read_text("utf-8")))
    before = dict(vars(module))
    for node in tree.body:
        if isinstance(node, ast.Assign | ast.AnnAssign) and _names(node) & set(change.names):
            exec(compile(ast.Module([node], []), change.file, "exec"), vars(module))
    for name in change.names:
        for other in list(sys.modules.values()):
            if getattr(other, "__name__", "").startswith(("bankwright", "tests", "test_", "support")):
                for key, value in list(vars(other).items()):
                    if value is before.get(name) and key == name:
                        setattr(other, key, vars(module)[name])
    return failure(items)


def _names(node: ast.Assign | ast.AnnAssign) -> set[str]:
    targets = node.targets if isinstance(node, ast.Assign) else [node.target]
    return {each.id for target in targets for each in ast.walk(target) if isinstance(each, ast.Name)}


sys.setrecursionlimit(max(sys.getrecursionlimit(), 3000))

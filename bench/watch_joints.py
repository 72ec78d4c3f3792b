"""The bench of joint growth: months of pretend banks through the product's own code, one line of JSON each.

`python bench/watch_joints.py run OUT [--part K/N] [--months M]` goes on where OUT ends; `table OUT` prints the tables
of docs/watch-joints.md; `sum OUT` prints one line of JSON: what came of it in words, whether it is whole, CPU seconds.
Seeds begin at 1000; nothing was tuned on them.
"""

from __future__ import annotations

import argparse
import json
import random
import sys
import time
from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path
from typing import Any

sys.path[:0] = [str(Path(__file__).parents[1] / name) for name in ("src", "tests")]

from support.joints.trial import KINDS, OTHERS, Plan, trial  # noqa: E402

COMMON = "2 s, 10 mV"
WIRINGS = ("bars", "chain opposite ends", "chain same end")
GROWN = {0.0: 16, 3e-4: 16, 1e-4: 6, 1e-3: 4}  # months of each, by size


def plans() -> tuple[Plan, ...]:
    """Every month, shuffled once and for all, so that any beginning of the list holds some of each."""
    found = list(_plans())
    random.Random(0).shuffle(found)
    return tuple(Plan(**{**asdict(plan), "seed": 1000 + k}) for k, plan in enumerate(found))


def _plans() -> Iterator[Plan]:
    for modules in (4, 8, 16):
        for wiring in WIRINGS:
            for growth, count in GROWN.items():
                yield from [Plan(modules, wiring, COMMON, 0, growth)] * count
    for wiring in WIRINGS[:2]:
        for kind in KINDS:
            if kind != COMMON:
                yield from [Plan(8, wiring, kind, 0)] * 2
                yield Plan(8, wiring, kind, 0, 3e-4)
        yield from [Plan(8, wiring, "30 s, 10 mV", 0, 1e-3)] * 4
        yield from [Plan(8, wiring, "5 s, 10 mV", 0, 3e-4)] * 3
        yield from [Plan(8, wiring, COMMON, 0, busy=0.0)] * 2
        for other in OTHERS:
            yield from [Plan(8, wiring, COMMON, 0, other=other)] * 2


def run(out: Path, part: str, months: int) -> None:
    """Run what is not in the file yet."""
    number, of = (int(text) for text in part.split("/"))
    done = {json.loads(line)["plan"]["seed"] for line in out.read_text().splitlines()} if out.exists() else set()
    for plan in plans()[:months]:
        if plan.seed in done or plan.seed % of != number % of:
            continue
        begin = time.process_time()
        found = trial(plan).values()
        found["seconds"] = time.process_time() - begin
        with out.open("a") as file:
            file.write(json.dumps(found) + "\n")


def tables(lines: list[str]) -> str:
    """The tables of docs/watch-joints.md."""
    rows = list({row["plan"]["seed"]: row for row in map(json.loads, lines)}.values())
    kinds: dict[tuple[str, int, str], list[dict[str, Any]]] = {}
    others: dict[str, list[dict[str, Any]]] = {}
    for row in rows:
        plan = row["plan"]
        kind = plan["kind"] if plan["busy"] else f"{plan['kind']}, quiet days"
        if plan["other"]:
            others.setdefault(plan["other"], []).append(row)
        else:
            kinds.setdefault((kind, plan["modules"], plan["wiring"]), []).append(row)
    order = sorted(kinds, key=lambda key: (key[0] != COMMON, *key))
    days = sum(row["hours"] for row in rows) / 24
    text = [
        f"{len(rows)} bank-months were run, {days / 365:.1f} bank-years of healthy hours behind the baseline in them.",
        "",
    ]
    text += [
        "| telemetry | modules, wiring | months | healthy years | days with a false alarm | highest z |"
        " sigma of a day, branch; variance over bound | the same, shared links |",
        "| --- " * 8 + "|",
    ]
    text += [_healthy_row(key, kinds[key]) for key in order]
    text += [
        "",
        "| telemetry | modules, wiring | growth | how | trials | within 24 h | within 10 days | right group |"
        " hours to alarm, median and worst |",
        "| --- " * 9 + "|",
    ]
    text += [line for key in order for line in _growth_rows(key, kinds[key])]
    text += [
        "",
        "| what else happens | months | days with an alarm for a joint | highest z of the last day |",
        "| --- " * 4 + "|",
    ]
    text += [
        f"| {name} | {len(found)} | {sum(r['alarms'] for r in found)} | {max(r['last_day'] for r in found):.1f} |"
        for name, found in sorted(others.items())
    ]
    return "\n".join(text)


def summed(lines: list[str]) -> dict[str, Any]:
    """All of it in a few words."""
    rows = list({row["plan"]["seed"]: row for row in map(json.loads, lines)}.values())
    count, alarms, years = len(plans()), sum(row["alarms"] for row in rows), sum(row["hours"] for row in rows) / 8760
    found = [part for row in rows for part in (*row["grown"], *row["added"]) if abs(part[0] - 3e-4) < 1e-6]
    day = sum(part[2] <= 24 for part in found)
    right = [part[3] for part in found if part[2] < float("inf")]
    words = f"{len(rows)} of {count} months; {alarms} days with a false alarm in {years:.2f} healthy bank-years"
    words += f"; +0.3 mohm: {day} of {len(found)} within a day, {sum(right)} of {len(right)} in the right group"
    seconds = round(sum(row.get("seconds", 0.0) for row in rows))
    return {"result": words, "whole": len(rows) == count, "seconds": seconds}


def _healthy_row(key: tuple[str, int, str], rows: list[dict[str, Any]]) -> str:
    cells = []
    for name in ("branch", "shared"):
        told = [part for row in rows for part in row["ratio"] if part[0] == name and part[3]]
        count = sum(part[3] for part in told)
        sigma = (sum(part[2] for part in told) / count) ** 0.5 * 1e6 if count else float("nan")
        cells.append(f"{sigma:.1f} uohm; {sum(part[1] for part in told) / count:.2f}" if count else "none")
    hours = sum(row["hours"] for row in rows)
    worst = max(row["worst"] for row in rows)
    return (f"| {key[0]} | {key[1]}, {key[2]} | {len(rows)} | {hours / 8760:.2f} | {sum(r['alarms'] for r in rows)} | "
            f"{worst:.1f} | {cells[0]} | {cells[1]} |")  # fmt: skip


def _growth_rows(key: tuple[str, int, str], rows: list[dict[str, Any]]) -> Iterator[str]:
    for how in ("grown", "added"):
        trials = [(row.get("older_naming", False), part) for row in rows for part in row[how]]
        for size in sorted({part[0] for _, part in trials}):
            mine = [(old, part) for old, part in trials if part[0] == size]
            hours = sorted(part[2] for _, part in mine)
            named = [part[3] for old, part in mine if not old and part[2] < float("inf")]
            right = f"{sum(named)} of {len(named)}" if named else "named by the older rule"
            day, ten = (sum(h <= limit for h in hours) for limit in (24, 240))
            worst = "not within the record" if hours[-1] == float("inf") else f"{hours[-1]:.0f}"
            middle = hours[len(hours) // 2]
            told = "not" if middle == float("inf") else f"{middle:.0f}"
            yield (f"| {key[0]} | {key[1]}, {key[2]} | +{size * 1e3:.1f} mohm | {how} | {len(hours)} | {day} | {ten} | "
                   f"{right} | {told}; {worst} |")  # fmt: skip


def main() -> None:
    """Read the command line."""
    parser = argparse.ArgumentParser()
    parser.add_argument("what", choices=["run", "table", "sum"])
    parser.add_argument("out", type=Path)
    parser.add_argument("--part", default="1/1")
    parser.add_argument("--months", type=int, default=10**6)
    given = parser.parse_args()
    if given.what == "run":
        run(given.out, given.part, given.months)
    elif given.what == "sum":
        print(json.dumps(summed(given.out.read_text().splitlines())))
    else:
        print(tables(given.out.read_text().splitlines()))


if __name__ == "__main__":
    main()

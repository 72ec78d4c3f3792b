"""Growth of the whole plan with the number of modules, in CPU time of one thread; prints a table, tests nothing.

All checks of the invented five-module bank of the tests, with more modules: on bars as it stands, and as a chain.
Run: python bench/bench_plan.py
"""

from __future__ import annotations

import os
import re
import sys
import time
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT / "src"), str(ROOT / "tests")]

from bankwright.bank.model import Bank  # noqa: E402
from bankwright.plan.context import plan_of  # noqa: E402
from bankwright.plan.results import findings_of  # noqa: E402
from support.banks import bank_of, sample_path  # noqa: E402

COUNTS = (8, 16, 32, 64)
ASKED = {16: 1.0, 32: 2.0, 64: 6.0}  # s of CPU
BAR_PARTS = (r"\[\[bars\]\].*?(?=\[\[links\]\])", r'\[\[devices\]\]\nname = "FB".*?(?=\[\[devices\]\])')
FAR_LINK = r"\[\[links\]\].*?(?=\[\[devices\]\])"


def bank(count: int, chain: bool) -> Bank:
    text = sample_path("five").read_text(encoding="utf-8")
    modules = "".join(f'[[modules]]\nname = "M{k}"\nkind = "M100"\nslot = {k}\n\n' for k in range(1, count + 1))
    text = re.sub(r"\[\[racks\]\].*?(?=\[wiring\])", lambda _: modules, text, flags=re.DOTALL)
    for old, new in (("most = 16", "most = 64"), ("switches = 4", "switches = 7"), ("most = 15", "most = 120")):
        text = text.replace(old, new)
    if chain:
        text = text.replace('pattern = "busbar"', 'pattern = "chain"')
        for part in (*BAR_PARTS, FAR_LINK):
            text = re.sub(part, "", text, flags=re.DOTALL)
    return bank_of(text)


def main() -> None:
    print("every check of a bank, seconds of CPU (findings)\nmodules      on bars        chain        asked")
    for count in COUNTS:
        row = f"{count:7d}"
        for chain in (False, True):
            made = bank(count, chain)
            start = time.process_time()
            found = findings_of(plan_of(made))
            row += f"  {time.process_time() - start:7.2f} ({len(found)})"
        print(f"{row}  {ASKED.get(count, '')}")


if __name__ == "__main__":
    main()

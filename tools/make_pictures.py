"""Writes the drawings under docs/pictures: from the demo banks, from the starter file, and the parts by name.

`make pictures` runs it. Screenshots of the page are written by tests/web and tools of the page, not here.
"""

import sys
import tempfile
from pathlib import Path

from pictures_of_words import named_parts, where_to_look

from bankwright import draw
from bankwright.bank.texts.starter import Start, first_document
from bankwright.circuit.cases import FULL
from bankwright.job import Job, open_bank
from bankwright.job.suggesting import suggest

ROOT = Path(__file__).parents[1]
PICTURES = ROOT / "docs" / "pictures"


def chain() -> Job:
    """A chain of five modules, as `bankwright new` writes it."""
    path = Path(tempfile.mkdtemp()) / "chain.toml"
    start = Start(title="Starter", modules=5, pattern="chain", feed="opposite ends", inverters=2)
    return Job(path, first_document(start, path).text)


def four(breaker: str) -> Job:
    """The bank of the tutorial, mended as far as its makers' answer."""
    return open_bank(ROOT / "demo" / "four.toml").changed(
        {
            "wiring.link.cable": "4/0 AWG",
            "devices[0].kind": "fuse-225",
            "devices[1].kind": "fuse-225",
            "kinds.module.box-90.breaker.interrupts": breaker,
        }
    )


def on_bars() -> Job:
    """The same bank on bars, as Suggest makes it from the chain."""
    chain = four("10 kA")
    return Job(chain.path, suggest(chain.document).after.text)


def main() -> None:
    job = open_bank(ROOT / "demo" / "barn.toml")
    full = job.steady.case(FULL)
    worst = next(finding for finding in job.findings if draw.gauge(finding) is not None)
    tutorial, bars = four("40 kA"), on_bars()
    drawings = {
        "four-chain": draw.wiring(tutorial.bank, tutorial.steady.case(FULL)),
        "four-bars": draw.wiring(bars.bank, bars.steady.case(FULL)),
        "words": named_parts(),
        "where-to-look": where_to_look(),
        "wiring": draw.wiring(job.bank, full, job.findings),
        "wiring-phone": draw.wiring(job.bank, full, job.findings, "phone"),
        "wiring-chain": draw.wiring(chain().bank, case="no case: the starter file holds no resistances"),
        "making": draw.wiring(job.bank, made={"L1-", "L2-", "L3-"}, marked={"L4-"}),
        "one-line": draw.one_line(job.bank),
        "rack": draw.rack(job.bank),
        "shares": draw.shares(job.bank, full, embedded=False),
        "gauge": draw.gauge(worst, embedded=False),
    }
    for name, drawing in drawings.items():
        if drawing is not None:
            print(drawing.save(PICTURES / f"{name}.svg"), file=sys.stderr)


if __name__ == "__main__":
    main()

"""Write docs/sources.md: every source that the handbook rests on, and what for.  python tools/write_sources.py"""

from __future__ import annotations

from itertools import groupby
from pathlib import Path

from bankwright.handbook.sources import Entry, all_sources

PAGE = Path(__file__).parents[1] / "docs" / "sources.md"
HEAD = """# Sources

Made by `tools/write_sources.py` from the handbook. The words in brackets say how a value is known: *read* at the stated
place; *copy*, read in openly published transcriptions of the printed table; *from memory*, not seen, to be checked
before a decision rests on it; *derived* from a stated law; *common practice, no source*. Sources of formulas stand in
the docstrings of `src/bankwright/physics`, those of tests beside each assertion. Addresses that carry a maker's,
seller's or person's name are withheld. A licensed copy of a code outranks everything here; local codes and a licensed
electrician have the last word.
"""


def _line(entry: Entry) -> str:
    seen = f" ({entry.seen})" if entry.seen else ""
    return f"- {entry.source}: `{entry.used_for}`{seen}"


def page() -> str:
    """The whole page."""
    parts = [HEAD]
    for document, entries in groupby(all_sources(), key=lambda entry: entry.source.document):
        lines = dict.fromkeys(_line(entry) for entry in entries)
        parts.append(f"## {document}\n\n" + "\n".join(lines) + "\n")
    return "\n".join(parts)


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")

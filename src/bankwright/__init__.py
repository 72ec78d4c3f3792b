"""Bankwright: plan, buy, build, match and look after a home battery bank, from one bank file.

Gives: the public Python face; names load on first use, so that importing the package costs nothing. Nobody inside
imports this package root.

    import bankwright as bw                     # bankwright new --demo writes barn.toml, an invented bank
    job = bw.open_bank("barn.toml")             # BankFileError.faults: all of them, with line and column
    print(job.findings[0])                      # worst first; each reads as one line
    job.steady.case("full discharge").share("M1"), job.parts.need, job.sheet.steps
    other = job.changed("wiring.main.cable", "350 kcmil")     # refused at once where it cannot stand
    bw.differences(job, other)
    bw.match(job.bank, [bw.reading(f"M{k}", "52.6 V") for k in range(1, 6)], meter="0.5 % + 2 digits")
    bw.draw.wiring(job.bank).save("wiring.svg")

These names keep their meaning and their arguments; what else the package holds may change with any version.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from bankwright import draw
    from bankwright.bank.read import BankFileError
    from bankwright.job import Job, differences, open_bank
    from bankwright.match.face import match, reading

__version__ = "0.1.0"
__all__ = ["BankFileError", "Job", "__version__", "differences", "draw", "match", "open_bank", "reading"]

_HOME = {  # name -> where it lives; a name without a second part is a room itself
    "BankFileError": ("bankwright.bank.read", "BankFileError"),
    "Job": ("bankwright.job", "Job"),
    "differences": ("bankwright.job", "differences"),
    "draw": ("bankwright.draw", ""),
    "match": ("bankwright.match", ""),
    "open_bank": ("bankwright.job", "open_bank"),
    "reading": ("bankwright.match.face", "reading"),
}


def __getattr__(name: str) -> Any:
    """Load a public name when it is first used."""
    if name not in _HOME:
        raise AttributeError(f"bankwright has no public name {name!r}; it has {', '.join(__all__)}")
    room, inner = _HOME[name]
    module = import_module(room)
    return getattr(module, inner) if inner else module


def __dir__() -> list[str]:
    """Public names."""
    return list(__all__)

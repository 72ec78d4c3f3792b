"""The shopping file: what is there already, reels and offcuts, kits, prices, and the rules of counting.

Gives: Shopping, Reel, Kit, read_shopping(), DEFAULT. TOML beside the bank file, every key optional: `kerf`, `trim`,
`strip`, `routing`, `spares`, `currency`; `[have]` and `[price]` by item; `[[reel]]` item, length, price, count,
owned; `[[kit]]` name, number, holds. Items are named as in the parts list (`lug/lug-M8/4/0 AWG`).
Limits: items that the list does not know are faults with the nearest name; they are checked by buy/parts.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any

from bankwright.bank.file.quantity_text import QuantityFault, parse
from bankwright.forms.faults import Fault, QuestionError
from bankwright.forms.nearest import did_you_mean
from bankwright.forms.origin import Place

__all__ = ["DEFAULT", "Kit", "Reel", "Shopping", "read_shopping"]


@dataclass(frozen=True, slots=True)
class Reel:
    """Cable or bar that can be bought or lies there: a reel, a length, an offcut."""

    item: str
    length: float
    price: float | None = None
    count: int | None = None  # None: as many as wanted
    owned: bool = False


@dataclass(frozen=True, slots=True)
class Kit:
    """Bags that come with something: what each holds, and how many bags."""

    name: str
    number: int
    holds: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class Shopping:
    """Rules of counting and what is known of stock and prices. Rules without a source are common practice."""

    kerf: float = 0.0  # m lost at each cut: a cutter takes nothing, a saw 1 to 3 mm
    trim: float = 0.005  # m a cable end, to cut it square
    strip: float = 0.025  # m of insulation taken off each end, where the lug's barrel is not given
    routing: float = 0.0  # share added to every length
    spares: float = 0.05  # share of need, at least one, of what is used up; fuses: one of each type
    currency: str = ""
    have: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    price: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    reels: tuple[Reel, ...] = ()
    kits: tuple[Kit, ...] = ()


DEFAULT = Shopping()
_QUANTITIES = {"kerf": "length", "trim": "length", "strip": "length", "routing": "share", "spares": "share"}
_KEYS = (*_QUANTITIES, "currency", "have", "price", "reel", "kit")


class _Reader:
    """Collects all faults of one file."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.faults: list[Fault] = []

    def fault(self, path: str, code: str, found: str, expected: str = "") -> None:
        self.faults.append(Fault(path, code, found, expected, place=Place(self.file, 1, 1) if not path else None))

    def amount(self, path: str, value: Any, name: str) -> float:
        if not isinstance(value, str):
            self.fault(path, "unit-missing", f"found {value!r}; a quantity is a text with its unit")
            return 0.0
        try:
            read = parse(value, name).nominal
        except QuantityFault as bad:
            self.fault(path, bad.code, bad.found, bad.hint)
            return 0.0
        if read < 0:
            self.fault(path, "out-of-range", f'found "{value}"', "It must be zero or more")
        return max(read, 0.0)

    def number(self, path: str, value: Any, whole: bool = False) -> float:
        kinds = (int,) if whole else (int, float)
        if isinstance(value, bool) or not isinstance(value, kinds) or value < 0:
            word = "a whole number" if whole else "a number"
            self.fault(path, "wrong-type", f"found {value!r}", f"Write {word}, zero or more")
            return 0
        return value

    def table(self, path: str, value: Any) -> dict[str, Any]:
        if isinstance(value, dict):
            return value
        self.fault(path, "wrong-type", f"found {value!r}", f"Write a table: [{path}]")
        return {}

    def list(self, path: str, value: Any) -> list[dict[str, Any]]:
        if isinstance(value, list) and all(isinstance(item, dict) for item in value):
            return value
        self.fault(path, "wrong-type", f"found {value!r}", f"Write [[{path}]] tables")
        return []

    def known(self, path: str, table: dict[str, Any], keys: tuple[str, ...]) -> None:
        for key in table:
            if key not in keys:
                where = f"{path}.{key}" if path else key
                right = did_you_mean(key, keys, "Known keys: " + ", ".join(keys))
                self.fault(where, "unknown-key", "unknown key", right)


def read_shopping(text: str, file: str = "shopping file") -> Shopping:
    """Read a shopping file; QuestionError with all its faults."""
    try:
        written = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise QuestionError((Fault("", "toml-syntax", str(error), place=Place(file, 1, 1)),), file) from None
    except (RecursionError, ValueError) as error:  # ValueError: an integer of thousands of digits, an impossible date
        found = "tables or lists are nested too deep" if isinstance(error, RecursionError) else str(error)
        raise QuestionError((Fault("", "toml-syntax", found, place=Place(file, 1, 1)),), file) from None
    reader = _Reader(file)
    reader.known("", written, _KEYS)
    rules = {k: reader.amount(k, written[k], name) for k, name in _QUANTITIES.items() if k in written}
    have = {k: float(reader.number(f"have.{k}", v)) for k, v in reader.table("have", written.get("have", {})).items()}
    price = {
        k: float(reader.number(f"price.{k}", v)) for k, v in reader.table("price", written.get("price", {})).items()
    }
    reels = tuple(_reel(reader, n, r) for n, r in enumerate(reader.list("reel", written.get("reel", []))))
    kits = tuple(_kit(reader, n, k) for n, k in enumerate(reader.list("kit", written.get("kit", []))))
    if reader.faults:
        raise QuestionError(tuple(reader.faults), file)
    currency = str(written.get("currency", ""))
    return Shopping(
        **rules, currency=currency, have=MappingProxyType(have), price=MappingProxyType(price), reels=reels, kits=kits
    )


def _reel(reader: _Reader, number: int, table: dict[str, Any]) -> Reel:
    path = f"reel[{number + 1}]"
    reader.known(path, table, ("item", "length", "price", "count", "owned"))
    if not isinstance(table.get("item"), str):
        reader.fault(f"{path}.item", "key-missing", "no item", 'Write item = "cable/..." as the parts list names it')
    length = reader.amount(f"{path}.length", table.get("length"), "length")
    price = float(reader.number(f"{path}.price", table["price"])) if "price" in table else None
    count = int(reader.number(f"{path}.count", table["count"], True)) if "count" in table else None
    owned = bool(table.get("owned", False))
    return Reel(str(table.get("item", "")), length, price, 1 if owned and count is None else count, owned)


def _kit(reader: _Reader, number: int, table: dict[str, Any]) -> Kit:
    path = f"kit[{number + 1}]"
    reader.known(path, table, ("name", "number", "holds"))
    holds = reader.table(f"{path}.holds", table.get("holds", {}))
    counts = {key: int(reader.number(f"{path}.holds.{key}", value, True)) for key, value in holds.items()}
    name = table.get("name")
    if not isinstance(name, str):
        reader.fault(f"{path}.name", "key-missing", "no name", 'Write name = "..."')
    bags = int(reader.number(f"{path}.number", table.get("number", 1), True))
    return Kit(str(name), bags, MappingProxyType(counts))

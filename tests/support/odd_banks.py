"""Banks that nobody would draw in a book, all valid: odd_banks() gives name -> text. All data invented.

Names with spaces, dots and signs, no inverter, nothing known of the modules, loads only, sizes beyond every table, one
module, many, two devices in a row, everything at once: each file is one way in which a bank differs from the usual.
"""

from __future__ import annotations

from support.banks import like_modules, sample_path

__all__ = ["odd_banks", "odd_texts"]

_BARE = """format = 1
[kinds.module.K]
cells = 16
"""
_ONE = like_modules(1, "K")
_LOAD = """
[[loads]]
name = "pump"
power = "400 W"
"""


def _two(**changes: str) -> str:
    """The bank of two modules; `changes`: old text -> new, given as pairs in the values "old => new"."""
    text = sample_path("two").read_text(encoding="utf-8")
    for pair in changes.values():
        old, _, new = pair.partition(" => ")
        assert old in text, old
        text = text.replace(old, new)
    return text


def _without(text: str, head: str) -> str:
    """Drop the block that begins with a line."""
    blocks = text.split("\n\n")
    left = [block for block in blocks if not block.startswith(head)]
    assert len(left) < len(blocks), head
    return "\n\n".join(left)


def _chain(extra: str = "") -> str:
    return (
        f'\n[wiring]\npattern = "chain"\nfeed = "same end"\nlink = {{ cable = "70 mm2", length = "0.3 m" }}\n{extra}\n'
    )


def _names() -> dict[str, str]:
    return {
        "space in a device": _two(a='name = "F1" => name = "main fuse"'),
        "space in modules": _two(a='"M1" => "M 1"', b='"M2" => "top module"'),
        "space in an inverter": _two(a='"I1" => "big inverter"'),
        "ways as names": _two(a='"M1" => "M1 charge blocked"', b='"M2" => "M1"', c='"F1" => "M1 open"'),
        "dots and hyphens": _two(a='"M1" => "M.1-a"', b='"M2" => "M.1-a b"', c='"F1" => "F-1.x"'),
        "letters of the world": _two(a='"M1" => "Модуль 1"', b='"M2" => "电池"', c='"F1" => "Sicherung ä"'),
        "title with controls": _two(a='"Two modules" => "\\u001b]0;owned\\u0007 <b>&amp;</b>\\u202e"'),
        "numbers as names": _two(a='"M1" => "1"', b='"M2" => "2"', c='"F1" => "3"', d='"I1" => "4"'),
    }


def _poor() -> dict[str, str]:
    two = _two()
    return {
        "one module, nothing else": _BARE + _ONE + _chain(),
        "one module, a load": _BARE + _ONE + _chain() + _LOAD,
        "no inverter": _without(two, "[[inverters]]"),
        "loads only": _without(two, "[[inverters]]") + _LOAD,
        "load by current only": _without(two, "[[inverters]]") + '\n[[loads]]\nname = "lamp"\ncurrent = "3 A"\n',
        "load of nothing known": _without(two, "[[inverters]]") + '\n[[loads]]\nname = "thing"\n',
        "charger only": _without(two, "[[inverters]]")
        + '\n[kinds.charger.C]\ncurrent = "20 A"\n\n[[chargers]]\nname = "C1"\nkind = "C"\n',
        "nothing known of modules": _BARE + like_modules(2, "K") + _chain() + _LOAD,
        "nothing known of the inverter": _BARE
        + "\n[kinds.inverter.i]\n"
        + like_modules(2, "K")
        + _chain()
        + '\n[[inverters]]\nname = "I1"\nkind = "i"\n',
        "three modules, nothing fed": _BARE + like_modules(3, "K") + _chain(),
        "no device": _without(two, "[[devices]]"),
        "no rule book": _two(a='rules = "nec-2023"\n => '),
        "no lugs, no lengths": _two(a=', length = "320 mm", lug = "lug-M8", joint = "20 uohm" => '),
    }


def _beyond() -> dict[str, str]:
    iec = 'rules = "nec-2023" => rules = "iec-60364"'
    return {
        "iec, 300 mm2 in a raceway": _two(a=iec, b='cable = "4/0 AWG" => cable = "300 mm2", method = "raceway"'),
        "iec, 500 kcmil in free air": _two(a=iec, b='cable = "4/0 AWG" => cable = "500 kcmil", method = "free air"'),
        "iec, 12 AWG": _two(a=iec, b='cable = "4/0 AWG" => cable = "12 AWG", method = "raceway"'),
        "nec, 300 mm2": _two(b='cable = "4/0 AWG" => cable = "300 mm2", method = "raceway"'),
        "nec, 1.5 mm2": _two(b='cable = "4/0 AWG" => cable = "1.5 mm2", method = "free air", insulation = "60 degC"'),
        "air of 95 degC": _two(a='"10 degC to 30 degC" => "10 degC to 95 degC"'),
        "air of -60 degC": _two(a='"10 degC to 30 degC" => "-60 degC to -50 degC"'),
        "fuse of 9 kA": _two(a='rating = "300 A" => rating = "9 kA"'),
        "inverter of 2 MW": _two(a='power = "6 kW" => power = "2000 kW"'),
        "modules of 2 t": _two(a='mass = "46 kg" => mass = "2000 kg"'),
        "one cell": _two(a="cells = 16 => cells = 1"),
        "slots far apart": _two(a="slot = 2 => slot = 60"),
        "stiff modules": _two(a='dc = "14 mohm +- 3 mohm" => dc = "14 mohm +- 13.9 mohm"', b=', cells = "12 mohm" => '),
    }


def _many() -> dict[str, str]:
    long = "".join(f'\n[[devices]]\nname = "D{n}"\nkind = "fuse-300"\non = "main+"\n' for n in range(2, 6))
    unlike = '\n[kinds.module.L]\ncells = 16\ncapacity = "280 Ah"\n'
    return {
        "five devices in a row": _two() + long,
        "two kinds of modules": _two(a='name = "M2"\nkind = "M100" => name = "M2"\nkind = "L"') + unlike,
        "twelve modules, us units": _BARE.replace("1\n", '1\nunits = "us"\n', 1)
        + like_modules(12, "K")
        + _chain()
        + _LOAD,
        "extension of 9": _two(a="[site] => [site]\nextension = 9"),
        "earthed plus": _two(a='[site] => [site]\nearthing = { pole = "plus", at = ["M2+"] }'),
    }


def odd_texts() -> dict[str, str]:
    """All of them, by what is odd."""
    return {**_names(), **_poor(), **_beyond(), **_many()}


def odd_banks() -> list[str]:
    """Their names, for parametrised tests."""
    return list(odd_texts())

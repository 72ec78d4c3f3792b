"""The style sheets: package data, every class used has a rule, a saved file needs no custom properties."""

import re

from bankwright import draw
from bankwright.draw.pen.styles import drawing_css, standalone_css, token_values, tokens_css
from support.banks.drawn import Plan, drawn_bank, invented_currents
from support.drawn_findings import findings_everywhere

SILENT = frozenset(
    [
        "balloon",
        "bank",
        "breaker",
        "busbar",
        "bw",
        "cells",
        "charger",
        "consumer",
        "conv",
        "d",
        "desk",
        "dev",
        "disconnect",
        "fuse",
        "hatch",
        "inverter",
        "link",
        "low",
        "minus",
        "module",
        "oneline",
        "phone",
        "plus",
        "rackfront",
        "rule",
        "shares",
        "shunt",
        "start",
        "terminal",
    ]
)


def _drawn() -> str:
    bank = drawn_bank(Plan(5, inverters=2, chargers=1, on_branches=("breaker",), feed="both ends"))
    amps = invented_currents(bank)
    bars = drawn_bank(Plan(4, pattern="busbar", pairs=1, on_leads=("fuse",)))
    parts = [
        draw.wiring(bank, amps, findings_everywhere(bank), embedded=True),
        draw.wiring(bank, amps, size="phone", embedded=True, made={"L1+"}, marked={"M1", "L2+"}),
        draw.wiring(bars, embedded=True),
        draw.one_line(bank, embedded=True),
        draw.rack(bank, embedded=True),
        draw.shares(bank, amps),
    ]
    return "".join(part.text for part in parts)


def test_every_class_has_a_rule_and_every_colour_a_token() -> None:
    used = {name for value in re.findall(r'class="([^"]*)"', _drawn()) for name in value.split()}
    ruled = set(re.findall(r"\.([a-z][\w-]*)", drawing_css()))
    assert used - ruled <= SILENT
    assert set(re.findall(r"var\(--([\w-]+)\)", drawing_css())) <= set(token_values())


def test_all_rules_stay_inside_drawings() -> None:
    plain = re.sub(r"/\*.*?\*/", "", drawing_css(), flags=re.S)
    for selector in re.findall(r"([^{}]+)\{", plain):
        assert all(part.strip().startswith(".bw") for part in selector.split(","))


def test_light_and_dark_have_the_same_tokens() -> None:
    light, dark = token_values("light"), token_values("dark")
    assert light.keys() == dark.keys()
    assert light["sheet"] != dark["sheet"]


def test_a_saved_file_has_its_colours_written_out() -> None:
    css = standalone_css()
    assert "var(" not in css
    assert token_values("light")["pos"] in css
    dark = css.split("@media (prefers-color-scheme: dark)")[1]
    assert token_values("dark")["pos"] in dark
    assert token_values("light")["pos"] not in dark


def test_both_papers_of_the_page_agree() -> None:
    """The dark tokens stand twice, for the machine's wish and for the page's own switch."""
    media = re.search(r"@media \(prefers-color-scheme: dark\) \{ :root[^{]*\{(.*?)\} \}", tokens_css(), re.S)
    switch = re.search(r':root\[data-theme="dark"\] \{(.*?)\}', tokens_css(), re.S)
    assert media is not None
    assert switch is not None
    assert " ".join(media[1].split()) == " ".join(switch[1].split())

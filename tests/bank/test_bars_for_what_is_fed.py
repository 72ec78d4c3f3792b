"""A bar whose studs name the main and what is fed stands in the place of the junction, in every pattern."""

from __future__ import annotations

import pytest

from bankwright.bank.model import Bank, Link
from bankwright.bank.pieces.every import pieces
from bankwright.bank.read import BankFileError
from bankwright.circuit.steady import steady
from support.banks import BANKS, bank_of

TWO = (BANKS / "two.toml").read_text("utf-8") + '\n[[inverters]]\nname = "I2"\nkind = "inv-6k"\n'
HUB = """
[[bars]]
name = "hub{pole}"
pole = "{pole}"
width = "40 mm"
thickness = "8 mm"
spacing = "50 mm"
stud = "M10"
torque = "18 N m"
lugs_per_stud = 1
studs = {studs}
"""
BRANCH = 'branch = { cable = "2/0 AWG", length = "1 m" }\n'
LISTED = """
[[links]]
name = "L1{p}"
from = "M1{p}"
to = "M2{p}"

[[links]]
name = "trunk{p}"
from = "M2{p}"
to = "hub{p}2"
cable = "4/0 AWG"
length = "1.5 m"

[[links]]
name = "I1{p}lead"
from = "hub{p}1"
to = "I1{p}"
cable = "2/0 AWG"
length = "1 m"

[[links]]
name = "I2{p}lead"
from = "hub{p}3"
to = "I2{p}"
cable = "2/0 AWG"
length = "1 m"
"""


def hubs(studs: str = '["I1", "main", "I2"]', minus: str | None = None) -> str:
    return HUB.format(pole="+", studs=studs) + HUB.format(pole="-", studs=minus or studs)


def text(pattern: str = "chain", bars: str | None = None) -> str:
    bars = hubs() if bars is None else bars
    if pattern == "listed":
        made = TWO.replace('pattern = "chain"\nfeed = "opposite ends"', 'pattern = "listed"')
        made = "\n".join(line for line in made.split("\n") if not line.startswith("main = "))
        made = made.replace('on = "main+"', 'on = "trunk+"')
        return made + "".join(LISTED.format(p=pole) for pole in "+-") + bars
    if pattern == "busbar":
        bars += "".join(HUB.format(pole=p, studs="").replace("hub", "bar").replace("studs = \n", "") for p in "+-")
    return TWO.replace('pattern = "chain"', f'pattern = "{pattern}"').replace("main = {", f"{BRANCH}main = {{") + bars


def link(bank: Bank, name: str) -> Link:
    found = bank[name]
    assert isinstance(found, Link)
    return found


def faults(file: str) -> list[str]:
    with pytest.raises(BankFileError) as caught:
        bank_of(file)
    return [str(fault) for fault in caught.value.faults]


@pytest.mark.parametrize("pattern", ["chain", "busbar", "listed"])
def test_the_main_ends_at_its_stud_and_leads_start_at_theirs(pattern: str) -> None:
    bank = bank_of(text(pattern))
    for pole in "+-":
        main = link(bank, f"trunk{pole}" if pattern == "listed" else f"main{pole}")
        assert main.role == "main"
        assert main.b == f"hub{pole}2"
        assert [link(bank, f"I{k}{pole}lead").a for k in (1, 2)] == [f"hub{pole}1", f"hub{pole}3"]
        assert f"J{pole}" not in bank
    assert {post.owner_kind for post in bank.posts} == {"module", "inverter", "bar"}
    feed = [bank[post].owner for posts in bank.feed_posts for post in posts]  # type: ignore[union-attr]
    assert not any(owner.startswith("hub") for owner in feed)
    assert len(feed) == 2


@pytest.mark.parametrize("pattern", ["chain", "busbar", "listed"])
def test_a_device_at_the_bank_end_sits_away_from_the_hub(pattern: str) -> None:
    (device,) = bank_of(text(pattern)).devices
    assert device.distance == 0.0


def test_segments_have_the_resistance_of_their_section() -> None:
    # copper 1/58 ohm mm2/m (IEC 60028:1925): 50 mm of 40 x 8 mm2 are 1.7241e-8 x 0.05 / 3.2e-4 = 2.694 uohm
    bank = bank_of(text())
    segments = [piece for piece in bank.pieces if piece.owner == "hub+"]
    assert [(piece.a, piece.b) for piece in segments] == [("hub+1", "hub+2"), ("hub+2", "hub+3")]
    for piece in segments:
        assert piece.resistance is not None
        assert piece.resistance.nominal == pytest.approx(2.694e-6, abs=0.001e-6)


@pytest.mark.parametrize("pattern", ["chain", "busbar", "listed"])
def test_the_circuit_carries_each_inverter_over_its_segment(pattern: str) -> None:
    solution = steady(bank_of(text(pattern))).case("full discharge")
    one, two = solution.current("I1"), solution.current("I2")
    assert abs(solution.current("hub+[1-2]")) == pytest.approx(one, rel=1e-9)
    assert abs(solution.current("hub+[2-3]")) == pytest.approx(two, rel=1e-9)
    assert sum(solution.module_currents()) == pytest.approx(one + two, rel=1e-9)


def test_its_bars_and_lugs_are_counted() -> None:
    found = pieces(bank_of(text()))
    at = [piece.at[0] for piece in found if piece.group == "lugs" and "@hub+" in piece.at[0]]
    assert at == ["main+@hub+2", "I1+lead@hub+1", "I2+lead@hub+3"]
    assert [piece.id for piece in found if piece.id.startswith("bar/")] == ["bar/hub+", "bar/hub-"]


def test_two_mains_a_pole_may_have_a_stud_each_or_share_one() -> None:
    both = text().replace('feed = "opposite ends"', 'feed = "both ends"')
    assert {link(bank_of(both), f"main+{k}").b for k in ("", "b")} == {"hub+2"}
    apart = both.replace('["I1", "main", "I2"]', '["main", "I1", "I2", "main"]')
    assert [link(bank_of(apart), f"main+{k}").b for k in ("", "b")] == ["hub+1", "hub+4"]


def test_one_pole_may_have_a_hub_and_the_other_a_junction() -> None:
    bank = bank_of(text(bars=HUB.format(pole="+", studs='["I1", "main", "I2"]')))
    assert (link(bank, "main+").b, link(bank, "main-").b) == ("hub+2", "J-")


@pytest.mark.parametrize(
    ("studs", "words"),
    [
        ('["I1", "main", "I9"]', 'found "I9" on a stud of hub+; On its studs sit: main, I1, I2'),
        ('["I1", "main"]', 'I2 has no stud on hub+; Write "I2" where its lead starts'),
        ('["I1", "I2"]', 'the main has no stud on hub+; Write "main" where it sits'),
        ('["I1", "main", "I2", "I1"]', '"I1" is on more than one stud of hub+'),
        ('["I1", "main", "I2", "main"]', '"main" is on 2 studs of hub+, and 1 main reaches it'),
        ('["I1", "main", "M1"]', "the modules of a chain sit on no bar"),
        ("[]", "Write what sits on each stud"),
    ],
)
def test_studs_that_do_not_fit_are_told(studs: str, words: str) -> None:
    found = faults(text(bars=hubs(studs, '["I1", "main", "I2"]')))
    assert len(found) == 1, found
    place, _, rest = found[0].partition("  ")
    assert "text.toml:" in place
    assert all(part in found[0] for part in words.split("; ")), rest


def test_a_hub_that_no_main_can_reach_is_told() -> None:
    made = "\n".join(line for line in text().split("\n") if not line.startswith("main = "))
    made = made.replace('[[devices]]\nname = "F1"\nkind = "fuse-300"\non = "main+"\nat = "bank end"\n', "")
    assert any("no main leads to hub+" in fault for fault in faults(made))


def test_two_hubs_a_pole_are_told() -> None:
    second = HUB.format(pole="+", studs='["main", "I2"]').replace('"hub+"', '"other+"')
    assert any("hub+ already is the + bar of the mains" in fault for fault in faults(text() + second))


def test_listed_studs_must_agree_with_the_links() -> None:
    found = faults(text("listed", hubs('["I2", "main", "I1"]', '["I1", "main", "I2"]')))
    assert len(found) == 2
    assert 'found "I2" on hub+1, but no link leads from there to I2+' in found[0]
    assert 'Write a [[links]] block with an end at "hub+1"' in found[0]
    assert any('found "I9" on a stud' in fault for fault in faults(text("listed", hubs('["I1", "main", "I9"]'))))

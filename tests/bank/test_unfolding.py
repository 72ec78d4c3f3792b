"""Patterns unfold to named links, joints, bars and posts, each with its file key."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bankwright.bank.model import Bank, Link, Post
from bankwright.bank.read import BankFileError
from support.banks import bank_of, bank_text, changed, document, only, sample

pytestmark = pytest.mark.quick

FEEDS = ("same end", "opposite ends", "both ends")
COUNTS = (1, 2, 5, 16)


def text(n: int, pattern: str, feed: str, pairs: int = 1, inverters: int = 1, main: bool = True) -> str:
    posts = {"pairs": pairs, **({} if pairs == 1 else {"inner": "40 uohm"}), "stud": "M8", "torque": "10 N m"}
    wiring = {
        "pattern": pattern,
        "feed": feed,
        "link": {"cable": "2 AWG", "length": "320 mm", "joint": "10 uohm"},
        "branch": {"cable": "2/0 AWG", "length": "1 m"},
        "main": {"cable": "4/0 AWG", "length": "1.5 m", "joint": "20 uohm"} if main else None,
    }
    inverter = {"power": "5 kW", "terminals": {"stud": "M10", "torque": "20 N m"}}
    module = only("cells", posts=posts)
    return bank_text(n, module, wiring=wiring, slots=True, inverter=inverter, inverters=inverters)


def joined(bank: Bank) -> list[set[str]]:
    """Groups of posts that metal joins: links and bars."""
    groups: list[set[str]] = [{post.name} for post in bank.posts]
    pairs = [(link.a, link.b) for link in bank.links] + [(piece.a, piece.b) for piece in bank.pieces]
    for a, b in pairs:
        one, two = (next(group for group in groups if end in group) for end in (a, b))
        if one is not two:
            groups.remove(two)
            one |= two
    return groups


@pytest.mark.parametrize("inverters", [1, 2])
@pytest.mark.parametrize("main", [True, False])
@pytest.mark.parametrize("pairs", [1, 2])
@pytest.mark.parametrize("feed", FEEDS)
@pytest.mark.parametrize("pattern", ["chain", "busbar"])
@pytest.mark.parametrize("n", COUNTS)
def test_every_pattern_and_feed_is_one_net_a_pole(
    n: int, pattern: str, feed: str, pairs: int, main: bool, inverters: int
) -> None:
    if feed == "both ends" and not main:
        pytest.skip("without a main there are no two ends to feed")
    bank = bank_of(text(n, pattern, feed, pairs, inverters, main))
    groups = joined(bank)
    assert len(groups) == 2
    for group in groups:
        assert len({post.pole for post in bank.posts if post.name in group}) == 1
    links = [link for link in bank.links if link.role in ("link", "lead")]
    assert len(links) == 2 * (n - 1 if pattern == "chain" else n)
    mains = [link for link in bank.links if link.role == "main"]
    assert len(mains) == (0 if not main else 4 if feed == "both ends" else 2)
    assert len(bank.pieces) == (2 * n if pairs == 2 else 0) + (sum(len(bar.posts) - 1 for bar in bank.bars))
    assert len(bank.joints) == 2 * len(bank.links)


@pytest.mark.parametrize("feed", FEEDS)
@pytest.mark.parametrize("n", COUNTS)
def test_both_poles_of_a_bank_mirror_each_other(n: int, feed: str) -> None:
    bank = bank_of(text(n, "chain", feed))
    plus = sorted(link.name for link in bank.links if link.pole == "+")
    assert [name.replace("+", "-") for name in plus] == sorted(link.name for link in bank.links if link.pole == "-")


def ends(bank: Bank) -> dict[str, tuple[str, str]]:
    return {link.name: (link.a, link.b) for link in bank.links}


def test_names_and_ends_of_a_chain() -> None:
    assert ends(bank_of(text(3, "chain", "opposite ends"))) == {
        "L1+": ("M1+", "M2+"), "L1-": ("M1-", "M2-"), "L2+": ("M2+", "M3+"), "L2-": ("M2-", "M3-"),
        "main+": ("M3+", "I1+"), "main-": ("M1-", "I1-"),
    }  # fmt: skip


def test_names_and_ends_of_a_chain_with_two_pairs_of_posts() -> None:
    bank = bank_of(text(2, "chain", "both ends", pairs=2, inverters=2))
    assert ends(bank) == {
        "L1+": ("M1+b", "M2+"), "L1-": ("M1-b", "M2-"),
        "main+": ("M1+", "J+"), "main+b": ("M2+b", "J+"), "main-": ("M1-", "J-"), "main-b": ("M2-b", "J-"),
        "I1+lead": ("J+", "I1+"), "I2+lead": ("J+", "I2+"), "I1-lead": ("J-", "I1-"), "I2-lead": ("J-", "I2-"),
    }  # fmt: skip
    assert [piece.name for piece in bank.pieces] == ["M1+inner", "M1-inner", "M2+inner", "M2-inner"]
    assert bank.feed_posts == (("M1+", "M2+b"), ("M1-", "M2-b"))


@pytest.mark.parametrize(
    ("feed", "plus", "minus"),
    [
        ("same end", ["main", "M1", "M2"], ["main", "M1", "M2"]),
        ("opposite ends", ["M1", "M2", "main"], ["main", "M1", "M2"]),
        ("both ends", ["main", "M1", "M2", "main"], ["main", "M1", "M2", "main"]),
    ],
)
def test_order_of_studs_follows_the_feed(feed: str, plus: list[str], minus: list[str]) -> None:
    bank = bank_of(text(2, "busbar", feed))
    for pole, order in (("+", plus), ("-", minus)):
        seated = {}
        for link in bank.links:
            if link.pole == pole:
                stud = link.b if link.role == "lead" else link.a
                seated[stud] = "main" if link.role == "main" else link.a[:2]
        assert [seated[post] for post in bank[f"bar{pole}"].posts] == order  # type: ignore[union-attr]


def test_leads_start_at_the_bank_when_there_is_no_main() -> None:
    assert ends(bank_of(text(2, "chain", "opposite ends", main=False)))["I1+lead"] == ("M2+", "I1+")
    bank = bank_of(text(2, "busbar", "same end", inverters=2, main=False))
    assert ends(bank) == {
        "L1+": ("M1+", "bar+3"), "L2+": ("M2+", "bar+4"), "I1+lead": ("bar+1", "I1+"), "I2+lead": ("bar+2", "I2+"),
        "L1-": ("M1-", "bar-3"), "L2-": ("M2-", "bar-4"), "I1-lead": ("bar-1", "I1-"), "I2-lead": ("bar-2", "I2-"),
    }  # fmt: skip


def test_studs_as_listed_with_two_lugs_on_one() -> None:
    bars = "".join(f'[[bars]]\nname = "bar{p}"\npole = "{p}"\nstuds = ["M2", "main", [], ["M1", "M3"]]\n' for p in "+-")
    bank = bank_of(text(3, "busbar", "same end").replace('feed = "same end"\n', "") + bars)
    assert ends(bank)["L1+"] == ("M1+", "bar+4")
    assert ends(bank)["L3+"] == ("M3+", "bar+4")
    assert bank.feed_posts == (("bar+2",), ("bar-2",))
    assert [piece.name for piece in bank.pieces] == [f"bar{p}[{k}-{k + 1}]" for p in "+-" for k in (1, 2, 3)]


def test_a_segment_has_the_resistance_of_its_metal() -> None:
    # copper 1/58 ohm mm2/m (IEC 60028:1925): 50 mm of 40 x 10 mm2 are 1.7241e-8 x 0.05 / 4e-4 = 2.155 uohm
    bank = sample("five")
    piece = next(piece for piece in bank.pieces if piece.name == "bar+[1-2]")
    assert piece.resistance is not None
    assert piece.resistance.nominal == pytest.approx(2.155e-6, abs=0.001e-6)
    unknown = next(piece for piece in bank_of(text(2, "busbar", "same end")).pieces if piece.role == "segment")
    assert unknown.resistance is None


@pytest.mark.parametrize(
    ("label", "ohm_per_km", "last_digit"),
    [
        # IEC 60228:2004 table 3, class 5, plain copper, largest resistance at 20 degC [read]
        ("35 mm2", 0.554, 0.001),
        ("70 mm2", 0.272, 0.001),
        # NEC Chapter 9 Table 8, stranded uncoated: 0.0608 ohm/kft at 75 degC, by its note x (1 - 0.00323 x 55) [copy]
        ("4/0 AWG", 0.1640, 0.0003),
    ],
)
def test_a_cable_has_the_published_resistance(label: str, ohm_per_km: float, last_digit: float) -> None:
    bank = changed("two", wiring__main__cable=label)
    cable = bank.link("main+").cable
    assert cable is not None
    assert abs(cable.ohm_per_m * 1000 - ohm_per_km) <= last_digit / 2 + 1e-12
    assert cable.size_path == "wiring.main.cable"


def test_joints_stand_in_their_order_and_know_stud_and_torque() -> None:
    bank = sample("five")
    assert bank.link("main+").joints == (
        "main+@bar+6", "main+@F1a", "main+@F1b", "main+@X1a", "main+@X1b", "main+@J+",
    )  # fmt: skip
    joints = {joint.name: joint for joint in bank.joints}
    assert (joints["L1+@M1+"].stud, joints["L1+@M1+"].torque) == ("M8", 10)
    assert (joints["L1+@bar+1"].stud, joints["L1+@bar+1"].torque) == ("M10", 20)
    assert (joints["main+@F1a"].stud, joints["main+@F1a"].device, joints["main+@F1a"].post) == ("M10", "F1", None)
    assert joints["main-@S1a"].torque is None  # the shunt's sheet is silent
    assert joints["L1+@M1+"].lug is bank.lug_kinds["lug-M8"]
    assert joints["L1+@bar+1"].lug is bank.lug_kinds["lug-M10"]


def test_devices_sit_where_they_are_put() -> None:
    bank = sample("five")
    devices = {device.name: device for device in bank.devices}
    assert [name for name in devices if name.startswith("FB")] == [f"FB-M{k}" for k in range(1, 6)]
    assert (devices["FB-M3"].on, devices["FB-M3"].distance) == ("L3+", 0.0)
    assert (devices["X1"].on, devices["X1"].also_on, devices["X1"].distance) == ("main+", ("main-",), 1.2)
    assert bank.link("main-").devices == ("S1", "X1")
    assert bank.devices_on("main-") == (devices["S1"], devices["X1"])


@pytest.mark.parametrize(
    ("on", "at", "link", "distance"),
    [
        ("main+", "inverter end", "main+", 1.5),
        ("main+", "M2+", "main+", 0.0),
        ("main+", "I1+", "main+", 1.5),
        ("I1+", "200 mm", "main+", 0.2),
        ("M1+", "module end", "L1+", None),
        ("each main +", "bank end", "main+", 0.0),
        ("each inverter -", "inverter end", "main-", 1.5),
    ],
)
def test_ways_to_say_where(on: str, at: str, link: str, distance: float | None) -> None:
    text = document("two").text.replace('on = "main+"', f'on = "{on}"').replace('at = "bank end"', f'at = "{at}"')
    if distance is None:  # both ends of a chain's link are module ends: a fault names both posts
        with pytest.raises(BankFileError, match=r'Write "M1\+", "M2\+" or a distance'):
            bank_of(text)
        return
    (device,) = bank_of(text).devices
    assert (device.on, device.distance) == (link, distance)


def test_one_entry_with_both_poles_of_every_module() -> None:
    text = document("five").text.replace('on = "each module +"', 'on = "each module"')
    bank = bank_of(text)
    device = next(device for device in bank.devices if device.name == "FB-M2")
    assert (device.on, device.also_on) == ("L2+", ("L2-",))


def test_a_listed_link_changes_only_what_it_says() -> None:
    bank = sample("five")
    far, near = bank.link("L5+"), bank.link("L4+")
    assert (far.length, near.length) == (0.9, 0.6)
    assert replace(far, name="", a="", b="", joints=(), devices=(), length=None, origin=near.origin) == replace(
        near, name="", a="", b="", joints=(), devices=(), length=None
    )
    assert far.origin.path == "links[0]"


def test_an_inverter_keeps_its_own_cable_over_the_common_one() -> None:
    bank = sample("five")
    assert (bank.link("I1+lead").length, bank.link("I2+lead").length) == (1.0, 1.3)
    assert bank.link("I2+lead").cable == bank.link("I1+lead").cable


def test_the_charging_side_of_an_inverter_shares_its_posts() -> None:
    bank = sample("five")
    side = next(charger for charger in bank.chargers if charger.of == "I1")
    assert (side.name, side.posts, side.kind.path) == ("I1.charger", ("I1+", "I1-"), "kinds.inverter.inv-6k.charger")


def test_a_listed_bank_says_the_same_as_its_pattern() -> None:
    pattern = bank_of(text(3, "chain", "opposite ends"))
    rows = "".join(f'[[links]]\nname = "{k.name}"\nfrom = "{k.a}"\nto = "{k.b}"\n' for k in pattern.links)
    rows = rows.replace('name = "main', 'cable = "4/0 AWG"\nlength = "1.5 m"\njoint = "20 uohm"\nname = "main')
    listed = bank_of(
        text(3, "chain", "same end").replace('pattern = "chain"\nfeed = "same end"', 'pattern = "listed"') + rows
    )

    def bare(link: Link) -> Link:
        cable = link.cable and replace(link.cable, size_path="")
        return replace(link, origin=pattern.site.origin, group=None, cable=cable)

    assert [bare(link) for link in listed.links] == [bare(link) for link in pattern.links]
    assert listed.feed_posts == pattern.feed_posts
    assert [joint.name for joint in listed.joints] == [joint.name for joint in pattern.joints]


def test_listed_bars_and_junctions_come_from_their_use() -> None:
    rows = [("L1+", "M1+", "B+1"), ("L2+", "M2+", "B+3"), ("main+", "B+2", "J+"), ("x+", "J+", "I1+")]
    rows += [(a.replace("+", "-"), b.replace("+", "-"), c.replace("+", "-")) for a, b, c in rows]
    made = "".join(f'[[links]]\nname = "{n}"\nfrom = "{a}"\nto = "{b}"\n' for n, a, b in rows)
    bars = "".join(f'[[bars]]\nname = "B{p}"\npole = "{p}"\n' for p in "+-")
    bank = bank_of(
        text(2, "chain", "same end").replace('pattern = "chain"\nfeed = "same end"', 'pattern = "listed"') + bars + made
    )
    assert bank["B+"].posts == ("B+1", "B+2", "B+3")  # type: ignore[union-attr]
    assert isinstance(bank["J-"], Post)
    assert [link.role for link in bank.links] == ["lead", "lead", "main", "branch"] * 2
    assert bank.feed_posts == (("B+2",), ("B-2",))


@pytest.mark.parametrize("name", ["two", "five"])
def test_everything_keeps_a_file_key_that_leads_to_its_line(name: str) -> None:
    bank, lines = sample(name), document(name).text.split("\n")
    for thing in bank.things():
        place = thing.origin.place
        assert place is not None, thing.name
        head = thing.origin.path.split(".")[-1].split("[")[0]
        assert head in lines[place.line - 1] or thing.origin.path not in bank.places, (thing.name, thing.origin)
    for path, place in bank.places.items():
        assert 1 <= place.line <= len(lines), path


@pytest.mark.parametrize("name", ["two", "five"])
def test_names_are_unique_and_found(name: str) -> None:
    bank = sample(name)
    names = [thing.name for thing in bank.things()]
    assert len(set(names)) == len(names)
    assert all(bank[thing.name] is thing for thing in bank.things())
    known = set(names)
    for link in bank.links:
        assert {link.a, link.b, *link.joints, *link.devices} <= known


def test_a_missing_value_stays_missing() -> None:
    bank = bank_of(
        text(1, "chain", "same end").replace('link = { cable = "2 AWG", length = "320 mm", joint = "10 uohm" }', "")
    )
    kind = bank.modules[0].kind
    assert (kind.capacity_ah, kind.mass, kind.resistance.dc, kind.discharge.trip, kind.breaker) == (
        None,
        None,
        None,
        None,
        None,
    )
    assert bank.inverters[0].kind.efficiency is None
    assert bank.site.ambient_low_degc is None
    assert bank.site.earthing.detector is None


def test_a_drop_at_a_current_is_a_resistance() -> None:
    assert sample("five").device_kinds["shunt-500"].resistance.nominal == pytest.approx(1e-4)  # type: ignore[union-attr]

"""What the list of parts says of a module and a device: what to look for on its label."""

from __future__ import annotations

from bankwright.bank.pieces.every import pieces
from support.banks import BANKS, bank_of

TWO = (BANKS / "two.toml").read_text("utf-8")


def test_listings_and_mass_stand_in_the_words() -> None:
    text = TWO.replace("[kinds.module.M100]\n", '[kinds.module.M100]\nlisting = ["UL 1973", "UN 38.3"]\n')
    text = text.replace(
        "[kinds.device.fuse-300]\n", '[kinds.device.fuse-300]\nlisting = ["UL 248-15"]\nmass = "300 g"\n'
    )
    words = {piece.id: piece.words for piece in pieces(bank_of(text))}
    assert words["module/M1"].endswith(", listed UL 1973 and UN 38.3")
    assert words["fuse/F1"].endswith(", 0.300 kg, listed UL 248-15")


def test_nothing_is_said_where_the_file_is_silent() -> None:
    words = {piece.id: piece.words for piece in pieces(bank_of(TWO))}
    assert "listed" not in words["module/M1"] + words["fuse/F1"]


def test_words_for_a_hand_have_degrees_as_they_are_printed() -> None:
    text = TWO.replace('cable = "4/0 AWG"', 'cable = "4/0 AWG", insulation = "90 degC"')
    words = [piece.words for piece in pieces(bank_of(text)) if piece.item.startswith("cable/")]
    assert any(word.endswith("insulation 90 °C") for word in words)
    assert not any("degC" in word for word in words)

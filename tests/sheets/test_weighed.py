"""Values that no rule names: weighed by the words near them; and the words of the trade in ten languages.

The texts are our own; makers and products do not exist.
"""

import tomllib
from pathlib import Path

import pytest

from bankwright.job.sheets import Said, proposed_of_text
from bankwright.sheets import concepts
from bankwright.sheets.apart import told_apart
from bankwright.sheets.clauses import parts_of
from bankwright.sheets.concepts import ideas
from bankwright.sheets.read import KINDS
from bankwright.sheets.row import Row

HOME = Path(concepts.__file__).parent

GERMAN = """Der Netzlader Hoppelstein HL-25 lädt 48-V-Bänke.
Er gibt ununterbrochen bis zu 25 A ab.
Die Ausgangsspannung wird zwischen 48,0 V und 58,0 V gewählt; ab Werk sind 55,6 V eingestellt.
Bleibt die Nachricht der Module aus, begrenzt er auf 5 A.
"""
ENGLISH = """Each Mugglewump MW-75 drawer holds fifteen iron phosphate cells in series and is rated at 75 Ah or 3.6 kWh.
It supplies 75 A all day long and 120 A for ten seconds.
The electronics open the circuit when a cell drops under 2.50 V or climbs over 3.70 V.
Up to eight drawers may run in parallel if their voltages differ by less than 200 mV.
"""


def said(text, kind=""):
    answers = proposed_of_text(text, kind).models[""]
    return {key: answer.value for key, answer in answers.items() if isinstance(answer, Said)}


def test_a_charger_in_german_sentences():
    told = said(GERMAN)
    assert (told["current"], told["voltage"], told["setting"]) == ("25 A", "48.0 V to 58.0 V", "55.6 V")
    assert told["without_message"] == "5 A"


def test_a_module_in_english_sentences():
    told = said(ENGLISH)
    assert (told["cells"], told["chemistry"], told["capacity"], told["energy"]) == ("15", "LFP", "75 Ah", "3.6 kWh")
    assert (told["discharge.continuous"], told["parallel.most"]) == ("75 A", "8")
    assert (told["discharge.cell_trip"], told["charge.cell_trip"]) == ("2.50 V", "3.70 V")


def test_what_is_not_said_in_so_many_words_is_asked():
    text = "Inverter\nRated power: 3000 W\nMains voltage 230 V, the battery takes 66 V.\nContinuous: 2500 W\n"
    answers = proposed_of_text(text, "inverter").models[""]
    assert not isinstance(answers["power"], Said)
    assert not isinstance(answers.get("highest_input"), Said)


def test_a_rating_in_cool_air_or_a_current_at_a_temperature_is_asked():
    for text, key in (
        ("Inverter\nContinuous power: 5000 W (at 30 °C)\nEfficiency at rated power: 92 %\n", "power"),
        ("Inverter\nContinuous power: 5000 W\nMaximum charge current: 60 A (up to 35 °C)\n", "charger.current"),
    ):
        assert not isinstance(proposed_of_text(text, "inverter").models[""][key], Said)


def test_a_label_with_two_conditions_has_two_values():
    row = Row("Max. current (continuous / 10 s)", ("100 A / 150 A",), "")
    assert [(part.label, part.values[0]) for part in told_apart(row)] == [
        ("Max. current continuous", "100 A"),
        ("Max. current 10 s", "150 A"),
    ]
    named = Row("Terminals", ("M8 studs; torque 9 N m",), "")
    assert [(part.label, part.values[0]) for part in told_apart(named)] == [
        ("Terminals", "M8 studs"),
        ("Terminals, torque", "9 N m"),
    ]


def test_sentences_with_two_values_of_a_kind_are_cut():
    assert parts_of("Il fournit 3000 W en continu et supporte 6000 W pendant 5 s.") == (
        "Il fournit 3000 W en continu",
        "supporte 6000 W pendant 5 s.",
    )
    assert parts_of("It is set between 46.0 V and 59.2 V.") == ("It is set 46.0 V to 59.2 V.",)


@pytest.mark.parametrize(
    ("idea", "words"),
    [
        ("continuous", "sans interruption, ununterbrochen, sin interrupción, bez przerwy, nepřetržitě, oavbrutet"),
        ("factory", "à la livraison, bei Auslieferung, de origen, alla consegna, af fabriek, vid leverans"),
        ("most", "Obergrenze, bovengrens, plafond, tope, tetto, górna granica"),
        ("torque", "fastening torque, Anziehmoment, par de apriete, coppia di chiusura, dokręcania, utahovací"),
        ("falls", "sinkt, tombe, desciende, scende, daalt, spadnie, klesne, sjunker"),
    ],
)
def test_words_of_the_trade_mean_the_same(idea, words):
    assert [word for word in words.split(", ") if idea not in ideas(word)] == []


def test_each_key_that_is_weighed_is_one_of_its_kind_and_asks_for_ideas_that_are_known():
    table = tomllib.loads((HOME / "weights.toml").read_text("utf-8"))
    more = tomllib.loads((HOME / "vocabulary.toml").read_text("utf-8"))
    words = tomllib.loads((HOME / "concepts.toml").read_text("utf-8"))
    known = {*words["words"], *words["before"], *more, "timed", "dc", "ac"}
    for kind, keys in table.items():
        assert set(keys) <= set(KINDS[kind])
        for asks in keys.values():
            needed = {idea for need in asks["need"] for idea in need.split("|")}
            assert needed | set(asks["for"]) | set(asks["against"]) <= known


def test_a_little_word_is_no_number_of_lugs():
    text = "Inversor\nPotência contínua: 5000 W\nAperto dos terminais da bateria: 10 N·m\n"
    assert "terminals.lugs" not in proposed_of_text(text, "inverter").models[""]

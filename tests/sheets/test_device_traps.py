"""Small pasted sheets of devices, of our own: what is the device's own, what a table says, and what is asked."""

from bankwright.job.sheets import proposed_of_text, sheet_document

FUSE = """Fennel DC fuse links
Fuses for battery circuits
Rated voltage: 80 V DC
Rated current: 200 A
Breaking capacity: 20 kA DC
"""


def told(text):
    return sheet_document(proposed_of_text(text, "device"))


def of(text):
    return told(text)["proposals"]


def test_an_accessory_is_rated_for_itself():
    got = of(FUSE + "Accessory: cover for 400 V DC, IP40, torque 3 N m\n")
    assert got["volts"]["value"] == "80 V"
    assert not {"enclosure", "terminals.torque"} & set(got)


def test_of_torques_by_thread_its_own_is_taken_and_without_a_thread_it_is_asked():
    by_thread = "Tightening torque: M8 12 N m; M10 20 N m\n"
    assert of(FUSE + "Fixing: M10\n" + by_thread)["terminals.torque"]["value"] == "20 N m"
    assert {c["value"] for c in of(FUSE + by_thread)["terminals.torque"]["ask"]} == {"12 N m", "20 N m"}


def test_i2t_holds_on_dc_where_nothing_is_given_for_ac_or_it_is_said_at_the_breaking_capacity():
    total = "Total I²t: 50 000 A²s\n"
    assert of(FUSE + total)["let_through"]["value"] == "50000 A2s"
    with_ac = FUSE + "Breaking capacity: 100 kA AC\n"
    assert "ask" in of(with_ac + total)["let_through"]
    assert of(with_ac + "Total I²t at 20 kA: 50 000 A²s\n")["let_through"]["value"] == "50000 A2s"
    assert "ask" in of(with_ac + "Total I²t at 100 kA: 50 000 A²s\n")["let_through"]


def test_a_footnote_with_another_voltage_on_dc_makes_it_a_question():
    text = FUSE.replace("80 V DC", "80 V DC (1)") + "(1) Approved for circuits of 60 V DC by its laboratory.\n"
    assert {c["value"] for c in of(text)["volts"]["ask"]} == {"80 V", "60 V"}
    same = FUSE.replace("80 V DC", "80 V DC (1)") + "(1) Approved for circuits of 80 V DC by its laboratory.\n"
    assert of(same)["volts"]["value"] == "80 V"


def test_a_part_of_the_rating_for_long_loads_is_not_full_rating():
    got = of(FUSE + "Not more than 80% of this rating for continuous loads.\n")
    assert got["full_rated"]["value"] is False
    assert got["rating"]["value"] == "200 A"
    assert "full_rated" not in of(FUSE)


HEADS = "Part\nnumber\nRated\ncurrent\nPre-arcing I²t\n(A²s)\nTotal I²t at\n20 kA d.c. (A²s)\nWeight\n(g) Pack\n"
PARTS = "FN080 80 A 900 4,000 42 10\nFN100 100 A 1,500 7,000 43 5\n"


def test_headings_that_end_in_their_unit_are_those_of_the_bare_values():
    got = told("Fennel DC fuse links\nRated voltage 80 V DC.\n" + HEADS + PARTS)["models"]["FN100"]
    assert {key: got[key]["value"] for key in ("rating", "melting_i2t", "let_through", "mass")} == {
        "rating": "100 A",
        "melting_i2t": "1500 A2s",
        "let_through": "7000 A2s",
        "mass": "0.043 kg",
    }


def test_more_values_than_headings_are_not_dealt_out():
    top = "Fennel DC fuse links\nRated voltage 80 V DC.\n"
    for heads in (HEADS.replace(" Pack", ""), HEADS.replace("Weight\n(g) Pack", "Pack\nWeight\n(g)")):
        assert not told(top + heads + PARTS)["models"]


def test_models_in_rows_without_headings_are_asked():
    rows = "\n".join(
        f"FN{a}\t{a} A\t2\t{v} V\t10 kA\tM{m}\t{t} N m\t0.{a} kg" for a, v, m, t in ((63, 60, 6, 4), (80, 120, 8, 10))
    )
    got = of(f"Fennel DC circuit breakers\nVoltage\tTorque\tPoles\nMass\tCapacity\n{rows}\n")
    assert {c["value"] for c in got["terminals.torque"]["ask"]} == {"4 N m", "10 N m"}
    assert {c["value"] for c in got["volts"]["ask"]} == {"60 V", "120 V"}
    assert not [k for k in ("rating", "volts", "interrupts", "mass") if "value" in got.get(k, {})]


def test_times_and_temperatures_under_the_names_of_models_are_tables_of_their_own():
    cells = (
        "Fennel fuses\nRated voltage\n80 V DC\nType\nFN80\nFN100\nFN125\nRated current\n80 A\n100 A\n125 A\n"
        "Breaking capacity\n20 kA DC\nWeight\n40 g\n41 g\n42 g\n"
        "Total clearing time\n10 s\n1 s\n0.1 s\nFN80\n200 A\n300 A\n500 A\nFN100\n250 A\n400 A\n700 A\n"
        "FN125\n320 A\n500 A\n900 A\nAmbient temperature\n25 °C\n40 °C\n60 °C\n"
        "Share of rated current\n100 %\n95 %\n88 %\n"
    )
    got = told(cells)["models"]["FN100"]
    assert got["curve"]["value"] == [["250 A", "10 s"], ["400 A", "1 s"], ["700 A", "0.1 s"]]
    assert got["derating"]["value"] == [["25 degC", "100 %"], ["40 degC", "95 %"], ["60 degC", "88 %"]]
    assert got["mass"]["value"] == "0.041 kg"


def test_a_temperature_of_the_conductors_is_asked_of_the_terminals():
    got = of(FUSE + "Terminals: bolt M8, for 75 °C wire\n")["terminals.rating"]
    assert [c["value"] for c in got["ask"]] == ["75 degC"]
    assert "terminals.rating" not in of(FUSE + "Terminals: bolt M8\nStorage: up to 75 °C\n")

"""The example beside an answer box fits what is asked, and can be typed."""

from __future__ import annotations

import pytest

from bankwright.bank.file.document import Document
from bankwright.bank.talk.of_key import box_of, hear_box

FITS = (
    ("kinds.device.S1.withstands", "kA", "10 kA"), ("kinds.device.F1.interrupts", "kA", "20 kA"),
    ("kinds.inverter.I.standby_current", "mA", "20 mA"), ("kinds.solar.S.short_current", "A", "13.9 A"),
    ("kinds.module.B.discharge.lowest", "degC", "-20 degC"), ("kinds.module.B.width", "mm", "440 mm"),
    ("kinds.module.B.discharge.continuous", "A", "100 A"), ("bars.B1.torque", "N m", "18 N m"),
)  # fmt: skip


@pytest.fixture(scope="module")
def document(tmp_path_factory: pytest.TempPathFactory) -> Document:
    path = tmp_path_factory.mktemp("boxes") / "b.toml"
    path.write_text("format = 1\n", "utf-8")
    return Document.read(path)


@pytest.mark.parametrize(("key", "unit", "sample"), FITS)
def test_the_example_is_of_the_key_and_a_bare_number_takes_its_unit(
    key: str, unit: str, sample: str, document: Document
) -> None:
    box = box_of(key, document)
    assert box is not None
    assert (box.units[0], box.sample) == (unit, sample)
    assert hear_box(box, sample).how == "taken"


def test_in_us_units_the_unit_shown_there_stays_first(document: Document) -> None:
    box = box_of("kinds.module.B.mass", document, "us")
    assert box is not None
    assert box.units[0] == "lb"


IN_US = (
    ("kinds.module.B.width", "in", "17 in"), ("kinds.module.B.mass", "lb", "100 lb"),
    ("bars.B1.torque", "in lb", "160 in lb"), ("kinds.module.B.discharge.lowest", "degF", "-4 degF"),
    ("kinds.module.B.discharge.continuous", "A", "100 A"),
)  # fmt: skip


@pytest.mark.parametrize(("key", "unit", "sample"), IN_US)
def test_in_us_units_the_example_is_in_the_unit_that_a_bare_number_takes(
    key: str, unit: str, sample: str, document: Document
) -> None:
    box = box_of(key, document, "us")
    assert box is not None
    assert (box.units[0], box.sample) == (unit, sample)
    assert hear_box(box, sample).how == "taken"

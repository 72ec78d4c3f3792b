"""A value that cannot be read hides no fault elsewhere: all faults of a file come at once."""

from pathlib import Path

import pytest

from bankwright.bank.read import faults_in

DEMO = Path(__file__).parents[2] / "demo" / "barn.toml"


@pytest.mark.parametrize(
    ("right", "wrong"),
    [
        ('length = "1.6 m"', 'length = "1,6 m"'),  # in wiring.main
        ('bond = "4 AWG"', 'bond = "4 AWGG"'),  # in site.earthing
    ],
)
def test_an_unknown_kind_is_told_beside_a_table_that_cannot_be_read(right, wrong):
    text = DEMO.read_text(encoding="utf-8")
    assert right in text
    both = text.replace(right, wrong).replace('kind = "box-5k"', 'kind = "box-6k"')
    paths = [fault.path for fault in faults_in(both, DEMO)]
    assert "inverters[0].kind" in paths
    assert "inverters[1].kind" in paths
    assert len(paths) == 3


def test_a_reference_to_a_block_that_cannot_be_read_is_not_blamed():
    text = DEMO.read_text(encoding="utf-8").replace('kind = "frame-20"', "kind = 20")
    assert [fault.path for fault in faults_in(text, DEMO)] == ["racks[0].kind"]

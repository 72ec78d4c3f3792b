"""Contrast and colour vision of the tokens, light and dark.

Contrast: WCAG 2.x relative luminance [from memory]. Colour vision: matrices of Machado, Oliveira, Fernandes 2009,
severity 1.0, on linear RGB [from memory]. Difference: CIE76 in CIELAB, D65 [from memory]. The first two tests hold the
formulas to values known outside the project.
"""

import itertools

import numpy as np
import pytest

from bankwright.draw.pen.styles import token_values

CVD = {
    "full": np.eye(3),
    "protan": np.array([[.152286, 1.052583, -.204868], [.114503, .786281, .099216], [-.003882, -.048116, 1.051998]]),
    "deutan": np.array([[.367322, .860646, -.227968], [.280085, .672501, .047413], [-.011820, .042940, .968881]]),
    "tritan": np.array([[1.255528, -.076749, -.178779], [-.078411, .930809, .147602], [.004733, .691367, .303900]]),
}  # fmt: skip
TEXT = ["ink", "ink-soft", "pos", "neg", "pass", "caution", "fail", "unknown"]
GROUND = ["sheet", "well", "desk"]


def linear(colour: str) -> np.ndarray:
    c = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255
    return np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)


def contrast(a: str, b: str) -> float:
    light, dark = sorted((float(linear(x) @ [0.2126, 0.7152, 0.0722]) for x in (a, b)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def lab(rgb: np.ndarray) -> np.ndarray:
    to_xyz = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
    xyz = to_xyz @ np.clip(rgb, 0, 1) / [0.9505, 1, 1.089]
    f = np.where(xyz > 0.008856, np.cbrt(xyz), 7.787 * xyz + 16 / 116)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def distance(a: str, b: str, eye: str) -> float:
    return float(np.linalg.norm(lab(CVD[eye] @ linear(a)) - lab(CVD[eye] @ linear(b))))


def test_black_on_white_has_contrast_21() -> None:
    """WCAG 2.x, contrast ratio: 21 to 1 for black and white; #767676 on white is the known grey of 4.54."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)


def test_white_is_100_in_lab() -> None:
    """CIE 1976 L*a*b*: white of D65 is (100, 0, 0)."""
    assert lab(np.ones(3)) == pytest.approx([100, 0, 0], abs=0.02)


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_text_colours_reach_4_5_on_every_paper(theme: str) -> None:
    t = token_values(theme)
    low = {(n, g): contrast(t[n], t[g]) for n in TEXT for g in GROUND if contrast(t[n], t[g]) < 4.5}
    assert not low


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_verdicts_reach_4_5_on_their_wash_and_ink_on_the_marker(theme: str) -> None:
    t = token_values(theme)
    assert all(contrast(t[n], t[f"{n}-wash"]) >= 4.5 for n in ("pass", "caution", "fail", "unknown"))
    assert contrast(t["ink"], t["marker"]) >= 4.5


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_lines_that_mean_something_reach_3(theme: str) -> None:
    t = token_values(theme)
    assert all(contrast(t["edge"], t[g]) >= 3 for g in GROUND)


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("eye", CVD)
def test_verdicts_stay_apart_for_every_eye(theme: str, eye: str) -> None:
    t = token_values(theme)
    pairs = itertools.combinations(("pass", "caution", "fail", "unknown"), 2)
    assert min(distance(t[a], t[b], eye) for a, b in pairs) >= 15.9


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("eye", CVD)
def test_copper_and_blue_stay_apart_for_every_eye(theme: str, eye: str) -> None:
    t = token_values(theme)
    assert distance(t["pos"], t["neg"], eye) >= 50

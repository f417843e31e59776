"""Colours: readable on paper, apart for the colour-blind and in grey."""

from __future__ import annotations

import itertools
import math
from importlib import resources

import numpy as np
import pytest

from weldcal.reports.dossier import svg as palette

FILLS = (palette.PAPER, palette.PROBED, palette.UNPROBED, palette.OPEN)
TEXTS = (palette.INK, palette.MUTED, palette.PROBED, palette.OPEN)

# Machado, Oliveira & Fernandes 2009, severity 1.0, on linear RGB (from memory).
BLIND = {
    "none": np.eye(3),
    "protanopia": np.array(
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ]
    ),
    "deuteranopia": np.array(
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ]
    ),
    "tritanopia": np.array(
        [
            [1.255528, -0.076749, -0.178779],
            [-0.078411, 0.930809, 0.147602],
            [0.004733, 0.691367, 0.303900],
        ]
    ),
}


def linear(colour: str) -> np.ndarray:
    """Linear RGB of #rrggbb (IEC 61966-2-1)."""
    values = np.array([int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)])
    return np.where(values <= 0.04045, values / 12.92, ((values + 0.055) / 1.055) ** 2.4)


def luminance(colour: str) -> float:
    """Relative luminance (WCAG 2.2)."""
    return float(np.array([0.2126, 0.7152, 0.0722]) @ linear(colour))


def contrast(a: str, b: str) -> float:
    """Contrast ratio (WCAG 2.2)."""
    high, low = sorted((luminance(a), luminance(b)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def lab(rgb: np.ndarray) -> np.ndarray:
    """CIELAB of linear sRGB under D65."""
    xyz = np.array(
        [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
    ) @ np.clip(rgb, 0, 1)
    t = xyz / np.array([0.9505, 1.0, 1.089])
    f = np.where(t > (6 / 29) ** 3, np.cbrt(t), t / 3 / (6 / 29) ** 2 + 4 / 29)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def test_the_ruler_measures_known_colours() -> None:
    """Black on white is 21; #767676 on white is the least grey of 4.5 (WCAG); pure red is Lab 53, 80, 67."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)
    assert lab(linear("#ff0000")) == pytest.approx([53.2, 80.1, 67.2], abs=0.3)


@pytest.mark.parametrize("colour", TEXTS)
def test_text_reads_on_paper(colour: str) -> None:
    """4.5 or more for every colour words are set in."""
    assert contrast(colour, palette.PAPER) >= 4.5


@pytest.mark.parametrize("eye", BLIND)
def test_fills_stay_apart_for_every_eye(eye: str) -> None:
    """CIE 1976 distance of 25 and more between any two fills, whichever cone is missing."""
    for a, b in itertools.combinations(FILLS, 2):
        seen = [lab(BLIND[eye] @ linear(c)) for c in (a, b)]
        assert math.dist(*seen) >= 25, (a, b)


def test_probed_and_not_probed_part_in_grey() -> None:
    """The two that matter most differ in lightness by more than half the scale."""
    solid, hollow = (lab(linear(c))[0] for c in (palette.PROBED, palette.UNPROBED))
    assert hollow - solid >= 50


def test_the_style_sheet_uses_the_palettes_colours_only() -> None:
    """And its rule lines, which are not text."""
    import re

    css = (resources.files("weldcal.reports.dossier") / "templates" / "page.css").read_text()
    used = set(re.findall(r"#[0-9a-f]{6}", css))
    assert used <= {*TEXTS, palette.PAPER, "#8a8a8a"}
    colours = set(re.findall(r"[^-]color: (#[0-9a-f]{6})", css))
    assert all(contrast(colour, palette.PAPER) >= 4.5 for colour in colours)

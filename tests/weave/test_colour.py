"""CIELAB and CIEDE2000 against published values."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np

from weftglass.weave.colour import difference, lab_of_srgb, srgb_of_lab

PAIRS = json.loads((Path(__file__).parents[1] / "published" / "sharma_2005_ciede2000.json").read_text())


def test_differences_are_those_of_the_34_published_pairs():
    """Sharma, Wu, Dalal (2005), table 1, four decimals."""
    np.testing.assert_allclose(difference(PAIRS["lab1"], PAIRS["lab2"]), PAIRS["difference"], atol=6e-5)


def test_difference_is_the_same_both_ways():
    np.testing.assert_allclose(difference(PAIRS["lab2"], PAIRS["lab1"]), PAIRS["difference"], atol=6e-5)


def test_neutral_greys_have_the_lightness_of_the_standards_and_no_colour():
    """IEC 61966-2-1 and the CIE formula."""
    grey = np.array([0, 64, 118, 119, 128, 192, 255]) / 255
    lab = lab_of_srgb(np.repeat(grey[:, None], 3, axis=1))
    np.testing.assert_allclose(lab[:, 0], [0, 27.0934, 49.637, 50.0344, 53.585, 77.7044, 100], atol=6e-4)
    np.testing.assert_allclose(lab[:, 1:], 0, atol=1e-9)


def test_colours_come_back_from_cielab():
    rgb = np.random.default_rng(1).uniform(0, 1, (50, 3))
    np.testing.assert_allclose(srgb_of_lab(lab_of_srgb(rgb)), rgb, atol=1e-6)

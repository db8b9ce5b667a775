"""The peers of the benchmark do what their names say: each finds a contour that was hardly changed."""

from __future__ import annotations

import numpy as np
import pytest
from benchmarks.peer_methods import Contours, closed, methods, similarity
from numpy.testing import assert_allclose

RNG = np.random.default_rng(4)
HEIGHT = np.linspace(0.0, 1.0, 60)


def _profile(height: float, neck: float, shoulder: float) -> np.ndarray:
    half = neck + (40.0 - neck) / (1.0 + np.exp((HEIGHT - shoulder) * (20.0 + neck)))
    return np.column_stack([HEIGHT * height, half])


PROFILES = [
    _profile(height, neck, shoulder) for height in (180.0, 240.0) for neck in (10.0, 20.0) for shoulder in (0.5, 0.7)
]
PEERS = methods(Contours.of(PROFILES))
WAYS = [(name, way) for name, ways in PEERS.items() for way in range(len(ways))]


@pytest.mark.parametrize(("name", "way"), WAYS)
def test_every_peer_finds_a_known_contour_again(name: str, way: int) -> None:
    for truth, profile in enumerate(PROFILES):
        seen = profile.copy()
        if "3 mm" in name:
            seen = np.column_stack([np.linspace(0.0, profile[-1, 0] + 6.0, 60), profile[:, 1] + 3.0])
        seen[:, 1] += 0.02 * RNG.standard_normal(len(seen))
        distance = PEERS[name][way](seen)
        assert distance.shape == (len(PROFILES),)
        # methods that take the size out cannot tell two heights of one shape apart: its partner may come first
        assert truth in np.argsort(distance)[:2]


def test_free_offset_and_scale_forgive_an_even_covering_exactly() -> None:
    distance = PEERS["least squares, free offset and scale"][0]
    grown = PROFILES[3] * np.array([1.0, 1.1]) + np.array([0.0, 5.0])
    assert_allclose(distance(grown)[3], 0.0, atol=1e-8)


def test_similarity_recovers_size_and_lift() -> None:
    own = np.array([[10.0, 0.0], [20.0, 50.0], [5.0, 90.0]])
    assert_allclose(similarity(own, own * 1.25 + [0.0, 7.0]), (1.25, 7.0))


def test_closed_contour_goes_up_one_side_and_down_the_other() -> None:
    assert_allclose(closed(np.array([[0.0, 2.0], [5.0, 1.0]])), [[2.0, 0.0], [1.0, 5.0], [-1.0, 5.0], [-2.0, 0.0]])

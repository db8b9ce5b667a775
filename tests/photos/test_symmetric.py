"""Outlines symmetric about an axis: light from one side, and different things on both sides."""

from __future__ import annotations

import json
from pathlib import Path

import cv2
import numpy as np
import pytest

import weftglass.demo
from weftglass.photos import read_photograph, trace_outline
from weftglass.photos.snap import _closed_path
from weftglass.photos.symmetric import AT_FRAME, RowCosts, best_outline, unlike_mirror

DEMO = Path(weftglass.demo.__file__).parent / "data"
AXIS, REACH = 10, 8


def halves(left: tuple[float, float, float], right: tuple[float, float, float]) -> np.ndarray:
    """A picture (4, 21, 3) of two L*a*b* colours beside the axis column."""
    colour = np.empty((4, 21, 3), dtype=np.float32)
    colour[:, : AXIS + 1], colour[:, AXIS + 1 :] = left, right
    return colour


def test_unlike_mirror_allows_for_light_from_one_side_as_far_as_it_is_told() -> None:
    lit, share = (60.0, 20.0, 40.0), 0.5  # CIE 15: L* + 16, a*, b* all go with the cube root of light
    dark = (share * 76.0 - 16.0, share * 20.0, share * 40.0)
    unlike = [unlike_mirror(halves(lit, dark), AXIS, REACH, sidelit)[:, 2:].max() for sidelit in (0.0, 0.5, 1.0)]
    assert unlike[0] == 2.5
    assert unlike[0] > unlike[1] > unlike[2] == 0.0


def test_unlike_mirror_tells_other_colours_in_any_light() -> None:
    assert unlike_mirror(halves((60.0, 20.0, 40.0), (30.0, -15.0, -5.0)), AXIS, REACH, 1.0)[:, 2:].min() == 2.5


@pytest.mark.parametrize("name", ["p-29-front", "p-02-front"])
def test_trace_outline_of_a_piece_lit_from_one_side(name: str) -> None:
    """The first is cut off at both ends too; of the second a doubtful outline would lose a part of the shoulder."""
    truth = json.loads((DEMO / "truth.json").read_text(encoding="utf-8"))[name]
    photo = read_photograph((DEMO / f"photographs/{name}.jpg").read_bytes(), name)
    true = np.zeros((photo.height_px, photo.width_px), np.uint8)
    cv2.fillPoly(true, [np.round(truth["polygon_px"]).astype(np.int32)], 1)
    found = trace_outline(photo)
    assert (found.mask & (true > 0)).sum() > 0.98 * (found.mask | (true > 0)).sum()
    assert not found.warnings


def cheapest_by_trying_every_step(row: np.ndarray, way: np.ndarray) -> tuple[np.ndarray, float]:
    """Half-widths (h,) and gain of the best outline, each half-width weighed against each in the row before."""
    height, reach = row.shape
    least, best = 0.0, np.zeros(height, dtype=int)
    total, paths = AT_FRAME * way[0] + row[0], [[(0, state)] for state in range(reach)]
    for y in range(height):
        end = total + (way[y + 1] if y + 1 < height else AT_FRAME * way[-1])
        state = int(np.argmin(end))
        if end[state] < least:
            least, best = float(end[state]), np.zeros(height, dtype=int)
            for at, half in paths[state]:
                best[at] = half
        if y + 1 == height:
            break
        g = way[y + 1]
        step = total[None, :] + np.abs(g[:, None] - g[None, :])
        came = step.argmin(axis=1)
        begun = g < step.min(axis=1)
        own = [[] if begun[state] else paths[came[state]] for state in range(reach)]
        paths = [[*own[state], (y + 1, state)] for state in range(reach)]
        total = np.minimum(step.min(axis=1), g) + row[y + 1]
    return best, -least


@pytest.mark.parametrize("seed", range(8))
def test_best_outline_is_the_best_of_all(seed: int) -> None:
    """Against every step tried, on costs of which no two ways are alike; of three axes the second is worth most."""
    rng = np.random.default_rng(seed)
    costs = []
    for axis in range(3):
        row = rng.normal(0.3 - 0.2 * (axis == 1), 1.0, (23, 9 + axis)).astype(np.float32)
        costs.append(RowCosts(axis, row, np.cumsum(rng.uniform(0.1, 0.9, row.shape), axis=1).astype(np.float32)))
    alone = [cheapest_by_trying_every_step(one.row, one.way) for one in costs]
    for one, (half, gain) in zip(costs, alone, strict=True):
        _, found = best_outline([one])
        assert found.gain == pytest.approx(gain, rel=1e-5)
        assert np.array_equal(found.half_width, half)
    worth = [1.0, 0.5, 0.1]
    k, found = best_outline(costs, worth)
    assert k == int(np.argmax([gain * share for (_, gain), share in zip(alone, worth, strict=True)]))
    assert np.array_equal(found.half_width, alone[k][0])


def test_best_outline_is_none_where_nothing_gains() -> None:
    row = np.ones((12, 6), dtype=np.float32)
    _, found = best_outline([RowCosts(3, row, np.cumsum(row, axis=1))])
    assert found.gain == 0.0
    assert found.rows == (0, -1)


def test_closed_path_is_the_cheapest_way_round() -> None:
    """A groove that goes once round a ring, by no more than one offset a point, is followed to the last point."""
    around = np.round(3 * np.sin(np.linspace(0, 2 * np.pi, 60, endpoint=False))).astype(int) + 4
    cost = np.ones((60, 9))
    cost[np.arange(60), around] = 0.0
    cost[25, :] = 1.0  # where nothing is told the way goes straight on
    path = _closed_path(cost)
    told = np.arange(60) != 25
    assert np.array_equal(path[told], around[told])
    assert abs(path[25] - around[25]) <= 1

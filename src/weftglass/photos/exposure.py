"""Evening the light of neighbouring strips: what differs where they show the same wall is light, not colour."""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from weftglass.photos.unroll import Colours, Strip
from weftglass.photos.wall import Wall

FloatArray = NDArray[np.float64]

CELL_MM = 4.0
OWN_SD = 0.05
"""How much one photograph's own fall of light may differ from the others' (a working figure, no source)."""

EXPOSURE_SD = 0.5
HALF_VIEW_DEG = 60.0
DARKEST, LIGHTEST = 0.03, 0.97
SHARED = [(across, up) for across in (1, 2, 3, 4) for up in (0, 1, 2)]
OWN = [(0, 0), (1, 0), (0, 1)]


def evened(strips: Sequence[Strip], wall: Wall) -> list[Colours]:
    """
    Colours of each strip as if all had been taken in one light.

    Parameters
    ----------
    strips : sequence of Strip
        Unrolled with their true turns.
    wall : Wall

    Returns
    -------
    list of array, shape (rows, columns, 3)
        Not clipped.

    Notes
    -----
    The lamp stands still and the piece turns, so light falls off across every photograph alike: a polynomial of the
    angle from the camera's side to the other, changing slowly with height, common to all, and an exposure and a small
    fall of light of its own for each. Fitted to the logarithms' differences where two strips show the same place, so a
    design cannot be mistaken for light. Robust against glare that only one of the two shows.
    """
    if len(strips) < 2:
        return [strip.colours for strip in strips]
    cells = [_cells(strip, wall) for strip in strips]
    terms = _terms(len(strips), cells)
    lights = np.zeros((3, terms[0].shape[2]))
    for channel in range(3):
        rows, values = _differences(cells, terms, channel)
        if len(values):
            lights[channel] = _fitted(rows, values, len(strips))
    shape = (wall.shape[1], wall.shape[0])
    result = []
    for strip, term in zip(strips, terms, strict=True):
        light = np.stack([term @ lights[channel] for channel in range(3)], axis=-1).astype(np.float32)
        result.append(np.asarray(strip.colours * np.exp(-cv2.resize(light, shape, interpolation=cv2.INTER_LINEAR))))
    return result


def evened_alone(strip: Strip, wall: Wall) -> Colours:
    """
    Colours of one strip with the lamp's fall of light taken off.

    With no second photograph to compare, the commonest colour is taken for the ground, and light for what makes it vary
    slowly from side to side: a curve of the angle in the logarithm of lightness, fitted so that figures count little.
    Colours themselves are left alone.
    """
    log, angle, good = _cells(strip, wall)
    if good.sum() < 40:
        return strip.colours
    light = log.mean(axis=2)
    terms = np.stack([np.ones_like(angle), angle, angle**2, angle**3], axis=-1)
    rows, values = terms[good], light[good]
    weight, solution = np.ones(len(values)), np.zeros(terms.shape[2])
    for _ in range(20):
        solution = np.asarray(np.linalg.lstsq(rows * weight[:, None], values * weight, rcond=None)[0], dtype=np.float64)
        off = values - rows @ solution
        spread = 1.4826 * float(np.median(np.abs(off - np.median(off)))) + 1e-3
        weight = 1 / (1 + (off / (1.5 * spread)) ** 2)
    fall = (np.clip(terms, -1.2, 1.2)[..., 1:] @ solution[1:]).astype(np.float32)
    whole = cv2.resize(fall, (wall.shape[1], wall.shape[0]), interpolation=cv2.INTER_LINEAR)
    return np.asarray(strip.colours * np.exp(-whole)[..., None], dtype=np.float32)


def _cells(strip: Strip, wall: Wall) -> tuple[FloatArray, FloatArray, NDArray[np.bool_]]:
    """Logarithm of each cell's mean colour, its angle from the line of sight (60 degrees = 1), whether it counts."""
    rows, columns = (max(4, round(n / wall.px_per_mm / CELL_MM)) for n in wall.shape)
    size = (columns, rows)
    weight = (strip.facing > 0.5).astype(np.float32)
    share = cv2.resize(weight, size, interpolation=cv2.INTER_AREA)
    mean = cv2.resize(strip.colours * weight[..., None], size, interpolation=cv2.INTER_AREA)
    mean = mean / np.maximum(share, 1e-3)[..., None]
    turn = (np.arange(columns) + 0.5) / columns * 360 - 180 - strip.turn_deg
    angle = (np.mod(turn + 180, 360) - 180) / HALF_VIEW_DEG
    good = (share > 0.95) & np.all((mean > DARKEST) & (mean < LIGHTEST), axis=2)
    return np.log(np.clip(mean, 1e-3, None)), np.broadcast_to(angle, good.shape), good


def _terms(count: int, cells: Sequence[tuple[FloatArray, FloatArray, NDArray[np.bool_]]]) -> list[FloatArray]:
    """For each strip the value of every unknown's term in every cell, (rows, columns, unknowns)."""
    result = []
    for k, (_, angle, _) in enumerate(cells):
        up = np.linspace(-1, 1, angle.shape[0])[:, None] * np.ones(angle.shape)
        inside = np.clip(angle, -1, 1)
        own = np.zeros((*angle.shape, count * len(OWN)))
        for i, (across, rise) in enumerate(OWN):
            own[..., k * len(OWN) + i] = inside**across * up**rise
        shared = np.stack([inside**across * up**rise for across, rise in SHARED], axis=-1)
        result.append(np.concatenate([own, shared], axis=-1))
    return result


def _differences(
    cells: Sequence[tuple[FloatArray, FloatArray, NDArray[np.bool_]]], terms: Sequence[FloatArray], channel: int
) -> tuple[FloatArray, FloatArray]:
    rows, values = [], []
    for i in range(len(cells)):
        for j in range(i + 1, len(cells)):
            both = cells[i][2] & cells[j][2]
            if both.any():
                rows.append((terms[i] - terms[j])[both])
                values.append((cells[i][0] - cells[j][0])[both][:, channel])
    if not rows:
        return np.zeros((0, terms[0].shape[2])), np.zeros(0)
    return np.concatenate(rows), np.concatenate(values)


def _fitted(rows: FloatArray, values: FloatArray, count: int) -> FloatArray:
    own = np.array([EXPOSURE_SD if term == (0, 0) else OWN_SD for term in OWN])
    prior = 1 / np.concatenate([np.tile(own, count), np.full(len(SHARED), 1.0)]) ** 2
    weight = np.ones(len(values))
    solution: FloatArray = np.zeros(rows.shape[1])
    for _ in range(5):
        normal = (rows * weight[:, None]).T @ rows / 0.1**2 + np.diag(prior)
        solution = np.asarray(np.linalg.solve(normal, (rows * weight[:, None]).T @ values / 0.1**2), dtype=np.float64)
        off = values - rows @ solution
        spread = 1.4826 * float(np.median(np.abs(off))) + 1e-6
        weight = 1 / (1 + (off / (2 * spread)) ** 2)
    return np.asarray(solution)

"""The axis that suits a stage's picture best: a little to the left or right, leaning a little, between its sides."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import cv2
import numpy as np

from weftglass.photos.appearance import Map
from weftglass.photos.patches import filled, joined_to
from weftglass.photos.rows import Rows, rows_of, rows_within, straight_middle
from weftglass.photos.snap import snapped
from weftglass.photos.stage import Stage, polygon_of, sheared
from weftglass.photos.symmetric import best_outline, row_costs

LEANING = 30.0
"""A leaning axis must gain more, a twentieth at 2.3 degrees: people hold cameras level (common practice, no source)."""

GUESSED, LEARNT = 0.3, 0.8
"""Greatest log odds of a pair of pixels before and after colours are learnt."""


def best_axis(stage: Stage, steps: Sequence[tuple[float, float]]) -> Stage:
    """Try axes a little to the left and right and leaning a little; keep the best."""
    best = stage
    x, lean = stage.outline.axis_x, stage.lean
    for step_x, step_lean in steps:
        ways = sorted(((i, j) for i in (-1, 0, 1) for j in (-1, 0, 1)), key=lambda way: abs(way[0]) + abs(way[1]))
        best = best_about(stage, [(x + dx * step_x, lean + dlean * step_lean) for dx, dlean in ways])
        x, lean = best.outline.axis_x, best.lean
    return best


def upright_or_leaning(stage: Stage) -> Stage:
    """The best of a grid of axes near the one found, leaning up to two degrees either way."""
    x = stage.outline.axis_x
    return best_about(
        stage, [(x + dx, lean) for dx in (-6, -3, 0, 3, 6) for lean in (-0.036, -0.018, 0.0, 0.018, 0.036)]
    )


def between_sides(stage: Stage) -> Stage:
    """Move each side to the edge beside it on its own; if the line half-way between them is a better axis, take it."""
    first, last = stage.outline.rows
    if last - first < 20:
        return stage
    edge = stage.features.edge
    sides = snapped(polygon_of(stage), stage.odds, edge, reach_px=max(6, edge.shape[1] // 40), mirrored=0.0)
    at_zero, lean = straight_middle(rows_of(sides, 200))
    middle = (stage.features.shape[0] - 1) / 2
    axes = [(stage.outline.axis_x, stage.lean), (at_zero + lean * middle, lean)]
    likely = _likely_rows(stage) if stage.learnt else None
    if likely is not None:
        at_zero, lean = straight_middle(likely)
        axes += [(at_zero + lean * middle, lean), (at_zero + lean * middle, stage.lean)]
    return best_about(stage, axes)


def _likely_rows(stage: Stage) -> Rows | None:
    """Edges of the largest patch of likely pixels that the outline touches, thin threads cut."""
    likely = cv2.morphologyEx((stage.odds > 0.5).astype(np.uint8), cv2.MORPH_OPEN, np.ones((9, 9), np.uint8))
    within = filled(polygon_of(stage), stage.features.shape)
    patch = joined_to(likely > 0, within)
    if patch[within].sum() < 0.3 * within.sum():
        return None
    rows = rows_within(patch)
    return rows if len(rows.y) >= 20 else None


def best_about(stage: Stage, axes: Sequence[tuple[float, float]]) -> Stage:
    """Best outline about any of the axes (x at the middle row, lean in pixels a row); the first of equals."""
    known = stage.features
    layers = np.dstack([stage.odds, *known.borders, known.level])
    axes = [(float(np.clip(x, 3.0, known.shape[1] - 4.0)), lean) for x, lean in axes]
    most = LEARNT if stage.learnt else GUESSED
    costs = []
    for x, lean in axes:
        odds, left, right, level = np.moveaxis(sheared(layers, x, lean), 2, 0)
        known_of = (odds, left, right, level, sheared(known.soft, x, lean), round(x))
        costs.append(row_costs(*known_of, most=most, sidelit=stage.sidelit, opaque=stage.opaque))
    k, outline = best_outline(costs, [1.0 - LEANING * lean**2 for _, lean in axes])
    return replace(stage, lean=axes[k][1], outline=replace(outline, axis_x=axes[k][0]))


def best_whatever_its_colours(stage: Stage, edges: Map, axes: Sequence[tuple[float, float]]) -> Stage:
    """Best outline about any of the axes by the stage's log odds and edges (h, w, 0 to 1) of any direction alone."""
    plain: Map = np.zeros((*stage.odds.shape, 3), dtype=np.float32)
    costs = []
    for x, lean in axes:
        edge = sheared(edges, x, lean)
        costs.append(row_costs(sheared(stage.odds, x, lean), edge, edge, edge, plain, round(x), most=1.0))
    k, outline = best_outline(costs)
    return replace(stage, lean=axes[k][1], outline=replace(outline, axis_x=axes[k][0]))

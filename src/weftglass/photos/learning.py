"""What a stage's outline teaches about the colours of piece and ground, and the outline that follows from it."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
from numpy.typing import NDArray

from weftglass.photos.appearance import log_odds
from weftglass.photos.axis_search import best_axis
from weftglass.photos.backdrop import backdrop_of
from weftglass.photos.beside import unlike_beside
from weftglass.photos.ground import unlike_ground
from weftglass.photos.patches import disc, filled
from weftglass.photos.stage import Stage, axis_and_half, barred, polygon_of

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

DOUBTED, FIRST_GUESS = -0.25, 0.7
"""How unlike the margin a place may be before it is not learnt from, and how much that still counts later."""

BASE_SLACK = 0.03
"""By how much of its height the piece may still grow downward once its colours are learnt: the table before it is not
the table beside it."""

MOST_GROWN = 1.3
"""Beyond so many times its width before, an outline has run out into the wall: the one before is kept."""

LEARNT_FOR, LEARNT_AGAINST = 0.6, 0.3
"""What colours learnt anywhere count where the ground beside the piece is asked; glass has the colour of the ground."""

SPREAD = 0.02
"""Over what share of its height the colours of a row of the piece are gathered, standard deviation."""

ANYWHERE = 0.4
"""What colours learnt anywhere count beside those of the same height."""


def unlearnt(stage: Stage, small: BoolArray) -> Stage:
    """The stage with no colours known."""
    return replace(stage, odds=barred(np.zeros(stage.features.shape, dtype=np.float32), small))


def relearnt(stage: Stage, small: BoolArray) -> Stage:
    """Log odds from the colours within the outline and around it, those nearby counting as well as the margin."""
    first, last = stage.outline.rows
    if last <= first:
        return stage
    mask = filled(polygon_of(stage), stage.features.shape)
    width = max(4, int(np.sqrt(mask.sum()) / 30))
    kernel = disc(width)
    piece = cv2.erode(mask.astype(np.uint8), kernel).astype(bool)
    ground = ~cv2.dilate(mask.astype(np.uint8), kernel).astype(bool)
    if piece.sum() < 50 or ground.sum() < 50:
        return stage
    # Where the first guess says piece and the outline says ground, nothing is learnt: it may be a part cut off.
    guess = np.asarray(cv2.GaussianBlur(stage.guess, (0, 0), max(1.5, width / 2)), dtype=np.float32)
    # Where it says ground and the outline says piece, little is: it may be a shadow, or clear glass.
    trust = np.where(ground & (guess > DOUBTED), np.float32(0.0), np.float32(1.0)).astype(np.float32)
    trust[piece & (guess < 0.0)] = 0.3
    learnt = log_odds(stage.features, piece, ground, trust=trust)
    odds = np.asarray(learnt + FIRST_GUESS * np.minimum(guess, 1.5), dtype=np.float32)
    return replace(stage, odds=barred(odds, small), learnt=True)


def row_by_row(stage: Stage, small: BoolArray) -> Stage:
    """Log odds by what was learnt anywhere and by what piece and ground look like at each height."""
    first, last = stage.outline.rows
    if last - first < 20:
        return stage
    axis, half = axis_and_half(stage)
    left, right = axis - half, axis + half
    spread = SPREAD * (last - first)
    beside = unlike_beside(stage.features, left, right, rows=(first, last), spread_px=spread, known=stage.odds)
    share = beside.told[:, None]
    odds = np.clip((1.0 - share * (1.0 - ANYWHERE)) * stage.odds + share * beside.odds, -3.0, 3.0)
    return replace(stage, odds=barred(np.asarray(odds, dtype=np.float32), small), opaque=beside.told)


def against_ground(stage: Stage, small: BoolArray) -> Stage:
    """The outline found once more, each row judged by the ground beside it: clear glass and pale weaves come back."""
    first, last = stage.outline.rows
    if last - first < 20:
        return stage
    axis, half = axis_and_half(stage)
    widest = float(half.max())
    # What was found may be the inner edge of a neck's glass: the ground is looked for well outside it.
    beyond: FloatArray = np.maximum(1.12 * half, np.minimum(1.7 * half, 0.9 * widest)).astype(np.float64)
    foot = (first + 0.6 * (last - first)) / len(half)
    strip = max(10.0, 0.4 * widest)
    unlike = unlike_ground(stage.features, axis - beyond, axis + beyond, gap_px=3.0, strip_px=strip, shaded_from=foot)
    backdrop = backdrop_of(stage.features, axis, half, (first, last))
    unlike = backdrop.told_by(unlike)
    learnt = np.where(stage.odds > 0, LEARNT_FOR, LEARNT_AGAINST) * np.clip(stage.odds, -1.0, 1.0)
    learnt[backdrop.seen] = np.maximum(learnt[backdrop.seen], 0.0)
    # Before a backdrop nothing needs learnt colours, and a light on a neck of glass is not taken for the neck.
    share = 0.0 if stage.opaque is None else (stage.opaque * ~backdrop.seen.any(axis=1))[:, None]
    odds = np.asarray((1.0 - share) * (unlike + learnt) + share * stage.odds, dtype=np.float32)
    odds[min(len(half), last + 2 + round(BASE_SLACK * (last - first))) :] = -3.0
    found = best_axis(replace(stage, odds=barred(odds, small)), ((3.0, 0.012), (1.0, 0.004)))
    grown = float(found.outline.half_width.max()) > MOST_GROWN * widest
    return stage if grown else replace(found, odds=stage.odds)

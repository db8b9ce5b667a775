"""How fine a covering is: rows and stitches per centimetre on a close-up, with how sure that is, or why not."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from weftglass.weave.kinds import recognised, without_pairs
from weftglass.weave.lattice import BONDS, Guess, guessed_in, spectrum_of
from weftglass.weave.local import windows_of
from weftglass.weave.patch import Box, Patch, Pixels, evened, patch_of
from weftglass.weave.rows import Rows, followed
from weftglass.weave.stance import Known, Stance, stance_of
from weftglass.weave.stitches import LEANS, Stitches, counted_along, fundamental, readings_of, spectrum_along

FloatArray = NDArray[np.float64]

TECHNIQUES = tuple(BONDS)
LEANING = ("twined", "coiled")
STANDING = ("twined", "wicker", "plaited")  # the same stakes or strips stand in all rows

RELIEF = {"twined": 0.38, "coiled": 0.30, "wicker": 0.36, "plaited": 0.10, "hitched": 0.40}
"""How far below the outer face the seen edges of strands lie, in row distances (from the tuning close-ups)."""

RELIEF_SHARE = 0.4  # relative standard deviation of that
MODEL_SD = {"rows": 0.016, "stitches": 0.015}  # relative; what rendered close-ups leave unexplained
EVEN_REACH_SHARE, EVEN_REACH_ROWS = 0.10, 0.9
FINEST_PX = 6.0  # pixels a row in the photograph
LEAST_ROWS = 5.0
LEAST_STITCHES = 3.0
MOST_MISS = 0.10  # median, of a row
LEAST_WEIGHT = 0.33  # median amplitude of rows, in local standard deviations
LEAST_PEAK = 5.0  # of the wave along the rows over what is usual there
MOST_STITCH_MISS = 0.2  # of a stitch
SURE_LEAN = 3.0  # standard deviations
OTHER_REPEAT = 0.2
TOO_SMALL = f"too small: a row has to be at least {FINEST_PX:g} pixels tall to be counted; take it nearer or sharper"
WHICH = "it can't be told whether this is plaited, which would double the count of rows: say the technique"
NO_ROWS = "no rows that repeat were found: take it sharper, nearer, or choose a box that holds covering only"


@dataclass(frozen=True, eq=False)
class LocalGauge:
    """
    The gauge in one window; corners (x0, y0, x1, y1) in pixels of the photograph.

    Rows and stitches per cm are None where too little is seen.
    """

    box_px: tuple[float, float, float, float]
    rows_per_cm: float | None
    stitches_per_cm: float | None


@dataclass(frozen=True, eq=False)
class Gauge:
    """
    The gauge of a covering on a close-up.

    Parameters
    ----------
    rows_per_cm, rows_sd, stitches_per_cm, stitches_sd : float or None
        None when the picture cannot carry that count.
    lean : str or None
        "up to the right", "up to the left", or None.
    lean_sure : float or None
        Probability that it is not the other way, by how well the rows agree.
    reason : str or None
        Why a count is missing.
    technique : str or None
        As given, or as it was taken to be.
    technique_given : bool
    rows_counted, stitches_counted : float or None
        How many rows lie between the upper and lower edge, and stitches in a row between left and right.
    lift_deg, yaw_deg, radius_mm : float or None
        How the camera is reckoned to have stood (from above, from the right), and the radius of the covering.
    row_lines : tuple of arrays, each shape (n, 2)
        The rows as counted, pixels of the photograph.
    stitch_marks : array, shape (n, 2)
        One mark a repeat along the rows.
    windows : tuple of LocalGauge
    warnings : tuple of str
    """

    rows_per_cm: float | None = None
    rows_sd: float | None = None
    stitches_per_cm: float | None = None
    stitches_sd: float | None = None
    lean: str | None = None
    lean_sure: float | None = None
    reason: str | None = None
    technique: str | None = None
    technique_given: bool = True
    rows_counted: float | None = None
    stitches_counted: float | None = None
    lift_deg: float | None = None
    yaw_deg: float | None = None
    radius_mm: float | None = None
    row_lines: tuple[FloatArray, ...] = ()
    stitch_marks: FloatArray | None = None
    windows: tuple[LocalGauge, ...] = ()
    warnings: tuple[str, ...] = ()

    def to_record(self) -> dict[str, Any]:
        """The fields of the `gauge` contract, and what else a reader may want, ready for JSON."""
        found: dict[str, Any] = {
            "rows_per_cm": _rounded(self.rows_per_cm), "rows_sd": _rounded(self.rows_sd, 4),
            "stitches_per_cm": _rounded(self.stitches_per_cm), "stitches_sd": _rounded(self.stitches_sd, 4),
            "lean": self.lean, "lean_sure": _rounded(self.lean_sure), "reason": self.reason,
            "technique": self.technique, "technique_given": self.technique_given,
            "rows_counted": _rounded(self.rows_counted, 1), "stitches_counted": _rounded(self.stitches_counted, 1),
            "lift_deg": _rounded(self.lift_deg, 1), "yaw_deg": _rounded(self.yaw_deg, 1),
            "radius_mm": _rounded(self.radius_mm, 1),
            "map": [
                {"box_px": [round(v, 1) for v in one.box_px], "rows_per_cm": _rounded(one.rows_per_cm),
                 "stitches_per_cm": _rounded(one.stitches_per_cm)}
                for one in self.windows
            ],
            "warnings": list(self.warnings),
        }  # fmt: skip
        return found


def counted_in(
    pixels: Pixels,
    mm_per_px: float,
    technique: str | None,
    box: Box | None,
    scale_sd: float,
    known: Known,
    where: str,
    *,
    repeat_px: float | None = None,
) -> Gauge:
    """
    Count in one box; see `weftglass.weave.gauge_of`, which also counts in its middle.

    ``repeat_px`` is how far apart repeats are known to be down the picture, to a fifth; None: found here.
    """
    given = technique is not None
    patch = patch_of(pixels, box, where=where)
    spectrum = spectrum_of(evened(patch.grey, EVEN_REACH_SHARE * min(patch.grey.shape)))
    kind, guess = (
        recognised(spectrum, patch.grey) if technique is None else (technique, guessed_in(spectrum, technique))
    )
    guess = without_pairs(spectrum, guess, kind)
    if repeat_px is not None and abs(guess.row_px / (repeat_px * patch.factor) - 1) > OTHER_REPEAT:
        guess = replace(guess, row_px=repeat_px * patch.factor)
    fault = _too_fine(guess, patch)
    if fault is not None:
        return Gauge(reason=fault, technique=technique, technique_given=given)
    values = evened(patch.grey, EVEN_REACH_ROWS * guess.row_px)
    rows = followed(values, guess)
    fault = _no_rows(rows)
    if fault is not None or kind is None:
        return Gauge(reason=fault or WHICH, technique=technique, technique_given=given)
    stitches, missing = _stitches(values, rows, kind)
    stance = stance_of(rows, stitches, mm_per_px / patch.factor, known, standing=kind in STANDING)
    if stitches is not None and stance.stitch_miss > MOST_STITCH_MISS:
        stitches, missing = None, "the stitches along the rows do not repeat plainly enough"
        stance = stance_of(rows, None, mm_per_px / patch.factor, known, standing=kind in STANDING)
    return _told(patch, rows, stitches, stance, kind, given, scale_sd, missing)


def _too_fine(guess: Guess, patch: Patch) -> str | None:
    if guess.row_px / patch.factor >= FINEST_PX and guess.row_px > 0:
        return None if guess.row_px >= FINEST_PX else "rows are too fine in so large a box: choose a smaller one"
    return TOO_SMALL


def _no_rows(rows: Rows) -> str | None:
    miss, weight = float(np.median(np.abs(rows.miss()))), float(np.median(rows.weight))
    if miss > MOST_MISS or weight < LEAST_WEIGHT:
        return NO_ROWS
    height, width = rows.size
    ends = rows.number(np.array([width / 2] * 2), np.array([0.0, height - 1.0]))
    count = float(ends[1] - ends[0])
    if count < LEAST_ROWS:
        return f"only about {max(count, 0):.0f} rows are in the box; at least {LEAST_ROWS:g} are needed"
    return None


def _stitches(values: FloatArray, rows: Rows, kind: str) -> tuple[Stitches | None, str | None]:
    readings = readings_of(values, rows)
    width = values.shape[1]
    if len(readings.number) < 3:
        return None, "too few rows cross the box for a count of stitches"
    frequency = np.geomspace(2.5 / width, min(0.3, 6 / readings.row_px), 300)
    power = spectrum_along(readings, frequency)
    i = fundamental(power.max(1), frequency, finest_px=BONDS[kind].ratio[0] * readings.row_px)
    j = int(power[i].argmax())
    if power[i, j] < LEAST_PEAK * float(np.median(power.max(1))):
        return None, "no stitches that repeat were found along the rows"
    if frequency[i] * width < LEAST_STITCHES:
        return None, "fewer than three stitches of a row are in the box"
    return counted_along(readings, float(frequency[i]), float(LEANS[j])), None


def _told(
    patch: Patch,
    rows: Rows,
    stitches: Stitches | None,
    stance: Stance,
    kind: str,
    given: bool,
    scale_sd: float,
    missing: str | None,
) -> Gauge:
    bond, wall = BONDS[kind], stance.wall
    deep = RELIEF[kind] / (stance.rows_per_mm * bond.levels)
    nearer, narrower = 1 / (1 + deep / wall.distance_mm), 1 - deep / wall.radius_mm
    rows_cm = 10 * stance.rows_per_mm * bond.levels * nearer
    rows_sd = rows_cm * _together(stance.rows_sd, MODEL_SD["rows"], scale_sd, RELIEF_SHARE * (1 - nearer))
    height, width = rows.size
    ends = rows.number(np.array([width / 2] * 2), np.array([0.0, height - 1.0]))
    lean, sure = _lean(stitches, kind)
    stitches_cm = stitches_sd = across = None
    if stitches is not None:
        stitches_cm = 10 * stance.stitches_per_mm * bond.stakes * nearer * narrower
        relief = RELIEF_SHARE * (1 - nearer * narrower)
        stitches_sd = stitches_cm * _together(stance.stitches_sd, MODEL_SD["stitches"], scale_sd, relief)
        across = float(np.median([np.ptp(stitches.seen[stitches.row == r]) for r in np.unique(stitches.row)]))
    return Gauge(
        rows_cm, rows_sd, stitches_cm, stitches_sd, lean, sure, missing, kind, given,
        float(ends[1] - ends[0]) * bond.levels, None if across is None else across * bond.stakes,
        float(np.rad2deg(wall.lift)), float(np.rad2deg(wall.yaw)), wall.radius_mm,
        _lines(patch, rows, bond.levels), None if stitches is None else _marks(patch, stitches, bond.stakes),
        _windows(patch, rows, stitches, stance, kind, nearer, narrower), _warnings(stance, kind, given),
    )  # fmt: skip


def _together(*parts: float) -> float:
    return float(np.sqrt(sum(part**2 for part in parts)))


def _lean(stitches: Stitches | None, kind: str) -> tuple[str | None, float | None]:
    if stitches is None or kind not in LEANING:
        return None, None
    plain = abs(stitches.lean_rows) / stitches.lean_sd
    if plain < SURE_LEAN:
        return None, None
    return f"up to the {'left' if stitches.lean_rows > 0 else 'right'}", float(min(ndtr(plain), 0.999))


def _lines(patch: Patch, rows: Rows, levels: int) -> tuple[FloatArray, ...]:
    height, width = rows.size
    x = np.linspace(0, width - 1, 40)
    y = np.arange(height, dtype=np.float64)
    number = rows.number(x[None, :], y[:, None]) * levels
    lines = []
    for whole in range(int(np.ceil(number.min())), int(np.floor(number.max())) + 1):
        at = np.array([np.interp(whole, number[:, k], y, left=np.nan, right=np.nan) for k in range(len(x))])
        seen = np.isfinite(at)
        if seen.sum() > 1:
            lines.append(patch.in_photograph(np.column_stack([x[seen], at[seen]])))
    return tuple(lines)


def _marks(patch: Patch, stitches: Stitches, stakes: int) -> FloatArray:
    marks = []
    for row in np.unique(stitches.row):
        own = stitches.row == row
        count = stitches.seen[own] * stakes
        if np.any(np.diff(count) <= 0):
            continue
        whole = np.arange(np.ceil(count[0]), np.floor(count[-1]) + 1)
        marks.append(np.column_stack([np.interp(whole, count, place[own]) for place in (stitches.x, stitches.y)]))
    return patch.in_photograph(np.concatenate(marks)) if marks else np.zeros((0, 2))


def _windows(
    patch: Patch, rows: Rows, stitches: Stitches | None, stance: Stance, kind: str, nearer: float, narrower: float
) -> tuple[LocalGauge, ...]:
    bond = BONDS[kind]
    height, width = rows.size
    ends = rows.number(np.array([width / 2] * 2), np.array([0.0, height - 1.0]))
    found = []
    for one in windows_of(rows, stitches, stance.wall, (height - 1) / float(ends[1] - ends[0])):
        middle, half = np.array([one.x, one.y]), np.array([one.wide_px, one.tall_px]) / 2
        corners = patch.in_photograph(np.stack([middle - half, middle + half]))
        per_row = None if one.rows_per_mm is None else 10 * one.rows_per_mm * bond.levels * nearer
        per_stitch = None if one.stitches_per_mm is None else 10 * one.stitches_per_mm * bond.stakes * nearer * narrower
        x0, y0, x1, y1 = (float(v) for v in corners.ravel())
        found.append(LocalGauge((x0, y0, x1, y1), per_row, per_stitch))
    return tuple(found)


def _warnings(stance: Stance, kind: str, given: bool) -> tuple[str, ...]:
    told = []
    if not given:
        told.append(f"The technique was not given; the picture looks {kind}, and the count is right for that only.")
    steep = float(np.rad2deg(np.hypot(stance.wall.lift, stance.wall.yaw)))
    if steep > 12:
        told.append(f"Taken from about {steep:.0f}° aside; the count allows for it, but square on is surer.")
    return tuple(told)


def _rounded(value: float | None, digits: int = 3) -> float | None:
    return None if value is None else round(float(value), digits)

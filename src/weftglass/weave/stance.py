"""Where the camera stood before the wall, found from how the rows bend and how the stitches crowd to one side."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from weftglass.weave.rows import Rows
from weftglass.weave.stitches import Stitches
from weftglass.weave.wall import Wall

FloatArray = NDArray[np.float64]

USUAL_RADIUS_MM, RADIUS_SPREAD = 42.0, 0.35
USUAL_DISTANCE_MM, DISTANCE_SPREAD = 250.0, 0.5
"""Covered bottles and hand-held cameras, and how widely they vary, in logarithms (common practice, no source)."""

LEAST_RADIUS = 0.75  # of the patch's width: less would leave the wall within the picture
LEAST_DISTANCE = 2.5  # of the patch's height
USUAL_ANGLE = np.deg2rad(12.0)  # spread of yaw and lift in close-ups
USUAL_ROLL = np.deg2rad(8.0)
USUAL_SLOPE, USUAL_BULGE = 0.05, 0.15  # spread of the wall's taper, and of its bulge in 1/radius
DRIFT = 3  # degree of the curve that lets rows be finer in one place than in another
LEAST_ROW_SD, LEAST_STITCH_SD = 0.02, 0.03  # of a row, of a stitch
MISSED = 0.5  # turns by which a reading misses when its ray passes the wall by
MOST_READINGS = 500
ROWS_AGREE, STITCHES_AGREE = 12.0, 4.0  # readings worth one independent reading


@dataclass(frozen=True)
class Known:
    """
    What is known of the wall beforehand.

    Parameters
    ----------
    radius_mm, radius_spread : float or None
        Radius of the covering's face and its relative standard deviation; None: as covered bottles are.
    distance_mm, distance_spread : float or None
        From camera to covering; None: as close-ups are taken.
    slope, slope_sd : float or None
        Change of the radius for one mm up; None: not known.
    """

    radius_mm: float | None = None
    radius_spread: float = 0.03
    distance_mm: float | None = None
    distance_spread: float = 0.1
    slope: float | None = None
    slope_sd: float = 0.01


@dataclass(frozen=True, eq=False)
class Stance:
    """
    The wall, the gauge on it, and how sure both are.

    Parameters
    ----------
    wall : Wall
    rows_per_mm, stitches_per_mm : float
        Repeats of the pattern down and along the wall; stitches nan when none were counted.
    rows_sd, stitches_sd : float
        Relative standard deviations from the readings and from not knowing the wall and the camera better.
    row_miss, stitch_miss : float
        Spread of the readings about the wall's even work, in rows and stitches.
    """

    wall: Wall
    rows_per_mm: float
    stitches_per_mm: float
    rows_sd: float
    stitches_sd: float
    row_miss: float
    stitch_miss: float


@dataclass(frozen=True, eq=False)
class _Case:
    rows: Rows
    stitches: Stitches | None
    standing: bool
    mm_per_px: float
    usual: FloatArray  # radius, distance, slope
    spread: FloatArray  # of the seven unknowns
    place: NDArray[np.int64]
    row_sd: float = 0.05
    stitch_sd: float = 0.08

    def wall(self, stand: FloatArray) -> Wall:
        height, width = self.rows.size
        radius = float(self.usual[0] * np.exp(stand[3]))
        return Wall(
            radius, float(self.usual[1] * np.exp(stand[4])), float(stand[0]), float(stand[1]), float(stand[2]),
            float(self.usual[2] + stand[5]), float(stand[6] / radius), self.mm_per_px,
            ((width - 1) / 2, (height - 1) / 2),
        )  # fmt: skip

    def row_curve(self, wall: Wall) -> tuple[np.polynomial.Polynomial, FloatArray]:
        """Row number against distance down the wall, and how far the readings miss it."""
        seen = self.rows.seen[self.place]
        down, _, _ = wall.place(self.rows.x[self.place], self.rows.y[self.place])
        good = np.isfinite(down)
        if good.sum() < 4 * DRIFT:
            return np.polynomial.Polynomial([0.0, 1.0]), np.full(len(down), MISSED)
        curve = np.polynomial.Polynomial.fit(down[good], seen[good], DRIFT)
        return curve, np.where(good, seen - curve(np.nan_to_num(down)), MISSED)

    def stitch_line(self, wall: Wall) -> tuple[float, FloatArray]:
        """Repeats for one mm along the rows, mean over the patch, and how far the readings miss even work."""
        if self.stitches is None:
            return float("nan"), np.zeros(0)
        s = self.stitches
        _, turn, radius = wall.place(s.x, s.y)
        good = np.isfinite(turn)
        weight = np.where(good, s.weight, 0.0)
        run = np.nan_to_num(turn * (wall.radius_mm if self.standing else radius))
        total = np.maximum(np.bincount(s.row, weight), 1e-9)
        middle, start = np.bincount(s.row, weight * run) / total, np.bincount(s.row, weight * s.seen) / total
        away, count = run - middle[s.row], s.seen - start[s.row]
        rate = float((weight * away * count).sum() / max((weight * away * away).sum(), 1e-12))
        wide = np.average(np.nan_to_num(wall.radius_mm / radius, nan=1.0), weights=weight + 1e-12)
        return rate * (float(wide) if self.standing else 1.0), np.where(good, count - rate * away, MISSED)

    def misses(self, stand: FloatArray) -> FloatArray:
        """Everything that should be small, in standard deviations."""
        wall = self.wall(stand)
        _, row = self.row_curve(wall)
        parts = [np.clip(row / self.row_sd, -4, 4) / np.sqrt(ROWS_AGREE), stand / self.spread]
        if self.stitches is not None:
            share = self.stitches.weight / self.stitches.weight.max()
            _, off = self.stitch_line(wall)
            parts.append(np.clip(off / self.stitch_sd, -4, 4) * np.sqrt(share / STITCHES_AGREE))
        return np.concatenate(parts)

    def rates(self, stand: FloatArray) -> tuple[float, float]:
        """Repeats a mm down the wall between the patch's upper and lower edge, and along the rows."""
        wall = self.wall(stand)
        curve, _ = self.row_curve(wall)
        ends = self.ends(wall)
        if not np.all(np.isfinite(ends)):
            return float("nan"), float("nan")
        return float((curve(ends[1]) - curve(ends[0])) / (ends[1] - ends[0])), self.stitch_line(wall)[0]

    def ends(self, wall: Wall) -> FloatArray:
        """Upper and lower edge of the patch, mm down the wall."""
        height = self.rows.size[0]
        return wall.place([wall.centre_px[0]] * 2, [0.0, height - 1.0])[0]


def stance_of(rows: Rows, stitches: Stitches | None, mm_per_px: float, known: Known, *, standing: bool) -> Stance:
    """
    The camera's place and the wall's gauge that explain rows and stitches best.

    Parameters
    ----------
    rows : Rows
    stitches : Stitches or None
        None when rows alone were found.
    mm_per_px : float
        Of the patch, at its middle on the covering's face.
    known : Known
    standing : bool
        Whether the same stakes or strips stand in all rows, so that stitches narrow with the wall.
    """
    sound = (np.abs(rows.miss()) < 0.35) & (rows.weight > 0.3 * np.median(rows.weight))
    place = np.flatnonzero(sound)
    place = place[:: max(1, len(place) // MOST_READINGS)]
    case = _case(rows, stitches, mm_per_px, known, place, standing)
    stand = np.zeros(7)
    for _ in range(2):
        fit = least_squares(case.misses, stand, x_scale=case.spread, max_nfev=30)
        stand = fit.x
        wall = case.wall(stand)
        row_sd = max(LEAST_ROW_SD, _spread(case.row_curve(wall)[1]))
        stitch_sd = LEAST_STITCH_SD if stitches is None else max(LEAST_STITCH_SD, _spread(case.stitch_line(wall)[1]))
        case = dataclasses.replace(case, row_sd=row_sd, stitch_sd=stitch_sd)
    jacobian = np.asarray(fit.jac)
    return _told(case, stand, np.linalg.inv(jacobian.T @ jacobian))


def _case(
    rows: Rows, stitches: Stitches | None, mm_per_px: float, known: Known, place: NDArray[np.int64], standing: bool
) -> _Case:
    height, width = rows.size
    radius = known.radius_mm or max(USUAL_RADIUS_MM, LEAST_RADIUS * width * mm_per_px)
    distance = known.distance_mm or max(USUAL_DISTANCE_MM, LEAST_DISTANCE * height * mm_per_px)
    spread = [
        USUAL_ANGLE, USUAL_ANGLE, USUAL_ROLL, RADIUS_SPREAD if known.radius_mm is None else known.radius_spread,
        DISTANCE_SPREAD if known.distance_mm is None else known.distance_spread,
        USUAL_SLOPE if known.slope is None else known.slope_sd, USUAL_BULGE,
    ]  # fmt: skip
    usual = np.array([radius, distance, known.slope or 0.0])
    return _Case(rows, stitches, standing, mm_per_px, usual, np.array(spread), place)


def _spread(misses: FloatArray) -> float:
    return float(1.4826 * np.median(np.abs(misses - np.median(misses))))


def _told(case: _Case, stand: FloatArray, covariance: FloatArray) -> Stance:
    rates = np.array(case.rates(stand))
    change = np.zeros((len(stand), 2))
    for k in range(len(stand)):
        step = np.zeros(len(stand))
        step[k] = 1e-3 * case.spread[k]
        change[k] = np.log(np.array(case.rates(stand + step)) / np.array(case.rates(stand - step))) / (2 * step[k])
    rows_var, stitch_var = (float(line @ covariance @ line) for line in np.nan_to_num(change).T)
    wall = case.wall(stand)
    count = max(rates[0] * float(np.ptp(case.ends(wall))), 2.0)
    rows_var += 12 * case.row_sd**2 / count**3
    if case.stitches is not None:
        s = case.stitches
        each = np.array([np.ptp(s.seen[s.row == row]) for row in np.unique(s.row)])
        stitch_var += 12 * case.stitch_sd**2 / max(float(np.median(each)), 2.0) ** 3 / max(len(each), 1)
    return Stance(wall, float(rates[0]), float(rates[1]), rows_var**0.5, stitch_var**0.5, case.row_sd, case.stitch_sd)

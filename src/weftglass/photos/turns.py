"""How far a piece was really turned between photographs: overlaps matched, the round closed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.fft import irfft2, next_fast_len, rfft2
from scipy.ndimage import gaussian_filter, maximum_filter

from weftglass.photos.unroll import Strip
from weftglass.photos.wall import Wall

FloatArray = NDArray[np.float64]

TURN_SD_DEG = 1.5
"""How evenly a hand turns a piece to marks (common practice, no source)."""

GIRTH_SD = 0.03
SHIFT_SD_MM = 0.25
REACH_DEG = 6.0
RISE_MM = 4.0
FACING_ENOUGH = 0.57
CANDIDATES = 5
LEAST_MATCH = 0.15
COARSE_MM = 8.0
STITCH_MM = 2.5
"""Detail smoothed by this shows figures and stains but no stitches."""

OVERLAP_DEG = 45.0


@dataclass(frozen=True)
class Match:
    """
    Two neighbouring strips laid over each other.

    Parameters
    ----------
    one, other : int
        Numbers of the strips.
    apart_deg : float
        Turn between them as they were unrolled.
    shifts_mm : tuple of (along the girth, up the wall)
        Where what `one` shows lies in `other`, less where it should; the likeliest first.
    likeness : tuple of float
        Correlation at each, at most 1: the mean of that of all detail and of detail coarser than a stitch.
    """

    one: int
    other: int
    apart_deg: float
    shifts_mm: tuple[tuple[float, float], ...]
    likeness: tuple[float, ...]


@dataclass(frozen=True, eq=False)
class Turns:
    """
    What the overlaps say.

    Parameters
    ----------
    turn_deg, rise_mm : array, shape (n,)
        To add to each strip's turn and height.
    turn_sd_deg : float
        How well each turn is known, from what is left over.
    wider : float
        How much wider the wall must be than it was taken, relative; 0 where the strips do not go all round.
    wider_sd : float
    closing : float
        What neighbouring turns sum to, less a whole turn, as a share of it, before anything was corrected; nan where
        the strips do not go all round.
    left_mm : float
        Root mean square of what is left of the shifts, mm along the girth.
    unmatched : tuple of (one, other)
        Neighbours whose overlap could not be matched.
    """

    turn_deg: FloatArray
    rise_mm: FloatArray
    turn_sd_deg: float
    wider: float
    wider_sd: float
    closing: float
    left_mm: float
    unmatched: tuple[tuple[int, int], ...]


def matched_turns(
    strips: Sequence[Strip],
    wall: Wall,
    *,
    turn_sd_deg: float = TURN_SD_DEG,
    solve_girth: bool = True,
    overlap_deg: float = OVERLAP_DEG,
) -> Turns:
    """
    Turn and height of each strip from the overlaps of neighbours and next neighbours, all at once.

    Parameters
    ----------
    strips : sequence of Strip, at least 2
        In the order of their turns.
    wall : Wall
    turn_sd_deg : float
        How well the turns are known beforehand.
    overlap_deg : float
        Greatest half-width of the overlap that is matched: narrower while the wall or the camera is only roughly known.
    solve_girth : bool
        Whether to find the girth as well, from the round closing; only for round walls.

    Notes
    -----
    The shift between two strips is taken where the correlation of their overlap peaks. A weave matches itself one
    stitch on as well, so the correlation of what is coarser than a stitch counts as much, several peaks are kept for
    each overlap, and that one is used which agrees with all the others; what all shifts sum to round the piece tells
    the girth. The first strip's turn is kept.
    """
    matches = _matches(strips, wall, overlap_deg)
    usable = [match for match in matches if match.likeness and match.likeness[0] >= LEAST_MATCH]
    neighbours = [(k, (k + 1) % len(strips)) for k in range(len(strips))]
    found = {(match.one, match.other) for match in usable}
    apart = {(match.one, match.other) for match in matches}
    closed = all(pair in found for pair in neighbours)
    mm_per_deg = wall.girth_mm / 360
    chosen = [0] * len(usable)
    free = solve_girth and closed
    for _ in range(8):
        turn, wider, spread, left = _solved(usable, chosen, len(strips), mm_per_deg, turn_sd_deg, free)
        again = [_nearest(match, turn, wider, mm_per_deg) for match in usable]
        if again == chosen:
            break
        chosen = again
    rise = _rises(usable, chosen, len(strips))
    closing = float("nan")
    if closed:
        first = {(m.one, m.other): m.shifts_mm[c][0] for m, c in zip(usable, chosen, strict=True)}
        closing = -sum(first[pair] for pair in neighbours) / wall.girth_mm
    return Turns(
        turn,
        rise,
        max(left, 0.05) / mm_per_deg,
        wider if free else 0.0,
        spread,
        closing,
        left,
        tuple(pair for pair in neighbours if pair in apart and pair not in found),
    )


def registered_to(one: Strip, other: Strip, wall: Wall, *, reach_deg: float = 12.0) -> tuple[float, float, float]:
    """
    Turn and rise to add to a strip so that it lies on another, and how like it is there.

    Parameters
    ----------
    one, other : Strip
        The one that stays, and the one to be moved; the turn between them as unrolled below 100 degrees.
    wall : Wall
    reach_deg : float
        Greatest turn looked for, either way.

    Returns
    -------
    turn_deg, rise_mm, likeness : float
        Likeness 0 where nothing of the overlap is alike.
    """
    apart = float(np.mod(other.turn_deg - one.turn_deg + 180, 360) - 180)
    match = _match((one, other), [_detail(one, wall), _detail(other, wall)], wall, (0, 1), apart, reach_deg)
    if not match.likeness:
        return 0.0, 0.0, 0.0
    along, up = match.shifts_mm[0]
    return -along / (wall.girth_mm / 360), up, match.likeness[0]


def _matches(strips: Sequence[Strip], wall: Wall, overlap_deg: float) -> list[Match]:
    count = len(strips)
    fine = [_detail(strip, wall) for strip in strips]
    found = []
    for step in (1, 2):
        for k in range(count):
            other = (k + step) % count
            if count <= step or (count == 2 and k == 1):
                continue
            apart = float(np.mod(strips[other].turn_deg - strips[k].turn_deg + 180, 360) - 180)
            if 0 < apart < 100:
                found.append(_match(strips, fine, wall, (k, other), apart, overlap_deg=overlap_deg))
    return found


def _detail(strip: Strip, wall: Wall) -> tuple[FloatArray, NDArray[np.bool_]]:
    """Lightness less its surroundings, and where it counts."""
    light = np.log(0.05 + strip.colours.astype(np.float64) @ [0.3, 0.6, 0.1])
    good = strip.facing > FACING_ENOUGH
    weight = good.astype(np.float64)
    wide, narrow = COARSE_MM * wall.px_per_mm, 0.3 * wall.px_per_mm
    around = _smooth(light * weight, wide) / np.maximum(_smooth(weight, wide), 1e-3)
    return np.where(good, _smooth(np.where(good, light - around, 0.0), narrow), 0.0), good


def _smooth(field: FloatArray, sigma: float) -> FloatArray:
    return np.asarray(gaussian_filter(field, sigma, mode=["nearest", "wrap"]), dtype=np.float64)


def _match(
    strips: Sequence[Strip],
    fine: Sequence[tuple[FloatArray, NDArray[np.bool_]]],
    wall: Wall,
    pair: tuple[int, int],
    apart: float,
    reach_deg: float = REACH_DEG,
    overlap_deg: float = OVERLAP_DEG,
) -> Match:
    columns = wall.shape[1]
    middle = (strips[pair[0]].turn_deg + apart / 2) / 360 + 0.5
    reach = np.array([RISE_MM * wall.px_per_mm, reach_deg / 360 * columns]).astype(int)
    inner = min(55 - abs(apart) / 2, overlap_deg)
    half = max(int((inner + reach_deg) / 360 * columns), 2 * int(reach[1]))
    window = np.mod(round(middle * columns) + np.arange(-half, half + 1), columns)
    one, other = (fine[k][0][:, window] for k in pair)
    one_good, other_good = (fine[k][1][:, window].astype(np.float64) for k in pair)
    span = (int(reach[0]), int(reach[1]))
    likeness = masked_correlation(one, other, one_good, other_good, span)
    coarse = [_smooth(part * good, STITCH_MM * wall.px_per_mm) for part, good in ((one, one_good), (other, other_good))]
    likeness = 0.5 * (likeness + masked_correlation(coarse[0], coarse[1], one_good, other_good, span))
    peaks = np.argwhere((likeness == maximum_filter(likeness, 5)) & (likeness > 0.05))
    peaks = peaks[np.argsort(-likeness[peaks[:, 0], peaks[:, 1]])][:CANDIDATES]
    shifts = [_peak(likeness, row, column) - reach for row, column in peaks]
    per_column = wall.girth_mm / columns
    return Match(
        *pair,
        apart,
        tuple((float(shift[1]) * per_column, float(shift[0]) / wall.px_per_mm) for shift in shifts),
        tuple(float(likeness[row, column]) for row, column in peaks),
    )


def masked_correlation(
    one: FloatArray, other: FloatArray, one_good: FloatArray, other_good: FloatArray, reach: tuple[int, int]
) -> FloatArray:
    """
    Correlation of two pictures at every small shift, over what both show.

    Parameters
    ----------
    one, other : array, shape (rows, columns)
    one_good, other_good : array of 0 and 1, same shape
    reach : (rows, columns)
        Greatest shift either way.

    Returns
    -------
    array, shape (2 * reach[0] + 1, 2 * reach[1] + 1)
        At [reach[0] + r, reach[1] + c] the correlation of ``one[y, x]`` with ``other[y + r, x + c]``; 0 where less than
        a fifth of the greatest overlap is left.

    References
    ----------
    .. [1] Padfield (2012), Masked object registration in the Fourier domain, IEEE Trans. Image Processing 21(5).
    """
    shape = tuple(next_fast_len(n + r, real=True) for n, r in zip(one.shape, reach, strict=True))

    def spectrum(picture: FloatArray) -> NDArray[np.complex128]:
        return np.asarray(rfft2(picture, shape))

    def correlated(a: NDArray[np.complex128], b: NDArray[np.complex128]) -> FloatArray:
        full = irfft2(np.conj(a) * b, shape)
        rows, columns = np.arange(-reach[0], reach[0] + 1), np.arange(-reach[1], reach[1] + 1)
        return np.asarray(full[np.ix_(rows, columns)])

    a, b = one * one_good, other * other_good
    fa, fb, ma, mb = (spectrum(v) for v in (a, b, one_good, other_good))
    shared = np.maximum(correlated(ma, mb), 0.5)
    sum_a, sum_b = correlated(fa, mb), correlated(ma, fb)
    top = correlated(fa, fb) - sum_a * sum_b / shared
    spread_a = correlated(spectrum(a**2), mb) - sum_a**2 / shared
    spread_b = correlated(ma, spectrum(b**2)) - sum_b**2 / shared
    scale = np.sqrt(np.maximum(spread_a, 1e-9) * np.maximum(spread_b, 1e-9))
    return np.asarray(np.where(shared > 0.2 * shared.max(), np.clip(top / scale, -1, 1), 0.0))


def _peak(likeness: FloatArray, row: int, column: int) -> FloatArray:
    """A peak between grid points, by the parabola through it and its neighbours each way."""
    place = np.array([row, column], dtype=np.float64)
    for axis in range(2):
        at = (row, column)[axis]
        if 0 < at < likeness.shape[axis] - 1:
            line = likeness[:, column] if axis == 0 else likeness[row]
            before, here, after = line[at - 1 : at + 2]
            bend = before - 2 * here + after
            if bend < -1e-9:
                place[axis] += float(np.clip(0.5 * (before - after) / bend, -0.5, 0.5))
    return place


def _solved(
    matches: Sequence[Match], chosen: Sequence[int], count: int, mm_per_deg: float, turn_sd_deg: float, free: bool
) -> tuple[FloatArray, float, float, float]:
    """Turns (degrees), relative girth and its sd, what is left (mm): least squares that trust no single match."""
    rows, values, weights = [], [], []
    for match, pick in zip(matches, chosen, strict=True):
        row = np.zeros(count + 1)
        row[match.one], row[match.other], row[count] = mm_per_deg, -mm_per_deg, -match.apart_deg * mm_per_deg
        rows.append(row)
        values.append(match.shifts_mm[pick][0])
        weights.append(max(match.likeness[pick], 0.05) / SHIFT_SD_MM)
    prior = np.diag([*([1 / turn_sd_deg] * count), 1 / (GIRTH_SD if free else 1e-9)])
    prior[0, 0] = 1e6
    if not rows:
        return np.zeros(count), 0.0, GIRTH_SD, float("nan")
    a, y, w = np.array(rows), np.array(values), np.array(weights)
    robust = np.ones(len(y))
    for _ in range(12):
        lhs = np.concatenate([a * (w * robust)[:, None], prior])
        rhs = np.concatenate([y * w * robust, np.zeros(count + 1)])
        solution = np.linalg.lstsq(lhs, rhs, rcond=None)[0]
        off = np.abs(y - a @ solution) * w
        robust = 1 / (1 + (off / 2) ** 2)
    covariance = np.linalg.inv(lhs.T @ lhs)
    left = float(np.sqrt(np.average((y - a @ solution) ** 2, weights=robust)))
    inflate = max(1.0, left / SHIFT_SD_MM)
    return solution[:count], float(solution[count]), float(np.sqrt(covariance[count, count])) * inflate, left


def _nearest(match: Match, turn: FloatArray, wider: float, mm_per_deg: float) -> int:
    """The candidate that is likest and agrees with all the others."""
    expected = (turn[match.one] - turn[match.other] - wider * match.apart_deg) * mm_per_deg
    scores = [
        like - 0.5 * min(((shift[0] - expected) / (4 * SHIFT_SD_MM)) ** 2, 1.0)
        for shift, like in zip(match.shifts_mm, match.likeness, strict=True)
    ]
    return int(np.argmax(scores))


def _rises(matches: Sequence[Match], chosen: Sequence[int], count: int) -> FloatArray:
    rows = [np.eye(count)[0] * 1e3]
    values = [0.0]
    for match, pick in zip(matches, chosen, strict=True):
        row = np.zeros(count)
        row[match.one], row[match.other] = 1.0, -1.0
        rows.append(row * match.likeness[pick])
        values.append(-match.shifts_mm[pick][1] * match.likeness[pick])
    prior = np.eye(count) * 0.05
    lhs, rhs = np.concatenate([np.array(rows), prior]), np.concatenate([values, np.zeros(count)])
    return np.asarray(np.linalg.lstsq(lhs, rhs, rcond=None)[0])

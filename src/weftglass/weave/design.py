"""The design study: bands by height, what repeats round the vessel, in which colours and with which symmetry."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from weftglass.errors import InputError, Unfit
from weftglass.weave.bands import Run, runs_of
from weftglass.weave.colour import lab_of_srgb
from weftglass.weave.friezes import Symmetry, symmetry_of
from weftglass.weave.palette import PaletteColour, palette_of
from weftglass.weave.repeats import Repeats, repeats_round, repeats_seen

FloatArray = NDArray[np.float64]

CELL_MM = 1.0
GRAIN_MM = 2.4
"""Width over which single strands are taken together where the gauge is not known (common practice, no source)."""

MARGIN_MM = 2.0
LEAST_REPEAT_MM = 6.0
HEIGHT_SD_MM = 1.0


@dataclass(frozen=True)
class Band:
    """
    One band of a covering.

    Parameters
    ----------
    low_mm, high_mm : float
        Heights above the standing plane.
    tall_mm : float
        Along the wall.
    girth_mm : float
        At its middle.
    colours : tuple of (number in the palette, share)
        What it is worked in, the commonest first.
    figured : bool
    repeats : int or None
        Times its figure goes round; None where it does not repeat, or that cannot be told.
    repeats_range : (low, high) or None
        Numbers that are not excluded; None where nothing repeats.
    width_mm, width_sd_mm : float or None
        Of one repeat, at the band's own girth.
    uneven_mm : float or None
        Standard deviation from one repeat to the next.
    width_stitches, width_stitches_sd : float or None
        Where the gauge is known.
    share, chance : float or None
        Share of its variation that the repeat explains; probability that a band without one would look as regular.
    starts_deg : tuple of float
        Where repeats begin, degrees to the right of the front.
    symmetry : Symmetry or None
        Of a figure that repeats.
    """

    low_mm: float
    high_mm: float
    tall_mm: float
    girth_mm: float
    colours: tuple[tuple[int, float], ...]
    figured: bool
    repeats: int | None = None
    repeats_range: tuple[int, int] | None = None
    width_mm: float | None = None
    width_sd_mm: float | None = None
    uneven_mm: float | None = None
    width_stitches: float | None = None
    width_stitches_sd: float | None = None
    share: float | None = None
    chance: float | None = None
    starts_deg: tuple[float, ...] = ()
    symmetry: Symmetry | None = None

    def to_record(self) -> dict[str, Any]:
        """For a JSON file: lengths mm, angles degrees, null for what was not found."""
        record: dict[str, Any] = {
            "low_mm": round(self.low_mm, 1),
            "high_mm": round(self.high_mm, 1),
            "tall_mm": round(self.tall_mm, 1),
            "girth_mm": round(self.girth_mm, 1),
            "figured": self.figured,
            "colours": [{"colour": k, "share": round(share, 3)} for k, share in self.colours],
            "repeats": self.repeats,
            "repeats_range": self.repeats_range,
            "starts_deg": [round(start, 1) for start in self.starts_deg],
            "symmetry": None if self.symmetry is None else self.symmetry.to_record(),
        }
        for name in ("width_mm", "width_sd_mm", "uneven_mm", "width_stitches", "width_stitches_sd", "share", "chance"):
            value = getattr(self, name)
            record[name] = None if value is None else float(f"{value:.4g}")
        return record


@dataclass(frozen=True)
class DesignStudy:
    """
    What a rollout's design is.

    Parameters
    ----------
    palette : tuple of PaletteColour
        The commonest first.
    bands : tuple of Band
        From the top down.
    whole_round : bool
        Whether the whole girth was seen.
    """

    palette: tuple[PaletteColour, ...]
    bands: tuple[Band, ...]
    whole_round: bool

    def to_record(self) -> dict[str, Any]:
        """For a JSON file."""
        return {
            "whole_round": self.whole_round,
            "palette": [colour.to_record() for colour in self.palette],
            "bands": [band.to_record() for band in self.bands],
        }


@dataclass(frozen=True, eq=False)
class _Cells:
    """The rollout in cells of about a mm."""

    lab: FloatArray
    seen: NDArray[np.bool_]
    height: FloatArray
    girth: FloatArray
    tall_mm: float
    across_mm: float


def design_of(
    picture: NDArray[np.uint8],
    seen: NDArray[np.bool_],
    *,
    px_per_mm: float,
    height_mm: FloatArray,
    girth_at_mm: FloatArray,
    girth_rel_sd: float = 0.01,
    whole_round: bool = True,
    stitches_per_cm: tuple[float, float] | None = None,
    where: str = "design",
) -> DesignStudy:
    """
    Study the design of a rollout.

    Parameters
    ----------
    picture : array, shape (rows, columns, 3), uint8
        The wall laid flat, row 0 at the top, the columns the whole round, the middle one the front.
    seen : array, shape (rows, columns), bool
    px_per_mm : float
        Of the picture along the wall.
    height_mm, girth_at_mm : array, shape (rows,)
        Of each row.
    girth_rel_sd : float
        Relative standard deviation of the girth.
    whole_round : bool
        Whether all of the round was seen; else only the part in `seen` is studied.
    stitches_per_cm : (mean, sd), optional
        Gauge along a row: gives widths in stitches and sets how much is taken for one stitch.
    where : str
        For messages.

    Returns
    -------
    DesignStudy

    Raises
    ------
    InputError
        If the picture is less than 20 mm tall or nothing is seen, or the gauge is not above 0.
    """
    if stitches_per_cm is not None and not 0 < stitches_per_cm[0] <= 60:
        raise InputError(where, "stitches per cm", stitches_per_cm[0], "a number above 0 and at most 60")
    if not seen.any() or len(picture) < 20 * px_per_mm:
        wrong = (
            f"the rollout is {len(picture) / px_per_mm:.0f} mm tall" if seen.any() else "the rollout shows no covering"
        )
        raise Unfit(where, "rollout", wrong, "20 mm or more of covering seen")
    grain = GRAIN_MM if stitches_per_cm is None else float(np.clip(8.0 / stitches_per_cm[0], 1.5, 6.0))
    cells = _cells(picture, seen, px_per_mm, grain, height_mm, girth_at_mm)
    palette, label = palette_of(cells.lab, cells.seen)
    bands = [_band(cells, label, run, girth_rel_sd, whole_round, stitches_per_cm) for run in runs_of(label)]
    return DesignStudy(palette, tuple(bands), whole_round)


def _cells(
    picture: NDArray[np.uint8],
    seen: NDArray[np.bool_],
    px_per_mm: float,
    grain_mm: float,
    height_mm: FloatArray,
    girth_at_mm: FloatArray,
) -> _Cells:
    """Single strands are taken together by the median, which keeps the edges of figures, then one cell a mm is read."""
    wide = int(grain_mm * px_per_mm) // 2 * 2 + 1
    wrapped = np.pad(picture, ((wide, wide), (0, 0), (0, 0)), mode="edge")
    wrapped = np.pad(wrapped, ((0, 0), (wide, wide), (0, 0)), mode="wrap")
    calm = cv2.medianBlur(np.ascontiguousarray(wrapped), max(3, wide))[wide:-wide, wide:-wide]
    rows = max(8, round(len(picture) / px_per_mm / CELL_MM))
    columns = max(16, round(float(girth_at_mm.max()) / CELL_MM))
    at_row = np.minimum(((np.arange(rows) + 0.5) / rows * picture.shape[0]).astype(int), picture.shape[0] - 1)
    at_column = np.minimum(((np.arange(columns) + 0.5) / columns * picture.shape[1]).astype(int), picture.shape[1] - 1)
    pick = np.ix_(at_row, at_column)
    across = float(girth_at_mm.max()) / columns
    tall = len(picture) / px_per_mm / rows
    lab = lab_of_srgb(calm[pick] / 255.0)
    return _Cells(lab, seen[pick], height_mm[at_row], girth_at_mm[at_row], tall, across)


def _band(
    cells: _Cells,
    label: NDArray[np.int64],
    run: Run,
    girth_rel_sd: float,
    whole_round: bool,
    stitches_per_cm: tuple[float, float] | None,
) -> Band:
    rows = slice(run.first, run.last + 1)
    middle = (run.first + run.last) // 2
    within = label[rows]
    counts = np.bincount(within[within >= 0])
    shares = counts / counts.sum()
    order = [int(k) for k in np.argsort(-shares) if shares[k] >= 0.01]
    edge = cells.tall_mm / 2
    plain = Band(
        float(cells.height[run.last]) - edge,
        float(cells.height[run.first]) + edge,
        run.rows * cells.tall_mm,
        float(cells.girth[middle]),
        tuple((k, float(shares[k])) for k in order),
        run.colour is None,
    )
    if run.colour is not None:
        return plain
    found = _repeats(cells, rows, girth_rel_sd, whole_round)
    if found is not None and _own_of_weave(found, cells, plain, stitches_per_cm):
        found = None
    return plain if found is None else _with_repeats(plain, found, cells, girth_rel_sd, whole_round, stitches_per_cm)


def _own_of_weave(found: Repeats, cells: _Cells, plain: Band, stitches_per_cm: tuple[float, float] | None) -> bool:
    """Whether a period is only that of strands: under 6 mm, or under three stitches."""
    width = found.width * cells.across_mm * plain.girth_mm / float(cells.girth.max())
    least = LEAST_REPEAT_MM if stitches_per_cm is None else max(LEAST_REPEAT_MM, 30 / stitches_per_cm[0])
    return width < least


def _repeats(cells: _Cells, rows: slice, girth_rel_sd: float, whole_round: bool) -> Repeats | None:
    margin = round(MARGIN_MM / cells.tall_mm)
    wide = slice(max(0, rows.start - margin), rows.stop + margin)
    lab, seen = cells.lab[wide], cells.seen[wide]
    if whole_round:
        return repeats_round(_filled(lab, seen)) if seen.mean() > 0.9 else None
    columns = np.flatnonzero(seen.mean(axis=0) > 0.95)
    if len(columns) < 20:
        return None
    part = lab[:, columns[0] : columns[-1] + 1]
    return repeats_seen(part, float(lab.shape[1]), girth_rel_sd)


def _filled(lab: FloatArray, seen: NDArray[np.bool_]) -> FloatArray:
    """What was not seen takes the mean of its row, so that it says nothing."""
    weight = seen[..., None].astype(np.float64)
    mean = (lab * weight).sum(axis=1, keepdims=True) / np.maximum(weight.sum(axis=1, keepdims=True), 1.0)
    return np.asarray(np.where(seen[..., None], lab, mean))


def _with_repeats(
    plain: Band,
    found: Repeats,
    cells: _Cells,
    girth_rel_sd: float,
    whole_round: bool,
    stitches_per_cm: tuple[float, float] | None,
) -> Band:
    here = cells.across_mm * plain.girth_mm / float(cells.girth.max())
    width = found.width * here
    sd = math.hypot(width * girth_rel_sd, found.width_sd * here)
    stitches = stitches_sd = None
    if stitches_per_cm is not None:
        mean, spread = stitches_per_cm
        stitches = width * mean / 10
        stitches_sd = stitches * math.hypot(sd / width, spread / mean)
    columns = cells.lab.shape[1]
    first = 0 if whole_round else int(np.flatnonzero(cells.seen.mean(axis=0) > 0)[0])
    return Band(
        plain.low_mm,
        plain.high_mm,
        plain.tall_mm,
        plain.girth_mm,
        plain.colours,
        True,
        found.count,
        found.count_range,
        width,
        sd,
        found.uneven * here if whole_round else None,
        stitches,
        stitches_sd,
        found.share,
        found.chance,
        tuple(float((first + start) / columns * 360 - 180) for start in found.starts),
        symmetry_of(found.motif, found.alike),
    )


def band_words(band: Band, palette: Sequence[PaletteColour]) -> str:
    """What a band is, in one sentence with its uncertainty."""
    place = f"{band.low_mm:.0f} to {band.high_mm:.0f} ± {HEIGHT_SD_MM:.0f} mm"
    names = ", ".join(palette[k].hex for k, _ in band.colours[:3])
    if not band.figured:
        return f"{place}: plain, {names}."
    if band.repeats_range is None or band.width_mm is None or band.width_sd_mm is None:
        return f"{place}: figured, {names}; no repeat found that chance would not show."
    low, high = band.repeats_range
    count = f"{band.repeats} repeats" if band.repeats is not None else f"{low} to {high} repeats (can't tell which)"
    stitches = ""
    if band.width_stitches is not None and band.width_stitches_sd is not None:
        stitches = f", {band.width_stitches:.1f} ± {max(band.width_stitches_sd, 0.1):.1f} stitches"
    symmetry = ""
    if band.symmetry is not None:
        name = band.symmetry.group
        symmetry = f"; symmetry {name}, {band.symmetry.words}" if name else f"; symmetry: {band.symmetry.words}"
    sd = max(band.width_sd_mm, 0.1)
    return f"{place}: {count} of {band.width_mm:.1f} ± {sd:.1f} mm{stitches}{symmetry}."

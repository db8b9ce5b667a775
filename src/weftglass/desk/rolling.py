"""Rolling out photographs: from outlines measured on them to a rollout and its design, kept nowhere."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from weftglass.desk.wording import photograph_words
from weftglass.errors import InputError, Unfit
from weftglass.photos import (
    BandMark,
    MeasuredOutline,
    Photograph,
    Rollout,
    Standing,
    TurnedView,
    outline_from_photograph,
    roll_out,
)
from weftglass.photos.bar_within import told_of_ruler
from weftglass.photos.camera import FOCAL_REL_SD
from weftglass.photos.measure import USUAL_DISTANCE_LOG_SD
from weftglass.photos.wall import shared_profile
from weftglass.records import View
from weftglass.vessels import Section
from weftglass.weave.design import Band, DesignStudy, band_words, design_of

FloatArray = NDArray[np.float64]
Progress = Callable[[str, float], None]
Pair = tuple[float, float]

SECTIONS = ("round", "square", "rectangle")
FOOT_MM = 3.0
"""The lowest wall is seen too flat to be laid out."""

STILL_SHARE = 0.02
"""Ends of the axis that usually differ by less than this share of the height are those of a camera that stood still."""


@dataclass(frozen=True, eq=False)
class Seen:
    """A photograph with what was measured on its outline, or None where it could not be."""

    photo: Photograph
    turn_deg: float
    measured: MeasuredFacts | None


@dataclass(frozen=True, eq=False)
class MeasuredFacts:
    """Of a measured outline, what rolling out needs; lengths mm, places pixels, angles degrees."""

    points: FloatArray
    sd_mm: float
    scale_sd: float
    top_px: Pair
    bottom_px: Pair
    tilt_deg: float
    distance_mm: float
    height_mm: float

    @classmethod
    def of(cls, measured: MeasuredOutline) -> MeasuredFacts:
        """From an outline just measured."""
        axis = measured.axis
        return cls(
            measured.points,
            float(np.median(measured.sd_mm)),
            measured.scale_sd,
            (axis["top_px"][0], axis["top_px"][1]),
            (axis["bottom_px"][0], axis["bottom_px"][1]),
            float(axis["tilt_deg"]),
            float(axis["distance_mm"]),
            measured.height_mm,
        )

    @classmethod
    def of_view(cls, view: View) -> MeasuredFacts:
        """From a view of the collection that was measured."""
        found = view.measured
        if found is None:
            raise Unfit(photograph_words(view.id), "outline", "its outline is not measured", "an outline with a scale")
        sd = float(np.median(found.sd_mm))
        return cls(
            np.array(found.points),
            sd,
            found.scale_sd,
            found.top_px,
            found.bottom_px,
            found.tilt_deg,
            found.distance_mm,
            found.height_mm,
        )


@dataclass(frozen=True)
class RolloutChoice:
    """
    How a piece is to be rolled out.

    Parameters
    ----------
    heights_mm : (low, high) or None
        Part of the height; None: from just above the foot to the top.
    px_per_mm : float or None
        Scale of the picture; None: a neat one that keeps the photographs' detail.
    section : str
        round, square or rectangle.
    depth_share : float
        Half-depth over half-width, for a rectangle.
    stitches_per_cm, stitches_sd : float or None
        Gauge along a row, to give widths in stitches.
    """

    heights_mm: tuple[float, float] | None = None
    px_per_mm: float | None = None
    section: str = "round"
    depth_share: float = 1.0
    stitches_per_cm: float | None = None
    stitches_sd: float | None = None


def checked_choice(entries: Mapping[str, Any], where: str = "rollout") -> RolloutChoice:
    """
    A choice from what a person typed.

    Raises
    ------
    InputError
        Unknown section, or a number out of range.
    """
    choice = RolloutChoice(**entries)
    if choice.section not in SECTIONS:
        raise InputError(where, "section", choice.section, "one of: " + ", ".join(SECTIONS))
    if not 0.1 <= choice.depth_share <= 10:
        raise InputError(where, "depth_share", choice.depth_share, "half-depth over half-width, 0.1 to 10")
    gauge, sd = choice.stitches_per_cm, choice.stitches_sd
    if gauge is not None and not 0 < gauge <= 60:
        raise InputError(where, "stitches_per_cm", gauge, "a number above 0 and at most 60")
    if sd is not None and not 0 < sd <= 30:
        raise InputError(where, "stitches_sd", sd, "a number above 0 and at most 30")
    return choice


def roll_out_photographs(
    photos: Sequence[Photograph],
    choice: RolloutChoice,
    *,
    scale_bar: Sequence[float] | None = None,
    height_mm: float | None = None,
    box: Sequence[float] | None = None,
    progress: Progress | None = None,
) -> Rollout:
    """
    Roll out one photograph, or 6 to 24 taken at even turns in order, tracing each.

    Parameters
    ----------
    scale_bar : (x1, y1, x2, y2, mm), optional
        The same in all of them: the camera stood still. This or the height is needed.
    height_mm : float, optional
    box : (x0, y0, x1, y1), optional
        Where the piece stands.

    Raises
    ------
    InputError
        If a piece is found on none of them, or as `weftglass.photos.roll_out` says.
    """
    seen, fault, warnings = [], None, list[str]()
    for k, photo in enumerate(photos):
        try:
            found = outline_from_photograph(
                photo, scale_bar=scale_bar, height_mm=height_mm, box=box, where=f"photograph {k + 1}"
            )
            measured = MeasuredFacts.of(found.measured)
            warnings += found.measured.warnings
        except InputError as missing:
            if len(photos) == 1 or (scale_bar is None and height_mm is None):
                raise
            fault, measured = fault or missing, None
        seen.append(Seen(photo, 360.0 * k / len(photos), measured))
    if fault is not None and all(one.measured is None for one in seen):
        raise fault
    rolled = roll_out_seen(seen, choice, progress=progress)
    return replace(rolled, warnings=(*told_of_ruler(warnings), *rolled.warnings))


def roll_out_seen(seen: Sequence[Seen], choice: RolloutChoice, *, progress: Progress | None = None) -> Rollout:
    """
    Roll out photographs on which outlines were measured.

    Parameters
    ----------
    seen : sequence of Seen
        In the order of their turns. Of a turntable's photographs (several of one size) the camera's tilt and distance
        are the median of all, and one without an outline takes the place of its neighbour's.

    Raises
    ------
    InputError
        If no outline was measured on any of them.
    """
    known = [one.measured for one in seen if one.measured is not None]
    if not known:
        expected = "an outline with a scale on at least one photograph"
        raise Unfit("rollout", "outline", "no outline is measured", expected)
    round_body = choice.section == "round"
    profile = shared_profile([one.points for one in known]) if round_body else known[0].points
    tall = float(profile[-1, 0])
    views = [TurnedView(one.photo.pixels, _standing(one, seen, known, tall), one.turn_deg) for one in seen]
    low, high = choice.heights_mm or (FOOT_MM, tall)
    return roll_out(
        views,
        profile,
        px_per_mm=choice.px_per_mm,
        heights_mm=(low, min(high, tall)),
        section=Section(choice.section),
        depth_share=1.0 if choice.section != "rectangle" else choice.depth_share,
        scale_sd=float(np.median([one.scale_sd for one in known])),
        edge_sd_mm=float(np.median([one.sd_mm for one in known])),
        distance_rel_sd=FOCAL_REL_SD if all(one.photo.focal_35mm for one in seen) else USUAL_DISTANCE_LOG_SD,
        progress=progress,
    )


def study_rollout(rollout: Rollout, choice: RolloutChoice) -> DesignStudy:
    """The design study of a rollout."""
    gauge = None
    if choice.stitches_per_cm is not None:
        gauge = (choice.stitches_per_cm, choice.stitches_sd or 0.05 * choice.stitches_per_cm)
    return design_of(
        rollout.picture,
        rollout.seen,
        px_per_mm=rollout.px_per_mm,
        height_mm=rollout.height_mm,
        girth_at_mm=rollout.girth_at_mm,
        girth_rel_sd=rollout.girth_sd_mm / rollout.girth_mm,
        whole_round=rollout.round,
        stitches_per_cm=gauge,
    )


def design_words(study: DesignStudy) -> tuple[str, ...]:
    """Each band in one sentence, from the top down."""
    return tuple(band_words(band, study.palette) for band in study.bands)


def marks_of(rollout: Rollout, study: DesignStudy) -> tuple[BandMark, ...]:
    """Figured bands and where their repeats begin, as rows and columns of the picture."""
    return tuple(_mark(rollout, band) for band in study.bands if band.figured)


def _mark(rollout: Rollout, band: Band) -> BandMark:
    falling = -rollout.height_mm
    top, bottom = (int(np.clip(np.searchsorted(falling, -z), 0, len(falling) - 1)) for z in (band.high_mm, band.low_mm))
    columns = rollout.picture.shape[1]
    starts = tuple((start / 360 + 0.5) * columns for start in band.starts_deg)
    count = "?" if band.repeats is None else str(band.repeats)
    return BandMark(top, bottom, f"{count} x" if band.starts_deg else "", starts)


def _standing(one: Seen, seen: Sequence[Seen], known: Sequence[MeasuredFacts], tall: float) -> Standing:
    size = _size(one)
    facts = one.measured or known[0]
    if len(seen) == 1:
        return _stood(facts, facts.tilt_deg, facts.distance_mm, facts.height_mm, size)
    alike = [other.measured for other in seen if other.measured is not None and _size(other) == size]
    if not alike:
        raise Unfit("rollout", "photographs", "the photographs differ in size", "photographs of one size")
    tilt, distance = (float(np.median([getattr(m, name) for m in alike])) for name in ("tilt_deg", "distance_mm"))
    still = _still(alike)
    return _stood(still or one.measured or _nearest(one, seen, size), tilt, distance, tall, size)


def _stood(facts: MeasuredFacts, tilt: float, distance: float, tall: float, size: tuple[int, int]) -> Standing:
    return Standing.of(
        facts.top_px, facts.bottom_px, tilt_deg=tilt, distance_mm=distance, height_mm=tall, image_size=size
    )


def _still(alike: Sequence[MeasuredFacts]) -> MeasuredFacts | None:
    """Where the axis stands in all photographs if the camera stood still: the median, better than any one outline."""
    ends = np.array([[*one.top_px, *one.bottom_px] for one in alike])
    middle = np.median(ends, axis=0)
    tall_px = float(np.hypot(middle[2] - middle[0], middle[3] - middle[1]))
    usual = np.median(np.abs(ends - middle), axis=0).max()
    if len(alike) < 3 or usual > STILL_SHARE * tall_px:
        return None
    return replace(
        alike[0], top_px=(float(middle[0]), float(middle[1])), bottom_px=(float(middle[2]), float(middle[3]))
    )


def _size(one: Seen) -> tuple[int, int]:
    return one.photo.width_px, one.photo.height_px


def _nearest(one: Seen, seen: Sequence[Seen], size: tuple[int, int]) -> MeasuredFacts:
    """What was measured at the nearest turn."""
    near = [
        (abs((other.turn_deg - one.turn_deg + 180) % 360 - 180), k, other.measured)
        for k, other in enumerate(seen)
        if other.measured is not None and _size(other) == size
    ]
    return min(near, key=lambda item: item[:2])[2]

"""The rollout of a piece: the wall laid flat from one photograph, or the whole round from several turns."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any, TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from weftglass.errors import InputError, Unfit
from weftglass.photos.camera import FOCAL_REL_SD
from weftglass.photos.exposure import evened, evened_alone
from weftglass.photos.seams import joined, seam_visibility
from weftglass.photos.standing import Standing
from weftglass.photos.turns import OVERLAP_DEG, Turns, matched_turns
from weftglass.photos.unroll import WIDEST_DEG, Strip, place_sd_mm, unroll
from weftglass.photos.wall import Wall, wall_of
from weftglass.vessels import Section

FloatArray = NDArray[np.float64]
Progress = Callable[[str, float], None]
Values = TypeVar("Values", bound=NDArray[Any])

LEAST_VIEWS, MOST_VIEWS = 6, 24
NEAT_SCALES = (1.0, 1.25, 1.6, 2.0, 2.5, 3.2, 4.0, 5.0, 6.4, 8.0, 10.0, 12.5, 16.0, 20.0)
MATCHING_PX_PER_MM = 4.0
MOST_IN_MEMORY = 60_000_000
ROUNDS = 2
ROUGH_OVERLAP_DEG = 14.0
CLOSING_GOOD = 0.015
LEAST_EDGE_SD = 0.015
"""How well a half-width is known at best when strands bulge (a working figure, no source)."""


@dataclass(frozen=True, eq=False)
class TurnedView:
    """
    A photograph of the piece at one turn.

    Parameters
    ----------
    pixels : array, shape (height, width, 3), uint8
    standing : Standing
        Where the piece stands in it.
    turn_deg : float
        How far it is turned from the front; what stood to the right comes to face the camera.
    """

    pixels: NDArray[np.uint8]
    standing: Standing
    turn_deg: float = 0.0


@dataclass(frozen=True, eq=False)
class Rollout:
    """
    A wall laid flat.

    Parameters
    ----------
    picture : array, shape (rows, columns, 3), uint8
        Row 0 is the top; columns go round to the right as seen from the front, the middle one being the front. White
        where nothing was seen.
    seen : array, shape (rows, columns), bool
    px_per_mm : float
        Along the wall in every row; round it at the reference girth.
    girth_mm, girth_sd_mm : float
        Reference girth, at the widest row, and its standard deviation.
    height_mm, run_mm, girth_at_mm : array, shape (rows,)
        Of each row: height above the standing plane, way along the wall from the lowest row, girth.
    detail_px_per_mm : array, shape (rows, columns), float32
        How finely the photographs showed each place; 0 where nothing was seen.
    place_sd_mm : array, shape (columns,)
        How far a place in this column may be off along the girth: from the front line on one photograph, from its
        neighbours on several; nan where nothing was seen.
    round : bool
        Whether the whole girth is there, so that the last column meets the first.
    turn_deg : array, shape (views,)
        True turns of the photographs.
    closing : float or None
        What the turns found summed to, less a whole turn, as a share of it.
    seam_ratio, seam_rank : float or None
        Colour difference across the seams over that elsewhere, and the share of other lines that show more.
    section : str
    warnings : tuple of str
    """

    picture: NDArray[np.uint8]
    seen: NDArray[np.bool_]
    px_per_mm: float
    girth_mm: float
    girth_sd_mm: float
    height_mm: FloatArray
    run_mm: FloatArray
    girth_at_mm: FloatArray
    detail_px_per_mm: NDArray[np.float32]
    place_sd_mm: FloatArray
    round: bool
    turn_deg: FloatArray
    closing: float | None
    seam_ratio: float | None
    seam_rank: float | None
    section: str
    warnings: tuple[str, ...]

    def geometry(self) -> dict[str, Any]:
        """What is true of the picture, for a JSON file: lengths mm, angles degrees."""
        optional = {"closing": self.closing, "seam_ratio": self.seam_ratio, "seam_rank": self.seam_rank}
        return {
            "px_per_mm": self.px_per_mm,
            "rows": self.picture.shape[0],
            "columns": self.picture.shape[1],
            "girth_mm": round(self.girth_mm, 2),
            "girth_sd_mm": round(self.girth_sd_mm, 2),
            "along_wall_mm": round(float(self.run_mm[0] - self.run_mm[-1]), 2),
            "from_height_mm": round(float(self.height_mm[-1]), 2),
            "to_height_mm": round(float(self.height_mm[0]), 2),
            "section": self.section,
            "whole_round": self.round,
            "seen_share": round(float(self.seen.mean()), 4),
            "turns_deg": [round(float(turn), 2) for turn in self.turn_deg],
            **{name: None if value is None else round(value, 4) for name, value in optional.items()},
            "place_sd_mm": [None if math.isnan(sd) else round(float(sd), 2) for sd in self.place_sd_mm[::20]],
            "place_sd_every_columns": 20,
            "rows_every_mm": self.rows_table(),
            "warnings": list(self.warnings),
        }

    def rows_table(self) -> list[dict[str, float]]:
        """Row, height, way along the wall and girth about every mm, from the top down."""
        step = max(1, round(self.px_per_mm))
        return [
            {
                "row": int(row),
                "height_mm": round(float(self.height_mm[row]), 2),
                "along_wall_mm": round(float(self.run_mm[row]), 2),
                "girth_mm": round(float(self.girth_at_mm[row]), 2),
            }
            for row in range(0, len(self.height_mm), step)
        ]


def roll_out(
    views: Sequence[TurnedView],
    profile: ArrayLike,
    *,
    px_per_mm: float | None = None,
    heights_mm: tuple[float, float] | None = None,
    section: Section | None = None,
    depth_share: float = 1.0,
    scale_sd: float = 0.01,
    edge_sd_mm: float = 0.5,
    widest_deg: float = WIDEST_DEG,
    distance_rel_sd: float = FOCAL_REL_SD,
    progress: Progress | None = None,
    where: str = "rollout",
) -> Rollout:
    """
    Lay the wall of a piece flat.

    Parameters
    ----------
    views : sequence of TurnedView
        One photograph, or 6 to 24 in the order of their turns.
    profile : array, shape (n, 2)
        Rows of (height, half-width) in mm, covering and all, as measured from the front.
    px_per_mm : float, optional
        Scale of the picture. Default: a neat scale at which the photographs' detail is kept.
    heights_mm : (low, high), optional
        Part of the height. Default: all.
    section : Section, optional
        Plan of the body. Default: round.
    depth_share : float
        Half-depth over half-width, for plans that are not round.
    scale_sd : float
        Relative standard deviation of the scale.
    edge_sd_mm : float
        Standard deviation of the half-width, mm.
    widest_deg : float
        Greatest trusted angle between the wall and the line of sight.
    distance_rel_sd : float
        Relative standard deviation of the camera's distance. What the turns sum to, off a whole turn, is put down to
        the girth and to the distance as far as each is uncertain.
    progress : callable, optional
        Told what is being done and which share of the whole is done.
    where : str
        For messages.

    Returns
    -------
    Rollout

    Raises
    ------
    InputError
        Two to five or more than 24 photographs, turns that do not rise, or a range or scale that cannot be.

    References
    ----------
    .. [1] Karras et al. (1996), ISPRS Vienna: back-projection of each flat pixel to the photographs and mosaic.
    """
    tell = progress or (lambda words, share: None)
    _check_views(views, where)
    plan = section or Section("round")
    scale = px_per_mm or _neat_scale(views, profile, where)
    outline = {"heights_mm": heights_mm, "section": plan, "depth_share": depth_share, "where": where}
    wall = wall_of(profile, px_per_mm=scale, **outline)  # type: ignore[arg-type]
    if wall.shape[0] * wall.shape[1] * len(views) > MOST_IN_MEMORY:
        most = math.sqrt(MOST_IN_MEMORY / (wall.shape[0] * wall.shape[1] * len(views))) * scale
        raise InputError(where, "pixels per mm", scale, f"at most {most:.1f} for so many photographs of this size")
    if len(views) == 1:
        strip = unroll(views[0].pixels, views[0].standing, wall, turn_deg=views[0].turn_deg, widest_deg=widest_deg)
        return _one(strip, wall, plan, scale_sd, edge_sd_mm)
    coarse = wall_of(profile, px_per_mm=min(scale, MATCHING_PX_PER_MM), **outline)  # type: ignore[arg-type]
    fixed = _registered(views, coarse, plan.kind == "round", distance_rel_sd, edge_sd_mm, tell)
    views, factor = fixed.views, fixed.factor
    wall = wall_of(np.asarray(profile, dtype=np.float64) * [1, factor], px_per_mm=scale, **outline)  # type: ignore[arg-type]
    strips = []
    for k, view in enumerate(views):
        tell(f"laying photograph {k + 1} of {len(views)} flat", 0.5 + 0.3 * k / len(views))
        strips.append(
            unroll(
                view.pixels, view.standing, wall, turn_deg=view.turn_deg, rise_mm=fixed.rises[k], widest_deg=widest_deg
            )
        )
    return _whole(strips, wall, plan, fixed, scale_sd, edge_sd_mm, tell)


def _check_views(views: Sequence[TurnedView], where: str) -> None:
    if len(views) != 1 and not LEAST_VIEWS <= len(views) <= MOST_VIEWS:
        expected = f"one, or {LEAST_VIEWS} to {MOST_VIEWS} turned evenly round the piece"
        raise InputError(where, "photographs", len(views), expected)
    turns = [view.turn_deg for view in views]
    if any(b <= a for a, b in pairwise(turns)) or turns[-1] - turns[0] >= 360:
        raise InputError(where, "turns", turns, "rising turns within one round")


def _neat_scale(views: Sequence[TurnedView], profile: ArrayLike, where: str) -> float:
    widest = float(np.asarray(profile, dtype=np.float64)[:, 1].max())
    tall = float(np.asarray(profile, dtype=np.float64)[-1, 0])
    shown = min(view.standing.frame.focal_px / max(view.standing.distance_mm - widest, 1.0) for view in views)
    room = math.sqrt(MOST_IN_MEMORY / (len(views) * 2 * math.pi * widest * tall * 1.2))
    neat = [scale for scale in NEAT_SCALES if scale <= 1.1 * shown and scale <= room]
    if not neat:
        wrong = f"the photograph shows {shown:.2f} pixels per mm"
        raise Unfit(where, "photograph", wrong, "a closer photograph, at least 1 pixel per mm")
    return neat[-1]


@dataclass(frozen=True, eq=False)
class _Fixed:
    """
    Views with their true turns, how much higher the piece stands in each, how much wider the wall is, and how much of
    what did not close was put down to the distance.
    """

    views: tuple[TurnedView, ...]
    rises: tuple[float, ...]
    factor: float
    share: float
    first: Turns
    last: Turns


def _registered(
    views: Sequence[TurnedView], wall: Wall, is_round: bool, distance_sd: float, edge_sd_mm: float, tell: Progress
) -> _Fixed:
    """Match, correct, and match again: turns and rises, and what the closing of the round says of girth or distance."""
    rises, factor, share = [0.0] * len(views), 1.0, 0.0
    said: list[Turns] = []
    for again in range(ROUNDS + 1):
        at = wall.wider(factor)
        strips = []
        for k, view in enumerate(views):
            done = (again + k / len(views)) / (ROUNDS + 1)
            tell(f"matching photograph {k + 1} of {len(views)} with its neighbours", 0.5 * done)
            strips.append(unroll(view.pixels, view.standing, at, turn_deg=view.turn_deg, rise_mm=rises[k]))
        sd, overlap = (1.5, ROUGH_OVERLAP_DEG) if again == 0 else (0.7, OVERLAP_DEG)
        said.append(matched_turns(strips, at, turn_sd_deg=sd, solve_girth=is_round, overlap_deg=overlap))
        if again == ROUNDS:
            break
        views = [replace(v, turn_deg=v.turn_deg + float(t)) for v, t in zip(views, said[-1].turn_deg, strict=True)]
        rises = [rise + float(more) for rise, more in zip(rises, said[-1].rise_mm, strict=True)]
        distance = float(np.mean([view.standing.distance_mm for view in views]))
        radius = at.girth_mm / (2 * math.pi)
        share = _share_of_distance(distance, radius, distance_sd, edge_sd_mm)
        factor *= 1 + (1 - share) * said[-1].wider * (distance - radius) / distance
        nearer = _distance(distance, radius, share * said[-1].wider) / distance
        views = [replace(v, standing=v.standing.at_distance(v.standing.distance_mm * nearer)) for v in views]
    return _Fixed(tuple(views), tuple(rises), factor, share, said[0], said[-1])


def _share_of_distance(distance_mm: float, radius_mm: float, distance_sd: float, edge_sd_mm: float) -> float:
    """How much of what the turns sum to, off a whole turn, is the distance's fault rather than the girth's."""
    by_distance = distance_sd * radius_mm / (distance_mm - radius_mm)
    by_girth = max(edge_sd_mm / radius_mm, LEAST_EDGE_SD) * distance_mm / (distance_mm - radius_mm)
    return by_distance**2 / (by_distance**2 + by_girth**2)


def _distance(assumed_mm: float, radius_mm: float, wider: float) -> float:
    """
    Distance of the camera from how the turns close.

    The front of the wall is nearer than the axis, so it appears larger by D / (D - r); turns that sum to too much by a
    share ``wider`` say that this factor was taken too small by as much.
    """
    larger = assumed_mm / (assumed_mm - radius_mm) * (1 + wider)
    found = radius_mm * larger / max(larger - 1, 1e-3)
    return float(np.clip(found, max(0.5 * assumed_mm, 3 * radius_mm), 2 * assumed_mm))


def _one(strip: Strip, wall: Wall, plan: Section, scale_sd: float, edge_sd_mm: float) -> Rollout:
    spread = place_sd_mm(strip, wall, scale_sd=scale_sd, edge_sd_mm=edge_sd_mm)
    seen_columns = strip.seen.any(axis=0)
    sd = np.full(wall.shape[1], np.nan)
    sd[seen_columns] = np.nanmedian(spread[:, seen_columns], axis=0)
    radius = wall.girth_mm / (2 * math.pi)
    girth_sd = wall.girth_mm * math.hypot(scale_sd, edge_sd_mm / radius)
    return _rollout(
        evened_alone(strip, wall), strip.seen, strip.px_per_mm, wall, plan, girth_sd, sd, [strip.turn_deg], ()
    )


def _whole(
    strips: Sequence[Strip],
    wall: Wall,
    plan: Section,
    fixed: _Fixed,
    scale_sd: float,
    edge_sd_mm: float,
    tell: Progress,
) -> Rollout:
    first, last = fixed.first, fixed.last
    tell("evening the light", 0.82)
    colours = evened(strips, wall)
    tell("joining the photographs", 0.9)
    made = joined(strips, colours, wall)
    seen = made.source >= 0
    detail = np.zeros(wall.shape, dtype=np.float32)
    for k, strip in enumerate(strips):
        detail[made.source == k] = strip.px_per_mm[made.source == k]
    closed = not math.isnan(first.closing)
    radius = wall.girth_mm / (2 * math.pi)
    by_outline = edge_sd_mm / radius
    by_turns = math.hypot((1 - fixed.share) * last.wider_sd, fixed.share * by_outline) if closed else by_outline
    relative = math.hypot(scale_sd, by_turns if plan.kind == "round" else by_outline)
    warnings = _doubts(first, last, float(seen.mean()))
    place_sd = math.hypot(last.turn_sd_deg / 360 * wall.girth_mm, 0.5 / wall.px_per_mm)
    sd = np.where(seen.any(axis=0), place_sd, np.nan)
    seams = seam_visibility(made.colours, made.seams)
    turns = [strip.turn_deg for strip in strips]
    girth_sd = wall.girth_mm * relative
    closing = first.closing if closed else None
    return _rollout(made.colours, seen, detail, wall, plan, girth_sd, sd, turns, warnings, closing=closing, seams=seams)


def _doubts(first: Turns, last: Turns, seen_share: float) -> tuple[str, ...]:
    remarks = [
        f"Photographs {one + 1} and {other + 1} could not be matched: their turns are taken as given."
        for one, other in last.unmatched
    ]
    if not math.isnan(first.closing) and abs(first.closing) > CLOSING_GOOD:
        remarks.append(
            f"The turns found sum to {100 * first.closing:+.1f} % off a whole turn: girth and distance were "
            "corrected for it; check the scale, and whether the section is round."
        )
    if math.isnan(first.closing):
        remarks.append("The photographs could not be matched all round, so the girth rests on the outline alone.")
    if seen_share < 0.98:
        remarks.append(f"{100 * (1 - seen_share):.0f} % of the wall was seen on no photograph and is left blank.")
    return tuple(remarks)


def _rollout(
    colours: NDArray[np.float32],
    seen: NDArray[np.bool_],
    detail: NDArray[np.float32],
    wall: Wall,
    plan: Section,
    girth_sd: float,
    place_sd: FloatArray,
    turns: Sequence[float],
    warnings: tuple[str, ...],
    *,
    closing: float | None = None,
    seams: tuple[float, float] | None = None,
) -> Rollout:
    picture = np.where(seen[..., None], np.clip(np.rint(colours * 255), 0, 255), 255).astype(np.uint8)
    return Rollout(
        _frozen(picture[::-1]),
        _frozen(seen[::-1]),
        wall.px_per_mm,
        wall.girth_mm,
        girth_sd,
        _frozen(wall.height_mm[::-1]),
        _frozen(wall.run_mm[::-1]),
        _frozen(wall.girth_at_mm[::-1]),
        _frozen(detail[::-1]),
        _frozen(place_sd),
        len(turns) > 1,
        _frozen(np.asarray(turns, dtype=np.float64)),
        closing,
        None if seams is None else seams[0],
        None if seams is None else seams[1],
        plan.kind,
        warnings,
    )


def _frozen(array: Values) -> Values:
    copy = array.copy()
    copy.setflags(write=False)
    return copy

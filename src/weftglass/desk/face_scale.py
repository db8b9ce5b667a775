"""What a close-up's millimetres come from: a bar laid on the covering, or the piece's own profile."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from weftglass.cabinet import Reader
from weftglass.desk.collection import Collection
from weftglass.desk.photographs import views_of
from weftglass.desk.rolling import MeasuredFacts
from weftglass.errors import InputError, Unfit
from weftglass.photos import Standing, scale_from_bar
from weftglass.photos.camera import FOCAL_REL_SD, focal_px
from weftglass.photos.scale import CLICK_SD_PX
from weftglass.records import MeasurementRecord, SightingRecord, View, evidence_view
from weftglass.weave import Box, Known
from weftglass.weave.stance import DISTANCE_SPREAD, USUAL_DISTANCE_MM

FloatArray = NDArray[np.float64]
Edges = tuple[float, float, float, float]

REACH_MM = 8.0
"""Half the height over which the profile's taper is read: a few rows, so that their ripple does not count."""

SLOPE_SD = 0.04
RADIUS_SD = 0.02
"""What a profile leaves open of the wall there: rows stand out, and weavers' work is not quite round (no source)."""

FLAT_RADIUS_MM = 900.0
"""A flat side, as a wall that hardly bends."""

LOOKED_AT, ACROSS, EDGE_MM = (0.15, 0.6), 0.6, 6.0
"""Part of the height, and of the half-width, that is counted where nobody drew a box; room left to bare glass."""

FLAT_SIDED = ("rectangle", "polygon")
DEPTH = (0.6, 0.15)
"""Depth over width of bodies that are neither round nor square, where it was not measured (common practice, no
source)."""


@dataclass(frozen=True, eq=False)
class OwnProfile:
    """
    The measured outline of a piece, covering and all.

    Parameters
    ----------
    points : array, shape (n, 2)
        Rows of (height, half-width) in mm.
    scale_sd : float
        Relative standard deviation of its scale.
    flat : bool
        True where the body is known to have flat sides that face the camera.
    depth_share, depth_sd : float
        Half-depth over half-width, and its standard deviation; 1 and 0 for what is round or square.
    """

    points: FloatArray
    scale_sd: float
    flat: bool = False
    depth_share: float = 1.0
    depth_sd: float = 0.0

    def wall_at(self, height_mm: float, where: str) -> tuple[float, float]:
        """
        Half-width in mm and its change for one mm up, about a height.

        Raises
        ------
        InputError
            If the height is not between standing plane and top.
        """
        top = float(self.points[-1, 0])
        if not 0 <= height_mm <= top:
            raise InputError(where, "height", height_mm, f"a height on the piece, 0 to {top:.0f} mm")
        z = np.linspace(max(height_mm - REACH_MM, 0.0), min(height_mm + REACH_MM, top), 33)
        slope, half = np.polyfit(z - height_mm, np.interp(z, *self.points.T), 1)
        return max(float(half), 1.0), float(slope)

    def known_at(self, height_mm: float, where: str) -> Known:
        """What it tells of the wall about a height."""
        return _known(self, *self.wall_at(height_mm, where))


@dataclass(frozen=True, eq=False)
class FaceScale:
    """
    The scale of a close-up at the covering's face, and what is known of the wall there.

    Parameters
    ----------
    mm_per_px, rel_sd : float
    known : Known or None
    bar : (x1, y1, x2, y2, mm)
        The scale as two points; reckoned where it came from the profile.
    words : str
        Where it comes from, in one sentence.
    """

    mm_per_px: float
    rel_sd: float
    known: Known | None
    bar: tuple[float, float, float, float, float]
    words: str


def own_profile(collection: Collection, piece_id: str) -> OwnProfile | None:
    """The profile of a piece: of its front, else of any view that shows it whole; None where none was measured."""
    with collection.cabinet.reading() as reader:
        views = [one.view for one in views_of(reader, piece_id) if one.view.measured is not None]
        views = [one for one in views if not (one.base_unseen or one.top_unseen)]
        views.sort(key=lambda one: one.role not in ("front", "turn 01/12"))
        return _profile_of(reader, views[0]) if views else None


def profile_from_outline(text: str, where: str) -> OwnProfile:
    """
    The profile that `weftglass outline --json` printed.

    Raises
    ------
    InputError
        If there is no profile in it.
    """
    expected = "what weftglass outline --json prints, with a profile of heights and half-widths in mm"
    try:
        record: Any = json.loads(text)
        points = np.array(record["profile"], dtype=np.float64)
        scale_sd = float(record.get("scale_sd", 0.01))
    except (ValueError, TypeError, KeyError, AttributeError):
        raise InputError(where, "profile", text[:40], expected) from None
    sound = points.ndim == 2 and points.shape[1:] == (2,) and len(points) > 1 and np.isfinite(points).all()
    if not (sound and np.all(np.diff(points[:, 0]) > 0) and np.all(points[:, 1] >= 0)):
        raise InputError(where, "profile", text[:40], expected)
    return OwnProfile(points, scale_sd)


def scale_by_bar(
    bar: Sequence[float], profile: OwnProfile | None = None, height_mm: float | None = None, *, where: str = "covering"
) -> FaceScale:
    """
    Scale from a bar on the covering; the wall's roundness and taper from the profile where the height is told.

    Parameters
    ----------
    bar : (x1, y1, x2, y2, mm)
    height_mm : float, optional
        Of the middle of what is counted, above the standing plane.

    Raises
    ------
    InputError
        If the bar is at fault, or a height was told that is not on the piece, or of a piece without a profile.
    """
    x1, y1, x2, y2, mm = bar
    scale = scale_from_bar(x1, y1, x2, y2, mm, in_axis_plane=True, where=where)
    whole = (float(x1), float(y1), float(x2), float(y2), float(mm))
    if height_mm is None:
        return FaceScale(scale.mm_per_px, scale.rel_sd, None, whole, "Scale from the bar.")
    own = _needed(profile, where)
    words = f"Scale from the bar; {_wall_words(own, own.wall_at(height_mm, where)[0], height_mm)}."
    return FaceScale(scale.mm_per_px, scale.rel_sd, own.known_at(height_mm, where), whole, words)


def scale_by_edges(
    edges: Edges,
    profile: OwnProfile | None,
    height_mm: float,
    *,
    focal_35mm: float | None,
    size_px: tuple[int, int],
    where: str = "covering",
) -> FaceScale:
    """
    Scale of a close-up that shows both edges of the piece, from how wide the profile says it is there.

    Parameters
    ----------
    edges : (x1, y1, x2, y2)
        The left and the right edge at one height, pixels.
    height_mm : float
        Of that height above the standing plane.
    focal_35mm : float or None
        As the camera wrote it: tells how near it stood. None: as close-ups are taken, which is less sure.
    size_px : (width, height)
        Of the whole photograph.

    Raises
    ------
    InputError
        If no profile is known, the height is not on it, or the edges are less than 40 pixels apart.

    Notes
    -----
    The edges of a round wall are seen along lines that touch it, so that for a camera D before a face of radius r the
    half-width appears under the angle asin(r / (D + r)); at the face a pixel is r / sqrt(1 + 2 r / D) over half the
    width in pixels (of an oval, the half-depth takes the place of r under the root). The edges of a flat side are its
    own.
    """
    own = _needed(profile, where)
    radius, slope = own.wall_at(height_mm, where)
    half_px = math.hypot(edges[2] - edges[0], edges[3] - edges[1]) / 2
    if half_px < 20:
        wrong = f"the two points are {2 * half_px:.0f} pixels apart"
        raise Unfit(where, "bar", wrong, "both edges of the piece, 40 pixels or more apart")
    distance, spread, depth = USUAL_DISTANCE_MM, DISTANCE_SPREAD, own.depth_share * radius
    if focal_35mm is not None:
        away = radius * focal_px(focal_35mm, *size_px) / half_px
        distance, spread = away if own.flat else math.hypot(away, depth) - depth, FOCAL_REL_SD * 2
    near = 1.0 if own.flat else 1 / math.sqrt(1 + 2 * depth / distance)
    by_distance = 0.0 if own.flat else spread * depth / distance * near**2
    by_depth = 0.0 if own.flat else own.depth_sd * radius / distance * near**2
    clicks = CLICK_SD_PX * math.sqrt(2) / (2 * half_px)
    rel_sd = math.hypot(own.scale_sd, RADIUS_SD, by_distance, by_depth, clicks)
    known = _known(own, radius, slope, distance, spread)
    factor = radius * near / half_px
    x1, y1, x2, y2 = (float(v) for v in edges)
    words = f"Scale from the piece's own width there; {_wall_words(own, radius, height_mm)}."
    return FaceScale(factor, rel_sd, known, (x1, y1, x2, y2, 2 * half_px * factor), words)


def scale_by_outline(view: View, profile: OwnProfile, box: Box, size_px: tuple[int, int], where: str) -> FaceScale:
    """
    Scale at the middle of a box of a photograph whose own outline was measured.

    Raises
    ------
    InputError
        If the middle of the box is not on the piece.
    """
    facts = MeasuredFacts.of_view(view)
    standing = Standing.of(
        facts.top_px, facts.bottom_px, tilt_deg=facts.tilt_deg, distance_mm=facts.distance_mm,
        height_mm=facts.height_mm, image_size=size_px, where=where,
    )  # fmt: skip
    middle = np.array([(box[0] + box[2]) / 2, (box[1] + box[3]) / 2])
    place = _on_wall(standing, profile, middle, where)
    radius, slope = profile.wall_at(float(place[2]), where)
    ray = standing.towards_eye(place)
    aside = np.array([-ray[1], ray[0], 0.0]) / math.hypot(ray[0], ray[1])
    ends = standing.pixels(np.stack([place - aside, place + aside]))
    factor = 2 / float(np.hypot(*(ends[1] - ends[0])))
    eye = np.array([0.0, -standing.distance_mm, standing.drop_mm])
    known = _known(profile, radius, slope, float(np.linalg.norm(eye - place)), 0.1)
    bar = (float(box[0]), float(middle[1]), float(box[2]), float(middle[1]), abs(box[2] - box[0]) * factor)
    words = f"Scale from the outline of this photograph; {_wall_words(profile, radius, float(place[2]))}."
    near = float(np.linalg.norm(eye - place))
    return FaceScale(factor, math.hypot(facts.scale_sd, profile.depth_sd * radius / near), known, bar, words)


def box_on_covering(view: View) -> Box:
    """A box on the front of a measured view's covering: its middle across, from above the foot to below bare glass."""
    facts = MeasuredFacts.of_view(view)
    top = min([LOOKED_AT[1] * facts.height_mm, *(low - EDGE_MM for low, _ in view.bare if low > 2 * EDGE_MM)])
    ends = np.array([LOOKED_AT[0] * facts.height_mm, max(top, (LOOKED_AT[0] + 0.1) * facts.height_mm)])
    bottom_px, top_px = np.array(facts.bottom_px), np.array(facts.top_px)
    places = bottom_px + ends[:, None] / facts.height_mm * (top_px - bottom_px)
    half_mm = float(np.interp(np.linspace(ends[0], ends[1], 20), *facts.points.T).min())
    mm_per_px = facts.height_mm / float(np.hypot(*(top_px - bottom_px)))
    across, (x, _) = ACROSS * half_mm / mm_per_px, places.mean(axis=0)
    return float(x - across), float(places[1, 1]), float(x + across), float(places[0, 1])


def profile_of_view(collection: Collection, view: View) -> OwnProfile:
    """The profile measured on a view itself."""
    with collection.cabinet.reading() as reader:
        return _profile_of(reader, view)


def _profile_of(reader: Reader, view: View) -> OwnProfile:
    facts = MeasuredFacts.of_view(view)
    sections = [one for one in reader.all_of(SightingRecord, piece=view.piece) if one.feature == "section"]
    kind = sections[-1].value.strip().casefold() if sections else ""
    if kind in ("round", "square"):
        return OwnProfile(facts.points, facts.scale_sd, kind == "square")
    depth, sd = _depth(reader, view, 2 * float(facts.points[:, 1].max())) or (DEPTH if kind else (1.0, 0.0))
    return OwnProfile(facts.points, facts.scale_sd, kind in FLAT_SIDED, depth, sd)


def _depth(reader: Reader, view: View, width_mm: float) -> tuple[float, float] | None:
    """Depth over width with its standard deviation: measured, or of a side view's outline; None where neither is."""
    taken = [one for one in reader.all_of(MeasurementRecord, piece=view.piece) if one.what == "body_depth"]
    if taken:
        return min(taken[-1].value / width_mm, 2.0), taken[-1].sd / width_mm
    seen = [one.view for one in views_of(reader, view.piece) if evidence_view(one.view.role) == "side"]
    found = next((one.measured for one in seen if one.measured is not None), None)
    if found is None:
        return None
    return 2 * max(half for _, half in found.points) / width_mm, math.hypot(found.scale_sd, RADIUS_SD)


def _on_wall(standing: Standing, profile: OwnProfile, middle: FloatArray, where: str) -> FloatArray:
    """The place of the wall's near side that is seen at a pixel."""
    top = float(profile.points[-1, 0])
    z = np.linspace(0.0, top, 400)
    half = np.interp(z, *profile.points.T)
    turn = np.linspace(-1.2, 1.2, 121)
    across, back = (turn / 1.2, -np.ones_like(turn)) if profile.flat else (np.sin(turn), -np.cos(turn))
    rows, deep = half[:, None], profile.depth_share * half[:, None]
    grid = np.stack([rows * across, deep * back, np.broadcast_to(z[:, None], (len(z), len(turn)))], -1)
    off = np.hypot(*np.moveaxis(standing.pixels(grid) - middle, -1, 0))
    nearest = np.unravel_index(int(off.argmin()), off.shape)
    if off[nearest] > 6 * standing.px_per_mm:
        wrong = f"the middle of the box, {middle[0]:.0f}, {middle[1]:.0f} in pixels, lies off the piece"
        raise Unfit(where, "box", wrong, "a box whose middle lies on the piece")
    return np.asarray(grid[nearest])


def _known(
    profile: OwnProfile, radius: float, slope: float, distance: float | None = None, spread: float = 0.1
) -> Known:
    if profile.flat:
        return Known(FLAT_RADIUS_MM, 0.3, distance, spread, slope * profile.depth_share, SLOPE_SD)
    depth = max(profile.depth_share, 0.1)  # an oval bends as its half-width squared over its half-depth
    bend_sd = math.hypot(RADIUS_SD, profile.scale_sd, profile.depth_sd / depth, 0.3 * abs(1 - depth))
    return Known(radius / depth, bend_sd, distance, spread, slope * depth, SLOPE_SD)


def _wall_words(profile: OwnProfile, radius: float, height: float) -> str:
    if profile.flat:
        return f"a flat side, {2 * radius:.0f} mm wide {height:.0f} mm up, by the piece's profile"
    return f"the wall is {2 * radius:.0f} mm across {height:.0f} mm up, by the piece's profile"


def _needed(profile: OwnProfile | None, where: str) -> OwnProfile:
    if profile is None:
        wrong = "a height on the piece tells nothing before its outline has been measured"
        raise Unfit(where, "height", wrong, "a front view with an outline and a scale first")
    return profile

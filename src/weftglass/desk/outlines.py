"""The outline of a piece on a photograph: tracing, correcting, scaling, marking; measured anew with every change."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from weftglass.cabinet import Draft, Reader
from weftglass.desk.collection import Collection
from weftglass.desk.photographs import get_view, pixels_of
from weftglass.desk.wording import photograph_words, signature
from weftglass.errors import InputError
from weftglass.photos import (
    BareZone,
    MeasuredOutline,
    Photograph,
    Scale,
    SectionHint,
    Unseen,
    bare_zones,
    cut_ends,
    measure_outline,
    scale_from_bar,
    scale_from_height,
    trace_outline,
)
from weftglass.photos.bar_within import bar_within
from weftglass.photos.measure import with_warnings
from weftglass.records import KnownHeight, MeasuredProfile, Photo, ScaleBar, SightingRecord, View

Box = tuple[float, float, float, float]
MOST_POINTS = 20_000
MOST_RANGES = 50
LEAST_SURE = 0.48  # standard deviation of a height as a share of it, from which it would say nothing
SQUARE_ON = {"round": "round", "square": "square", "rectangle": "flat"}
"""Sections that a photograph square-on is measured by; an oval or a flask has no corners before its axis."""
FACED = ("front", "back")
PARTS = ("polygon", "scale", "bare", "left_out", "base_unseen", "top_unseen", "axis", "compared")


def propose_outline(
    collection: Collection, view_id: str, *, who: str, box: Sequence[float] | None = None, version: int | None = None
) -> View:
    """
    Find the outline on a view and keep it, measured where there is a scale; a person may correct it afterwards.

    Parameters
    ----------
    box : (x0, y0, x1, y1) or None
        Pixels within which the piece stands; None: anywhere.
    version : int or None
        The version of the view the person saw; None: whatever is stored now.

    Returns
    -------
    View
        With an empty polygon, and a warning that says why, where nothing stands out.
    """
    seen = get_view(collection, view_id)
    within = None if box is None else _box(box, photograph_words(view_id))
    found = trace_outline(pixels_of(collection, seen.photo), box=within)
    polygon = tuple((round(float(x), 2), round(float(y), 2)) for x, y in found.polygon_px)
    size = (seen.photo.width_px, seen.photo.height_px)
    unseen = cut_ends(found.polygon_px, size) if polygon else Unseen()
    read = seen.view.version if version is None else version
    with collection.cabinet.writing(signature(who)) as draft:
        view = replace(
            draft.get(View, view_id),
            version=read,
            box=within,
            polygon=polygon,
            polygon_by="found" if polygon else "",
            trace_warnings=tuple(found.warnings),
            base_unseen=unseen.base,
            top_unseen=unseen.top,
        )
        return draft.put(_measured_anew(collection, draft, view))


ONLY_MARKED = frozenset({"bare", "left_out", "compared"})
"""What is said of a measured outline and bears on nothing measured: the answer need not wait for measuring."""


def rework_view(
    collection: Collection, view_id: str, parts: Mapping[str, object], *, who: str, version: int | None = None
) -> View:
    """
    Change several things on a view at once, as the workbench sends them; it is measured anew and saved in one go.

    Parameters
    ----------
    parts : mapping
        Any of: ``polygon``, a list of [x, y] in pixels, or null to take it away; ``scale``,
        ``{"kind": "bar", "bar": [x1, y1, x2, y2], "mm": 100, "in_axis_plane": false}`` or
        ``{"kind": "height", "mm": 231, "sd_mm": 1}``, or null; ``bare`` and ``left_out``, lists of [low, high] in mm;
        ``base_unseen`` and ``top_unseen``, true or false; ``axis``, [[x, y], [x, y]] from top to bottom, or null to
        find it; ``compared``, true once somebody found that a doubted outline is right.
    version : int or None
        The version of the view the person saw; None: whatever is stored now.

    Raises
    ------
    InputError
        Names the part that is wrong.
    ChangedMeanwhile
        If the view was changed since that version.

    Notes
    -----
    When only the scale changes, bare and left-out ranges keep their place on the photograph: their heights in mm change
    with the scale.
    """
    where = photograph_words(view_id)
    changes = _read_parts(parts, where)
    with collection.cabinet.writing(signature(who)) as draft:
        view = draft.get(View, view_id)
        changed = replace(view, version=view.version if version is None else version, **changes)
        if changes.keys() - ONLY_MARKED:
            changed = _measured_anew(collection, draft, changed)
        if "polygon" not in changes:
            changed = _ranges_kept_in_place(view, changed, set(changes))
        return draft.put(changed)


def save_outline(
    collection: Collection,
    view_id: str,
    polygon: Sequence[Sequence[float]],
    *,
    who: str,
    version: int | None = None,
) -> View:
    """Keep an outline drawn or corrected by hand: rows of (x, y) in pixels of the upright photograph."""
    return rework_view(collection, view_id, {"polygon": polygon}, who=who, version=version)


def set_scale(
    collection: Collection,
    view_id: str,
    scale: ScaleBar | KnownHeight | None,
    *,
    who: str,
    version: int | None = None,
) -> View:
    """Say how large the photograph is: a bar laid along a ruler, or the height of the piece; None takes it away."""
    return rework_view(collection, view_id, {"scale": scale_record(scale)}, who=who, version=version)


def mark_bare(
    collection: Collection, view_id: str, ranges: Sequence[Sequence[float]], *, who: str, version: int | None = None
) -> View:
    """Say at which heights (low, high in mm) the glass itself is the outer edge; replaces what was marked."""
    return rework_view(collection, view_id, {"bare": ranges}, who=who, version=version)


def propose_bare(collection: Collection, view_id: str) -> tuple[BareZone, ...]:
    """
    Where the glass itself may be the outer edge on a measured view, for a person to confirm; nothing is saved.

    Returns
    -------
    tuple of BareZone
        Ranges in mm with how sure each is; empty where nothing is told, or outline or scale is missing.
    """
    seen = get_view(collection, view_id)
    with collection.cabinet.reading() as reader:
        section = section_of(reader, seen.view)
    picture = pixels_of(collection, seen.photo)
    measured = measured_outline(seen.view, seen.photo, section, picture)
    return () if measured is None else bare_zones(picture, measured)


def mark_left_out(
    collection: Collection, view_id: str, ranges: Sequence[Sequence[float]], *, who: str, version: int | None = None
) -> View:
    """Say at which heights (low, high in mm) the edge is not the piece's; replaces what was marked."""
    return rework_view(collection, view_id, {"left_out": ranges}, who=who, version=version)


def scale_record(scale: ScaleBar | KnownHeight | None) -> dict[str, Any] | None:
    """A scale as `rework_view` takes it."""
    if scale is None:
        return None
    if isinstance(scale, KnownHeight):
        return {"kind": "height", "mm": scale.mm, "sd_mm": scale.sd_mm}
    bar = [scale.x1, scale.y1, scale.x2, scale.y2]
    return {"kind": "bar", "bar": bar, "mm": scale.mm, "in_axis_plane": scale.in_axis_plane}


def scale_of(view: View) -> ScaleBar | KnownHeight | None:
    """What the scale of a view comes from."""
    return view.scale_bar or view.known_height


def measured_outline(
    view: View, photo: Photo, section: SectionHint | None = None, picture: Photograph | None = None
) -> MeasuredOutline | None:
    """
    The outline of a view measured, with what is known of the section; None where outline or scale is missing.

    With the picture the rows of the covering tell how far the camera looked down.
    """
    if not can_be_measured(view):
        return None
    height = view.known_height
    return measure_outline(
        view.polygon,
        scale=_bar_scale(view, photograph_words(view.id)),
        height_mm=None if height is None else height.mm,
        height_sd_mm=1.0 if height is None else height.sd_mm,
        focal_35mm=photo.focal_35mm,
        image_size=(photo.width_px, photo.height_px),
        axis=view.axis,
        unseen=Unseen(view.base_unseen, view.top_unseen),
        section=section,
        pixels=None if picture is None else picture.pixels,
        where=photograph_words(view.id),
    )


def can_be_measured(view: View) -> bool:
    """Whether a view has an outline and a scale."""
    return bool(view.polygon) and scale_of(view) is not None


def section_of(reader: Reader, view: View) -> SectionHint | None:
    """What was seen of the body's section, where it bears on measuring a view square-on; None where it does not."""
    seen = [one for one in reader.all_of(SightingRecord, piece=view.piece) if one.feature == "section"]
    kind = SQUARE_ON.get(seen[-1].value.strip().casefold()) if seen and view.role in FACED else None
    return None if kind is None else SectionHint.of(kind)


def measure_views_anew(collection: Collection, draft: Draft, piece: str) -> None:
    """Measure every view of a piece again, since its section is known better, or no longer."""
    for view in draft.all_of(View, piece=piece):
        anew = _measured_anew(collection, draft, view)
        if anew.measured != view.measured:
            draft.put(_ranges_kept_in_place(view, anew, set()), "measured anew")


def _measured_anew(collection: Collection, draft: Draft, view: View) -> View:
    photo = draft.get(Photo, view.photo)
    picture = pixels_of(collection, photo) if can_be_measured(view) else None
    found = measured_outline(view, photo, section_of(draft, view), picture)
    if found is None:
        return replace(view, measured=None)
    if view.polygon_by == "found":
        of_ruler = bar_within(view.polygon, _bar_scale(view, photograph_words(view.id)))
        found = with_warnings(found, [of_ruler]) if of_ruler else found
    return replace(view, measured=_profile(found))


def _profile(found: MeasuredOutline) -> MeasuredProfile:
    axis = found.axis
    return MeasuredProfile(
        points=tuple((round(float(z), 3), round(float(half), 3)) for z, half in found.points),
        sd_mm=tuple(round(float(sd), 4) for sd in found.sd_mm),
        scale_sd=float(found.scale_sd),
        mm_per_px=float(found.mm_per_px),
        top_px=(float(axis["top_px"][0]), float(axis["top_px"][1])),
        bottom_px=(float(axis["bottom_px"][0]), float(axis["bottom_px"][1])),
        roll_deg=float(axis["roll_deg"]),
        tilt_deg=float(axis["tilt_deg"]),
        distance_mm=float(axis["distance_mm"]),
        height_mm=float(axis["height_mm"]),
        height_sd_mm=float(axis["height_sd_mm"]),
        bulges=tuple((float(low), float(high)) for low, high in found.hidden),
        warnings=tuple(found.warnings),
    )


def _bar_scale(view: View, where: str) -> Scale | None:
    bar = view.scale_bar
    if bar is None:
        return None
    return scale_from_bar(bar.x1, bar.y1, bar.x2, bar.y2, bar.mm, in_axis_plane=bar.in_axis_plane, where=where)


def _ranges_kept_in_place(before: View, after: View, changed: set[str]) -> View:
    """Ranges that were not themselves changed follow a new scale."""
    if before.measured is None or after.measured is None:
        return after
    factor = after.measured.points[-1][0] / before.measured.points[-1][0]
    if abs(factor - 1.0) < 1e-9:
        return after
    moved: dict[str, Any] = {
        name: tuple((round(low * factor, 2), round(high * factor, 2)) for low, high in getattr(after, name))
        for name in ("bare", "left_out")
        if name not in changed
    }
    return replace(after, **moved)


def _read_parts(parts: Mapping[str, object], where: str) -> dict[str, Any]:
    changes: dict[str, Any] = {}
    for name, value in parts.items():
        match name:
            case "polygon":
                polygon = () if value is None else _points(value, where, "polygon", least=3)
                changes |= {"polygon": polygon, "polygon_by": "hand" if polygon else "", "trace_warnings": ()}
            case "scale":
                changes |= _scale(value, where)
            case "bare" | "left_out":
                changes[name] = _ranges(value, where, name)
            case "base_unseen" | "top_unseen":
                if not isinstance(value, bool):
                    raise InputError(where, name, value, "true or false")
                changes[name] = value
            case "compared":
                if value is not True:
                    raise InputError(where, name, value, "true, once somebody has compared outline and photograph")
                changes["trace_warnings"] = ()
            case "axis":
                changes["axis"] = None if value is None else _axis(value, where)
            case _:
                raise InputError(where, name, value, "left out, or one of: " + ", ".join(PARTS))
    return changes


def _scale(value: object, where: str) -> dict[str, Any]:
    if value is None:
        return {"scale_bar": None, "known_height": None}
    kind = value.get("kind") if isinstance(value, Mapping) else None
    if not isinstance(value, Mapping) or kind not in ("bar", "height"):
        raise InputError(where, "scale", value, "a bar or a height")
    measured = "the bar's length" if kind == "bar" else "the height"
    mm = _number(value.get("mm"), where, measured, "a number above 0 and at most 5000, in mm", 0.0, 5000.0)
    if kind == "height":
        most = LEAST_SURE * mm
        expected = f"a number above 0 and at most {most:.0f}, in mm"
        sd = _number(value.get("sd_mm", 1.0), where, "the height's ±", expected, 0.0, most)
        height = KnownHeight(mm, sd)
        scale_from_height(height.mm, 1000.0, sd_mm=sd, where=where)
        return {"scale_bar": None, "known_height": height}
    ends = value.get("bar")
    if not isinstance(ends, Sequence) or isinstance(ends, str) or len(ends) != 4:
        raise InputError(where, "scale.bar", ends, "four numbers x1, y1, x2, y2 in pixels")
    x1, y1, x2, y2 = (_pixel(end, where, f"scale.bar[{i}]") for i, end in enumerate(ends))
    plane = value.get("in_axis_plane", False)
    if not isinstance(plane, bool):
        raise InputError(where, "scale.in_axis_plane", plane, "true or false")
    scale_from_bar(x1, y1, x2, y2, mm, in_axis_plane=plane, where=where)
    return {"scale_bar": ScaleBar(x1, y1, x2, y2, mm, plane), "known_height": None}


def _points(value: object, where: str, field: str, *, least: int) -> tuple[tuple[float, float], ...]:
    if not isinstance(value, Sequence) or isinstance(value, str) or not least <= len(value) <= MOST_POINTS:
        raise InputError(where, field, value, f"{least} to {MOST_POINTS} points [x, y] in pixels")
    return tuple(_pair(point, where, f"{field}[{i}]", "a point [x, y] in pixels") for i, point in enumerate(value))


def _axis(value: object, where: str) -> tuple[tuple[float, float], tuple[float, float]]:
    points = _points(value, where, "axis", least=2)
    if len(points) != 2 or points[1][1] - points[0][1] < 8:
        raise InputError(where, "axis", value, "two points [x, y] in pixels, the upper first, at least 8 pixels apart")
    return points[0], points[1]


def _ranges(value: object, where: str, field: str) -> tuple[tuple[float, float], ...]:
    if not isinstance(value, Sequence) or isinstance(value, str) or len(value) > MOST_RANGES:
        raise InputError(where, field, value, f"at most {MOST_RANGES} ranges [low, high] in mm")
    expected = "a range [low, high] in mm, the lower first"
    ranges = []
    for i, item in enumerate(value):
        low, high = _pair(item, where, f"{field}[{i}]", expected)
        if not (low < high and low >= -50 and high <= 3000):
            raise InputError(where, f"{field}[{i}]", item, expected)
        ranges.append((low, high))
    return _joined(sorted(ranges))


def _joined(ranges: list[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
    """Ranges in order, those that overlap made one."""
    joined: list[tuple[float, float]] = []
    for low, high in ranges:
        if joined and low <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(high, joined[-1][1]))
        else:
            joined.append((low, high))
    return tuple(joined)


def _pair(value: object, where: str, field: str, expected: str) -> tuple[float, float]:
    if not isinstance(value, Sequence) or isinstance(value, str) or len(value) != 2:
        raise InputError(where, field, value, expected)
    return _finite(value[0], where, field, expected), _finite(value[1], where, field, expected)


def _box(value: object, where: str) -> Box:
    if isinstance(value, str) or not isinstance(value, Sequence) or len(value) != 4:
        raise InputError(where, "box", value, "x0, y0, x1, y1 in pixels")
    x0, y0, x1, y1 = (_pixel(end, where, f"box[{i}]") for i, end in enumerate(value))
    return x0, y0, x1, y1


def _pixel(value: object, where: str, field: str) -> float:
    return _finite(value, where, field, "a number of pixels")


def _finite(value: object, where: str, field: str, expected: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not abs(value) < 1e6:
        raise InputError(where, field, value, expected)
    return float(value)


def _number(value: object, where: str, field: str, expected: str, above: float, most: float) -> float:
    number = _finite(value, where, field, expected)
    if not (above < number <= most and math.isfinite(number)):
        raise InputError(where, field, value, expected)
    return number

"""Facts of a piece's covering page: counting rows and stitches on a photograph, by the program or by hand."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote

import numpy as np
from markupsafe import Markup

from weftglass.desk import CoveringViews, ViewOnPhoto
from weftglass.records import HOW_COUNTED, WeaveStudy
from weftglass.weave import TECHNIQUES, Gauge
from weftglass.web.door import FormFault
from weftglass.web.figures.covering import covering_svg, local_svg
from weftglass.web.pages.addresses import photo_address, piece_address
from weftglass.web.pages.wording import capital, with_sd_text

FIELDS = ("view", "technique", "box", "bar", "mm", "height", "taps", "what", "remark")


@dataclass(frozen=True)
class ViewChoice:
    """One photograph to count on."""

    href: str
    words: str
    current: bool


@dataclass(frozen=True)
class CountedFacts:
    """What was counted: sentences, the map of local gauge, and whether there is something to keep."""

    keepable: bool
    counts: tuple[str, ...]
    notes: tuple[str, ...]
    local: Markup | None
    local_words: str


@dataclass(frozen=True)
class StudyFacts:
    """A count that was kept."""

    counts: str
    words: str
    withdraw_href: str


@dataclass(frozen=True)
class CoveringFacts:
    """The page: the photograph counted on, what was typed, what was counted, and what was kept."""

    piece_name: str
    piece_href: str
    href: str
    photographs_href: str
    views: tuple[ViewChoice, ...]
    figure: Markup | None
    techniques: tuple[tuple[str, str], ...]
    kinds: tuple[tuple[str, str], ...]
    chosen: Mapping[str, str]
    scale_hint: str
    box_hint: str
    height_hint: str
    counted: CountedFacts | None
    studies: tuple[StudyFacts, ...]
    csv_href: str
    fault: FormFault | None


def covering_facts(
    seen: CoveringViews, chosen: Mapping[str, str], gauge: Gauge | None, fault: FormFault | None
) -> CoveringFacts:
    """Put the page together."""
    href = f"{piece_address(seen.piece.id)}/covering"
    typed = fault.typed if fault else chosen
    current = current_view(seen, typed.get("view", ""))
    entries = {name: typed.get(name, "") for name in FIELDS}
    if current is not None:
        entries = _prefilled(entries, current, seen.piece.technique)
    figure = None
    if current is not None:
        words = f"Photograph of {seen.piece.name}, {current.view.role} view" + (
            "" if gauge is None else "; " + "; ".join(count_words(gauge))
        )
        size = (current.photo.width_px, current.photo.height_px)
        figure = covering_svg(photo_address(current.photo.id, "large"), size, gauge, words)
    return CoveringFacts(
        seen.piece.name, piece_address(seen.piece.id), href, f"{piece_address(seen.piece.id)}/photographs",
        tuple(_choice(one, href, current) for one in seen.views), figure,
        (("", "Take it from the picture"), *((one, capital(one)) for one in TECHNIQUES)),
        (("rows", "Rows"), ("stitches", "Stitches")), entries, _scale_hint(current), _box_hint(current),
        _height_hint(seen),
        None if gauge is None else counted_facts(gauge), tuple(_study(one, href) for one in seen.studies),
        f"{href}/studies.csv", fault,
    )  # fmt: skip


def _scale_hint(current: ViewOnPhoto | None) -> str:
    ruler = "Drag along a ruler that lies against the covering, square to the camera."
    if current is None or current.view.measured is None:
        return ruler
    return f"{ruler} Left empty: from the outline measured on this photograph."


def _box_hint(current: ViewOnPhoto | None) -> str:
    measured = current is not None and current.view.measured is not None
    whole = "the middle of the covering, by its outline" if measured else "the whole picture"
    return f"Only covering should be in it, ten rows or more. Left empty: {whole}."


def _height_hint(seen: CoveringViews) -> str:
    if seen.profile is None:
        return "Of use once the outline of a front view is measured: the piece's own profile then gives the scale."
    top = seen.profile.points[-1, 0]
    return (
        f"Above the standing plane, 0 to {top:.0f}. The piece's own profile then tells how round it is there. With no "
        "ruler in the picture, drag the scale from edge to edge of the piece and leave the millimetres empty."
    )


def current_view(seen: CoveringViews, wanted: str) -> ViewOnPhoto | None:
    """The photograph asked for, else the first."""
    return next((one for one in seen.views if one.view.id == wanted), seen.views[0] if seen.views else None)


def counted_facts(gauge: Gauge) -> CountedFacts:
    """A count in words; every number with its uncertainty."""
    notes = [*gauge.warnings]
    if gauge.reason is not None:
        notes.insert(0, f"{'No count' if gauge.rows_per_cm is None else 'No stitches'}: {gauge.reason}.")
    known = [one for one in gauge.windows if one.rows_per_cm is not None]
    local, words = None, ""
    if gauge.rows_per_cm is not None and len(known) > 3:
        spread = float(np.std([one.rows_per_cm for one in known if one.rows_per_cm is not None]))
        words = (
            f"Rows per cm in {len(known)} overlapping windows, as they lie in the photograph: they vary by "
            f"{100 * spread / gauge.rows_per_cm:.0f} % (one standard deviation)."
        )
        local = local_svg(gauge.windows, gauge.rows_per_cm, words)
    return CountedFacts(gauge.rows_per_cm is not None, count_words(gauge), tuple(notes), local, words)


def count_words(gauge: Gauge) -> tuple[str, ...]:
    """Rows, stitches and lean, each a phrase."""
    told = []
    if gauge.rows_per_cm is not None:
        told.append(with_sd_text(gauge.rows_per_cm, gauge.rows_sd, "rows per cm"))
    if gauge.stitches_per_cm is not None:
        told.append(with_sd_text(gauge.stitches_per_cm, gauge.stitches_sd, "stitches per cm"))
    if gauge.lean is not None:
        told.append(f"stitches lean {gauge.lean}")
    return tuple(told)


def study_records(studies: tuple[WeaveStudy, ...]) -> list[dict[str, Any]]:
    """One flat record a study, for a table."""
    return [
        {
            "study": one.id, "view": one.view, "on": one.on, "by": one.by, "how": one.how, "technique": one.technique,
            "rows_per_cm": one.rows_per_cm, "rows_sd": one.rows_sd, "stitches_per_cm": one.stitches_per_cm,
            "stitches_sd": one.stitches_sd, "lean": one.lean, "box_px": " ".join(f"{v:g}" for v in one.box_px),
            "remark": one.remark,
        }
        for one in studies
    ]  # fmt: skip


def _prefilled(entries: dict[str, str], current: ViewOnPhoto, technique: str) -> dict[str, str]:
    """What the view and the piece say already, where nothing was typed."""
    told = entries | {"view": current.view.id}
    bar = current.view.scale_bar
    if not entries["bar"] and not entries["mm"] and bar is not None and not bar.in_axis_plane:
        told |= {"bar": f"{bar.x1:.1f}, {bar.y1:.1f}, {bar.x2:.1f}, {bar.y2:.1f}", "mm": f"{bar.mm:g}"}
    if not entries["technique"]:
        words = technique.lower()
        stems = {"twin": "twined", "coil": "coiled", "wicker": "wicker", "plait": "plaited", "hitch": "hitched"}
        told["technique"] = next((kind for stem, kind in stems.items() if stem in words), "")
    return told


def _choice(one: ViewOnPhoto, href: str, current: ViewOnPhoto | None) -> ViewChoice:
    words = one.view.caption or f"{capital(one.view.role)} view"
    return ViewChoice(f"{href}?view={quote(one.view.id, safe='')}", words, current is not None and one == current)


def _study(one: WeaveStudy, href: str) -> StudyFacts:
    told = []
    if one.rows_per_cm is not None:
        told.append(with_sd_text(one.rows_per_cm, one.rows_sd, "rows per cm"))
    if one.stitches_per_cm is not None:
        told.append(with_sd_text(one.stitches_per_cm, one.stitches_sd, "stitches per cm"))
    words = [HOW_COUNTED[one.how], one.technique, f"lean {one.lean}" if one.lean else "", one.remark]
    about = f"{one.on}, {one.by}: " + ", ".join(part for part in words if part)
    return StudyFacts(", ".join(told), about, f"{href}/{quote(one.id, safe='')}/withdraw")

"""State of the photograph workbench, as the page's script reads it, and the facts of the page around it."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot, sqrt
from typing import Any

from weftglass.desk import ViewOnPhoto, scale_of, scale_record
from weftglass.records import ROLES, Photo, Piece, View, evidence_view
from weftglass.vessels.section import KINDS as SECTION_KINDS
from weftglass.web.door import FormFault
from weftglass.web.pages.addresses import bench_address, photo_address, piece_address
from weftglass.web.pages.piece import ROLE_WORDS

CHANGE_WORDS = {
    "polygon": "correcting the outline",
    "scale": "setting the scale",
    "bare": "marking bare glass",
    "left_out": "leaving parts out",
    "base_unseen": "saying whether the base is seen",
    "top_unseen": "saying whether the top is seen",
    "axis": "setting the axis",
    "compared": "comparing outline and photograph",
}
TRACED_BY = {
    "found": "The edge was traced by itself. Look along it once, above all at lip and base.",
    "hand": "The edge was corrected by hand.",
}


NO_SCALE = {"kind": "height", "mm": 250.0, "sd_mm": 120.0}
"""A height nobody measured: any usual size lies within two standard deviations."""

GUESSED = 0.3
"""A height less certain than this share of it is called a guess."""

NOTICED = 0.1
"""By which share of itself an uncertainty changes before a person is told."""

SECTION_WORDS = {"polygon": "many-sided", "rectangle": "oblong with corners"}


@dataclass(frozen=True)
class BenchFacts:
    """The page around the workbench: where the piece and the view are, and where changes are sent."""

    piece_name: str
    piece_href: str
    role: str
    photo_href: str
    state_href: str
    find_href: str
    live_href: str
    numbers_href: str
    keep_href: str
    opening: str
    outline_words: str
    scale_words: str
    bar_mm: str
    answers: bool
    base_unseen: bool
    top_unseen: bool
    caption: str
    roles: tuple[tuple[str, str], ...]
    sections: tuple[tuple[str, str], ...]
    may_keep_as_form: bool
    doubted: bool
    warnings: tuple[str, ...]
    fault: FormFault | None


def bench_facts(piece: Piece, seen: ViewOnPhoto, fault: FormFault | None = None) -> BenchFacts:
    """Facts of the workbench page for one view."""
    view = seen.view
    href = bench_address(view)
    return BenchFacts(
        piece.name,
        piece_address(piece.id),
        view.role,
        photo_address(view.photo, "large"),
        f"{href}/state.json",
        f"{href}/find.json",
        f"{piece_address(piece.id)}/live.json",
        href,
        f"{href}/keep",
        "Opening the photograph",
        outline_words(view),
        scale_words(view),
        "" if view.scale_bar is None else f"{view.scale_bar.mm:g}",
        evidence_view(view.role) is not None,
        view.base_unseen,
        view.top_unseen,
        view.caption,
        roles_for(view),
        tuple((kind, SECTION_WORDS.get(kind, kind)) for kind in SECTION_KINDS),
        view.measured is not None,
        view.in_doubt,
        tuple(warnings_of(view, seen.photo)),
        fault,
    )


def roles_for(view: View) -> tuple[tuple[str, str], ...]:
    """Roles on offer: those with names, and the turn this view has where it is one."""
    named = tuple((role, ROLE_WORDS.get(role, role)) for role in ROLES)
    return named if view.role in ROLES else (*named, (view.role, view.role))


def bench_state(view: View, photo: Photo, changed: str = "") -> dict[str, Any]:
    """
    What the workbench draws: photograph, outline, scale, axis, ranges, and words about them and what changed.

    Lengths are pixels of the upright photograph (x right, y down) for polygon, bar and axis, mm for ranges.
    """
    measured = view.measured
    axis = None
    if measured is not None:
        axis = {"base": measured.bottom_px, "top": measured.top_px, "height_mm": measured.height_mm}
    return {
        "version": view.version,
        "photo": {
            "href": photo_address(photo.id, "large"),
            "close_href": photo_address(photo.id, "whole"),
            "width": photo.width_px,
            "height": photo.height_px,
        },
        "polygon": view.polygon or None,
        "scale": scale_record(scale_of(view)),
        "axis": axis,
        "bare": view.bare,
        "left_out": view.left_out,
        "base_unseen": view.base_unseen,
        "top_unseen": view.top_unseen,
        "doubted": view.in_doubt,
        "warnings": warnings_of(view, photo),
        "words": {"outline": outline_words(view), "scale": scale_words(view), "changed": changed},
    }


def changed_words(before: View, after: View) -> str:
    """What a change did to the height and the greatest width; nothing where there is no scale before or after."""
    if any(view.measured is None or _is_guessed(view) for view in (before, after)) or before.measured == after.measured:
        return ""
    tall, wide = (
        f"{now:.1f} ± {max(sd, 0.1):.1f} mm {words} ({_change_text(now - then, sd_then, sd)})"
        for (then, sd_then), (now, sd), words in zip(
            _size(before), _size(after), ("tall", "at its widest"), strict=True
        )
    )
    return f"Now {tall}, {wide}."


def _size(view: View) -> tuple[tuple[float, float], tuple[float, float]]:
    """Height and greatest width with their standard deviations, mm."""
    measured = view.measured
    assert measured is not None
    half, sd = max((half, sd) for (_, half), sd in zip(measured.points, measured.sd_mm, strict=True))
    wide = 2.0 * half
    return (measured.height_mm, measured.height_sd_mm), (wide, hypot(sqrt(2.0) * sd, measured.scale_sd * wide))


def _change_text(mm: float, sd_then: float, sd_now: float) -> str:
    """What became of a length and of its standard deviation, mm."""
    change = "as before" if abs(mm) < 0.05 else f"{abs(mm):.1f} mm {'more' if mm > 0 else 'less'}"
    if abs(sd_now - sd_then) < max(0.1, NOTICED * sd_then):
        return change
    return f"{change}, {'less' if sd_now > sd_then else 'more'} certain"


def _is_guessed(view: View) -> bool:
    height = view.known_height
    return height is not None and height.sd_mm > GUESSED * height.mm


def warnings_of(view: View, photo: Photo) -> list[str]:
    """Everything decoding, tracing and measuring had to say, each once."""
    measured = view.measured.warnings if view.measured is not None else ()
    return list(dict.fromkeys((*photo.warnings, *view.trace_warnings, *measured)))


def outline_words(view: View) -> str:
    """Whether the outline stands and who drew it."""
    return TRACED_BY.get(view.polygon_by, "") if view.polygon else "There is no outline yet."


def scale_words(view: View) -> str:
    """What the scale is and how well it is known."""
    measured = view.measured
    if measured is None:
        return "The photograph has no scale yet." if view.polygon else "Find the outline first."
    if _is_guessed(view):
        return "Without a scale: only the proportions count. A measured height would tell much."
    source = "from the ruler" if view.scale_bar is not None else "from the height given"
    return (
        f"One pixel is {measured.mm_per_px:.3f} mm ± {100 * measured.scale_sd:.1f} %, {source}; "
        f"the piece stands {measured.height_mm:.0f} ± {max(measured.height_sd_mm, 0.5):.0f} mm tall."
    )

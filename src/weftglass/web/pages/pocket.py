"""Facts of the pocket sheet: wants, forms to know at a fair with their dimensions and contours, questions to ask."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from importlib.resources import files

from markupsafe import Markup

from weftglass.holdings import Want
from weftglass.vessels import Form
from weftglass.web.figures.contour import contour_svg
from weftglass.web.pages.wording import day_text, percent_text
from weftglass.web.rendering import plain, render

TALLEST_UNITS = 92.0
QUESTIONS = (
    ("Height", "from the table to the very top, in millimetres"),
    ("Widest part of the body", "between two books"),
    ("Lip", "width across, and how it is made; the stopper out only if it comes by itself"),
    ("Base", "what it shows from below: mark, scar, push-up"),
    ("Glass at the gaps", "colour against the light, letters, seams"),
    ("Weight", "as it stands"),
    ("Where it came from", "who owned it, since when, any paper with it"),
)


@dataclass(frozen=True)
class PocketForm:
    """One form of the sheet."""

    title: str
    picture: Markup
    size: str
    lip: str


@dataclass(frozen=True)
class PocketFacts:
    """The sheet: one printed page, or a file that opens without the program and then carries its own style."""

    day: str
    style: Markup
    wants: tuple[tuple[str, str], ...]
    forms: tuple[PocketForm, ...]
    questions: tuple[tuple[str, str], ...]


def pocket_facts(wants: Sequence[Want], forms: Sequence[Form], today: date, *, style: str = "") -> PocketFacts:
    """The sheet from the gaps most worth filling and the forms to know."""
    tallest = max((float(form.profile.z_mm[-1]) for form in forms), default=300.0)
    scale = TALLEST_UNITS / tallest
    return PocketFacts(
        day_text(today),
        Markup(style),
        tuple(
            (" on ".join(part for part in (one.row, one.column) if part), f"{percent_text(one.turns_up)}")
            for one in wants
        ),
        tuple(_form(form, scale) for form in forms),
        QUESTIONS,
    )


def pocket_html(wants: Sequence[Want], forms: Sequence[Form], today: date) -> str:
    """The sheet as a file that opens without the program and carries its own style."""
    style = (files("weftglass.web") / "static" / "pocket.css").read_text(encoding="utf-8")
    return render("pocket.html", plain(pocket_facts(wants, forms, today, style=style)))


def _form(form: Form, scale: float) -> PocketForm:
    z, half = form.profile.z_mm, form.profile.half_width_mm
    size = f"{z[-1]:.0f} × {2 * float(half.max()):.0f} mm, lip {2 * float(half[-1]):.0f} mm"
    return PocketForm(form.title, contour_svg(form, scale), size, ", ".join(form.finish))

"""Facts of the form library's pages: the drawings on offer, the filters, and one form with all that is known of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from urllib.parse import urlencode

from markupsafe import Markup

from weftglass.desk import OwnFormEntry
from weftglass.errors import InputError
from weftglass.vessels import Form, FormLibrary
from weftglass.web.door import FormFault
from weftglass.web.figures.thumbnail import form_thumbnail_svg
from weftglass.web.pages.addresses import form_address
from weftglass.web.pages.wording import day_text, range_text

FILTERS = ("section", "contents", "finish", "colour")
FILTER_WORDS = {"section": "Section", "contents": "Contents", "finish": "Lip", "colour": "Colour"}
PAGE_LENGTH = 60


@dataclass(frozen=True)
class FormCard:
    """One drawing in the grid: title, a few facts, the address, and the silhouette as escaped SVG."""

    title: str
    facts: tuple[str, ...]
    href: str
    picture: Markup


@dataclass(frozen=True)
class FilterFacts:
    """One filter: its name, label, the values with how many forms each has, and the chosen one."""

    name: str
    label: str
    choices: tuple[tuple[str, str], ...]
    chosen: str


@dataclass(frozen=True)
class OwnFormFacts:
    """A form of the owner's own: where it came from, and where to take it out of the library or bring it back."""

    title: str
    href: str
    origin: str
    version: int
    withdrawn: bool
    act_href: str


@dataclass(frozen=True)
class FormsFacts:
    """The grid of drawings with search and filters, the owner's own forms, and the form for adding a file."""

    cards: tuple[FormCard, ...]
    found: str
    query: str
    years_from: str
    years_to: str
    filters: tuple[FilterFacts, ...]
    narrowed: bool
    next_href: str
    before_href: str
    sheet_href: str
    version: str
    own: tuple[OwnFormFacts, ...]
    fault: FormFault | None


@dataclass(frozen=True)
class FormFacts:
    """One form: its drawing and everything known, each as a label and a text."""

    title: str
    form: str
    facts: tuple[tuple[str, str], ...]
    trust: str
    source: str
    drawing_href: str
    sizes: tuple[FormCard, ...]
    own: OwnFormFacts | None


def forms_facts(
    library: FormLibrary,
    asked: Mapping[str, str],
    own: Sequence[OwnFormEntry] = (),
    fault: FormFault | None = None,
) -> FormsFacts:
    """
    The grid for what was asked: text, section, contents, lip, colour, a span of years, and which page.

    Parameters
    ----------
    own : sequence of OwnFormEntry
        The owner's own forms, those taken out of the library too.
    """
    found = [form for form in library if matches(form, asked)]
    start = _start(asked, len(found))
    shown = found[start : start + PAGE_LENGTH]
    keep = {key: value for key, value in asked.items() if value and key != "from"}
    end = start + len(shown)
    span = f"{start + 1} to {end} of {len(found)}" if len(found) > PAGE_LENGTH else f"{len(found)}"
    return FormsFacts(
        tuple(form_card(form) for form in shown),
        f"{span} form{'s' if len(found) != 1 else ''}; the library holds {len(library)}",
        asked.get("q", ""),
        asked.get("years_from", ""),
        asked.get("years_to", ""),
        tuple(_filter_facts(name, library, asked.get(name, "")) for name in FILTERS),
        bool(keep),
        f"/forms?{urlencode(keep | {'from': str(end)})}" if end < len(found) else "",
        f"/forms?{urlencode(keep | {'from': str(max(0, start - PAGE_LENGTH))})}" if start else "",
        f"/forms/sheet.svg?{urlencode(keep)}" if keep else "/forms/sheet.svg",
        library.version,
        tuple(own_form_facts(entry) for entry in own),
        fault,
    )


def matches(form: Form, asked: Mapping[str, str]) -> bool:
    """Whether a form answers every part of the search."""
    words = asked.get("q", "").casefold().split()
    text = " ".join(_all_words(form)).casefold()
    if not all(word in text for word in words):
        return False
    if any(asked.get(name) and asked[name] not in _values(form, name) for name in FILTERS):
        return False
    low, high = year_of(asked.get("years_from", ""), "years_from"), year_of(asked.get("years_to", ""), "years_to")
    if low is None and high is None:
        return True
    if form.years is None:
        return False
    return (high is None or form.years[0] <= high) and (low is None or form.years[1] >= low)


def year_of(text: str, name: str) -> int | None:
    """A typed year, or None where nothing was typed."""
    if not text.strip():
        return None
    try:
        return int(text)
    except ValueError:
        raise InputError("form library", name, text, "a year CE, such as 1880") from None


def form_card(form: Form) -> FormCard:
    """The card of one form."""
    parts = [section_words(form)]
    if form.capacity_ml is not None:
        parts.append(f"{form.capacity_ml:g}\u00a0ml")
    if form.years is not None:
        parts.append(range_text(*form.years))
    return FormCard(form.title, tuple(parts), form_address(form.id), form_thumbnail_svg(form))


def section_words(form: Form) -> str:
    """Shape of the body from above, in words."""
    if form.section.kind == "polygon":
        return f"{form.section.sides}-sided"
    return form.section.kind


def own_form_facts(entry: OwnFormEntry) -> OwnFormFacts:
    """One of the owner's own forms."""
    record, href = entry.record, form_address(entry.record.id)
    deed = "brought in" if record.origin.startswith("view") else "read in"
    origin = f"{deed} from {record.origin or 'elsewhere'} by {record.by}, {day_text(record.created_at.astimezone())}"
    act = f"{href}/{'restore' if record.withdrawn else 'withdraw'}"
    return OwnFormFacts(entry.form.title, href, origin, record.version, record.withdrawn, act)


def form_facts(form: Form, library: FormLibrary, own: OwnFormEntry | None = None) -> FormFacts:
    """Everything known of one form; `own` where it is one of the owner's own."""
    profile, tolerance = form.profile, form.tolerance
    wide = 2 * float(profile.half_width_mm.max())
    mouth = 2 * float(profile.half_width_mm[-1])
    pairs = [
        ("Size", form.size),
        ("Family", form.family),
        ("Section", section_words(form)),
        ("Height", f"{_with_share(profile.height_mm, tolerance.height_sd)} mm"),
        ("Greatest width", f"{_with_share(wide, tolerance.width_sd)} mm"),
        ("Greatest depth", _depth(form)),
        ("Across the lip", f"about {mouth:.0f} mm"),
        ("Bore", None if form.bore_mm is None else f"{form.bore_mm:g} mm"),
        ("Push-up", None if form.push_up_mm is None else f"{form.push_up_mm:g} mm"),
        ("Weight, empty", None if form.weight_g is None else range_text(*form.weight_g, "g")),
        ("Capacity", None if form.capacity_ml is None else f"{form.capacity_ml:g} ml nominal"),
        ("Years of making", None if form.years is None else range_text(*form.years)),
        ("Lip", "; ".join(form.finish)),
        ("Closure", "; ".join(form.closure)),
        ("Colours", "; ".join(form.colours)),
        ("Base", "; ".join(form.base)),
        ("Letters", "; ".join(letters.text for letters in form.letters)),
        ("Contents", form.contents),
        ("Region", form.region),
        ("Commonness", f"{form.commonness:g} (an ordinary form is 1)"),
    ]
    siblings = [other for other in library if other.family_name == form.family_name and other.id != form.id]
    return FormFacts(
        form.title,
        form.id,
        tuple((label, text if text else "not known") for label, text in pairs),
        f"The drawn contour may lie {tolerance.shape_sd_mm:g} mm from the glass, and single vessels differ by "
        f"{100 * tolerance.height_sd:.1f} % in height and {100 * tolerance.width_sd:.1f} % in width "
        "(standard deviations). Answers believe the drawing no further than that.",
        form.source or "no source given",
        f"{form_address(form.id)}/drawing.svg",
        tuple(form_card(other) for other in siblings[:24]),
        None if own is None else own_form_facts(own),
    )


def _with_share(value: float, share: float) -> str:
    return f"{value:.0f} ± {max(value * share, 0.5):.0f}"


def _depth(form: Form) -> str | None:
    if form.side_profile is None:
        return None
    return f"{_with_share(2 * float(form.side_profile.half_width_mm.max()), form.tolerance.width_sd)} mm"


def _start(asked: Mapping[str, str], count: int) -> int:
    text = asked.get("from", "0")
    start = int(text) if text.isdecimal() and len(text) < 9 else 0
    return start if start < count else 0


def _filter_facts(name: str, library: FormLibrary, chosen: str) -> FilterFacts:
    counts = Counter(value for form in library for value in set(_values(form, name)))
    choices = [("", "any")] + [(value, f"{value} ({counts[value]})") for value in sorted(counts)]
    if chosen and chosen not in counts:
        choices.append((chosen, f"{chosen} (0)"))
    return FilterFacts(name, FILTER_WORDS[name], tuple(choices), chosen)


def _values(form: Form, name: str) -> Iterable[str]:
    if name == "section":
        return (form.section.kind,)
    if name == "contents":
        return () if form.contents is None else (form.contents,)
    return form.finish if name == "finish" else form.colours


def _all_words(form: Form) -> Iterable[str]:
    texts = (form.id, form.title, form.family, form.contents, form.region, form.source, form.section.kind)
    yield from (text for text in texts if text)
    yield from (*form.finish, *form.closure, *form.colours, *form.base, *(letters.text for letters in form.letters))

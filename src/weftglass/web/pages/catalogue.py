"""Facts of the catalogue page: its pages with what they show, and what stays out of the file."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from weftglass.desk.catalogue import NEW_PAGE
from weftglass.records import CataloguePage
from weftglass.web.door import FormFault


@dataclass(frozen=True)
class ExhibitFacts:
    """One thing on a page, and the form that takes it off."""

    words: str
    href: str


@dataclass(frozen=True)
class PageFacts:
    """One page of the catalogue, its wording, and the forms that move it and take it away."""

    id: str
    form: str
    title: str
    remark: str
    version: int
    href: str
    first: bool
    last: bool
    exhibits: tuple[ExhibitFacts, ...]


@dataclass(frozen=True)
class CatalogueFacts:
    """The page: everything in order, what was taken away, what the file leaves out, and a form that was at fault."""

    pages: tuple[PageFacts, ...]
    gone: tuple[tuple[str, str, int], ...]
    left_out: tuple[str, ...]
    choices: tuple[tuple[str, str], ...]
    again: tuple[tuple[str, str], ...]
    fault: FormFault | None


def catalogue_facts(
    pages: Sequence[CataloguePage],
    words: Sequence[Sequence[str]],
    gone: Sequence[CataloguePage],
    left_out: Sequence[str],
    fault: FormFault | None,
) -> CatalogueFacts:
    """
    The page from what the desk says.

    Parameters
    ----------
    words : sequence of sequence of str
        What each exhibit of each page shows.
    gone : sequence of CataloguePage
        Pages that were taken away.
    """
    typed = {} if fault is None or fault.form != "exhibit" else fault.typed
    return CatalogueFacts(
        tuple(
            _page(one, told, number == 1, number == len(pages))
            for number, (one, told) in enumerate(zip(pages, words, strict=True), start=1)
        ),
        tuple((one.title, f"/catalogue/{one.id}/restore", one.version) for one in gone),
        tuple(left_out),
        (NEW_PAGE, *((one.id, one.title) for one in pages)),
        tuple((name, value) for name, value in typed.items() if name not in ("page", "title")),
        fault,
    )


def _page(one: CataloguePage, words: Sequence[str], first: bool, last: bool) -> PageFacts:
    href = f"/catalogue/{one.id}"
    exhibits = tuple(ExhibitFacts(text, f"{href}/exhibits/{number}/drop") for number, text in enumerate(words, start=1))
    return PageFacts(one.id, f"page-{one.id}", one.title, one.remark, one.version, href, first, last, exhibits)

"""Pages of the catalogue: putting something on one, wording, ordering and taking away."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from weftglass.cabinet import Draft
from weftglass.desk.collection import Collection
from weftglass.desk.communities import kept_back
from weftglass.desk.selection import Selection
from weftglass.desk.wording import capital, signature, slug
from weftglass.errors import InputError
from weftglass.records import EXHIBITS, LONG, CataloguePage, Exhibit, Piece, words

NEW_PAGE = ("", "a new page")


def catalogue_pages(collection: Collection, *, withdrawn: bool = False) -> tuple[CataloguePage, ...]:
    """Pages that stand in their order, or those that were taken away."""
    with collection.cabinet.reading() as reader:
        every = reader.all_of(CataloguePage, withdrawn=withdrawn)
    return tuple(sorted((one for one in every if one.withdrawn is withdrawn), key=_order))


def page_choices(collection: Collection) -> tuple[tuple[str, str], ...]:
    """Where something can be put: a new page, or one that is there, by its title."""
    return (NEW_PAGE, *((one.id, one.title) for one in catalogue_pages(collection)))


def put_into_catalogue(
    collection: Collection, kind: str, asked: Mapping[str, str], *, who: str, page: str = "", title: str = ""
) -> CataloguePage:
    """
    Put something on a page of the catalogue.

    Parameters
    ----------
    kind : str
        One of `weftglass.records.EXHIBITS`.
    asked : mapping
        What it is asked for: ``piece``, or terms and the selection.
    page : str
        Id of the page; empty for a new one at the end.
    title : str
        Of a new page; left out: what is put on it.

    Raises
    ------
    InputError
        Something that is none, or a piece that is kept out of anything published; nothing is stored then.
    """
    exhibit = Exhibit(kind, tuple((name, value) for name, value in asked.items() if value))
    _look(collection, exhibit)
    with collection.cabinet.writing(signature(who)) as draft:
        if page:
            held = draft.get(CataloguePage, page)
            if exhibit in held.exhibits:
                raise InputError("catalogue", "page", held.title, "another page: this one shows it already")
            return _kept(draft, replace(held, exhibits=(*held.exhibits, exhibit)))
        name = words(title or _usual_title(draft, exhibit), "catalogue", "title", needed=True)
        place = 1 + max((one.place for one in draft.all_of(CataloguePage)), default=0)
        new = CataloguePage(id=draft.next_id(CataloguePage, slug(name)), title=name, place=place, exhibits=(exhibit,))
        return _kept(draft, new)


def word_page(
    collection: Collection, page: str, *, who: str, title: str, remark: str, version: int | None = None
) -> CataloguePage:
    """Change title and remark of a page."""
    with collection.cabinet.writing(signature(who)) as draft:
        held = draft.get(CataloguePage, page)
        changed = replace(
            held,
            version=held.version if version is None else version,
            title=words(title, "catalogue", "title", needed=True),
            remark=words(remark, "catalogue", "remark", longest=LONG),
        )
        return _kept(draft, changed)


def move_page(collection: Collection, page: str, steps: int, *, who: str) -> None:
    """Move a page so many places down (up where below 0), as far as it goes."""
    with collection.cabinet.writing(signature(who)) as draft:
        draft.get(CataloguePage, page)
        order = sorted(draft.all_of(CataloguePage), key=_order)
        at = next((i for i, one in enumerate(order) if one.id == page), None)
        if at is None:
            raise InputError("catalogue", "page", page, "a page that was not taken away")
        order.insert(min(max(at + steps, 0), len(order) - 1), order.pop(at))
        for place, one in enumerate(order, start=1):
            if one.place != place:
                _kept(draft, replace(one, place=place), "moved")


def drop_exhibit(
    collection: Collection, page: str, number: int, *, who: str, version: int | None = None
) -> CataloguePage:
    """Take the so-many-th thing (from 1) off a page."""
    with collection.cabinet.writing(signature(who)) as draft:
        held = draft.get(CataloguePage, page)
        if not 1 <= number <= len(held.exhibits):
            raise InputError("catalogue", "number", number, f"from 1 to {len(held.exhibits)}")
        kept = tuple(one for i, one in enumerate(held.exhibits, start=1) if i != number)
        read = held.version if version is None else version
        return _kept(draft, replace(held, version=read, exhibits=kept))


def withdraw_page(collection: Collection, page: str, *, who: str, version: int | None = None) -> CataloguePage:
    """Take a page away; it is kept and can be brought back."""
    return _set_withdrawn(collection, page, True, who, version)


def restore_page(collection: Collection, page: str, *, who: str, version: int | None = None) -> CataloguePage:
    """Bring a page back to its place."""
    return _set_withdrawn(collection, page, False, who, version)


def _set_withdrawn(collection: Collection, page: str, withdrawn: bool, who: str, version: int | None) -> CataloguePage:
    with collection.cabinet.writing(signature(who)) as draft:
        held = draft.get(CataloguePage, page)
        changed = replace(held, withdrawn=withdrawn, version=held.version if version is None else version)
        return draft.put(changed, "withdrawn" if withdrawn else "brought back")


def _look(collection: Collection, exhibit: Exhibit) -> None:
    """Refuse what could not be shown."""
    if exhibit.kind not in EXHIBITS:
        raise InputError("catalogue", "kind", exhibit.kind, "one of: " + ", ".join(EXHIBITS))
    if exhibit.kind != "piece":
        Selection.of(exhibit.told)
        return
    with collection.cabinet.reading() as reader:
        piece = reader.get(Piece, exhibit.told.get("piece", ""))
    reason = kept_back(collection).get(piece.id)
    if reason:
        raise refusal(piece, reason)


def _usual_title(draft: Draft, exhibit: Exhibit) -> str:
    if exhibit.kind == "piece":
        return draft.get(Piece, exhibit.told.get("piece", "")).name
    return capital(EXHIBITS[exhibit.kind])


def refusal(piece: Piece, reason: str) -> InputError:
    """Why a piece is not published."""
    return InputError("catalogue", "piece", piece.name, f"a piece that may be published; its design is {reason}")


def _kept(draft: Draft, page: CataloguePage, deed: str = "") -> CataloguePage:
    page.check_fields("catalogue")
    return draft.put(page, deed)


def _order(page: CataloguePage) -> tuple[int, str]:
    return page.place, page.id

"""The catalogue made from its pages: what each shows is counted anew, and what must not be published stays out."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from weftglass.cabinet.photo_files import write_whole
from weftglass.desk.catalogue import catalogue_pages, refusal
from weftglass.desk.collection import Collection
from weftglass.desk.communities import kept_back
from weftglass.desk.drawn import rarity_svg, table_svg
from weftglass.desk.holdings import TERMS, how_complete, piece_names, show
from weftglass.desk.holdings_words import (
    complete_sentences,
    how_many,
    left_out_sentence,
    pairs_sentence,
    strength_and_chance,
    table_title,
)
from weftglass.desk.photographs import picture_path
from weftglass.desk.pieces import get_piece, get_piece_dossier
from weftglass.desk.rarity import how_rare, rarities
from weftglass.desk.selection import Selection, selected
from weftglass.desk.whereabouts import lifespans, map_of
from weftglass.desk.wording import KIND_WORDS, capital, with_sd_text
from weftglass.errors import InputError
from weftglass.holdings import Spot
from weftglass.publish import (
    Catalogue,
    Picture,
    Shown,
    Table,
    TitledPage,
    catalogue_html,
    for_pages,
    growth_svg,
    map_svg,
    timeline_svg,
)
from weftglass.records import STANDINGS, Exhibit

MOST_PICTURES = 4
PUBLISHED_SIZE = "large"
FIND_DEGREES, FIND_KM = 1, 8.0
"""Find places are drawn to a tenth of a degree only: an exact one draws diggers (common practice, no source)."""
WITH = "with-"
PUBLIC_FIELDS = {
    "community": "community", "maker": "maker", "place": "place of making", "made": "made", "technique": "technique",
    "material": "material", "design": "design", "glass": "glass",
}  # fmt: skip
"""What of a piece's entry is published; price, source, where it is kept, condition and notes never are."""
TELLING = frozenset({"source", "kept"})


@dataclass(frozen=True)
class MadeCatalogue:
    """
    The catalogue as it stands today.

    Parameters
    ----------
    catalogue : Catalogue
    left_out : tuple of str
        What its pages ask for and it does not show, and why: for its maker, not for its readers.
    """

    catalogue: Catalogue
    left_out: tuple[str, ...]


def make_catalogue(collection: Collection, today: date) -> MadeCatalogue:
    """
    Make every page of the catalogue.

    Raises
    ------
    InputError
        If there is no page yet.
    """
    pages = catalogue_pages(collection)
    if not pages:
        raise InputError("catalogue", "pages", None, "at least one page: put a piece or a chart into the catalogue")
    kept_out = kept_back(collection)
    made = []
    for page in pages:
        allowed = [one for one in page.exhibits if not _refused(collection, one, kept_out)]
        shown = tuple(_SHOWN[one.kind](collection, one, kept_out) for one in allowed)
        if shown or not page.exhibits:  # a page whose exhibits all stay out would still tell of them in its title
            made.append(TitledPage(page.title, page.remark, shown))
    day = f"{today.day} {today:%B %Y}"
    notes = [f"Made on {day} from the collection’s own records. A collection is not a random sample of what was made."]
    if kept_out:
        notes.append(
            "Pieces whose designs are restricted knowledge of their makers are neither shown nor counted here."
        )
    return MadeCatalogue(Catalogue(collection.name, day, tuple(made), tuple(notes)), left_out(collection))


def left_out(collection: Collection) -> tuple[str, ...]:
    """What the pages ask for and the catalogue does not show, and what it tells strangers; for its maker."""
    kept_out = kept_back(collection)
    said = []
    for page in catalogue_pages(collection):
        for exhibit in page.exhibits:
            reason = _refused(collection, exhibit, kept_out)
            if reason:
                said.append(f"{page.title}: {reason} See that the page’s title and remark do not tell of it.")
            said += [f"{page.title}: {note}" for note in _notes(exhibit)]
    return tuple(said)


def _refused(collection: Collection, exhibit: Exhibit, kept_out: Mapping[str, str]) -> str:
    """Why an exhibit stays out; empty where it may be shown."""
    if exhibit.kind != "piece":
        return ""
    piece = get_piece(collection, exhibit.told.get("piece", ""))
    if piece.id in kept_out:
        return str(refusal(piece, kept_out[piece.id]))
    return f"{piece.name} was taken off the shelf." if piece.withdrawn else ""


def publish_catalogue(collection: Collection, place: Path, today: date) -> MadeCatalogue:
    """Write the catalogue as one file, whole or not at all."""
    made = make_catalogue(collection, today)
    write_whole(place, catalogue_html(made.catalogue))
    return made


def _notes(exhibit: Exhibit) -> list[str]:
    asked = exhibit.told
    terms = {asked.get("rows", ""), asked.get("columns", "")}
    terms |= {name.partition("-")[2] for name in asked if "-" in name}
    return [f"it says {TERMS[term]}, which strangers will read" for term in sorted(terms & TELLING)]


def _piece(collection: Collection, exhibit: Exhibit, kept_out: Mapping[str, str]) -> Shown:
    dossier = get_piece_dossier(collection, exhibit.told.get("piece", ""))
    piece = dossier.piece
    facts = [(capital(words), str(getattr(piece, name))) for name, words in PUBLIC_FIELDS.items()]
    if dossier.accepted is not None:
        facts.append(("Vessel inside", dossier.accepted.conclusion))
    facts += [
        (capital(KIND_WORDS[one.what]), with_sd_text(one.value, one.sd, one.unit))
        for one in dossier.measurements
        if one.z_mm is None
    ]
    facts += _years(collection, piece.id)
    pictures = []
    if piece.status == "owned":
        for one in dossier.views[:MOST_PICTURES]:
            words = one.view.caption or f"{piece.name}, {one.view.role}"
            pictures.append(Picture(picture_path(collection, one.photo.id, PUBLISHED_SIZE).read_bytes(), words))
    else:
        facts.append(("On offer", "its photographs belong to the seller and are left out"))
    return Shown(piece.name, pictures=tuple(pictures), facts=tuple(fact for fact in facts if fact[1]))


def _years(collection: Collection, piece: str) -> list[tuple[str, str]]:
    span = next((one for one in lifespans(collection, Selection("all")) if one.piece == piece), None)
    if span is None:
        return []
    how = "" if span.signed else ", from form and entry"
    every = (("Years of the glass", span.glass), ("Years of the covering", span.covering))
    return [(label, f"{_years_text(years)}{how}") for label, years in every if years]


def _years_text(years: tuple[int, int]) -> str:
    return str(years[0]) if years[0] == years[1] else f"{years[0]}–{years[1]}"


def _table(collection: Collection, exhibit: Exhibit, kept_out: Mapping[str, str]) -> Shown:
    asked, selection = exhibit.told, Selection.of(exhibit.told)
    held = selected(collection, selection, kept_out=kept_out)
    shown = show(held, asked.get("rows", "community"), asked.get("columns", "family"))
    table = shown.table
    rows = [(row, column, str(count)) for row, column, count in table.cells() if count]
    lacking = left_out_sentence(table.left_out, table.row_term, table.column_term)
    sentences = [f"{how_many(table.total, 'piece')} counted. {lacking}".strip()]
    sentences += [pairs_sentence(shown)] if shown.together is not None else []
    for one, warning in shown.preferences:  # the warning itself may name whom a piece came from
        habits = "What was bought, and from whom, may explain it." if warning else ""
        sentences.append(" ".join([one.sentence, *strength_and_chance(one), habits]).strip())
    head = (capital(TERMS[table.row_term]), capital(TERMS[table.column_term]), "Pieces")
    return Shown(
        table_title(shown),
        _counted(selection),
        for_pages(lambda size: table_svg(shown, size=size)) if rows else None,
        sentences=tuple(sentences),
        table=Table(head, tuple(rows), frozenset({2})) if rows else None,
    )


def _counted(selection: Selection) -> str:
    return f"Pieces counted: {selection.words}."


def _complete(collection: Collection, exhibit: Exhibit, kept_out: Mapping[str, str]) -> Shown:
    asked, selection = exhibit.told, Selection.of(exhibit.told)
    row, column = asked.get("rows", "community"), asked.get("columns", "family")
    found = how_complete(selected(collection, selection, kept_out=kept_out), row, column)
    if found is None:
        return Shown("How complete it is", _counted(selection), sentences=("No piece has both terms yet.",))
    words, curve = f"{TERMS[row]} and {TERMS[column]}", found[1]
    chart = for_pages(lambda size: growth_svg(curve, f"Kinds: {words}", size=size))
    return Shown("How complete it is", _counted(selection), chart, sentences=complete_sentences(found[0], words))


def _map(collection: Collection, exhibit: Exhibit, kept_out: Mapping[str, str]) -> Shown:
    selection = Selection.of(exhibit.told)
    spots = [_roughly(spot) for spot in map_of(collection, selection, kept_out=kept_out)]
    if not spots:
        return Shown("Where", sentences=("Nothing has a point on the map yet.",))
    rows = tuple((one.name, STANDINGS.get(one.standing, one.standing), str(len(one.pieces))) for one in spots)
    about = f"{_counted(selection)} Places where pieces were found are drawn to a tenth of a degree only."
    chart = for_pages(lambda size: map_svg(spots, size=size))
    return Shown("Where", about, chart, table=Table(("Place", "What it says", "Pieces"), rows, frozenset({2})))


def _roughly(spot: Spot) -> Spot:
    if spot.standing != "found":
        return spot
    point = round(spot.point[0], FIND_DEGREES), round(spot.point[1], FIND_DEGREES)
    return replace(spot, point=point, within_km=max(spot.within_km, FIND_KM))


def _when(collection: Collection, exhibit: Exhibit, kept_out: Mapping[str, str]) -> Shown:
    selection = Selection.of(exhibit.told)
    spans = lifespans(collection, selection, kept_out=kept_out)
    if not spans:
        return Shown("When", _counted(selection), sentences=("No piece has years yet.",))
    rows = tuple(
        (one.name, *(_years_text(years) if years else "" for years in (one.glass, one.covering))) for one in spans
    )
    about = f"{_counted(selection)} Green: years of the glass; brown: of the covering; full colour: a signed dating."
    chart = for_pages(lambda size: timeline_svg(spans, size=size))
    return Shown("When", about, chart, table=Table(("Piece", "Glass", "Covering"), rows))


def _rarity(collection: Collection, exhibit: Exhibit, kept_out: Mapping[str, str]) -> Shown:
    asked, selection = exhibit.told, Selection.of(exhibit.told)
    wanted = {name.removeprefix(WITH): value for name, value in asked.items() if name.startswith(WITH)}
    found = [how_rare(collection, wanted, selection, kept_out=kept_out)] if wanted else []
    found = found or list(rarities(collection, selection, kept_out=kept_out))
    rows = tuple((capital(one.words), among, rare.sentence) for one in found for among, rare in one.groups.items())
    sources = sorted({source for one in found for source in one.sources})
    return Shown(
        "How unusual",
        _counted(selection),
        for_pages(lambda size: rarity_svg(found, size=size)) or None,
        sentences=(f"Published holdings: {'; '.join(sources)}.",) if sources else (),
        table=Table(("What", "Among", "How often"), rows),
    )


_SHOWN: dict[str, Callable[[Collection, Exhibit, Mapping[str, str]], Shown]] = {
    "piece": _piece,
    "table": _table,
    "complete": _complete,
    "map": _map,
    "years": _when,
    "rarity": _rarity,
}


def exhibit_words(collection: Collection, exhibit: Exhibit) -> str:
    """What an exhibit shows, in words, for the list of pages."""
    asked = exhibit.told
    if exhibit.kind == "piece":
        return piece_names(collection).get(asked.get("piece", ""), asked.get("piece", ""))
    terms = [TERMS[asked[name]] for name in ("rows", "columns") if asked.get(name) in TERMS]
    wanted = [f"{TERMS[name.removeprefix(WITH)]} {value}" for name, value in asked.items() if name.startswith(WITH)]
    heading = {
        "table": "table",
        "complete": "how complete",
        "map": "map",
        "years": "time line",
        "rarity": "how unusual",
    }
    about = " against ".join(terms) or ", ".join(wanted)
    return "; ".join(part for part in (heading[exhibit.kind], about, Selection.of(asked).words) if part)

"""Facts of the holdings page: what the collection shows by two terms, what goes together, and how complete it is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from urllib.parse import urlencode

from markupsafe import Markup

from weftglass.desk import TERMS, Shown
from weftglass.desk.holdings_words import (
    complete_sentences,
    how_many,
    left_out_sentence,
    pairs_sentence,
    strength_and_chance,
    table_title,
    together_sentences,
)
from weftglass.holdings import Completeness, GrowthCurve, Holding, Preference
from weftglass.web.pages.addresses import piece_address
from weftglass.web.pages.forms import FilterFacts
from weftglass.web.pages.selection import SelectionFacts, selection_asked, selection_facts

DEFAULT_ROWS, DEFAULT_COLUMNS = "community", "family"
SHADES = 5


@dataclass(frozen=True)
class CellFacts:
    """One cell: its count, the page of the pieces behind it, how dark it is, and whether chance explains it."""

    count: int
    href: str
    shade: int
    mark: str
    spoken: str


@dataclass(frozen=True)
class RowFacts:
    """One row of the table with its total."""

    name: str
    cells: tuple[CellFacts, ...]
    total: int


@dataclass(frozen=True)
class PreferenceFacts:
    """One preference: its sentence, how strong and how sure in words, and what else could explain it."""

    sentence: str
    strength: str
    chance: str
    warning: str
    href: str


@dataclass(frozen=True)
class BehindFacts:
    """The pieces behind a cell."""

    title: str
    pieces: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class CompleteFacts:
    """How complete the collection is, in sentences."""

    sentences: tuple[str, ...]
    picture: Markup


@dataclass(frozen=True)
class HoldingsFacts:
    """The page: the table as asked for, the pieces behind one cell where one is asked for, and what it all shows."""

    filters: tuple[FilterFacts, ...]
    which: SelectionFacts
    title: str
    columns: tuple[str, ...]
    rows: tuple[RowFacts, ...]
    totals: tuple[int, ...]
    counted: str
    left_out: str
    behind: BehindFacts | None
    together: tuple[str, ...]
    preferences: tuple[PreferenceFacts, ...]
    tested: str
    complete: CompleteFacts | None
    csv_href: str
    svg_href: str
    growth_href: str
    growth_csv_href: str
    preferences_href: str
    exhibit: tuple[tuple[str, str], ...]
    pages: tuple[tuple[str, str], ...]


def holdings_facts(
    shown: Shown,
    names: Mapping[str, str],
    asked: Mapping[str, str],
    complete: CompleteFacts | None,
    every: Sequence[Holding],
    pages: tuple[tuple[str, str], ...],
) -> HoldingsFacts:
    """
    The page for what was asked.

    Parameters
    ----------
    shown : Shown
    names : mapping
        Piece to its name.
    asked : mapping
        ``rows``, ``columns``, ``row``, ``column`` and the selection of the address.
    complete : CompleteFacts or None
    every : sequence of Holding
        The pieces the filters choose among.
    pages : tuple of (id, title)
        Pages of the catalogue, a new one first.
    """
    table = shown.table
    row_term, column_term = terms_asked(asked)
    selection = selection_asked(asked)
    terms = {"rows": row_term, "columns": column_term}
    keep = {**terms, **dict(selection.asked)}
    cells = f"/holdings?{urlencode(keep)}"
    choices = tuple(TERMS.items())
    most = int(table.counts.max(initial=0))
    rows = tuple(
        RowFacts(
            row,
            tuple(
                _cell(row, column, int(table.counts[i, j]), most, shown.marks.get((row, column), ""), cells)
                for j, column in enumerate(table.columns)
            ),
            int(table.counts[i].sum()),
        )
        for i, row in enumerate(table.rows)
    )
    return HoldingsFacts(
        filters=(
            FilterFacts("rows", "Rows", choices, row_term),
            FilterFacts("columns", "Columns", choices, column_term),
        ),
        which=selection_facts(selection, every, "/holdings", terms),
        title=table_title(shown),
        columns=table.columns,
        rows=rows,
        totals=tuple(int(total) for total in table.counts.sum(axis=0)),
        counted=how_many(table.total, "piece"),
        left_out=left_out_sentence(table.left_out, row_term, column_term),
        behind=_behind(shown, names, asked),
        together=together_sentences(shown),
        preferences=tuple(preference_facts(one, warning, cells) for one, warning in shown.preferences),
        tested=pairs_sentence(shown),
        complete=complete,
        csv_href=f"/holdings.csv?{urlencode(keep)}",
        svg_href=f"/holdings.svg?{urlencode(keep)}",
        growth_href=f"/holdings-growth.svg?{urlencode(keep)}",
        growth_csv_href=f"/holdings-growth.csv?{urlencode(keep)}",
        preferences_href=f"/preferences.csv?{urlencode(keep)}",
        exhibit=tuple(keep.items()),
        pages=pages,
    )


def terms_asked(asked: Mapping[str, str]) -> tuple[str, str]:
    """Row term and column term; an unknown word reads as the usual one, and two alike never stand."""
    row = asked.get("rows", "") if asked.get("rows", "") in TERMS else DEFAULT_ROWS
    column = asked.get("columns", "") if asked.get("columns", "") in TERMS else DEFAULT_COLUMNS
    if row == column:
        column = DEFAULT_COLUMNS if row != DEFAULT_COLUMNS else DEFAULT_ROWS
    return row, column


def table_records(shown: Shown) -> list[dict[str, object]]:
    """The table as a list: one record a cell, with what chance would put there."""
    expected = None if shown.together is None else shown.together.expected
    table = shown.table
    return [
        {
            table.row_term: row,
            table.column_term: column,
            "pieces": int(table.counts[i, j]),
            "by_chance": None if expected is None else round(float(expected[i, j]), 3),
            "adjusted_residual": None if shown.together is None else round(float(shown.together.residuals[i, j]), 3),
            "behind": " ".join(table.pieces.get((row, column), ())),
        }
        for i, row in enumerate(table.rows)
        for j, column in enumerate(table.columns)
    ]


def preference_records(shown: Shown) -> list[dict[str, object]]:
    """What goes together as a list for other programs."""
    return [
        {
            shown.table.row_term: one.row,
            shown.table.column_term: one.column,
            "pieces": one.count,
            "by_chance": round(one.expected, 3),
            "odds_low": round(one.odds_ratio.low, 3),
            "odds_high": None if one.odds_ratio.high == float("inf") else round(one.odds_ratio.high, 3),
            "p": one.p,
            "q": one.q,
            "sentence": one.sentence,
            "warning": warning,
        }
        for one, warning in shown.preferences
    ]


def growth_records(curve: GrowthCurve) -> list[dict[str, object]]:
    """Kinds against pieces as a list for other programs."""
    return [
        {
            "pieces": int(pieces),
            "kinds": round(float(kinds), 3),
            "low": round(float(low), 3),
            "high": round(float(high), 3),
        }
        for pieces, kinds, low, high in zip(curve.pieces, curve.kinds, curve.low, curve.high, strict=True)
    ]


def _cell(row: str, column: str, count: int, most: int, mark: str, cells: str) -> CellFacts:
    shade = 0 if count == 0 else max(1, round(SHADES * (count / most) ** 0.5))
    href = f"{cells}&{urlencode({'row': row, 'column': column})}#behind" if count else ""
    also = f", {mark} than by chance" if mark else ""
    return CellFacts(count, href, shade, mark, f"{how_many(count, 'piece')} of {row} on {column}{also}")


def _behind(shown: Shown, names: Mapping[str, str], asked: Mapping[str, str]) -> BehindFacts | None:
    cell = asked.get("row", ""), asked.get("column", "")
    ids = shown.table.pieces.get(cell)
    if not ids:
        return None
    return BehindFacts(f"{cell[0]} on {cell[1]}", tuple((names.get(one, one), piece_address(one)) for one in ids))


def preference_facts(one: Preference, warning: str, cells: str) -> PreferenceFacts:
    """One preference in words."""
    return PreferenceFacts(
        one.sentence,
        *strength_and_chance(one),
        warning,
        f"{cells}&{urlencode({'row': one.row, 'column': one.column})}#behind",
    )


def complete_facts(found: Completeness, picture: Markup, kind_words: str) -> CompleteFacts:
    """How complete, in sentences; a kind is what ``kind_words`` says."""
    return CompleteFacts(complete_sentences(found, kind_words), picture)

"""Facts of the holdings page: what the collection shows by two terms, what goes together, and how complete it is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from urllib.parse import urlencode

import numpy as np
from markupsafe import Markup

from weftglass.desk import FALSE_RATE, SURE, TERMS, Shown
from weftglass.holdings import Completeness, Estimate, Preference
from weftglass.publish import counts_svg
from weftglass.web.pages.addresses import piece_address
from weftglass.web.pages.forms import FilterFacts
from weftglass.web.pages.wording import capital, percent_text

WHOSE = (("owned", "owned"), ("offered", "on offer"), ("all", "owned and on offer"))
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


def holdings_facts(
    shown: Shown, names: Mapping[str, str], asked: Mapping[str, str], complete: CompleteFacts | None
) -> HoldingsFacts:
    """
    The page for what was asked.

    Parameters
    ----------
    shown : Shown
    names : mapping
        Piece to its name.
    asked : mapping
        ``rows``, ``columns``, ``whose``, ``row`` and ``column`` of the address.
    """
    table = shown.table
    row_term, column_term, whose = terms_asked(asked)
    keep = {"rows": row_term, "columns": column_term, "whose": whose}
    choices = tuple(TERMS.items())
    residuals = np.zeros(table.counts.shape) if shown.together is None else shown.together.residuals
    most = int(table.counts.max(initial=0))
    rows = tuple(
        RowFacts(
            row,
            tuple(
                _cell(row, column, int(table.counts[i, j]), most, float(residuals[i, j]), keep)
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
            FilterFacts("whose", "Pieces", WHOSE, whose),
        ),
        title=f"{capital(TERMS[row_term])} against {TERMS[column_term]}",
        columns=table.columns,
        rows=rows,
        totals=tuple(int(total) for total in table.counts.sum(axis=0)),
        counted=_many(table.total, "piece"),
        left_out=_left_out(table.left_out, row_term, column_term),
        behind=_behind(shown, names, asked),
        together=_together(shown),
        preferences=tuple(preference_facts(one, warning, keep) for one, warning in shown.preferences),
        tested=_tested(shown),
        complete=complete,
        csv_href=f"/holdings.csv?{urlencode(keep)}",
        svg_href=f"/holdings.svg?{urlencode(keep)}",
        growth_href=f"/holdings-growth.svg?{urlencode(keep)}",
    )


def terms_asked(asked: Mapping[str, str]) -> tuple[str, str, str]:
    """Row term, column term and whose pieces; an unknown word reads as the usual one, and two alike never stand."""
    row = asked.get("rows", "") if asked.get("rows", "") in TERMS else DEFAULT_ROWS
    column = asked.get("columns", "") if asked.get("columns", "") in TERMS else DEFAULT_COLUMNS
    if row == column:
        column = DEFAULT_COLUMNS if row != DEFAULT_COLUMNS else DEFAULT_ROWS
    whose = asked.get("whose", "")
    return row, column, whose if whose in dict(WHOSE) else "owned"


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


def table_svg(shown: Shown) -> Markup:
    """The table as a picture to be saved."""
    table = shown.table
    residuals = np.zeros(table.counts.shape) if shown.together is None else shown.together.residuals
    title = f"{capital(TERMS[table.row_term])} against {TERMS[table.column_term]}"
    return counts_svg(title, table.rows, table.columns, table.counts, residuals)


def _cell(row: str, column: str, count: int, most: int, residual: float, keep: Mapping[str, str]) -> CellFacts:
    shade = 0 if count == 0 else max(1, round(SHADES * (count / most) ** 0.5))
    mark = "" if abs(residual) <= 2 else "more" if residual > 0 else "fewer"
    href = f"/holdings?{urlencode({**keep, 'row': row, 'column': column})}#behind" if count else ""
    also = f", {mark} than by chance" if mark else ""
    return CellFacts(count, href, shade, mark, f"{_many(count, 'piece')} of {row} on {column}{also}")


def _left_out(pieces: Sequence[str], row_term: str, column_term: str) -> str:
    if not pieces:
        return ""
    sure = (
        f" A vessel counts once it is accepted or at least {SURE:.0%} sure."
        if {"form", "family"} & {row_term, column_term}
        else ""
    )
    return f"{_many(len(pieces), 'piece')} not counted: {TERMS[row_term]} or {TERMS[column_term]} is not known.{sure}"


def _behind(shown: Shown, names: Mapping[str, str], asked: Mapping[str, str]) -> BehindFacts | None:
    cell = asked.get("row", ""), asked.get("column", "")
    ids = shown.table.pieces.get(cell)
    if not ids:
        return None
    return BehindFacts(f"{cell[0]} on {cell[1]}", tuple((names.get(one, one), piece_address(one)) for one in ids))


def _together(shown: Shown) -> tuple[str, ...]:
    found = shown.together
    if found is None:
        return ("Two rows and two columns with pieces are needed before anything can be said of what goes together.",)
    how = (
        "estimated from 9,999 random tables with the same totals, since some counts are small"
        if found.exact
        else "by the chi-squared law"
    )
    return (
        f"Strength of association (Cramér’s V, 0 none to 1 full): {interval_text(found.strength, 2)}.",
        f"Probability of so much by chance alone: {chance_text(found.p)}, {how}.",
    )


def preference_facts(one: Preference, warning: str, keep: Mapping[str, str]) -> PreferenceFacts:
    """One preference in words."""
    odds = one.odds_ratio
    low, high = (f"{end:.1f}" if end < 9.95 else f"{end:.0f}" for end in (odds.low, min(odds.high, 1e6)))
    ends = f"between {low} and {high}" if odds.high < 1e6 else f"at least {low}"
    return PreferenceFacts(
        one.sentence,
        f"Odds there against elsewhere: {ends} times (95 %).",
        f"Chance alone: {chance_text(one.p)}; share of false ones among those shown so far: {chance_text(one.q)}.",
        warning,
        f"/holdings?{urlencode({**keep, 'row': one.row, 'column': one.column})}#behind",
    )


def _tested(shown: Shown) -> str:
    if shown.together is None:
        return ""
    number = len(shown.preferences)
    found = "none stands out" if number == 0 else "one stands out" if number == 1 else f"{number} of them stand out"
    return (
        f"{_many(shown.tested, 'pair')} tested; {found}. "
        f"At most {FALSE_RATE:.0%} of those shown are expected to be chance."
    )


def complete_facts(found: Completeness, picture: Markup, kind_words: str) -> CompleteFacts:
    """How complete, in sentences; a kind is what ``kind_words`` says."""
    by_coverage = found.by_coverage
    sentences = [
        f"{_many(found.pieces, 'piece')} of {_many(found.kinds, 'kind')} ({kind_words}); "
        f"{found.singletons} met once, {found.doubletons} twice.",
        f"Kinds already held make up {share_text(found.coverage)} of what is met out there.",
        f"The next piece is of a new kind with probability {percent_text(found.unseen_mass)}.",
        f"Kinds there are in all, at least: {interval_text(found.kinds_at_least, 0)}.",
    ]
    if by_coverage is not None:
        sentences.append(f"By how often the rarer kinds were met: {interval_text(by_coverage, 0)}.")
    return CompleteFacts(tuple(sentences), picture)


def interval_text(one: Estimate, digits: int) -> str:
    """A value with its interval."""
    high = "any number" if one.high == float("inf") else f"{one.high:.{digits}f}"
    return f"{one.value:.{digits}f} ({one.low:.{digits}f} to {high}, {one.level:.0%})"


def share_text(one: Estimate) -> str:
    """
    A share with its interval in per cent.

    Examples
    --------
    >>> share_text(Estimate(0.843, 0.71, 0.97)), share_text(Estimate(0.004, 0.0, 0.021))
    ('84\\xa0% (71 to 97\\xa0%)', '0.4\\xa0% (0.0 to 2.1\\xa0%)')
    """
    digits = 0 if one.high >= 0.1 else 1
    return f"{100 * one.value:.{digits}f}\u00a0% ({100 * one.low:.{digits}f} to {100 * one.high:.{digits}f}\u00a0%)"


def chance_text(p: float) -> str:
    """A small probability; never nought."""
    return "under 1 in 10,000" if p < 1e-4 else f"{p:.4f}" if p < 0.001 else f"{p:.3f}" if p < 0.1 else f"{p:.2f}"


def _many(number: int, word: str) -> str:
    return f"{number:,} {word}{'' if number == 1 else 's'}"

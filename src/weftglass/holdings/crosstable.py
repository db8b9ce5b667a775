"""One term against another over a set of pieces, with the pieces behind every cell."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from weftglass.errors import Unfit


@dataclass(frozen=True)
class Holding:
    """
    A piece as the statistics see it.

    Parameters
    ----------
    piece : str
        Its id.
    terms : dict
        Term to value (``community`` to ``Delmuine``, ``form`` to ``wine-onion``); a term that is not known is absent.
    """

    piece: str
    terms: Mapping[str, str]


@dataclass(frozen=True, eq=False)
class CrossTable:
    """
    Counts of pieces by two terms.

    Parameters
    ----------
    row_term, column_term : str
        What rows and columns are.
    rows, columns : tuple of str
        Their values, in the order of the counts.
    counts : array of int, shape (rows, columns)
    pieces : dict
        (row, column) to the ids of the pieces behind the cell, for cells that have any.
    left_out : tuple of str
        Pieces for which one of the two terms is not known.
    """

    row_term: str
    column_term: str
    rows: tuple[str, ...]
    columns: tuple[str, ...]
    counts: NDArray[np.int64]
    pieces: Mapping[tuple[str, str], tuple[str, ...]]
    left_out: tuple[str, ...]

    @property
    def total(self) -> int:
        """Pieces in the table."""
        return int(self.counts.sum())

    def cells(self) -> list[tuple[str, str, int]]:
        """Every (row, column, count), row by row, as a list to be exported."""
        return [
            (row, column, int(self.counts[i, j]))
            for i, row in enumerate(self.rows)
            for j, column in enumerate(self.columns)
        ]


def cross(
    holdings: Sequence[Holding],
    row_term: str,
    column_term: str,
    *,
    rows: Sequence[str] = (),
    columns: Sequence[str] = (),
) -> CrossTable:
    """
    Count pieces by two terms.

    Parameters
    ----------
    holdings : sequence of Holding
    row_term, column_term : str
        Two different terms.
    rows, columns : sequence of str
        Values to show even where no piece has them (known communities, forms of interest).

    Returns
    -------
    CrossTable
        Rows and columns by falling totals, then by name.

    Raises
    ------
    InputError
        If both terms are the same.

    Examples
    --------
    >>> table = cross([Holding("p-1", {"community": "A", "form": "flask"})], "community", "form")
    >>> table.counts.tolist(), table.pieces["A", "flask"]
    ([[1]], ('p-1',))
    """
    if row_term == column_term:
        raise Unfit("table", "terms", f"{row_term} is asked for twice", "two different terms")
    behind: dict[tuple[str, str], list[str]] = {}
    left_out = []
    for holding in holdings:
        row, column = holding.terms.get(row_term, ""), holding.terms.get(column_term, "")
        if row and column:
            behind.setdefault((row, column), []).append(holding.piece)
        else:
            left_out.append(holding.piece)
    row_names = _ordered([row for (row, _), ids in behind.items() for _ in ids], rows)
    column_names = _ordered([column for (_, column), ids in behind.items() for _ in ids], columns)
    row_at = {name: i for i, name in enumerate(row_names)}
    column_at = {name: i for i, name in enumerate(column_names)}
    counts = np.zeros((len(row_names), len(column_names)), dtype=np.int64)
    for (row, column), ids in behind.items():
        counts[row_at[row], column_at[column]] = len(ids)
    counts.setflags(write=False)
    pieces = {cell: tuple(ids) for cell, ids in behind.items()}
    return CrossTable(row_term, column_term, row_names, column_names, counts, pieces, tuple(left_out))


def _ordered(values: Sequence[str], also: Sequence[str]) -> tuple[str, ...]:
    counted: dict[str, int] = dict.fromkeys(also, 0)
    for value in values:
        counted[value] = counted.get(value, 0) + 1
    return tuple(sorted(counted, key=lambda name: (-counted[name], name)))

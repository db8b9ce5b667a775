"""Hold the demo collection's answers against the truth of its photographs, failures included."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from statistics import median
from typing import Any

import cv2
import numpy as np

from weftglass.demo.scenario import scenario, truths
from weftglass.desk import Collection, get_piece_dossier, identify_piece, library_of, open_collection
from weftglass.errors import InputError
from weftglass.records import View

HEADS = ("piece", "true form", "rank", "probability", "family", "unlisted", "diameter error", "overlap")
NO_FORM = "none of the library"


@dataclass(frozen=True)
class DemoRow:
    """
    One piece against its truth; None where it could not be computed.

    Parameters
    ----------
    form : str or None
        Id of the true form; None: a vessel that no form of the library describes.
    rank : int or None
        Place of the truth among all forms and "none of these", 1 the most probable.
    probability, family, unlisted : float or None
        Of the true form (of "none of these" where that is true), of its family, of "none of these".
    diameter_error_mm : float or None
        Greatest diameter of the outline as measured on the front photograph less the true one.
    overlap : float or None
        Intersection over union of the outline found and the true silhouette, front photograph.
    """

    piece: str
    form: str | None
    rank: int | None
    probability: float | None
    family: float | None
    unlisted: float | None
    diameter_mm: float | None
    diameter_error_mm: float | None
    overlap: float | None


@dataclass(frozen=True)
class DemoReport:
    """All rows, in the order of the pieces."""

    rows: tuple[DemoRow, ...]

    def to_json(self) -> str:
        """One JSON document."""
        return json.dumps({"rows": [asdict(row) for row in self.rows], "summary": self.summary()}, indent=1)

    def summary(self) -> dict[str, Any]:
        """Counts and medians over the rows."""
        named = [row for row in self.rows if row.rank is not None]
        overlaps = [row.overlap for row in self.rows if row.overlap is not None]
        errors = [
            abs(row.diameter_error_mm) / row.diameter_mm
            for row in self.rows
            if row.diameter_error_mm is not None and row.diameter_mm
        ]
        return {
            "pieces": len(self.rows),
            "answered": len(named),
            "first": sum(row.rank == 1 for row in named),
            "among_three": sum((row.rank or 99) <= 3 for row in named),
            "overlap_median": round(median(overlaps), 4) if overlaps else None,
            "overlap_worst": round(min(overlaps), 4) if overlaps else None,
            "diameter_error_median_share": round(median(errors), 4) if errors else None,
            "diameter_error_worst_share": round(max(errors), 4) if errors else None,
        }

    def to_text(self) -> str:
        """A table for a terminal, and the summary."""
        table = [HEADS, *(_cells(row) for row in self.rows)]
        wide = [max(len(line[i]) for line in table) for i in range(len(HEADS))]
        lines = [
            "  ".join(cell.ljust(width) for cell, width in zip(line, wide, strict=True)).rstrip() for line in table
        ]
        return "\n".join([*lines, "", *self._sentences()])

    def to_markdown(self) -> str:
        """The table for the documents."""
        lines = [HEADS, tuple("---" for _ in HEADS), *(_cells(row) for row in self.rows)]
        table = "\n".join("| " + " | ".join(line) + " |" for line in lines)
        return "\n".join([INTRODUCTION, table, "", *self._sentences(), ""])

    def _sentences(self) -> list[str]:
        found = self.summary()
        if not found["answered"]:
            return ["No piece has an answer yet."]
        said = [
            f"{found['answered']} of {found['pieces']} pieces have an answer: the truth is first in {found['first']}, "
            f"among the first three in {found['among_three']}."
        ]
        if found["overlap_median"] is not None:
            said.append(
                f"Outlines found without help: overlap with the true silhouette {found['overlap_median']:.3f} in the "
                f"median, {found['overlap_worst']:.3f} at worst."
            )
        if found["diameter_error_median_share"] is not None:
            middle, worst = found["diameter_error_median_share"], found["diameter_error_worst_share"]
            said.append(f"Greatest diameter: off by {100 * middle:.1f} % in the median, {100 * worst:.1f} % at worst.")
        return said


INTRODUCTION = """# The demo against its own truth

Written by `python -m weftglass.demo COLLECTION REPORT.md`; `weftglass demo --report` prints the same. The photographs
are rendered from a scene, so the vessel, the silhouette and every length are known. "Rank" is the place of the true
form among all forms and "none of these"; for a vessel that is in no library the truth is "none of these". "Diameter
error" is the greatest outer diameter as measured less the true one; "overlap" is intersection over union with the true
silhouette. A dash: not computable, as for a photograph without a scale. Failures are left in.
"""


def demo_report(path: str | Path) -> DemoReport:
    """
    Compare every piece of a demo collection with its truth.

    Parameters
    ----------
    path : str or Path
        Folder of a collection made by `build_demo`.
    """
    with open_collection(path, create=False) as collection:
        return DemoReport(tuple(filter(None, (_row(collection, piece["id"]) for piece in scenario()["pieces"]))))


def overlap_of(found: Sequence[Sequence[float]], true: Sequence[Sequence[float]], size: Sequence[int]) -> float:
    """
    Intersection over union of two polygons, filled in pixels.

    Examples
    --------
    >>> square = [[0, 0], [9, 0], [9, 9], [0, 9]]
    >>> overlap_of(square, [[0, 0], [4, 0], [4, 9], [0, 9]], (20, 20))
    0.5
    """
    filled = []
    for polygon in (found, true):
        mask = np.zeros((size[1], size[0]), dtype=np.uint8)
        cv2.fillPoly(mask, [np.round(np.asarray(polygon, dtype=np.float64)).astype(np.int32)], (1,))
        filled.append(mask > 0)
    return float((filled[0] & filled[1]).sum() / (filled[0] | filled[1]).sum())


def _row(collection: Collection, piece: str) -> DemoRow | None:
    """The piece's row; None where it has no photograph."""
    truth = next((one for one in truths().values() if one["piece"] == piece and one["role"] == "front"), None)
    if truth is None:
        return None
    front = next((one.view for one in get_piece_dossier(collection, piece).views if one.view.role == "front"), None)
    overlap = (
        None
        if front is None or not front.polygon
        else overlap_of(front.polygon, truth["polygon_px"], truth["image_size"])
    )
    diameter = 2 * max(half for _, half in truth["outer_profile"])
    error = None if front is None else _diameter_error(front, diameter)
    return DemoRow(piece, truth["form"], *_place(collection, piece, truth["form"]), diameter, error, overlap)


def _diameter_error(front: View, diameter: float) -> float | None:
    if front.measured is None:
        return None
    return 2 * max(half for _, half in front.measured.points) - diameter


def _place(
    collection: Collection, piece: str, form: str | None
) -> tuple[int | None, float | None, float | None, float | None]:
    """Rank and probability of the truth, probability of its family and of none of these."""
    try:
        answer = identify_piece(collection, piece)
    except InputError:
        return None, None, None, None
    probability = answer.unlisted if form is None else answer.probabilities.get(form, 0.0)
    others = [answer.unlisted, *answer.probabilities.values()]
    rank = 1 + sum(other > probability for other in others)
    library = library_of(collection)
    family = None
    if form is not None and form in library:
        own = library[form].family_name
        family = sum(share for name, share in answer.probabilities.items() if library[name].family_name == own)
    return rank, probability, family, answer.unlisted


def _cells(row: DemoRow) -> tuple[str, ...]:
    def shown(value: float | None, form: Callable[[float], str]) -> str:
        return "–" if value is None else form(value)

    percent: Callable[[float], str] = lambda share: f"{100 * share:.0f} %"  # noqa: E731 - a column's format
    return (
        row.piece,
        row.form or NO_FORM,
        shown(row.rank, lambda value: f"{value:.0f}"),
        shown(row.probability, percent),
        shown(row.family, percent),
        shown(row.unlisted, percent),
        shown(row.diameter_error_mm, lambda value: f"{value:+.1f} mm"),
        shown(row.overlap, lambda value: f"{value:.3f}"),
    )

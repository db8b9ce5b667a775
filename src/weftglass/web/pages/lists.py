"""Lists for other programs: shelf and forms as records and as CSV."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from typing import Any

from weftglass.desk import ShelfRow
from weftglass.vessels import Form
from weftglass.web.pages.shelf import state_of

FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r")


def shelf_records(rows: Sequence[ShelfRow]) -> list[dict[str, Any]]:
    """One flat record a piece: its own fields, and what is inside so far with its probability."""
    return [
        {
            "piece": row.piece.id,
            "name": row.piece.name,
            "technique": row.piece.technique,
            "material": row.piece.material,
            "community": row.piece.community,
            "maker": row.piece.maker,
            "status": row.piece.status,
            "finding": state_of(row),
            "form": row.answer.form if row.answer else None,
            "vessel": row.answer.name if row.answer else None,
            "probability": round(row.answer.probability, 4) if row.answer else None,
            "unlisted": round(row.answer.unlisted, 4) if row.answer else None,
            "photographs": row.views,
            "changed": row.piece.changed_at.isoformat(timespec="seconds"),
        }
        for row in rows
    ]


def form_records(forms: Sequence[Form]) -> list[dict[str, Any]]:
    """One flat record a form, lengths in mm, mass in g, capacity in ml, years CE."""
    return [
        {
            "form": form.id,
            "name": form.name,
            "size": form.size,
            "section": form.section.kind,
            "height_mm": form.profile.height_mm,
            "width_mm": 2 * float(form.profile.half_width_mm.max()),
            "shape_sd_mm": form.tolerance.shape_sd_mm,
            "capacity_ml": form.capacity_ml,
            "year_from": form.years[0] if form.years else None,
            "year_to": form.years[1] if form.years else None,
            "finish": "; ".join(form.finish),
            "colours": "; ".join(form.colours),
            "commonness": form.commonness,
            "source": form.source,
        }
        for form in forms
    ]


def csv_text(records: Sequence[dict[str, Any]]) -> str:
    """
    CSV with a head line; a text that a spreadsheet would take for a formula gets an apostrophe in front.

    Examples
    --------
    >>> csv_text([{"name": "=1+1", "mm": -2.5}])
    "name,mm\\r\\n'=1+1,-2.5\\r\\n"
    """
    if not records:
        return ""
    written = io.StringIO()
    table = csv.DictWriter(written, fieldnames=list(records[0]))
    table.writeheader()
    table.writerows({key: _harmless(value) for key, value in record.items()} for record in records)
    return written.getvalue()


def _harmless(value: object) -> object:
    return f"'{value}" if isinstance(value, str) and value.startswith(FORMULA_SIGNS) else value

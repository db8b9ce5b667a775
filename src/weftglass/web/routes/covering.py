"""The covering of a piece: counting on a photograph, keeping counts, and carrying them away."""

from __future__ import annotations

from datetime import datetime

from starlette.responses import Response
from starlette.routing import Route

from weftglass.desk import (
    ScaleAsked,
    count_covering,
    covering_of,
    keep_hand_count,
    keep_weave_study,
    withdraw_weave_study,
)
from weftglass.errors import InputError
from weftglass.weave import Box
from weftglass.web.door import Asked, door, see_other
from weftglass.web.pages.addresses import piece_address
from weftglass.web.pages.covering import FIELDS, covering_facts, study_records
from weftglass.web.pages.lists import csv_text
from weftglass.web.reading import number_typed
from weftglass.web.rendering import page


def covering_page(asked: Asked) -> Response:
    """The photograph asked for, ready to count on."""
    seen = covering_of(asked.collection, asked.path["piece"])
    chosen = {"view": asked.query.get("view", "")}
    return page(asked.request, "covering.html", covering_facts(seen, chosen, None, asked.fault))


def count(asked: Asked) -> Response:
    """Count and show what was counted; nothing is kept."""
    seen = covering_of(asked.collection, asked.path["piece"])
    gauge = count_covering(
        asked.collection, seen.piece.id, asked.text("view"), scale=_scale(asked),
        technique=asked.text("technique") or None, box=_box(asked),
    )  # fmt: skip
    chosen = {name: asked.text(name) for name in FIELDS}
    return page(asked.request, "covering.html", covering_facts(seen, chosen, gauge, None))


def keep(asked: Asked) -> Response:
    """Keep the count as a weave study."""
    keep_weave_study(
        asked.collection, asked.path["piece"], asked.text("view"), who=asked.who, on=_today().date(),
        scale=_scale(asked), technique=asked.text("technique") or None, box=_box(asked), remark=asked.text("remark"),
    )  # fmt: skip
    return see_other(f"{piece_address(asked.path['piece'])}/covering#kept")


def by_hand(asked: Asked) -> Response:
    """Keep a count by hand."""
    numbers = _numbers(asked, "taps")
    if len(numbers) % 2:
        raise InputError("covering", "taps", asked.text("taps"), "pairs of x and y in pixels")
    keep_hand_count(
        asked.collection, asked.path["piece"], asked.text("view"), who=asked.who, on=_today().date(),
        scale=_scale(asked), what=asked.text("what"), taps=list(zip(numbers[::2], numbers[1::2], strict=True)),
        technique=asked.text("technique"), remark=asked.text("remark"),
    )  # fmt: skip
    return see_other(f"{piece_address(asked.path['piece'])}/covering#kept")


def withdraw(asked: Asked) -> Response:
    """Withdraw a count."""
    withdraw_weave_study(asked.collection, asked.path["piece"], asked.path["study"], who=asked.who)
    return see_other(f"{piece_address(asked.path['piece'])}/covering#kept")


def table(asked: Asked) -> Response:
    """All counts that stand, as CSV."""
    seen = covering_of(asked.collection, asked.path["piece"])
    return Response(csv_text(study_records(seen.studies)), media_type="text/csv; charset=utf-8")


def _today() -> datetime:
    return datetime.now().astimezone()


def _numbers(asked: Asked, name: str) -> list[float]:
    """Numbers typed into one field, apart by commas, semicolons or blanks."""
    parts = asked.text(name).replace(",", " ").replace(";", " ").split()
    return [number_typed(part, "covering", name, "numbers in pixels") for part in parts]


def _scale(asked: Asked) -> ScaleAsked:
    """Two points, the mm between them, the height: what was filled in."""
    ends = _numbers(asked, "bar")
    if len(ends) not in (0, 4):
        expected = "two points x1, y1, x2, y2 in pixels, dragged on a ruler or from edge to edge, or nothing"
        raise InputError("covering", "bar", asked.text("bar"), expected)
    mm = asked.text("mm")
    height = asked.text("height")
    return ScaleAsked(
        (ends[0], ends[1], ends[2], ends[3]) if ends else None,
        number_typed(mm, "covering", "mm", "how many mm lie between the two points, or nothing") if mm else None,
        number_typed(height, "covering", "height", "a height in mm above the standing plane, or nothing")
        if height
        else None,
    )


def _box(asked: Asked) -> Box | None:
    sides = _numbers(asked, "box")
    if not sides:
        return None
    if len(sides) != 4:
        raise InputError("covering", "box", asked.text("box"), "two corners, x0, y0, x1, y1 in pixels, or nothing")
    return (sides[0], sides[1], sides[2], sides[3])


COVERING = "/piece/{piece}/covering"
COVERING_ROUTES = [
    Route(COVERING, door(covering_page)),
    Route(COVERING, door(count, again=covering_page), methods=["POST"]),
    Route(f"{COVERING}/keep", door(keep, again=covering_page), methods=["POST"]),
    Route(f"{COVERING}/hand", door(by_hand, again=covering_page), methods=["POST"]),
    Route(f"{COVERING}/studies.csv", door(table)),
    Route(f"{COVERING}/{{study}}/withdraw", door(withdraw, again=covering_page), methods=["POST"]),
]

"""Facts of a piece's condition: the map, the spots beside those of the examination before, and the forms."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from markupsafe import Markup

from weftglass.desk import Condition, Silhouette, SpotChange, changes_between
from weftglass.records import FACES, SPOT_KINDS, STATES, Examination, Spot
from weftglass.web.door import FormFault
from weftglass.web.figures.body_map import PLANS, body_map_svg, face_svg
from weftglass.web.pages.addresses import condition_address, piece_address
from weftglass.web.pages.wording import capital, day_text

CHANGE_WORDS: dict[str, str] = {
    "new": "new",
    "same": "as before",
    "grown": "grown",
    "smaller": "smaller",
    "moved": "moved",
    "gone": "no longer seen",
    "not looked at": "not looked at yet",
}


@dataclass(frozen=True)
class FaceFacts:
    """One face of the drawn piece, and where a press on it leads in the form: widths and the place of the drawing."""

    name: str
    words: str
    picture: Markup


@dataclass(frozen=True)
class SpotFacts:
    """One spot: what, where, how large, what changed, and where to say that it was looked at or is gone."""

    number: int
    what: str
    where: str
    size: str
    size_mm: str
    remark: str
    change: str
    state: str
    act_href: str
    may_act: bool


@dataclass(frozen=True)
class ExaminationFacts:
    """One examination: day, who looked, state, remark, its spots and what changed since the one before, in words."""

    name: str
    day: str
    by: str
    state: str
    state_words: str
    remark: str
    version: int
    compared: str
    faces: tuple[FaceFacts, ...]
    spots: tuple[SpotFacts, ...]
    newest: bool
    href: str
    edit_href: str
    spots_href: str
    withdraw_href: str


@dataclass(frozen=True)
class EarlierFacts:
    """One line of the list of examinations."""

    day: str
    words: str
    href: str
    current: bool


@dataclass(frozen=True)
class ConditionFacts:
    """The condition of a piece: the examination that is open, all of them as a list, and what the forms offer."""

    piece_name: str
    piece_href: str
    href: str
    told: str
    examination: ExaminationFacts | None
    examinations: tuple[EarlierFacts, ...]
    drawn_from: str
    height_unit: str
    height_most: str
    height_mm: str
    kinds: tuple[tuple[str, str], ...]
    face_choices: tuple[tuple[str, str], ...]
    states: tuple[tuple[str, str], ...]
    today: str
    svg_href: str
    json_href: str
    csv_href: str
    caution: str
    fault: FormFault | None


def condition_facts(
    condition: Condition, asked: Mapping[str, str], today: date, fault: FormFault | None = None
) -> ConditionFacts:
    """
    The page of a piece's condition.

    Parameters
    ----------
    asked : mapping
        ``at``: id of the examination to show; the newest where not given.
    """
    piece, href = condition.piece, condition_address(condition.piece.id)
    shown, before = shown_examination(condition, asked.get("at", ""))
    height = condition.silhouette.height_mm
    return ConditionFacts(
        piece.name,
        piece_address(piece.id),
        href,
        piece.condition,
        None if shown is None else examination_facts(condition, shown, before),
        tuple(
            EarlierFacts(
                _day(one.on),
                f"{STATES[one.state]}; {_many(len(one.spots), 'spot')}; {one.by}",
                f"{href}?at={one.id}",
                one is shown,
            )
            for one in reversed(condition.examinations)
        ),
        condition.silhouette.drawn_from,
        "mm" if height else "% of the whole height",
        f"{height:.0f}" if height else "100",
        f"{height:.2f}" if height else "",
        tuple((kind, capital(words)) for kind, words in SPOT_KINDS.items()),
        tuple((face, capital(words)) for face, words in FACES.items()),
        tuple((state, capital(words)) for state, words in STATES.items()),
        today.isoformat(),
        f"{href}.svg",
        f"{href}.json",
        f"{href}.csv",
        piece.caution,
        fault,
    )


def shown_examination(condition: Condition, at: str) -> tuple[Examination | None, Examination | None]:
    """The examination asked for (the newest by default) and the one before it."""
    every = condition.examinations
    if not every:
        return None, None
    which = next((k for k, one in enumerate(every) if one.id == at), len(every) - 1)
    return every[which], every[which - 1] if which else None


def examination_facts(condition: Condition, one: Examination, before: Examination | None) -> ExaminationFacts:
    """One examination beside the one before it."""
    changes, newest = changes_between(before, one), one is condition.examinations[-1]
    href = f"{condition_address(one.piece)}/{one.id}"
    return ExaminationFacts(
        one.id,
        _day(one.on),
        one.by,
        one.state,
        STATES[one.state],
        one.remark,
        one.version,
        compared_words(changes, before),
        tuple(FaceFacts(face, words, face_svg(condition.silhouette, face, changes)) for face, words in FACES.items()),
        tuple(_spot(change, condition.silhouette, href, newest) for change in changes),
        newest,
        f"{condition_address(one.piece)}?at={one.id}",
        href,
        f"{href}/spots",
        f"{href}/withdraw",
    )


def compared_words(changes: Sequence[SpotChange], before: Examination | None) -> str:
    """What changed since the examination before, in one sentence."""
    if before is None:
        return "The first examination: nothing to compare with yet."
    counts = Counter(change.what for change in changes)
    told = ", ".join(f"{counts[what]} {words}" for what, words in CHANGE_WORDS.items() if counts[what])
    return f"Since {_day(before.on)}: {told or 'no spot then or now'}."


def where_words(spot: Spot, silhouette: Silhouette) -> str:
    """
    Where a spot is, as one would say it with the piece in front of one.

    Examples
    --------
    >>> jar = Silhouette(((0.0, 0.2), (1.0, 0.1)), ((0.0, 0.2), (1.0, 0.1)), 250.0, "a drawing")
    >>> where_words(Spot(1, "stain", "front", 0.4, -0.5, 10.0), jar)
    'front, 100 mm up, left of the middle'
    """
    aside = "in the middle" if abs(spot.across) < 0.15 else "left of the middle" if spot.across < 0 else "right of it"
    aside = aside.replace("right of it", "right of the middle")
    if abs(spot.across) > 0.85:
        aside = "at the left edge" if spot.across < 0 else "at the right edge"
    if spot.face in PLANS:
        deep = "towards the front" if spot.up < 0.35 else "towards the back" if spot.up > 0.65 else ""
        return ", ".join(part for part in (FACES[spot.face], deep, aside) if part)
    height = silhouette.height_mm
    up = f"{spot.up * height:.0f}\u00a0mm up" if height else f"at {100 * spot.up:.0f}\u00a0% of the height"
    return f"{FACES[spot.face]}, {up}, {aside}".replace("\u00a0mm", " mm")


def condition_map_svg(condition: Condition, at: str) -> Markup:
    """The map of one examination, to keep."""
    shown, before = shown_examination(condition, at)
    if shown is None:
        return body_map_svg(condition.silhouette, (), f"{condition.piece.name}, not examined yet")
    title = f"{condition.piece.name}, examined {_day(shown.on)}"
    return body_map_svg(condition.silhouette, changes_between(before, shown), title)


def condition_records(condition: Condition) -> list[dict[str, Any]]:
    """One flat record a spot of each examination, for lists; an examination without spots has one line of its own."""
    height = condition.silhouette.height_mm
    rows = []
    for one in condition.examinations:
        head = {"piece": one.piece, "examination": one.id, "on": one.on, "by": one.by, "state": one.state}
        for spot in one.spots or (None,):
            sided = spot is not None and spot.face not in PLANS and height is not None
            rows.append(
                {
                    **head,
                    "remark": one.remark,
                    "spot": spot.number if spot else None,
                    "kind": spot.kind if spot else None,
                    "face": spot.face if spot else None,
                    "height_mm": round(spot.up * height, 1) if spot and sided and height else None,
                    "up": spot.up if spot else None,
                    "across": spot.across if spot else None,
                    "size_mm": spot.size_mm if spot else None,
                    "looked_at": spot.looked_at if spot else None,
                    "spot_remark": spot.remark if spot else None,
                }
            )
    return rows


def _spot(change: SpotChange, silhouette: Silhouette, href: str, newest: bool) -> SpotFacts:
    spot, before = change.spot, change.before
    words = CHANGE_WORDS[change.what]
    if before is not None and change.what in ("grown", "smaller"):
        words = f"{words}, was {before.size_mm:g}\u00a0mm"
    return SpotFacts(
        spot.number,
        capital(SPOT_KINDS[spot.kind]),
        where_words(spot, silhouette),
        f"{spot.size_mm:g}\u00a0mm",
        f"{spot.size_mm:g}",
        spot.remark,
        words,
        change.what.replace(" ", "-"),
        f"{href}/spots/{spot.number}",
        newest and change.what != "gone",
    )


def _many(count: int, word: str) -> str:
    return f"{count} {word}{'s' if count != 1 else ''}"


def _day(on: str) -> str:
    return day_text(date.fromisoformat(on))

"""The rollout of a piece of the collection: made from its views, kept among what can be made again."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import numpy as np

from weftglass.cabinet.photo_files import write_whole
from weftglass.desk.collection import Collection
from weftglass.desk.outlines import propose_outline, rework_view
from weftglass.desk.photographs import ViewOnPhoto, file_photos, pixels_of, read_photos, views_of
from weftglass.desk.rolling import (
    FOOT_MM,
    MeasuredFacts,
    Progress,
    RolloutChoice,
    Seen,
    design_words,
    marks_of,
    roll_out_seen,
    study_rollout,
)
from weftglass.desk.wording import signature
from weftglass.errors import InputError, Unfit
from weftglass.photos import Rollout, picture_bytes, plain_picture, ruled_picture
from weftglass.photos.rollout import LEAST_VIEWS, MOST_VIEWS
from weftglass.records import Piece, View
from weftglass.records.view import TURN, turn_deg, turn_role
from weftglass.weave.design import DesignStudy

BORDER_MM = 5.0
"""Bare glass is marked from a little above the covering's border; the border itself is no part of the design."""

ROLLABLE = "a front view with its outline and scale, or 6 to 24 turns of a turntable"
"""What a piece must show to be rolled out."""

MADE_BY = 1
"""Raised when the same views and choice would give another rollout, so that kept ones are made again."""

FORMS = {"plain": ("png", "image/png"), "ruled": ("png", "image/png"), "marked": ("png", "image/png"),
         "ruled-tiff": ("tif", "image/tiff")}  # fmt: skip


@dataclass(frozen=True)
class KeptRollout:
    """
    A rollout on the disk.

    Parameters
    ----------
    choice : RolloutChoice
        How it was made.
    geometry, design : dict
        As `Rollout.geometry` and `DesignStudy.to_record` give them.
    words : tuple of str
        Each band in one sentence.
    marks : tuple of dict
        Figured bands in pixels of the picture: top, bottom, columns where repeats begin.
    pictures : mapping of kind to path
        plain, ruled, marked (PNG) and ruled-tiff.
    """

    choice: RolloutChoice
    geometry: dict[str, Any]
    design: dict[str, Any]
    words: tuple[str, ...]
    marks: tuple[dict[str, Any], ...]
    pictures: dict[str, Path]


@dataclass(frozen=True)
class RollableViews:
    """
    What a piece can be rolled out from.

    Parameters
    ----------
    views : tuple of ViewOnPhoto
        Turns in order, or one front view; empty where there is neither.
    missing : str
        What would be needed, in a sentence; empty where nothing is.
    """

    views: tuple[ViewOnPhoto, ...]
    missing: str


def rollable_views(collection: Collection, piece_id: str) -> RollableViews:
    """The turns of a piece where there are 6 or more with an outline on one, else its measured front."""
    with collection.cabinet.reading() as reader:
        reader.get(Piece, piece_id)
        standing = views_of(reader, piece_id)
    turns = _turns(standing)
    if turns:
        return RollableViews(turns, "")
    fronts = [one for one in standing if one.view.measured is not None and turn_deg(one.view.role) is not None]
    fronts.sort(key=lambda one: turn_deg(one.view.role) or 0.0)
    if fronts:
        return RollableViews((fronts[0],), "")
    return RollableViews((), f"Needed: {ROLLABLE}.")


def add_turns(
    collection: Collection,
    piece_id: str,
    files: Sequence[tuple[str, bytes]],
    *,
    who: str,
    height_mm: float | None = None,
) -> tuple[View, ...]:
    """
    Take the photographs of one round of a turntable in, trace each, and give all the height of the piece as scale.

    Parameters
    ----------
    files : sequence of (file name, content)
        6 to 24, in the order of their names: evenly turned, what is on the right coming to the front.
    height_mm : float or None
        Standing plane to top. Default: as measured on a view of the piece.

    Returns
    -------
    tuple of View
        The new views; where no piece was found the outline is empty, and a neighbour's is used when rolling out.

    Raises
    ------
    InputError
        Too few or too many, one that is no picture, one the piece shows already, or no height known.
    """
    where = f"piece {piece_id}"
    if not LEAST_VIEWS <= len(files) <= MOST_VIEWS:
        raise InputError(where, "photographs", len(files), f"{LEAST_VIEWS} to {MOST_VIEWS} photographs of one round")
    read = read_photos(sorted(files, key=lambda file: file[0]))
    with collection.cabinet.writing(signature(who)) as draft:
        piece = draft.get(Piece, piece_id)
        standing = draft.all_of(View, piece=piece.id)
        measured = [view.measured.height_mm for view in standing if view.measured is not None]
        tall = height_mm if height_mm is not None else (measured[0] if measured else None)
        if tall is None:
            raise InputError(where, "height", None, "the height of the piece in mm, standing plane to top")
        photos = file_photos(collection, draft, read)
        again = [photo.name for photo in photos if any(view.photo == photo.id for view in standing)]
        if again or len(set(photos)) < len(photos):
            wrong = f"the piece shows {', '.join(again)} already" if again else "two of the photographs are the same"
            raise Unfit(where, "photographs", wrong, "photographs it does not show yet")
        views = []
        for k, photo in enumerate(photos):
            name = draft.numbered_id(View, f"{piece.id}.view")
            views.append(draft.put(View(id=name, piece=piece.id, photo=photo.id, role=turn_role(k + 1, len(photos)))))
    for view in views:
        propose_outline(collection, view.id, who=who)
    scale = {"kind": "height", "mm": tall, "sd_mm": 1.0}
    return tuple(rework_view(collection, view.id, {"scale": scale}, who=who) for view in views)


def roll_out_piece(
    collection: Collection, piece_id: str, choice: RolloutChoice, *, progress: Progress | None = None
) -> tuple[Rollout, DesignStudy]:
    """
    Roll a piece out from its views and study the design; nothing is kept.

    Parameters
    ----------
    choice : RolloutChoice
        With no heights, a front's bare neck is left out where it was marked.
    progress : callable, optional

    Raises
    ------
    InputError
        If there is no view to roll out from, or a figure of the choice cannot be.
    """
    found = rollable_views(collection, piece_id)
    if not found.views:
        raise Unfit(f"piece {piece_id}", "views", "none of its views can be rolled out", ROLLABLE)
    seen = [
        Seen(pixels_of(collection, one.photo), turn_deg(one.view.role) or 0.0, _facts(one.view)) for one in found.views
    ]
    rolled = roll_out_seen(seen, _within_cover(choice, found.views), progress=progress)
    return rolled, study_rollout(rolled, choice)


def keep_rollout(collection: Collection, piece_id: str, choice: RolloutChoice) -> KeptRollout:
    """Roll a piece out and keep pictures and figures among what can be made again; parameters as above."""
    rolled, study = roll_out_piece(collection, piece_id, choice)
    marks = marks_of(rolled, study)
    pictures = {
        "plain": picture_bytes(plain_picture(rolled)),
        "ruled": picture_bytes(ruled_picture(rolled)),
        "marked": picture_bytes(ruled_picture(rolled, marks)),
        "ruled-tiff": picture_bytes(ruled_picture(rolled), "TIFF"),
    }
    key = _key(piece_id, rollable_views(collection, piece_id).views)
    folder = collection.cabinet.photos.derived
    for kind, content in pictures.items():
        write_whole(_picture(folder, key, kind), content)
    record = {
        "choice": asdict(choice),
        "geometry": rolled.geometry(),
        "design": study.to_record(),
        "words": design_words(study),
        "marks": [asdict(mark) for mark in marks],
    }
    write_whole(folder / f"{key}.json", json.dumps(record).encode("utf-8"))
    return _read(folder, key)


def kept_rollout(collection: Collection, piece_id: str) -> KeptRollout | None:
    """The rollout kept for a piece's views as they are now; None where there is none or the views changed since."""
    views = rollable_views(collection, piece_id).views
    if not views:
        return None
    folder, key = collection.cabinet.photos.derived, _key(piece_id, views)
    whole = (folder / f"{key}.json").is_file() and all(_picture(folder, key, kind).is_file() for kind in FORMS)
    return _read(folder, key) if whole else None


def _read(folder: Path, key: str) -> KeptRollout:
    record = json.loads((folder / f"{key}.json").read_text(encoding="utf-8"))
    between = record["choice"]["heights_mm"]
    choice = RolloutChoice(**(record["choice"] | {"heights_mm": None if between is None else tuple(between)}))
    pictures = {kind: _picture(folder, key, kind) for kind in FORMS}
    return KeptRollout(
        choice, record["geometry"], record["design"], tuple(record["words"]), tuple(record["marks"]), pictures
    )


def _picture(folder: Path, key: str, kind: str) -> Path:
    return folder / f"{key}-{kind}.{FORMS[kind][0]}"


def _key(piece_id: str, views: tuple[ViewOnPhoto, ...]) -> str:
    """The same for the same views measured the same."""
    parts = [[one.view.role, one.view.photo, None if one.view.measured is None else asdict(one.view.measured),
              one.view.bare] for one in views]  # fmt: skip
    text = json.dumps([MADE_BY, piece_id, parts], sort_keys=True)
    return "rollout-" + hashlib.sha256(text.encode("utf-8")).hexdigest()[:40]


def _turns(standing: list[ViewOnPhoto]) -> tuple[ViewOnPhoto, ...]:
    """The largest set of turns of one division with an outline on at least one; empty where there are under 6."""
    sets: dict[str, dict[int, ViewOnPhoto]] = {}
    for one in standing:
        match = TURN.fullmatch(one.view.role)
        if match is not None and turn_deg(one.view.role) is not None:
            sets.setdefault(match[2], {}).setdefault(int(match[1]), one)
    best = max(sets.values(), key=len, default={})
    ordered = tuple(best[number] for number in sorted(best))
    outlined = any(one.view.measured is not None for one in ordered)
    return ordered if len(ordered) >= LEAST_VIEWS and outlined else ()


def _facts(view: View) -> MeasuredFacts | None:
    return None if view.measured is None else MeasuredFacts.of_view(view)


def _within_cover(choice: RolloutChoice, views: tuple[ViewOnPhoto, ...]) -> RolloutChoice:
    """With no heights chosen, up to the lowest bare glass that was marked."""
    bare = [low for one in views for low, _ in one.view.bare if one.view.measured is not None and low > 20]
    if choice.heights_mm is not None or not bare:
        return choice
    return RolloutChoice(**(asdict(choice) | {"heights_mm": (FOOT_MM, float(np.median(bare)) - BORDER_MM)}))

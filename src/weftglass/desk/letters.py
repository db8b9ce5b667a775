"""Letters behind openwork: photographs of one face put together, and inscriptions that a reading may be."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from weftglass.cabinet.photo_files import write_whole
from weftglass.desk.collection import Collection
from weftglass.desk.photographs import ViewOnPhoto, pixels_of, views_of
from weftglass.desk.rolling import MeasuredFacts
from weftglass.errors import InputError
from weftglass.inside.likelihood.letters import tidy, windows
from weftglass.photos import Standing, TurnedView
from weftglass.photos.behind import BehindOpenwork, behind_openwork
from weftglass.records import Piece, View, turn_deg
from weftglass.vessels import FormLibrary

FACES = {"front": 0.0, "side": 90.0, "back": 180.0}
KEY = re.compile(r"letters-[0-9a-f]{40}")
NEAREST_DEG = 75.0
MOST_LETTERS = 80


@dataclass(frozen=True)
class InscriptionMatch:
    """
    An inscription that a reading may be.

    Parameters
    ----------
    wrong_letters : int
        0, or 1 where one letter must have been read wrong.
    form : str
        Id of the form that carries it.
    text : str
    face : str or None
    z_mm : (low, high) or None
        Where on the form.
    place : str
        ``there`` where face and height agree with where it was read, ``elsewhere``, or ``not known``.
    """

    wrong_letters: int
    form: str
    text: str
    face: str | None
    z_mm: tuple[float, float] | None
    place: str


@dataclass(frozen=True)
class KeptLetters:
    """
    A put-together picture on the disk.

    Parameters
    ----------
    key : str
        What it is kept under.
    face : str
    heights_mm : (low, high)
    cover_mm : float
    share_one, share_all : float
        Share of the face that the best single photograph shows, and all together.
    photographs : tuple of str
        One sentence for each.
    picture, clearer : Path
        PNG files.
    """

    key: str
    face: str
    heights_mm: tuple[float, float]
    cover_mm: float
    share_one: float
    share_all: float
    photographs: tuple[str, ...]
    picture: Path
    clearer: Path


def search_inscriptions(
    library: FormLibrary, reading: str, *, z_mm: tuple[float, float] | None = None, face: str | None = None
) -> tuple[InscriptionMatch, ...]:
    """
    Inscriptions of the library that a partly read word may belong to.

    Parameters
    ----------
    reading : str
        ``?`` for one letter that could not be read, ``*`` for any run of such letters.
    z_mm, face : optional
        Where it was read: inscriptions known to be there come first.

    Returns
    -------
    tuple of InscriptionMatch
        Exact ones first, then those with one letter read wrong.

    Raises
    ------
    InputError
        If nothing of it was read, or it is longer than 80 letters.
    """
    letters = tidy(reading)
    if not any(ch.isalnum() for ch in letters) or len(letters) > MOST_LETTERS:
        raise InputError("letters", "reading", reading, "at least one letter or figure, with ? and * for unread ones")
    found = []
    for form in library:
        for inscription in form.letters:
            wrong = next((n for n in (0, 1) if windows(letters, inscription.text, wrong=n)), None)
            if wrong is not None:
                place = _place(inscription.face, inscription.z_mm, face, z_mm)
                found.append(
                    InscriptionMatch(wrong, form.id, inscription.text, inscription.face, inscription.z_mm, place)
                )
    order = ("there", "not known", "elsewhere")
    return tuple(sorted(found, key=lambda one: (one.wrong_letters, order.index(one.place), one.form, one.text)))


def readable_views(collection: Collection, piece_id: str) -> tuple[ViewOnPhoto, ...]:
    """Views of a piece that letters can be put together from: measured, and turned by a known angle."""
    with collection.cabinet.reading() as reader:
        reader.get(Piece, piece_id)
        return tuple(
            one
            for one in views_of(reader, piece_id)
            if one.view.measured is not None and turn_deg(one.view.role) is not None
        )


def put_letters_together(
    collection: Collection,
    piece_id: str,
    view_ids: Sequence[str],
    *,
    face: str,
    heights_mm: tuple[float, float],
    cover_mm: float,
) -> KeptLetters:
    """
    Put together what several views show of one face's glass, and keep the picture among what can be made again.

    Parameters
    ----------
    view_ids : sequence of str
        Views of the piece with measured outlines; those farther than 75 degrees from the face are refused.
    face : str
        front, side or back.
    heights_mm : (low, high)
        Where to look, mm.
    cover_mm : float
        How far the glass lies behind the outline.

    Raises
    ------
    InputError
        Unknown face or view, or as `weftglass.photos.behind.behind_openwork` says.
    """
    where = f"piece {piece_id}"
    if face not in FACES:
        raise InputError(where, "face", face, "one of: " + ", ".join(FACES))
    able = {one.view.id: one for one in readable_views(collection, piece_id)}
    chosen = [able[one] for one in view_ids if one in able]
    if not chosen or len(chosen) != len(set(view_ids)):
        raise InputError(where, "views", ", ".join(view_ids) or "none", "views of this piece with a measured outline")
    far = [one.view.role for one in chosen if _away(one.view, face) > NEAREST_DEG]
    if far:
        raise InputError(
            where, "views", ", ".join(far), f"views turned at most {NEAREST_DEG:.0f} degrees from the {face}"
        )
    chosen.sort(key=lambda one: _away(one.view, face))
    views = [_turned(collection, one) for one in chosen]
    profile = MeasuredFacts.of_view(chosen[0].view).points
    high = min(heights_mm[1], float(profile[-1, 0]))
    together = behind_openwork(
        views, profile, cover_mm=cover_mm, heights_mm=(heights_mm[0], high), face_deg=FACES[face], where=where
    )
    return _keep(collection, piece_id, chosen, face, (heights_mm[0], high), cover_mm, together)


def kept_letters(collection: Collection, key: str) -> KeptLetters | None:
    """What was put together and kept under a key; None where it is not there (any more)."""
    if KEY.fullmatch(key) is None:
        return None
    folder = collection.cabinet.photos.derived
    files = [folder / f"{key}{end}" for end in (".json", ".png", "-clearer.png")]
    if not all(file.is_file() for file in files):
        return None
    record = json.loads(files[0].read_text(encoding="utf-8"))
    low, high = record["heights_mm"]
    return KeptLetters(
        key,
        record["face"],
        (low, high),
        record["cover_mm"],
        record["share_one"],
        record["share_all"],
        tuple(record["photographs"]),
        files[1],
        files[2],
    )


def _keep(
    collection: Collection,
    piece_id: str,
    chosen: Sequence[ViewOnPhoto],
    face: str,
    heights_mm: tuple[float, float],
    cover_mm: float,
    together: BehindOpenwork,
) -> KeptLetters:
    parts = [
        piece_id,
        [[one.photo.id, None if one.view.measured is None else asdict(one.view.measured)] for one in chosen],
        [face, heights_mm, cover_mm],
    ]
    key = "letters-" + hashlib.sha256(json.dumps(parts, sort_keys=True).encode("utf-8")).hexdigest()[:40]
    folder = collection.cabinet.photos.derived
    sentences = [
        f"{one.view.role}: turned {placed.turn_deg:.1f} degrees"
        + ("" if placed.used else "; could not be laid on the first and was left out")
        for one, placed in zip(chosen, together.placed, strict=True)
    ]
    record = {
        "face": face,
        "heights_mm": heights_mm,
        "cover_mm": cover_mm,
        "share_one": together.share_one,
        "share_all": together.share_all,
        "photographs": sentences,
    }
    write_whole(folder / f"{key}.png", _png(cv2.cvtColor(together.picture, cv2.COLOR_RGB2BGR)))
    write_whole(folder / f"{key}-clearer.png", _png(together.clearer))
    write_whole(folder / f"{key}.json", json.dumps(record).encode("utf-8"))
    kept = kept_letters(collection, key)
    assert kept is not None
    return kept


def _png(pixels: NDArray[np.generic]) -> bytes:
    done, content = cv2.imencode(".png", np.asarray(pixels, dtype=np.uint8))
    assert done
    return content.tobytes()


def _turned(collection: Collection, one: ViewOnPhoto) -> TurnedView:
    facts = MeasuredFacts.of_view(one.view)
    size = (one.photo.width_px, one.photo.height_px)
    standing = Standing.of(
        facts.top_px,
        facts.bottom_px,
        tilt_deg=facts.tilt_deg,
        distance_mm=facts.distance_mm,
        height_mm=facts.height_mm,
        image_size=size,
    )
    return TurnedView(pixels_of(collection, one.photo).pixels, standing, turn_deg(one.view.role) or 0.0)


def _away(view: View, face: str) -> float:
    return abs(((turn_deg(view.role) or 0.0) - FACES[face] + 180) % 360 - 180)


def _place(
    its_face: str | None, its_z: tuple[float, float] | None, face: str | None, z_mm: tuple[float, float] | None
) -> str:
    """Whether an inscription is where something was read; heights may be off by 15 mm of covering and reading."""
    asked = [
        None if face is None or its_face is None else its_face == face,
        None if z_mm is None or its_z is None else its_z[0] - 15 <= z_mm[1] and z_mm[0] <= its_z[1] + 15,
    ]
    if False in asked:
        return "elsewhere"
    return "there" if True in asked else "not known"

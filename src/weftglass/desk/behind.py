"""Photographs of one face put together to what can be seen of the glass through the gaps of a covering."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from weftglass.cabinet.photo_files import write_whole
from weftglass.desk.collection import Collection
from weftglass.desk.face_scale import OwnProfile, profile_of_view
from weftglass.desk.letters import FACES
from weftglass.desk.photographs import ViewOnPhoto, pixels_of, views_of
from weftglass.desk.rolling import MeasuredFacts
from weftglass.errors import InputError
from weftglass.photos import Photograph, Standing, TurnedView, outline_from_photograph
from weftglass.photos.bar_within import told_of_ruler
from weftglass.photos.behind import MOST_VIEWS, BehindOpenwork, behind_openwork
from weftglass.records import Piece, View, turn_deg
from weftglass.vessels import Section

FloatArray = NDArray[np.float64]
KEY = re.compile(r"letters-[0-9a-f]{40}")
COLOUR = re.compile(r"#([0-9a-fA-F]{2})([0-9a-fA-F]{2})([0-9a-fA-F]{2})")
NEAREST_DEG = 75.0
FREELY_TURNED = "turned"

GLASS_FROM = {"dark": "darker than the covering: the darkest that is seen", "bare": "as the bare glass of the piece",
              "light": "lighter than the covering: the lightest that is seen"}  # fmt: skip
"""Where the colour of the glass comes from, each in words; a colour written #rrggbb will do as well."""


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
    glass : str
        Where the colour of the glass came from.
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
    glass: str
    share_one: float
    share_all: float
    photographs: tuple[str, ...]
    picture: Path
    clearer: Path


def readable_views(collection: Collection, piece_id: str) -> tuple[ViewOnPhoto, ...]:
    """Views of a piece that letters can be put together from: measured, their turn known or to be found."""
    with collection.cabinet.reading() as reader:
        reader.get(Piece, piece_id)
        return tuple(
            one
            for one in views_of(reader, piece_id)
            if one.view.measured is not None and (one.view.role == FREELY_TURNED or turn_deg(one.view.role) is not None)
        )


def turned_towards(views: Sequence[ViewOnPhoto], face: str) -> tuple[ViewOnPhoto, ...]:
    """Those of the views that show a face, the squarest first, at most as many as can be put together."""
    if face not in FACES:
        raise InputError("letters", "face", face, "one of: " + ", ".join(FACES))
    near = sorted((one for one in views if _away(one.view, face) <= NEAREST_DEG), key=lambda one: _away(one.view, face))
    return tuple(near[:MOST_VIEWS])


def put_letters_together(
    collection: Collection,
    piece_id: str,
    view_ids: Sequence[str],
    *,
    face: str,
    heights_mm: tuple[float, float],
    cover_mm: float,
    glass: str = "dark",
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
    glass : str
        One of `GLASS_FROM`, or a colour ``#rrggbb``.

    Raises
    ------
    InputError
        Unknown face or view, a colour that is none, no bare glass to take it from, or as
        `weftglass.photos.behind.behind_openwork` says.
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
    views = [_turned(collection, one, face) for one in chosen]
    own = profile_of_view(collection, chosen[0].view)
    high = min(heights_mm[1], float(own.points[-1, 0]))
    bare = [one.view.bare for one in chosen]
    unknown = [k for k, one in enumerate(chosen) if turn_deg(one.view.role) is None]
    together = _together(views, own, bare, face, (heights_mm[0], high), cover_mm, glass, where, unknown)
    return _keep(collection, piece_id, chosen, (face, (heights_mm[0], high), cover_mm, glass), together)


def put_photographs_together(
    photos: Sequence[Photograph],
    turns_deg: Sequence[float],
    *,
    face: str,
    heights_mm: tuple[float, float],
    cover_mm: float,
    glass: str = "dark",
    scale_bar: Sequence[float] | None = None,
    height_mm: float | None = None,
    where: str = "behind",
) -> BehindOpenwork:
    """
    The same from photographs of no collection, each traced first; the piece is taken to be round.

    Parameters
    ----------
    turns_deg : sequence of float
        Of each photograph, to about 12 degrees: what was at that angle to the right of the front faces the camera.
    scale_bar, height_mm
        One of the two, as for a rollout.

    Raises
    ------
    InputError
        As above, or where no outline is found.
    """
    if face not in FACES:
        raise InputError(where, "face", face, "one of: " + ", ".join(FACES))
    if len(turns_deg) != len(photos):
        raise InputError(where, "turns", len(turns_deg), f"one number for each of the {len(photos)} photographs")
    views, profiles, warnings = [], [], list[str]()
    for k, (photo, turn) in enumerate(zip(photos, turns_deg, strict=True)):
        found = outline_from_photograph(photo, scale_bar=scale_bar, height_mm=height_mm, where=f"photograph {k + 1}")
        warnings += found.measured.warnings
        facts = MeasuredFacts.of(found.measured)
        profiles.append(OwnProfile(facts.points, facts.scale_sd))
        views.append(TurnedView(photo.pixels, _stands(facts, (photo.width_px, photo.height_px)), float(turn)))
    first = min(range(len(views)), key=lambda k: abs((views[k].turn_deg - FACES[face] + 180) % 360 - 180))
    order = [first, *(k for k in range(len(views)) if k != first)]
    high = min(heights_mm[1], float(profiles[first].points[-1, 0]))
    ordered, heights = [views[k] for k in order], (heights_mm[0], high)
    together = _together(ordered, profiles[first], [()] * len(views), face, heights, cover_mm, glass, where)
    return replace(together, warnings=told_of_ruler(warnings))


def _together(
    views: Sequence[TurnedView],
    own: OwnProfile,
    bare: Sequence[Sequence[tuple[float, float]]],
    face: str,
    heights_mm: tuple[float, float],
    cover_mm: float,
    glass: str,
    where: str,
    unknown: Sequence[int] = (),
) -> BehindOpenwork:
    square = own.flat and abs(own.depth_share - 1) < 0.05
    section = Section("square" if square else "rectangle" if own.flat else "round")
    return behind_openwork(
        views, own.points, cover_mm=cover_mm, heights_mm=heights_mm, face_deg=FACES[face],
        glass_colour=_glass_colour(glass, views, own, bare, where), lightest=glass == "light", section=section,
        depth_share=own.depth_share if own.flat else 1.0, unknown_turns=unknown, where=where,
    )  # fmt: skip


def _glass_colour(
    glass: str,
    views: Sequence[TurnedView],
    own: OwnProfile,
    bare: Sequence[Sequence[tuple[float, float]]],
    where: str,
) -> tuple[float, float, float] | None:
    """Red, green and blue, 0 to 1, or None where it is to be found."""
    if glass in ("dark", "light"):
        return None
    typed = COLOUR.fullmatch(glass.strip())
    if typed is not None:
        red, green, blue = (int(part, 16) / 255 for part in typed.groups())
        return red, green, blue
    if glass != "bare":
        raise InputError(where, "glass", glass, "a colour #rrggbb, or one of: " + ", ".join(GLASS_FROM))
    seen = [_on_bare(view, own, low, high) for view, ranges in zip(views, bare, strict=True) for low, high in ranges]
    colours = np.concatenate([*seen, np.zeros((0, 3))])
    if not len(colours):
        raise InputError(where, "glass", glass, "bare glass marked on the outline of one of these photographs first")
    red, green, blue = (float(value) for value in np.median(colours, axis=0) / 255)
    return red, green, blue


def _on_bare(view: TurnedView, own: OwnProfile, low: float, high: float) -> FloatArray:
    """Colours of the photograph over the middle of a bare height range."""
    z, across = np.meshgrid(
        np.linspace(low + 0.2 * (high - low), high - 0.2 * (high - low), 30), np.linspace(-0.6, 0.6, 30)
    )
    half = np.interp(z, *own.points.T)
    x, y = np.rint(view.standing.pixels(np.stack([across * half, -half, z], axis=-1))).astype(int).T
    tall, wide = view.pixels.shape[:2]
    inside = (x >= 0) & (x < wide) & (y >= 0) & (y < tall)
    return np.asarray(view.pixels[y[inside], x[inside]], dtype=np.float64)


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
        record["glass"],
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
    asked: tuple[str, tuple[float, float], float, str],
    together: BehindOpenwork,
) -> KeptLetters:
    face, heights_mm, cover_mm, glass = asked
    parts = [
        piece_id,
        [[one.photo.id, None if one.view.measured is None else asdict(one.view.measured)] for one in chosen],
        [face, heights_mm, cover_mm, glass],
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
        "glass": glass,
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


def _turned(collection: Collection, one: ViewOnPhoto, face: str) -> TurnedView:
    facts = MeasuredFacts.of_view(one.view)
    turn = turn_deg(one.view.role)
    standing = _stands(facts, (one.photo.width_px, one.photo.height_px))
    return TurnedView(pixels_of(collection, one.photo).pixels, standing, FACES[face] if turn is None else turn)


def _stands(facts: MeasuredFacts, size_px: tuple[int, int]) -> Standing:
    return Standing.of(
        facts.top_px, facts.bottom_px, tilt_deg=facts.tilt_deg, distance_mm=facts.distance_mm,
        height_mm=facts.height_mm, image_size=size_px,
    )  # fmt: skip


def _away(view: View, face: str) -> float:
    """Degrees from the face; a view that was turned nobody knows how far comes last of those that will do."""
    turn = turn_deg(view.role)
    return NEAREST_DEG if turn is None else abs((turn - FACES[face] + 180) % 360 - 180)

"""Photographs and views: taking files in, giving them a role, and the copies that pages show."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from weftglass.cabinet.cabinet import Draft, Reader
from weftglass.desk.collection import Collection
from weftglass.desk.wording import photograph_words, signature
from weftglass.errors import InputError, Unfit
from weftglass.photos import Photograph, read_photograph, thumbnail_jpeg, without_camera_notes
from weftglass.records import SHORT, Photo, Piece, View, checked_role, words

MAX_PHOTO_BYTES = 100 * 2**20
SIZES: dict[str, int | None] = {"small": 480, "large": 1600, "whole": None}
"""Sizes of the copies shown: longest side in pixels; ``whole`` has every pixel of the upright original."""


@dataclass(frozen=True)
class ViewOnPhoto:
    """A view with the photograph it is on."""

    view: View
    photo: Photo


@dataclass(frozen=True)
class ReadPhoto:
    """A photograph file that was decoded and can be stored."""

    photo: Photo
    content: bytes


def import_photos(collection: Collection, files: Sequence[tuple[str, bytes]], *, who: str) -> tuple[Photo, ...]:
    """
    Take photograph files in: all of them or none.

    Parameters
    ----------
    files : sequence of (file name, content)
        JPEG, PNG, TIFF, WebP or HEIC, at most 100 MiB each.

    Returns
    -------
    tuple of Photo
        One for each file, in order; a file the collection has already gives the photograph it has.

    Raises
    ------
    InputError
        If one is no picture, cut off or too large; nothing is stored then.
    """
    read = read_photos(files)
    with collection.cabinet.writing(signature(who)) as draft:
        return file_photos(collection, draft, read)


def add_view(
    collection: Collection, piece_id: str, photo_id: str, role: str = "front", *, who: str, caption: str = ""
) -> View:
    """
    Show a piece on a photograph.

    Parameters
    ----------
    photo_id : str
        SHA-256 of a photograph of the collection.
    role : str
        front, side, back, base, lip, close-up, or a turn such as ``turn 07/12``.

    Raises
    ------
    InputError
        Unknown piece or photograph, wrong role, or the piece has a view on this photograph already.
    """
    role, caption = checked_role(role), words(caption, "view", "caption", longest=SHORT)
    with collection.cabinet.writing(signature(who)) as draft:
        piece, photo = draft.get(Piece, piece_id), draft.get(Photo, photo_id)
        _refuse_second(draft, piece, photo)
        new = View(id=_view_id(draft, piece), piece=piece.id, photo=photo.id, role=role, caption=caption)
        return draft.put(new)


def add_photos_to_piece(
    collection: Collection, piece_id: str, files: Sequence[tuple[str, bytes]], *, who: str, role: str | None = None
) -> tuple[View, ...]:
    """
    Take photograph files in as views of a piece: all of them or none.

    Parameters
    ----------
    files : sequence of (file name, content)
    role : str or None
        Of all of them; None: the first becomes the front where the piece has none yet, the others close-ups.

    Returns
    -------
    tuple of View
        The new ones; a file that the piece shows already is passed over.
    """
    read = read_photos(files)
    wanted = None if role is None else checked_role(role)
    with collection.cabinet.writing(signature(who)) as draft:
        piece = draft.get(Piece, piece_id)
        standing = draft.all_of(View, piece=piece.id)
        added: list[View] = []
        for photo in dict.fromkeys(file_photos(collection, draft, read)):
            if any(view.photo == photo.id for view in standing):
                continue
            front = any(view.role == "front" for view in (*standing, *added))
            given = wanted or ("close-up" if front else "front")
            added.append(draft.put(View(id=_view_id(draft, piece), piece=piece.id, photo=photo.id, role=given)))
        return tuple(added)


def get_view(collection: Collection, view_id: str) -> ViewOnPhoto:
    """A view with its photograph."""
    with collection.cabinet.reading() as reader:
        view = reader.get(View, view_id)
        return ViewOnPhoto(view, reader.get(Photo, view.photo))


def get_photo(collection: Collection, photo_id: str) -> Photo:
    """A photograph's record by its SHA-256."""
    with collection.cabinet.reading() as reader:
        return reader.get(Photo, photo_id)


def edit_view(
    collection: Collection,
    view_id: str,
    *,
    who: str,
    role: str | None = None,
    caption: str | None = None,
    version: int | None = None,
) -> View:
    """Change role or caption of a view; what is None stays."""
    changes: dict[str, Any] = {} if role is None else {"role": checked_role(role)}
    if caption is not None:
        changes["caption"] = words(caption, photograph_words(view_id), "caption", longest=SHORT)
    with collection.cabinet.writing(signature(who)) as draft:
        view = draft.get(View, view_id)
        return draft.put(replace(view, version=view.version if version is None else version, **changes))


def withdraw_view(collection: Collection, view_id: str, *, who: str, version: int | None = None) -> View:
    """Take a view off a piece; the photograph stays in the collection and the view can be brought back."""
    with collection.cabinet.writing(signature(who)) as draft:
        view = draft.get(View, view_id)
        read = view.version if version is None else version
        return draft.put(replace(view, withdrawn=True, version=read), "withdrawn")


def restore_view(collection: Collection, view_id: str, *, who: str, version: int | None = None) -> View:
    """Bring a withdrawn view back."""
    with collection.cabinet.writing(signature(who)) as draft:
        view = draft.get(View, view_id)
        read = view.version if version is None else version
        return draft.put(replace(view, withdrawn=False, version=read), "brought back")


def picture_path(collection: Collection, photo_id: str, size: str = "small") -> Path:
    """
    Where a JPEG copy of a photograph lies: upright, without what the camera wrote beside it; made where missing.

    Parameters
    ----------
    size : str
        ``small`` (480 pixels), ``large`` (1,600) or ``whole`` (same pixels as outlines are given in).
    """
    if size not in SIZES:
        raise InputError("picture", "size", size, "one of: " + ", ".join(SIZES))
    photo = get_photo(collection, photo_id)
    place = collection.cabinet.photos.derived_path(photo, size)
    if place.is_file():
        return place
    picture, side = pixels_of(collection, photo), SIZES[size]
    copy = without_camera_notes(picture) if side is None else thumbnail_jpeg(picture, side)
    return collection.cabinet.photos.keep_derived(photo, size, copy)


def original_path(collection: Collection, photo_id: str) -> Path:
    """Where the original file lies, untouched."""
    return collection.cabinet.photos.path_of(get_photo(collection, photo_id))


def pixels_of(collection: Collection, photo: Photo) -> Photograph:
    """A photograph of the collection, decoded."""
    return read_photograph(collection.cabinet.photos.read(photo), photo.name)


def views_of(reader: Reader, piece_id: str) -> list[ViewOnPhoto]:
    """Views of a piece that stand, oldest first."""
    return [ViewOnPhoto(view, reader.get(Photo, view.photo)) for view in reader.all_of(View, piece=piece_id)]


def read_photos(files: Sequence[tuple[str, bytes]]) -> list[ReadPhoto]:
    """Decode files, to see that each is a picture and what it is."""
    return [_read_photo(words(name, "photograph", "name", longest=255, needed=True), body) for name, body in files]


def file_photos(collection: Collection, draft: Draft, read: Sequence[ReadPhoto]) -> tuple[Photo, ...]:
    """Store decoded files within a transaction; a file that is stored but whose record is not is only stray."""
    stored = []
    for item in read:
        known = draft.find(Photo, item.photo.id)
        collection.cabinet.photos.keep(known or item.photo, item.content)
        stored.append(known or draft.put(item.photo))
    return tuple(stored)


def _read_photo(name: str, content: bytes) -> ReadPhoto:
    if len(content) > MAX_PHOTO_BYTES:
        wrong = f"the file has {len(content) / 2**20:.0f} MiB"
        raise Unfit(name, "photograph", wrong, f"a photograph of at most {MAX_PHOTO_BYTES // 2**20} MiB")
    picture = read_photograph(content, name)
    photo = Photo(
        id=hashlib.sha256(content).hexdigest(),
        name=name,
        format=picture.format,
        size_bytes=len(content),
        width_px=picture.width_px,
        height_px=picture.height_px,
        focal_35mm=picture.focal_35mm,
        taken=picture.taken,
        warnings=picture.warnings,
    )
    return ReadPhoto(photo, content)


def _view_id(draft: Draft, piece: Piece) -> str:
    return draft.numbered_id(View, f"{piece.id}.view")


def _refuse_second(draft: Draft, piece: Piece, photo: Photo) -> None:
    if any(view.photo == photo.id for view in draft.all_of(View, piece=piece.id)):
        raise InputError("view", "photograph", photo.name, "one that this piece does not show yet")

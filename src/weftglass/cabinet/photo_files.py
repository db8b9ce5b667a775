"""The photographs of a collection: originals untouched, named by content; smaller copies that can be made again."""

from __future__ import annotations

import hashlib
import os
import re
import secrets
from dataclasses import dataclass
from pathlib import Path

from weftglass.errors import CabinetError
from weftglass.records import FORMATS, Photo

ENDINGS = dict(zip(FORMATS, ("jpg", "png", "tif", "webp", "heic"), strict=True))
NAME = re.compile(r"([0-9a-f]{64})\.(?:" + "|".join(ENDINGS.values()) + ")")


@dataclass(frozen=True)
class PhotoFiles:
    """
    The folders ``photos`` and ``derived`` of a collection.

    Parameters
    ----------
    folder : Path
        The collection's folder.
    """

    folder: Path

    @property
    def originals(self) -> Path:
        """Where the originals lie."""
        return self.folder / "photos"

    @property
    def derived(self) -> Path:
        """Where copies lie that can be made again."""
        return self.folder / "derived"

    def path_of(self, photo: Photo) -> Path:
        """Where the original of a photograph lies."""
        return self.originals / file_name(photo)

    def read(self, photo: Photo) -> bytes:
        """The original, byte for byte."""
        try:
            return self.path_of(photo).read_bytes()
        except OSError as fault:
            raise CabinetError(f"The file of photograph {photo.name} cannot be read: {fault.strerror}.") from fault

    def keep(self, photo: Photo, content: bytes) -> None:
        """
        Put an original in its place; one that is there already is left alone.

        Written under a temporary name, flushed to the disk, then renamed: a file with the right name is whole.
        """
        place = self.path_of(photo)
        if place.exists() and sha256_of(place) == photo.sha256:
            return
        write_whole(place, content)

    def derived_path(self, photo: Photo, size: str) -> Path:
        """Where a copy of the given size (a word) lies or will lie."""
        return self.derived / f"{photo.sha256}-{size}.jpg"

    def keep_derived(self, photo: Photo, size: str, content: bytes) -> Path:
        """Put a copy in its place."""
        place = self.derived_path(photo, size)
        write_whole(place, content)
        return place

    def stray(self, known: set[str]) -> list[Path]:
        """Files among the originals that belong to no photograph of the collection, given the known file names."""
        if not self.originals.is_dir():
            return []
        return sorted(place for place in self.originals.iterdir() if place.name not in known)


def file_name(photo: Photo) -> str:
    """Name of the original's file: its SHA-256 and the usual ending of its format."""
    return f"{photo.sha256}.{ENDINGS[photo.format]}"


def sha256_of(place: Path) -> str:
    """SHA-256 of a file, read piece by piece."""
    digest = hashlib.sha256()
    with place.open("rb") as file:
        while chunk := file.read(2**20):
            digest.update(chunk)
    return digest.hexdigest()


def write_whole(place: Path, content: bytes) -> None:
    """
    Write a file so that it is there whole or not at all, also after a power cut.

    Raises
    ------
    CabinetError
        If the disk is full or the folder cannot be written.
    """
    temporary = place.with_name(f".{place.name}.{secrets.token_hex(4)}")
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        with temporary.open("xb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        os.replace(temporary, place)
        _flush_folder(place.parent)
    except OSError as fault:
        temporary.unlink(missing_ok=True)
        raise CabinetError(f"{place.name} could not be written: {fault.strerror}. Nothing was changed.") from fault


def _flush_folder(folder: Path) -> None:
    """Make a rename last; systems that cannot open folders do it by themselves."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)

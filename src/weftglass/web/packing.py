"""A folder as one zip file and back, refusing anything in a zip that is not a plain file inside it."""

from __future__ import annotations

import shutil
import zipfile
from pathlib import Path, PurePosixPath
from typing import IO

from weftglass.errors import InputError, Unfit, shortened

MOST_FILES = 100_000
MOST_BYTES = 20 * 2**30
STORED = (".jpg", ".png", ".tif", ".webp", ".heic")


def pack(folder: Path, target: Path) -> None:
    """Write all files of a folder into a zip; photographs are stored as they are, text is packed."""
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as packed:
        for place in sorted(folder.rglob("*")):
            if place.is_file():
                kind = zipfile.ZIP_STORED if place.suffix in STORED else zipfile.ZIP_DEFLATED
                packed.write(place, place.relative_to(folder).as_posix(), kind)


def unpack(source: IO[bytes], where: str, folder: Path) -> None:
    """
    Write the files of a zip into an empty folder.

    Raises
    ------
    InputError
        No zip, a damaged one, a path that leads outside, a link, or more than would be reasonable.
    """
    try:
        with zipfile.ZipFile(source) as packed:
            items = [item for item in packed.infolist() if not item.is_dir()]
            _check(items, where)
            for item in items:
                place = folder.joinpath(*PurePosixPath(item.filename).parts)
                place.parent.mkdir(parents=True, exist_ok=True)
                with packed.open(item) as body, place.open("xb") as file:
                    shutil.copyfileobj(body, file)
    except (zipfile.BadZipFile, EOFError, FileExistsError, NotImplementedError, RuntimeError, ValueError) as fault:
        wrong = f"the zip file cannot be unpacked ({shortened(str(fault), quoted=False)})"
        raise Unfit(where, "zip", wrong, "one that was written out here and is whole") from None


def _check(items: list[zipfile.ZipInfo], where: str) -> None:
    if len(items) > MOST_FILES or sum(item.file_size for item in items) > MOST_BYTES:
        wrong = f"the zip file holds {len(items)} files, {sum(item.file_size for item in items) / 1e9:.1f} GB unpacked"
        raise Unfit(where, "zip", wrong, f"at most {MOST_FILES} files and 20 GB unpacked")
    for item in items:
        path = PurePosixPath(item.filename)
        is_link = (item.external_attr >> 16) & 0o170000 == 0o120000
        if path.is_absolute() or ".." in path.parts or "\\" in item.filename or ":" in item.filename or is_link:
            raise InputError(where, "zip", item.filename, "plain files inside the zip, no links or paths outside")

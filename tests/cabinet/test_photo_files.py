"""Originals are written whole or not at all, and never again."""

from __future__ import annotations

import errno
import hashlib
import os
from pathlib import Path

import pytest

from weftglass.cabinet.photo_files import PhotoFiles, write_whole
from weftglass.errors import CabinetError
from weftglass.records import Photo


def photo_of(content: bytes) -> Photo:
    """A photograph's record for some bytes."""
    name = hashlib.sha256(content).hexdigest()
    return Photo(id=name, name="a.png", format="PNG", size_bytes=len(content), width_px=1, height_px=1)


def test_original_is_kept_byte_for_byte(tmp_path: Path) -> None:
    """Name by content, content untouched, nothing else in the folder."""
    files, content = PhotoFiles(tmp_path), b"any bytes\0\xff"
    files.keep(photo_of(content), content)
    assert [place.name for place in files.originals.iterdir()] == [f"{hashlib.sha256(content).hexdigest()}.png"]
    assert files.read(photo_of(content)) == content


def test_damaged_original_is_put_right_when_handed_in_again(tmp_path: Path) -> None:
    """A file whose content no longer has its hash is replaced by the right one."""
    files, content = PhotoFiles(tmp_path), b"content"
    photo = photo_of(content)
    files.keep(photo, content)
    files.path_of(photo).write_bytes(b"damaged")
    files.keep(photo, content)
    assert files.read(photo) == content


def test_whole_file_or_none_when_the_disk_is_full(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A failure while writing leaves the old file and no half one."""
    place = tmp_path / "kept"
    place.write_bytes(b"old")

    def full(_handle: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(CabinetError, match="No space left"):
        write_whole(place, b"new")
    assert place.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [place]


def test_missing_original_is_said(tmp_path: Path) -> None:
    """A file that somebody removed gives one sentence with the photograph's name."""
    with pytest.raises(CabinetError, match=r"a\.png"):
        PhotoFiles(tmp_path).read(photo_of(b"gone"))

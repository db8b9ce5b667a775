"""Files that a person named, read whole: one way for all, with one sentence for each that cannot be used."""

from __future__ import annotations

import stat
from pathlib import Path

from weftglass.errors import UnusableFile

MOST_BYTES = 512 * 2**20


def read_file(place: Path, expected: str, *, most_bytes: int = MOST_BYTES) -> bytes:
    """
    The bytes of a file.

    Parameters
    ----------
    place : Path
    expected : str
        What the file should be, for the message: ``"a photograph"``.
    most_bytes : int

    Raises
    ------
    UnusableFile
        If it is not there, a folder, empty, too large, no plain file, or not to be read.
    """
    try:
        found = place.stat()
        wrong = _wrong(found.st_mode, found.st_size, most_bytes)
        if wrong:
            raise UnusableFile(str(place), "file", wrong, expected)
        return place.read_bytes()
    except OSError as fault:
        raise UnusableFile(str(place), "file", _why(fault), expected) from None


def read_text(place: Path, expected: str, *, most_bytes: int = MOST_BYTES) -> str:
    """Text of a UTF-8 file, a byte order mark removed; as `read_file`, and refused where it is no such text."""
    try:
        return read_file(place, expected, most_bytes=most_bytes).decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        raise UnusableFile(str(place), "file", f"its byte {fault.start} is no UTF-8 text", expected) from None


def _wrong(mode: int, size: int, most_bytes: int) -> str:
    """What is wrong with a file by its kind and size; empty where nothing is."""
    if stat.S_ISDIR(mode):
        return "that is a folder"
    if not stat.S_ISREG(mode):
        return "that is no plain file"
    if size == 0:
        return "the file is empty"
    return f"the file has over {most_bytes / 2**20:g} MiB" if size > most_bytes else ""


def _why(fault: OSError) -> str:
    if isinstance(fault, FileNotFoundError | NotADirectoryError):
        return "there is no such file"
    if isinstance(fault, PermissionError):
        return "you have no right to read it"
    return f"the system cannot read it ({fault.strerror})"

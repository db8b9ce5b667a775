"""A photograph as it was handed in: the file itself stays untouched, this says what it is."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import ClassVar

from weftglass.errors import InputError
from weftglass.records.shared import Record

FORMATS = ("JPEG", "PNG", "TIFF", "WebP", "HEIC")
SHA256 = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True, kw_only=True)
class Photo(Record):
    """
    One photograph file, known by its content.

    Parameters
    ----------
    id : str
        SHA-256 of the file, 64 hexadecimal digits.
    name : str
        The file's name when it was handed in.
    format : str
        JPEG, PNG, TIFF, WebP or HEIC.
    size_bytes : int
        Of the file.
    width_px, height_px : int
        Of the upright picture.
    focal_35mm : float or None
        Focal length as on 35 mm film, mm; None where the camera wrote none.
    taken : str or None
        When, ``YYYY-MM-DDTHH:MM:SS`` without a zone, as the camera wrote it.
    warnings : tuple of str
        What decoding had to say.
    """

    KIND: ClassVar[str] = "photograph"
    PLURAL: ClassVar[str] = "photographs"
    FINAL: ClassVar[str] = "one that is not a photograph: photographs stay; take the view off the piece instead"

    name: str
    format: str
    size_bytes: int
    width_px: int
    height_px: int
    focal_35mm: float | None = None
    taken: str | None = None
    warnings: tuple[str, ...] = ()

    @property
    def sha256(self) -> str:
        """SHA-256 of the file: its id."""
        return self.id

    @property
    def about(self) -> str:
        """The file's name."""
        return self.name

    def check_fields(self, where: str) -> None:
        """Known by a hash, of a known format, with pixels."""
        if not SHA256.fullmatch(self.id):
            raise InputError(where, "id", self.id, "a SHA-256 of 64 hexadecimal digits")
        if self.format not in FORMATS:
            raise InputError(where, "format", self.format, "one of: " + ", ".join(FORMATS))
        if min(self.width_px, self.height_px, self.size_bytes) < 1:
            raise InputError(where, "width_px", self.width_px, "a picture with pixels")

"""A photograph as it was handed in: the file itself stays untouched, this says what it is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from weftglass.records.shared import Record


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

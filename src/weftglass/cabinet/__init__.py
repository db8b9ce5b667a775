"""Where a collection is kept: one database, the photographs untouched beside it, and every change with who and when."""

from weftglass.cabinet.cabinet import Cabinet, Draft, Reader
from weftglass.cabinet.listing import Cover, LatestAnswer
from weftglass.cabinet.photo_files import PhotoFiles

__all__ = ["Cabinet", "Cover", "Draft", "LatestAnswer", "PhotoFiles", "Reader"]

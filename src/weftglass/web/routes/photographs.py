"""Photographs by their hash: copies for the pages, and the untouched original."""

from __future__ import annotations

from starlette.responses import FileResponse, Response
from starlette.routing import Route

from weftglass.desk import get_photo, get_piece_dossier, original_path, picture_path
from weftglass.web.door import Asked, door
from weftglass.web.pages.photographs import photographs_facts
from weftglass.web.rendering import page

FOREVER = "private, max-age=31536000, immutable"
MEDIA_TYPES = {
    "JPEG": "image/jpeg",
    "PNG": "image/png",
    "TIFF": "image/tiff",
    "WebP": "image/webp",
    "HEIC": "image/heic",
}


def picture(asked: Asked) -> Response:
    """An upright JPEG copy; a hash never changes its picture, so browsers may keep it."""
    place = picture_path(asked.collection, asked.path["photo"], asked.path["size"])
    return FileResponse(place, media_type="image/jpeg", headers={"cache-control": FOREVER})


def original(asked: Asked) -> Response:
    """The file as it was handed in, as a download."""
    photo = get_photo(asked.collection, asked.path["photo"])
    place, kind = original_path(asked.collection, photo.id), MEDIA_TYPES[photo.format]
    return FileResponse(place, media_type=kind, filename=photo.name, headers={"cache-control": FOREVER})


def photographs_page(asked: Asked) -> Response:
    """All photographs of a piece."""
    dossier = get_piece_dossier(asked.collection, asked.path["piece"])
    return page(asked.request, "photographs.html", photographs_facts(dossier, asked.fault))


PHOTOGRAPH_ROUTES = [
    Route("/piece/{piece}/photographs", door(photographs_page)),
    Route("/photograph/{photo}/original", door(original)),
    Route("/photograph/{photo}/{size}", door(picture)),
]

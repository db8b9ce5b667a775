"""Out and in: the whole collection as one file, and loading one into an empty collection."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

from starlette.background import BackgroundTask
from starlette.responses import FileResponse, Response
from starlette.routing import Route

from weftglass.desk import count_pieces, load_in, write_out
from weftglass.errors import InputError
from weftglass.web.door import Asked, door, see_other
from weftglass.web.limits import MAX_BODY_BYTES
from weftglass.web.packing import pack, unpack
from weftglass.web.pages.carry import CarryFacts
from weftglass.web.rendering import page


def carry_page(asked: Asked) -> Response:
    """What can be carried out, and in."""
    count = count_pieces(asked.collection)
    words = f"{count} piece{'s' if count != 1 else ''}"
    return page(asked.request, "carry.html", CarryFacts(words, count == 0, asked.fault))


def carry_out(asked: Asked) -> Response:
    """The collection written out, as a zip file."""
    scratch = Path(tempfile.mkdtemp(prefix="weftglass-out-"))
    clean = BackgroundTask(shutil.rmtree, scratch, ignore_errors=True)
    try:
        write_out(asked.collection, scratch / "written")
        pack(scratch / "written", scratch / "collection.zip")
    except BaseException:
        shutil.rmtree(scratch, ignore_errors=True)
        raise
    name = f"{asked.collection.name}.zip"
    return FileResponse(scratch / "collection.zip", media_type="application/zip", filename=name, background=clean)


def carry_in(asked: Asked) -> Response:
    """A written-out collection loaded into this empty one: all of it or nothing."""
    sent = asked.upload("file")
    if sent is None:
        raise InputError("load in", "file", None, "a zip file that was written out")
    with tempfile.TemporaryDirectory(prefix="weftglass-in-") as scratch:
        unpack(sent.file, sent.filename or "zip file", Path(scratch))
        load_in(asked.collection, Path(scratch))
    return see_other("/")


CARRY_ROUTES = [
    Route("/carry", door(carry_page)),
    Route("/carry/out", door(carry_out), methods=["POST"]),
    Route("/carry/in", door(carry_in, again=carry_page, largest=MAX_BODY_BYTES), methods=["POST"]),
]

"""A collection with one drawn piece, and the pictures it is drawn in."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PIL import Image, ImageDraw

from tests.cabinet.conftest import ticking
from weftglass.desk import Collection, create_piece, get_piece_dossier, open_collection, save_outline, set_scale
from weftglass.records import Piece, ScaleBar, View

BOTTLE = [[270, 120], [330, 120], [330, 300], [400, 340], [400, 850], [200, 850], [200, 340], [270, 300]]
"""Outline of the drawn bottle, pixels; with the bar below, 0.4 mm a pixel."""

BAR = ScaleBar(20.0, 100.0, 20.0, 600.0, 200.0, in_axis_plane=True)


def picture(colour: str = "#7a4a20", kind: str = "JPEG") -> bytes:
    """A file with a bottle drawn on white."""
    image = Image.new("RGB", (600, 900), "white")
    ImageDraw.Draw(image).polygon([(x, y) for x, y in BOTTLE], fill=colour)
    written = io.BytesIO()
    image.save(written, kind)
    return written.getvalue()


@pytest.fixture
def collection(new_collection: Callable[[str], Path]) -> Iterator[Collection]:
    """An empty collection whose clock ticks once a second."""
    with open_collection(new_collection("coast"), clock=ticking()) as opened:
        yield opened


@pytest.fixture
def piece(collection: Collection) -> Piece:
    """A piece with one photograph."""
    return create_piece(collection, "Willow bottle", who="Mira", photos=[("front.jpg", picture())], technique="twining")


@pytest.fixture
def view(collection: Collection, piece: Piece) -> View:
    """Its front view, as it was added."""
    return get_piece_dossier(collection, piece.id).views[0].view


@pytest.fixture
def measured(collection: Collection, view: View) -> View:
    """Its front view with outline and scale."""
    save_outline(collection, view.id, BOTTLE, who="Mira")
    return set_scale(collection, view.id, BAR, who="Mira")

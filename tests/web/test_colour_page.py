"""Sampling the colour of the glass on a photograph, and keeping it as a sighting."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image
from starlette.testclient import TestClient

from tests.web.conftest import OURS, posted
from weftglass.desk import Collection, create_piece, evidence_of, get_piece_dossier
from weftglass.desk.colours import sample_colour
from weftglass.errors import InputError
from weftglass.weave.colour import lab_of_srgb

AMBER = (150, 88, 20)


@pytest.fixture
def view(collection: Collection) -> str:
    """Id of a view: an amber window in a brown covering, white paper above."""
    image = Image.new("RGB", (300, 400), (110, 90, 60))
    image.paste((255, 255, 255), (0, 0, 300, 100))
    image.paste(AMBER, (100, 200, 180, 280))
    place = io.BytesIO()
    image.save(place, "PNG")
    piece = create_piece(collection, "No. 5", who="Ada", photos=[("window.png", place.getvalue())])
    return get_piece_dossier(collection, piece.id).views[0].view.id


def test_spot_reads_the_colour_that_is_there(collection: Collection, view: str) -> None:
    """CIELAB of the window's own colour, called amber first."""
    sample = sample_colour(collection, view, 140, 240, 12)
    np.testing.assert_allclose(sample.lab, lab_of_srgb(np.array(AMBER) / 255), atol=0.5)
    assert sample.nearest[0][0] in ("amber", "brown", "dead leaf", "red brown")
    assert sum(chance for _, chance in sample.nearest) <= 1.0


@pytest.mark.parametrize(
    ("x", "y", "radius", "field"),
    [
        (500, 240, 12, "x"),
        (140, -3, 12, "y"),
        (140, 240, 1000, "radius"),
        (140, 240, 1, "radius"),
        (150, 40, 12, "spot"),
    ],
    ids=["beside", "above", "too wide", "too small", "overexposed"],
)
def test_spot_that_tells_nothing_is_refused(
    collection: Collection, view: str, x: float, y: float, radius: float, field: str
) -> None:
    """Outside, too small, or white paper: one sentence names the field."""
    with pytest.raises(InputError) as fault:
        sample_colour(collection, view, x, y, radius)
    assert fault.value.field == field


def test_page_reads_then_keeps(client: TestClient, collection: Collection, view: str) -> None:
    """Read, nothing is kept; kept, it is a colour sighting that says where it was sampled."""
    address = f"/piece/no-5/colour/{view}"
    assert "Click where light comes through" in client.get(address).text
    spot = {"form": "spot", "x": "140", "y": "240", "radius": "12"}
    read = client.post(address, data=spot, headers={"origin": OURS, "accept": "text/html"})
    assert read.status_code == 200
    assert "What was read" in read.text
    assert evidence_of(collection, "no-5").is_empty
    assert posted(client, f"{address}/keep", **spot) == (303, "/piece/no-5/inside")
    kept = evidence_of(collection, "no-5").sightings
    assert [(one.feature, one.sure) for one in kept] == [("colour", 0.7)]
    assert kept[0].value.startswith("lab ")
    assert client.post(address, data=spot | {"x": "wide"}, headers={"origin": OURS}).status_code == 422

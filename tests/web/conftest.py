"""A collection behind its pages, for the tests."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from tests.web.photograph import Staged, staged
from weftglass.desk import Collection, create_piece
from weftglass.web import create_app

OURS = "http://127.0.0.1:8417"


@pytest.fixture(scope="session")
def photograph() -> Staged:
    """One staged photograph for all tests."""
    return staged()


@pytest.fixture
def client(new_collection: Callable[[str], Path]) -> Iterator[TestClient]:
    """A browser-like client of an empty collection; redirects are not followed."""
    with TestClient(create_app(new_collection("shelf")), base_url=OURS, follow_redirects=False) as opened:
        yield opened


@pytest.fixture
def collection(client: TestClient) -> Collection:
    """The collection that the client sees."""
    opened: Collection = client.app.state.collection  # type: ignore[attr-defined]
    return opened


@pytest.fixture
def piece(collection: Collection, photograph: Staged) -> str:
    """Id of a piece with one front photograph, not yet traced."""
    return create_piece(collection, "No. 7, a flask", who="Ada", photos=[("flask.jpg", photograph.jpeg)]).id


def posted(client: TestClient, address: str, **fields: str) -> tuple[int, str]:
    """Post a form as a browser does; status, and where it leads or what it says."""
    reply = client.post(address, data=fields, headers={"origin": OURS, "accept": "text/html"})
    return reply.status_code, reply.headers.get("location", reply.text)

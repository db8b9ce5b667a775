"""The gate before the pages: hosts, origins and headers, without any page behind it."""

from __future__ import annotations

import pytest
from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import PlainTextResponse
from starlette.routing import Route
from starlette.testclient import TestClient

from weftglass.web.guard import CONTENT_POLICY, Gate


def gated(host: str = "127.0.0.1") -> TestClient:
    """A client of a one-page application behind the gate."""

    def said(request: Request) -> PlainTextResponse:
        return PlainTextResponse(request.method)

    app = Starlette(routes=[Route("/", said, methods=["GET", "POST"])], middleware=[Middleware(Gate, host=host)])
    return TestClient(app, base_url="http://127.0.0.1:8417")


@pytest.mark.parametrize("host", ["127.0.0.1", "127.0.0.1:8417", "localhost:9", "LOCALHOST", "[::1]:8417"])
def test_gate_lets_loopback_names_in(host: str) -> None:
    """Each usual name of this computer, with or without a port, is answered."""
    assert gated().get("/", headers={"host": host}).status_code == 200


@pytest.mark.parametrize(
    "host", ["rebind.example", "127.0.0.1.rebind.example", "localhost.example:8417", "192.168.1.5", "", "[::2]"]
)
def test_gate_refuses_other_names_with_one_sentence(host: str) -> None:
    """A page of another site that was made to point here (DNS rebinding) reads nothing."""
    reply = gated().get("/", headers={"host": host, "accept": "application/json"})
    assert reply.status_code == 400
    assert reply.json()["error"]["sentence"].startswith("This collection answers only to")


@pytest.mark.parametrize("origin", ["http://127.0.0.1:8417"])
def test_gate_lets_its_own_pages_post(origin: str) -> None:
    """A form of our own page carries our own origin."""
    assert gated().post("/", headers={"origin": origin}).status_code == 200


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://evil.example"},
        {"origin": "http://127.0.0.1:9999"},
        {"origin": "null"},
        {"origin": "http://127.0.0.1:8417.evil.example"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
    ],
)
def test_gate_refuses_posts_of_other_sites(headers: dict[str, str]) -> None:
    """Another site, another port, a sandboxed frame, or a browser that says 'cross-site' changes nothing."""
    reply = gated().post("/", headers={**headers, "accept": "application/json"})
    assert reply.status_code == 403
    assert reply.json()["error"]["sentence"].endswith("Nothing was changed.")


def test_gate_lets_programs_without_a_browser_post() -> None:
    """A script sends neither Origin nor Sec-Fetch-Site and cannot be tricked by a page."""
    assert gated().post("/").status_code == 200


@pytest.mark.parametrize(("host", "status"), [("192.168.1.5:8417", 200), ("[fe80::1]", 200), ("shelf.example", 400)])
def test_gate_on_every_address_answers_numbers_only(host: str, status: int) -> None:
    """Listening everywhere, an address in numbers is let in; a name, which rebinding needs, is not."""
    assert gated("0.0.0.0").get("/", headers={"host": host}).status_code == status


def test_every_answer_carries_the_strict_policy() -> None:
    """No inline script, no inline style, nothing from elsewhere; also on refusals."""
    assert "'unsafe" not in CONTENT_POLICY
    assert "script-src 'self'" in CONTENT_POLICY
    for headers in ({}, {"host": "rebind.example"}):
        reply = gated().get("/", headers=headers)
        assert reply.headers["content-security-policy"] == CONTENT_POLICY
        assert reply.headers["x-content-type-options"] == "nosniff"


def test_refusal_as_a_page_shows_the_same_sentence() -> None:
    """People get a page, with the sentence that scripts get as JSON."""
    reply = gated().get("/", headers={"host": "rebind.example", "accept": "text/html"})
    assert reply.headers["content-type"].startswith("text/html")
    assert "This collection answers only to" in reply.text

"""The gate before every page: which hosts may be addressed, which sites may post, what a page may load."""

from __future__ import annotations

import ipaddress
from collections.abc import Iterable

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from weftglass.web.refusal import refusal_response

LOOPBACK_HOSTS = frozenset({"127.0.0.1", "localhost", "[::1]"})
ANY_ADDRESS = frozenset({"0.0.0.0", "::"})
READING_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})

CONTENT_POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' blob: data:",
        "connect-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
        "manifest-src 'self'",
    )
)
PAGE_HEADERS = {
    "content-security-policy": CONTENT_POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",  # 'no-referrer' would make browsers post with Origin: null
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
}


class Gate:
    """
    ASGI middleware: refuses foreign hosts (DNS rebinding) and foreign posts, and sets the page headers.

    Parameters
    ----------
    app : ASGI application
    host : str
        The address the server listens on. Loopback names are always answered; for ``0.0.0.0`` or ``::`` any address
        written as numbers is, because a rebinding attack needs a name.
    """

    def __init__(self, app: ASGIApp, host: str = "127.0.0.1") -> None:
        self.app = app
        self.any_address = host in ANY_ADDRESS
        self.hosts = LOOPBACK_HOSTS | {bracketed(host)}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        sentence, status = self.refusal(scope["method"], Headers(scope=scope))
        if sentence:
            response = refusal_response(Request(scope, receive), status, sentence)
            await response(scope, receive, _with_page_headers(send))
            return
        await self.app(scope, receive, _with_page_headers(send))

    def refusal(self, method: str, headers: Headers) -> tuple[str, int]:
        """
        Why a request is not let in, and with which status; an empty sentence lets it in.

        Examples
        --------
        >>> gate = Gate(lambda scope, receive, send: None)
        >>> gate.refusal("GET", Headers({"host": "evil.example"}))[1]
        400
        >>> gate.refusal("GET", Headers({"host": "localhost:8417"}))
        ('', 0)
        """
        host = headers.get("host", "")
        if not self._is_ours(host):
            return (f"This collection answers only to {self._names()}; the request was addressed elsewhere.", 400)
        if method in READING_METHODS:
            return ("", 0)
        origin = headers.get("origin")
        if origin is not None and _host_of(origin) != host.lower():
            return ("This change was asked for by another site, so it was refused. Nothing was changed.", 403)
        if origin is None and headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none"):
            return ("This change was asked for by another site, so it was refused. Nothing was changed.", 403)
        return ("", 0)

    def _is_ours(self, host: str) -> bool:
        name = _without_port(host.lower())
        return name in self.hosts or (self.any_address and _is_number_address(name))

    def _names(self) -> str:
        return "its own address" if self.any_address else " and ".join(sorted(self.hosts))


def bracketed(host: str) -> str:
    """An IPv6 address in the brackets a Host header has; anything else unchanged."""
    return f"[{host}]" if ":" in host and not host.startswith("[") else host.lower()


def _without_port(host: str) -> str:
    if host.startswith("["):
        return host.partition("]")[0] + "]"
    return host.partition(":")[0]


def _host_of(origin: str) -> str | None:
    scheme, found, host = origin.lower().partition("://")
    return host if found and scheme in ("http", "https") else None


def _is_number_address(name: str) -> bool:
    try:
        ipaddress.ip_address(name.strip("[]"))
    except ValueError:
        return False
    return True


def _with_page_headers(send: Send) -> Send:
    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, text in _unset(headers, PAGE_HEADERS.items()):
                headers[name] = text
        await send(message)

    return sending


def _unset(headers: MutableHeaders, wanted: Iterable[tuple[str, str]]) -> list[tuple[str, str]]:
    return [(name, text) for name, text in wanted if name not in headers]

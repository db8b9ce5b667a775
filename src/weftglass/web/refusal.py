"""One shape for everything that goes wrong: the same sentence as JSON for scripts and as a page for people."""

from __future__ import annotations

from dataclasses import dataclass

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from weftglass.errors import CabinetError, ChangedMeanwhile, InputError, WeftglassError, shortened
from weftglass.web.limits import MAX_BODY_BYTES
from weftglass.web.rendering import page


@dataclass(frozen=True)
class RefusalFacts:
    """What the error page shows: a short title, one clear sentence, the way back."""

    title: str
    sentence: str
    status: int
    back_href: str
    back_words: str


TITLES = {
    400: "That address is not ours",
    403: "Refused",
    404: "Not on this shelf",
    405: "Not done that way",
    409: "Changed meanwhile",
    413: "Too large",
    422: "Something to put right",
    500: "A fault of ours",
    507: "The collection folder cannot be used",
}

SENTENCES = {
    404: "There is nothing at this address; it may have been removed or the address mistyped.",
    405: "This address does not take that kind of request. Nothing was changed.",
    413: f"What was sent is larger than {MAX_BODY_BYTES // 2**20} MB. Nothing was changed; send fewer files at once.",
}


def status_of(fault: WeftglassError) -> int:
    """HTTP status for one of our errors: 422 input at fault, 409 changed meanwhile, 507 the folder, else 500."""
    if isinstance(fault, InputError):
        return 422
    if isinstance(fault, ChangedMeanwhile):
        return 409
    return 507 if isinstance(fault, CabinetError) else 500


def wants_json(request: Request) -> bool:
    """True when the caller asks for JSON rather than a page."""
    accept = request.headers.get("accept", "")
    return request.url.path.endswith(".json") or ("application/json" in accept and "text/html" not in accept)


def refusal_response(request: Request, status: int, sentence: str, fault: InputError | None = None) -> Response:
    """
    The one error shape.

    JSON: ``{"error": {"status", "title", "sentence", "where", "field", "value", "expected"}}``; the last four are null
    unless one input is at fault. HTML: a page with the same sentence and a way back.
    """
    title = TITLES.get(status, "That did not work")
    if wants_json(request):
        where: dict[str, str | None] = {"where": None, "field": None, "value": None, "expected": None}
        if fault is not None:
            where = {
                "where": fault.where,
                "field": fault.field,
                "value": shortened(fault.value),
                "expected": fault.expected,
            }
        return JSONResponse({"error": {"status": status, "title": title, "sentence": sentence, **where}}, status)
    facts = RefusalFacts(title, sentence, status, way_back(request), "Back to where you were")
    return page(request, "refusal.html", facts, status=status)


def way_back(request: Request) -> str:
    """The page of this collection that a request came from; the shelf when it came from elsewhere."""
    referrer = request.headers.get("referer", "")
    origin = f"{request.url.scheme}://{request.headers.get('host', '')}/"
    return "/" + referrer[len(origin) :] if referrer.startswith(origin) else "/"

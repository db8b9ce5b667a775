"""The outer door of every route: reads what was sent, runs the task off the event loop, turns faults into one shape."""

from __future__ import annotations

import dataclasses
import logging
from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass, replace
from functools import wraps
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData, UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from weftglass.desk import Collection
from weftglass.errors import InputError, Unfit, WeftglassError, shortened
from weftglass.evidence.evidence import parse_json
from weftglass.web.guard import READING_METHODS
from weftglass.web.limits import MAX_FILE_BYTES, MAX_JSON_BYTES
from weftglass.web.moves import Moves
from weftglass.web.refusal import SENTENCES, refusal_response, status_of, wants_json, way_back
from weftglass.web.rendering import who_of

log = logging.getLogger("weftglass.web")


@dataclass(frozen=True)
class FormFault:
    """
    What to show beside the form field that was wrong, and what the person had typed.

    Parameters
    ----------
    form, field : str
        Names of the form and of its field.
    sentence : str
        The whole sentence with names of our own, for where no field of the page is at fault.
    typed : dict
        All that was typed, by the name of the field.
    told : str
        What is wrong and what would be right, to stand after the label of the field.
    """

    form: str
    field: str
    sentence: str
    typed: dict[str, str]
    told: str

    @classmethod
    def of(cls, form: str, field: str, fault: InputError, typed: Mapping[str, str]) -> FormFault:
        """From an input at fault."""
        if isinstance(fault, Unfit):
            return cls(form, field, str(fault), dict(typed), fault.told)
        given = "" if fault.value is None else shortened(fault.value, quoted=False)
        wrong = f"“{given}” will not do" if given else "nothing was given"
        return cls(form, field, str(fault), dict(typed), f"{wrong}; it should be {fault.expected}")


@dataclass(frozen=True, eq=False)
class Asked:
    """One request, read: the collection it is about, its fields or JSON body, and who signs."""

    request: Request
    collection: Collection
    who: str
    form: FormData = dataclasses.field(default_factory=FormData)
    body: Any = None
    fault: FormFault | None = None

    @property
    def path(self) -> dict[str, str]:
        """The named parts of the address."""
        return {name: str(value) for name, value in self.request.path_params.items()}

    @property
    def moves(self) -> Moves:
        """The last change to the evidence of each piece."""
        moves: Moves = self.request.app.state.moves
        return moves

    def version(self) -> int | None:
        """The version of the record the person saw, where the form says it."""
        text = self.text("version")
        return int(text) if text.isdecimal() and len(text) < 10 else None

    @property
    def query(self) -> dict[str, str]:
        """What stands after the question mark; the last of several with one name."""
        return dict(self.request.query_params)

    def text(self, name: str) -> str:
        """A form field as trimmed text; empty when it was not sent."""
        value = self.form.get(name, "")
        return value.strip() if isinstance(value, str) else ""

    @property
    def way_back(self) -> str:
        """The page on this collection that the request came from; the shelf when it came from elsewhere."""
        return way_back(self.request)

    def local(self, address: str) -> str:
        """An address only if it stays on this collection, else the shelf."""
        return address if address.startswith("/") and not address.startswith(("//", "/\\")) else "/"

    def files(self, name: str) -> list[tuple[str, bytes]]:
        """Uploaded files under a name, with their own names; empty file fields are passed over."""
        sent = [item for item in self.form.getlist(name) if isinstance(item, UploadFile) and item.filename]
        return [(item.filename or "file", item.file.read()) for item in sent]

    def upload(self, name: str) -> UploadFile | None:
        """One uploaded file as it lies on the disk, for files too large to hold in memory."""
        item = self.form.get(name)
        return item if isinstance(item, UploadFile) and item.filename else None


Task = Callable[[Asked], Response]
DEFAULT_NAME = "unsigned"
GONE = frozenset({"collection", "form library"})  # where errors say that a record is not there


def door(
    task: Task, *, again: Task | None = None, largest: int = MAX_FILE_BYTES
) -> Callable[[Request], Awaitable[Response]]:
    """
    Wrap a task as a Starlette endpoint.

    Parameters
    ----------
    task : callable
        Takes an `Asked`, returns a response; runs in a worker thread because the store is synchronous.
    again : callable, optional
        Renders the page the form came from; used with status 422 when an input is at fault and a page is wanted, so
        that the sentence stands beside the field and what was typed is kept.
    largest : int
        Most bytes one uploaded file may have.
    """

    @wraps(task)
    async def endpoint(request: Request) -> Response:
        asked = Asked(request, request.app.state.collection, who_of(request) or DEFAULT_NAME)
        try:
            asked = await _with_what_was_sent(asked, largest)
            return await run_in_threadpool(task, asked)
        except InputError as fault:
            if fault.where in GONE and fault.value in asked.path.values():
                return refusal_response(request, 404, SENTENCES[404])
            if again is not None and not wants_json(request):
                shown = await run_in_threadpool(again, replace(asked, fault=_form_fault(asked, fault)))
                shown.status_code = 422
                return shown
            return refusal_response(request, 422, str(fault), fault)
        except WeftglassError as fault:
            return refusal_response(request, status_of(fault), str(fault))
        except HTTPException:
            raise
        except Exception:
            log.exception("%s %s", request.method, request.url.path)
            sentence = (
                "Something went wrong on our side; it is written in the log. Nothing a page had confirmed is lost."
            )
            return refusal_response(request, 500, sentence)
        finally:
            await request.close()

    return endpoint


def see_other(address: str) -> Response:
    """After a change: look at the page that shows it."""
    return RedirectResponse(address, status_code=303)


async def _with_what_was_sent(asked: Asked, largest: int) -> Asked:
    request = asked.request
    if request.method in READING_METHODS:
        return asked
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind == "application/json":
        return replace(asked, body=parse_json(await _json_text(request), "request"))
    form = await request.form(max_files=200, max_fields=500)
    for item in form.values():
        if isinstance(item, UploadFile) and (item.size or 0) > largest:
            size = f"{(item.size or 0) / 2**20:.0f} MB"
            raise InputError(item.filename or "file", "size", size, f"at most {largest // 2**20} MB a file")
    return replace(asked, form=form)


async def _json_text(request: Request) -> str:
    """The body as text, no longer than a change of the workbench can be."""
    body = bytearray()
    async for chunk in request.stream():
        body += chunk
        if len(body) > MAX_JSON_BYTES:
            expected = f"a JSON document of at most {MAX_JSON_BYTES // 2**20} MB"
            raise Unfit("request", "size", "what was sent is too large", expected)
    return body.decode("utf-8", errors="replace")


def _form_fault(asked: Asked, fault: InputError) -> FormFault:
    typed = {name: value for name, value in asked.form.items() if isinstance(value, str)}
    return FormFault.of(typed.get("form", ""), fault.field.rpartition(".")[2], fault, typed)

"""Puts the pages together into one ASGI application over one collection folder."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Mount
from starlette.staticfiles import StaticFiles

from weftglass.desk import open_collection
from weftglass.web.guard import Gate
from weftglass.web.limits import MAX_BODY_BYTES
from weftglass.web.moves import Moves
from weftglass.web.refusal import SENTENCES, refusal_response
from weftglass.web.routes import ROUTES


def create_app(collection_path: str | Path, *, host: str = "127.0.0.1") -> Starlette:
    """
    The application for one collection folder; the folder is made when it does not exist.

    Parameters
    ----------
    collection_path : str or Path
        The collection folder.
    host : str
        The address it will be served at; requests addressed elsewhere are refused.
    """

    static = StaticFiles(packages=[("weftglass.web", "static"), ("weftglass.publish", "static")])

    @asynccontextmanager
    async def life(app: Starlette) -> AsyncIterator[None]:
        yield
        app.state.collection.close()

    app = Starlette(
        routes=[*ROUTES, Mount("/static", static, name="static")],
        middleware=[Middleware(Gate, host=host)],
        exception_handlers={HTTPException: _refused},
        max_body_size=MAX_BODY_BYTES,
        lifespan=life,
    )
    app.state.collection = open_collection(Path(collection_path))
    app.state.moves = Moves()
    return app


async def _refused(request: Request, fault: Exception) -> Response:
    status = fault.status_code if isinstance(fault, HTTPException) else 500
    detail = fault.detail if isinstance(fault, HTTPException) else ""
    return refusal_response(request, status, SENTENCES.get(status, str(detail)))

"""Every address of the collection; one file a part of it."""

from __future__ import annotations

from starlette.routing import BaseRoute

from weftglass.web.routes.house import HOUSE_ROUTES

ROUTES: list[BaseRoute] = [*HOUSE_ROUTES]

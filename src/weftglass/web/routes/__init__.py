"""Every address of the collection; one file a part of it."""

from __future__ import annotations

from starlette.routing import BaseRoute

from weftglass.web.routes.house import HOUSE_ROUTES
from weftglass.web.routes.photographs import PHOTOGRAPH_ROUTES
from weftglass.web.routes.shelf import SHELF_ROUTES

ROUTES: list[BaseRoute] = [*SHELF_ROUTES, *PHOTOGRAPH_ROUTES, *HOUSE_ROUTES]

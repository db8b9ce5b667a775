"""Every address of the collection; one file a part of it."""

from __future__ import annotations

from starlette.routing import BaseRoute

from weftglass.web.routes.bench import BENCH_ROUTES
from weftglass.web.routes.buying import BUYING_ROUTES
from weftglass.web.routes.carry import CARRY_ROUTES
from weftglass.web.routes.catalogue import CATALOGUE_ROUTES
from weftglass.web.routes.colour import COLOUR_ROUTES
from weftglass.web.routes.condition import CONDITION_ROUTES
from weftglass.web.routes.covering import COVERING_ROUTES
from weftglass.web.routes.dates import DATES_ROUTES
from weftglass.web.routes.forms import FORM_ROUTES
from weftglass.web.routes.holdings import HOLDINGS_ROUTES
from weftglass.web.routes.house import HOUSE_ROUTES
from weftglass.web.routes.inside import INSIDE_ROUTES
from weftglass.web.routes.letters import LETTERS_ROUTES
from weftglass.web.routes.makers import MAKER_ROUTES
from weftglass.web.routes.photographs import PHOTOGRAPH_ROUTES
from weftglass.web.routes.piece import PIECE_ROUTES
from weftglass.web.routes.price import PRICE_ROUTES
from weftglass.web.routes.rollout import ROLLOUT_ROUTES
from weftglass.web.routes.shelf import SHELF_ROUTES
from weftglass.web.routes.soundness import SOUNDNESS_ROUTES
from weftglass.web.routes.terms import TERMS_ROUTES
from weftglass.web.routes.tone import TONE_ROUTES
from weftglass.web.routes.whereabouts import WHEREABOUTS_ROUTES

ROUTES: list[BaseRoute] = [
    *SHELF_ROUTES,
    *INSIDE_ROUTES,
    *BENCH_ROUTES,
    *TONE_ROUTES,
    *COLOUR_ROUTES,
    *CONDITION_ROUTES,
    *COVERING_ROUTES,
    *TERMS_ROUTES,
    *DATES_ROUTES,
    *MAKER_ROUTES,
    *ROLLOUT_ROUTES,
    *LETTERS_ROUTES,
    *PIECE_ROUTES,
    *FORM_ROUTES,
    *CARRY_ROUTES,
    *PHOTOGRAPH_ROUTES,
    *HOUSE_ROUTES,
    *HOLDINGS_ROUTES,
    *CATALOGUE_ROUTES,
    *PRICE_ROUTES,
    *BUYING_ROUTES,
    *WHEREABOUTS_ROUTES,
    *SOUNDNESS_ROUTES,
]

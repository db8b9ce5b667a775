"""Who made a piece; communities of makers and published holdings."""

from __future__ import annotations

from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from weftglass.desk import get_piece_dossier, identify_piece
from weftglass.desk.communities import (
    COMMUNITY_FIELDS,
    CommunityRow,
    add_community,
    add_published_holding,
    edit_community,
    get_community,
    list_communities,
    published_holdings,
    restore_community,
    withdraw_community,
    withdraw_published_holding,
)
from weftglass.desk.dating import dates_of_group
from weftglass.desk.makers import MakerAnswer, accept_maker, attribute_piece, learn, vessel_shift
from weftglass.desk.terms import covering_words
from weftglass.desk.unusual import inscriptions, unusual
from weftglass.inside import Answer
from weftglass.web.door import Asked, door, see_other
from weftglass.web.pages.addresses import community_address, piece_address
from weftglass.web.pages.lists import csv_text
from weftglass.web.pages.makers import (
    communities_facts,
    community_facts,
    community_records,
    counts_typed,
    maker_facts,
)
from weftglass.web.reading import number_typed
from weftglass.web.rendering import page, sign
from weftglass.web.routes.piece import add_sighting


def maker_page(asked: Asked) -> Response:
    """Communities with probabilities and reasons, and what they say of the vessel."""
    piece = asked.path["piece"]
    dossier = get_piece_dossier(asked.collection, piece)
    inside = identify_piece(asked.collection, piece)
    shifts = vessel_shift(asked.collection, piece, inside) if _with_vessel(asked) else ()
    addresses = {
        row.community.name: community_address(row.community.id)
        for row in list_communities(asked.collection)
        if row.community.id
    }
    words = covering_words(asked.collection)
    facts = maker_facts(
        dossier, _attributed(asked, inside), shifts, unusual(asked.collection), addresses, words, asked.fault
    )
    return page(asked.request, "maker.html", facts)


def maker_json(asked: Asked) -> Response:
    """The attribution as the command line prints it."""
    return JSONResponse(_attributed(asked, identify_piece(asked.collection, asked.path["piece"])).to_record())


def see_trait(asked: Asked) -> Response:
    """Take down a trait, and show how the attribution moved."""
    add_sighting(asked, asked.text("feature"))
    return see_other(f"{piece_address(asked.path['piece'])}/maker")


def sign_maker(asked: Asked) -> Response:
    """Sign who made it; evidence and attribution are frozen with it."""
    piece, who = asked.path["piece"], asked.text("who")
    accept_maker(asked.collection, piece, asked.text("community"), who=who, remark=asked.text("remark"))
    response = see_other(piece_address(piece))
    sign(response, who)
    return response


def communities_page(asked: Asked) -> Response:
    """All communities, how far attribution can be trusted, and published holdings."""
    facts = communities_facts(
        list_communities(asked.collection),
        learn(asked.collection),
        unusual(asked.collection),
        inscriptions(asked.collection),
        published_holdings(asked.collection),
        asked.fault,
        asked.query.get("name", "")[:200],
    )
    return page(asked.request, "communities.html", facts)


def communities_csv(asked: Asked) -> Response:
    """Communities as a table."""
    records = community_records(list_communities(asked.collection))
    return Response(csv_text(records), media_type="text/csv; charset=utf-8")


def communities_json(asked: Asked) -> Response:
    """Communities as one JSON document."""
    return JSONResponse(community_records(list_communities(asked.collection)))


def inscriptions_csv(asked: Asked) -> Response:
    """Inscriptions as a table."""
    records = [one.to_record() for one in inscriptions(asked.collection)]
    return Response(csv_text(records), media_type="text/csv; charset=utf-8")


def community_page(asked: Asked) -> Response:
    """One community with its pieces, and the form to change it."""
    row = _row(asked)
    pieces = [piece.id for piece in row.documented]
    together = dates_of_group(asked.collection, pieces) if asked.query.get("dates") == "on" else None
    return page(asked.request, "community.html", community_facts(row, asked.fault, together))


def enter_community(asked: Asked) -> Response:
    """Enter a community."""
    return see_other(community_address(add_community(asked.collection, _given(asked), who=asked.who).id))


def change_community(asked: Asked) -> Response:
    """Keep the fields of a community."""
    community = asked.path["community"]
    edit_community(asked.collection, community, _given(asked), who=asked.who, version=asked.version())
    return see_other(community_address(community))


def take_community(asked: Asked) -> Response:
    """Take a community off the list, or bring it back."""
    community, version = asked.path["community"], asked.version()
    change = restore_community if asked.text("back") else withdraw_community
    change(asked.collection, community, who=asked.who, version=version)
    return see_other(community_address(community))


def enter_holding(asked: Asked) -> Response:
    """Enter a published holding by its totals."""
    typed = {name: asked.text(name) for name in asked.form}
    counts = {kind: _whole(text, kind) for kind, text in counts_typed(typed).items()}
    pieces = _whole(asked.text("pieces"), "pieces")
    add_published_holding(asked.collection, asked.text("name"), asked.text("source"), pieces, counts, who=asked.who)
    return see_other("/communities#holdings")


def take_holding(asked: Asked) -> Response:
    """Take a published holding out."""
    withdraw_published_holding(asked.collection, asked.path["holding"], who=asked.who)
    return see_other("/communities#holdings")


def _with_vessel(asked: Asked) -> bool:
    return asked.query.get("vessel") != "off"


def _attributed(asked: Asked, inside: Answer) -> MakerAnswer:
    with_vessel = _with_vessel(asked)
    return attribute_piece(asked.collection, asked.path["piece"], with_vessel=with_vessel, answer=inside)


def _row(asked: Asked) -> CommunityRow:
    community = get_community(asked.collection, asked.path["community"])
    rows = list_communities(asked.collection)
    return next((row for row in rows if row.community.id == community.id), CommunityRow(community, (), ()))


def _given(asked: Asked) -> dict[str, str]:
    return {name: asked.text(name) for name in COMMUNITY_FIELDS if name in asked.form}


def _whole(text: str, field: str) -> int:
    expected = "a whole number"
    value = number_typed(text, "published holding", field, expected)
    return int(value)


MAKER_ROUTES = [
    Route("/piece/{piece}/maker", door(maker_page)),
    Route("/piece/{piece}/maker.json", door(maker_json)),
    Route("/piece/{piece}/maker/seen", door(see_trait, again=maker_page), methods=["POST"]),
    Route("/piece/{piece}/maker/sign", door(sign_maker, again=maker_page), methods=["POST"]),
    Route("/communities", door(communities_page)),
    Route("/communities", door(enter_community, again=communities_page), methods=["POST"]),
    Route("/communities.csv", door(communities_csv)),
    Route("/communities.json", door(communities_json)),
    Route("/inscriptions.csv", door(inscriptions_csv)),
    Route("/communities/holdings", door(enter_holding, again=communities_page), methods=["POST"]),
    Route("/communities/holdings/{holding}/withdraw", door(take_holding), methods=["POST"]),
    Route("/communities/{community}", door(community_page)),
    Route("/communities/{community}", door(change_community, again=community_page), methods=["POST"]),
    Route("/communities/{community}/withdraw", door(take_community, again=community_page), methods=["POST"]),
]

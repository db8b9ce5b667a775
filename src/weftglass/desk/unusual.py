"""How unusual signatures, dates worked in and pictorial designs are, in the collection and in published holdings."""

from __future__ import annotations

import re
from collections.abc import Sequence

from weftglass.dating import spoken_date
from weftglass.desk.collection import Collection
from weftglass.desk.communities import published_holdings
from weftglass.holdings.crosstable import Holding
from weftglass.holdings.rarity import Rarity, Tally, rarity
from weftglass.records import COUNTED, Piece, SightingRecord

NOTHING = frozenset({"none", "no", "nothing", "not signed", "unsigned", "not dated"})
SIGNED = re.compile(r"\b(signed|signature|initials?|monogram)\b", re.IGNORECASE)
PICTURE = re.compile(r"\b(picture|pictures|pictorial|figure|figures)\b", re.IGNORECASE)


def unusual(collection: Collection) -> dict[str, Rarity]:
    """
    How unusual signatures, dates worked in, pictorial designs and their combinations are.

    Counted over the own pieces whose records say whether they have them, and the published holdings entered.
    """
    with collection.cabinet.reading() as reader:
        pieces = reader.all_of(Piece)
        seen: dict[str, list[SightingRecord]] = {}
        for sighting in reader.all_of(SightingRecord):
            seen.setdefault(sighting.piece, []).append(sighting)
    own = [Holding(piece.id, worked_in(piece, seen.get(piece.id, []))) for piece in pieces if piece.status == "owned"]
    published = published_holdings(collection)
    found = {}
    for kind, terms in COUNTED.items():
        tallies = [Tally(one.name, one.pieces, one.counted[kind]) for one in published if kind in one.counted]
        found[kind] = rarity(own, dict.fromkeys(terms, "yes"), tallies)
    return found


def worked_in(piece: Piece, seen: Sequence[SightingRecord]) -> dict[str, str]:
    """Whether a piece is signed, dated, pictorial: yes or no; left out where nobody wrote down having looked."""
    written = [one.value for one in seen if one.feature == "inscription"]
    texts = [text for text in [piece.design, *written] if text.strip() and text.strip().casefold() not in NOTHING]
    found: dict[str, str] = {}
    if written or piece.design.strip():
        signed = any(SIGNED.search(text) for text in texts)
        found["signed"] = "yes" if signed else "no"
        found["dated"] = "yes" if any(spoken_date(text) is not None for text in texts) else "no"
    designs = [one.value for one in seen if one.feature == "design"]
    if designs:
        found["pictorial"] = "yes" if any(PICTURE.search(text) for text in designs) else "no"
    return found

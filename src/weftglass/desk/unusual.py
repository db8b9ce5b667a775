"""How unusual signatures, dates worked in and pictorial designs are, in the collection and in published holdings."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from weftglass.dating import DateSpan, spoken_date
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
    own = [
        Holding(piece.id, worked_in(piece.design, seen.get(piece.id, [])))
        for piece in pieces
        if piece.status == "owned"
    ]
    published = published_holdings(collection)
    found = {}
    for kind, terms in COUNTED.items():
        tallies = [Tally(one.name, one.pieces, one.counted[kind]) for one in published if kind in one.counted]
        found[kind] = rarity(own, dict.fromkeys(terms, "yes"), tallies)
    return found


@dataclass(frozen=True)
class Inscription:
    """
    A signature, inscription or date on a covering.

    Parameters
    ----------
    piece, piece_name : str
    text : str
        The transcription.
    sure : float
        Probability that it was read rightly.
    reads_as : DateSpan or None
        The date in it; None where there is none.
    maker, community : str
        As the piece's entry has them.
    """

    piece: str
    piece_name: str
    text: str
    sure: float
    reads_as: DateSpan | None
    maker: str
    community: str

    def to_record(self) -> dict[str, Any]:
        """For lists."""
        return {
            "piece": self.piece, "name": self.piece_name, "text": self.text, "sure": self.sure,
            "date": None if self.reads_as is None else self.reads_as.edtf, "maker": self.maker,
            "community": self.community,
        }  # fmt: skip


def inscriptions(collection: Collection) -> list[Inscription]:
    """Every signature, inscription and date read on a covering, by its words, so that like stands beside like."""
    with collection.cabinet.reading() as reader:
        pieces = {piece.id: piece for piece in reader.all_of(Piece)}
        seen = [one for one in reader.all_of(SightingRecord) if one.feature == "inscription" and one.piece in pieces]
    found = [
        Inscription(
            one.piece, pieces[one.piece].name, one.value, one.sure, spoken_date(one.value), pieces[one.piece].maker,
            pieces[one.piece].community,
        )
        for one in seen
        if one.value.strip().casefold() not in NOTHING
    ]  # fmt: skip
    return sorted(found, key=lambda one: one.text.casefold())


def worked_in(design: str, seen: Sequence[SightingRecord]) -> dict[str, str]:
    """Whether a piece is signed, dated, pictorial: yes or no; left out where nobody wrote down having looked."""
    written = [one.value for one in seen if one.feature == "inscription"]
    texts = [text for text in [design, *written] if text.strip() and text.strip().casefold() not in NOTHING]
    found: dict[str, str] = {}
    if written or design.strip():
        signed = any(SIGNED.search(text) for text in texts)
        found["signed"] = "yes" if signed else "no"
        found["dated"] = "yes" if any(spoken_date(text) is not None for text in texts) else "no"
    designs = [one.value for one in seen if one.feature == "design"]
    if designs:
        found["pictorial"] = "yes" if any(PICTURE.search(text) for text in designs) else "no"
    return found

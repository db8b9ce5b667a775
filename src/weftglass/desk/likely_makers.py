"""Who probably made a piece, in one sentence; for offers, where there is no time to read a page of reasons."""

from __future__ import annotations

from weftglass.desk.collection import Collection
from weftglass.desk.makers import attribute_piece
from weftglass.desk.wording import chance_words, percent_text

NAMED = 2


def likely_makers(collection: Collection, piece: str) -> str:
    """
    Who probably made a piece by what is known of it, its own entry left out.

    Parameters
    ----------
    piece : str
        Its id.

    Notes
    -----
    As `attribute_piece`, with the vessel among the traits; the first time after a change it takes about a second.
    """
    found = attribute_piece(collection, piece).attribution
    if found.refusal or not found.chances:
        reason = found.refusal or "nothing is known that tells the makers apart"
        return f"Who made it can’t be told: {reason.rstrip('.')}."
    first, *others = found.chances[:NAMED]
    rest = [f"{one.community} {percent_text(one.probability)}" for one in others]
    rest.append(f"another community {percent_text(found.another)}")
    words = chance_words(first.probability)
    return f"Made by {first.community}: {words} ({percent_text(first.probability)}); {', '.join(rest)}."

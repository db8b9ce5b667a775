"""What the demo's collector shows: two pages of the catalogue, one of pieces and one of what the collection tells."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from weftglass.desk import Collection, kept_back, list_pieces
from weftglass.desk.catalogue import put_into_catalogue, word_page


@dataclass(frozen=True)
class _Page:
    """A page as the collector meant it: title, remark, and what is put on it in turn."""

    title: str
    remark: str
    shows: tuple[tuple[str, Mapping[str, str]], ...]


SHOWN = ("p-01", "p-19", "p-08", "p-09", "p-07", "p-24", "p-04", "p-21")
PAGES = (
    _Page(
        "From four workshops of the coast",
        "One or two pieces of each community, chosen for the work and not for the glass.\n"
        "What is said of the vessels is what is probable, and how probable; the coverings stayed on.",
        tuple(
            ("piece", {"piece": piece}) for piece in ("p-01", "p-19", "p-08", "p-09", "p-07", "p-24", "p-04", "p-21")
        ),
    ),
    _Page(
        "What the collection tells",
        "Counted from the entries, as they stand today. A collection is no random sample.",
        (
            ("table", {"rows": "community", "columns": "technique"}),
            ("map", {}),
            ("years", {}),
            ("rarity", {"with-signed": "yes"}),
        ),
    ),
)


def show_some(collection: Collection, who: str) -> None:
    """Fill the catalogue with those of the pages' pieces that are there and may be shown."""
    held = {row.piece.id for row in list_pieces(collection)} - kept_back(collection).keys()
    for page in PAGES:
        shows = [(kind, asked) for kind, asked in page.shows if kind != "piece" or asked["piece"] in held]
        made = ""
        for kind, asked in shows:
            made = put_into_catalogue(collection, kind, asked, who=who, page=made, title=page.title).id
        if made:
            word_page(collection, made, who=who, title=page.title, remark=page.remark)

"""The parts of a piece: which pages it has, in which order they are offered, and which one is open."""

from __future__ import annotations

from dataclasses import dataclass

from weftglass.web.pages.addresses import piece_address


@dataclass(frozen=True)
class Part:
    """
    One page of a piece.

    Parameters
    ----------
    name : str
        What follows the piece in its address; empty for the entry itself.
    words : str
    also : tuple of str
        Further names under which it is open: pages reached from it, and forms whose faults are shown on it.
    """

    name: str
    words: str
    also: tuple[str, ...] = ()


PARTS = (
    Part("", "Entry", ("measurements", "sightings", "withdraw", "undo")),
    Part("photographs", "Photographs", ("bench",)),
    Part("inside", "What is inside", ("look", "finding")),
    Part("covering", "Covering"),
    Part("rollout", "Rollout", ("turns",)),
    Part("letters", "Letters", ("read",)),
    Part("dates", "Dates"),
    Part("maker", "Maker"),
    Part("tone", "Tone", ("keep-tone",)),
    Part("condition", "Condition"),
    Part("price", "Price"),
)
"""Add a page by one line, in this order: entry, photographs, inside, covering, dates, maker, tone, condition."""


@dataclass(frozen=True)
class PartFacts:
    """A link to a part of the piece that is open, and whether it is the one that is shown."""

    href: str
    words: str
    current: bool


def parts_of(piece: str, path: str) -> tuple[PartFacts, ...]:
    """
    Links to all parts of a piece.

    Examples
    --------
    >>> [part.words for part in parts_of("p-017", "/piece/p-017/inside") if part.current]
    ['What is inside']
    """
    href = piece_address(piece)
    opened = path.removeprefix(href).strip("/").partition("/")[0]
    return tuple(
        PartFacts(f"{href}/{part.name}".rstrip("/"), part.words, opened in (part.name, *part.also)) for part in PARTS
    )

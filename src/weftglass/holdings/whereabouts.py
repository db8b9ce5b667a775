"""Where and when: a spot on the map with its pieces, and the years of one piece."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Spot:
    """
    Something on the map.

    Parameters
    ----------
    name : str
    point : (latitude, longitude)
    within_km : float
        Uncertainty or extent.
    standing : str
        ``community``, or one of `weftglass.records.STANDINGS`.
    pieces : tuple of (id, name)
        Pieces of the community, or found at the place.
    remark : str
    """

    name: str
    point: tuple[float, float]
    within_km: float
    standing: str
    pieces: tuple[tuple[str, str], ...]
    remark: str


@dataclass(frozen=True)
class Lifespan:
    """
    Years of one piece.

    Parameters
    ----------
    piece, name, community : str
    glass, covering : (first, last) or None
        Years, both ends included.
    signed : bool
        True where a dating finding was signed; else the years are those of the form and of the catalogue entry.
    """

    piece: str
    name: str
    community: str
    glass: tuple[int, int] | None
    covering: tuple[int, int] | None
    signed: bool

"""Regions whose years the published tables tell apart, and how people name them."""

from __future__ import annotations

from types import MappingProxyType

from weftglass.errors import InputError

_NAMED = MappingProxyType(
    {
        "North America": ("north america", "america", "united states", "usa", "us", "canada"),
        "Britain": ("britain", "great britain", "united kingdom", "uk", "england", "scotland", "wales"),
        "Europe": ("europe", "european union", "eu", "low countries"),
    }
)
_IN_TABLES = MappingProxyType(
    {
        "North America": ("america", "united states"),
        "Britain": ("britain",),
        "Europe": ("europe", "low countries"),
    }
)
REGIONS = tuple(_NAMED)
"""The regions that the tables know; of glass made anywhere else they know general years only."""


def region_named(text: str) -> str:
    """
    The region that a name means.

    Parameters
    ----------
    text : str
        One of `REGIONS`, or another name of one, in capitals or not.

    Raises
    ------
    InputError
        If the tables know no such region.

    Examples
    --------
    >>> region_named("england"), region_named("USA")
    ('Britain', 'North America')
    """
    plain = " ".join(text.lower().replace(".", "").split()).removeprefix("the ")
    for region, names in _NAMED.items():
        if plain in names:
            return region
    known = f"{', '.join(REGIONS[:-1])} or {REGIONS[-1]}"
    expected = f"{known}, which are the regions whose years are known apart, or left out for glass made elsewhere"
    raise InputError("dating", "region", text, expected)


def speaks_of(table_region: str, region: str) -> bool:
    """True when the region of a table's line takes in one of `REGIONS`."""
    return any(name in table_region.lower() for name in _IN_TABLES[region])

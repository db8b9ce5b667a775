"""Names: the one a change is signed with, and short ones for addresses."""

from __future__ import annotations

import re
import unicodedata

from weftglass.records import words


def signature(who: object) -> str:
    """The name a change is signed with."""
    return words(who, "signature", "who", longest=100, needed=True)


def slug(name: str) -> str:
    """
    A short name for addresses and files.

    Examples
    --------
    >>> slug("Côte bottle, No. 7"), slug("瓶")
    ('cote-bottle-no-7', 'piece')
    """
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:60].strip("-") or "piece"

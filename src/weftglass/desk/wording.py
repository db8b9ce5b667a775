"""Words for people: names, numbers rounded as their uncertainty bears, probabilities never surer than computed."""

from __future__ import annotations

import math
import re
import unicodedata

from weftglass.records import words

MINUS = "−"
KIND_WORDS = {
    "height": "height over all",
    "weight": "weight",
    "capacity": "capacity",
    "tone": "tone",
    "lip_diameter": "diameter across the lip",
    "bore": "bore of the mouth",
    "neck_diameter": "diameter of the neck",
    "base_diameter": "diameter of the base",
    "body_width": "width of the body",
    "body_depth": "depth of the body",
    "girth": "girth",
    "cover_thickness": "thickness of the covering",
    "glass weight": "weight of the glass alone",
    "covering weight": "weight of the covering",
}
FEATURE_WORDS = {
    "finish": "lip",
    "closure": "closure",
    "colour": "colour of the glass",
    "base": "base",
    "letters": "letters on the glass",
    "seam": "mould seam",
    "section": "shape of the body from above",
    "contents": "what it held",
    "seller": "the seller’s words",
    "mark": "mark on the glass",
    "statement": "legal or capacity statement",
    "dye": "dyes of the covering",
    "inscription": "signature or date worked in",
    "documented": "dated document",
    "collected": "known to be collected or owned",
    "start": "start of the covering",
    "rim": "rim of the covering",
    "lean": "lean of the stitches",
    "foundation": "foundation of the coil",
    "splice": "splices and ends",
    "design": "pictures and patterns",
}
CHANCE_STEPS = (
    (0.95, "almost certainly"),
    (0.80, "very likely"),
    (0.60, "probably"),
    (0.40, "about even"),
    (0.15, "possibly"),
    (0.03, "unlikely"),
    (0.0, "hardly"),
)


def photograph_words(view_id: str) -> str:
    """
    What a view is called in a sentence.

    Examples
    --------
    >>> photograph_words("p-07.view-1")
    'photograph p-07.view-1'
    """
    return f"photograph {view_id}"


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


def outline_words(view: str) -> str:
    """
    The outline of a view as a person would name it.

    Examples
    --------
    >>> outline_words("front"), outline_words("turned")
    ('the outline from the front', 'the outline from an unknown side')
    """
    return "the outline from an unknown side" if view == "turned" else f"the outline from the {view}"


def capital(text: str) -> str:
    """Text with a capital first letter, the rest as it is."""
    return text[:1].upper() + text[1:]


def percent_text(probability: float, space: str = "\u00a0") -> str:
    """
    A probability in per cent; never 0 or 100, which no answer here can mean.

    Parameters
    ----------
    probability : float
    space : str
        Between number and sign; a blank for a terminal, else one at which lines don't break.

    Examples
    --------
    >>> percent_text(0.812), percent_text(0.9996), percent_text(0.0004)
    ('81\\xa0%', 'over 99\\xa0%', 'under 1\\xa0%')
    """
    if probability > 0.99:
        return f"over 99{space}%"
    return f"under 1{space}%" if probability < 0.01 else f"{100 * probability:.0f}{space}%"


def chance_words(probability: float) -> str:
    """
    The same in words.

    Examples
    --------
    >>> chance_words(0.81)
    'very likely'
    """
    return next(words for least, words in CHANCE_STEPS if probability >= least)


def with_sd_text(value: float, sd: float | None, unit: str) -> str:
    """
    A value with its standard deviation and unit, both cut where the standard deviation ends.

    Examples
    --------
    >>> with_sd_text(231.04, 1.2, "mm"), with_sd_text(812.3, 5.0, "g"), with_sd_text(40.0, None, "mm")
    ('231.0\\xa0±\\xa01.2\\xa0mm', '812\\xa0±\\xa05\\xa0g', '40\\xa0mm, uncertainty not known')
    """
    if sd is None or not sd > 0:
        return f"{value:g}\u00a0{unit}, uncertainty not known".replace("-", MINUS)
    digits = _digits_of(sd)
    return f"{value:.{digits}f}\u00a0±\u00a0{sd:.{digits}f}\u00a0{unit}".replace("-", MINUS)


def _digits_of(sd: float) -> int:
    leading = math.floor(math.log10(sd))
    first = int(f"{sd:.1e}"[0])
    return max(0, -(leading - 1) if first == 1 else -leading)


def range_text(low: float | None, high: float | None, unit: str = "") -> str:
    """
    A range; an open end is said.

    Examples
    --------
    >>> range_text(1870, 1912), range_text(560.0, 680.0, "g"), range_text(None, None)
    ('1870–1912', '560–680\\xa0g', 'not known')
    """
    tail = f"\u00a0{unit}" if unit else ""
    if low is None and high is None:
        return "not known"
    if low is None or high is None:
        return f"until {high:g}{tail}" if low is None else f"from {low:g}{tail}"
    return f"{low:g}{tail}" if low == high else f"{low:g}–{high:g}{tail}"

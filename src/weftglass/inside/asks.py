"""Observations that may be made of a covered piece: how each is worded, what time it takes, what it risks."""

from __future__ import annotations

from dataclasses import dataclass

HANDLING = "Hold the piece in both hands over something soft; old glass under a covering may be cracked."
STOPPER = "Leave a stopper that does not come by itself; never twist or pull on old glass."
CONTENTS = (
    "What it held is unknown: never force it open, smell it or pour it out, and keep your lips off it; a licensed "
    "practitioner knows about residues."
)
PROBE = "Never push between strands; use a gap that is there. Dry fibre breaks."


@dataclass(frozen=True)
class Ask:
    """
    One observation on offer.

    Parameters
    ----------
    kind : str
        The measurement or sighting that answers it; ``view front`` and ``view side`` are answered by a photograph.
    words : str
        For the owner; ``{z}`` is the height in mm.
    seller : str
        The same as a question to somebody who sells the piece; empty where a stranger should not be asked to.
    minutes : float
        Of the owner's time; common practice, no source.
    risk_minutes : float
        Minutes by which the risk to piece or person makes it dearer: a rule of this program, no source.
    caution : str or None
        What to mind first.
    covered : bool
        Whether the instrument lies on the covering.
    shares : tuple of float
        Of the height, for readings taken at a height: the one that tells most is named.
    """

    kind: str
    words: str
    seller: str
    minutes: float
    risk_minutes: float = 0.0
    caution: str | None = None
    covered: bool = True
    shares: tuple[float, ...] = ()


MEASURED = (
    Ask(
        "height",
        "Measure the height over all with a ruler, from the table to the very top",
        "How tall is it in millimetres, from the table to the very top?",
        0.4,
    ),
    Ask(
        "lip_diameter",
        "Measure across the lip with callipers: ten seconds",
        "How wide is the lip across, in millimetres, edge to edge of the glass?",
        0.3,
        covered=False,
    ),
    Ask(
        "body_width",
        "Measure the widest part of the body with callipers or between two books",
        "How wide is it at its widest, in millimetres, set between two books?",
        0.6,
    ),
    Ask(
        "body_depth",
        "Measure the depth of the body, front to back",
        "How deep is it from front to back, in millimetres?",
        0.6,
    ),
    Ask(
        "base_diameter",
        "Measure across the base with callipers, the piece left standing",
        "How wide is it where it stands on the table, in millimetres?",
        0.6,
    ),
    Ask(
        "neck_diameter",
        "Measure the narrowest part of the neck with callipers",
        "How wide is the neck at its narrowest, in millimetres?",
        0.5,
    ),
    Ask(
        "girth",
        "Lay a tape round the body {z:.0f} mm above the table",
        "How long is a tape laid round the body {z:.0f} mm above the table?",
        0.8,
        shares=(0.12, 0.25, 0.4, 0.55, 0.7),
    ),
    Ask("weight", "Weigh it as it stands", "What does it weigh in grams, as it stands?", 1.0, 0.3, HANDLING),
    Ask(
        "cover_thickness",
        "Probe the thickness of the covering through a gap that is there, {z:.0f} mm above the table",
        "",
        2.0,
        2.0,
        PROBE,
        shares=(0.25, 0.45, 0.65),
    ),
    Ask(
        "bore",
        "Measure the bore of the open mouth",
        "If it is open: how wide is the hole in the mouth, in millimetres?",
        0.6,
        0.3,
        STOPPER,
        covered=False,
    ),
    Ask(
        "tone",
        "Record its tone: a puff from a rubber bulb across the open mouth",
        "",
        3.0,
        1.0,
        CONTENTS,
        covered=False,
    ),
    Ask(
        "capacity",
        "Fill it with dry millet through a funnel, pour it into a measure and read what it took",
        "",
        12.0,
        6.0,
        CONTENTS,
        covered=False,
    ),
)
SEEN = (
    Ask(
        "finish",
        "Look at the lip with the stopper out, photograph it and say how it is made",
        "Could you send a close photograph of the lip, with the stopper out if it comes by itself?",
        0.7,
        0.3,
        STOPPER,
    ),
    Ask(
        "colour",
        "Shine a light through a gap or the lip and name the colour of the glass",
        "What colour is the glass where light comes through, at the lip or in a gap?",
        0.7,
    ),
    Ask(
        "base",
        "Look at the base where it is bare: scar, seam, kick-up or marks",
        "Could you send a photograph of the base from below?",
        1.0,
        0.5,
        HANDLING,
    ),
    Ask("closure", "Say what closes the mouth, or what it was made to take", "What closes the mouth?", 0.4),
    Ask(
        "letters",
        "Look for raised letters through the gaps with a slanting light, and type what you can read",
        "Are there any letters or numbers on the glass that can be read through gaps in the weave?",
        3.0,
    ),
    Ask(
        "section",
        "Look straight down on it: round, square, oval or flat",
        "Seen from above, is it round, square, oval or flat?",
        0.3,
    ),
)
FRONT = Ask(
    "view front",
    "Photograph it from the front at the height of its middle, two metres away, with a ruler beside it",
    "Could you photograph it straight from the front with a ruler standing beside it?",
    3.0,
)
SIDE = Ask(
    "view side",
    "Photograph it from the side too, a quarter turn on, with a ruler beside it",
    "Could you also photograph it from the side, a quarter turn on?",
    2.0,
)

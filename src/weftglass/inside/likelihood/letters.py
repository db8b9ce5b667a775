"""Letters behind openwork: a partly read inscription against the inscriptions each form may carry."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from weftglass.evidence import Sighting
from weftglass.vessels import Form, Letters

FloatArray = NDArray[np.float64]

LETTER = 1.0 / 26.0  # chance that a letter agrees by accident
WRONG_LETTER = 0.03  # chance that one read letter is wrong; working figure, no source
MISPLACED = 0.05  # chance that letters of an inscription are told to be elsewhere; working figure, no source
HEIGHT_ROOM_MM = 15.0  # what a covering, a foot and a reading may put a height off by; working figure, no source
SIDES = {"front": "broad", "back": "broad", "side": "side", "base": "base"}
SIDE_SHARE = {"broad": 0.6, "side": 0.2, "base": 0.2, "body": 0.8}
"""Where letters stand on vessels in general: on what a collector may call front or back, on the narrow sides, under the
base; on a round, square or many-sided body the first two are one (working figures, no source)."""

UNKNOWN_INSCRIPTION = 0.3  # share of vessels of an uninscribed drawing that do carry some lettering; working figure


def said_before(sightings: Sequence[Sighting]) -> tuple[bool, ...]:
    """
    For each sighting, whether it is a reading of letters that another one holds already, and so is no evidence more.

    A reading that fits within another of at least as many letters, at heights and on sides that do not contradict each
    other, was taken of the same letters; of two alike the first counts.

    Examples
    --------
    >>> readings = [Sighting("letters", text) for text in ("HAR*", "H?RLOW", "TINE", "TINE")]
    >>> said_before(readings)
    (True, False, False, True)
    """
    found = []
    for k, one in enumerate(sightings):
        more = [other for m, other in enumerate(sightings) if _holds(other, one, earlier=m < k) and m != k]
        found.append(one.feature == "letters" and bool(more))
    return tuple(found)


def _holds(other: Sighting, one: Sighting, *, earlier: bool) -> bool:
    """Whether another reading tells all that one does."""
    if one.feature != "letters" or other.feature != "letters":
        return False
    letters, whole = tidy(one.value), tidy(other.value)
    known, held = (sum(ch not in "?*" for ch in text) for text in (letters, whole))
    if held < known or (held == known and not earlier):
        return False
    heights = one.z_mm is None or other.z_mm is None or (
        one.z_mm[0] - HEIGHT_ROOM_MM <= other.z_mm[1] and other.z_mm[0] <= one.z_mm[1] + HEIGHT_ROOM_MM
    )  # fmt: skip
    sides = one.face is None or other.face is None or one.face == other.face
    return heights and sides and _same_letters(letters, whole)


def _same_letters(letters: str, whole: str) -> bool:
    """Whether a reading may be of letters of another, unread ones of either standing for any letter."""
    return _fits_any([run for run in letters.split("*") if run], whole.replace("*", ""))


def _fits_any(runs: Sequence[str], text: str) -> bool:
    """Whether runs of letters follow one another in a text, ``?`` on either side standing for any letter."""
    at = 0
    for run in runs:
        places = range(at, len(text) - len(run) + 1)
        fits = (k for k in places if all("?" in pair or pair[0] == pair[1]
                                         for pair in zip(run, text[k : k + len(run)], strict=True)))  # fmt: skip
        place = next(fits, None)
        if place is None:
            return False
        at = place + len(run)
    return True


def in_place(sighting: Sighting, inscription: Letters, form: Form) -> float:
    """
    How much likelier letters of an inscription are to be read where they were than letters of any vessel.

    Parameters
    ----------
    sighting : Sighting
        With the height and the side where it was read, as far as told.
    inscription : Letters
        With its own, as far as the form records them.
    form : Form
        Its height, and whether its sides differ.

    Returns
    -------
    float
        1 where nothing is told or recorded; above 1 in place, 0.05 elsewhere. Letters of any vessel stand at any height
        alike, and on its sides as `SIDE_SHARE` says. What a person calls the front of a covered vessel need not be what
        the form calls so: front and back are one, and on a round or square body all sides.
    """
    factor = 1.0
    if sighting.z_mm is not None and inscription.z_mm is not None:
        low, high = inscription.z_mm[0] - HEIGHT_ROOM_MM, inscription.z_mm[1] + HEIGHT_ROOM_MM
        seen_low, seen_high = sighting.z_mm
        share = min(1.0, (high - low + seen_high - seen_low) / max(form.profile.height_mm, high, 1.0))
        factor *= MISPLACED + (1.0 - MISPLACED) * (low <= seen_high and seen_low <= high) / share
    seen, own = _side(sighting.face, form), _side(inscription.face, form)
    if seen is not None and own is not None:
        factor *= MISPLACED + (1.0 - MISPLACED) * (seen == own) / SIDE_SHARE[own]
    return factor


def _side(face: str | None, form: Form) -> str | None:
    """Which of the sides that can be told apart a face is; None for a shoulder and the like."""
    side = None if face is None else SIDES.get(face.strip().casefold())
    alike = form.section.kind in ("round", "square", "polygon")
    return "body" if alike and side in ("broad", "side") else side


@lru_cache(maxsize=4096)
def tidy(text: str) -> str:
    """Capitals, digits, ``?`` and ``*`` only."""
    return re.sub(r"[^A-Z0-9?*]", "", text.upper())


def windows(reading: str, text: str, *, wrong: int = 0) -> int:
    """
    Number of places in an inscription where a reading fits with exactly ``wrong`` letters off.

    Parameters
    ----------
    reading : str
        Letters, ``?`` for one unread letter, ``*`` for any run (also none) of unread letters.
    text : str
        The inscription; blanks and punctuation count for nothing.

    Examples
    --------
    >>> windows("H?R??W", "HARLOW & TINE"), windows("T*E", "HARLOW & TINE"), windows("HERLOW", "HARLOW", wrong=1)
    (1, 1, 1)
    """
    pattern, letters = tidy(reading), tidy(text)
    if wrong == 0:
        runs = [re.compile(run.replace("?", ".")) for run in pattern.split("*")]
        return sum(_fits_from(runs, letters, start) for start in range(len(letters) + 1)) if pattern else 0
    known = [i for i, ch in enumerate(pattern) if ch not in "?*"]
    fits = windows(reading, text)
    return sum(max(0, windows(pattern[:i] + "?" + pattern[i + 1 :], text) - fits) for i in known)


def _fits_from(runs: Sequence[re.Pattern[str]], letters: str, start: int) -> bool:
    """
    Whether runs of letters follow one another in a text, the first beginning exactly at a place.

    Each further run is taken where it comes first, which never spoils what comes after it; one expression for all of
    them would try every way to divide the text, and take minutes over some readings.
    """
    found = runs[0].match(letters, start)
    for run in runs[1:]:
        if found is None:
            return False
        found = run.search(letters, found.end())
    return found is not None


def letters_likelihood(sighting: Sighting, forms: Sequence[Form]) -> tuple[FloatArray, float]:
    """
    Probability of reading these letters on each form, and on a vessel nobody listed.

    Notes
    -----
    With n letters read: a vessel whose lettering is unknown shows them by accident with probability 26^-n (times the
    chance that it is lettered at all). A form whose inscription fits in w of W places shows them with w / W; with one
    letter read wrong, that times the chance of a wrong letter. A form with another inscription keeps the accident only.
    Where both the reading and the inscription have a height or a side, each fit is weighed by `in_place`.
    """
    reading = tidy(sighting.value)
    known = sum(ch not in "?*" for ch in reading)
    accident = UNKNOWN_INSCRIPTION * LETTER**known
    likelihood = np.empty(len(forms))
    for i, form in enumerate(forms):
        if not form.letters:
            likelihood[i] = accident
            continue
        share = 0.02 * accident
        for inscription in form.letters:
            places = max(len(tidy(inscription.text)), 1) * len(form.letters)
            right = windows(reading, inscription.text) / places
            near = WRONG_LETTER * LETTER * windows(reading, inscription.text, wrong=1) / places
            share += ((1.0 - WRONG_LETTER) ** known * right + near) * in_place(sighting, inscription, form)
        likelihood[i] = share
    chance = sighting.sure * likelihood + (1.0 - sighting.sure) * accident
    return chance, accident

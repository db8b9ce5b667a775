"""Inscriptions of the library that a partly read word may be."""

from __future__ import annotations

from dataclasses import dataclass

from weftglass.errors import InputError
from weftglass.inside.likelihood.letters import tidy, windows
from weftglass.vessels import FormLibrary

FACES = {"front": 0.0, "side": 90.0, "back": 180.0}
MOST_LETTERS = 80


@dataclass(frozen=True)
class InscriptionMatch:
    """
    An inscription that a reading may be.

    Parameters
    ----------
    wrong_letters : int
        0, or 1 where one letter must have been read wrong.
    form : str
        Id of the form that carries it.
    text : str
    face : str or None
    z_mm : (low, high) or None
        Where on the form.
    place : str
        ``there`` where face and height agree with where it was read, ``elsewhere``, or ``not known``.
    """

    wrong_letters: int
    form: str
    text: str
    face: str | None
    z_mm: tuple[float, float] | None
    place: str


def search_inscriptions(
    library: FormLibrary, reading: str, *, z_mm: tuple[float, float] | None = None, face: str | None = None
) -> tuple[InscriptionMatch, ...]:
    """
    Inscriptions of the library that a partly read word may belong to.

    Parameters
    ----------
    reading : str
        ``?`` for one letter that could not be read, ``*`` for any run of such letters.
    z_mm, face : optional
        Where it was read: inscriptions known to be there come first.

    Returns
    -------
    tuple of InscriptionMatch
        Exact ones first, then those with one letter read wrong.

    Raises
    ------
    InputError
        If nothing of it was read, or it is longer than 80 letters.
    """
    letters = tidy(reading)
    if not any(ch.isalnum() for ch in letters) or len(letters) > MOST_LETTERS:
        raise InputError("letters", "reading", reading, "at least one letter or figure, with ? and * for unread ones")
    found = []
    for form in library:
        for inscription in form.letters:
            wrong = next((n for n in (0, 1) if windows(letters, inscription.text, wrong=n)), None)
            if wrong is not None:
                place = _place(inscription.face, inscription.z_mm, face, z_mm)
                found.append(
                    InscriptionMatch(wrong, form.id, inscription.text, inscription.face, inscription.z_mm, place)
                )
    order = ("there", "not known", "elsewhere")
    return tuple(sorted(found, key=lambda one: (one.wrong_letters, order.index(one.place), one.form, one.text)))


def _place(
    its_face: str | None, its_z: tuple[float, float] | None, face: str | None, z_mm: tuple[float, float] | None
) -> str:
    """Whether an inscription is where something was read; heights may be off by 15 mm of covering and reading."""
    asked = [
        None if face is None or its_face is None else its_face == face,
        None if z_mm is None or its_z is None else its_z[0] - 15 <= z_mm[1] and z_mm[0] <= its_z[1] + 15,
    ]
    if False in asked:
        return "elsewhere"
    return "there" if True in asked else "not known"

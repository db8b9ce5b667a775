"""Facts of the two pages on letters: searching inscriptions, and putting letters of one piece together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from weftglass.desk import InscriptionMatch, KeptLetters, ViewOnPhoto
from weftglass.desk.behind import COLOUR, GLASS_FROM, turned_towards
from weftglass.desk.letters import FACES
from weftglass.records import Piece
from weftglass.vessels import FormLibrary
from weftglass.web.door import FormFault
from weftglass.web.pages.addresses import form_address, photo_address, piece_address
from weftglass.web.pages.wording import capital

PLACE_WORDS = {"there": "where it was read", "elsewhere": "somewhere else on the form", "not known": "place not known"}


@dataclass(frozen=True)
class MatchFacts:
    """One inscription that fits: the text, the form, what is wrong with it, and where it stands."""

    text: str
    form_title: str
    form_href: str
    wrong: str
    place: str


@dataclass(frozen=True)
class InscriptionsFacts:
    """The search page: what was asked, what fits, and the same as files."""

    reading: str
    face: str
    low: str
    high: str
    faces: tuple[tuple[str, str], ...]
    asked: bool
    matches: tuple[MatchFacts, ...]
    found: str
    csv_href: str
    json_href: str
    fault: FormFault | None


@dataclass(frozen=True)
class ChoosableView:
    """A photograph that letters can be put together from."""

    id: str
    words: str
    picture_href: str
    chosen: bool


@dataclass(frozen=True)
class TogetherFacts:
    """A picture that was put together: its addresses, how much it shows, and each photograph in a sentence."""

    picture_href: str
    clearer_href: str
    words: str
    photographs: tuple[str, ...]
    low: str
    high: str
    face: str


@dataclass(frozen=True)
class LettersFacts:
    """The page of one piece: photographs to choose, the picture put together, and the reading to write down."""

    piece_name: str
    piece_href: str
    href: str
    views: tuple[ChoosableView, ...]
    faces: tuple[tuple[str, str], ...]
    glasses: tuple[tuple[str, str], ...]
    chosen: dict[str, str]
    together: TogetherFacts | None
    read_href: str
    fault: FormFault | None


def inscriptions_facts(
    library: FormLibrary,
    asked: Mapping[str, str],
    matches: Sequence[InscriptionMatch] | None,
    query: str,
    fault: FormFault | None = None,
) -> InscriptionsFacts:
    """Facts of the search; ``matches`` is None where nothing was asked yet."""
    count = len(matches or ())
    found = f"{count} inscription{'s' if count != 1 else ''} of the library fit{'' if count != 1 else 's'}"
    return InscriptionsFacts(
        asked.get("q", ""),
        asked.get("face", ""),
        asked.get("low", ""),
        asked.get("high", ""),
        (("", "any side"), *((face, face) for face in FACES)),
        matches is not None,
        tuple(_match(one, library) for one in matches or ()),
        found,
        f"/letters.csv?{query}",
        f"/letters.json?{query}",
        fault,
    )


def match_records(matches: Sequence[InscriptionMatch]) -> list[dict[str, Any]]:
    """Matches for a table or a JSON file."""
    return [
        {
            "wrong_letters": one.wrong_letters,
            "form": one.form,
            "text": one.text,
            "face": one.face,
            "z_low_mm": None if one.z_mm is None else one.z_mm[0],
            "z_high_mm": None if one.z_mm is None else one.z_mm[1],
            "place": one.place,
        }
        for one in matches
    ]


def letters_facts(
    piece: Piece, views: Sequence[ViewOnPhoto], kept: KeptLetters | None, fault: FormFault | None = None
) -> LettersFacts:
    """Facts of a piece's page."""
    href = f"{piece_address(piece.id)}/letters"
    typed = fault.typed if fault is not None and fault.form == "together" else {}
    together = None if kept is None else _together(kept, href)
    chosen = {"low": "", "high": "", "cover": "3", "face": "front", "glass": "dark", "colour": ""}
    if kept is not None and together is not None:
        own = COLOUR.fullmatch(kept.glass) is not None
        chosen = {"low": together.low, "high": together.high, "cover": f"{kept.cover_mm:g}", "face": kept.face,
                  "glass": "colour" if own else kept.glass, "colour": kept.glass if own else ""}  # fmt: skip
    chosen |= {name: value for name, value in typed.items() if name in chosen}
    return LettersFacts(
        piece.name,
        piece_address(piece.id),
        href,
        _choosable(views, chosen["face"]),
        tuple((face, capital(face)) for face in FACES),
        (*((name, capital(words)) for name, words in GLASS_FROM.items()), ("colour", "Of a colour, given below")),
        chosen,
        together,
        f"{href}/read",
        fault,
    )


def _choosable(views: Sequence[ViewOnPhoto], face: str) -> tuple[ChoosableView, ...]:
    """Each view, chosen where it shows the face."""
    near = {one.view.id for one in turned_towards(views, face if face in FACES else "front")}
    return tuple(
        ChoosableView(
            one.view.id, one.view.caption or one.view.role, photo_address(one.photo.id, "small"), one.view.id in near
        )
        for one in views
    )


def _together(kept: KeptLetters, href: str) -> TogetherFacts:
    low, high = kept.heights_mm
    words = (
        f"The {kept.face}, {low:.0f} to {high:.0f} mm high: the best photograph shows {100 * kept.share_one:.0f} % of "
        f"the glass there, all together {100 * kept.share_all:.0f} %. Grey is covered in all of them."
    )
    return TogetherFacts(
        f"{href}/picture/{kept.key}/plain",
        f"{href}/picture/{kept.key}/clearer",
        words,
        tuple(capital(words) for words in kept.photographs),
        f"{low:g}",
        f"{high:g}",
        kept.face,
    )


def _match(one: InscriptionMatch, library: FormLibrary) -> MatchFacts:
    at = "" if one.z_mm is None else f", {one.z_mm[0]:.0f} to {one.z_mm[1]:.0f} mm"
    return MatchFacts(
        one.text,
        library[one.form].title,
        form_address(one.form),
        "as read" if one.wrong_letters == 0 else "one letter read wrong",
        f"{one.face or 'side not known'}{at}; {PLACE_WORDS[one.place]}",
    )

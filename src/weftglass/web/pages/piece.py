"""Facts of a piece's page: the catalogue entry, what is known with its uncertainty, and what is still unknown."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from markupsafe import Markup

from weftglass.desk import PieceDossier
from weftglass.desk.communities import Restriction
from weftglass.evidence import FEATURES, KINDS
from weftglass.records import (
    HOW_TAKEN,
    PIECE_FIELDS,
    Finding,
    MeasurementRecord,
    Photo,
    Piece,
    SightingRecord,
    View,
)
from weftglass.web.door import FormFault
from weftglass.web.pages.addresses import bench_address, community_address, photo_address, piece_address
from weftglass.web.pages.history import ChangeFacts, history_facts
from weftglass.web.pages.inside import AnswerFacts
from weftglass.web.pages.wording import FEATURE_WORDS, KIND_WORDS, capital, moment_text, percent_text, with_sd_text

HANDLING = (
    "Old basketry may carry arsenic or mercury from insect treatment, the glass may be broken under a whole cover, and "
    "what is still inside is unknown: gloves, two hands under the base, no opening, no shaking."
)
LONG_FIELDS = ("design", "glass", "condition", "notes", "caution")
ROLE_WORDS = {
    "front": "front view",
    "side": "side view",
    "back": "back view",
    "turned": "turned, not known how far",
    "base": "base",
    "lip": "lip",
    "close-up": "close-up",
}


@dataclass(frozen=True)
class PlateFacts:
    """One photograph on the page: address, words, and where to work on it."""

    href: str
    alt: str
    caption: str
    bench_href: str
    original_href: str
    withdraw_href: str
    version: int


@dataclass(frozen=True)
class KnownFacts:
    """One thing known: label and text with unit and uncertainty, how it was taken, and where to withdraw it."""

    label: str
    text: str
    how: str
    withdraw_href: str
    version: int


@dataclass(frozen=True)
class FindingFacts:
    """One finding: conclusion, who signed it when, the remark, what supported it, and whether a later one stands."""

    conclusion: str
    signed: str
    remark: str
    support: str
    superseded: bool


@dataclass(frozen=True)
class FieldFacts:
    """One field of the catalogue entry that a person fills in."""

    name: str
    label: str
    value: str
    long: bool


@dataclass(frozen=True)
class KeptBackFacts:
    """Why a piece is kept out of anything published, and the page where that is said and can be changed."""

    reason: str
    community: str
    href: str


@dataclass(frozen=True)
class PieceFacts:
    """Everything a piece's page shows; numbers are text with unit and uncertainty."""

    name: str
    href: str
    version: int
    withdrawn: bool
    catalogue_line: str
    plates: tuple[PlateFacts, ...]
    entry: tuple[FieldFacts, ...]
    entry_fields: tuple[FieldFacts, ...]
    findings: tuple[FindingFacts, ...]
    verdict: str
    drawing: Markup | None
    drawn: str
    known: tuple[KnownFacts, ...]
    unknown: tuple[str, ...]
    looks: tuple[str, ...]
    cautions: tuple[str, ...]
    history: tuple[ChangeFacts, ...]
    measurement_kinds: tuple[tuple[str, str], ...]
    ways: tuple[tuple[str, str], ...]
    features: tuple[tuple[str, str], ...]
    seen_words: tuple[str, ...]
    roles: tuple[tuple[str, str], ...]
    handling: str
    exhibit: tuple[tuple[str, str], ...]
    pages: tuple[tuple[str, str], ...]
    kept_back: KeptBackFacts | None
    fault: FormFault | None


def piece_facts(
    dossier: PieceDossier,
    answer: AnswerFacts | None,
    seen_words: Sequence[str] = (),
    fault: FormFault | None = None,
    pages: tuple[tuple[str, str], ...] = (),
    restriction: Restriction | None = None,
) -> PieceFacts:
    """
    Put everything known of a piece and today's answer together as a page; newest finding and newest change first.

    Parameters
    ----------
    dossier : PieceDossier
    answer : AnswerFacts or None
        None while there is no evidence to answer from.
    seen_words : sequence of str
        Words of the library offered while typing a sighting.
    pages : tuple of (id, title)
        Pages of the catalogue, a new one first.
    restriction : Restriction or None
        What keeps the piece out of anything published.
    """
    piece, href = dossier.piece, piece_address(dossier.piece.id)
    known = [_outline_fact(one.view) for one in dossier.views if one.view.measured is not None]
    known += [_measured_fact(record, href) for record in dossier.measurements]
    known += [_seen_fact(record, href) for record in dossier.sightings]
    fields = tuple(_field(piece, name) for name in PIECE_FIELDS)
    return PieceFacts(
        piece.name,
        href,
        piece.version,
        piece.withdrawn,
        catalogue_line(dossier),
        tuple(_plate(one.view, one.photo, piece) for one in dossier.views),
        tuple(field for field in fields if field.value and field.name not in ("name", "status", "caution")),
        fields,
        tuple(_finding(finding) for finding in sorted(dossier.findings, key=_made_at, reverse=True)),
        answer.verdict if answer else "",
        answer.drawing if answer else None,
        answer.chosen if answer else "",
        tuple(known),
        tuple(dossier.unknown),
        tuple(look.look for look in answer.looks) if answer else (),
        (piece.caution,) if piece.caution else (),
        history_facts(dossier.history, piece.id),
        tuple((kind, f"{KIND_WORDS[kind]} ({KINDS[kind].unit})") for kind in KINDS),
        (("", "not said"), *HOW_TAKEN.items()),
        tuple((name, FEATURE_WORDS[name]) for name in FEATURES),
        tuple(seen_words),
        (("", "front, or close-up if there is one"), *ROLE_WORDS.items()),
        HANDLING,
        (("piece", piece.id),),
        pages,
        None
        if restriction is None
        else KeptBackFacts(restriction.words, restriction.name, community_address(restriction.community)),
        fault,
    )


def catalogue_line(dossier: PieceDossier) -> str:
    """The opening sentences of an entry: what it is, of what, by whom, when, and what stands inside."""
    piece = dossier.piece
    covering = " in ".join(text for text in (piece.technique, piece.material) if text)
    made = ", ".join(text for text in (piece.maker, piece.community, piece.place, piece.made) if text)
    vessel = f"inside: {dossier.accepted.conclusion}" if dossier.accepted else "vessel inside not yet identified"
    opening = f"Covered vessel, {covering}" if covering else "Covered vessel"
    return ". ".join(part for part in (opening, capital(made), capital(vessel)) if part).rstrip(".") + "."


def _plate(view: View, photo: Photo, piece: Piece) -> PlateFacts:
    words = ROLE_WORDS.get(view.role, view.role)
    parts = [capital(words), view.caption, "" if photo.taken is None else f"taken {photo.taken[:10]}"]
    href = f"{piece_address(piece.id)}/views/{view.id}/withdraw"
    original = photo_address(photo.id, "original")
    caption = "; ".join(part for part in parts if part)
    alt = f"{piece.name}, {words}"
    return PlateFacts(photo_address(photo.id, "large"), alt, caption, bench_address(view), original, href, view.version)


def _outline_fact(view: View) -> KnownFacts:
    measured = view.measured
    height = "" if measured is None else with_sd_text(measured.height_mm, measured.height_sd_mm, "mm")
    label = f"height from the {ROLE_WORDS.get(view.role, view.role)}"
    return KnownFacts(label, height, "measured on the photograph", "", view.version)


def _measured_fact(record: MeasurementRecord, href: str) -> KnownFacts:
    at = "" if record.z_mm is None else f" at {record.z_mm:g} mm height"
    over = "" if record.covered or record.what in ("weight", "height") else ", on the glass"
    typed = f"typed as {record.typed}" if record.typed else ""
    how = "; ".join(text for text in (HOW_TAKEN.get(record.how, ""), typed, record.by, record.remark) if text)
    text = with_sd_text(record.value, record.sd, record.unit)
    withdraw = f"{href}/measurements/{record.id}/withdraw"
    return KnownFacts(f"{KIND_WORDS[record.what]}{at}{over}", text, how, withdraw, record.version)


def _seen_fact(record: SightingRecord, href: str) -> KnownFacts:
    text = f"{record.value}, {percent_text(record.sure)} sure"
    how = "; ".join(part for part in (record.face or "", record.by, record.remark) if part)
    withdraw = f"{href}/sightings/{record.id}/withdraw"
    return KnownFacts(FEATURE_WORDS[record.feature], text, how, withdraw, record.version)


def _finding(finding: Finding) -> FindingFacts:
    support = (
        f"Computed then at {percent_text(finding.probability)}; engine {finding.engine_version}, library "
        f"{finding.library_version}. The evidence of that day is kept with it."
    )
    signed = f"{finding.who}, {moment_text(_local(finding.created_at))}"
    older = finding.superseded_by is not None or finding.withdrawn
    return FindingFacts(capital(finding.conclusion), signed, finding.remark, support, older)


def _cautions(piece: Piece) -> tuple[str, ...]:
    return (piece.caution,) if piece.caution else ()  # the owner's own words; general ones are in HANDLING


def _field(piece: Piece, name: str) -> FieldFacts:
    return FieldFacts(name, capital(PIECE_FIELDS[name]), getattr(piece, name), name in LONG_FIELDS)


def _made_at(finding: Finding) -> datetime:
    return finding.created_at


def _local(moment: datetime) -> datetime:
    return moment.astimezone()

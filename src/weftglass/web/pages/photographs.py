"""Facts of a piece's photographs: each with what was done on it, and where to work on it or take it away."""

from __future__ import annotations

from dataclasses import dataclass

from weftglass.desk import PieceDossier, ViewOnPhoto
from weftglass.records import evidence_view
from weftglass.web.door import FormFault
from weftglass.web.pages.addresses import bench_address, photo_address, piece_address
from weftglass.web.pages.piece import ROLE_WORDS
from weftglass.web.pages.wording import capital, with_sd_text


@dataclass(frozen=True)
class PhotographFacts:
    """One photograph: picture, role, caption, file, how far the work on it is, and where to go on."""

    href: str
    alt: str
    role: str
    caption: str
    file: str
    done: tuple[str, ...]
    bench_href: str
    original_href: str
    withdraw_href: str
    version: int


@dataclass(frozen=True)
class PhotographsFacts:
    """All photographs of a piece, and the form for another."""

    piece_name: str
    piece_href: str
    photographs: tuple[PhotographFacts, ...]
    roles: tuple[tuple[str, str], ...]
    fault: FormFault | None


def photographs_facts(dossier: PieceDossier, fault: FormFault | None = None) -> PhotographsFacts:
    """The page of a piece's photographs, the front first."""
    piece = dossier.piece
    return PhotographsFacts(
        piece.name,
        piece_address(piece.id),
        tuple(_photograph(one, piece.name) for one in dossier.views),
        (("", "front, or close-up if there is one"), *ROLE_WORDS.items()),
        fault,
    )


def _photograph(one: ViewOnPhoto, piece: str) -> PhotographFacts:
    view, photo = one.view, one.photo
    words = ROLE_WORDS.get(view.role, view.role)
    taken = "" if photo.taken is None else f", taken {photo.taken[:10]}"
    size = f"{photo.width_px} × {photo.height_px} pixels, {photo.size_bytes / 2**20:.1f} MB"
    return PhotographFacts(
        photo_address(photo.id, "large"),
        f"{piece}, {words}",
        capital(words),
        view.caption,
        f"{photo.name}: {photo.format}, {size}{taken}",
        _done(one),
        bench_address(view),
        photo_address(photo.id, "original"),
        f"{piece_address(view.piece)}/views/{view.id}/withdraw",
        view.version,
    )


def _done(one: ViewOnPhoto) -> tuple[str, ...]:
    """What stands on a view, in the order in which it is done; what is missing is said too."""
    view = one.view
    if evidence_view(view.role) is None:
        return ("kept as it is; shows no whole outline",)
    if not view.polygon:
        return ("outline not traced yet",)
    by = {"found": "outline traced by itself", "hand": "outline corrected by hand"}.get(
        view.polygon_by, "outline traced"
    )
    if view.measured is None:
        return (by, "no scale yet")
    height = with_sd_text(view.measured.height_mm, view.measured.height_sd_mm, "mm")
    seen = [words for words, unseen in (("base", view.base_unseen), ("top", view.top_unseen)) if unseen]
    cut = f"{' and '.join(seen)} not seen" if seen else ""
    bare = f"{len(view.bare)} range{'s' if len(view.bare) != 1 else ''} of bare glass marked"
    return tuple(words for words in (by, f"{height} tall", cut, bare if view.bare else "no bare glass marked") if words)

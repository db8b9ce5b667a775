"""Facts of a piece's rollout page: the wall laid flat, its bands, repeats, colours, and how to make it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from weftglass.desk import KeptRollout, RollableViews
from weftglass.desk.rolling import SECTIONS, RolloutChoice
from weftglass.publish import for_pages
from weftglass.records import HOW_COUNTED, Piece, WeaveStudy
from weftglass.web.door import FormFault
from weftglass.web.figures.rollout import rollout_svg, swatch_svg
from weftglass.web.pages.addresses import piece_address
from weftglass.web.pages.wording import capital


@dataclass(frozen=True)
class ColourFacts:
    """One colour of the palette: a square of it, its numbers, its share of the face."""

    swatch: Markup
    numbers: str
    share: str


@dataclass(frozen=True)
class MadeRollout:
    """A rollout that was made: the figure, what is true of it, its design in words, and files to save."""

    figure: Markup
    facts: tuple[tuple[str, str], ...]
    warnings: tuple[str, ...]
    bands: tuple[str, ...]
    colours: tuple[ColourFacts, ...]
    files: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True)
class RolloutFacts:
    """The page: the piece, from what it is rolled out, the rollout if it was made, and what was chosen."""

    piece_name: str
    piece_href: str
    href: str
    from_words: str
    missing: str
    made: MadeRollout | None
    sections: tuple[tuple[str, str], ...]
    chosen: dict[str, str]
    stitches_hint: str
    covering_href: str
    fault: FormFault | None


def rollout_facts(
    piece: Piece,
    views: RollableViews,
    kept: KeptRollout | None,
    study: WeaveStudy | None,
    fault: FormFault | None = None,
) -> RolloutFacts:
    """Facts of the page; ``study`` is the count of stitches to take over."""
    href = f"{piece_address(piece.id)}/rollout"
    return RolloutFacts(
        piece.name,
        piece_address(piece.id),
        href,
        _from_words(views),
        views.missing,
        None if kept is None else made_rollout(kept, href, piece.name),
        tuple((kind, capital(kind)) for kind in SECTIONS),
        _chosen(kept, study),
        _stitches_hint(study),
        f"{piece_address(piece.id)}/covering",
        fault,
    )


def made_rollout(kept: KeptRollout, href: str, name: str) -> MadeRollout:
    """A kept rollout for the page; the version of its files stands in their address."""
    stamp = kept.pictures["plain"].name.removesuffix("-plain.png")[-12:]
    picture = f"{href}/picture/plain?made={stamp}"
    words = f"Rollout of {name}: {_extent(kept.geometry)}. " + " ".join(kept.words)
    return MadeRollout(
        for_pages(lambda size: rollout_svg(kept.geometry, kept.marks, picture, words, size=size)),
        tuple(_geometry_facts(kept.geometry)),
        tuple(kept.geometry["warnings"]),
        kept.words,
        tuple(_colour(record) for record in kept.design["palette"]),
        (
            (f"{href}/picture/ruled", "Picture with rulers (PNG)", "rollout.png"),
            (f"{href}/picture/marked", "The same with bands marked (PNG)", "rollout-marked.png"),
            (f"{href}/picture/ruled-tiff", "Picture with rulers (TIFF)", "rollout.tif"),
            (f"{href}/rows.csv", "Height, way and girth of the rows (CSV)", "rollout-rows.csv"),
            (f"{href}/rollout.json", "Geometry and design (JSON)", "rollout.json"),
        ),
    )


def _from_words(views: RollableViews) -> str:
    if not views.views:
        return ""
    if len(views.views) == 1:
        return f"From one photograph, the {views.views[0].view.role} view: the part it shows."
    return f"From {len(views.views)} photographs of a turntable: the whole round."


def _extent(geometry: dict[str, Any]) -> str:
    return (
        "the whole round"
        if geometry["whole_round"]
        else f"the seen part, {100 * geometry['seen_share']:.0f} % of the round"
    )


def _geometry_facts(geometry: dict[str, Any]) -> list[tuple[str, str]]:
    facts = [
        ("Shown", f"{_extent(geometry)}, {geometry['from_height_mm']:.0f} to {geometry['to_height_mm']:.0f} mm high"),
        ("Girth at the widest", f"{geometry['girth_mm']:.1f} ± {geometry['girth_sd_mm']:.1f} mm"),
        ("Scale of the picture", f"{geometry['px_per_mm']:g} pixels per mm, along the wall and round that girth"),
    ]
    if geometry["closing"] is not None:
        facts.append(("Turns close to", f"{100 * geometry['closing']:+.1f} % of a whole turn before correction"))
    spread = [sd for sd in geometry["place_sd_mm"] if sd is not None]
    if spread:
        facts.append(("A place is known round the girth to", f"± {min(spread):.1f} to {max(spread):.1f} mm"))
    if geometry["seam_ratio"] is not None:
        facts.append(("Colour steps across the seams", f"{geometry['seam_ratio']:.2f} of those elsewhere"))
    return facts


def _colour(record: dict[str, Any]) -> ColourFacts:
    lightness, a, b = record["lab"]
    numbers = f"{record['hex']}, L* {lightness:.0f}, a* {a:+.0f}, b* {b:+.0f}, ± {record['spread']:.0f}"
    return ColourFacts(swatch_svg(record["hex"]), numbers, f"{100 * record['share']:.0f} %")


def _stitches_hint(study: WeaveStudy | None) -> str:
    if study is None:
        return "None counted yet."
    return f"Taken over from the count of {study.on}, {HOW_COUNTED[study.how]}."


def _chosen(kept: KeptRollout | None, study: WeaveStudy | None) -> dict[str, str]:
    choice = RolloutChoice() if kept is None else kept.choice
    low, high = choice.heights_mm or (None, None)
    stitches, sd = choice.stitches_per_cm, choice.stitches_sd
    if stitches is None and study is not None:
        stitches, sd = study.stitches_per_cm, study.stitches_sd
    numbers = {"low": low, "high": high, "px_per_mm": choice.px_per_mm}
    typed = {name: "" if value is None else f"{value:g}" for name, value in numbers.items()}
    counted = {"stitches_per_cm": "" if stitches is None else f"{stitches:.2f}",
               "stitches_sd": "" if sd is None else f"{max(sd, 0.01):.2f}"}  # fmt: skip
    depth = "" if kept is None else f"{choice.depth_share:g}"
    return typed | counted | {"section": choice.section, "depth_share": depth}

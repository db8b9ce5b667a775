"""A known vessel pattern in one size: its profile, lip, marks, years, and how well each is known."""

from __future__ import annotations

import difflib
import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from weftglass.errors import InputError
from weftglass.vessels.fields import items_of, number_of, optional_text, range_of, record_of, text_of, words_of
from weftglass.vessels.profile import Profile
from weftglass.vessels.section import Section

KEYS = (
    "id", "name", "size", "family", "section", "profile", "side_profile", "tolerance", "finish", "closure", "colours",
    "base", "letters", "contents", "region", "bore_mm", "push_up_mm", "weight_g", "capacity_ml", "years",
    "commonness", "source",
)  # fmt: skip
REQUIRED = ("id", "name", "section", "profile")
SURFACE_STEPS = 2  # extra heights between two rows when a turned silhouette is traced
LEAST_SHAPE_SD_MM = 0.02


@dataclass(frozen=True)
class Tolerance:
    """
    How far a vessel of this form may be from its drawing.

    Parameters
    ----------
    height_sd, width_sd : float
        Relative standard deviation of one vessel's height and width about the drawing's, 0 to 0.3.
    shape_sd_mm : float
        How far the drawn contour may lie from the glass, mm, 0.02 to 100: scanned 0.1 to 0.3, traced from a photograph
        about 0.5, drawn from catalogue dimensions 1 to 5.
    """

    height_sd: float = 0.012
    width_sd: float = 0.015
    shape_sd_mm: float = 1.0

    @classmethod
    def from_record(cls, value: object, where: str) -> Tolerance:
        """Read ``{"height_sd": ..., "width_sd": ..., "shape_sd_mm": ...}``; what is left out has its default."""
        if value is None:
            return cls()
        record = record_of(value, where, "tolerance")
        share = "a share from 0 to 0.3, such as 0.012 for 1.2 percent"
        own = cls()
        height = number_of(record.get("height_sd", own.height_sd), where, "tolerance.height_sd", share, low=0, high=0.3)
        width = number_of(record.get("width_sd", own.width_sd), where, "tolerance.width_sd", share, low=0, high=0.3)
        name, words = "tolerance.shape_sd_mm", f"a number from {LEAST_SHAPE_SD_MM} to 100, in mm"
        shape = number_of(
            record.get("shape_sd_mm", own.shape_sd_mm), where, name, words, low=LEAST_SHAPE_SD_MM, high=100
        )
        return cls(height, width, shape)

    def to_record(self) -> dict[str, float]:
        """The form file's entry."""
        return {"height_sd": self.height_sd, "width_sd": self.width_sd, "shape_sd_mm": self.shape_sd_mm}


@dataclass(frozen=True)
class Letters:
    """
    An inscription in the glass.

    Parameters
    ----------
    text : str
        As it reads on the glass.
    face : str or None
        Where it stands: front, back, side, base, shoulder ... None where unknown.
    z_mm : (low, high) or None
        Height range in mm.
    """

    text: str
    face: str | None = None
    z_mm: tuple[float, float] | None = None

    @classmethod
    def from_record(cls, value: object, where: str, name: str) -> Letters:
        """Read ``{"text": ..., "face": ..., "z": [low, high]}``; only text is required."""
        record = record_of(value, where, name)
        text = text_of(record.get("text"), where, f"{name}.text")
        face = optional_text(record.get("face"), where, f"{name}.face")
        z = range_of(record.get("z"), where, f"{name}.z", "two heights in mm, the lower first", low=0, high=3000)
        return cls(text, face, z)

    def to_record(self) -> dict[str, Any]:
        """The form file's entry."""
        record: dict[str, Any] = {"text": self.text}
        if self.face is not None:
            record["face"] = self.face
        if self.z_mm is not None:
            record["z"] = list(self.z_mm)
        return record


@dataclass(frozen=True, eq=False)
class Form:
    """
    A known vessel pattern in one size; empty tuples and None where something is not known.

    Parameters
    ----------
    id, name : str
        Unique short name, and the trade's name.
    section : Section
        Plan of the body.
    profile, side_profile : Profile, Profile or None
        Half-width seen from the front and half-depth seen from the side, mm; None: as deep as wide.
    size : str or None
        Size as the trade says it.
    tolerance : Tolerance
        How well the drawing is known.
    finish, closure, colours, base : tuple of str
        What such a vessel may show, the usual one first.
    letters : tuple of Letters
        Inscriptions it may carry.
    weight_g : (low, high) or None
        Empty mass, g.
    capacity_ml : float or None
        Nominal capacity, ml.
    years : (from, to) or None
        Years of making, CE.
    commonness : float
        Relative frequency against other forms, above 0.
    family : str or None
        Groups near-twins and the sizes of one pattern.
    contents, region : str or None
        What it held; where it was made or used.
    bore_mm, push_up_mm : float or None
        Inner diameter of the mouth, and height of the push-up in the base, mm.
    further : tuple of (key, JSON text)
        Entries of a form file that this program does not read; kept and written back.
    """

    id: str
    name: str
    section: Section
    profile: Profile
    size: str | None = None
    side_profile: Profile | None = None
    tolerance: Tolerance = Tolerance()
    finish: tuple[str, ...] = ()
    closure: tuple[str, ...] = ()
    colours: tuple[str, ...] = ()
    base: tuple[str, ...] = ()
    letters: tuple[Letters, ...] = ()
    weight_g: tuple[float, float] | None = None
    capacity_ml: float | None = None
    years: tuple[int, int] | None = None
    commonness: float = 1.0
    source: str | None = None
    family: str | None = None
    contents: str | None = None
    region: str | None = None
    bore_mm: float | None = None
    push_up_mm: float | None = None
    further: tuple[tuple[str, str], ...] = field(default=(), repr=False)

    @property
    def family_name(self) -> str:
        """The family, or the form's own name where it has none."""
        return self.family or self.name

    @property
    def drawn_sd_mm(self) -> float:
        """How far the drawn contour may lie from the glass, mm."""
        return self.tolerance.shape_sd_mm

    @property
    def title(self) -> str:
        """Name and size, for people."""
        return self.name if self.size is None else f"{self.name}, {self.size}"

    def silhouette(self, turn_deg: float = 0.0) -> Profile:
        """
        Half-width seen from far away, turned by some degrees from the front.

        Parameters
        ----------
        turn_deg : float
            0 front, 90 side. A round form looks the same from every turn.
        """
        if self.section.kind == "round" or turn_deg % 180.0 == 0.0:
            return self.profile
        side = self.profile if self.side_profile is None else self.side_profile
        nodes = np.unique(np.concatenate([self.profile.z_mm, side.z_mm]))
        z = np.interp(np.arange((len(nodes) - 1) * SURFACE_STEPS + 1) / SURFACE_STEPS, np.arange(len(nodes)), nodes)
        front, depth = self.profile.half_width_at(z), side.half_width_at(z)
        return Profile.of(np.column_stack([z, self.section.silhouette_half_width(front, depth, turn_deg)]), self.id)

    @classmethod
    def from_record(cls, value: object, where: str) -> Form:
        """
        Read one entry of a form file.

        Parameters
        ----------
        value : object
            The parsed JSON; needs id, name, section and profile.
        where : str
            File and line, for errors.

        Raises
        ------
        InputError
            Names the field, its value and what would be right.

        Notes
        -----
        A key that is a near miss of a known one is refused as a misspelling; other unknown keys are kept in
        ``further``.
        """
        record = record_of(value, where, "form")
        for key in REQUIRED:
            if record.get(key) is None:
                raise InputError(where, key, record.get(key), "given: every form needs " + ", ".join(REQUIRED))
        section = Section.from_record(record["section"], where)
        profile = Profile.of(record["profile"], where)
        side = _side_profile(record.get("side_profile"), section, profile, where)
        years = range_of(record.get("years"), where, "years", "two years CE, the earlier first", low=-3000, high=2200)
        inscriptions = items_of(record.get("letters"), where, "letters", most=100)
        sizes = _sizes(record, where)
        return cls(
            id=text_of(record["id"], where, "id", longest=100),
            name=text_of(record["name"], where, "name"),
            size=optional_text(record.get("size"), where, "size"),
            section=section,
            profile=profile,
            side_profile=side,
            tolerance=Tolerance.from_record(record.get("tolerance"), where),
            finish=words_of(record.get("finish"), where, "finish"),
            closure=words_of(record.get("closure"), where, "closure"),
            colours=words_of(record.get("colours"), where, "colours"),
            base=words_of(record.get("base"), where, "base"),
            letters=tuple(Letters.from_record(item, where, f"letters[{i}]") for i, item in enumerate(inscriptions)),
            weight_g=range_of(record.get("weight_g"), where, "weight_g", WEIGHT, low=0.1, high=200_000),
            capacity_ml=sizes["capacity_ml"],
            years=None if years is None else (round(years[0]), round(years[1])),
            commonness=sizes["commonness"] or 1.0,
            source=optional_text(record.get("source"), where, "source", longest=2000),
            family=optional_text(record.get("family"), where, "family"),
            contents=optional_text(record.get("contents"), where, "contents"),
            region=optional_text(record.get("region"), where, "region"),
            bore_mm=sizes["bore_mm"],
            push_up_mm=sizes["push_up_mm"],
            further=_further(record, where),
        )

    def to_record(self) -> dict[str, Any]:
        """The form file's entry, without what is unknown; `from_record` reads it back to an equal form."""
        written: dict[str, Any] = {
            "id": self.id,
            "name": self.name,
            "size": self.size,
            "family": self.family,
            "section": self.section.to_record(),
            "profile": self.profile.points.tolist(),
            "side_profile": None if self.side_profile is None else self.side_profile.points.tolist(),
            "tolerance": self.tolerance.to_record(),
            "finish": list(self.finish),
            "closure": list(self.closure),
            "colours": list(self.colours),
            "base": list(self.base),
            "letters": [inscription.to_record() for inscription in self.letters],
            "contents": self.contents,
            "region": self.region,
            "bore_mm": self.bore_mm,
            "push_up_mm": self.push_up_mm,
            "weight_g": None if self.weight_g is None else list(self.weight_g),
            "capacity_ml": self.capacity_ml,
            "years": None if self.years is None else list(self.years),
            "commonness": self.commonness,
            "source": self.source,
        }
        known = {key: entry for key, entry in written.items() if entry is not None and entry != []}
        return known | {key: json.loads(text) for key, text in self.further}


WEIGHT = "one mass or two, the lesser first, from 0.1 to 200000 g"


def _side_profile(value: object, section: Section, profile: Profile, where: str) -> Profile | None:
    """The side as given; a polygon without one is regular, other forms are as deep as wide."""
    if value is None:
        return _regular_depth(section, profile, where)
    if section.kind == "round":
        raise InputError(where, "side_profile", value, "null for a round section")
    try:
        side = Profile.of(value, where)  # type: ignore[arg-type]
    except InputError as error:
        raise InputError(where, f"side_{error.field}", error.value, error.expected) from None
    if abs(side.height_mm - profile.height_mm) > 0.01 * profile.height_mm:
        expected = f"a height within 1 % of the front's {profile.height_mm:g} mm"
        raise InputError(where, "side_profile height", side.height_mm, expected)
    return side


def _regular_depth(section: Section, profile: Profile, where: str) -> Profile | None:
    sides = section.sides
    if section.kind != "polygon" or sides is None or sides % 4 == 0:
        return None
    half = np.pi / sides
    shallow = np.cos(half) if sides % 2 == 0 else (1 + np.cos(half)) / (2 * np.cos(half / 2))
    wide = profile.half_width_mm
    low, high = section.blend_mm or (0.0, 1e-9)
    roundness = np.clip((high - wide) / (high - low), 0.0, 1.0)
    return Profile.of(np.column_stack([profile.z_mm, wide * (roundness + (1 - roundness) * shallow)]), where)


def _sizes(record: Mapping[str, Any], where: str) -> dict[str, float | None]:
    bounds = {
        "capacity_ml": (0.1, 200_000.0, "a number from 0.1 to 200000, in ml"),
        "commonness": (1e-6, 1e6, "a number above 0, 1 for a common form"),
        "bore_mm": (1.0, 500.0, "a number from 1 to 500, in mm"),
        "push_up_mm": (0.0, 500.0, "a number from 0 to 500, in mm"),
    }
    result: dict[str, float | None] = {}
    for key, (low, high, expected) in bounds.items():
        value = record.get(key)
        result[key] = None if value is None else number_of(value, where, key, expected, low=low, high=high)
    return result


def _further(record: Mapping[str, Any], where: str) -> tuple[tuple[str, str], ...]:
    kept = []
    for key in sorted(set(record) - set(KEYS)):
        near = difflib.get_close_matches(key, KEYS, n=1, cutoff=0.8)
        if near:
            raise InputError(where, key, record[key], f"left out, or spelt {near[0]!r}")
        kept.append((text_of(key, where, "key", longest=100), json.dumps(record[key], ensure_ascii=False)))
    return tuple(kept)

"""The inner face of a vessel: its outer profile less the glass, from the mass, the bore and the push-up."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from weftglass.errors import InputError
from weftglass.vessels.drafting import BRIM_OVER_NOMINAL, PUSH_UP_SHARE
from weftglass.vessels.form import Form
from weftglass.vessels.profile import Profile
from weftglass.vessels.volume import CONTAINER_GLASS_G_PER_ML, outer_volume_ml, surface_area_mm2

FloatArray = NDArray[np.float64]

LEVELS = 257  # heights at which an inner face is known
BASE_OVER_WALL = 2.0  # thickness of the base over that of the wall; working figure, no source
UNKNOWN_WEIGHT_G_PER_ML = 0.75  # glass over capacity when a form lists neither mass nor capacity; working figure
LEAST_ROOM = 0.08  # a pointed bottom is solid where the inside would be narrower than this share of the widest
LEAST_GLASS = 0.25  # the finish keeps at least this share of the wall, whatever the bore
NECK_ENDS = 1.6  # the neck is over where the inside is this much wider than at its narrowest
NECK = (0.55, 0.97)  # the neck is looked for between these shares of the height: below the lip, whose edge is rounded


@dataclass(frozen=True, eq=False)
class Interior:
    """
    The air's room, from the floor to the mouth.

    Parameters
    ----------
    z_mm : array, shape (m,)
        Heights above the standing plane, mm, rising from the floor of the inside to the mouth.
    area_mm2 : array, shape (m,)
        Area of the air's cross-section at each height, mm².
    edge_mm : array, shape (m,)
        Length of the glass round that section, mm.
    lip_half_width_mm : float
        Outer half-width of the lip's face, mm; it decides how freely the mouth sounds.
    """

    z_mm: FloatArray
    area_mm2: FloatArray
    edge_mm: FloatArray
    lip_half_width_mm: float

    @classmethod
    def of_round(cls, profile: Profile, lip_half_width_mm: float | None = None) -> Interior:
        """
        A round inside given by its own profile: half-width of the air against height, mm.

        Parameters
        ----------
        profile : Profile
            Of the inside; must be open at the top.
        lip_half_width_mm : float, optional
            At least the mouth's. Default: a thin lip, the mouth's own half-width.
        """
        mouth = float(profile.half_width_mm[-1])
        lip = mouth if lip_half_width_mm is None else lip_half_width_mm
        if not 0 < mouth <= lip:
            raise InputError("inside", "mouth half-width", mouth, f"above 0 and at most the lip's {lip:g} mm")
        z = np.linspace(float(profile.z_mm[0]), profile.height_mm, LEVELS)
        r = np.maximum(profile.half_width_at(z), 1e-3)
        return cls(_frozen(z), _frozen(np.pi * r * r), _frozen(2 * np.pi * r), lip)

    @property
    def capacity_ml(self) -> float:
        """Brimful capacity, ml."""
        return float(np.sum(0.5 * (self.area_mm2[1:] + self.area_mm2[:-1]) * np.diff(self.z_mm)) / 1000.0)

    @property
    def bore_mm(self) -> float:
        """Diameter of the mouth, mm; of the circle of the same area where it is not round."""
        return 2.0 * math.sqrt(float(self.area_mm2[-1]) / math.pi)


def interior_of(form: Form, *, weight_g: float | None = None, bore_mm: float | None = None) -> Interior:
    """
    The inside of a vessel of this form.

    Parameters
    ----------
    form : Form
        Its outer profile, section, mass, capacity, bore and push-up are used as far as they are known.
    weight_g : float, optional
        Mass of the glass, g, above 0. Default: what the form's mass and capacity say together.
    bore_mm : float, optional
        Inner diameter of the mouth, mm. Default: the form's, else as wide as an even wall leaves it.

    Returns
    -------
    Interior
        An even wall whose glass has that mass, twice as thick in the base, thicker or thinner in the neck where the
        bore asks for it; a finish's rings are outside only. A push-up is the cone of the starter drawings.

    Raises
    ------
    InputError
        The glass would fill the vessel.

    Notes
    -----
    Carries no uncertainty of its own: see `weftglass.vessels.air.tone_spread`.

    Examples
    --------
    >>> from weftglass.vessels import FormLibrary
    >>> claret = interior_of(FormLibrary.starter()["wine-bordeaux-mod"])
    >>> 740 < claret.capacity_ml < 800
    True
    """
    shape = _Shape.of(form)
    target = shape.outer_ml - shape.hollow_ml - _glass_ml(form, shape, weight_g)
    bore = form.bore_mm if bore_mm is None else bore_mm
    wall = _wall_mm(shape, target, bore)
    interior = shape.lined(wall, bore)
    if interior is None:
        raise InputError(form.id, "weight_g", weight_g or form.weight_g, "a mass that leaves room inside the vessel")
    return interior


@dataclass(frozen=True, eq=False)
class _Shape:
    """What the search for a wall needs of a form, worked out once."""

    form: Form
    side: Profile
    outer_ml: float
    area_mm2: float
    push_mm: float
    push_half_width_mm: float

    @classmethod
    def of(cls, form: Form) -> _Shape:
        front = form.profile
        side = front if form.side_profile is None else form.side_profile
        outer = outer_volume_ml(front, section=form.section, side_profile=side)
        rough = surface_area_mm2(front) if side is front else 0.5 * (surface_area_mm2(front) + surface_area_mm2(side))
        push = min(form.push_up_mm or 0.0, 0.5 * front.height_mm)
        slim = min(front.widest_mm, side.widest_mm)
        return cls(form, side, outer, rough, push, PUSH_UP_SHARE * slim)

    @property
    def hollow_ml(self) -> float:
        return math.pi / 3 * self.push_half_width_mm**2 * self.push_mm / 1000.0

    def lined(self, wall: float, bore_mm: float | None) -> Interior | None:
        """The inside with this wall; None where nothing is left of it."""
        height = self.form.profile.height_mm
        floor = self._floor_mm(wall)
        if floor is None:
            return None
        z = np.linspace(floor, height, LEVELS)
        front = _inset(self.form.profile, z, wall)
        deep = front if self.side is self.form.profile else _inset(self.side, z, wall)
        outer = self.form.profile.half_width_at(z)
        fitted = _with_bore(front, outer, z / height, bore_mm, wall)
        if fitted is None:
            return None
        deep = np.maximum(deep, 1e-3) * fitted / np.maximum(front, 1e-3)
        cone = np.zeros_like(z)
        if self.push_mm > 0:
            cone = self.push_half_width_mm * np.clip(1.0 - (z - floor) / self.push_mm, 0.0, 1.0)
        area = self.form.section.area_mm2(fitted, deep) - np.pi * cone**2
        if area.min() <= 0:
            return None
        edge = self.form.section.perimeter_mm(fitted, deep) + 2 * np.pi * cone
        return Interior(_frozen(z), _frozen(area), _frozen(edge), float(outer[-1]))

    def _floor_mm(self, wall: float) -> float | None:
        """Where the inside begins: above the thick base, and above a pointed bottom's solid tip."""
        half = 0.5 * self.form.profile.height_mm
        z = np.linspace(0.0, half, 81)
        room = _inset(self.form.profile, z, wall)
        if self.side is not self.form.profile:
            room = np.minimum(room, _inset(self.side, z, wall))
        open_at = np.flatnonzero(room < LEAST_ROOM * self.form.profile.widest_mm)
        solid = float(z[open_at[-1]]) if open_at.size else 0.0
        floor = max(BASE_OVER_WALL * wall, solid + float(z[1]))
        return floor if floor < half else None


def _glass_ml(form: Form, shape: _Shape, weight_g: float | None) -> float:
    """Volume of the glass: from a given mass, or from the form's mass and capacity weighed by how well each tells."""
    if weight_g is not None:
        return weight_g / CONTAINER_GLASS_G_PER_ML
    told = []
    room = shape.outer_ml - shape.hollow_ml
    if form.weight_g is not None:
        low, high = (weight / CONTAINER_GLASS_G_PER_ML for weight in form.weight_g)
        told.append((0.5 * (low + high), max((high - low) / 3.3, 0.04 * (low + high))))
    if form.capacity_ml is not None:
        brim = BRIM_OVER_NOMINAL * form.capacity_ml
        told.append((room - brim, math.hypot(0.03 * brim, 0.025 * shape.outer_ml)))
    if not told:
        return room * UNKNOWN_WEIGHT_G_PER_ML / (UNKNOWN_WEIGHT_G_PER_ML + CONTAINER_GLASS_G_PER_ML)
    weight = sum(1 / sd**2 for _, sd in told)
    mean = sum(value / sd**2 for value, sd in told) / weight
    return min(max(mean, 0.02 * room), 0.9 * room)


def _wall_mm(shape: _Shape, target_ml: float, bore: float | None) -> float:
    """The even wall that leaves this capacity, to about 0.2 % of it: secant steps kept inside a shrinking bracket."""
    low, high = 0.0, 0.45 * min(shape.form.profile.widest_mm, shape.side.widest_mm)
    wall = min(1000.0 * max(shape.outer_ml - target_ml, 0.1) / shape.area_mm2, 0.9 * high)
    slope = -shape.area_mm2 / 1000.0
    for _ in range(12):
        interior = shape.lined(wall, bore)
        excess = -target_ml if interior is None else interior.capacity_ml - target_ml
        if interior is not None and abs(excess) < 0.002 * target_ml:
            return wall
        low, high = (wall, high) if excess > 0 else (low, wall)
        step = wall - excess / slope
        wall = step if low < step < high and interior is not None else 0.5 * (low + high)
    return wall


def _inset(profile: Profile, z: FloatArray, wall: float) -> FloatArray:
    """Half-width of everything that lies at least one wall inside the contour, at heights z; the mouth is open."""
    reach = np.linspace(-1.0, 1.0, 15) * wall
    near = np.clip(z[:, None] + reach, profile.z_mm[0], profile.height_mm)
    return np.asarray((profile.half_width_at(near) - np.sqrt(np.maximum(wall**2 - reach**2, 0.0))).min(axis=1))


def _with_bore(
    inside: FloatArray, outer: FloatArray, share: FloatArray, bore_mm: float | None, wall: float
) -> FloatArray | None:
    """The inside brought to the bore in the neck, straight through the finish above the neck's narrowest."""
    upper = np.flatnonzero((share > NECK[0]) & (share < NECK[1]))
    waist = int(upper[inside[upper].argmin()])
    narrow = float(inside[waist])
    half_bore = narrow if bore_mm is None else bore_mm / 2
    if half_bore <= 0 or inside[: waist + 1].min() <= 0:
        return None
    narrow = max(narrow, 1e-3)
    fade = np.clip((NECK_ENDS * narrow - inside) / ((NECK_ENDS - 1.0) * narrow), 0.0, 1.0)
    fade[share <= NECK[0]] = 0.0
    fitted = inside + (half_bore - narrow) * fade
    fitted[waist:] = half_bore
    return np.asarray(np.minimum(fitted, np.maximum(outer - LEAST_GLASS * wall, 0.5 * outer)))


def _frozen(values: FloatArray) -> FloatArray:
    values.setflags(write=False)
    return values

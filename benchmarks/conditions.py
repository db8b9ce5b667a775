"""The circumstances under which the engine is tried, each simulated answer seeded on its own so that runs can go on."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline
from simulated import (
    PLAIN,
    Circumstances,
    broad_library,
    covered,
    form_of,
    individual,
    measured,
    smooth_noise,
    twins_library,
    with_marks,
)

from weftglass.evidence import Evidence
from weftglass.inside.bank import FormBank
from weftglass.vessels import Form

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class Condition:
    """A library and how its pieces are seen."""

    name: str
    words: str
    library: str = "twins"
    seen: Circumstances = PLAIN
    profile_error_mm: float = 0.0
    measured: bool = False
    views: int = 1


CONDITIONS = {
    one.name: one
    for one in (
        Condition("broad", "1,000 vessels sampled widely", "broad"),
        Condition("twins", "100 families of 10 near-twins"),
        Condition("measured", "with weight, two callipers, lip and two letters", measured=True),
        Condition("thick", "coverings of 1.5 to 12 mm", seen=replace(PLAIN, cover_mm=(1.5, 12.0))),
        Condition("bands", "one to three bands, half to twice as thick again", seen=replace(PLAIN, bands=3)),
        Condition(
            "bridged",
            "shoulders bridged by stakes of 60 to 150 mm radius",
            seen=replace(PLAIN, bridge_mm=(60.0, 150.0)),
        ),
        Condition("strap", "one or two straps, 2 to 8 mm out", seen=replace(PLAIN, straps=2)),
        Condition("scale", "scale 4 % off", seen=replace(PLAIN, scale_error=0.04)),
        Condition("drawings", "library profiles 0.5 mm wrong, and said to be", profile_error_mm=0.5),
        Condition("partial", "60 % of the outline visible", seen=replace(PLAIN, hidden=0.4)),
        Condition("shape", "shape only, no scale", seen=replace(PLAIN, shape_only=True)),
        Condition("foot", "basketry 5 to 30 mm below the glass", seen=replace(PLAIN, foot_mm=(5.0, 30.0))),
        Condition(
            "rise", "covering 5 to 40 mm longer than the vessel", seen=replace(PLAIN, rise_mm=(5.0, 40.0), bare_lip=0.0)
        ),
        Condition("two", "two views of one covering", views=2),
    )
}


@dataclass(frozen=True, eq=False)
class World:
    """A library as the engine has it, the true forms behind it, and a sibling of each family that it does not list."""

    condition: Condition
    true: list[Form]
    siblings: list[Form]
    bank: FormBank

    @classmethod
    def of(cls, condition: Condition, seed: int, *, families: int = 100, members: int = 10) -> World:
        """Draw the library; its listed profiles are wrong by the condition's error."""
        rng = np.random.default_rng([seed, 1])
        if condition.library == "broad":
            forms, siblings = broad_library(families * members, rng), []
        else:
            every = twins_library(families, members + 1, rng)
            siblings = every[members :: members + 1]
            forms = [form for i, form in enumerate(every) if i % (members + 1) != members]
        if condition.measured:
            forms = [with_marks(form, rng) for form in forms]
        listed = [_misdrawn(form, condition.profile_error_mm, rng) for form in forms]
        bank = FormBank.of(listed)
        return cls(condition, forms, siblings, bank)

    def evidence(self, form: Form, rng: np.random.Generator) -> Evidence:
        """What is known of one covered vessel of a form."""
        vessel = individual(form, rng)
        piece = covered(vessel, rng, seen=self.condition.seen)
        if self.condition.measured:
            return measured(piece, form, 0.38, rng)
        if self.condition.views == 2:
            mean = (piece.mean_cover_mm, piece.mean_cover_mm)
            other = covered(vessel, rng, seen=replace(self.condition.seen, cover_mm=mean))
            side = replace(other.evidence.outlines[0], view="side")
            return replace(piece.evidence, outlines=(*piece.evidence.outlines, side))
        return piece.evidence


def _misdrawn(form: Form, error_mm: float, rng: np.random.Generator) -> Form:
    """The form as a library would list it: its profile wrong by a smooth error that the library knows the size of."""
    if error_mm <= 0:
        return form
    points = np.array(form.profile.points)
    some = points[::4, 0]  # 5 mm apart at most: the error is smooth over 30
    wrong = CubicSpline(some, error_mm * smooth_noise(some, 30.0, rng))
    points[:, 1] = np.maximum(points[:, 1] + wrong(points[:, 0]), 2.0)
    hand = form.tolerance.height_sd > 0.008
    return form_of(form.id, form.family_name, points, shape_sd_mm=error_mm, hand=hand)

"""
How many questions, and minutes, until the answer is 95 % sure: chosen by expected information, or in other orders?

    python benchmarks/next_looks_accuracy.py [--pieces 200] [--families 100] [--seed 20261203] [--jobs 2]

A library of near-twins (families of 10 that share colour, finish, closure and base, as siblings do in life), a traced
outline of each covered piece, and then one observation after another, answered as the simulated piece would answer it,
until one form stands at 95 % among those listed (the pieces are drawn from the library). After the outline the laws of
its survivors are conditioned on each reply; the outline is not placed anew. Five orders on the same pieces: the
engine's own first advice; two fixed orders, sizes before description and description before sizes; cheap first, by
minutes; and random. A reply is the same whenever it is asked. Orders are compared over the pieces that get to 95 % in
every order; how many don't is told. Minutes are the table's; half a minute is added for every one. Pieces are
answered by their own simulated glass, bore, covering and air, not by the engine's rows.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from simulated import Covered, covered, individual, twins_library

from weftglass.evidence import Evidence, Measurement, Sighting, default_sd
from weftglass.inside.asks import MEASURED, SEEN, Ask
from weftglass.inside.bank import FormBank
from weftglass.inside.likelihood.measurement import measured_rows
from weftglass.inside.likelihood.sighting import sighting_likelihood
from weftglass.inside.next_look import REACH_MINUTES, all_looks, ranked
from weftglass.inside.posterior import Posterior, posterior
from weftglass.inside.weighing import Weighed
from weftglass.vessels import CONTAINER_GLASS_G_PER_ML, Form, Profile, outer_volume_ml
from weftglass.vessels.air import air_tone
from weftglass.vessels.interior import interior_of
from weftglass.vessels.volume import surface_area_mm2

SURE = 0.95
COLOURS = ("amber", "aqua", "colourless", "dark olive", "cobalt", "emerald")
FINISHES = ("blob", "ring", "crown", "flat lip", "string rim", "prescription")
CLOSURES = ("cork", "crown", "glass stopper", "screw")
BASES = ("pontil scar", "post bottom", "machine made", "push up")
FIBRE_G_PER_ML = 0.38
SIZES_FIRST = (
    "height", "body_width", "base_diameter", "neck_diameter", "lip_diameter", "bore", "girth", "weight", "colour",
    "finish", "closure", "base", "section", "cover_thickness", "tone", "capacity",
)  # fmt: skip
DESCRIPTION_FIRST = (*SIZES_FIRST[8:13], *SIZES_FIRST[:8], *SIZES_FIRST[13:])
ASKS: dict[str, Ask] = {ask.kind: ask for ask in (*MEASURED, *SEEN) if ask.kind in SIZES_FIRST}
Told = tuple[int, float, bool, bool]
Order = Callable[[Posterior, list[str], np.random.Generator], str]


def furnished(forms: list[Form], rng: np.random.Generator) -> list[Form]:
    """The forms with glass, bore, capacity, and the colour, finish, closure and base of their family."""
    shared: dict[str, dict[str, object]] = {}
    made = []
    for form in forms:
        kind = shared.setdefault(
            form.family_name,
            {
                "colours": [str(rng.choice(COLOURS))],
                "finish": [str(rng.choice(FINISHES))],
                "closure": [str(rng.choice(CLOSURES))],
                "base": [str(rng.choice(BASES))],
                "wall": float(rng.uniform(2.4, 4.2)),
            },
        )
        wall = float(str(kind["wall"])) * (1 + 0.05 * rng.standard_normal())
        outer = outer_volume_ml(form.profile)
        mass = min(surface_area_mm2(form.profile) * wall * CONTAINER_GLASS_G_PER_ML / 1000.0, 1.2 * outer)
        lip = 2 * float(form.profile.half_width_mm[-1])
        more = {
            **{key: value for key, value in kind.items() if key != "wall"},
            "weight_g": [0.92 * mass, 1.08 * mass],
            "capacity_ml": (outer - mass / CONTAINER_GLASS_G_PER_ML) / 1.035,
            "bore_mm": max(0.58 * lip * (1 + 0.03 * float(rng.standard_normal())), 2.0),
        }
        made.append(Form.from_record(form.to_record() | more, form.id))
    return made


@dataclass(frozen=True, eq=False)
class Piece:
    """A covered piece, its form, and what it would show to every question."""

    form: Form
    case: Covered
    glass_g: float
    bore_mm: float
    mean_cover_mm: float

    @classmethod
    def of(cls, form: Form, rng: np.random.Generator) -> Piece:
        """One vessel of a form, covered."""
        case = covered(individual(form, rng), rng)
        low, high = form.weight_g or (1.0, 1.0)
        glass = 0.5 * (low + high) * (1 + 0.06 * float(rng.standard_normal()))
        bore = (form.bore_mm or 18.0) * (1 + 0.03 * float(rng.standard_normal()))
        return cls(form, case, glass, bore, case.mean_cover_mm)

    def answer(self, kind: str, z_mm: float | None, rng: np.random.Generator) -> Measurement | Sighting:
        """What a careful owner writes down."""
        if kind in ("colour", "finish", "closure", "base", "section"):
            listed = {
                "colour": self.form.colours,
                "finish": self.form.finish,
                "closure": self.form.closure,
                "base": self.form.base,
                "section": (self.form.section.kind,),
            }[kind]
            others = {"colour": COLOURS, "finish": FINISHES, "closure": CLOSURES, "base": BASES}.get(kind, listed)
            seen = listed[0] if rng.random() < 0.94 else str(rng.choice(others))
            return Sighting(kind, seen, 0.9)
        true = self.reading(kind, z_mm, rng)
        sd = default_sd(kind, true)
        return Measurement(kind, max(true + sd * float(rng.standard_normal()), 0.1), sd, z_mm, ASKS[kind].covered)

    def reading(self, kind: str, z_mm: float | None, rng: np.random.Generator) -> float:
        """The true reading, mm, g, ml or Hz, with the covering's unevenness where the instrument lies."""
        z, half = self.case.vessel[:, 0], self.case.vessel[:, 1]
        tall = float(z[-1])
        local = [self.mean_cover_mm * max(1 + 0.3 * float(n), 0.1) for n in rng.standard_normal(2)]
        over = sum(local)
        share = z / tall
        if kind == "girth":
            return float(2 * np.pi * (np.interp((z_mm or 0) - self.mean_cover_mm, z, half) + 0.5 * over))
        vessel = Profile.of(self.case.vessel)
        holds = outer_volume_ml(vessel) - self.glass_g / CONTAINER_GLASS_G_PER_ML
        fibre = surface_area_mm2(vessel) * self.mean_cover_mm * FIBRE_G_PER_ML / 1000.0
        plain = {
            "height": self.case.height_mm,
            "lip_diameter": 2 * half[share >= 0.95].max() * (1 + 0.02 * rng.standard_normal()),
            "neck_diameter": 2 * half[(share >= 0.55) & (share <= 0.985)].min() + over,
            "base_diameter": 2 * half[share <= 1 / 12].max() + over,
            "body_width": 2 * half.max() + over,
            "bore": self.bore_mm,
            "cover_thickness": local[0],
            "capacity": max(holds, 1.0),
            "weight": self.glass_g + fibre * (1 + 0.3 * rng.standard_normal()) + abs(3 + 3 * rng.standard_normal()),
        }
        if kind == "tone":
            own = replace(self.form, profile=vessel)
            return air_tone(interior_of(own, weight_g=self.glass_g, bore_mm=self.bore_mm))
        return float(plain[kind])


def advised(found: Posterior, left: list[str], rng: np.random.Generator) -> str:
    """The engine's first advice; the cheapest left where it has none."""
    looks = [look for look in ranked(all_looks(found)) if look.kind in left]
    return looks[0].kind if looks else cheapest(found, left, rng)


def by_sizes(found: Posterior, left: list[str], rng: np.random.Generator) -> str:
    """Sizes, then description, then what takes long."""
    return min(left, key=SIZES_FIRST.index)


def by_description(found: Posterior, left: list[str], rng: np.random.Generator) -> str:
    """Description, then sizes, then what takes long."""
    return min(left, key=DESCRIPTION_FIRST.index)


def cheapest(found: Posterior, left: list[str], rng: np.random.Generator) -> str:
    """The one of fewest minutes."""
    return min(left, key=lambda kind: ASKS[kind].minutes)


def at_random(found: Posterior, left: list[str], rng: np.random.Generator) -> str:
    """Any."""
    return str(rng.choice(left))


ORDERS: dict[str, Order] = {
    "advised": advised,
    "sizes first": by_sizes,
    "words first": by_description,
    "cheap first": cheapest,
    "random": at_random,
}


@dataclass(frozen=True, eq=False)
class Standing:
    """What is believed of a piece while questions are answered: laws from the outline, then each reply taken in."""

    outline: Posterior
    bank: FormBank

    def after(self, evidence: Evidence) -> Posterior:
        """Probabilities of the forms that survived the outline, with all replies so far."""
        case = replace(self.outline.case, evidence=evidence)
        state, running = self.outline.exact.state, list(self.outline.exact.running)
        for row in measured_rows(evidence.measurements, self.bank, case.setting):
            state = state.with_row(*row)
            running.append(state.log_likelihood())
        for sighting in evidence.sightings:
            running.append(running[-1] + np.log(sighting_likelihood(sighting, self.bank.forms)[0]))
        joint = running[-1] + np.log(self.outline.prior[self.outline.survivors])
        weight = np.exp(joint - joint.max())
        probability = np.zeros(len(self.outline.bank))
        probability[self.outline.survivors] = weight / weight.sum()
        exact = Weighed(np.array(running), state, self.outline.exact.average)
        return replace(self.outline, case=case, probability=probability, exact=exact)


def asked(order: Order, piece: Piece, first: Posterior, seed: int) -> Told:
    """Questions and minutes until the answer is sure, whether it was, and whether it was right."""
    rng = np.random.default_rng(seed)
    standing = Standing(first, first.bank.part(first.survivors))
    evidence: Evidence = piece.case.evidence
    left = sorted(ASKS, key=SIZES_FIRST.index)
    minutes, count = 0.0, 0
    while True:
        found = standing.after(evidence)
        sure = float(found.probability.max()) >= SURE
        if sure or not left:
            return count, minutes, sure, first.bank.forms[int(found.probability.argmax())].id == piece.form.id
        kind = order(found, left, rng)
        z = next((look.z_mm for look in all_looks(found) if look.kind == kind), None) if ASKS[kind].shares else None
        if ASKS[kind].shares and z is None:
            z = 5.0 * round(0.4 * piece.case.height_mm / 5)
        reply = piece.answer(kind, z, np.random.default_rng([seed, SIZES_FIRST.index(kind)]))
        left.remove(kind)
        count += 1
        minutes += ASKS[kind].minutes + REACH_MINUTES
        if isinstance(reply, Measurement):
            evidence = replace(evidence, measurements=(*evidence.measurements, reply))
        else:
            evidence = replace(evidence, sightings=(*evidence.sightings, reply))


def run(pieces: int, families: int, seed: int) -> dict[str, list[Told]]:
    """All orders on the same pieces."""
    rng = np.random.default_rng(seed)
    forms = furnished(twins_library(families, 10, rng), rng)
    bank = FormBank.of(forms)
    told: dict[str, list[Told]] = {name: [] for name in ORDERS}
    for i in range(pieces):
        piece = Piece.of(forms[int(rng.integers(len(forms)))], rng)
        first = posterior(piece.case.evidence, bank)
        for name, order in ORDERS.items():
            told[name].append(asked(order, piece, first, seed + i))
    return told


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("--pieces", type=int, default=200)
    parser.add_argument("--families", type=int, default=100)
    parser.add_argument("--seed", type=int, default=20261203)
    parser.add_argument("--jobs", type=int, default=2)
    wanted = parser.parse_args()
    each = -(-wanted.pieces // wanted.jobs)
    with ProcessPoolExecutor(wanted.jobs) as pool:
        seeds = [wanted.seed + 1000 * i for i in range(wanted.jobs)]
        parts = list(pool.map(partial(run, each, wanted.families), seeds))
    whole = {name: np.array([row for part in parts for row in part[name]], dtype=float) for name in ORDERS}
    settled = np.all([row[:, 2] > 0 for row in whole.values()], axis=0)
    rows = {name: row[settled] for name, row in whole.items()}
    sure_at_once = np.mean(rows["advised"][:, 0] == 0)
    print(f"{len(settled)} pieces; {int(settled.sum())} get to 95 % in every order, {100 * sure_at_once:.0f} % of them")
    print("by the outline alone")
    print(f"{'order':12s} {'questions':>9s} {'minutes':>8s} {'right there':>11s} {'never there, of all':>19s}")
    for name, row in rows.items():
        questions, minutes, _, right = row.mean(axis=0)
        print(f"{name:12s} {questions:9.2f} {minutes:8.2f} {right:11.3f} {np.mean(whole[name][:, 2] == 0):19.3f}")
    ours = rows["advised"].mean(axis=0)
    for name, wanted_share in (("sizes first", 30), ("words first", 30), ("random", 45)):
        fewer = 100 * (1 - ours[0] / rows[name][:, 0].mean())
        print(f"questions against {name}: {fewer:.0f} % fewer (wanted: {wanted_share} %)")
    fewer = 100 * (1 - ours[1] / rows["cheap first"][:, 1].mean())
    print(f"minutes against cheap first: {fewer:.0f} % fewer (wanted: 35 %)")


if __name__ == "__main__":
    main()

"""What to look at next: the expected information of every observation not yet made, against effort and risk."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from weftglass.evidence import default_sd
from weftglass.inside.answer import NextLook
from weftglass.inside.bank import FormBank
from weftglass.inside.likelihood.letters import tidy
from weftglass.inside.likelihood.measurement import Setting, predict
from weftglass.inside.likelihood.sighting import LEAK, fold, listed_values
from weftglass.inside.posterior import Posterior
from weftglass.inside.state import State

FloatArray = NDArray[np.float64]

GRID = 160  # readings tried for a measurement
EFFORT = ((1.0, "low"), (4.0, "medium"), (float("inf"), "high"))  # minutes, at most
HANDLING = "Hold the piece in both hands over something soft; old glass under a covering may be cracked."
STOPPER = "Leave a stopper that does not come by itself; never twist or pull on old glass."
CONTENTS = "What it held is unknown: do not open, smell or pour; ask a licensed practitioner about residues."
PROBE = "Never push between strands; use a gap that is there. Dry fibre breaks."


@dataclass(frozen=True)
class Ask:
    """One observation on offer: what it reads, how it is worded, how long it takes (common practice, no source)."""

    kind: str
    words: str
    minutes: float
    caution: str | None = None
    covered: bool = True
    share: float | None = None  # of the height, for readings taken at a height


MEASURED = (
    Ask("height", "Measure the height over all, from the table to the very top", 0.4),
    Ask("lip_diameter", "Measure across the lip with callipers", 0.3, None, covered=False),
    Ask("body_width", "Measure the widest part of the body with callipers or between two books", 0.6),
    Ask("body_depth", "Measure the depth of the body, front to back", 0.6),
    Ask("base_diameter", "Measure across the base", 0.6, HANDLING),
    Ask("neck_diameter", "Measure the narrowest part of the neck with callipers", 0.5),
    Ask("girth", "Lay a tape round the body at {z:.0f} mm above the table", 0.8, None, share=0.33),
    Ask("weight", "Weigh it as it stands", 1.0, HANDLING),
    Ask("cover_thickness", "Probe the thickness of the covering through a gap at {z:.0f} mm", 2.0, PROBE, share=0.4),
    Ask("bore", "Measure the bore of the open mouth", 0.6, STOPPER, covered=False),
    Ask("tone", "Record its tone: a puff from a rubber bulb across the open mouth", 3.0, CONTENTS),
    Ask("capacity", "Fill it with dry millet through a funnel and measure what it took", 12.0, CONTENTS),
)
SEEN = (
    Ask("finish", "Photograph the lip with the stopper out and say how it is made", 0.7, STOPPER),
    Ask("colour", "Shine a light through a gap or the lip and name the colour", 0.7),
    Ask("base", "Look at the base through the covering: scar, seam, kick-up or marks", 1.0, HANDLING),
    Ask("closure", "Say what closes the mouth, or what it was made to take", 0.4),
    Ask("letters", "Look for raised letters through the gaps with a slanting light, and type what you can read", 3.0),
    Ask("section", "Look straight down on it: round, square, oval or flat", 0.3),
)


def next_looks(found: Posterior, *, most: int = 3) -> tuple[NextLook, ...]:
    """
    The looks worth most bits a minute, best first.

    Parameters
    ----------
    found : Posterior
    most : int
        How many.

    Notes
    -----
    Expected information gain (Lindley 1956) about which form it is: the mutual information of the form and the reading,
    by quadrature over readings for measurements, exact for sightings. Observations already made are left out. Where
    the evidence leaves no listed form any probability, no look can tell them apart and none is named.
    """
    probability = found.probability[found.survivors]
    keep = probability > 1e-4 * probability.max(initial=0.0)
    if not keep.any():
        return ()
    state = found.exact.state.part(np.flatnonzero(keep))
    bank = found.bank.part(found.survivors[keep])
    weight = probability[keep] / probability[keep].sum()
    measured = {m.what for m in found.case.evidence.measurements}
    seen = {s.feature for s in found.case.evidence.sightings}
    looks = [
        look for ask in MEASURED if ask.kind not in measured and (look := _measured(ask, found, state, bank, weight))
    ]
    looks += [look for ask in SEEN if ask.kind not in seen and (look := _seen(ask, bank, weight))]
    return tuple(sorted(looks, key=lambda look: -look.gain_bits / (look.minutes + 0.5))[:most])


def _measured(ask: Ask, found: Posterior, state: State, bank: FormBank, weight: FloatArray) -> NextLook | None:
    if ask.kind == "body_depth" and bool(bank.is_round.all()):
        return None
    z = None if ask.share is None else float(np.round(ask.share * _height(found, bank, weight) / 5) * 5)
    mean, sd = predictive(ask.kind, z, ask.covered, state, bank, found.case.setting)
    gain = mutual_information(mean, sd, state.class_weight, weight)
    words = ask.words if z is None else ask.words.format(z=z)
    expected = _expected(bank, weight, (state.class_weight * mean).sum(axis=1), UNITS.get(ask.kind, "mm"))
    return NextLook(words, gain, _effort(ask.minutes), ask.minutes, ask.caution, ask.kind, z, expected)


def predictive(
    kind: str, z_mm: float | None, covered: bool, state: State, bank: FormBank, setting: Setting
) -> tuple[FloatArray, FloatArray]:
    """Mean and sd of a reading not yet taken, for every form and thickness class, (F, K) each."""
    row = predict(kind, z_mm, covered, bank, setting)
    if row is None:
        raise ValueError(kind)
    mean = row.predicted + np.einsum("fkp,fkp->fk", row.slope, state.mean)
    known = np.einsum("fkp,fkpq,fkq->fk", row.slope, state.covariance, row.slope)
    noise = np.array([default_sd(kind, max(float(value), 1.0)) for value in mean.mean(axis=1)])
    return mean, np.sqrt(np.maximum(known, 0.0) + row.variance + noise[:, None] ** 2)


def mutual_information(mean: FloatArray, sd: FloatArray, classes: FloatArray, weight: FloatArray) -> float:
    """
    Bits that a reading is expected to tell about the form.

    Parameters
    ----------
    mean, sd, classes : array (F, K)
        Of the reading, and the weight of each class given the form.
    weight : array (F,)
        Probability of each form, sums to 1.

    Examples
    --------
    >>> one = np.ones((2, 1))
    >>> round(mutual_information(np.array([[0.0], [50.0]]), one, one, np.array([0.5, 0.5])), 3)
    1.0
    """
    low, high = float((mean - 4 * sd).min()), float((mean + 4 * sd).max())
    fine = min(GRID * 8, max(GRID, int(2 * (high - low) / float(sd.min()))))
    y = np.linspace(low, high, fine)
    z = (y[None, None, :] - mean[..., None]) / sd[..., None]
    density = (classes[..., None] * np.exp(-0.5 * z**2) / (sd[..., None] * np.sqrt(2 * np.pi))).sum(axis=1)
    mixed = weight @ density
    ratio = np.where(density > 0, np.log2(np.maximum(density, 1e-300) / np.maximum(mixed, 1e-300)[None, :]), 0.0)
    return max(0.0, float((weight[:, None] * density * ratio).sum() * (y[1] - y[0])))


def _seen(ask: Ask, bank: FormBank, weight: FloatArray) -> NextLook | None:
    table, names = _letters_table(bank) if ask.kind == "letters" else _listed_table(ask.kind, bank)
    if len(names) < 2:
        return None
    mixed = weight @ table
    gain = float((weight[:, None] * table * np.log2(np.maximum(table, 1e-12) / np.maximum(mixed, 1e-12))).sum())
    best = names[int(mixed.argmax())]
    expected = f"most likely {best} ({100 * mixed.max():.0f} %)"
    return NextLook(ask.words, max(gain, 0.0), _effort(ask.minutes), ask.minutes, ask.caution, ask.kind, None, expected)


def _listed_table(feature: str, bank: FormBank) -> tuple[FloatArray, list[str]]:
    """Probability of each value under each form, (F, V); a form that lists nothing gets the mean of the others."""
    listed = [[fold(value) for value in listed_values(form, feature)] for form in bank.forms]
    names = sorted({value for values in listed for value in values})
    table = np.zeros((len(bank), len(names)))
    for i, values in enumerate(listed):
        for value in values:
            table[i, names.index(value)] += 1.0 / len(values)
    speaks = table.sum(axis=1) > 0
    if names and speaks.any():
        table[~speaks] = table[speaks].mean(axis=0)
        table = (1 - LEAK) * table + LEAK / len(names)
    return table, names


def _letters_table(bank: FormBank) -> tuple[FloatArray, list[str]]:
    """Inscriptions as outcomes, each legible in half the cases, (F, V + 1)."""
    texts = sorted({tidy(inscription.text) for form in bank.forms for inscription in form.letters})
    table = np.zeros((len(bank), len(texts) + 1))
    for i, form in enumerate(bank.forms):
        for inscription in form.letters:
            table[i, texts.index(tidy(inscription.text))] += 0.5 / len(form.letters)
        table[i, -1] = 1.0 - table[i].sum()
    return table, [*texts, "nothing legible"] if texts else []


def _height(found: Posterior, bank: FormBank, weight: FloatArray) -> float:
    if found.case.nodes:
        return float(found.case.nodes[0].top_mm)
    return float(weight @ bank.heights)


def _expected(bank: FormBank, weight: FloatArray, mean: FloatArray, unit: str) -> str:
    """The readings that the two most probable forms would give."""
    order = np.argsort(-weight)[:2]
    parts = [
        f"{bank.forms[i].name} {bank.forms[i].size or ''}".strip() + f": about {mean[i]:.0f} {unit}" for i in order
    ]
    return "; ".join(parts)


def _effort(minutes: float) -> str:
    return next(word for limit, word in EFFORT if minutes <= limit)


UNITS = {"weight": "g", "capacity": "ml", "tone": "Hz"}

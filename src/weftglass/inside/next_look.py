"""What to look at next: the expected information of every observation not yet made, against effort and risk."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from weftglass.evidence import KINDS, Measurement, default_sd
from weftglass.inside.answer import NextLook
from weftglass.inside.asks import FRONT, MEASURED, SEEN, SIDE, Ask
from weftglass.inside.bank import STEPS, FormBank
from weftglass.inside.glass import glass_of
from weftglass.inside.likelihood.letters import tidy
from weftglass.inside.likelihood.measurement import Chain
from weftglass.inside.likelihood.sighting import LEAK, fold, listed_values
from weftglass.inside.posterior import Posterior
from weftglass.inside.state import State
from weftglass.inside.weighing import Case

FloatArray = NDArray[np.float64]

LEAST_CLASS = 1e-4  # classes of coverings less probable than this are not asked about
GRID = 160  # readings tried for a measurement
EFFORT = ((1.0, "low"), (4.0, "medium"), (float("inf"), "high"))  # minutes, at most
WORTH_BITS = 0.01  # a look expected to tell less is not offered
REACH_MINUTES = 0.5  # fetching the tool and writing the reading down, on top of every look
STANDING = 1e-4  # forms less probable than this share of the best are not told apart any more
LOOSE = 2.5  # a reading taken this many times more loosely than a careful one may be taken again
APART_MM = 25.0  # girths and probes this far apart count as different readings
SAMPLES = 400  # photographs imagined
PHOTO_MM, PHOTO_SHARE = 1.5, 0.015  # sd of a width on a photograph under an unknown covering, mm and share
SURE = 0.95  # a form that stands so high among those listed is settled on
SETTLING_BITS = 5.0  # what settling on a form is worth: bits that no later look need tell


def next_looks(found: Posterior, *, most: int = 3) -> tuple[NextLook, ...]:
    """
    The looks worth most bits a minute, best first.

    Parameters
    ----------
    found : Posterior
    most : int
        How many.

    Returns
    -------
    tuple of NextLook
        Empty when nothing is expected to tell 0.01 bit, or when no listed form is left to tell apart.

    Notes
    -----
    Expected information gain (Lindley 1956) about which form it is: the mutual information of the form and the reading,
    by quadrature over readings for measurements, exact for sightings, by simulation for a photograph. To it comes five
    times the chance that the look settles the question, since nothing need be asked after that; the sum is divided by
    the minutes the look takes, half a minute to reach for it, and what its risk makes it dearer.
    """
    return ranked(all_looks(found))[:most]


def ranked(looks: list[NextLook]) -> tuple[NextLook, ...]:
    """Looks worth 0.01 bit and more, those worth most a minute first."""
    return tuple(sorted((look for look in looks if look.gain_bits >= WORTH_BITS), key=_worth_a_minute, reverse=True))


def _worth_a_minute(look: NextLook) -> float:
    return (look.gain_bits + SETTLING_BITS * look.settles) / (look.minutes + look.risk_minutes + REACH_MINUTES)


def all_looks(found: Posterior) -> list[NextLook]:
    """Every observation not yet made, with its expected gain, in no order."""
    probability = found.probability[found.survivors]
    keep = probability > STANDING * probability.max(initial=0.0)
    if not keep.any():
        return []
    state = found.exact.state.part(np.flatnonzero(keep))
    bank = found.bank.part(found.survivors[keep])
    weight = probability[keep] / probability[keep].sum()
    used = np.flatnonzero(weight @ state.class_weight > LEAST_CLASS)
    state, case = state.classes(used), replace(found.case, cover=found.case.cover.part(used))
    seen = {sighting.feature for sighting in found.case.evidence.sightings}
    chain = Chain.of(case.evidence.measurements, bank, replace(case.setting, exact=False))
    looks = [look for ask in MEASURED if (look := _measured(ask, case, state, chain, weight))]
    looks += [look for ask in SEEN if ask.kind not in seen and (look := _seen(ask, bank, weight))]
    return looks + _photographs(found.case, bank, weight)


def _measured(ask: Ask, case: Case, state: State, chain: Chain, weight: FloatArray) -> NextLook | None:
    """The look at the height where it tells most; None where it was taken well already or cannot tell."""
    bank = chain.bank
    if ask.kind == "body_depth" and bool(bank.is_round.all()):
        return None
    taken = [m for m in case.evidence.measurements if m.what == ask.kind]
    well = [m for m in taken if m.sd <= LOOSE * default_sd(m.what, m.value)]
    tall = float(case.nodes[0].top_mm) if case.nodes else float(weight @ bank.heights)
    heights: list[float | None] = [float(np.round(share * tall / 5) * 5) for share in ask.shares]
    best: NextLook | None = None
    for z in heights or [None]:
        if any(z is None or m.z_mm is None or abs(m.z_mm - z) < APART_MM for m in well):
            continue
        mean, sd = predictive(ask.kind, z, ask.covered, state, chain)
        classes = state.class_weight
        told = Told.by(reading_law(mean, sd, classes, weight))
        look = _look(ask, told, _readings(bank, weight, classes, mean, sd, KINDS[ask.kind].unit), z)
        if best is None or _worth_a_minute(look) > _worth_a_minute(best):
            best = look
    return best


def _look(ask: Ask, told: Told, expected: str, z: float | None = None) -> NextLook:
    words, seller = (text if z is None else text.format(z=z) for text in (ask.words, ask.seller))
    effort = next(word for limit, word in EFFORT if ask.minutes <= limit)
    return NextLook(
        words,
        told.bits,
        effort,
        ask.minutes,
        ask.caution,
        ask.kind,
        z,
        expected,
        seller,
        ask.risk_minutes,
        told.settles,
    )


def predictive(
    kind: str, z_mm: float | None, covered: bool, state: State, chain: Chain
) -> tuple[FloatArray, FloatArray]:
    """
    Mean and sd of a careful reading not yet taken, for every form and thickness class, (F, K) each.

    What the reading shares with those taken is counted: after a weight, the capacity is known better.
    """
    residual, slope, variance = chain.after(Measurement(kind, 0.0, 1e-6, z_mm, covered))
    mean = np.einsum("fkp,fkp->fk", slope, state.mean) - residual
    known = np.einsum("fkp,fkpq,fkq->fk", slope, state.covariance, slope)
    noise = np.array([default_sd(kind, max(float(value), 1.0)) for value in mean.mean(axis=1)])
    return mean, np.sqrt(np.maximum(known, 0.0) + variance + noise[:, None] ** 2)


def reading_law(mean: FloatArray, sd: FloatArray, classes: FloatArray, weight: FloatArray) -> FloatArray:
    """
    How probable each form with each reading is, on a grid of readings.

    Parameters
    ----------
    mean, sd, classes : array (F, K)
        Of the reading, and the weight of each class given the form.
    weight : array (F,)
        Probability of each form, sums to 1.

    Returns
    -------
    array (F, readings)
        Sums to 1, but for what lies beyond four standard deviations.
    """
    used = weight @ classes > LEAST_CLASS
    mean, sd, classes = mean[:, used], sd[:, used], classes[:, used]
    low, high = float((mean - 4 * sd).min()), float((mean + 4 * sd).max())
    fine = min(GRID * 8, max(GRID, int(2 * (high - low) / float(sd.min()))))
    y = np.linspace(low, high, fine)
    density = np.zeros((len(weight), fine))
    for k in range(mean.shape[1]):
        z = (y[None, :] - mean[:, [k]]) / sd[:, [k]]
        density += (classes[:, [k]] / (sd[:, [k]] * np.sqrt(2 * np.pi))) * np.exp(-0.5 * z**2)
    return np.asarray(weight[:, None] * density * (y[1] - y[0]))


@dataclass(frozen=True)
class Told:
    """
    What a look is expected to tell about the form.

    Attributes
    ----------
    bits : float
        Expected information, 0 and more.
    settles : float
        Chance that one form then stands at 95 % or more; 0 where one stands there already.
    """

    bits: float
    settles: float

    @classmethod
    def by(cls, joint: FloatArray) -> Told:
        """
        Of a look whose outcomes are as probable with each form as `joint` (F, outcomes) says.

        Examples
        --------
        >>> Told.by(np.array([[0.5, 0.0], [0.0, 0.5]]))
        Told(bits=1.0, settles=1.0)
        """
        form, outcome = joint.sum(axis=1, keepdims=True), joint.sum(axis=0, keepdims=True)
        apart = np.log2(np.maximum(joint, 1e-300) / np.maximum(form * outcome, 1e-300))
        return cls(max(0.0, float((joint * apart).sum())), settled(form, joint.max(axis=0), outcome[0]))


def _seen(ask: Ask, bank: FormBank, weight: FloatArray) -> NextLook | None:
    table, names = _letters_table(bank) if ask.kind == "letters" else _listed_table(ask.kind, bank)
    if len(names) < 2:
        return None
    mixed = weight @ table
    told = Told.by(weight[:, None] * table)
    likely = [names[i] for i in np.argsort(-mixed)[:2]]
    chance = [100 * mixed[names.index(name)] for name in likely]
    return _look(ask, told, f"most likely {likely[0]} ({chance[0]:.0f} %), then {likely[1]} ({chance[1]:.0f} %)")


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


def _photographs(case: Case, bank: FormBank, weight: FloatArray) -> list[NextLook]:
    """A front photograph where there is no outline; a side one where a vessel seen from the front may be flat."""
    views = {outline.view for outline in case.evidence.outlines}
    if not views:
        lengths = np.column_stack([bank.heights, _widths(bank.front)])
        told = told_by_photograph(lengths, _photo_sd(weight @ lengths), weight)
        return [_look(FRONT, told, "its outline, the whole of which is compared with every form")]
    if "side" in views or "turned" in views or bool(bank.is_round.all()):
        return []
    deep = 2.0 * np.average(glass_of(bank).depth / 2.0, weights=weight)
    beyond = _widths(bank.side) - _widths(bank.front)  # what the front has not told already: how flat it is
    told = told_by_photograph(beyond, np.sqrt(2.0) * _photo_sd(weight @ _widths(bank.side)), weight)
    return [_look(SIDE, told, f"glass about {deep:.0f} mm deep at its deepest, plus its covering")]


def _widths(table: FloatArray) -> FloatArray:
    """Widths at eight heights, mm, (F, 8)."""
    return np.asarray(2.0 * table[:, np.round(np.linspace(0.06, 0.98, 8) * STEPS).astype(np.int64)])


def _photo_sd(lengths: FloatArray) -> FloatArray:
    """Standard deviation of lengths read off a photograph under an unknown covering, mm."""
    return np.hypot(PHOTO_MM, PHOTO_SHARE * lengths)


def told_by_photograph(features: FloatArray, sd: FloatArray, weight: FloatArray) -> Told:
    """
    What several readings taken at once are expected to tell about the form.

    Parameters
    ----------
    features : array (F, D)
        What each form would show.
    sd : array (D,)
        Of each reading, above 0; independent of one another.
    weight : array (F,)
        Probability of each form, sums to 1.

    Examples
    --------
    >>> told = told_by_photograph(np.array([[100.0], [200.0]]), np.array([2.0]), np.array([0.5, 0.5]))
    >>> round(told.bits, 2), round(told.settles, 6)
    (1.0, 1.0)
    """
    rng = np.random.default_rng(1)  # the same imagined photographs for the same question
    truth = rng.choice(len(weight), SAMPLES, p=weight)
    read = features[truth] / sd + rng.standard_normal((SAMPLES, features.shape[1]))
    miss = ((read[:, None, :] - (features / sd)[None, :, :]) ** 2).sum(axis=2)
    joint = np.log(np.maximum(weight, 1e-300))[None, :] - 0.5 * (miss - miss.min(axis=1, keepdims=True))
    joint -= joint.max(axis=1, keepdims=True)
    left = np.exp(joint)
    left /= left.sum(axis=1, keepdims=True)
    entropy = -(left * np.log2(np.maximum(left, 1e-300))).sum(axis=1).mean()
    bits = float(-(weight * np.log2(np.maximum(weight, 1e-300))).sum() - entropy)
    return Told(max(0.0, bits), settled(weight, left.max(axis=1) / SAMPLES, np.full(SAMPLES, 1.0 / SAMPLES)))


def settled(before: FloatArray, best: FloatArray, outcome: FloatArray) -> float:
    """
    Chance that a look leaves one form at 95 % or more; 0 where one stands there already.

    Parameters
    ----------
    before : array
        Probability of each form before the look.
    best, outcome : array (outcomes,)
        Probability of each outcome together with the form it speaks for most, and of the outcome.

    Examples
    --------
    >>> settled(np.array([0.6, 0.4]), np.array([0.39, 0.3]), np.array([0.4, 0.6]))
    0.4
    """
    if float(before.max()) >= SURE:
        return 0.0
    return float(outcome[best >= SURE * outcome].sum())


def _readings(
    bank: FormBank, weight: FloatArray, classes: FloatArray, mean: FloatArray, sd: FloatArray, unit: str
) -> str:
    """What the reading should be: one figure when the two best forms would read alike, else one for each."""
    centre = (classes * mean).sum(axis=1)
    spread = np.sqrt(np.maximum((classes * (sd**2 + mean**2)).sum(axis=1) - centre**2, 0.0))
    order = np.argsort(-weight, kind="stable")[:2]
    first = order[0]
    if len(order) < 2 or weight[order[1]] < 0.02 or abs(centre[first] - centre[order[1]]) < spread[first]:
        return f"about {reading_text(centre[first], spread[first], unit)}"
    parts = [f"{reading_text(centre[i], spread[i], unit)} if {bank.forms[i].title}" for i in order]
    return f"about {'; '.join(parts)}"


def reading_text(value: float, sd: float, unit: str) -> str:
    """
    A reading expected, with its standard deviation.

    Examples
    --------
    >>> reading_text(194.8, 3.2, "mm"), reading_text(26.31, 0.62, "mm")
    ('195 ± 3 mm', '26.3 ± 0.6 mm')
    """
    digits = 1 if sd < 0.95 else 0
    return f"{value:.{digits}f} ± {sd:.{digits}f} {unit}"

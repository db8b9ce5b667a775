"""How good a rule of attribution is on the collection itself: leaving out, scoring, calibrating, choosing."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import product

import numpy as np
from numpy.typing import ArrayLike, NDArray

from weftglass.weave.attribution import (
    BASELINE,
    Documented,
    FloatArray,
    IntArray,
    Rule,
    log_likelihoods,
    log_prior,
    normalised,
    prior_of_another,
)

Fit = Callable[[Documented, Rule], Rule]
STRENGTHS = (0.5, 1.0, 2.0, 4.0)
POWERS = (0.4, 0.6, 0.8, 1.0)
SHIFTS = (-3.0, -2.0, -1.0, 0.0, 1.0, 2.0)
BINS = 5
DRAWS = 400
MOST_FOLDS, FOLDS = 30, 10  # with more makers than the first, they are left out in so many folds
MOST_JUDGED = 120  # documented pieces that are foretold, drawn at random where there are more: a page waits for it
SHRUNK = Rule("shrunk towards all communities, dependent traits weighed down", 1.0, True, True)


@dataclass(frozen=True)
class Scores:
    """
    What cross-validation says of a rule.

    Parameters
    ----------
    rule : Rule
        As fitted on all pieces.
    pieces, right : int
        Pieces judged, each without itself and its maker's others, and how many had their own community first.
    stated : float
        Mean probability given to the community ranked first: what `right` over `pieces` should be.
    log_score : float
        Mean log probability of the truth, natural; nearer 0 is better.
    brier : float
        Mean squared error over all classes, 0 best, 2 worst.
    calibration_error : float
        Mean gap between stated and true share, in groups of equal size.
    calibration_floor : float
        The same for a perfect forecaster with as many pieces: what chance alone gives.
    another_known, another_left_out : float
        Mean probability of another community, for documented ones and for communities that were left out whole.
    stated_and_right : tuple of (stated, right, pieces)
        The groups behind the calibration error.
    """

    rule: Rule
    pieces: int
    right: int
    stated: float
    log_score: float
    brier: float
    calibration_error: float
    calibration_floor: float
    another_known: float
    another_left_out: float
    stated_and_right: tuple[tuple[float, float, int], ...]


@dataclass(frozen=True)
class Choice:
    """The baseline's scores, the better rule's, which of them is used, and why in one sentence."""

    baseline: Scores
    other: Scores
    used: Rule
    sentence: str


def choose_rule(learned: Documented) -> Choice:
    """
    Judge the baseline and the shrunk rule on the documented pieces and take the one that foretells them better.

    Notes
    -----
    Each piece is foretold without itself and without the other pieces of its maker; whatever a rule has to fit
    (strength, power, the odds of another community) is fitted within what remains, never on the piece foretold. Of many
    documented pieces 120 drawn at random are judged among themselves.
    """
    known = len(learned.labels)
    learned = _some(learned)
    baseline = judge(learned, BASELINE, fit=None)
    other = judge(learned, SHRUNK, fit=fitted)
    better = other.log_score > baseline.log_score
    used = other.rule if better else baseline.rule
    gain = (other.log_score - baseline.log_score) / np.log(2)
    said = (
        f"The rule '{used.name}' is used: it foretells a documented piece {abs(gain):.2f} bits better on average than "
        f"'{(baseline if better else other).rule.name}'."
    )
    if len(learned.labels) < known:
        said += f" Both were tried on {len(learned.labels)} of {known} documented pieces, drawn at random."
    return Choice(baseline, other, used, said)


def _some(learned: Documented) -> Documented:
    """The documented pieces, or as many of them as are judged: always the same ones."""
    count = len(learned.labels)
    if count <= MOST_JUDGED:
        return learned
    kept = np.zeros(count, dtype=bool)
    kept[np.random.default_rng(count).choice(count, MOST_JUDGED, replace=False)] = True
    return part(learned, kept)


def judge(learned: Documented, rule: Rule, fit: Fit | None) -> Scores:
    """
    Cross-validate a rule, leaving out one maker's pieces at a time.

    Parameters
    ----------
    fit : callable or None
        Fits the rule to what remains; None: the rule has nothing to fit.
    """
    n, classes = len(learned.labels), len(learned.communities)
    chance = np.zeros((n, classes + 1))
    for fold in _folds(learned.groups):
        out = np.isin(learned.groups, fold)
        rest = part(learned, ~out)
        chance[out] = _foretold(rest, learned.rows[out], fit(rest, rule) if fit else rule)
    left_out = _communities_left_out(learned, rule, fit)
    final = fit(learned, rule) if fit else rule
    top = chance.max(axis=1)
    right = chance.argmax(axis=1) == learned.labels
    truth = chance[np.arange(n), learned.labels]
    error, groups = calibration(top, right)
    target = np.eye(classes + 1)[learned.labels]
    return Scores(
        final,
        n,
        int(right.sum()),
        float(top.mean()),
        float(np.log(np.maximum(truth, 1e-12)).mean()),
        float(((chance - target) ** 2).sum(axis=1).mean()),
        error,
        calibration_floor(top),
        float(chance[:, -1].mean()),
        float(left_out.mean()) if len(left_out) else float("nan"),
        groups,
    )


def part(learned: Documented, kept: NDArray[np.bool_]) -> Documented:
    """Only some of the documented pieces; communities and columns stay."""
    names = tuple(piece for piece, keep in zip(learned.pieces, kept, strict=True) if keep)
    return replace(
        learned, rows=learned.rows[kept], labels=learned.labels[kept], pieces=names, groups=learned.groups[kept]
    )


def fitted(learned: Documented, rule: Rule) -> Rule:
    """
    Strength, power and odds of another community that foretell best what is left out within these pieces.

    Pieces foretold without their maker's others are known ones; pieces foretold without their whole community are ones
    of another. Both kinds count in the proportion of the prior.
    """
    if len(np.unique(learned.labels)) < 2:
        return rule
    share = prior_of_another(learned.sizes)
    best, most = rule, -np.inf
    makers, communities = _without(learned, learned.groups), _without(learned, learned.labels)
    for strength in STRENGTHS:
        tried = replace(rule, strength=strength)
        known, known_prior = _left_out_logs(learned, tried, *makers)
        other, other_prior = _left_out_logs(learned, tried, *communities)
        for power, shift in product(POWERS, SHIFTS):
            move = np.zeros(known.shape[1])
            move[-1] = shift
            inside = normalised(power * known + known_prior + move)[np.arange(len(known)), learned.labels]
            outside = normalised(power * other + other_prior + move)[:, -1]
            score = (1 - share) * np.log(np.maximum(inside, 1e-12)).mean()
            score += share * np.log(np.maximum(outside, 1e-12)).mean()
            if score > most + 1e-9:
                best, most = replace(tried, power=power, another=shift), score
    return best


def calibration(stated: ArrayLike, right: ArrayLike) -> tuple[float, tuple[tuple[float, float, int], ...]]:
    """
    Mean gap between stated probability and share right, in groups of equal size.

    Parameters
    ----------
    stated : array (N,)
        Probability given to the answer.
    right : array of bool (N,)

    Returns
    -------
    float
    tuple of (mean stated, share right, pieces)
        One a group, rising.
    """
    p, hit = np.asarray(stated, dtype=np.float64), np.asarray(right, dtype=np.float64)
    order = np.argsort(p, kind="stable")
    groups = [part for part in np.array_split(order, min(BINS, len(p))) if len(part)]
    rows = tuple((float(p[at].mean()), float(hit[at].mean()), len(at)) for at in groups)
    return float(sum(abs(a - b) * n for a, b, n in rows) / len(p)), rows


def calibration_floor(stated: FloatArray, *, seed: int = 1) -> float:
    """Calibration error of a perfect forecaster who states these probabilities: what chance alone gives on average."""
    rng = np.random.default_rng(seed)
    return float(np.mean([calibration(stated, rng.random(len(stated)) < stated)[0] for _ in range(DRAWS)]))


def _foretold(rest: Documented, rows: FloatArray, rule: Rule) -> FloatArray:
    found = log_likelihoods(rest.counts, rows, rest.layout, rule).sum(axis=-1)
    shift = np.zeros(found.shape[-1])
    shift[-1] = rule.another
    return normalised(found + log_prior(rest.sizes, prior_of_another(rest.sizes)) + shift)


def _communities_left_out(
    learned: Documented, rule: Rule, fit: Callable[[Documented, Rule], Rule] | None
) -> FloatArray:
    """Probability of another community for each piece whose whole community was left out."""
    found = []
    for community in np.unique(learned.labels):
        out = learned.labels == community
        rest = part(learned, ~out)
        if len(np.unique(rest.labels)) < 2:
            continue
        found.append(_foretold(rest, learned.rows[out], fit(rest, rule) if fit else rule)[:, -1])
    return np.concatenate(found) if found else np.zeros(0)


def _without(learned: Documented, keys: IntArray) -> tuple[FloatArray, FloatArray]:
    """Counts (N, C, V) and sizes (N, C) of the communities without the pieces that share each piece's key."""
    of_key = np.zeros((int(keys.max()) + 1, len(learned.communities), learned.rows.shape[1]))
    np.add.at(of_key, (keys, learned.labels), learned.rows)
    size_of_key = np.zeros(of_key.shape[:2])
    np.add.at(size_of_key, (keys, learned.labels), 1.0)
    return np.maximum(learned.counts[None] - of_key[keys], 0.0), np.asarray(learned.sizes[None] - size_of_key[keys])


def _left_out_logs(
    learned: Documented, rule: Rule, counts: FloatArray, sizes: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Log likelihoods (N, C + 1) of each piece from counts without it, and the log priors."""
    logs = log_likelihoods(counts, learned.rows, learned.layout, rule).sum(axis=-1)
    return logs, log_prior(sizes, prior_of_another(learned.sizes))


def _folds(groups: IntArray) -> list[IntArray]:
    """Groups to leave out together: one at a time, or in folds where there are many."""
    names = np.unique(groups)
    return list(np.array_split(names, FOLDS if len(names) > MOST_FOLDS else len(names)))

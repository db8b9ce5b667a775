"""Who may have made it: communities weighed by what their documented pieces show, with 'another community'."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from weftglass.errors import InputError
from weftglass.weave.traits import Layout, Traits

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

FEWEST_PIECES, FEWEST_EACH, FEWEST_COMMUNITIES = 8, 3, 2  # below these nothing is ranked; working figures, no source
ANOTHER_LEAST, ANOTHER_MOST = 0.05, 0.30  # prior of another community, by how often one is met once; no source


@dataclass(frozen=True)
class Rule:
    """
    How traits are weighed.

    Parameters
    ----------
    name : str
    strength : float
        Pseudo-counts of Dirichlet smoothing a trait.
    pooled : bool
        False: spread evenly over a trait's values; True: as the values occur over all communities (shrinkage).
    tempered : bool
        True: traits of one block share the weight of the root of their number, since they do not speak independently.
    power : float
        Further power on all likelihoods, above 0.
    another : float
        Shift of the log odds of another community.
    """

    name: str
    strength: float
    pooled: bool
    tempered: bool
    power: float = 1.0
    another: float = 0.0


BASELINE = Rule("naive Bayes, Dirichlet smoothing with one pseudo-count a value", 1.0, False, False)


def smoothed(counts: FloatArray, trait_of: IntArray, rule: Rule, pool: FloatArray | None = None) -> FloatArray:
    """
    Predictive probability of each value, within its trait.

    Parameters
    ----------
    counts : array (..., V)
        Weighted counts.
    trait_of : array of int (V,)
        Which trait each column belongs to.
    rule : Rule
        ``pooled``: ``strength`` pseudo-counts a trait spread as ``pool``; else ``strength`` a value.
    pool : array (..., V) or None
        Shares over all communities, sum to 1 within a trait.

    Returns
    -------
    array (..., V)
        Sums to 1 within a trait.
    """
    onto = np.equal.outer(trait_of, np.arange(trait_of.max() + 1)).astype(np.float64)
    extra = rule.strength * (pool if rule.pooled and pool is not None else np.ones(counts.shape[-1]))
    full = counts + extra
    return np.asarray(full / (full @ onto)[..., trait_of])


def naive_bayes(
    counts: ArrayLike, labels: ArrayLike, asked: ArrayLike, *, smoothing: float = 1.0, prior: ArrayLike | None = None
) -> tuple[FloatArray, FloatArray]:
    """
    Multinomial naive Bayes with Dirichlet smoothing, one trait: the textbook rule that `BASELINE` is made of.

    Parameters
    ----------
    counts : array (N, V)
        How often each of V values occurs in each of N examples.
    labels : array of int (N,)
        Class of each example, 0 to C - 1.
    asked : array (V,)
        Counts in the example to be classed.
    smoothing : float
        Pseudo-count of every value.
    prior : array (C,) or None
        Of the classes; None: their shares among the examples.

    Returns
    -------
    array (C,)
        Prior times likelihood of each class, not normalised.
    array (C, V)
        Probability of each value in each class.

    References
    ----------
    .. [1] C. Manning, P. Raghavan & H. Schuetze (2008), Introduction to Information Retrieval, section 13.2.
    """
    table, classes = np.asarray(counts, dtype=np.float64), np.asarray(labels, dtype=np.int64)
    onto = np.equal.outer(classes, np.arange(classes.max() + 1)).astype(np.float64)
    share = onto.mean(axis=0) if prior is None else np.asarray(prior, dtype=np.float64)
    one_trait = np.zeros(table.shape[1], dtype=np.int64)
    value = smoothed(onto.T @ table, one_trait, Rule("textbook", smoothing, False, False))
    score = share * np.exp(np.log(value) @ np.asarray(asked, dtype=np.float64))
    return np.asarray(score), value


@dataclass(frozen=True, eq=False)
class Documented:
    """
    Documented pieces laid out for learning.

    Parameters
    ----------
    layout : Layout
    rows : array (N, V)
    labels : array of int (N,)
        Community of each piece, an index into `communities`.
    communities : tuple of str
    pieces : tuple of str
    groups : array of int (N,)
        Pieces of one maker or one source share a number: they are left out together when the rule is judged.
    """

    layout: Layout
    rows: FloatArray
    labels: IntArray
    communities: tuple[str, ...]
    pieces: tuple[str, ...]
    groups: IntArray

    @classmethod
    def of(
        cls, pieces: Sequence[Traits], communities: Sequence[str], groups: Sequence[str] | None = None
    ) -> Documented:
        """Pieces with the community that made each; ``groups`` names the maker or source, else each stands alone."""
        if len(pieces) != len(communities):
            raise InputError("documented pieces", "communities", len(communities), f"{len(pieces)}, one a piece")
        names = tuple(sorted(set(communities)))
        layout = Layout.of(pieces)
        labels = np.array([names.index(name) for name in communities], dtype=np.int64)
        keys = [piece.piece for piece in pieces] if groups is None else list(groups)
        known = {key: i for i, key in enumerate(dict.fromkeys(keys))}
        return cls(
            layout,
            layout.rows(pieces),
            labels,
            names,
            tuple(piece.piece for piece in pieces),
            np.array([known[key] for key in keys], dtype=np.int64),
        )

    @property
    def counts(self) -> FloatArray:
        """Weighted counts of each value in each community, (C, V)."""
        return np.asarray(self._onto.T @ self.rows)

    @property
    def sizes(self) -> IntArray:
        """Pieces of each community, (C,)."""
        return np.asarray(self._onto.sum(axis=0), dtype=np.int64)

    @property
    def _onto(self) -> FloatArray:
        return np.equal.outer(self.labels, np.arange(len(self.communities))).astype(np.float64)

    @property
    def too_few(self) -> str:
        """Why nothing can be ranked, in one sentence; empty where there is enough."""
        if not len(self.labels):
            return "No piece with a documented maker has any trait recorded yet."
        enough = int((self.sizes >= FEWEST_EACH).sum())
        if len(self.labels) >= FEWEST_PIECES and enough >= FEWEST_COMMUNITIES:
            return ""
        return (
            f"Too few documented pieces to rank communities: {len(self.labels)} in all, {enough} communities with "
            f"{FEWEST_EACH} or more; {FEWEST_PIECES} pieces and {FEWEST_COMMUNITIES} such communities are needed."
        )


def pool_of(counts: FloatArray, trait_of: IntArray) -> FloatArray:
    """Shares of the values over all communities, each community counting alike, never 0; (..., V) from (..., C, V)."""
    even = smoothed(counts, trait_of, Rule("pool", 0.5, False, False))
    return np.asarray(even.mean(axis=-2))


def log_likelihoods(counts: FloatArray, rows: FloatArray, layout: Layout, rule: Rule) -> FloatArray:
    """
    Log likelihood of each trait of each row for every community and for another one.

    Parameters
    ----------
    counts : array (..., C, V)
    rows : array (..., V)
    layout : Layout
    rule : Rule

    Returns
    -------
    array (..., C + 1, T)
        The last row of the C + 1 is another community, which is expected to show what communities show on the whole.
    """
    pool = pool_of(counts, layout.trait_of)
    value = smoothed(counts, layout.trait_of, rule, pool[..., None, :])
    every = np.concatenate([value, pool[..., None, :]], axis=-2)
    onto = np.equal.outer(layout.trait_of, np.arange(len(layout.traits))).astype(np.float64)
    found = (np.log(every) * rows[..., None, :]) @ onto
    weight = 1.0 / np.sqrt(layout.weight_of_traits()) if rule.tempered else 1.0
    return np.asarray(found * weight * rule.power)


def log_prior(sizes: ArrayLike, another: float) -> FloatArray:
    """Log prior of the communities by how many pieces each has, and of another one; (..., C + 1)."""
    size = np.asarray(sizes, dtype=np.float64)
    share = np.where(size > 0, size + 1.0, 1e-12)
    known = (1.0 - another) * share / share.sum(axis=-1, keepdims=True)
    last = np.full((*known.shape[:-1], 1), another)
    return np.asarray(np.log(np.concatenate([known, last], axis=-1)))


def prior_of_another(sizes: IntArray) -> float:
    """Prior of a community not yet met, from how many were met only once; after Good and Turing, kept within bounds."""
    once, total = int((sizes == 1).sum()), int(sizes.sum())
    return float(np.clip((once + 1.0) / (total + 2.0), ANOTHER_LEAST, ANOTHER_MOST))


def normalised(log_weight: FloatArray) -> FloatArray:
    """Probabilities along the last axis from log weights."""
    shifted = np.exp(log_weight - log_weight.max(axis=-1, keepdims=True))
    return np.asarray(shifted / shifted.sum(axis=-1, keepdims=True))


def probabilities(
    learned: Documented, rows: FloatArray, rule: Rule, prior: FloatArray | None = None
) -> tuple[FloatArray, FloatArray]:
    """Probabilities (N, C + 1) of some rows (N, V), and the log likelihoods a trait (N, C + 1, T)."""
    by_trait = log_likelihoods(learned.counts, rows, learned.layout, rule)
    start = log_prior(learned.sizes, prior_of_another(learned.sizes)) if prior is None else np.log(prior)
    shift = np.zeros(len(learned.communities) + 1)
    shift[-1] = rule.another
    return normalised(by_trait.sum(axis=-1) + start + shift), by_trait


@dataclass(frozen=True)
class TraitWeight:
    """One trait shown and how far it speaks for a community, in decibans against the other communities on average."""

    trait: str
    shown: str
    decibans: float
    seen: float
    pieces: int


@dataclass(frozen=True)
class CommunityChance:
    """
    One community, how probable it is, and why.

    Parameters
    ----------
    community : str
    probability : float
    prior : float
    documented : int
        Pieces of it that the figure rests on.
    weights : tuple of TraitWeight
        Strongest first; ``seen`` of ``pieces`` documented pieces show the trait's value.
    """

    community: str
    probability: float
    prior: float
    documented: int
    weights: tuple[TraitWeight, ...]


@dataclass(frozen=True)
class Attribution:
    """
    Who may have made a piece.

    Parameters
    ----------
    piece : str
    chances : tuple of CommunityChance
        Most probable first; empty where nothing can be ranked. With ``another`` they sum to 1.
    another : float
        Probability of another community than those documented.
    documented : int
        Pieces it rests on.
    refusal : str
        Why nothing is ranked; empty where it is.
    rule : str
    """

    piece: str
    chances: tuple[CommunityChance, ...]
    another: float
    documented: int
    refusal: str
    rule: str


def attribute(piece: Traits, learned: Documented, rule: Rule, prior: Mapping[str, float] | None = None) -> Attribution:
    """
    Probability of each community for a piece, with the traits for and against.

    Parameters
    ----------
    piece : Traits
        Must not be among the documented pieces, or it vouches for itself.
    learned : Documented
    rule : Rule
        See `weftglass.weave.judging.choose_rule`.
    prior : mapping or None
        Community to probability before any trait was seen; "" is another community. None: by documented pieces.
    """
    rows = learned.layout.rows([piece]) if len(learned.labels) else np.zeros((1, 0))
    refusal = learned.too_few or ("" if rows.sum() > 0 else "No trait of this piece is recorded that others show too.")
    if refusal:
        return Attribution(piece.piece, (), 1.0, len(learned.labels), refusal, rule.name)
    start = None if prior is None else np.array([prior[name] for name in (*learned.communities, "")])
    chance, by_trait = probabilities(learned, rows, rule, start)
    sizes, counts = learned.sizes, learned.counts
    before = np.exp(log_prior(sizes, prior_of_another(sizes))) if start is None else start
    found = []
    for i, name in enumerate(learned.communities):
        weights = _weights(piece, learned.layout, by_trait[0], i, counts[i], int(sizes[i]), before)
        found.append(CommunityChance(name, float(chance[0, i]), float(before[i]), int(sizes[i]), weights))
    found.sort(key=lambda one: -one.probability)
    return Attribution(piece.piece, tuple(found), float(chance[0, -1]), len(learned.labels), "", rule.name)


def _weights(
    piece: Traits, layout: Layout, by_trait: FloatArray, i: int, counts: FloatArray, size: int, prior: FloatArray
) -> tuple[TraitWeight, ...]:
    others = np.delete(np.arange(len(prior)), i)
    share = prior[others] / prior[others].sum()
    found = []
    for t, trait in enumerate(layout.traits):
        weights = piece.values.get(trait)
        if not weights:
            continue
        against = np.log(share @ np.exp(by_trait[others, t]))
        seen = sum(
            float(counts[v]) for v, (name, value) in enumerate(layout.columns) if name == trait and value in weights
        )
        shown = ", ".join(sorted(weights, key=lambda value: -weights[value])[:3])
        found.append(TraitWeight(trait, shown, float(10 / np.log(10) * (by_trait[i, t] - against)), seen, size))
    return tuple(sorted(found, key=lambda one: -abs(one.decibans)))

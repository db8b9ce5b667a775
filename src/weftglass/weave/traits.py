"""Traits of coverings laid out as numbers: which piece shows which value of which trait, in blocks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from weftglass.errors import InputError

FloatArray = NDArray[np.float64]

BLOCKS: dict[str, tuple[str, ...]] = {
    "structure": ("technique", "lean", "foundation", "splice"),
    "start and rim": ("start", "rim"),
    "materials": ("material", "dye"),
    "design": ("design",),
    "fineness": ("fineness",),
    "vessel": ("vessel",),
}
"""Traits that hang together are one block: they are learned as a habit, so they do not speak independently."""

TRAIT_WORDS: dict[str, str] = {
    "technique": "technique",
    "lean": "lean of the stitches",
    "foundation": "foundation",
    "splice": "splices and ends",
    "start": "start at the base",
    "rim": "rim at the neck",
    "material": "material",
    "dye": "dyes",
    "design": "pictures and patterns",
    "fineness": "fineness",
    "vessel": "vessel covered",
}


@dataclass(frozen=True, eq=False)
class Traits:
    """
    What one piece shows.

    Parameters
    ----------
    piece : str
    values : mapping of trait to mapping of value to weight
        Several values of one trait share its weight: each is how far the trait shows it, from 0; they are summed to 1.
        For ``vessel`` the weights may be probabilities of families.
    """

    piece: str
    values: Mapping[str, Mapping[str, float]]

    @classmethod
    def of(cls, piece: str, values: Mapping[str, str | Sequence[str] | Mapping[str, float]]) -> Traits:
        """
        Traits from plain words.

        Examples
        --------
        >>> Traits.of("p", {"technique": "Coiling", "material": ["rush", "root"]}).values["material"]
        {'rush': 0.5, 'root': 0.5}
        """
        read: dict[str, dict[str, float]] = {}
        for trait, given in values.items():
            if trait not in TRAIT_WORDS:
                raise InputError(f"traits of {piece}", "trait", trait, "one of: " + ", ".join(TRAIT_WORDS))
            if isinstance(given, Mapping):
                weights = {folded(value): float(weight) for value, weight in given.items() if weight > 0}
            else:
                words = [given] if isinstance(given, str) else list(given)
                weights = dict.fromkeys(filter(None, map(folded, words)), 1.0)
            total = sum(weights.values())
            if total > 0:
                read[trait] = {value: weight / total for value, weight in weights.items()}
        return cls(piece, read)


@dataclass(frozen=True, eq=False)
class Layout:
    """
    Columns for every value of every trait that some piece shows, and one for any other value of each trait.

    Attributes
    ----------
    columns : tuple of (trait, value)
        Value None: any other.
    trait_of : array of int (V,)
        Index of each column's trait in `traits`.
    traits : tuple of str
    """

    columns: tuple[tuple[str, str | None], ...]
    trait_of: NDArray[np.int64]
    traits: tuple[str, ...]

    @classmethod
    def of(cls, pieces: Sequence[Traits]) -> Layout:
        """The layout of some pieces."""
        seen: dict[str, set[str]] = {}
        for piece in pieces:
            for trait, weights in piece.values.items():
                seen.setdefault(trait, set()).update(weights)
        traits = tuple(trait for trait in TRAIT_WORDS if trait in seen)
        columns: list[tuple[str, str | None]] = []
        for trait in traits:
            columns += [(trait, value) for value in sorted(seen[trait])]
            columns.append((trait, None))
        places = {trait: i for i, trait in enumerate(traits)}
        return cls(tuple(columns), np.array([places[trait] for trait, _ in columns], dtype=np.int64), traits)

    def rows(self, pieces: Sequence[Traits]) -> FloatArray:
        """Weights, (N, V); values that no column has go to "any other" of their trait; unknown traits are left out."""
        place = {column: i for i, column in enumerate(self.columns)}
        table = np.zeros((len(pieces), len(self.columns)))
        for i, piece in enumerate(pieces):
            for trait, weights in piece.values.items():
                for value, weight in weights.items():
                    at = place.get((trait, value), place.get((trait, None)))
                    if at is not None:
                        table[i, at] += weight
        return table

    def weight_of_traits(self) -> FloatArray:
        """How many traits share each trait's block, (T,): dependent traits are weighed down by it."""
        block = {trait: name for name, traits in BLOCKS.items() for trait in traits}
        return np.array([sum(block[other] == block[trait] for other in self.traits) for trait in self.traits], float)


def folded(words: str) -> str:
    """Small letters and single blanks, so that the same words typed twice are one value."""
    return " ".join(words.lower().split())

"""How unusual a combination is among pieces whose records say so, with an interval, never a bare number."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from scipy.stats import beta

from weftglass.errors import InputError
from weftglass.holdings.crosstable import Holding
from weftglass.holdings.unseen import Estimate

FEWEST = 5
"""With fewer pieces nothing is said (working figure, no source)."""


@dataclass(frozen=True)
class Tally:
    """
    A published or counted holding that is known by totals only: so many pieces, of which so many are like this.

    Parameters
    ----------
    name : str
        Whose it is and where it is published.
    pieces : int
        Pieces in which the combination would have been recorded had it been there.
    alike : int
        Pieces that have it.
    """

    name: str
    pieces: int
    alike: int


@dataclass(frozen=True)
class Rarity:
    """
    How unusual a combination is.

    Parameters
    ----------
    wanted : dict
        Term to value.
    alike, pieces : int
        Pieces that have the combination, of those whose terms are known, all holdings together.
    share : Estimate or None
        Of such pieces among all, 0 to 1, with its interval; None with fewer than 5 pieces.
    behind : tuple of str
        Own pieces that have it.
    """

    wanted: Mapping[str, str]
    alike: int
    pieces: int
    share: Estimate | None
    behind: tuple[str, ...]

    @property
    def sentence(self) -> str:
        """The rarity as a collector would repeat it."""
        if self.share is None:
            if self.pieces == 0:
                return "No piece on record says whether it has this."
            few = "1 piece is" if self.pieces == 1 else f"{self.pieces} pieces are"
            return f"Only {few} on record: too few to say how unusual this is."
        often = f"{self.alike} of {self.pieces} pieces on record"
        if self.share.low <= 0:
            return f"{often}: at most 1 in {_one_in(self.share.high)} (95 %)."
        low, high = _one_in(self.share.high), _one_in(self.share.low)
        return f"{often}: between 1 in {low} and 1 in {high} (95 %)."


def _one_in(share: float) -> str:
    number = 1 / share
    return f"{number:.1f}" if number < 9.95 else f"{number:,.0f}"


def proportion(alike: int, pieces: int, *, level: float = 0.95) -> Estimate:
    """
    A share with Jeffreys' interval.

    Parameters
    ----------
    alike, pieces : int
        0 <= alike <= pieces, pieces >= 1.

    References
    ----------
    .. [1] Brown, L., Cai, T. & DasGupta, A. (2001), Statist. Sci. 16, 101-133; ends at 0 and 1 as recommended there.

    Examples
    --------
    >>> share = proportion(1, 20)
    >>> round(share.low, 4), round(share.high, 4)
    (0.0054, 0.2108)
    """
    if pieces < 1 or not 0 <= alike <= pieces:
        raise InputError("share", "alike", alike, f"between 0 and the number of pieces, {pieces}")
    law = beta(alike + 0.5, pieces - alike + 0.5)
    low = 0.0 if alike == 0 else float(law.ppf((1 - level) / 2))
    high = 1.0 if alike == pieces else float(law.ppf((1 + level) / 2))
    return Estimate(alike / pieces, low, high, level)


def rarity(holdings: Sequence[Holding], wanted: Mapping[str, str], tallies: Sequence[Tally] = ()) -> Rarity:
    """
    How unusual a combination of terms is among own pieces and published holdings.

    Parameters
    ----------
    holdings : sequence of Holding
        Own pieces; one that lacks a record of any wanted term is not counted, since nobody looked.
    wanted : dict
        Term to value, at least one.
    tallies : sequence of Tally
        Further holdings by totals.
    """
    if not wanted:
        raise InputError("rarity", "wanted", None, "at least one term with its value")
    looked = [one for one in holdings if all(one.terms.get(term) for term in wanted)]
    behind = tuple(one.piece for one in looked if all(one.terms[term] == value for term, value in wanted.items()))
    for tally in tallies:
        if not 0 <= tally.alike <= tally.pieces:
            raise InputError(tally.name, "alike", tally.alike, f"between 0 and its pieces, {tally.pieces}")
    pieces = len(looked) + sum(tally.pieces for tally in tallies)
    alike = len(behind) + sum(tally.alike for tally in tallies)
    share = proportion(alike, pieces) if pieces >= FEWEST else None
    return Rarity(dict(wanted), alike, pieces, share, behind)

"""What the holdings show, in sentences that page, terminal and catalogue share."""

from __future__ import annotations

from collections.abc import Sequence

from weftglass.desk.holdings import FALSE_RATE, SURE, TERMS, Shown
from weftglass.desk.wording import capital, percent_text
from weftglass.holdings import Completeness, Estimate, Preference, Want


def table_title(shown: Shown) -> str:
    """What a table is called."""
    return f"{capital(TERMS[shown.table.row_term])} against {TERMS[shown.table.column_term]}"


def together_sentences(shown: Shown) -> tuple[str, ...]:
    """How strongly the two terms go together, and whether chance would do."""
    found = shown.together
    if found is None:
        return ("Two rows and two columns with pieces are needed before anything can be said of what goes together.",)
    how = (
        "estimated from 9,999 random tables with the same totals, since some counts are small"
        if found.exact
        else "by the chi-squared law"
    )
    return (
        f"Strength of association (Cramér’s V, 0 none to 1 full): {interval_text(found.strength, 2)}.",
        f"Probability of so much by chance alone: {chance_text(found.p)}, {how}.",
    )


def pairs_sentence(shown: Shown) -> str:
    """How many pairs were tested, and how many stand out."""
    if shown.together is None:
        return ""
    number = len(shown.preferences)
    found = "none stands out" if number == 0 else "one stands out" if number == 1 else f"{number} of them stand out"
    return (
        f"{how_many(shown.tested, 'pair')} tested; {found}. "
        f"At most {FALSE_RATE:.0%} of those shown are expected to be chance."
    )


def left_out_sentence(pieces: Sequence[str], row_term: str, column_term: str) -> str:
    """How many pieces a table could not count, and why; empty where it counts all."""
    if not pieces:
        return ""
    sure = (
        f" A vessel counts once it is accepted or at least {SURE:.0%} sure."
        if {"form", "family"} & {row_term, column_term}
        else ""
    )
    return (
        f"{how_many(len(pieces), 'piece')} not counted: {TERMS[row_term]} or {TERMS[column_term]} is not known.{sure}"
    )


def strength_and_chance(one: Preference) -> tuple[str, str]:
    """How strong a preference is, and how likely by chance, a sentence each."""
    odds = one.odds_ratio
    low, high = (f"{end:.1f}" if end < 9.95 else f"{end:.0f}" for end in (odds.low, min(odds.high, 1e6)))
    ends = f"between {low} and {high}" if odds.high < 1e6 else f"at least {low}"
    return (
        f"Odds there against elsewhere: {ends} times (95 %).",
        f"Chance alone: {chance_text(one.p)}; share of false ones among those shown so far: {chance_text(one.q)}.",
    )


def complete_sentences(found: Completeness, kind_words: str) -> tuple[str, ...]:
    """How complete the pieces are; a kind is what ``kind_words`` says."""
    by_coverage = found.by_coverage
    sentences = [
        f"{how_many(found.pieces, 'piece')} of {how_many(found.kinds, 'kind')} ({kind_words}); "
        f"{found.singletons} met once, {found.doubletons} twice.",
        f"Kinds already held make up {share_text(found.coverage)} of what is met out there.",
        f"The next piece is of a new kind with probability {percent_text(found.unseen_mass)}.",
        f"Kinds there are in all, at least: {interval_text(found.kinds_at_least, 0)}.",
    ]
    if by_coverage is not None:
        sentences.append(f"By how often the rarer kinds were met: {interval_text(by_coverage, 0)}.")
    return tuple(sentences)


def interval_text(one: Estimate, digits: int) -> str:
    """A value with its interval."""
    high = "any number" if one.high == float("inf") else f"{one.high:.{digits}f}"
    return f"{one.value:.{digits}f} ({one.low:.{digits}f} to {high}, {one.level:.0%})"


def share_text(one: Estimate) -> str:
    """
    A share with its interval in per cent.

    Examples
    --------
    >>> share_text(Estimate(0.843, 0.71, 0.97)), share_text(Estimate(0.004, 0.0, 0.021))
    ('84\\xa0% (71 to 97\\xa0%)', '0.4\\xa0% (0.0 to 2.1\\xa0%)')
    """
    digits = 0 if one.high >= 0.1 else 1
    return f"{100 * one.value:.{digits}f}\u00a0% ({100 * one.low:.{digits}f} to {100 * one.high:.{digits}f}\u00a0%)"


GAINS = {
    "mirror": "Short of, in 100 pieces",
    "best": "Short of the best, in 100 pieces met",
}
"""What the gain of a gap is called where it is no plain share."""
GAIN = "Such pieces in 100 met"
GAIN_WORDS = {
    "mirror": "How many such pieces 100 of yours would have to hold more of, to be like what is met out there",
    "best": (
        "How many of 100 pieces met are such, times what the best one you hold falls short of a perfect one (1 where "
        "none is held). What makes an example good is a working figure, no source"
    ),
}
GAIN_WORD = (
    "How many of 100 pieces met, yours and those on offer, are such: filling the gap lets the collection show them"
)


def gain_name(objective: str) -> str:
    """Heading over the gains of gaps."""
    return GAINS.get(objective, GAIN)


def gain_sentence(objective: str) -> str:
    """What the gains of gaps are, and how sure they are."""
    said = GAIN_WORDS.get(objective, GAIN_WORD)
    return (
        f"{said}. In brackets where it lies with 95 %, as if pieces were met at random; where nothing was met it is a "
        "guess from the two terms, worth 5 pieces."
    )


def gain_text(one: Estimate) -> str:
    """
    A gain in pieces of 100, with its interval.

    Examples
    --------
    >>> gain_text(Estimate(0.0412, 0.0121, 0.0873))
    '4.1 (1.2 to 8.7)'
    """
    return f"{100 * one.value:.1f} ({100 * one.low:.1f} to {100 * one.high:.1f})".replace("-", "−")


def against_first(one: Want, first: Want) -> str:
    """Whether a gap can be told from the one that leads, in words."""
    if one is first:
        return "the first"
    return "may be worth as much" if one.gain.high >= first.gain.low else "worth less"


def chance_text(p: float) -> str:
    """A small probability; never nought."""
    return "under 1 in 10,000" if p < 1e-4 else f"{p:.4f}" if p < 0.001 else f"{p:.3f}" if p < 0.1 else f"{p:.2f}"


def how_many(number: int, word: str) -> str:
    """A count with its word: ``1 piece``, ``2 pieces``."""
    return f"{number:,} {word}{'' if number == 1 else 's'}"

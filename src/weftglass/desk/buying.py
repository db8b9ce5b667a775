"""What the collection lacks, what an offer would add to it, and the best set of offers for a sum."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from weftglass.desk.collection import Collection
from weftglass.desk.forms import library_of
from weftglass.desk.holdings import TERMS, holdings_of
from weftglass.desk.offers import OfferAtHand, offers_of
from weftglass.errors import InputError
from weftglass.holdings import OBJECTIVES, Choice, Holding, Plan, Step, Want, best_plan, cross, next_sum, wants
from weftglass.vessels import Form

OFFERS_AHEAD = 20
ITSELF = 0.02
"""Worth of any piece by itself, beside that of the gap it fills (1 for the best): it decides between equals only."""
WORTH_THE_WHILE = 0.1
"""A further sum is named only where it buys so much more worth (1: the best gap)."""


@dataclass(frozen=True)
class BuyingPlan:
    """
    The best set of open offers for a sum.

    Parameters
    ----------
    plan : Plan
    steps : tuple of Step
        What the next sums would buy.
    names, reasons : dict
        Piece to its name, and each chosen one to what it adds.
    currency : str
    left_out : tuple of str
        Offers that cannot be planned with: no price, or another currency.
    """

    plan: Plan
    steps: tuple[Step, ...]
    names: dict[str, str]
    reasons: dict[str, str]
    currency: str
    left_out: tuple[str, ...]


def wants_of(
    collection: Collection, row_term: str, column_term: str, objective: str, *, ahead: int = OFFERS_AHEAD
) -> tuple[Want, ...]:
    """
    Gaps of the owned pieces by two terms, the one most worth filling first.

    Parameters
    ----------
    row_term, column_term : str
        Two of `TERMS`.
    objective : str
        One of `OBJECTIVES`.
    ahead : int
        How many further offers the chance of turning up looks ahead.
    """
    for term in (row_term, column_term):
        if term not in TERMS:
            raise InputError("wants", "term", term, "one of: " + ", ".join(TERMS))
    every = holdings_of(collection, status=None)
    owned = {one.piece for one in holdings_of(collection)}
    held = [one for one in every if one.piece in owned]
    return wants(
        cross(held, row_term, column_term), cross(every, row_term, column_term), objective=objective, offers=ahead
    )


def adds(collection: Collection, piece: str, row_term: str = "community", column_term: str = "family") -> str:
    """What a piece would add to those owned, in one sentence."""
    every = {one.piece: one for one in holdings_of(collection, status=None)}
    held = [one for one in holdings_of(collection) if one.piece != piece]
    return _adds(every[piece], held, row_term, column_term)


def _adds(one: Holding, held: Sequence[Holding], row_term: str, column_term: str) -> str:
    row, column = one.terms.get(row_term, ""), one.terms.get(column_term, "")
    if not (row or column):
        return (
            f"Neither its {TERMS[row_term]} nor its {TERMS[column_term]} is known yet, so what it adds can’t be said."
        )
    alike = [
        sum(row in ("", other.terms.get(row_term)) and column in ("", other.terms.get(column_term)) for other in held),
        sum(other.terms.get(row_term) == row for other in held) if row else -1,
        sum(other.terms.get(column_term) == column for other in held) if column else -1,
    ]
    if alike[1] == 0:
        return f"It would be the first from {row}."
    if alike[2] == 0:
        return f"It would be the first on {column}."
    name = " on ".join(part for part in (row, column) if part)
    return f"It would be the first of {name}." if alike[0] == 0 else f"You own {alike[0]} of {name} already."


def plan_offers(
    collection: Collection, budget: float, currency: str, row_term: str, column_term: str, objective: str
) -> BuyingPlan:
    """
    The best set of open offers for at most a sum.

    Parameters
    ----------
    budget : float
        0 or more, in ``currency``.

    Notes
    -----
    Worth is that of the gaps filled, each once, by the objective; a piece whose terms are not known yet fills none.
    """
    open_offers = offers_of(collection, open_only=True)
    gaps, fills = _gaps(collection, row_term, column_term, objective)
    usable = [one for one in open_offers if one.offer.amount is not None and one.offer.currency == currency]
    choices = [_choice(one, fills.get(one.piece.id, ())) for one in usable]
    plan = best_plan(choices, budget, gaps)
    steps = next_sum(choices, budget, gaps, least_gain=WORTH_THE_WHILE, now=plan)
    held = holdings_of(collection)
    terms = {one.piece: one for one in holdings_of(collection, status="offered")}
    names = {one.piece.id: one.piece.name for one in open_offers}
    reasons = {one.id: _adds(terms[one.id], held, row_term, column_term) for one in plan.chosen}
    priced = {one.piece.id for one in usable}
    left_out = tuple(one.piece.name for one in open_offers if one.piece.id not in priced)
    return BuyingPlan(plan, steps, names, reasons, currency, left_out)


def _choice(one: OfferAtHand, fills: tuple[str, ...]) -> Choice:
    return Choice(one.piece.id, float(one.offer.amount or 0.0), ITSELF, fills)


def _gaps(
    collection: Collection, row_term: str, column_term: str, objective: str
) -> tuple[dict[str, float], dict[str, tuple[str, ...]]]:
    """Each gap with its worth, and which of them each piece on offer fills."""
    lacking = wants_of(collection, row_term, column_term, objective)
    worth = {_gap(one.row, one.column): one.worth for one in lacking}
    fills: dict[str, tuple[str, ...]] = {}
    for one in holdings_of(collection, status="offered"):
        row, column = one.terms.get(row_term, ""), one.terms.get(column_term, "")
        possible = [_gap(row, column), _gap(row, ""), _gap("", column)]
        fills[one.piece] = tuple(gap for gap in possible if gap in worth)
    return worth, fills


def _gap(row: str, column: str) -> str:
    return f"{row}\x1f{column}"


def objectives(row_term: str, column_term: str) -> dict[str, str]:
    """What a collection may want to be, in words, for two terms."""
    spoken = {"rows": f"one of each {TERMS[row_term]}", "columns": f"one of each {TERMS[column_term]}"}
    return {name: spoken.get(name, text) for name, text in OBJECTIVES.items()}


def forms_to_know(collection: Collection, *, most: int = 18) -> tuple[Form, ...]:
    """Forms that the collection's pieces are on, the commonest first, then those of its families that are lacking."""
    library = library_of(collection)
    by_title = {form.title: form for form in library}
    held: dict[str, int] = {}
    for one in holdings_of(collection, status=None):
        title = one.terms.get("form", "")
        if title in by_title:
            held[title] = held.get(title, 0) + 1
    known = [by_title[title] for title in sorted(held, key=lambda title: (-held[title], title))]
    families = {form.family_name for form in known}
    others = sorted(
        (form for form in library if form.title not in held and form.family_name not in families),
        key=lambda form: (-form.commonness, form.id),
    )
    apart: dict[str, Form] = {}
    for form in others:
        apart.setdefault(form.family_name, form)
    return tuple([*known, *apart.values()][:most])

"""What the collection lacks, what an offer would add to it, and the best set of offers for a sum."""

from __future__ import annotations

from collections.abc import Container, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from weftglass.desk.collection import Collection
from weftglass.desk.forms import library_of
from weftglass.desk.holdings import TERMS, holdings_of
from weftglass.desk.offers import OfferAtHand, offers_of
from weftglass.desk.wording import percent_text
from weftglass.desk.worth import price_like
from weftglass.errors import InputError
from weftglass.holdings import (
    OBJECTIVES,
    Choice,
    CrossTable,
    Holding,
    Merit,
    Plan,
    Step,
    TooFew,
    Want,
    best_plan,
    cross,
    likely_share,
    merit,
    next_sum,
    wants,
)
from weftglass.holdings.currencies import A_CURRENCY, amount_read, currency_named
from weftglass.records import Examination
from weftglass.vessels import Form

OFFERS_AHEAD = 20
ITSELF = 0.02
"""Worth of any piece by itself, beside that of the gap it fills (1 for the best): it decides between equals only."""
MOST_KEPT_FOR = 12
"""Of so many gaps, the most worth filling, money may be kept for."""
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
    wanted : frozenset of str
        Ids of choices that are gaps to keep money for; empty where none could be priced or none was asked for.
    """

    plan: Plan
    steps: tuple[Step, ...]
    names: dict[str, str]
    reasons: dict[str, str]
    currency: str
    left_out: tuple[str, ...]
    wanted: frozenset[str] = frozenset()

    def beyond(self, step: Step) -> str:
        """What a further sum buys beyond this plan, in words."""
        now, then = {one.id for one in self.plan.chosen}, {one.id for one in step.plan.chosen}
        more = [self.names[one.id] for one in step.plan.chosen if one.id not in now]
        less = [self.names[one.id] for one in self.plan.chosen if one.id not in then]
        return f"also {', '.join(more)}" + (f", but not {', '.join(less)}" if less else "")


@dataclass(frozen=True)
class Reserved:
    """A gap that money may be kept for: as a choice, and in words."""

    choice: Choice
    what: str
    why: str


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
    held, every = holdings_of(collection), holdings_of(collection, status=None)
    met = cross(every, row_term, column_term)
    best = best_held(held, merits_of(collection, met)) if objective == "best" else None
    return wants(cross(held, row_term, column_term), met, objective=objective, offers=ahead, best=best)


def merits_of(collection: Collection, met: CrossTable) -> dict[str, tuple[tuple[str, str], Merit]]:
    """Cell and merit of every piece of a table: how good an example of its pair it is."""
    with collection.cabinet.reading() as reader:
        states = {one.piece: one.state for one in sorted(reader.all_of(Examination), key=lambda one: one.on)}
    every = {one.piece: one for one in holdings_of(collection, status=None)}
    rows, columns, total = met.counts.sum(axis=1), met.counts.sum(axis=0), met.total
    row_at, column_at = ({name: i for i, name in enumerate(names)} for names in (met.rows, met.columns))
    found = {}
    for cell, pieces in met.pieces.items():
        by_chance = min(float(rows[row_at[cell[0]]] * columns[column_at[cell[1]]]) / total**2, 1 - 1e-9)
        share = likely_share(len(pieces), total, by_chance)
        for piece in pieces:
            found[piece] = cell, merit(every[piece].terms, states.get(piece, ""), share)
    return found


def best_held(
    held: Sequence[Holding], merits: Mapping[str, tuple[tuple[str, str], Merit]]
) -> dict[tuple[str, str], Merit]:
    """The merit of the best piece held of each pair."""
    best: dict[tuple[str, str], Merit] = {}
    for one in held:
        if one.piece in merits:
            cell, found = merits[one.piece]
            if cell not in best or found.value > best[cell].value:
                best[cell] = found
    return best


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


def sum_typed(text: str, currency: str) -> float:
    """
    The sum to plan with as a form has it, in a currency.

    Raises
    ------
    InputError
        If it is no amount, or could be another.
    """
    budget = amount_read(text, currency_named(currency) or "")
    if budget is None:
        raise InputError("plan", "budget", text, "a sum of 0 or more, as 500 or 1,250.50")
    return budget


def plan_offers(
    collection: Collection,
    budget: float,
    currency: str,
    row_term: str,
    column_term: str,
    objective: str,
    *,
    keep_for_wants: date | None = None,
) -> BuyingPlan:
    """
    The best set of open offers for at most a sum, or of offers and gaps to keep money for.

    Parameters
    ----------
    budget : float
        0 or more, in ``currency``.
    keep_for_wants : datetime.date or None
        Today, where money may also be kept for gaps of which nothing is on offer: each at the middle of its price
        range, worth what it is times the chance that it turns up. None: offers only.

    Raises
    ------
    InputError
        If nothing is on offer in that currency and it cannot be one.

    Notes
    -----
    Worth is that of the gaps filled, each once, by the objective; a piece whose terms are not known yet fills none. For
    ``best`` an offer is worth what its merit exceeds that of the best piece held of its pair, and one of a pair counts.
    """
    open_offers = offers_of(collection, open_only=True)
    currency = _currency_of_plan(currency, open_offers)
    usable = [one for one in open_offers if one.offer.amount is not None and one.offer.currency == currency]
    better: dict[str, str] = {}
    if objective == "best":
        gaps: dict[str, float] = {}
        choices, better = _examples(collection, usable, row_term, column_term)
    else:
        gaps, fills = _gaps(collection, row_term, column_term, objective)
        choices = [_choice(one, fills.get(one.piece.id, ())) for one in usable]
    kept: list[Reserved] = []
    if keep_for_wants is not None:
        on_offer = {gap for one in choices for gap in (*one.fills, one.instead_of)}
        kept = _reserved(collection, currency, row_term, column_term, objective, on_offer, keep_for_wants)
    choices += [one.choice for one in kept]
    plan = best_plan(choices, budget, gaps)
    steps = next_sum(choices, budget, gaps, least_gain=WORTH_THE_WHILE, now=plan)
    held = holdings_of(collection)
    terms = {one.piece: one for one in holdings_of(collection, status="offered")}
    names = {one.piece.id: one.piece.name for one in open_offers} | {one.choice.id: one.what for one in kept}
    bought = [one.id for one in plan.chosen if one.id in terms]
    adding = {piece: _adds(terms[piece], held, row_term, column_term) for piece in bought}
    reasons = {piece: " ".join([text, better.get(piece, "")]).strip() for piece, text in adding.items()}
    reasons |= {one.choice.id: one.why for one in kept}
    priced = {one.piece.id for one in usable}
    wanted = frozenset(one.choice.id for one in kept)
    left_out = tuple(one.piece.name for one in open_offers if one.piece.id not in priced)
    return BuyingPlan(plan, steps, names, reasons, currency, left_out, wanted)


def _currency_of_plan(typed: str, open_offers: Sequence[OfferAtHand]) -> str:
    """The currency of the sum; one in which something is on offer is taken however it is written."""
    if any(one.offer.currency == typed for one in open_offers):
        return typed
    currency = currency_named(typed)
    if currency is None:
        raise InputError("plan", "currency", typed, A_CURRENCY)
    return currency


def _choice(one: OfferAtHand, fills: tuple[str, ...]) -> Choice:
    return Choice(one.piece.id, float(one.offer.amount or 0.0), ITSELF, fills)


def _reserved(
    collection: Collection,
    currency: str,
    row_term: str,
    column_term: str,
    objective: str,
    on_offer: Container[str],
    today: date,
) -> list[Reserved]:
    """The gaps most worth filling of which nothing is on offer, where one's own records tell what they cost."""
    found = []
    for one in wants_of(collection, row_term, column_term, objective)[:MOST_KEPT_FOR]:
        if _gap(one.row, one.column) in on_offer:
            continue
        terms = {term: value for term, value in ((row_term, one.row), (column_term, one.column)) if value}
        likely = price_like(collection, terms, currency, today=today)
        if isinstance(likely, TooFew):
            return []
        what = " on ".join(part for part in (one.row, one.column) if part)
        amount = likely.amount
        why = (
            f"Nothing like it is on offer; {percent_text(one.turns_up, ' ')} that one is among the next "
            f"{OFFERS_AHEAD}; such pieces went for {amount.low:,.0f} to {amount.high:,.0f} {currency}."
        )
        choice = Choice(f"want {what}", amount.value, one.worth * one.turns_up)
        found.append(Reserved(choice, what, why))
    return found


def _examples(
    collection: Collection, usable: Sequence[OfferAtHand], row_term: str, column_term: str
) -> tuple[list[Choice], dict[str, str]]:
    """Offers by what they are better than the best piece held of their pair, and why, in words."""
    merits = merits_of(collection, cross(holdings_of(collection, status=None), row_term, column_term))
    best = best_held(holdings_of(collection), merits)
    choices, why = [], {}
    for one in usable:
        price = float(one.offer.amount or 0.0)
        if one.piece.id not in merits:
            choices.append(Choice(one.piece.id, price, ITSELF))
            continue
        cell, found = merits[one.piece.id]
        held = best.get(cell)
        gain = max(found.value - (held.value if held else 0.0), 0.0)
        choices.append(Choice(one.piece.id, price, gain, instead_of=_gap(*cell)))
        than = f"the best held scores {held.value:.2f} ({held.why})" if held else "none is held"
        why[one.piece.id] = f"As an example it scores {found.value:.2f} of 1 ({found.why}); {than}."
    return choices, why


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
    spoken = {
        "rows": f"one of each {TERMS[row_term]}",
        "columns": f"one of each {TERMS[column_term]}",
        "best": f"the best examples of every {TERMS[row_term]} and {TERMS[column_term]}",
    }
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

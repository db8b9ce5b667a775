"""What a piece cost or is said to be worth, on a day, by somebody."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from weftglass.errors import InputError
from weftglass.records.offer import check_money, day_of, money_text
from weftglass.records.shared import Record
from weftglass.records.wording import LONG, words

BASES = ("cost", "fair market", "replacement")


@dataclass(frozen=True, kw_only=True)
class Valuation(Record):
    """
    One value of one piece; a later one stands beside it, not in its place.

    Parameters
    ----------
    piece : str
        Id of the piece.
    basis : str
        One of `BASES`.
    amount : float
        0 or more.
    currency : str
        A word of letters; three capitals after ISO 4217 where there is one.
    on : str
        Day it was true, as 2026-11-25.
    source : str
        Who says so: a receipt, an appraiser, an auction record.
    remark : str
    """

    KIND: ClassVar[str] = "valuation"
    PLURAL: ClassVar[str] = "valuations"
    LINKS: ClassVar[Mapping[str, str]] = {"piece": "piece"}

    piece: str
    basis: str
    amount: float
    currency: str
    on: str
    source: str
    remark: str = ""

    @property
    def about(self) -> str:
        """Basis and amount."""
        return f"{self.basis}, {money_text(self.amount, self.currency)}"

    def check_fields(self, where: str) -> None:
        """Look at the value by itself."""
        if self.basis not in BASES:
            raise InputError(where, "basis", self.basis, "one of: " + ", ".join(BASES))
        check_money(self.amount, self.currency, where, "amount")
        day_of(self.on, where, "on")
        words(self.source, where, "source", needed=True)
        words(self.remark, where, "remark", longest=LONG)

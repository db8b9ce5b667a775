"""Prices of different years in the money of one year."""

from __future__ import annotations

import csv
from functools import cache
from importlib.resources import files
from types import MappingProxyType

from weftglass.errors import InputError

SOURCE = "Bureau of Labor Statistics, CPI-U, U.S. city average, all items, annual averages, 1982-84 = 100"


@cache
def consumer_prices() -> MappingProxyType[int, float]:
    """Index by year, 1982-84 = 100; dollars only. The user's own table can stand in its place."""
    text = (files("weftglass.holdings") / "data" / "consumer_prices.csv").read_text(encoding="utf-8")
    rows = csv.DictReader(text.splitlines())
    return MappingProxyType({int(row["year"]): float(row["cpi_u_annual_avg_1982_84_100"]) for row in rows})


def in_money_of(amount: float, year: int, of_year: int) -> float:
    """
    An amount of one year in the money of another.

    Parameters
    ----------
    amount : float
        Dollars.
    year, of_year : int
        Years of the index, 1970 and later; a year after its end takes its last figure.

    Raises
    ------
    InputError
        If a year is before the index begins.

    Examples
    --------
    >>> round(in_money_of(10, 1970, 2024), 2)
    80.85
    """
    return amount * _index(of_year) / _index(year)


def _index(year: int) -> float:
    table = consumer_prices()
    if year < min(table):
        raise InputError("price", "year", year, f"a year from {min(table)} on, where the price index begins")
    return table[min(year, max(table))]

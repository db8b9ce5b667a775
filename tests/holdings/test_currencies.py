"""The bundled codes of ISO 4217: money one pays with, now or once."""

import pytest

from weftglass.holdings.currencies import amount_read, currency_codes, currency_named


def test_codes_are_three_capitals_each_once() -> None:
    codes = currency_codes()
    assert len(codes) == 253
    assert all(len(code) == 3 and code.isalpha() and code.isupper() for code in codes)


@pytest.mark.parametrize("code", ["USD", "EUR", "JPY", "XOF", "XCG", "ZWG", "DEM", "NLG", "BGN", "HRK"])
def test_money_in_use_and_withdrawn_is_known(code: str) -> None:
    """ISO 4217 lists one and three, as its maintenance agency publishes them."""
    assert currency_named(code.lower()) == code


@pytest.mark.parametrize("code", ["XXX", "XTS", "XAU", "XDR", "USN", "UDS", "yen"])
def test_what_nobody_pays_with_is_no_currency(code: str) -> None:
    """No currency, trials, gold, drawing rights, a fund; a slip; a name that looks like a code."""
    assert currency_named(code) is None


@pytest.mark.parametrize("word", ["marks", "kr", "pounds"])
def test_a_word_that_has_not_three_letters_stands_as_it_is(word: str) -> None:
    assert currency_named(word) == word


@pytest.mark.parametrize("word", ["", "U$D", "5", "two words", "abcdefghijklm"])
def test_what_is_no_word_is_refused(word: str) -> None:
    assert currency_named(word) is None


@pytest.mark.parametrize(
    ("typed", "amount"),
    [
        ("0", 0.0),
        ("1250.5", 1250.5),
        ("1,250.50", 1250.5),
        ("1,234,567", 1234567.0),
        ("12,50", 12.5),
        ("1.250,5", 1250.5),
    ],
)
def test_an_amount_is_read_with_a_point_or_a_comma_before_its_cents(typed: str, amount: float) -> None:
    assert amount_read(typed) == amount


@pytest.mark.parametrize(
    "typed", ["1.250", "1.250.000", "1,2345", "1,250,5", "1.25,50", ",5", "5.", "1e3", "1_000", "-5", "inf", ""]
)
def test_an_amount_that_could_be_another_is_not_guessed(typed: str) -> None:
    assert amount_read(typed) is None


def test_currencies_of_thousandths_have_three_places() -> None:
    """ISO 4217 gives seven currencies a minor unit of three places."""
    assert amount_read("1.250", "OMR") == 1.25
    assert amount_read("1.250", "EUR") is None

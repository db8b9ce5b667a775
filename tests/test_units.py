"""What people type becomes mm, g, ml and °C, exactly; what could mean two things is asked back."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from weftglass.errors import InputError
from weftglass.units import INCH_MM, length_mm, mass_g, temperature_c, volume_ml

READ = {
    ("length", "312 mm"): 312.0,
    ("length", "312mm"): 312.0,
    ("length", "30,5 cm"): 305.0,
    ("length", "0.3 m"): 300.0,
    ("length", "0,125 m"): 125.0,
    ("length", "12 1/2 in"): 317.5,
    ("length", "12½ in"): 317.5,
    ("length", "12 ½″"): 317.5,
    ("length", '3/4"'): 19.05,
    ("length", "1 ft 2 in"): 355.6,
    ("length", "5' 3\""): 1600.2,
    ("length", "  8   Inches "): 203.2,
    ("mass", "812 g"): 812.0,
    ("mass", "1.2kg"): 1200.0,
    ("mass", "1 lb 4 oz"): 566.9904625,
    ("mass", "2 lbs."): 907.18474,
    ("mass", "⅛ oz"): 28.349523125 / 8,
    ("volume", "750 ml"): 750.0,
    ("volume", "75 cL"): 750.0,
    ("volume", "0,7 l"): 700.0,
    ("volume", "750 cm3"): 750.0,
    ("volume", "750 cm³"): 750.0,
    ("volume", "1 US gallon"): 3785.411784,
    ("volume", "1 U.S. gal."): 3785.411784,
    ("volume", "1 quart US"): 946.352946,
    ("volume", "1 imperial pint"): 568.26125,
    ("volume", "2 imp gills"): 284.130625,
    ("volume", "12 US fl. oz."): 354.882354750,
    ("volume", "10 fluid ounces imperial"): 284.130625,
    ("volume", "1 imp pint 2 imp fl oz"): 625.087375,
    ("temperature", "20 °C"): 20.0,
    ("temperature", "68°F"): 20.0,
    ("temperature", "-5 c"): -5.0,
    ("temperature", "−40 degrees F"): -40.0,
}
READERS = {"length": length_mm, "mass": mass_g, "volume": volume_ml, "temperature": temperature_c}


@pytest.mark.parametrize(("kind", "text"), READ, ids=lambda value: str(value))
def test_a_typed_quantity_is_read(kind: str, text: str) -> None:
    """Fractions, decimal commas, signs for inch and foot, terms that add up."""
    assert READERS[kind](text) == pytest.approx(READ[kind, text], rel=1e-12)


REFUSED = [
    ("length", "312"),
    ("length", ""),
    ("length", "   "),
    ("length", "mm"),
    ("length", "-3 mm"),
    ("length", "1e3 mm"),
    ("length", "12.5.3 mm"),
    ("length", "12 200 mm"),
    ("length", "12 5/4 in"),
    ("length", "1/0 in"),
    ("length", "3 in 1 ft"),
    ("length", "3 mm 3 mm"),
    ("length", "12 mm tall"),
    ("length", "nan mm"),
    ("length", "12 g"),
    ("length", "12 mm\n"  "13 mm"),
    ("length", "9" * 100 + " mm"),
    ("mass", "812"),
    ("mass", "4 oz 1 lb"),
    ("mass", "1 lb 4"),
    ("volume", "750"),
    ("volume", "3 bottles"),
    ("volume", "1 wine gallon"),
    ("temperature", "20"),
    ("temperature", "500 F"),
    ("temperature", "20 K"),
    ("temperature", "warm"),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "text"), REFUSED, ids=lambda value: repr(value)[:30])
def test_what_cannot_be_read_is_refused_naming_field_and_value(kind: str, text: str) -> None:
    """The sentence says what would be right."""
    with pytest.raises(InputError) as caught:
        READERS[kind](text, "the form", "my field")
    assert (caught.value.where, caught.value.field, caught.value.value) == ("the form", "my field", text)


@pytest.mark.parametrize(
    ("text", "us", "imperial"),
    [
        ("1 pint", "473.18", "568.26"),
        ("2 qts", "946.35", "1136.52"),
        ("1 gal.", "3785.41", "4546.09"),
        ("1 gill", "118.29", "142.07"),
        ("12 fl oz", "29.57", "28.41"),
        ("26 oz", "29.57", "28.41"),
        ("1 US pint 2 fl oz", "29.57", "28.41"),
    ],
)
def test_a_unit_with_two_sizes_is_asked_back_with_both(text: str, us: str, imperial: str) -> None:
    """Nobody's pint is guessed, not even as a second term."""
    with pytest.raises(InputError) as caught:
        volume_ml(text)
    assert f"({us} ml)" in caught.value.expected
    assert f"({imperial} ml)" in caught.value.expected


def test_a_comma_before_three_digits_is_asked_back() -> None:
    """1,200 mm is either 1200 mm or 1.2 mm."""
    with pytest.raises(InputError, match=r"1200 for thousands, or 1\.200 for decimals"):
        length_mm("1,200 mm")


@given(st.integers(0, 40), st.integers(1, 63), st.sampled_from([2, 4, 8, 16, 32, 64]))
def test_mixed_fractions_of_an_inch_are_exact(whole: int, above: int, below: int) -> None:
    """Sixty-fourths and all, without rounding on the way."""
    above = above % below or 1
    assert length_mm(f"{whole} {above}/{below} in") == float((whole + Fraction(above, below)) * INCH_MM)


@given(st.text(max_size=80))
def test_any_text_is_either_read_or_refused_politely(text: str) -> None:
    """No other exception, whatever is typed."""
    for reader in READERS.values():
        try:
            value = reader(text)
        except InputError:
            continue
        assert value == value

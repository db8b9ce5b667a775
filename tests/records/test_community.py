"""Communities and published holdings refuse what a person could not have meant."""

from dataclasses import replace

import pytest

from weftglass.errors import InputError
from weftglass.records import Community, PublishedHolding

GOOD = Community(
    id="delmuine",
    version=1,
    name="Delmuine",
    own_name="Delmuinai",
    other_names=("the estuary weavers",),
    years=(1880, 1930),
    point=(51.0, -4.0),
    within_km=20.0,
    restricted_designs=("heron",),
)
HOLDING = PublishedHolding(
    id="h", version=1, name="a museum", source="catalogue 1990", pieces=40, counts=(("signed", 2),)
)


def test_community_goes_by_all_its_names() -> None:
    assert all(GOOD.goes_by(name) for name in ("delmuine", " Delmuinai", "The Estuary Weavers"))
    assert not GOOD.goes_by("Karrosk")


def test_restricted_design_is_kept_back() -> None:
    assert GOOD.keeps_back("two Herons and a boat")
    assert not GOOD.keeps_back("lozenges")


def test_good_records_are_let_pass() -> None:
    GOOD.check("here")
    HOLDING.check("here")


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("name", ""),
        ("years", (1930, 1880)),
        ("point", (91.0, 0.0)),
        ("within_km", -1.0),
        ("restricted_designs", ("",)),
        ("traits", (("lean", ""),)),
    ],
)
def test_community_that_nobody_could_have_entered_is_refused(field: str, value: object) -> None:
    with pytest.raises(InputError) as caught:
        replace(GOOD, **{field: value}).check("here")  # type: ignore[arg-type]
    assert caught.value.field == field


@pytest.mark.parametrize(
    ("field", "value", "named"),
    [
        ("pieces", 0, "pieces"),
        ("counts", (("signed", 41),), "signed"),
        ("counts", (("gilded", 1),), "counts"),
        ("source", "", "source"),
    ],
)
def test_holding_whose_counts_cannot_be_is_refused(field: str, value: object, named: str) -> None:
    with pytest.raises(InputError) as caught:
        replace(HOLDING, **{field: value}).check("here")  # type: ignore[arg-type]
    assert caught.value.field == named

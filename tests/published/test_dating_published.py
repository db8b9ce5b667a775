"""Dating against published datings, a published mean-date study, and the published extended-date examples."""

import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from weftglass.dating import YEARS, date_piece, mean_date, read_extended, shared_range
from weftglass.desk.dating import date_evidence
from weftglass.errors import InputError
from weftglass.evidence import Evidence, Measurement, Sighting
from weftglass.vessels import FormLibrary

HERE = Path(__file__).parent


def table(name: str) -> dict[str, Any]:
    return tomllib.loads((HERE / name).read_text(encoding="utf-8"))


DATINGS = table("glass_datings.toml")["case"]
OBJECTS = table("museum_objects.toml")["object"]
ZUNI = table("zuni_mean_dates.toml")
EXTENDED = table("loc_2019_edtf.toml")


@pytest.fixture(scope="module")
def starter() -> FormLibrary:
    return FormLibrary.starter()


@pytest.mark.parametrize("case", DATINGS, ids=[case["name"] for case in DATINGS])
def test_published_dating_is_reproduced(case: dict[str, Any]) -> None:
    sure = case.get("sure", 0.95)
    seen = tuple(Sighting(feature, value, sure) for feature, value in case["seen"])
    dating = date_piece(Evidence("piece", sightings=seen), region=case.get("region"), until=2026)
    span = dating.glass.span
    assert span is not None
    assert span.earliest >= case.get("earliest_from", span.earliest)
    assert span.likely_from >= case.get("likely_from", span.likely_from)
    assert span.likely_to <= case.get("likely_to", span.likely_to)
    assert span.latest <= case.get("latest_to", span.latest)
    low, high = case.get("likely_within", (span.likely_from, span.likely_to))
    assert low <= span.likely_from
    assert span.likely_to <= high
    low, high = case.get("likely_starts", (span.likely_from, span.likely_from))
    assert low <= span.likely_from <= high
    low, high = case.get("latest_within", (span.latest, span.latest))
    assert low <= span.latest <= high
    if case.get("no_clash"):
        assert not dating.clashes


@pytest.mark.parametrize("case", OBJECTS, ids=[case["name"] for case in OBJECTS])
def test_dated_object_is_dated_as_published(case: dict[str, Any], starter: FormLibrary) -> None:
    """From tape and eye to a date: the form is found first, and its years count with its probability."""
    evidence = Evidence(
        "object",
        measurements=tuple(Measurement(what, value, sd, covered=False) for what, value, sd in case["measured"]),
        sightings=tuple(Sighting(feature, value, 0.95) for feature, value in case["seen"]),
    )
    dating = date_evidence(evidence, starter, until=2026)
    span = dating.glass.span
    assert span is not None
    first, last = case["years"]
    assert span.earliest <= first
    assert last <= span.latest
    assert span.likely_from <= last
    assert first <= span.likely_to
    assert span.likely_to - span.likely_from <= case["likely_at_most"]
    assert case["form_family"] in next(item.means for item in dating.glass.items if item.kind == "form")


def test_smooth_base_before_1850_is_rarer_than_one_in_ten() -> None:
    """SHA/BLM pontil text: the change peaked 1853 to 1856, so few vessels made by 1845 to 1850 lack a scar."""
    dating = date_piece(Evidence("p", sightings=(Sighting("base", "no pontil scar", 1.0),)), region="North America")
    curve = dating.glass.items[0].curve
    assert curve[(YEARS >= 1780) & (YEARS <= 1847)].max() < 0.2
    assert curve[(YEARS >= 1780) & (YEARS <= 1845)].max() <= 0.1 + 1e-9
    assert curve[YEARS == 1857].item() == 1.0


@pytest.mark.parametrize("place", range(len(ZUNI["assemblages"])), ids=ZUNI["assemblages"])
def test_mean_date_of_a_published_assemblage(place: int) -> None:
    kinds = list(ZUNI["counts"])
    found = mean_date([ZUNI["counts"][kind][place] for kind in kinds], [ZUNI["years"][kind] for kind in kinds])
    np.testing.assert_allclose(found, ZUNI["expected"][place], atol=ZUNI["tolerance_years"])


def test_assemblage_whose_types_share_no_year_is_said_to_span() -> None:
    """LZ0508: the latest type begins in 1200, after the first has ended in 1125 (arithmetic on the published years)."""
    place = ZUNI["assemblages"].index("LZ0508")
    kinds = list(ZUNI["counts"])
    found = shared_range([ZUNI["counts"][kind][place] for kind in kinds], [ZUNI["years"][kind] for kind in kinds])
    assert (found.latest_start, found.earliest_end, found.shares_years) == (1200.0, 1125.0, False)


@pytest.mark.parametrize("case", EXTENDED["valid"], ids=[case["text"] for case in EXTENDED["valid"]])
def test_extended_date_has_its_published_level_and_bounds(case: dict[str, Any]) -> None:
    read = read_extended(case["text"])
    assert (read.level, read.earliest, read.latest) == (case["level"], case.get("earliest"), case.get("latest"))


@pytest.mark.parametrize("text", EXTENDED["drafts"])
def test_form_of_the_2012_draft_is_refused_and_its_replacement_read(text: str) -> None:
    with pytest.raises(InputError) as caught:
        read_extended(text, "here", "made")
    assert (caught.value.field, caught.value.value) == ("made", text)
    assert read_extended(EXTENDED["drafts"][text]).level >= 1

"""Dating a piece: what counts once, what clashes, and what nothing is known of."""

import json

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from weftglass.dating import (
    COVERING,
    REGIONS,
    YEARS,
    Item,
    community_item,
    date_piece,
    form_years,
    group_date,
    owned_item,
)
from weftglass.dating.combine import one_change, together
from weftglass.dating.covering import after_glass, waiting_law
from weftglass.dating.diagnostics import diagnostics, matching
from weftglass.dating.years import normal, soft_range
from weftglass.errors import InputError
from weftglass.evidence import FEATURES, Covering, Evidence, Sighting


def piece(*seen: tuple[str, str, float], material: str | None = None) -> Evidence:
    return Evidence("p", sightings=tuple(Sighting(*one) for one in seen), covering=Covering(material=material))


def item(name: str, years: tuple[int, int, int, int], cause: str, sure: float = 1.0, part: str = "glass") -> Item:
    return Item(name, part, cause, "making", soft_range(*years, "high"), name, "test", "seam", sure)


SCAR = item("scar", (1905, 1910, 1950, 1982), "machine")
SEAM = item("seam", (1893, 1910, 2030, 2030), "machine")


def test_diagnostics_of_one_change_count_once() -> None:
    """A seam that every machine leaves adds nothing to a scar that one machine leaves."""
    np.testing.assert_allclose(one_change([SCAR, SEAM]), SCAR.curve)
    np.testing.assert_allclose(one_change([SCAR, SCAR]), SCAR.curve)


def test_independent_causes_narrow_the_years() -> None:
    """The control: the same two curves under two causes multiply."""
    other = item("crown", (1893, 1910, 1950, 1982), "closing")
    apart = normal(together([SCAR, other]))
    assert apart.max() > normal(together([SCAR])).max() * 1.02


def test_second_sighting_of_one_change_makes_it_surer() -> None:
    unsure = [
        item("scar", (1905, 1910, 1950, 1982), "machine", 0.8),
        item("seam", (1893, 1910, 2030, 2030), "machine", 0.8),
    ]
    early = YEARS == 1850
    once, twice = normal(one_change(unsure[:1])), normal(one_change(unsure))
    assert twice[early].item() < 0.5 * once[early].item()


def test_same_words_twice_are_one_item() -> None:
    one = date_piece(piece(("base", "suction scar", 0.8)))
    two = date_piece(piece(("base", "suction scar", 0.8), ("base", "suction cut-off scar", 0.8)))
    np.testing.assert_allclose(one.glass.curve, two.glass.curve)
    assert any(note.startswith("Counted once") for note in two.notes)


def test_nothing_known_gives_no_years() -> None:
    dating = date_piece(piece())
    record = dating.to_record()
    assert dating.glass.span is None
    assert record["glass"]["earliest"] is None
    assert record["covering"]["edtf"] is None
    assert "Nothing here dates the piece" in dating.notes[0]


def test_record_is_the_contract() -> None:
    record = date_piece(piece(("base", "pontil scar", 0.9)), until=2026).to_record()
    json.dumps(record, allow_nan=False)
    for part in ("glass", "covering"):
        four = [record[part][name] for name in ("earliest", "likely_from", "likely_to", "latest")]
        assert four == sorted(four)
        assert abs(sum(share for _, share in record[part]["curve"]) - 1.0) < 1e-3
        assert record[part]["curve"][-1][0] <= 2026


def test_covering_is_never_older_than_its_glass() -> None:
    glass = normal((YEARS == 1900).astype(float))
    cover = after_glass(glass)
    assert cover[YEARS < 1900].sum() == 0.0
    assert abs(waiting_law().sum() - 1.0) < 1e-12
    assert cover[YEARS == 1900].item() > cover[YEARS == 1920].item() > 0


def test_date_on_the_covering_bounds_the_glass() -> None:
    free = date_piece(piece(("finish", "applied", 0.9)))
    bound = date_piece(piece(("finish", "applied", 0.9), ("inscription", "1862", 0.99)))
    assert bound.glass.span is not None
    assert free.glass.span is not None
    assert bound.glass.span.latest <= 1875 < free.glass.span.latest
    assert bound.covering.span is not None
    assert bound.covering.span.likely_from == 1862


def test_covering_dated_before_its_glass_names_the_items() -> None:
    dating = date_piece(piece(("closure", "crown cap", 0.95), ("inscription", "1870, worked in", 0.95)))
    assert len(dating.clashes) == 1
    said = dating.clashes[0].sentence
    assert "before its glass could exist" in said
    assert "inscription 1870, worked in" in said
    assert "closure crown cap" in said
    assert any("apart from each other" in note for note in dating.notes)
    assert dating.glass.span is not None
    assert dating.glass.span.likely_from > 1890


def test_two_items_on_one_part_clash() -> None:
    dating = date_piece(piece(("base", "iron pontil", 0.95), ("statement", "70 cl", 0.95)))
    assert "do not go together on one glass" in dating.clashes[0].sentence


def test_unsure_eye_is_no_contradiction() -> None:
    assert not date_piece(piece(("closure", "crown cap", 0.95), ("inscription", "1870", 0.5))).clashes


def test_covering_later_than_its_glass_is_no_contradiction() -> None:
    assert not date_piece(piece(("base", "iron pontil", 0.95), ("inscription", "1950", 0.95))).clashes


def test_dyes_and_materials_date_the_covering() -> None:
    dating = date_piece(piece(("dye", "aniline purple", 1.0), material="willow, nylon"))
    assert {one.part for one in dating.covering.items} == {COVERING}
    assert dating.covering.span is not None
    assert dating.covering.span.earliest >= 1938


def test_collecting_history_caps_both_parts() -> None:
    dating = date_piece(piece(("base", "smooth", 0.99)), further=[owned_item("since 1911", 1911)])
    assert dating.glass.span is not None
    assert dating.covering.span is not None
    assert max(dating.glass.span.latest, dating.covering.span.latest) <= 1913


def test_community_years_say_nothing_of_the_glass() -> None:
    seen = piece(("base", "pontil scar", 0.9))
    alone = date_piece(seen)
    dated = date_piece(seen, further=[community_item("the Ondreval weavers", 1880, 1920)])
    np.testing.assert_allclose(alone.glass.curve, dated.glass.curve)
    assert dated.covering.span is not None
    assert dated.covering.span.likely_from >= 1868


def test_forms_keep_their_probability_against_sightings_already_weighed() -> None:
    """Identification took the lip in; dating must not weigh the forms by it again, only choose years within each."""
    forms = form_years([(1800, 1850), (1900, 1950)], [0.5, 0.5])
    dating = date_piece(piece(("finish", "oil", 0.9)), forms=forms)
    early = dating.glass.curve[YEARS < 1875].sum()
    np.testing.assert_allclose(early, 0.5, atol=0.03)
    control = date_piece(piece(("statement", "federal law forbids", 0.99)), forms=forms)
    assert control.glass.curve[YEARS < 1875].sum() < 0.05


def test_form_years_rows_sum_to_probabilities() -> None:
    rows = form_years([(1800, 1850), None], [0.7, 0.3])
    np.testing.assert_allclose(rows.sum(axis=1), [0.7, 0.3])
    with pytest.raises(InputError):
        form_years([(1800, 1850)], [0.7, 0.3])


def test_unknown_words_are_said() -> None:
    dating = date_piece(piece(("mark", "a squiggle", 0.9)))
    assert "No years are known for: mark a squiggle." in dating.notes


def test_diagnostics_have_sources_and_rising_years() -> None:
    for one in diagnostics():
        assert one.source
        assert one.how_sure in ("high", "medium", "low")
        ends = [year for year in (one.earliest, one.common_from, one.common_to, one.latest) if year is not None]
        assert ends == sorted(ends), one.id
        assert one.phrases
        assert all(one.phrases)


def test_every_diagnostic_is_found_by_each_of_its_words() -> None:
    for one in diagnostics():
        for feature in one.features:
            for phrase in one.phrases:
                words = " ".join(sorted(phrase)) + (" 1873" if one.kind == "after" else "")
                assert one.id in [found.id for found in matching(feature, words)], (one.id, words)


def test_region_chooses_between_diagnostics() -> None:
    assert [one.id for one in matching("closure", "crown", "Britain")] == ["cl-crown-uk"]
    assert len(matching("closure", "crown")) == 2


def test_every_region_of_a_table_is_one_that_can_be_asked_for() -> None:
    """A line of another region could never be left out, nor asked for."""
    for one in diagnostics():
        assert "general" in one.region or any(one.fits_region(region) for region in REGIONS), one.id


@pytest.mark.parametrize("said", ["Mars", "", "Americana", "us and them"])
def test_a_region_without_known_years_is_refused_and_the_known_ones_are_named(said: str) -> None:
    with pytest.raises(InputError, match="North America, Britain or Europe") as fault:
        date_piece(piece(("closure", "crown", 0.9)), region=said)
    assert (fault.value.field, fault.value.value) == ("region", said)


@pytest.mark.parametrize(("said", "region"), [("U.S.A.", "North America"), ("the United Kingdom", "Britain")])
def test_a_region_may_have_another_name(said: str, region: str) -> None:
    seen = piece(("closure", "crown", 0.9))
    assert date_piece(seen, region=said).to_record() == date_piece(seen, region=region).to_record()


def test_group_date_says_when_it_was_whole() -> None:
    old, young = (normal((year == YEARS).astype(float)) for year in (1880, 1910))
    group = group_date({"a": old, "b": young})
    assert (group.mean, group.mean_sd, group.not_before) == (1895.0, 0.0, 1910)
    assert abs(group.spread - 15 * 2**0.5) < 1e-9
    with pytest.raises(InputError):
        group_date({})


ODD_WORDS = (
    "machine-made",
    "suction scar",
    "no",
    "pontil",
    "date code 19",
    "patent 1873",
    "crown",
    "1908",
    "before 1200",
    "2029",
    "aniline",
    "magenta",
    ";",
    "about",
    "1870-1860",
    "70 cl",
    "seam over the lip",
    "photograph 1890",
    "ß",
    "19th century",
)
WORDS = st.sampled_from(ODD_WORDS)


@given(
    st.lists(st.tuples(st.sampled_from(sorted(FEATURES)), st.lists(WORDS, min_size=1, max_size=4).map(" ".join),
                       st.floats(0.01, 1.0)), max_size=7),
    st.sampled_from([None, *REGIONS]),
)  # fmt: skip
@settings(max_examples=60, deadline=None)
def test_whatever_is_seen_gives_whole_curves(seen: list[tuple[str, str, float]], region: str | None) -> None:
    dating = date_piece(piece(*seen), region=region, until=2026)
    for part in (dating.glass, dating.covering):
        assert abs(part.curve.sum() - 1.0) < 1e-9
        assert part.curve[YEARS > 2026].sum() < 1e-6
    json.dumps(dating.to_record(), allow_nan=False)

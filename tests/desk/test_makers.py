"""Communities, attribution, dates and rarity through the desk, on a small collection."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest

from weftglass.cli.main import run
from weftglass.desk import (
    Collection,
    accept_finding,
    create_piece,
    edit_piece,
    identify_piece,
    open_collection,
    record_sighting,
)
from weftglass.desk.communities import (
    add_community,
    add_published_holding,
    as_typed,
    edit_community,
    list_communities,
    plain_name,
    restore_community,
    withdraw_community,
)
from weftglass.desk.dating import accept_date, date_of
from weftglass.desk.makers import accept_maker, attribute_piece, habits_of, learn
from weftglass.desk.traits import fineness_of, traits_of
from weftglass.desk.unusual import unusual
from weftglass.errors import ChangedMeanwhile, InputError
from weftglass.records import Piece, SightingRecord, WeaveStudy

ME = "E. Marlissen"
HABITS = {
    "Delmuine": {"lean": "up to the right", "rim": "braided", "start": "crossed warps"},
    "Orvathal": {"lean": "up to the left", "rim": "folded", "start": "pierced cross"},
}


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Ten documented pieces of two communities, one guessed, one without a name."""
    folder: Path = tmp_path_factory.mktemp("makers") / "collection"
    with open_collection(folder) as made:
        for name, years in (("Delmuine", "1870 to 1935"), ("Orvathal", "1820 to 1950")):
            add_community(made, {"name": name, "other_names": f"the {name} people", "years": years}, who=ME)
        for i in range(5):
            for name, habit in HABITS.items():
                piece = create_piece(
                    made,
                    f"{name} {i}",
                    who=ME,
                    piece_id=f"{name.lower()}-{i}",
                    community=name if i else f"the {name} people",
                    technique="plain twining",
                    material="willow",
                    design="bands" if i else "a boat; signed TK",
                )
                for feature, value in habit.items():
                    record_sighting(made, piece.id, feature, value, who=ME)
                record_sighting(made, piece.id, "design", "picture: boat" if i == 0 else "bands", who=ME)
                record_sighting(made, piece.id, "section", "square" if name == "Delmuine" else "round", who=ME)
        asked = create_piece(made, "asked", who=ME, piece_id="asked", technique="plain twining", acquired_on="2011")
        for feature, value in HABITS["Delmuine"].items():
            record_sighting(made, asked.id, feature, value, who=ME)
        create_piece(made, "guessed", who=ME, piece_id="guessed", community="probably Orvathal?", technique="wicker")
    return folder


@pytest.fixture
def collection(place: Path) -> Iterator[Collection]:
    with open_collection(place, create=False) as opened:
        yield opened


def test_pieces_belong_to_a_community_by_any_of_its_names(collection: Collection) -> None:
    rows = {row.community.name: row for row in list_communities(collection)}
    assert set(rows) == {"Delmuine", "Orvathal"}
    assert len(rows["Delmuine"].documented) == 5
    assert [piece.id for piece in rows["Orvathal"].guessed] == ["guessed"]


def test_guess_teaches_nothing(collection: Collection) -> None:
    assert "guessed" not in learn(collection).documented.pieces
    assert len(learn(collection).documented.pieces) == 10
    assert plain_name("attributed to Karrosk") == "Karrosk"


def test_piece_is_attributed_by_its_traits(collection: Collection) -> None:
    found = attribute_piece(collection, "asked").attribution
    best = found.chances[0]
    assert best.community == "Delmuine"
    assert best.probability > 0.8
    assert found.documented == 10
    assert {weight.trait for weight in best.weights} >= {"lean", "rim", "start"}


def test_documented_piece_does_not_vouch_for_itself(collection: Collection) -> None:
    assert attribute_piece(collection, "delmuine-1").attribution.documented == 9


def test_both_scores_are_kept(collection: Collection) -> None:
    record = attribute_piece(collection, "asked").to_record()
    json.dumps(record, allow_nan=False)
    assert record["scores"]["baseline"]["pieces"] == record["scores"]["other"]["pieces"] == 10
    assert record["scores"]["used"] == record["rule"]


def test_unusual_counts_own_and_published(collection: Collection) -> None:
    found = unusual(collection)
    assert (found["signed"].alike, found["signed"].pieces) == (2, 10)
    assert (found["pictorial"].alike, found["pictorial"].pieces) == (2, 10)
    assert found["signed and pictorial"].alike == 2
    assert found["dated"].share is not None
    assert found["dated"].share.low == 0.0


def test_acquisition_and_community_years_date_a_piece(collection: Collection) -> None:
    dating = date_of(collection, "delmuine-1")
    assert [item.kind for item in dating.covering.items] == ["community"]
    assert dating.covering.span is not None
    assert dating.covering.span.likely_from >= 1858
    assert "owned" in [item.kind for item in date_of(collection, "asked").covering.items]


def test_commands_print_scores_and_reasons(place: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["makers", str(place)]) == 0
    said = capsys.readouterr().out
    assert "Judged on 10 documented pieces" in said
    assert "naive Bayes" in said
    assert run(["makers", str(place), "--piece", "asked"]) == 0
    assert "For and against Delmuine" in capsys.readouterr().out
    assert run(["makers", str(place), "--json"]) == 0
    record = json.loads(capsys.readouterr().out)
    assert len(record["pieces"]) == 12
    assert record["scores"]["baseline"]["right"] <= 10


def empty(folder: Path) -> Collection:
    return open_collection(folder / "c")


def test_signed_findings_hold_date_and_maker(tmp_path: Path, place: Path) -> None:
    with open_collection(place, create=False) as opened:
        maker = accept_maker(opened, "asked", "Delmuine", who=ME)
        date = accept_date(opened, "asked", who=ME, remark="as told")
        again = accept_maker(opened, "asked", "", who=ME)
        assert (maker.subject, maker.conclusion) == ("maker", "made by Delmuine")
        assert date.conclusion.startswith("glass [")
        assert json.loads(date.answer)["covering"]["edtf"] in date.conclusion
        assert again.conclusion == "made by another community"
        for finding in (maker, date, again):
            finding.check_fields("here")
        with pytest.raises(InputError, match="Karrosk"):
            accept_maker(opened, "asked", "Karrosk", who=ME)


def test_nothing_can_be_signed_where_nothing_is_known(tmp_path: Path) -> None:
    with empty(tmp_path) as made:
        create_piece(made, "bare", who=ME, piece_id="bare")
        with pytest.raises(InputError, match="nothing known"):
            accept_date(made, "bare", who=ME)
        with pytest.raises(InputError, match=r": too few|: no piece"):
            accept_maker(made, "bare", "Delmuine", who=ME)


def test_community_is_entered_changed_withdrawn_and_brought_back(tmp_path: Path) -> None:
    with empty(tmp_path) as made:
        fields = {"name": "Karrosk", "years": "1880–1930", "point": "50.8, -4.5", "traits": "lean: up to the left"}
        new = add_community(made, fields, who=ME)
        assert (new.years, new.point, new.traits) == ((1880, 1930), (50.8, -4.5), (("lean", "up to the left"),))
        assert add_community(made, {"name": "Wendrille"}, who=ME).id == "wendrille"
        changed = edit_community(made, new.id, {"restricted_designs": "heron\nboat"}, who=ME)
        assert changed.restricted_designs == ("heron", "boat")
        assert changed.years == (1880, 1930)
        assert edit_community(made, new.id, as_typed(changed), who=ME) == changed
        with pytest.raises(ChangedMeanwhile):
            edit_community(made, new.id, {"language": "x"}, who=ME, version=1)
        with pytest.raises(InputError, match="no other community"):
            edit_community(made, new.id, {"name": "wendrille"}, who=ME)
        withdraw_community(made, new.id, who=ME)
        assert [row.community.name for row in list_communities(made)] == ["Wendrille"]
        restore_community(made, new.id, who=ME)
        assert len(list_communities(made)) == 2


@pytest.mark.parametrize(
    ("field", "value"),
    [("name", ""), ("years", "long ago"), ("years", "1930 to 1880"), ("point", "north"), ("traits", "mood: good"),
     ("within_km", "-5"), ("colour", "red")],
)  # fmt: skip
def test_community_field_that_cannot_be_read_is_named(tmp_path: Path, field: str, value: str) -> None:
    with empty(tmp_path) as made, pytest.raises(InputError) as caught:
        add_community(made, {"name": "K", field: value}, who=ME)
    assert caught.value.field == field


def test_published_holding_is_counted_in(tmp_path: Path) -> None:
    with empty(tmp_path) as made:
        add_published_holding(made, "a museum", "catalogue", 40, {"signed": 2}, who=ME)
        assert (unusual(made)["signed"].alike, unusual(made)["signed"].pieces) == (2, 40)
        assert unusual(made)["dated"].pieces == 0
        with pytest.raises(InputError):
            add_published_holding(made, "b", "catalogue", 4, {"signed": 5}, who=ME)
        with pytest.raises(InputError):
            add_published_holding(made, "b", "catalogue", 4, {"gilt": 1}, who=ME)


def test_piece_named_after_a_community_not_entered_is_listed(tmp_path: Path) -> None:
    with empty(tmp_path) as made:
        piece = create_piece(made, "one", who=ME, community="Karrosk")
        assert [(row.community.name, row.community.id) for row in list_communities(made)] == [("Karrosk", "")]
        edit_piece(made, piece.id, {"community": ""}, who=ME)
        assert not list_communities(made)


def test_habits_are_a_prior_that_can_be_switched_off(collection: Collection) -> None:
    """What the makers covered moves the vessel's odds, does not touch its own page unless asked, and counts once."""
    for i in range(5):
        for name, form in (("delmuine", "milk-quart-round"), ("orvathal", "wine-onion-650ml")):
            accept_finding(collection, f"{name}-{i}", who=ME, form=form)
    plain = identify_piece(collection, "asked")
    tilt = habits_of(collection, "asked")
    assert tilt
    tilted = identify_piece(collection, "asked", tilt=tilt)
    assert sum(tilted.probabilities.values()) + tilted.unlisted == pytest.approx(1.0)
    assert identify_piece(collection, "asked").probabilities == plain.probabilities
    ratio = {form: tilted.probabilities[form] / plain.probabilities[form] for form in plain.probabilities}
    most = max(tilt, key=lambda form: tilt[form])
    least = min(tilt, key=lambda form: tilt[form])
    assert tilt["milk-quart-round"] == tilt[most] > 1 > tilt["wine-onion-650ml"]
    assert ratio[most] / ratio[least] == pytest.approx(tilt[most] / tilt[least], rel=1e-3)


def study(rows: float, sd: float, lean: str = "") -> WeaveStudy:
    return WeaveStudy(
        id="s", piece="p", view="v", on="2026-11-25", by=ME, how="hand", rows_per_cm=rows, rows_sd=sd, lean=lean
    )


def test_fineness_counts_in_classes_with_their_probabilities() -> None:
    assert fineness_of([study(5.0, 0.1)]) == {"4.5 to 6.5 rows per cm": pytest.approx(1.0)}
    halves = fineness_of([study(3.0, 0.2), study(3.0, 0.2)])
    assert halves == {"2 to 3 rows per cm": pytest.approx(0.5), "3 to 4.5 rows per cm": pytest.approx(0.5)}


def test_lean_of_a_count_stands_in_only_where_nobody_saw_one() -> None:
    piece = Piece(id="p", name="p")
    seen = SightingRecord(id="x", piece="p", feature="lean", value="up to the right")
    counted = [study(5.0, 0.1, "up to the left")]
    assert traits_of(piece, [], None, counted).values["lean"] == {"up to the left": 1.0}
    assert traits_of(piece, [seen], None, counted).values["lean"] == {"up to the right": 1.0}

"""Attribution: counts with smoothing, 'another community', reasons, refusals, and judging a rule on the pieces."""

import tomllib
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from weftglass.errors import InputError
from weftglass.weave.attribution import BASELINE, Documented, attribute, naive_bayes, probabilities
from weftglass.weave.judging import SHRUNK, calibration, calibration_floor, choose_rule, fitted, judge, part
from weftglass.weave.traits import BLOCKS, TRAIT_WORDS, Layout, Traits

PUBLISHED = Path(__file__).parents[1] / "published" / "manning_2008_naive_bayes.toml"
SIZES = {"technique": 5, "lean": 3, "start": 5, "rim": 5, "material": 8, "design": 8}


def made(pieces: int, communities: int, seed: int, *, apart: float = 0.25) -> Documented:
    """Pieces of invented communities, each with habits of its own; a foundation that only repeats the technique."""
    rng = np.random.default_rng(seed)
    base = {trait: rng.dirichlet(np.full(n, 1.0)) for trait, n in SIZES.items()}
    habit = [
        {trait: rng.dirichlet(base[trait] * n * apart + 1e-3) for trait, n in SIZES.items()} for _ in range(communities)
    ]
    shown, makers, groups = [], [], []
    for i in range(pieces):
        who = int(rng.integers(communities))
        values = {t: f"{t} {rng.choice(n, p=habit[who][t])}" for t, n in SIZES.items() if rng.random() < 0.8}
        if "technique" in values:
            values |= {"foundation": values["technique"], "splice": values["technique"]}
        shown.append(Traits.of(f"p-{i}", values))
        makers.append(f"community {who}")
        groups.append(f"maker {i // 2}")
    return Documented.of(shown, makers, groups)


def test_naive_bayes_is_the_published_example() -> None:
    case = tomllib.loads(PUBLISHED.read_text(encoding="utf-8"))

    def counted(text: str) -> list[int]:
        return [text.split().count(word) for word in case["words"]]

    classes = ["A", "not A"]
    score, value = naive_bayes(
        [counted(text) for _, text in case["train"]],
        [classes.index(name) for name, _ in case["train"]],
        counted(case["asked"]),
    )
    np.testing.assert_allclose(value[:, case["words"].index("C")], case["p_c"], rtol=1e-12)
    np.testing.assert_allclose(value[:, case["words"].index("T")], case["p_t"], rtol=1e-12)
    np.testing.assert_allclose(score, case["score"], rtol=1e-5)
    np.testing.assert_allclose(score, case["printed"], atol=5e-5)
    assert score[0] / score.sum() == pytest.approx(case["posterior"], abs=1e-5)


def test_baseline_is_the_textbook_rule() -> None:
    """On one trait with one value a piece, and the same prior, the baseline and the textbook rule agree."""
    pieces = [Traits.of(f"p{i}", {"lean": lean}) for i, lean in enumerate(["left", "left", "right", "right", "right"])]
    learned = Documented.of(pieces, ["a", "a", "a", "b", "b"])
    prior = np.array([0.5, 0.4, 0.1])
    ours, _ = probabilities(learned, learned.rows[:1], BASELINE, prior)
    score, _ = naive_bayes(learned.rows, learned.labels, learned.rows[0], prior=prior[:2])
    np.testing.assert_allclose(ours[0, 0] / ours[0, 1], score[0] / score[1])


@given(st.integers(0, 40))
@settings(max_examples=15, deadline=None)
def test_chances_and_another_sum_to_one(seed: int) -> None:
    learned = made(16, 3, seed)
    answer = attribute(Traits.of("new", {"technique": "technique 1", "lean": "lean 0"}), learned, SHRUNK)
    if answer.refusal:
        assert answer.another == 1.0
    else:
        assert sum(one.probability for one in answer.chances) + answer.another == pytest.approx(1.0)


def test_trait_that_only_one_community_shows_speaks_for_it() -> None:
    pieces = [Traits.of(f"a{i}", {"rim": "braided", "lean": "right"}) for i in range(5)]
    pieces += [Traits.of(f"b{i}", {"rim": "folded", "lean": "right"}) for i in range(5)]
    learned = Documented.of(pieces, ["a"] * 5 + ["b"] * 5)
    answer = attribute(Traits.of("new", {"rim": "braided", "lean": "right"}), learned, SHRUNK)
    first = answer.chances[0]
    assert (first.community, first.documented, answer.documented) == ("a", 5, 10)
    assert first.weights[0].trait == "rim"
    assert first.weights[0].decibans > 5
    assert (first.weights[0].seen, first.weights[0].pieces) == (5.0, 5)
    lean = next(weight for weight in first.weights if weight.trait == "lean")
    assert abs(lean.decibans) < 1
    second = answer.chances[1]
    assert second.weights[0].decibans < -5


def test_value_never_seen_makes_another_community_likelier() -> None:
    pieces = [Traits.of(f"{name}{i}", {"rim": name, "start": name}) for name in "abc" for i in range(4)]
    learned = Documented.of(pieces, [name for name in "abc" for _ in range(4)])
    known = attribute(Traits.of("n", {"rim": "a", "start": "a"}), learned, SHRUNK)
    strange = attribute(Traits.of("n", {"rim": "x", "start": "y"}), learned, SHRUNK)
    assert strange.another > known.another


def test_dependent_traits_are_weighed_down() -> None:
    """Three traits that always repeat each other must not count as three witnesses."""
    one = [{"technique": name, "rim": name} for name in "ab"]
    three = [values | {"foundation": values["technique"], "splice": values["technique"]} for values in one]
    gain = []
    for shown in (one, three):
        pieces = [Traits.of(f"{k}{i}", shown[k]) for k in range(2) for i in range(5)]
        learned = Documented.of(pieces, ["a"] * 5 + ["b"] * 5)
        gain.append(
            {
                rule.name: attribute(Traits.of("n", shown[0]), learned, rule).chances[0].probability
                for rule in (BASELINE, SHRUNK)
            }
        )
    odds = [{name: p / (1 - p) for name, p in chances.items()} for chances in gain]
    assert odds[1][SHRUNK.name] / odds[0][SHRUNK.name] < odds[1][BASELINE.name] / odds[0][BASELINE.name]


@pytest.mark.parametrize(
    ("communities", "words"),
    [(["a"] * 20, "1 communities"), (["a"] * 4 + ["b"] * 2, "6 in all"), ([], "No piece")],
)
def test_too_few_documented_pieces_are_not_ranked(communities: list[str], words: str) -> None:
    pieces = [Traits.of(f"p{i}", {"lean": "right"}) for i in range(len(communities))]
    answer = attribute(Traits.of("n", {"lean": "right"}), Documented.of(pieces, communities), SHRUNK)
    assert not answer.chances
    assert words in answer.refusal


def test_piece_without_traits_is_not_ranked() -> None:
    answer = attribute(Traits.of("n", {}), made(30, 3, 1), SHRUNK)
    assert "No trait of this piece" in answer.refusal


def test_unknown_trait_is_refused() -> None:
    with pytest.raises(InputError, match="mood"):
        Traits.of("p", {"mood": "good"})


def test_every_trait_has_a_block_and_words() -> None:
    assert sorted(trait for traits in BLOCKS.values() for trait in traits) == sorted(TRAIT_WORDS)


def test_rows_keep_weights_and_send_strangers_to_any_other() -> None:
    layout = Layout.of([Traits.of("p", {"material": ["rush", "root"], "lean": "left"})])
    row = layout.rows([Traits.of("q", {"material": {"rush": 3.0, "wire": 1.0}, "rim": "folded"})])[0]
    shown = dict(zip(layout.columns, row, strict=True))
    assert shown[("material", "rush")] == 0.75
    assert shown[("material", None)] == 0.25
    assert row.sum() == 1.0


def test_shrunk_rule_foretells_better_than_the_baseline() -> None:
    """Statistical: eight made-up collections; the control is the textbook rule on the same ones."""
    gains = [judge(made(40, 4, seed), SHRUNK, fitted).log_score - judge(made(40, 4, seed), BASELINE, None).log_score
             for seed in range(8)]  # fmt: skip
    assert np.mean(gains) > 0
    assert sum(gain > 0 for gain in gains) >= 6


def test_choice_takes_the_better_and_says_so() -> None:
    choice = choose_rule(made(40, 4, 3))
    better = choice.other if choice.other.log_score > choice.baseline.log_score else choice.baseline
    assert choice.used == better.rule
    assert better.rule.name in choice.sentence


def test_of_many_documented_pieces_some_are_judged_and_it_is_said() -> None:
    """A collection of hundreds answers without a wait of minutes; the same pieces are drawn each time."""
    learned = made(300, 4, 5)
    choice = choose_rule(learned)
    assert choice.baseline.pieces == choice.other.pieces == 120
    assert "120 of 300" in choice.sentence
    assert choose_rule(learned).other.log_score == choice.other.log_score


def test_judging_leaves_the_makers_other_pieces_out() -> None:
    """Twins by one maker must not vouch for each other: a maker of his own habits is not foretold from himself."""
    pieces = [Traits.of(f"{i}{k}", {"rim": f"own {i}", "start": f"own {i}"}) for i in range(8) for k in range(2)]
    labels = [("a", "b")[i % 2] for i in range(8) for _ in range(2)]
    by_maker = Documented.of(pieces, labels, [f"maker {i}" for i in range(8) for _ in range(2)])
    by_piece = Documented.of(pieces, labels)
    assert judge(by_piece, BASELINE, None).right == 16
    assert judge(by_maker, BASELINE, None).right <= 8


def test_community_left_out_is_called_another_more_often_than_known_ones() -> None:
    scores = judge(made(80, 5, 2, apart=0.05), SHRUNK, fitted)
    assert scores.another_left_out > 1.5 * scores.another_known


def test_calibration_of_a_known_law() -> None:
    error, groups = calibration([0.25, 0.25, 0.75, 0.75], [False, False, True, True])
    assert error == 0.25
    assert sum(pieces for _, _, pieces in groups) == 4
    sure = np.full(200, 0.7)
    assert 0.01 < calibration_floor(sure) < 0.1
    assert calibration_floor(np.ones(200)) == 0.0


def test_part_keeps_columns_and_communities() -> None:
    learned = made(20, 3, 1)
    rest = part(learned, learned.labels != 0)
    assert rest.layout is learned.layout
    assert rest.communities == learned.communities
    assert rest.sizes[0] == 0

"""Each page's facts class holds exactly what its template uses: nothing missing, nothing carried for nothing."""

from __future__ import annotations

import dataclasses

import pytest
from jinja2 import meta

from weftglass.web.pages.bench import BenchFacts
from weftglass.web.pages.buying import BuyingFacts, ValuesFacts
from weftglass.web.pages.carry import CarryFacts
from weftglass.web.pages.catalogue import CatalogueFacts
from weftglass.web.pages.colour import ColourFacts
from weftglass.web.pages.condition import ConditionFacts
from weftglass.web.pages.covering import CoveringFacts
from weftglass.web.pages.dates import DatesFacts
from weftglass.web.pages.forms import FormFacts, FormsFacts
from weftglass.web.pages.holdings import HoldingsFacts
from weftglass.web.pages.house import SignatureFacts, TextFacts
from weftglass.web.pages.inside import InsideFacts, LiveFacts
from weftglass.web.pages.letters import InscriptionsFacts, LettersFacts
from weftglass.web.pages.makers import CommunitiesFacts, CommunityFacts, MakerFacts
from weftglass.web.pages.photographs import PhotographsFacts
from weftglass.web.pages.piece import PieceFacts
from weftglass.web.pages.pocket import PocketFacts
from weftglass.web.pages.price import PriceFacts
from weftglass.web.pages.rarity import RarityFacts
from weftglass.web.pages.rollout import RolloutFacts
from weftglass.web.pages.shelf import ShelfFacts
from weftglass.web.pages.soundness import RecheckFacts, SoundnessFacts
from weftglass.web.pages.terms import TermsFacts
from weftglass.web.pages.tone import HeardAlone, ToneFacts
from weftglass.web.pages.whereabouts import WhereaboutsFacts
from weftglass.web.refusal import RefusalFacts
from weftglass.web.rendering import environment

MACROS = {
    "fields",
    "parts",
    "take_in",
    "add_plain",
    "changes",
    "rare",
}  # imported by, or defined in, the templates themselves
PAGES = {
    "shelf.html": ShelfFacts,
    "piece.html": PieceFacts,
    "inside.html": InsideFacts,
    "live_strip.html": LiveFacts,
    "bench.html": BenchFacts,
    "condition.html": ConditionFacts,
    "covering.html": CoveringFacts,
    "terms.html": TermsFacts,
    "forms.html": FormsFacts,
    "form.html": FormFacts,
    "carry.html": CarryFacts,
    "signature.html": SignatureFacts,
    "cautions.html": TextFacts,
    "about.html": TextFacts,
    "refusal.html": RefusalFacts,
    "photographs.html": PhotographsFacts,
    "soundness.html": SoundnessFacts,
    "recheck.html": RecheckFacts,
    "holdings.html": HoldingsFacts,
    "rarity.html": RarityFacts,
    "catalogue.html": CatalogueFacts,
    "buying.html": BuyingFacts,
    "values.html": ValuesFacts,
    "price.html": PriceFacts,
    "pocket.html": PocketFacts,
    "whereabouts.html": WhereaboutsFacts,
    "tone.html": ToneFacts,
    "rollout.html": RolloutFacts,
    "letters.html": InscriptionsFacts,
    "piece_letters.html": LettersFacts,
    "colour.html": ColourFacts,
    "dates.html": DatesFacts,
    "maker.html": MakerFacts,
    "communities.html": CommunitiesFacts,
    "community.html": CommunityFacts,
    "tone_heard.html": HeardAlone,
}


@pytest.mark.parametrize("template", PAGES)
def test_facts_are_exactly_what_the_template_uses(template: str) -> None:
    """A field that no template shows, or a name that no field gives, fails."""
    env = environment()
    assert env.loader is not None
    source = env.loader.get_source(env, template)[0]
    used = meta.find_undeclared_variables(env.parse(source)) - set(env.globals) - {"frame"} - MACROS
    assert used == {field.name for field in dataclasses.fields(PAGES[template])}


@pytest.mark.parametrize("facts", PAGES.values())
def test_facts_classes_are_frozen_and_described(facts: type) -> None:
    """Facts cannot be changed on their way to the page, and each class says what it holds."""
    assert facts.__dataclass_params__.frozen  # type: ignore[attr-defined]
    assert facts.__doc__
    assert not facts.__doc__.startswith(facts.__name__)

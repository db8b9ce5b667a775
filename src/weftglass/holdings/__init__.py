"""What a collection shows, what it lacks, and what to buy."""

from weftglass.holdings.association import Association, Preference, association, preferences
from weftglass.holdings.crosstable import CrossTable, Holding, cross
from weftglass.holdings.habits import WithinSources, buying_warning, within_strata
from weftglass.holdings.merit import Merit, merit
from weftglass.holdings.money import in_money_of
from weftglass.holdings.plans import Choice, Plan, Step, best_plan, fewest_covering, next_sum
from weftglass.holdings.prices import PriceRange, Sale, TooFew, price_range
from weftglass.holdings.rarity import Rarity, Tally, proportion, rarity
from weftglass.holdings.unseen import Completeness, Estimate, GrowthCurve, completeness, growth_curve
from weftglass.holdings.values import CAUTION, KINDS, Total, Value, is_stale, newest, totals
from weftglass.holdings.wants import OBJECTIVES, Want, likely_share, share_met, turns_up, wants
from weftglass.holdings.whereabouts import Lifespan, Spot

__all__ = [
    "CAUTION",
    "KINDS",
    "OBJECTIVES",
    "Association",
    "Choice",
    "Completeness",
    "CrossTable",
    "Estimate",
    "GrowthCurve",
    "Holding",
    "Lifespan",
    "Merit",
    "Plan",
    "Preference",
    "PriceRange",
    "Rarity",
    "Sale",
    "Spot",
    "Step",
    "Tally",
    "TooFew",
    "Total",
    "Value",
    "Want",
    "WithinSources",
    "association",
    "best_plan",
    "buying_warning",
    "completeness",
    "cross",
    "fewest_covering",
    "growth_curve",
    "in_money_of",
    "is_stale",
    "likely_share",
    "merit",
    "newest",
    "next_sum",
    "preferences",
    "price_range",
    "proportion",
    "rarity",
    "share_met",
    "totals",
    "turns_up",
    "wants",
    "within_strata",
]

"""The rules of law, one family a module; RULES and ENDINGS list them in the order they are asked."""

from __future__ import annotations

from generator.rules.additives import additives
from generator.rules.cleaning import cleaning
from generator.rules.context import Ending, Rule
from generator.rules.cooking import cooking, plant_cooking
from generator.rules.cooling import cooling
from generator.rules.dating import dating
from generator.rules.holding import cold_holding, hot_holding, storing
from generator.rules.packing import packing
from generator.rules.plausible import plausible
from generator.rules.reheating import reheating, thawing
from generator.rules.undercooking import eaten_raw, undercooking

RULES: tuple[Rule, ...] = (
    additives,
    cooking,
    plant_cooking,
    reheating,
    cooling,
    hot_holding,
    cold_holding,
    thawing,
    packing,
    eaten_raw,
    plausible,
    cleaning,
)
ENDINGS: tuple[Ending, ...] = (undercooking, storing, dating)

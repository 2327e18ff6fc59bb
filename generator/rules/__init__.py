"""The rules of law, one family a module; RULES and ENDINGS list them in the order they are asked."""

from __future__ import annotations

from generator.rules.acidity import acidity, never_acidified
from generator.rules.additives import additives
from generator.rules.between import between
from generator.rules.brining import taking_up
from generator.rules.cleaning import cleaning
from generator.rules.context import Ending, Rule
from generator.rules.cooking import cooking
from generator.rules.cooling import cooling, put_away
from generator.rules.dating import dating
from generator.rules.eggs_at_once import eggs_at_once
from generator.rules.enclosing import filling, never_enclosed
from generator.rules.frozen import slacking
from generator.rules.holding import cold_holding, hot_holding, storing
from generator.rules.lethality import lethality, lethality_held
from generator.rules.packed_fish import packed_fish
from generator.rules.parasites import freezing, served_raw
from generator.rules.part_cooking import part_cooking
from generator.rules.plant_cooking import plant_cooking
from generator.rules.plausible import doubtful_not_tcs, plausible, plausible_amounts
from generator.rules.reduced_oxygen import packing
from generator.rules.reheating import reheating
from generator.rules.schedules import schedules
from generator.rules.smoking import never_smoked, smoking
from generator.rules.thawing import thawing
from generator.rules.time_control import after_time, kept_after_time, time_control
from generator.rules.to_order import made_to_order
from generator.rules.undercooking import eaten_raw, susceptible, undercooking

RULES: tuple[Rule, ...] = (
    additives,
    taking_up,
    lethality,
    cooking,
    plant_cooking,
    part_cooking,
    reheating,
    cooling,
    between,
    schedules,
    smoking,
    hot_holding,
    cold_holding,
    thawing,
    slacking,
    packed_fish,
    freezing,
    time_control,
    after_time,
    acidity,
    packing,
    filling,
    eaten_raw,
    eggs_at_once,
    plausible,
    cleaning,
)
ENDINGS: tuple[Ending, ...] = (
    undercooking, susceptible, made_to_order, kept_after_time, served_raw, never_acidified, never_smoked, never_enclosed, lethality_held,
    put_away, storing, dating, doubtful_not_tcs,
    plausible_amounts,
)  # fmt: skip

"""The rules of law in the order they are asked: RULES of a step, ENDINGS of the finished food."""

from __future__ import annotations

from generator.rules.basics.cleaning import cleaning
from generator.rules.basics.context import Ending, Rule
from generator.rules.basics.free_from import denied_by_name
from generator.rules.basics.plausible import plausible, plausible_amounts
from generator.rules.basics.said import said_otherwise
from generator.rules.basics.without_cold import paper_of_another, unproven_not_tcs
from generator.rules.cold.between import between
from generator.rules.cold.came_wet import came_wet
from generator.rules.cold.cooling import cooling, put_away
from generator.rules.cold.ferment_salt import ferments_salted
from generator.rules.cold.frozen import slacking
from generator.rules.cold.holding import cold_holding, hot_holding, storing
from generator.rules.cold.packed_fish import packed_fish
from generator.rules.cold.part_cooking import part_cooking
from generator.rules.cold.schedules import schedules
from generator.rules.cold.served_warm import served_warm
from generator.rules.cold.sprouting import sprouts_unsaid
from generator.rules.cold.stays import stays_warm
from generator.rules.cold.thawing import thawing
from generator.rules.cold.time_control import after_time, kept_after_time, time_control
from generator.rules.cold.worked_on import worked_on
from generator.rules.cures.acidity import acidity, never_acidified
from generator.rules.cures.additives import additives
from generator.rules.cures.brining import taking_up
from generator.rules.cures.curing import never_cured
from generator.rules.cures.smoking import never_smoked, smoking
from generator.rules.heat.cooking import cooking
from generator.rules.heat.eggs_at_once import eggs_at_once
from generator.rules.heat.enclosing import filling, never_enclosed
from generator.rules.heat.lethality import lethality, lethality_held
from generator.rules.heat.parasites import freezing, served_raw
from generator.rules.heat.plant_cooking import plant_cooking
from generator.rules.heat.reheating import reheating
from generator.rules.heat.to_order import made_to_order
from generator.rules.heat.too_cool import too_cool_to_cook
from generator.rules.heat.undercooking import eaten_raw, susceptible, undercooking
from generator.rules.packing.reduced_oxygen import packing
from generator.rules.store.batters import batter_left_warm
from generator.rules.store.canning import canned_here
from generator.rules.store.dating import dating
from generator.rules.store.eaten_frozen import eaten_frozen
from generator.rules.store.human_milk import human_milk
from generator.rules.store.infant_formula import infant_formula
from generator.rules.store.milk import milk_for_the_frail, raw_milk
from generator.rules.store.natural_poisons import natural_poisons
from generator.rules.store.raw_beans import beans_not_boiled
from generator.rules.store.raw_flour import eaten_raw_flour
from generator.rules.store.raw_plants import drink_kept_long, juice_for_the_frail
from generator.rules.store.souring import kept_moist, kept_sour, kept_thin, too_moist
from generator.rules.store.tube_feeds import tube_feed
from generator.rules.store.under_oil import kept_cold_brewed, kept_in_honey, kept_under_oil

RULES: tuple[Rule, ...] = (
    said_otherwise,
    additives,
    taking_up,
    lethality,
    cooking,
    plant_cooking,
    part_cooking,
    reheating,
    cooling,
    between,
    worked_on,
    came_wet,
    served_warm,
    batter_left_warm,
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
    raw_milk,
    eaten_raw,
    eggs_at_once,
    stays_warm,
    plausible,
    too_cool_to_cook,
    ferments_salted,
    cleaning,
)
ENDINGS: tuple[Ending, ...] = (
    denied_by_name,
    undercooking,
    susceptible,
    juice_for_the_frail,
    milk_for_the_frail,
    beans_not_boiled,
    natural_poisons,
    eaten_raw_flour,
    infant_formula,
    tube_feed,
    human_milk,
    made_to_order,
    kept_after_time,
    served_raw,
    never_acidified,
    never_smoked,
    never_cured,
    never_enclosed,
    lethality_held,
    put_away,
    storing,
    dating,
    sprouts_unsaid,
    unproven_not_tcs,
    paper_of_another,
    canned_here,
    kept_sour,
    kept_moist,
    kept_thin,
    kept_under_oil,
    kept_in_honey,
    kept_cold_brewed,
    drink_kept_long,
    too_moist,
    plausible_amounts,
    eaten_frozen,
)

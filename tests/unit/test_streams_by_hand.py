"""Streams worked by hand: what two of them are once they meet, and how one waits for another."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from conftest import compute, edit
from each_row import each_row

from generator.resolve.ways import waits, with_ways
from generator.rules.basics.course import Course, Spell, State, met
from generator.rules.basics.product import Component, Product
from generator.sheet.manual import Manual
from generator.sheet.streams import Stream, opened
from generator.sheet.walk import Walk, walk

HOUR = Fraction(3600)
RAW = Component("pork", "Pork", Fraction(1000), "pork", "raw", "intact", False, (), part="meat")
SALT = Component("salt", "Salt", Fraction(10), "none", "ready-to-eat", "dry", False, (), part="s")


def _course(state: State, hours: int | None = None, hot: bool = False) -> Course:
    spell = Spell(2, hours * HOUR, ("Mix",), hot) if hours is not None else None
    return Course(state, "stated", spell)


@each_row(
    ("one", "other", "state", "hours", "hot"),
    [
        (_course("cold"), _course("cold"), "cold", None, False),
        (_course("frozen"), _course("cold"), "cold", None, False),
        (_course("cold"), _course("between", 2), "between", 2, False),
        (_course("between", 1), _course("between", 3), "between", 3, False),
        (_course("hot"), _course("hot"), "hot", None, False),
        (_course("hot"), _course("cold"), "hot", 0, True),
        (_course("hot", 1, True), _course("between", 3), "hot", 3, True),
        (_course("frozen"), _course("hot"), "hot", 0, True),
        (_course("none"), _course("between", 2), "between", 2, False),
        (_course("none"), _course("none"), "none", None, False),
    ],
)
def test_two_courses_that_meet(
    one: Course, other: Course, state: State, hours: int | None, hot: bool
) -> None:
    """As warm as the warmer, out as long as the longer; hot food that meets food that isn't has
    its clock running. The order doesn't matter."""
    for found in (met(one, other, 7), met(other, one, 7)):
        assert found.state == state
        assert (found.spell is not None) == (hours is not None)
        if found.spell is not None and hours is not None:
            assert (found.spell.seconds, found.spell.hot) == (hours * HOUR, hot)


def test_two_products_that_meet() -> None:
    """Cooked pork and raw pork: 2,010 g, raw still, cooked in part; the cooked half was chilled."""
    cooked = replace(Product().take((RAW, SALT)).heated(), hot=False)
    raw = Product().take((replace(RAW, part="more"),))
    for both in (cooked.join(raw), raw.join(cooked)):
        assert both.mass == 2010
        assert both.raw_animals and both.cooked and both.mixed and both.needs_cold
        assert {c.item for c in both.components if c.chilled} == {"pork", "salt"}
        assert not both.heated().mixed


def test_sour_food_is_sour_no_more_once_other_food_is_in_it() -> None:
    sour = replace(Product().take((RAW,)).heated(), acidified="pH 4.0")
    assert sour.join(Product().take((SALT,))).acidified
    assert not sour.join(Product().take((replace(RAW, part="more"),))).acidified
    assert sour.join(sour).acidified


def test_what_stays_behind_has_touched_all() -> None:
    """A tenth of the salt, and none of the pork: raw pork all the same."""
    product = Product().take((RAW, SALT)).weighing(Fraction(1, 2))
    left = product.part_of({"s": Fraction(1, 10)})
    assert left.mass == Fraction(1, 2) and left.raw_animals
    assert product.part_of({}).mass == 0


def test_older_of_two() -> None:
    old, wet = Stream(aged=Fraction(5), stood=Fraction(1)), Stream(wet=Fraction(9))
    both = old.join(wet, 3)
    assert (both.aged, both.stood, both.wet) == (5, 1, 9)


def test_food_packed_without_air_is_packed_last(kitchen: Path) -> None:
    step = compute(kitchen).walks["pork-bake"].steps[1].step
    packed, other = Stream(Product(air_days=30)), Stream(Product().take((RAW,)))
    (found,) = opened("pork-bake", step, (packed, other))
    assert found.code == "packed-then-joined" and found.is_error
    assert opened("pork-bake", step, (packed,)) == () == opened("pork-bake", step, (other, other))


OWN = """\
steps:
  - {do: grind, work_on: meat, LEFT, gives: ground}
  - {do: mix, work_on: bind, time: 20 min}
  - {do: bake, id: set, target: core 72 °C, with: range-oven, time: 40 min, stays: 1 h, gives: bound}
  - {do: mix, id: both, work_on: [ground, bound], add: seasoning}
  - {do: bake, with: range-oven, target: core 72 °C}
  - {do: serve}
"""


@pytest.mark.parametrize(
    ("left", "effects", "cold"),
    [
        ("time: 5 min", {"waits"}, False),
        ("in: cold-room", {"waits"}, True),
        ("does: stores", {"stores"}, False),
    ],
)
def test_a_wait_is_where_its_last_step_left_it(
    left: str, effects: set[str], cold: bool, kitchen: Path
) -> None:
    """20 + 40 + 60 minutes, and no work that isn't timed."""
    edit(kitchen, "formulas/pork-bake.yaml", "process: baked\n", OWN.replace("LEFT", left))
    edit(kitchen, "formulas/pork-bake.yaml", "targets: {bake: core 72 °C}\n", "")
    edit(kitchen, "formulas/pork-bake.yaml", "keeps: {cold: 5 days}\n", "")
    formula = compute(kitchen).walks["pork-bake"].formula
    steps = {s.number: s for s in formula.steps}
    (wait,) = waits(steps, steps[4].comes[0], steps[4])
    assert wait.step.time is not None and wait.step.time.longest == 120 * 60
    assert (set(wait.effects), wait.cold is not None) == (effects, cold)
    assert waits(steps, steps[4].comes[1], steps[4]) == ()
    ways = with_ways(replace(formula, ways=None)).ways
    assert ways is not None
    assert [s.id for s in ways[1].after] == ["grind-waits", "both", "bake", "serve"]
    assert [s.number for s in ways[4].before] == [1, 1, 2, 3]
    assert [s.id for s in ways[3].before] == ["mix"], "what waits isn't on its way"


def test_one_stream_with_names_is_the_same_as_without(demo: Manual) -> None:
    """Every formula of the demo, each step taking what the one before gave by its name: the ways of
    one stream are the steps before and behind, and the rules say the same."""
    compared = 0
    for ident, sheet in demo.sheets.items():
        formula = sheet.walk.formula
        if formula.ways is not None:
            continue
        steps = tuple(
            replace(step, comes=tuple(replace(c, name=f"of-{c.number}") for c in step.comes))
            for step in formula.steps
        )
        named = walk(demo.house, replace(formula, steps=steps), demo.walks)
        assert isinstance(named, Walk) and named.formula.ways is not None
        assert named.findings == sheet.walk.findings, ident
        own = [one for one in sheet.walk.limits if one.hazard != "composition"]  # of its standard
        assert list(named.limits) == own, ident
        assert (named.end, named.course, named.dates) == (
            sheet.walk.end,
            sheet.walk.course,
            sheet.walk.dates,
        ), ident
        compared += 1
    assert compared >= 27


def test_food_gets_older_while_it_waits(kitchen: Path) -> None:
    """Boiled cream, chilled, waits eight days in the chiller while salt lies elsewhere: 7 days are
    what the code allows."""
    (kitchen / "standards/formulas/old.yaml").write_text(
        "name: Old\nrevision: 1\neffective: 2026-06-01\napproved: R. Osei\nstation: pass\n"
        "base: stock\nparts:\n  stock: {cream: 2 kg}\n  other: {salt: 20 g}\nsteps:\n"
        "  - {do: boil, work_on: stock, target: core 76 °C}\n"
        "  - {do: chill, in: blast, target: to 4 °C, time: 60 min, gives: cold-stock}\n"
        "  - {do: rest, work_on: other, in: cold-room, time: 8 days}\n"
        "  - {do: mix, add: cold-stock}\n  - {do: store, in: cold-room}\n"
        "keeps: {cold: 2 days}\nbatches: [2 kg base]\n",
        encoding="utf-8",
    )
    assert "kept-too-long" in {f.code for f in compute(kitchen).findings}
    edit(kitchen, "formulas/old.yaml", "8 days", "5 days")
    assert "kept-too-long" not in {f.code for f in compute(kitchen).findings}

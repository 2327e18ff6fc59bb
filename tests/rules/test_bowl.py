"""A load has to fit in the bowl: volumes worked by hand from measures named beside each check."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from conftest import compute, edit
from hypothesis import given
from hypothesis import strategies as st

from generator.answers.batch import batch_text
from generator.rules.basics.product import Component, Product
from generator.sheet.manual import Manual
from generator.sheet.step_loads import StepLoads
from generator.sheet.volumes import CLOSE, LOOSE, PIECES, bulk_of

HOUSE = "equipment/house.yaml"
SALAD = "formulas/rice-salad.yaml"
RICE = "ingredients/all.yaml"
CUP = Fraction("236.5882365")  # US cup in ml: NIST Handbook 44, appendix C


def salad_in_a_bowl(kitchen: Path, mixer: str) -> Manual:
    """The rice salad tossed in a mixer; cooked rice is 158 g a cup, USDA SR28 20045."""
    edit(
        kitchen,
        HOUSE,
        "bowl-mixer: {",
        f"tosser: {{kind: mixer, name: Tosser, {mixer}}}\nbowl-mixer: {{",
    )
    edit(
        kitchen,
        "processes/toss.yaml",
        "add: [rice, dressing]",
        "add: [rice, dressing]\n    with: tosser",
    )
    edit(
        kitchen,
        RICE,
        "name: Cooked rice\n",
        "name: Cooked rice\n  foodstuff: rice-long-grain-cooked\n",
    )
    return compute(kitchen)


def toss(manual: Manual, size: int = 0) -> StepLoads:
    batch = manual.sheets["rice-salad"].batches[size]
    return next(one for one in batch.step_loads if one.equipment == "tosser")


def part(name: str, grams: int, form: str | None, room: Fraction | None) -> Component:
    return Component(name, name, Fraction(grams), "none", None, form, False, (), room=room)


def product(*parts: Component) -> Product:
    return Product().take(parts)


def test_a_measured_food_takes_up_its_measure() -> None:
    rice = part("rice", 1580, None, CUP / 158)
    assert bulk_of(product(rice)).ml == 10 * CUP


def test_liquid_fills_the_gaps_between_pieces() -> None:
    """1 kg of pieces lies in 2 l, 0.9 l of it air: so much stock goes in between, more on top."""
    bones = part("bones", 1000, "intact", None)

    def water(grams: int) -> Component:
        return part("water", grams, "liquid", Fraction(1))

    assert bulk_of(product(bones)).ml == 2000
    assert bulk_of(product(bones, water(900))).ml == 2000
    assert bulk_of(product(bones, water(2000))).ml == 3100


def test_what_is_assumed_is_named() -> None:
    mince = part("mince", 1000, "comminuted", None)
    dice = part("dice", 1000, "intact", None)
    found = bulk_of(product(mince, dice, part("salt", 10, "dry", CUP / 292)))
    assert found.assumed == (("mince", CLOSE), ("dice", PIECES))
    assert found.share == Fraction(2000, 2010)
    assert found.ml == 1000 * CLOSE + 1000 * PIECES + 10 * CUP / 292
    assert bulk_of(product(part("oats", 100, "dry", None))).ml == 100 * LOOSE


def test_losses_take_off_volume() -> None:
    rice = product(part("rice", 1000, None, Fraction(2))).weighing(Fraction(3, 4))
    assert bulk_of(rice).ml == 1500


@given(
    st.lists(
        st.tuples(
            st.integers(1, 9999),
            st.sampled_from(["liquid", "comminuted", "dry", None]),
            st.sampled_from([None, Fraction(1), Fraction(3, 2), Fraction(4)]),
        ),
        min_size=1,
        max_size=6,
    )
)
def test_volume_is_never_below_the_food_itself(
    parts: list[tuple[int, str | None, Fraction | None]],
) -> None:
    """Property: more food never takes up less room, and none less than as dense as water."""
    made = [part(str(i), *p) for i, p in enumerate(parts)]
    whole = bulk_of(product(*made)).ml
    assert whole >= sum(c.grams for c in made)
    assert whole >= bulk_of(product(*made[1:])).ml


def test_the_bowl_caps_a_load(kitchen: Path) -> None:
    """20 portions of 180 g: 3.6 kg of salad, of which rice is 2 kg in 2.258 kg (200 ml of cream at
    238 g a cup is 201.2 g; salt 20 g): 3.24 kg of rice, 158 g a cup, alone are 4.85 l. Half of an
    8 l bowl takes 4 l."""
    manual = salad_in_a_bowl(kitchen, "bowl: 8 l, fill_level: 50 %")
    assert "volume-assumed" not in {f.code for f in manual.findings}, "a pinch of salt is no matter"
    one = toss(manual)
    assert (one.loads.count, one.bound_by) == (2, "bowl")
    assert one.volume_ml is not None and 2000 < one.volume_ml <= 4000
    assert ("Bowl", "8\u00a0l, worked to 50\u00a0%: 4\u00a0l") in one.basis.inputs
    assert one.basis.rule.endswith("the bowl sets how much goes in")
    batch = manual.sheets["rice-salad"].batches[0]
    assert batch.loads.count == 2, "the weigh list follows the bowl"
    assert "as much as its bowl has room for" in batch_text(manual.sheets["rice-salad"], batch)


def test_the_least_of_weight_and_room_binds(kitchen: Path) -> None:
    manual = salad_in_a_bowl(kitchen, "bowl: 8 l, capacity: 1 kg")
    one = toss(manual)
    assert (one.loads.count, one.bound_by) == (4, "most")
    assert one.basis.rule.endswith("the machine's most sets how much goes in")


def test_a_bowl_large_enough_changes_nothing(kitchen: Path) -> None:
    assert toss(salad_in_a_bowl(kitchen, "bowl: 40 l")).loads.count == 1


def test_a_bowl_too_small_for_the_least_load(kitchen: Path) -> None:
    manual = salad_in_a_bowl(kitchen, "bowl: 1 l, minimum: 2 kg")
    assert {f.code for f in manual.errors} == {"bowl-too-small"}
    assert "rice-salad" in manual.stopped


@pytest.mark.parametrize("fill", ["100 %", "0.6", "-5 %"])
def test_fill_is_a_share(kitchen: Path, fill: str) -> None:
    manual = salad_in_a_bowl(kitchen, f"bowl: 8 l, fill_level: {fill}")
    assert [f.place.file for f in manual.errors] == ["standards/equipment/house.yaml"]


def test_a_load_the_bowl_does_not_bound_says_nothing_of_it(kitchen: Path) -> None:
    """In 40 l there is room for all of it: one load, which fills no bowl."""
    manual = salad_in_a_bowl(kitchen, "bowl: 40 l, fill_level: 50 %")
    assert toss(manual).loads.count == 1
    sheet = manual.sheets["rice-salad"]
    assert "its bowl has room for" not in batch_text(sheet, sheet.batches[0])

"""Meat and fish rolled or folded round something: stuffed, unless the formula says that it is
seasoning."""

from __future__ import annotations

from pathlib import Path

import pytest
from conftest import compute, edit

from generator.sheet.manual import Manual

BAKED, BAKE = "processes/baked.yaml", "formulas/pork-bake.yaml"
FIRST = (
    "  - do: grind\n    add: [meat]\n  - do: mix\n    add: [bind, seasoning]\n"
    "    with: bowl-mixer\n"
)
BIND = "    whole-egg: 6 each\n    cream: 1 cup\n"
SEASONING = "    salt: 1 %\n"
RICE = "    cooked-rice: 400 g\n"
AT_ONCE = "  - do: roll\n    time: 10 min\n    add: [meat, bind, seasoning]\n"
LAYERS = (
    "  - do: season\n    add: [meat]\n  - do: season\n    id: lay\n"
    "    add: [bind, seasoning]\n  - do: roll\n    time: 10 min\n"
)


def rolled(
    kitchen: Path,
    *,
    steps: str = AT_ONCE,
    bind: str = RICE,
    says: str = "",
    species: str = "pork",
    target: str = "core 76 °C for 1 min",
) -> Manual:
    """The clean kitchen's bake, its meat rolled round what is in ``bind``, with salt and pepper."""
    edit(kitchen, "ingredients/all.yaml", "species: pork", f"species: {species}")
    edit(kitchen, "ingredients/all.yaml", "name: Pork shoulder", "name: Thick piece")
    if species == "fish":
        edit(
            kitchen,
            "ingredients/all.yaml",
            "form: intact\n  allergens: none",
            "form: intact\n  arrives: cold\n  allergens: [fish (cod)]",
        )
    edit(kitchen, BAKED, FIRST, steps)
    edit(kitchen, BAKE, BIND, bind)
    edit(kitchen, BAKE, "bake: core 72 °C", f"bake: {target}")
    if says:
        edit(kitchen, BAKE, "process: baked\n", f"process: baked\nfilling: {says}\n")
    return compute(kitchen)


def group(manual: Manual) -> str:
    (limit,) = [lm for lm in manual.walks["pork-bake"].limits if lm.hazard == "cook"]
    return limit.source.clause


def codes(manual: Manual) -> list[str]:
    return [f.code for f in manual.findings if f.code != "not-used"]


@pytest.mark.parametrize(
    "steps", [AT_ONCE, LAYERS, AT_ONCE.replace("roll\n", "fold\n    does: encloses\n")]
)
@pytest.mark.parametrize("species", ["pork", "beef", "fish", "ostrich"])
@pytest.mark.parametrize("bind", [RICE, SEASONING])
def test_unsaid_it_is_stuffed_and_asked_about(
    kitchen: Path, steps: str, species: str, bind: str
) -> None:
    """3-401.11(A)(3), whatever is inside and whatever the verb: 165 °F."""
    manual = rolled(kitchen, steps=steps, species=species, bind=bind)
    assert group(manual) == "3-401.11(A)(3)"
    assert codes(manual) == ["filling-not-stated"]


@pytest.mark.parametrize("steps", [AT_ONCE, LAYERS])
def test_said_to_be_food_it_is_stuffed_and_clean(kitchen: Path, steps: str) -> None:
    manual = rolled(kitchen, steps=steps, says="food")
    assert (group(manual), codes(manual)) == ("3-401.11(A)(3)", [])
    edit(kitchen, BAKE, "core 76 °C for 1 min", "core 72 °C for 1 min")
    assert codes(compute(kitchen)) == ["target-below-limit"]


@pytest.mark.parametrize("steps", [AT_ONCE, LAYERS])
def test_seasoning_alone_stuffs_nothing(kitchen: Path, steps: str) -> None:
    """Intact pork: 145 °F for 15 s. Salt, pepper and dry spice."""
    manual = rolled(
        kitchen, steps=steps, bind=SEASONING, says="seasoning", target="core 64 °C for 15 s"
    )
    assert (group(manual), codes(manual)) == ("3-401.11(A)(1)(b)", [])


@pytest.mark.parametrize("bind", [RICE, BIND, "    cream: 1 cup\n", "    whole-egg: 1 each\n"])
def test_food_called_seasoning_is_stuffed_and_refused(kitchen: Path, bind: str) -> None:
    manual = rolled(kitchen, bind=bind, says="seasoning")
    assert codes(manual) == ["filling-contradicted"]
    assert group(manual) == "3-401.11(A)(3)"
    (found,) = manual.errors
    edit(kitchen, BAKE, "filling: seasoning", found.write[0])
    assert codes(compute(kitchen)) == []


GROUND = (
    "  - do: grind\n    add: [meat]\n  - do: mix\n    add: [bind, seasoning]\n"
    "    with: bowl-mixer\n  - do: roll\n    time: 10 min\n"
)


def test_one_ground_mixture_is_shaped_where_the_formula_says_so(kitchen: Path) -> None:
    """A farce rolled to a log has nothing inside; unsaid it may be layers, and counts as
    stuffed."""
    manual = rolled(kitchen, steps=GROUND, bind=BIND, says="nothing", target="core 72 °C")
    assert (group(manual), codes(manual)) == ("3-401.11(A)(2) chart", [])
    edit(kitchen, BAKE, "filling: nothing\n", "")
    again = compute(kitchen)
    assert sorted(codes(again)) == ["filling-not-stated", "target-below-limit"]


@pytest.mark.parametrize(
    "steps",
    [
        AT_ONCE,
        LAYERS,
        "  - do: grind\n    add: [meat]\n  - do: roll\n    time: 10 min\n    add: [bind, seasoning]\n",
    ],
)
def test_nothing_inside_is_no_word_for_whole_meat_or_parts_that_come_together(
    kitchen: Path, steps: str
) -> None:
    manual = rolled(kitchen, steps=steps, says="nothing")
    assert (group(manual), codes(manual)) == ("3-401.11(A)(3)", ["filling-contradicted"])


def test_dough_with_egg_in_it_is_no_meat(kitchen: Path) -> None:
    """The paragraph is of meat, poultry, fish, ratites and stuffed pasta."""
    manual = rolled(kitchen, species="none", bind=BIND)
    assert codes(manual) == []


def test_salt_alone_is_nothing_to_ask_about(kitchen: Path) -> None:
    edit(kitchen, BAKE, "    house-spice: 1 %\n", "")
    manual = rolled(kitchen, bind=SEASONING, target="core 64 °C for 15 s")
    assert "filling-not-stated" not in codes(manual)
    assert group(manual) == "3-401.11(A)(1)(b)"

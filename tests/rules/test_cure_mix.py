"""A cure mix or a brine of the house's own, followed into the formula that uses it."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from conftest import compute, edit
from test_curing import VARIANCE

from generator.rules.basics.limit import Limit
from generator.sheet.manual import Manual

HEAD = "revision: 1\neffective: 2026-01-01\napproved: R. Osei\nstation: range\n"
ITEMS = (
    "loin: {name: Loin, species: pork, state: raw, form: intact, allergens: none}\n"
    "cod: {name: Cod, species: fish, state: raw, form: intact, allergens: [fish (cod)]}\n"
    "water: {name: Water, species: none, state: ready-to-eat, form: liquid, allergens: none, "
    "tcs: no}\n"
    "cure: {name: Cure, species: none, state: ready-to-eat, allergens: none, tcs: no, "
    "function: cure, nitrite: 6.25 %}\n"
)
# 1 part of a 6.25 % cure in 5 is 1.25 % nitrite; 160 g of it in 10 kg of brine is 0.1 %.
MIX = "    cure: 1 kg\n    salt: 4 kg\n"
RUB = "  - do: rub\n    does: handles\n    add: [meat, rub]\n"
BRINE = "    water: 9.84 kg\n    cure: 160 g\n"


def house(
    kitchen: Path,
    *,
    mix: str = MIX,
    says: str = "cured_as: premix\n",
    use: str = "cure-mix: 1 %",
    way: str = "cured_as: dry",
    steps: str = "",
    base: str = "40 kg",
    sizes: str = "[40 kg base]",
    variance: str = VARIANCE,
) -> Manual:
    """The clean kitchen with pork cured by a mix made ahead."""
    standards = kitchen / "standards"
    with (standards / "kitchen.yaml").open("a") as file:
        file.write(variance)
    with (standards / "equipment/house.yaml").open("a") as file:
        file.write(
            "jewel-scale: {kind: scale, name: Jewel scale, division: 0.01 g, accuracy: 0.01 g, "
            "capacity: 500 g}\n"
        )
    (standards / "ingredients/curing.yaml").write_text(ITEMS)
    (standards / "processes/mixing.yaml").write_text(
        "name: Mixing\nsteps:\n  - do: mix\n    add: [mix]\n"
    )
    (standards / "processes/curing.yaml").write_text(f"name: Curing\nsteps:\n{steps or RUB}")
    (standards / "formulas/cure-mix.yaml").write_text(
        f"name: Cure mix\n{HEAD}base: mix\nparts:\n  mix:\n{mix}process: mixing\n"
        f"{says}batches: [5 kg total]\n"
    )
    (standards / "formulas/cured-loin.yaml").write_text(
        f"name: Cured loin\n{HEAD}base: meat\nparts:\n  meat:\n    loin: {base}\n  rub:\n"
        f"    {use}\n"
        f"process: curing\n{way}\ncooked_later: Sold raw; the label says cook it through.\n"
        f"batches: {sizes}\n"
    )
    return compute(kitchen)


def dose(manual: Manual, formula: str = "cured-loin") -> Limit:
    (found,) = [lm for lm in manual.walks[formula].limits if lm.hazard == "additive"]
    return found


def codes(manual: Manual) -> list[str]:
    return [f.code for f in manual.errors]


def test_a_mix_is_followed_into_the_meat(kitchen: Path) -> None:
    """By hand: 1 % of a mix that is 1.25 % nitrite is 125 ppm on the meat block."""
    manual = house(kitchen)
    assert manual.errors == ()
    found = dose(manual)
    assert (found.ppm, found.most_ppm) == (125, 625)
    assert dict(found.basis.inputs)["Cure mix"].startswith("1.25")
    assert not [lm for lm in manual.walks["cure-mix"].limits if lm.hazard == "additive"]


def test_a_brine_is_followed_into_the_meat(kitchen: Path) -> None:
    """10 g of nitrite on 40 kg of meat and 10 kg of brine are 200 ppm, as if it were mixed here."""
    steps = "  - do: brine\n    add: [meat, rub]\n    in: cold-room\n    time: 5 days\n"
    manual = house(
        kitchen, mix=BRINE, use="cure-mix: 10 kg", way="cured_as: immersion", steps=steps
    )
    assert manual.errors == () and dose(manual).ppm == 200
    pumped = "  - do: inject\n    add: [meat, rub]\n    pump: 10 % of green weight\n"
    (kitchen / "standards/processes/curing.yaml").write_text(f"name: Curing\nsteps:\n{pumped}")
    edit(kitchen, "formulas/cured-loin.yaml", "cured_as: immersion", "cured_as: pumped")
    assert dose(compute(kitchen)).ppm == 100


def test_too_much_of_a_mix_is_refused_and_the_most_of_it_is_reported(kitchen: Path) -> None:
    """625 ppm of a mix with 1.25 % nitrite is 5 % of the meat; pasted in, it is clean."""
    manual = house(kitchen, use="cure-mix: 6 %")
    (found,) = manual.errors
    assert (
        found.code == "dose-above-maximum"
        and "At its strength, 5 % of the meat is the most" in found.help
    )
    edit(kitchen, "formulas/cured-loin.yaml", "cure-mix: 6 %", "cure-mix: 5 %")
    again = compute(kitchen)
    assert again.errors == () and dose(again).ppm == 625


@pytest.mark.parametrize("size", ["[40 kg base]", "[3 kg base]", "[700 g base]"])
def test_a_mix_is_weighed_down_like_a_cure(kitchen: Path, size: str) -> None:
    """At the maximum itself what the scale shows and all it can be off stay within it."""
    manual = house(kitchen, use="cure-mix: 5 %", sizes=size)
    (batch,) = manual.sheets["cured-loin"].batches
    (line,) = [ln for ln in batch.lines if ln.name == "Cure mix"]
    meat = next(ln for ln in batch.lines if ln.name == "Loin")
    scale, most = line.weighing.scale, meat.exact_g / line.loads * Fraction(5, 100)
    assert scale is not None and line.capped and line.weighing.permitted == Fraction(1, 200)
    assert line.weighing.grams + scale.uncertainty(line.weighing.count) <= most


@pytest.mark.parametrize("says", ["", "cured_as: dry\n"])
def test_unsaid_a_cure_without_meat_is_refused_with_the_word_to_write(
    kitchen: Path, says: str
) -> None:
    """It may be eaten as it is. The fix that is reported makes it clean."""
    manual = house(kitchen, says=says)
    (found,) = manual.errors
    assert found.code == "cure-not-covered" and "no meat for it to cure" in found.message
    assert "`cured_as: premix`" in found.help
    assert "cured-loin" in manual.stopped, "what is made of it has no sheet either"
    path = kitchen / "standards/formulas/cure-mix.yaml"
    text = path.read_text().replace(says, "") if says else path.read_text()
    path.write_text(text + "cured_as: premix\n")
    assert compute(kitchen).errors == ()


@pytest.mark.parametrize("flesh", ["loin", "cod"])
def test_no_meat_hides_in_a_mix(kitchen: Path, flesh: str) -> None:
    assert "premix-with-meat" in codes(house(kitchen, mix=f"{MIX}    {flesh}: 1 kg\n"))


def test_a_mix_put_to_food_without_meat_is_refused(kitchen: Path) -> None:
    manual = house(kitchen)
    edit(kitchen, "formulas/cured-loin.yaml", "    loin: 40 kg\n", "    cooked-rice: 40 kg\n")
    found = compute(kitchen).errors
    assert manual.errors == () and [f.code for f in found] == ["cure-not-covered"]


def test_it_is_weighed_in_grams(kitchen: Path) -> None:
    """A cure is never measured, nor what holds one."""
    manual = house(kitchen)
    edit(
        kitchen,
        "formulas/cure-mix.yaml",
        "base: mix\n",
        "makes: {fill_weight: 100 g, unit: bag, units: bags}\nbase: mix\n",
    )
    edit(kitchen, "processes/mixing.yaml", "add: [mix]\n", "add: [mix]\n  - do: portion\n")
    edit(kitchen, "formulas/cured-loin.yaml", "cure-mix: 1 %", "cure-mix: 4 bags")
    assert manual.errors == () and codes(compute(kitchen)) == ["grams-only"]


def test_mixes_and_cures_are_summed(kitchen: Path) -> None:
    manual = house(kitchen, use="cure-mix: 1 %\n    cure: 0.2 %")
    assert dose(manual).ppm == 250, "125 and 0.2 % × 6.25 % = 125"


def test_a_mix_needs_the_variance_itself(kitchen: Path) -> None:
    assert "cure-without-variance" in codes(house(kitchen, variance=""))


def test_meat_cured_in_a_formula_of_its_own_is_not_dosed_again(kitchen: Path) -> None:
    """Its cure has done its work there; a stew with it in has no dose to hold."""
    house(kitchen)
    edit(
        kitchen,
        "formulas/pork-bake.yaml",
        "    cream: 1 cup\n",
        "    cream: 1 cup\n    cured-loin: 500 g\n",
    )
    manual = compute(kitchen)
    assert "additive" not in {lm.hazard for lm in manual.walks["pork-bake"].limits}
    assert "cure-not-covered" not in codes(manual)

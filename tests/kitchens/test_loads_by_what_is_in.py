"""A machine's loads by all that lies in it: pieces of other lines beside those that are counted, and
what the food gains there. Worked by hand from the poached legs, 24 of 280 g with 1.6 % of salt."""

from __future__ import annotations

import math
import random
from fractions import Fraction
from pathlib import Path

import pytest
from broken_kitchens import BASES
from conftest import compute, edit

from generator.answers.batch import batch_text
from generator.records.formula import Size
from generator.scaling.loads import Loads
from generator.sheet.manual import Manual
from generator.sheet.sheet import Batch, make_batch

LEGS, PROCESS = "formulas/duck-legs.yaml", "processes/poached-legs.yaml"
BREAST = """\
duck-breast:
  name: Duck breast
  species: duck
  state: raw
  form: intact
  allergens: none
  weighs: {breast: {mean: 340 g, from: 300 g, to: 380 g}, clove: {mean: 20 g}}
  source: weighed here 2026-10-05
"""


@pytest.fixture
def legs(kitchen: Path) -> Path:
    BASES["duck-legs"].lay_over(kitchen)
    edit(kitchen, "equipment/bath.yaml", ", places: 12, minimum: 1.5 kg", "")
    edit(kitchen, PROCESS, "time: 1 h 30 min", "time: 1 min")
    return kitchen


def beside(legs: Path, count: str, places: str = "{each: 12}") -> None:
    """Another line of pieces beside the legs, and a bath with places."""
    file = legs / "standards/ingredients/duck.yaml"
    file.write_text(file.read_text(encoding="utf-8") + BREAST, encoding="utf-8")
    edit(legs, LEGS, "duck-leg: 24 legs", f"duck-leg: 24 legs\n    duck-breast: {count}")
    edit(legs, "equipment/bath.yaml", "name: Duck bath", f"name: Duck bath, places: {places}")


def batch(legs: Path, kind: str = "portions", value: Fraction = Fraction(24)) -> Batch:
    manual = compute(legs)
    assert isinstance(manual, Manual)
    assert not manual.errors, manual.errors[0].message
    size = Size(kind, value)  # type: ignore[arg-type]
    return make_batch(manual.house, manual.walks["duck-legs"], size)


def poached(found: Batch) -> Loads:
    return next(one.loads for one in found.step_loads if one.step == "poach")


def test_48_pieces_are_four_loads_in_12_places(legs: Path) -> None:
    beside(legs, "24 breasts")
    loads = poached(batch(legs))
    assert loads.pieces == (6, 6, 6, 6)
    assert loads.called == ("leg with breasts", "legs with breasts")


def test_a_clove_lies_between(legs: Path) -> None:
    beside(legs, "24 cloves")
    assert poached(batch(legs)).pieces == (12, 12)


def test_what_is_cut_is_no_piece(legs: Path) -> None:
    beside(legs, "24 breasts")
    edit(
        legs,
        PROCESS,
        "steps:\n",
        "steps:\n  - {do: slice, work_on: other, time: 15 min}\n",
    )
    edit(legs, LEGS, "    duck-breast: 24 breasts\n", "")
    edit(legs, LEGS, "  cure:", "  other: {duck-breast: 24 breasts}\n  cure:")
    assert poached(batch(legs)).pieces == (12, 12)


def test_portions_vary_with_both(legs: Path) -> None:
    """Of a leg of 250 g to 320 g and a breast of 300 g to 380 g, of the whole's 1.016 × 0.8."""
    beside(legs, "24 breasts")
    yields = batch(legs).yields
    assert yields.portion_g is not None and yields.portion_from_g is not None
    assert yields.portion_to_g is not None
    share = yields.portion_g / Fraction(1016, 1000) / (280 + 340)
    salted = yields.finished_g / 24 / (Fraction(1016, 1000) * (280 + 340))
    assert share == salted
    assert yields.portion_g - yields.portion_from_g == (30 + 40) * salted
    assert yields.portion_to_g - yields.portion_g == (40 + 40) * salted


def test_random_places_are_never_over_full(legs: Path) -> None:
    """What lies in a load, counted here: its legs, and its share of the breasts, rounded up."""
    dice = random.Random(20261130)
    beside(legs, "24 breasts")
    for _ in range(5):
        breasts, places = dice.randint(1, 70), dice.randint(1, 40)
        edit_line(legs, LEGS, "duck-breast:", f"    duck-breast: {breasts} breasts")
        bath = f"duck-bath: {{kind: bath, name: Duck bath, places: {{each: {places}}}}}"
        edit_line(legs, "equipment/bath.yaml", "duck-bath:", bath)
        if places < 1 + Fraction(breasts, 24):
            with pytest.raises(AssertionError, match="it has no place"):
                batch(legs)
            continue
        found = poached(batch(legs, value=Fraction(dice.randint(1, 90))))
        for whole in found.pieces:
            assert whole + math.ceil(whole * Fraction(breasts, 24)) <= places


def edit_line(project: Path, file: str, start: str, new: str) -> None:
    """Write another line in place of the one that has ``start`` in it."""
    path = project / "standards" / file
    lines = path.read_text(encoding="utf-8").split("\n")
    path.write_text("\n".join(new if start in line else line for line in lines), encoding="utf-8")


def test_a_machine_takes_what_comes_out_of_it(legs: Path) -> None:
    """24 × 280 × 1.016 = 6827.52 g gain 140 to 160 %: at most 17.75 kg, 2 loads in 9 kg."""
    edit(legs, PROCESS, "loses: 20 %", "gains: 140 to 160 %")
    edit(legs, "equipment/bath.yaml", "name: Duck bath", "name: Duck bath, capacity: 9 kg")
    assert poached(batch(legs)).pieces == (12, 12)
    edit(legs, "equipment/bath.yaml", "capacity: 9 kg", "capacity: 8.8 kg")
    assert poached(batch(legs)).pieces == (8, 8, 8)


def test_random_gains_are_never_over_the_capacity(legs: Path) -> None:
    dice = random.Random(1130)
    for _ in range(5):
        gain, capacity = dice.randint(1, 300), dice.randint(2, 30)
        edit_line(legs, PROCESS, "loses:" if _ == 0 else "gains:", f"    gains: {gain} %")
        bath = f"duck-bath: {{kind: bath, name: Duck bath, capacity: {capacity} kg}}"
        edit_line(legs, "equipment/bath.yaml", "duck-bath:", bath)
        found = poached(batch(legs))
        out = found.grams * (1 + Fraction(gain, 100))
        assert out <= capacity * 1000
        leg = Fraction(280) * Fraction(1016, 1000) * (1 + Fraction(gain, 100))
        room = math.floor(capacity * 1000 / leg)
        assert found.count == math.ceil(Fraction(24, room)), "and no more loads than it takes"


def test_a_vessel_takes_what_comes_out_of_it(legs: Path) -> None:
    """Six legs of 280 × 1.016 g gain 150 % in their tub: 4267 g at the least there, in 4 l; without
    what they gain 1707 g go in."""
    (legs / "standards/equipment/tubs.yaml").write_text(
        "tub: {kind: vessel, name: Tub, shape: box, capacity: 4 kg, "
        "inside: {length: 250 mm, width: 160 mm, depth: 200 mm}}\n",
        encoding="utf-8",
    )
    edit(legs, LEGS, "{piece: duck-leg}", "{piece: duck-leg, pieces: 6, vessel: tub, unit: tub}")
    edit(legs, LEGS, "batches: [24 legs, 12 legs]", "batches: [4 tubs]")
    edit(legs, PROCESS, "  - do: poach", "  - do: fill\n  - do: poach")
    edit(legs, PROCESS, "loses: 20 %", "gains: 130 %")
    batch(legs)
    edit(legs, PROCESS, "gains: 130 %", "gains: 150 %")
    with pytest.raises(AssertionError, match=r"6 pieces to a fill weigh 4\.27"):
        batch(legs)


SOAKED = """\
name: Bean milk
revision: 1
effective: 2026-05-04
approved: R. Osei
station: range
base: beans
parts:
  beans: {beans: 5 kg}
  water: {water: 35 kg}
steps:
  - {do: soak, add: beans, in: cold-room, time: 12 h, gains: 120 %}
  - {do: puree, add: water, with: grinder}
  - {do: boil, target: core 98 °C}
  - {do: serve}
batches: [5 kg base]
"""


def test_soaked_beans_are_weighed_soaked_for_each_load(legs: Path) -> None:
    """5 kg soak to 11 kg; with 35 kg of water 46 kg, in 8 kg six loads: 1.83 kg of beans each. The
    dry beans are weighed once."""
    (legs / "standards/equipment/grinder.yaml").write_text(
        "grinder: {kind: blender, name: Grinder, capacity: 8 kg}\n", encoding="utf-8"
    )
    file = legs / "standards/ingredients/duck.yaml"
    beans = "beans: {name: Soy beans, species: none, state: raw, form: dry, allergens: [soybeans]}"
    water = "water: {name: Water, species: none, state: ready-to-eat, form: liquid, tcs: no, "
    text = file.read_text(encoding="utf-8") + f"{beans}\n{water}allergens: none}}\n"
    file.write_text(text, encoding="utf-8")
    (legs / "standards/formulas/bean-milk.yaml").write_text(SOAKED, encoding="utf-8")
    manual = compute(legs)
    assert isinstance(manual, Manual)
    assert not manual.errors, manual.errors
    (found,) = manual.sheets["bean-milk"].batches
    assert {ln.name: ln.loads for ln in found.lines} == {"Soy beans": 1, "Water": 6}
    grind = next(one for one in found.step_loads if one.step == "puree")
    assert (grind.loads.count, grind.handed_g) == (6, Fraction(11000, 6))
    words = batch_text(manual.sheets["bean-milk"], found)
    assert "6 loads of 7.67 kg, each with 1.83 kg from step 1" in words.replace("\u00a0", " ")


FAT = "fat: {name: Basting liquid, species: none, state: ready-to-eat, form: liquid, allergens: none, tcs: no}\n"


def under_fat(legs: Path, grams: int) -> Batch:
    """The legs with so many grams of fat."""
    file = legs / "standards/ingredients/duck.yaml"
    file.write_text(file.read_text(encoding="utf-8") + FAT, encoding="utf-8")
    edit(legs, LEGS, "salt: 1.6 %", f"salt: 1.6 %\n    fat: {grams} g")
    return batch(legs)


def test_a_leg_is_weighed_without_the_fat_it_lies_under(legs: Path) -> None:
    """280 g of leg with 1.6 % of salt, of which a fifth is lost: 228 g, 203 g to 260 g. Of the 250 g
    of fat to each 200 g are left."""
    found = under_fat(legs, 24 * 250)
    yields = found.yields
    assert yields.portion_g is not None
    assert yields.beside_g == 200
    assert yields.portion_g - yields.beside_g == Fraction(280 * 1016, 1000) * Fraction(8, 10)
    manual = compute(legs)
    assert isinstance(manual, Manual)
    text = batch_text(manual.sheets["duck-legs"], found).replace("\u00a0", " ")
    assert "24 legs of about 228 g, 204 g to 260 g, and 200 g each of what it lies in" in text


def test_a_glaze_clings(legs: Path) -> None:
    assert under_fat(legs, 24 * 20).yields.beside_g == 0


def test_drained_fat_is_not_beside_it(legs: Path) -> None:
    edit(
        legs,
        PROCESS,
        "  - do: chill",
        "  - {do: drain, leaves: {fat: {share: 40 %, then: thrown-away}}}\n  - do: chill",
    )
    assert under_fat(legs, 24 * 250).yields.beside_g == 0


PLATES = """\
name: Legs of the day
revision: 1
effective: 2026-05-04
approved: R. Osei
station: range
makes: {portion: 200 g}
parts: {meat: {duck-legs: 20 tubs}}
steps:
  - {do: reheat, add: meat, with: small-oven, target: core 75 °C, time: 5 min, loses: 3 %}
  - {do: serve}
batches: [127 portions]
"""


@pytest.mark.parametrize("line", ["20 tubs", "27.307 kg"])
def test_closed_tubs_stay_whole(legs: Path, line: str) -> None:
    """Six legs of 227.6 g are 1365 g a tub; 127 portions of 200 g are 25.4 kg, and 3 % more
    26.19 kg: 19.2 tubs, so 20, in 10 kg 7 at a time: 7, 7 and 6. By weight they are equal."""
    (legs / "standards/equipment/tubs.yaml").write_text(
        "tub: {kind: vessel, name: Tub, shape: box, inside: {length: 250 mm, width: 160 mm, "
        "depth: 100 mm}}\nsmall-oven: {kind: oven, name: Small oven, heat: convection, "
        "capacity: 10 kg}\n",
        encoding="utf-8",
    )
    edit(legs, LEGS, "{piece: duck-leg}", "{piece: duck-leg, pieces: 6, vessel: tub, unit: tub}")
    edit(legs, LEGS, "batches: [24 legs, 12 legs]", "batches: [4 tubs]")
    edit(legs, PROCESS, "  - do: chill", "  - do: fill\n  - do: chill")
    plates = PLATES.replace("20 tubs", line)
    (legs / "standards/formulas/plates.yaml").write_text(plates, encoding="utf-8")
    manual = compute(legs)
    assert isinstance(manual, Manual)
    assert not manual.errors, manual.errors
    (found,) = manual.sheets["plates"].batches
    loads = found.step_loads[0].loads
    assert loads.pieces == ((7, 7, 6) if line == "20 tubs" else ())
    assert loads.count == 3
    text = batch_text(manual.sheets["plates"], found, manual.walks).replace("\u00a0", " ")
    assert ("Make ahead Duck legs, poached: 26.19 kg, out of" in text) == (line == "20 tubs")


def stewed(legs: Path, kettle: str, oven: str) -> tuple[Batch, str]:
    """The legs in tubs, poached in loads in the bath and then chilled in loads."""
    edit(legs, "equipment/bath.yaml", "name: Duck bath", f"name: Duck bath, {kettle}")
    edit(legs, "equipment/house.yaml", "name: Blast chiller", f"name: Blast chiller, {oven}")
    found = batch(legs)
    manual = compute(legs)
    assert isinstance(manual, Manual)
    text = batch_text(manual.sheets["duck-legs"], found, manual.walks)
    return found, text.replace("\u00a0", " ")


def test_loads_follow_those_of_the_machine_before(legs: Path) -> None:
    """24 legs in a bath for 8 are 8, 8, 8; a chiller for 12 would take 12 and 12: it takes 8, 8, 8,
    as they come out. One every 30 min, and each is chilled in 20 min: none waits."""
    edit(legs, PROCESS, "time: 1 min", "time: 30 min")
    edit(legs, PROCESS, "    time: 1 h", "    time: 20 min")
    found, text = stewed(legs, "places: {each: 8}", "places: {each: 12}")
    runs = {one.step: one for one in found.step_loads}
    assert runs["poach"].loads.pieces == runs["chill"].loads.pieces == (8, 8, 8)
    assert runs["chill"].longest_wait_s == 0 and not runs["chill"].waits
    assert "Blast chiller (chill): 3 loads of 8 legs, one after another: 1 h in all\n" in text


def test_a_load_waits_for_the_one_before_it(legs: Path) -> None:
    """One every minute, each chilled in 10 min: the third waits until minute 20, from minute 2."""
    edit(legs, PROCESS, "    time: 1 h", "    time: 10 min")
    found, text = stewed(legs, "places: {each: 8}", "places: {each: 12}")
    chill = next(one for one in found.step_loads if one.step == "chill")
    assert chill.longest_wait_s == 18 * 60
    assert "Keep the others hot until their turn: up to 18 min" in text


def test_loads_too_small_for_the_next_machine_are_not_taken_on(legs: Path) -> None:
    """The chiller needs more than one load of the bath: nobody is told to take each load on."""
    edit(legs, PROCESS, "    time: 1 h", "    time: 10 min")
    found, text = stewed(legs, "places: {each: 8}", "places: {each: 12}, minimum: 2.5 kg")
    chill = next(one for one in found.step_loads if one.step == "chill")
    assert chill.loads.pieces == (12, 12)
    assert "Take each on" not in text


def test_one_machine_takes_a_load_through_both_steps(legs: Path) -> None:
    """Three loads, each poached for a minute and then boiled for two in the same bath: the last
    waits for two of them, 6 min."""
    again = "  - {do: boil, with: duck-bath, target: core 90 °C, time: 2 min}\n  - do: chill"
    edit(legs, PROCESS, "  - do: chill", again)
    edit(legs, PROCESS, "  - do: poach", "  - {do: store, id: wait, in: cold-room}\n  - do: poach")
    edit(legs, "equipment/bath.yaml", "name: Duck bath", "name: Duck bath, places: {each: 8}")
    found = batch(legs)
    runs = {one.step: one for one in found.step_loads}
    poach, boil = runs["poach"], runs["boil"]
    assert (poach.loads.pieces, boil.loads.pieces) == ((8, 8, 8), (8, 8, 8))
    manual = compute(legs)
    assert isinstance(manual, Manual)
    text = batch_text(manual.sheets["duck-legs"], found, manual.walks).replace("\u00a0", " ")
    assert poach.by_load and poach.longest_wait_s == 6 * 60
    assert "3 loads, load by load: poach, boil" in text


def test_loads_are_not_taken_on_where_one_would_wait_for_too_long(legs: Path) -> None:
    """One every minute, each chilled in 55 min: the third of three would wait until minute 110,
    from minute 2, 1 h 48 min; a fourth load until 165, from 3, which is over two hours."""
    edit(legs, PROCESS, "    time: 1 h", "    time: 55 min")
    found, _ = stewed(legs, "places: {each: 8}", "places: {each: 12}")
    chill = next(one for one in found.step_loads if one.step == "chill")
    assert (chill.loads.pieces, chill.longest_wait_s) == ((8, 8, 8), 108 * 60)
    edit(legs, "equipment/bath.yaml", "places: {each: 8}", "places: {each: 6}")
    found = batch(legs)
    poach, chill = (one for one in found.step_loads if one.step in ("poach", "chill"))
    assert poach.loads.pieces == (6, 6, 6, 6) and not poach.heats
    assert (chill.loads.pieces, chill.longest_wait_s) == ((12, 12), 55 * 60)

"""Fills by volume against published worked examples, and vessels' volumes worked by hand.

Overrun: H. D. Goff, University of Guelph, Dairy Science and Technology, "Overrun calculations",
"Figuring package overrun by weight, no particulates" and "Figuring target package weights"
(uoguelph.ca/foodscience/book-page, read 2026-11-29).
"""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from conftest import compute, edit

from generator.resolve.vessels import volume_ml
from generator.sheet.manual import Manual
from generator.sheet.size_words import run_words

SALAD = "formulas/rice-salad.yaml"


def made(kitchen: Path, makes: str) -> Manual:
    """The rice salad, filled as ``makes`` says, a batch of 10 kg in all."""
    edit(kitchen, SALAD, "makes: {portion: 180 g}", f"makes: {{{makes}}}")
    edit(kitchen, SALAD, "batches: [20 portions, 40 portions]", "batches: [10 kg total]")
    edit(kitchen, "processes/toss.yaml", "  - do: chill", "  - do: fill\n  - do: chill")
    manual = compute(kitchen)
    assert isinstance(manual, Manual)
    return manual


@pytest.mark.parametrize(
    ("volume", "litre", "overrun", "grams", "off"),
    [
        # 1 L of ice cream weighs 560 g, 1 L of mix 1090 g: (1090 − 560) / 560 = 94.6 %
        ("1 l", "1090 g", "94.6 %", "560", "0.2"),
        # at 100 % overrun 1100 g/L / (100/100 + 1) = 550 g/L
        ("1 l", "1100 g", "100 %", "550", "0"),
        # a cup of 100 mL holds 110 g of mix: 104.76 g at 5 % overrun, 100 g at 10 %
        ("100 ml", "1100 g", "5 %", "104.76", "0.01"),
        ("100 ml", "1100 g", "10 %", "100", "0"),
        # 1 litre of mix becomes 1.5 litres: a litre of it holds two thirds of the mix
        ("1.5 l", "1090 g", "50 %", "1090", "0"),
    ],
)
def test_overrun_as_published(
    kitchen: Path, volume: str, litre: str, overrun: str, grams: str, off: str
) -> None:
    manual = made(kitchen, f"fill_volume: {volume}, litre: {litre}, overrun: {overrun}")
    fill = manual.walks["rice-salad"].figures.fill
    assert fill is not None and abs(fill - Fraction(grams)) <= Fraction(off)


def test_a_portion_by_volume_is_one_of_the_fill(kitchen: Path) -> None:
    """1 l at 778.57 g (1090 g / 1.4): 10 kg fill 12 tubs, and 657 g over. Portions of 60 ml are
    46.714 g: 214 of them."""
    manual = made(kitchen, "fill_volume: 1 l, litre: 1090 g, overrun: 40 %, portion_volume: 60 ml")
    batch = manual.sheets["rice-salad"].batches[0]
    assert batch.yields.fills == 12
    assert batch.yields.rest_g == 10_000 - 12 * Fraction(109_000, 140)
    assert batch.yields.portions == 214
    assert batch.yields.portion_g == Fraction(109_000, 140) * 60 / 1000


def test_without_a_litre_weighed_its_pieces_and_the_gaps_between_them_count(kitchen: Path) -> None:
    """2 kg of rice and 20 g of salt without a measure, in heaps that are three fifths food, the
    cream in the gaps; the note says that rice is assumed. The salt is salt, 0.6329 ml a gram."""
    manual = made(kitchen, "fill_volume: 1 l")
    figures = manual.walks["rice-salad"].figures
    heap = (2000 + 20 * Fraction("0.6329")) / Fraction(3, 5)
    assert figures.fill == 1000 * figures.total / heap
    note = next(f for f in manual.findings if f.code == "volume-assumed")
    assert "Cooked rice" in note.message and note.severity == "warning"


def test_the_density_of_a_mix_by_its_composition(kitchen: Path) -> None:
    """A mix of 12 % fat, 38.3 % solids in all and 61.7 % water weighs
    1 / (0.12 × 1.07527 + 0.263 × 0.6329 + 0.617) = 1.0959 kg a litre: "How to Calculate the
    Density of Ice Cream Mix", eHow, read 2026-11-29."""
    mix = "  composition: {source: made up, water: 61.7 %, fat: 12 %}\n"
    at = "cooked-rice:\n  name: Cooked rice\n  species: none\n  state: ready-to-eat\n"
    shelf = "ingredients/all.yaml"
    edit(kitchen, shelf, at, f"{at}  form: liquid\n{mix}")
    edit(kitchen, SALAD, "    cream: 200 ml\n    salt: 1 %", "    cooked-rice: 1 kg")
    manual = made(kitchen, "fill_volume: 1 l")
    fill = manual.walks["rice-salad"].figures.fill
    assert fill is not None and abs(fill - Fraction("1095.9")) < Fraction(1, 10)
    (note,) = [f for f in manual.findings if f.code == "volume-assumed"]
    assert note.severity == "note"


@pytest.mark.parametrize(
    ("shape", "sides", "ml"),
    [
        # 300 × 200 × 50 mm below a headspace of 10 mm: 3 l
        ("box", (None, 300, 200, 50), "3000"),
        # a round tin of 100 mm across, 120 mm deep: π/4 × 10² × 12 = 942.48 ml
        ("cylinder", (100, None, None, 120), "942.48"),
        # a casing of 70 mm filled 230 mm long: π/4 × 7² × 23 = 885.15 ml
        ("casing", (70, 230, None, None), "885.15"),
    ],
)
def test_inside_volumes_by_hand(shape: str, sides: tuple[int | None, ...], ml: str) -> None:
    diameter, length, width, depth = (Fraction(s) if s is not None else None for s in sides)
    found = volume_ml(shape, diameter, length, width, depth)  # type: ignore[arg-type]
    assert found is not None and abs(found - Fraction(ml)) < Fraction(1, 100)


@pytest.mark.parametrize(
    ("makes", "error"),
    [
        ("fill_weight: 3 kg, litre: 1 kg, vessel: tin", True),  # 3 l
        ("fill_weight: 1.4 kg, litre: 1 kg, vessel: tin", False),  # 1.4 l exactly
        ("fill_weight: 1.4 kg, litre: 999 g, vessel: tin", True),
        ("fill_volume: 1.4 l, vessel: tin", False),
        ("fill_volume: 1.5 l, vessel: tin", True),
        ("fill_weight: 1 kg, litre: 1 kg, overrun: 40 %, vessel: tin", False),
        ("fill_weight: 1 kg, litre: 1 kg, overrun: 41 %, vessel: tin", True),
    ],
)
def test_three_kilos_do_not_go_into_1400_ml(kitchen: Path, makes: str, error: bool) -> None:
    """A tin of 200 × 100 × 70 mm inside holds 1.4 l."""
    tin = "tin: {kind: vessel, name: Tin, shape: box, inside: {length: 200 mm, width: 100 mm, depth: 70 mm}}"
    edit(kitchen, "equipment/house.yaml", "dish: {", f"{tin}\ndish: {{")
    manual = made(kitchen, makes)
    assert any(f.code == "vessel-overfull" for f in manual.findings) == error


def test_48_loaves_on_40_places(kitchen: Path) -> None:
    """48 fills, 40 vessels: refused, and 40 are proposed. With places for 20 in the oven, 40 are
    two runs of 20, half an hour each."""
    edit(kitchen, "equipment/house.yaml", "depth: 60 mm}}", "depth: 60 mm}, count: 40}")
    edit(kitchen, "equipment/house.yaml", "capacity: 20 kg", "capacity: 20 kg, places: 20")
    edit(kitchen, "processes/baked.yaml", "    at: 180 °C", "    at: 180 °C\n    time: 30 min")
    edit(kitchen, "formulas/pork-bake.yaml", "[4 dishes, 8 dishes]", "[40 dishes, 48 dishes]")
    manual = compute(kitchen)
    assert isinstance(manual, Manual)
    refused = next(f for f in manual.findings if f.code == "vessels-too-few")
    assert refused.help.replace("\u00a0", " ").startswith("Make 40 dishes at most.")
    edit(kitchen, "formulas/pork-bake.yaml", ", 48 dishes]", "]")
    again = compute(kitchen)
    assert isinstance(again, Manual)
    sheet = again.sheets["pork-bake"]
    oven = next(one for one in sheet.batches[0].step_loads if one.equipment == "range-oven")
    assert oven.loads.pieces == (20, 20) and oven.bound_by == "places"
    words = run_words(oven).replace("\u00a0", " ")
    assert words.startswith("2 loads of 20 dishes, one after another: 1 h in all")

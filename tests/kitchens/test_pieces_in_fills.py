"""Legs in tubs of six, lots that are parted, what lies in a machine at its step: worked by hand from
the poached legs, 24 of 280 g with 1.6 % of salt, of which 20 % is lost in the bath."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from broken_kitchens import BASES
from conftest import compute, edit

from generator.answers.batch import batch_text
from generator.files.finding import Refused
from generator.records.formula import Size
from generator.sheet.lots import lots_of
from generator.sheet.manual import Manual
from generator.sheet.sheet import Batch, make_batch

LEGS, PROCESS = "formulas/duck-legs.yaml", "processes/poached-legs.yaml"
RAW = Fraction(24 * 280) * Fraction(1016, 1000)


@pytest.fixture
def legs(kitchen: Path) -> Path:
    BASES["duck-legs"].lay_over(kitchen)
    return kitchen


def in_tubs(
    legs: Path, makes: str = "piece: duck-leg, pieces: 6, vessel: tub, unit: tub"
) -> Manual:
    """The legs filled into tubs of six once they are poached."""
    (legs / "standards/equipment/tubs.yaml").write_text(
        "tub: {kind: vessel, name: Tub, shape: box, inside: {length: 250 mm, width: 160 mm, "
        "depth: 100 mm}}\n",
        encoding="utf-8",
    )
    edit(legs, LEGS, "makes: {piece: duck-leg}", f"makes: {{{makes}}}")
    edit(legs, LEGS, "batches: [24 legs, 12 legs]", "batches: [4 tubs]")
    edit(legs, PROCESS, "  - do: chill", "  - do: fill\n  - do: chill")
    found = compute(legs)
    assert isinstance(found, Manual)
    assert not found.errors, found.errors
    return found


def batch(manual: Manual, kind: str, value: int) -> Batch:
    size = Size(kind, Fraction(value))  # type: ignore[arg-type]
    return make_batch(manual.house, manual.walks["duck-legs"], size)


def test_26_legs_are_4_tubs_and_one_of_2(legs: Path) -> None:
    """All that is finished is in the tubs: 26 legs of RAW / 24 × 0.8."""
    manual = in_tubs(legs)
    found = batch(manual, "portions", 26)
    yields = found.yields
    assert (yields.fills, yields.rest_pieces, yields.portions) == (4, 2, 26)
    leg = RAW / 24 * Fraction(8, 10)
    assert yields.fill_g == 6 * leg and yields.rest_g == 2 * leg
    assert yields.fills * yields.fill_g + yields.rest_g == yields.finished_g == 26 * leg
    text = batch_text(manual.sheets["duck-legs"], found)
    assert "4 tubs and one of 2 legs, 26 legs of about 228 g" in text
    assert found.label == "26\u00a0legs"


def test_a_weight_is_whole_legs_and_less_than_a_tub_is_one(legs: Path) -> None:
    edit(legs, "equipment/bath.yaml", ", minimum: 1.5 kg", "")
    manual = in_tubs(legs)
    found = batch(manual, "total", 8000)
    assert (found.yields.fills, found.yields.rest_pieces) == (4, 4), "28 legs are 7965 g"
    assert found.label == "28\u00a0legs"
    few = batch(manual, "portions", 4)
    assert "1 tub of 4 legs" in batch_text(manual.sheets["duck-legs"], few)
    assert batch(manual, "fills", 3).label == "3\u00a0tubs"
    assert batch(manual, "portions", 18).label == "18\u00a0legs"


def test_two_legs_to_a_portion(legs: Path) -> None:
    """27 legs are 13 portions of two; 13 portions need 26 legs."""
    manual = in_tubs(legs, "piece: duck-leg, pieces: 6, unit: tub, portions: 3")
    assert batch(manual, "total", 7700).yields.portions == 13
    found = batch(manual, "portions", 13)
    assert (found.yields.fills, found.yields.rest_pieces, found.label) == (4, 2, "13\u00a0portions")
    assert found.yields.portion_from_g is not None and found.yields.portion_g is not None
    light = found.yields.portion_g - found.yields.portion_from_g
    assert light == 2 * Fraction(280 - 250) * RAW / 24 / 280 * Fraction(8, 10) / Fraction(
        1016, 1000
    )


def test_places_of_legs_before_the_tubs_and_of_tubs_behind(legs: Path) -> None:
    """The bath has 12 places for legs, the chiller 3 for tubs: 26 legs are 3 runs, 5 tubs two."""
    edit(legs, "equipment/bath.yaml", "places: 12, minimum: 1.5 kg", "places: {each: 12}")
    edit(
        legs,
        "equipment/house.yaml",
        "name: Blast chiller, air: 1 °C",
        "name: Blast chiller, air: 1 °C, places: {vessels: {tub: 3}}",
    )
    edit(legs, PROCESS, "    time: 1 h\n", "    time: 10 min\n")
    edit(legs, PROCESS, "    time: 1 h 30 min", "    time: 20 min")
    found = batch(in_tubs(legs), "portions", 26)
    runs = {one.step: one.loads for one in found.step_loads}
    assert runs["poach"].pieces == (9, 9, 8) and runs["poach"].called == ("leg", "legs")
    assert runs["chill"].pieces == (3, 1) and runs["chill"].rest
    assert runs["chill"].called == ("tub", "tubs")


def test_vessels_are_counted_with_the_last(legs: Path) -> None:
    manual = in_tubs(legs)
    edit(legs, "equipment/tubs.yaml", "name: Tub,", "name: Tub, count: 4,")
    manual = compute(legs)  # type: ignore[assignment]
    with pytest.raises(
        Refused, match="5\u00a0tubs need 5\u00a0vessels, and there are 4"
    ) as refused:
        batch(manual, "portions", 26)
    assert refused.value.help.startswith("Make 4\u00a0tubs at most.")


def test_tubs_and_legs_are_counted_in_another_formula(legs: Path) -> None:
    """2 tubs and 3 legs of them are 15 legs, in another dish."""
    in_tubs(legs)
    (legs / "standards/formulas/plates.yaml").write_text(
        "name: Plates\nrevision: 1\neffective: 2026-05-04\napproved: R. Osei\nstation: range\n"
        "parts: {meat: {duck-legs: 2 tubs}, more: {cooked-rice: 300 g}}\n"
        "process: plating\nkeeps: {cold: 1 day}\nbatches: [5 kg total]\n",
        encoding="utf-8",
    )
    (legs / "standards/processes/plating.yaml").write_text(
        "name: Plating\nsteps:\n  - {do: mix, add: [meat, more], time: 5 min}\n"
        "  - {do: store, in: cold-room}\n",
        encoding="utf-8",
    )
    manual = compute(legs)
    assert isinstance(manual, Manual)
    leg = RAW / 24 * Fraction(8, 10)
    line = next(ln for ln in manual.walks["plates"].lines if ln.joined.item == "duck-legs")
    assert line.grams == 12 * leg
    edit(legs, "formulas/plates.yaml", "2 tubs", "3 legs")
    manual = compute(legs)
    assert isinstance(manual, Manual)
    line = next(ln for ln in manual.walks["plates"].lines if ln.joined.item == "duck-legs")
    assert line.grams == 3 * leg


PARTED = """\
  - do: season
    add: [legs, cure]
    time: 15 min
  - do: divide
    time: 2 min
    leaves: {second-lot: {share: 25 %, then: used-again}}
  - do: poach
    with: duck-bath
    at: 85 °C
    time: 20 min
    target: from the formula
    gives: poached
  - do: poach
    id: second-poach
    work_on: second-lot
    with: duck-bath
    at: 85 °C
    time: 20 min
    target: core 76 °C
  - do: mix
    add: [poached]
    time: 5 min
  - do: chill
    in: blast
    target: to 4 °C
    time: 1 h
  - do: store
    in: cold-room
"""


def test_a_lot_that_is_parted_takes_its_share_of_the_places(legs: Path) -> None:
    """A quarter of 24 legs apart: 18 in one bath run of 12 places, 6 in the other; 24 again once
    they meet."""
    path = legs / "standards" / PROCESS
    path.write_text("name: Poached legs\nsteps:\n" + PARTED, encoding="utf-8")
    manual = compute(legs)
    assert isinstance(manual, Manual)
    walk = manual.walks["duck-legs"]
    counted = {n: lot.many for n, lot in lots_of(walk).items()}
    assert counted == {2: 24, 3: 18, 4: 6, 5: 24, 6: 24, 7: 24, 1: 24}
    runs = {one.step: one.loads for one in batch(manual, "fills", 24).step_loads}
    assert runs["poach"].pieces == (9, 9) and runs["second-poach"].pieces == (6,)
    odd = {one.step: one.loads for one in batch(manual, "fills", 26).step_loads}
    assert sum(odd["second-poach"].pieces) == 6 and odd["second-poach"].rest, "6.5 legs, 7 places"


def test_what_is_drained_or_trimmed_off_takes_no_places(legs: Path) -> None:
    path = legs / "standards" / PROCESS
    text = PARTED.replace("do: divide", "do: trim").replace("second-lot", "trimmings")
    path.write_text("name: Poached legs\nsteps:\n" + text, encoding="utf-8")
    manual = compute(legs)
    assert isinstance(manual, Manual)
    counted = {n: lot.many for n, lot in lots_of(manual.walks["duck-legs"]).items()}
    assert counted == {1: 24, 2: 24, 3: 24, 5: 24, 6: 24, 7: 24}, "nothing at step 4"


def test_minced_legs_are_no_legs(legs: Path) -> None:
    edit(legs, PROCESS, "  - do: poach", "  - do: grind\n    time: 5 min\n  - do: poach")
    manual = compute(legs)
    assert isinstance(manual, Manual)
    assert set(lots_of(manual.walks["duck-legs"])) == {1, 2}
    assert "places-not-counted" in {f.code for f in manual.findings}

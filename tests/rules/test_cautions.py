"""Every caution: one kitchen that raises it, made from its own trigger, and one that doesn't."""

from __future__ import annotations

from pathlib import Path

import pytest
from conftest import compute, edit, lay

from generator.reference.cautions import RANK, Caution
from generator.reference.library import read_reference
from generator.reference.shared_data import installed
from generator.sheet.manual import Manual

LIBRARY = read_reference(installed())
CAUTIONS = LIBRARY.cautions
PACK = LIBRARY.packs["us-food-code-2022"]


AT_HAND: dict[str, list[str]] = {
    "hot-oil": ["do: crisp", "does: cooks", "with: fryer", "target: core 95 °C"],
    "hot-fat": ["do: crisp", "does: cooks", "with: griddle", "target: core 95 °C"],
    "hot-liquid": ["do: scald", "does: [cooks, in-water]", "target: core 95 °C"],
    "hot-oven": ["do: crisp", "does: cooks", "with: oven", "at: 180 °C", "target: core 95 °C"],
    "hot-food": ["do: crisp", "does: cooks", "with: microwave", "target: core 95 °C"],
    "pressure": ["do: scald", "does: cooks", "with: pressure-cooker", "target: core 95 °C"],
    "knife": ["do: work", "does: cuts"],
    "needles": ["do: work", "does: injects"],
}
"""By what is at hand: a step that has it."""
AFTER_HEAT: dict[str, list[str]] = {
    "hot-blending": ["do: work", "does: comminutes", "with: blender"],
    "chilling": ["do: lay-down", "does: cools", "target: to 4 °C"],
    "chilling-hot": ["do: lay-down", "does: cools", "target: to 4 °C"],
}
"""The same of food that was boiled first."""
MACHINES = ("fryer", "griddle", "oven", "microwave", "pressure-cooker", "blender")


def _species(caution: Caution) -> str:
    when = caution.when
    if when.species:
        return when.species[0]
    if when.raw:
        return next(s for s, d in PACK.definitions.items() if d.group_as in when.raw)
    if "raw-milk" in when.end:
        return "none"
    return "pork" if when.organ or when.end or "comminuted" in when.state else "none"


def _facts(caution: Caution) -> list[str]:
    when = caution.when
    ready = {"ready-to-eat", "finished"} & set(when.state)
    facts = [f"  species: {_species(caution)}", "  state: " + ("ready-to-eat" if ready else "raw")]
    if "comminuted" in when.state:
        facts.append("  form: comminuted")
    if "raw-flour" in when.state:
        facts.append("  form: dry")
    if "raw-juice" in when.state:
        facts.append("  form: liquid")
    if "hot-food" in when.at_hand:
        facts.append("  form: intact")  # what doesn't say may be liquid
    if when.organ:
        facts.append(f"  organ: {when.organ[0]}")
    if when.function:
        facts.append(f"  function: {when.function[0]}")
    milk = when.allergens or "raw-milk" in when.end
    wheat = "wheat" if "raw-flour" in when.state else "milk" if milk else "none"
    return [*facts, f"  allergens: {wheat}"]


def _name(caution: Caution) -> str:
    """What the food is called that raises it."""
    when = caution.when
    if when.named:
        return f"Our {when.named[0]}"
    by_state = {
        "raw-juice": "Apple juice",
        "raw-beans": "Kidney beans, dried",
        "raw-soy": "Soybeans",
        "raw-sprouts": "Bean sprouts",
    }
    return next((name for state, name in by_state.items() if state in when.state), "Thing")


def _steps(caution: Caution) -> list[list[str]]:
    """The steps that raise it; what is heated first is in a step of its own."""
    when = caution.when
    near = when.at_hand[0] if when.at_hand else ""
    boiled = [["do: scald", "does: [cooks, in-water]", "target: core 95 °C"]]
    if near in AFTER_HEAT:
        steps = [*boiled, AFTER_HEAT[near]]
    elif near == "hot-liquid" and when.does:
        steps = [*boiled, ["do: work", f"does: [{when.does[0]}, handles]"]]
    elif near:
        steps = [AT_HAND[near]]
    else:
        steps = [["do: work", f"does: {when.does[0] if when.does else 'handles'}"]]
    last = list(steps[-1])
    if when.machine or when.shared_machine:
        last.append("with: engine")
    if when.in_:
        last.append("in: cold")
    if when.deeper_than is not None:
        last.append("vessel: tall-pot")
    return [*steps[:-1], last]


def kitchen_that_raises(caution: Caution, target: Path) -> Path:
    """The clean kitchen with one more formula that meets every key of the caution's trigger, under
    verbs of its own."""
    when = caution.when
    project = lay("base", target)
    standards = project / "standards"
    (standards / "ingredients/thing.yaml").write_text(
        f"thing:\n  name: {_name(caution)}\n" + "\n".join(_facts(caution)) + "\n"
    )
    equipment = [f"{kind}: {{kind: {kind}, name: Our {kind}}}" for kind in MACHINES]
    equipment.append(
        "tall-pot: {kind: vessel, name: Tall pot, shape: cylinder, inside: {diameter: 300 mm, "
        "depth: 300 mm}}"
    )
    equipment.append(
        f"engine: {{kind: {when.machine[0] if when.machine else 'mixer'}, name: Engine}}"
    )
    if when.in_:
        equipment.append(f"cold: {{kind: {when.in_[0]}, name: Cold, air: 2 °C}}")
    (standards / "equipment/extra.yaml").write_text("\n".join(equipment) + "\n")
    lines = []
    for number, step in enumerate(_steps(caution)):
        keys = [*step, *(["add: [stuff]"] if number == 0 else [])]
        lines += [f"  - {keys[0]}", *(f"    {key}" for key in keys[1:])]
    (standards / "processes/one.yaml").write_text("name: One\nsteps:\n" + "\n".join(lines) + "\n")
    called = f"One for a {when.called[0]}" if when.called else "One"
    formula = (
        f"name: {called}\nrevision: 1\neffective: 2026-01-01\nstation: pass\nbase: stuff\nparts:\n"
        "  stuff:\n    thing: 5 kg\n"
        "process: one\nbatches: [5 kg base]\n"
    )
    if "undercooked" in when.end:
        formula += "undercooked: Asked for at the table.\n"
    (standards / "formulas/one.yaml").write_text(formula)
    if when.shared_machine:
        (standards / "ingredients/raw.yaml").write_text(
            "raw-thing:\n  name: Raw thing\n  species: pork\n  state: raw\n  allergens: none\n"
        )
        (standards / "formulas/two.yaml").write_text(
            formula.replace("thing: 5 kg", "raw-thing: 5 kg").replace("name: One", "name: Two")
        )
    return project


def raised(manual: Manual, formula: str) -> set[str]:
    from generator.sheet.cautioning import notices_for, shared_machines

    assert manual.house is not None, [f.message for f in manual.errors]
    found = notices_for(manual.house, manual.walks[formula], shared_machines(manual.walks.values()))
    return {n.id for notices in found.by_step.values() for n in notices} | {
        n.id for n in found.page
    }


def test_there_are_enough() -> None:
    assert len(CAUTIONS) >= 25
    assert {c.severity for c in CAUTIONS.values()} == set(RANK)


@pytest.mark.parametrize("ident", sorted(CAUTIONS))
def test_it_is_raised_by_its_trigger(ident: str, tmp_path: Path) -> None:
    manual = compute(kitchen_that_raises(CAUTIONS[ident], tmp_path / "k"))
    assert ident in raised(manual, "one")


@pytest.mark.parametrize("ident", sorted(CAUTIONS))
def test_it_is_not_raised_by_a_plain_kitchen(ident: str, clean: Manual) -> None:
    """Dry spices mixed by hand and stored: nothing to warn of."""
    assert ident not in raised(clean, "house-spice")


def test_a_caution_is_switched_off_only_with_a_reason_that_shows(kitchen: Path) -> None:
    edit(
        kitchen,
        "formulas/pork-bake.yaml",
        "process: baked",
        "process: baked\ncautions_off: {mixer-running: The bowl is closed while it turns.}",
    )
    manual = compute(kitchen)
    sheet = manual.sheets["pork-bake"]
    assert "mixer-running" not in raised(manual, "pork-bake")
    assert sheet.notices.off == (("Mixer running", "The bowl is closed while it turns."),)
    from generator.pages import make_pages

    page = next(p for p in make_pages(manual) if p.uri == "range/pork-bake.md")
    assert "The bowl is closed while it turns." in page.text


def test_the_demo_roll(demo: Manual) -> None:
    """By hand: poultry ground and mixed with raw egg white, poached, chilled in a deep casing,
    sliced."""
    found = raised(demo, "turkey-chive-roll")
    assert {
        "raw-poultry",
        "raw-egg",
        "grinder-hands",
        "hot-water",
        "slicer-every-four-hours",
        "no-bare-hands",
    } <= found
    assert not {"raw-pork", "hot-oil", "curing-salt-looks-like-salt", "consumer-advisory"} & found


def test_notices_stand_in_their_order_of_gravity(demo: Manual) -> None:
    for sheet in demo.sheets.values():
        for notices in sheet.notices.by_step.values():
            ranks = [RANK.index(n.severity) for n in notices]
            assert ranks == sorted(ranks)


def test_every_caution_names_a_source_and_is_short() -> None:
    for ident, caution in CAUTIONS.items():
        assert caution.source in LIBRARY.sources, ident
        assert len(caution.words) <= 230, ident

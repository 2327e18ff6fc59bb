"""Food that goes to the guest at once: a steak cooked on its surface, and what is made to one
guest's order."""

from __future__ import annotations

from pathlib import Path

import pytest
from conftest import compute, edit

from generator.binder.limit_box import limit_block
from generator.rules.basics.limit import HeatingLimit, InWords, Limit
from generator.views.limit_view import at_a_glance, limit_view

RIBEYE = (
    "ribeye:\n  name: Ribeye steak\n  species: beef\n  state: raw\n  form: intact\n"
    "  whole_muscle: Label of the pack\n  allergens: none\n"
)
HEAD = "revision: 1\neffective: 2026-05-04\napproved: R. Osei\nstation: range\n"


def add(project: Path, file: str, text: str) -> None:
    (project / "standards" / file).write_text(text, encoding="utf-8")


@pytest.fixture
def grill(kitchen: Path) -> Path:
    """The clean kitchen with a steak cooked on its surface."""
    edit(kitchen, "ingredients/all.yaml", "cooked-rice:\n", f"{RIBEYE}cooked-rice:\n")
    add(
        kitchen,
        "processes/sear.yaml",
        "name: Sear\nsteps:\n  - do: season\n    add: [meat]\n  - do: grill\n"
        "    target: surface 64 °C\n  - do: serve\n",
    )
    add(
        kitchen,
        "formulas/ribeye-pink.yaml",
        f"name: Ribeye, pink\n{HEAD}makes: {{portion: 280 g}}\nbase: meat\nparts:\n  meat:\n"
        "    ribeye: 3 kg\nprocess: sear\nbatches: [10 portions]\n",
    )
    return kitchen


def the(project: Path, formula: str, hazard: str) -> Limit:
    (limit,) = [lm for lm in compute(project).walks[formula].limits if lm.hazard == hazard]
    return limit


def found(project: Path) -> list[str]:
    return [f.code for f in compute(project).findings if f.severity != "note"]


def test_page_paper_and_register_say_that_it_is_the_surface(grill: Path) -> None:
    manual = compute(grill)
    house = manual.house
    assert found(grill) == [] and house is not None
    limit = the(grill, "ribeye-pink", "cook")
    view = limit_view(house, limit)
    assert view.head.endswith("the surface must read") and "top and the bottom" in view.check
    assert [c.words for c in at_a_glance(view)] == ["or hotter, on its surface"]
    box = limit_block(house, limit, "2", "Grill")
    assert "on its surface" in str(box["figure"]) and "colour" in str(box["note"])


def test_a_finish_in_the_oven_asks_for_no_core_but_a_core_asked_for_counts(grill: Path) -> None:
    edit(
        grill,
        "processes/sear.yaml",
        "  - do: serve\n",
        "  - do: roast\n    with: range-oven\n    at: 200 °C\n  - do: serve\n",
    )
    assert found(grill) == []
    edit(
        grill, "processes/sear.yaml", "    at: 200 °C\n", "    at: 200 °C\n    target: core 50 °C\n"
    )
    assert "target-below-limit" in found(grill)


def test_made_into_another_formula_it_counts_as_raw(grill: Path) -> None:
    edit(grill, "formulas/rice-salad.yaml", "    cooked-rice: 2 kg\n", "    ribeye-pink: 2 kg\n")
    edit(
        grill,
        "processes/toss.yaml",
        "  - do: chill\n    in: cold-room\n    target: to 4 °C\n",
        "  - do: serve\n",
    )
    edit(grill, "formulas/rice-salad.yaml", "keeps: {cold: 3 days}\n", "")
    assert "raw-not-cooked" in found(grill)


def test_a_second_raw_meat_leaves_the_core(grill: Path) -> None:
    edit(
        grill,
        "formulas/ribeye-pink.yaml",
        "    ribeye: 3 kg\n",
        "    ribeye: 3 kg\n    pork-shoulder: 1 kg\n",
    )
    reported = [f for f in compute(grill).findings if f.code == "target-missing"]
    assert reported and "Pork shoulder isn't beef" in reported[0].message


def test_a_house_limit_for_the_core_stands(grill: Path) -> None:
    edit(
        grill,
        "kitchen.yaml",
        "probe: probe\n",
        "probe: probe\nhouse_limits:\n  - {for: cook, food: [beef], limit: core 70 °C for 1 "
        "min, reason: Our own rule.}\n",
    )
    reported = [f for f in compute(grill).findings if f.code == "target-missing"]
    assert reported and "a house limit requires its core" in reported[0].message


@pytest.mark.parametrize("edition", ["2013", "2009"])
def test_the_older_edition_and_one_that_is_not_held_have_the_row(grill: Path, edition: str) -> None:
    edit(grill, "kitchen.yaml", "edition: 2022", f"edition: {edition}")
    assert the(grill, "ribeye-pink", "cook").source.clause == "3-401.11(C)"


def test_other_law_knows_nothing_of_it(grill: Path) -> None:
    edit(
        grill,
        "kitchen.yaml",
        "code: {model: us-food-code, edition: 2022",
        "operation: inspected-establishment\ncode: {model: us-fsis, edition: 1999",
    )
    reported = [f for f in compute(grill).findings if f.code == "target-missing"]
    assert any("the rules here say nothing about it" in f.message for f in reported)


@pytest.mark.parametrize(
    ("readings", "verdict"),
    [
        ("top,64\n", "cannot tell"),
        ("top,64\n{t},bottom,64\n", "pass"),
        ("top,64\n{t},bottom,60\n", "fail"),
    ],
)
def test_a_log_of_one_side_proves_nothing(grill: Path, readings: str, verdict: str) -> None:
    from click.testing import CliRunner

    from generator.cli import cli

    at = "2026-11-24T18:00:00Z"
    (grill / "log.csv").write_text(f"time,probe,temp_c\n{at},{readings.format(t=at)}")
    words = ["review", str(grill / "log.csv"), "--formula", "ribeye-pink", "--project", str(grill)]
    done = CliRunner().invoke(cli, [*words, "--as-of", "2026-11-25"])
    assert done.stdout.lower().startswith(verdict), done.output


def test_none_of_it_is_dated(grill: Path) -> None:
    walk = compute(grill).walks["ribeye-pink"]
    assert walk.dates is not None and walk.dates.kind == "hot" and walk.store == ()


@pytest.fixture
def to_one_order(kitchen: Path) -> Path:
    """The clean kitchen with a portion of the bake heated again to one guest's order."""
    add(
        kitchen,
        "processes/warm.yaml",
        "name: Warm and serve\nsteps:\n  - do: reheat\n    add: [meat]\n"
        "    until: It steams.\n  - do: serve\n",
    )
    add(
        kitchen,
        "formulas/warm-pork.yaml",
        f"name: Warm pork\n{HEAD}to_order: yes\nmakes: {{portion: 150 g}}\nbase: meat\nparts:\n"
        "  meat:\n    pork-bake: 150 g\nprocess: warm\nbatches: [1 portions]\n",
    )
    return kitchen


def test_no_temperature_for_what_goes_to_one_guest(to_one_order: Path) -> None:
    manual = compute(to_one_order)
    house, limit = manual.house, the(to_one_order, "warm-pork", "reheat")
    assert found(to_one_order) == [] and house is not None
    assert isinstance(limit, InWords)
    view = limit_view(house, limit)
    assert view.figures == () and view.clause == "3-403.10" and "served at once" in view.words
    assert limit_block(house, limit, "1", "Reheat")["lead"] == limit.words


def test_a_house_limit_for_reheating_stands_against_it(to_one_order: Path) -> None:
    edit(
        to_one_order,
        "kitchen.yaml",
        "probe: probe\n",
        "probe: probe\nhouse_limits:\n  - {for: reheat, limit: core 76 °C for 15 s, reason: "
        "Our own rule.}\n",
    )
    limit = the(to_one_order, "warm-pork", "reheat")
    assert limit.house is not None and isinstance(limit, HeatingLimit)
    assert limit.figure.value.in_unit("°C") == 76 and isinstance(limit.law, InWords)


def test_a_raw_egg_put_to_it_leaves_the_limits(to_one_order: Path) -> None:
    edit(
        to_one_order,
        "formulas/warm-pork.yaml",
        "    pork-bake: 150 g\n",
        "    pork-bake: 150 g\n    whole-egg: 1 each\n",
    )
    assert {"not-to-order", "raw-not-cooked"} <= set(found(to_one_order))


def test_food_bought_ready_says_why_its_limit_stands(to_one_order: Path) -> None:
    edit(to_one_order, "formulas/warm-pork.yaml", "pork-bake", "cooked-rice")
    limit = the(to_one_order, "warm-pork", "reheat")
    assert isinstance(limit, HeatingLimit) and limit.source.clause == "3-403.11(A)"
    assert (
        "To order",
        "Cooked rice: not stated to be cooked, so it counts as held hot",
    ) in limit.basis.inputs

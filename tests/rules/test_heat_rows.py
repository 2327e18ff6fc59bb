"""Facts that let a laxer row of the Food Code in, and what takes them away again.

Eggs to order 3-401.11(A)(1)(a), microwave ovens 3-401.12 and 3-403.11(B), what a plant packed
3-403.11(C), roasts again 3-403.11(E) and 3-501.16(A)(1), two goes 3-401.14. The rows themselves are
driven in `published/test_driven_rows.py`.
"""

from __future__ import annotations

import html
from pathlib import Path
from typing import Any

import pytest
from conftest import AS_OF, compute, edit
from published.test_driven_rows import (
    AGAIN,
    BOUGHT,
    PART_COOKED,
    PLANT_PACK,
    TO_ORDER,
    WHOLE,
    in_microwave,
    roast_kitchen,
    run,
    swept,  # noqa: F401  # its kitchens are thrown away after this module, too
)

from generator.answers.limits import limit_record, limits_text
from generator.binder.limit_box import limit_block
from generator.pages import make_pages
from generator.rules.basics.limit import Limit, NotCovered
from generator.sheet.manual import Manual, make_manual
from generator.views.uris import REGISTER

BAKED, BAKE = "processes/baked.yaml", "formulas/pork-bake.yaml"
TOSS, SALAD = "processes/toss.yaml", "formulas/rice-salad.yaml"
SEVENTEEN_S = (155, 17)
"""3-401.11(A)(2): pooled eggs, 155 °F for 17 s."""


def laid(kitchen: Path, *edits: tuple[str, str, str]) -> Path:
    for file, old, new in edits:
        edit(kitchen, file, old, new.replace("{to_order}", "to_order: yes\n"))
    return kitchen


def limit(manual: Manual, hazard: str, formula: str = "pork-bake") -> Limit:
    return next(lm for lm in manual.walks[formula].limits if lm.hazard == hazard)


def enacted(one: Limit) -> tuple[float, float | None]:
    assert one.figure is not None
    hold = float(one.row_hold_s) if one.row_hold_s is not None else None
    return float(one.figure.value.in_unit(one.figure.value.unit)), hold


def codes(manual: Manual) -> list[str]:
    return [f.code for f in manual.errors]


# --- eggs to order


@pytest.mark.parametrize(
    ("file", "old", "new", "said"),
    [
        (
            "ingredients/all.yaml",
            "species: egg\n  state: raw\n  form: intact",
            "species: egg\n  state: raw\n  form: liquid",
            "in its shell",
        ),
        (
            "ingredients/all.yaml",
            "species: egg\n  state: raw\n  form: intact",
            "species: egg\n  state: raw",
            "in its shell",
        ),
        (BAKED, "  - do: whisk\n", "  - do: pool\n", "broken together"),
        (BAKED, "  - do: bake\n", "  - do: rest\n    time: 5 min\n  - do: bake\n", "(rest)"),
        (BAKED, "  - do: serve\n", "  - do: hold-hot\n  - do: serve\n", "(hold hot)"),
        (
            BAKED,
            "  - do: serve\n",
            "  - do: hold-by-time\n    time: 1 h\n    procedure: P 1\n  - do: serve\n",
            "(hold by time)",
        ),
        (BAKED, "  - do: serve\n", "  - do: portion\n", "last step isn't `serve`"),
        (BAKE, "[1 portions]", "[1 portions, 4 portions]", "more than one fill or portion"),
        (BAKE, "[1 portions]", "[150 g total]", "more than one fill or portion"),
        (
            BAKE,
            "to_order: yes\n",
            "to_order: yes\nkeeps: {cold: 2 days}\n",
            "keeps some of it",
        ),
    ],
)
def test_what_speaks_against_to_order(
    kitchen: Path, file: str, old: str, new: str, said: str
) -> None:
    """3-401.11(A)(1)(a): broken and prepared in response to one order, for immediate service; and
    each of these gives the row for pooled eggs back."""
    manual = compute(laid(kitchen, *TO_ORDER, (file, old, new)))
    reported = [f for f in manual.errors if f.code == "not-to-order"]
    assert any(said in f.message for f in reported), [f.message for f in manual.errors]
    cook = limit(manual, "cook")
    assert {o.clause for o in cook.options} == {"3-401.11(A)(2)", "3-401.11(A)(2) chart"}


def test_what_is_done_before_the_egg_is_broken_may_wait(kitchen: Path) -> None:
    soaked = "    add: [bind]\n  - do: rest\n    time: 1 h\n  - do: whisk\n    add: [meat]\n"
    edits = (
        (BAKED, "  - do: whisk\n    add: [meat]\n", f"  - do: toss\n{soaked}"),
        (BAKED, "    add: [bind, seasoning]\n", "    add: [seasoning]\n"),
    )
    manual = compute(laid(kitchen, *TO_ORDER, *edits))
    assert codes(manual) == []
    assert limit(manual, "cook").source.clause == "3-401.11(A)(1)(a)"


def test_to_order_in_a_mixture_takes_the_highest_group(kitchen: Path) -> None:
    minced = (BAKE, "    whole-egg: 3 each\n", "    whole-egg: 3 each\n    pork-shoulder: 60 g\n")
    grind = (BAKED, "  - do: whisk\n", "  - do: grind\n")
    manual = compute(laid(kitchen, *TO_ORDER, minced, grind))
    assert {o.clause for o in limit(manual, "cook").options} == {
        "3-401.11(A)(2)",
        "3-401.11(A)(2) chart",
    }


def test_an_egg_made_ahead_isn_t_to_order_elsewhere(kitchen: Path) -> None:
    """What another formula breaks and holds counts as pooled in the one that uses it."""
    laid(kitchen, *TO_ORDER[:1])
    batter = (kitchen / "standards" / BAKE).read_text()
    edit(kitchen, "formulas/house-spice.yaml", "process: blend", "process: batter")
    edit(kitchen, "formulas/house-spice.yaml", "keeps: {dry: 90 days}\n", "")
    edit(
        kitchen,
        "formulas/house-spice.yaml",
        "    white-pepper: 70 %\n    nutmeg: 30 %",
        "    whole-egg: 3 each",
    )
    edit(
        kitchen,
        "formulas/house-spice.yaml",
        "batches: [500 g base]",
        "makes: {portion: 150 g}\nto_order: yes\nbatches: [1 portions]",
    )
    (kitchen / "standards/processes/batter.yaml").write_text(
        "name: Batter\nsteps:\n  - do: whisk\n    add: [spice]\n  - do: serve\n"
    )
    (kitchen / "standards" / BAKE).write_text(batter.replace("    whole-egg: 6 each\n", ""))
    whole = (BAKED, "  - do: grind\n    add: [meat]\n", "  - do: season\n    add: [meat]\n")
    manual = compute(laid(kitchen, whole))
    walk = manual.walks["pork-bake"]
    cook = next(lm for lm in walk.limits if lm.hazard == "cook")
    assert cook.source.clause.startswith("3-401.11(A)(2)")


def test_raw_eggs_stay_refused_for_the_frail(kitchen: Path) -> None:
    """3-801.11(B): to order or not."""
    manual = compute(
        laid(kitchen, *TO_ORDER, ("kitchen.yaml", "serves: general", "serves: highly-susceptible"))
    )
    assert "susceptible-raw-eggs" in codes(manual)


def test_a_house_limit_counts_for_eggs_to_order(kitchen: Path) -> None:
    house = (
        "kitchen.yaml",
        "probe: probe\n",
        "probe: probe\nhouse_limits:\n  - {for: cook, limit: core 72 °C for 15 s, reason: Ours.}\n",
    )
    manual = compute(laid(kitchen, *TO_ORDER, house, (BAKE, "core 72 °C", "core 64 °C")))
    assert codes(manual) == ["target-below-limit"], "64 °C meets the code, and not the house"


# --- microwave ovens


@pytest.mark.parametrize("species", ["pork", "chicken", "fish"])
def test_a_microwave_oven_asks_the_same_of_all(kitchen: Path, species: str) -> None:
    edits = [*WHOLE, *in_microwave("    standing_time: 3 min\n")]
    if species != "pork":
        edits.append(
            (
                "ingredients/all.yaml",
                "name: Pork shoulder\n  species: pork",
                f"name: Shoulder\n  species: {species}",
            )
        )
    if species == "fish":
        edits.append(("ingredients/all.yaml", "allergens: none", "allergens: [fish (cod)]"))
    cook = limit(compute(laid(kitchen, *edits)), "cook")
    assert enacted(cook) == (165, None) and len(cook.options) == 1
    assert cook.stand is not None
    assert (cook.stand.row_s, cook.stand.asked_s) == (120, 180)
    assert limit_record(cook)["target_stand_s"] == 180


def test_the_roast_chart_isn_t_for_a_microwave_oven(kitchen: Path) -> None:
    edits = (*in_microwave("    standing_time: 2 min\n")[:2], *WHOLE)
    low = (BAKE, "core 72 °C", "core 56 °C for 112 min")
    beef = (
        "ingredients/all.yaml",
        "name: Pork shoulder\n  species: pork",
        "name: Shoulder\n  species: beef",
    )
    assert codes(compute(laid(kitchen, *edits, low, beef))) == ["target-below-limit"]


def test_a_house_limit_by_microwave_still_stands_covered(kitchen: Path) -> None:
    house = (
        "kitchen.yaml",
        "probe: probe\n",
        "probe: probe\nhouse_limits:\n  - {for: cook, limit: core 78 °C, reason: Ours.}\n",
    )
    edits = (
        *WHOLE,
        *in_microwave("    standing_time: 2 min\n"),
        (BAKE, "core 76 °C", "core 80 °C"),
    )
    manual = compute(laid(kitchen, *edits, house))
    assert codes(manual) == []
    cook = limit(manual, "cook")
    assert cook.house is not None and cook.figure is not None
    assert cook.figure.value.in_unit("°C") == 78
    assert cook.stand is not None and cook.stand.row_s == 120
    assert cook.law is not None and enacted(cook.law) == (165, None)


def test_standing_is_reported_everywhere(kitchen: Path) -> None:
    manual = compute(laid(kitchen, *WHOLE, *in_microwave("    standing_time: 2 min\n")))
    cook = limit(manual, "cook")
    page = next(p for p in make_pages(manual) if p.uri.endswith("pork-bake.md"))
    text = html.unescape(page.html).replace("\u00a0", " ")
    assert "let it stand, covered, <b" in text and 'data-timer="120">2 min</b>' in text
    assert "Turn or stir it midway" in text and "Probe several places. Every part" in text
    assert "then 2 min covered" in text
    register = next(p for p in make_pages(manual) if p.uri == REGISTER)
    assert "then 2 min covered" in html.unescape(register.html).replace("\u00a0", " ")
    assert manual.house is not None
    box = limit_block(manual.house, cook, "4", ["Bake"])
    assert box["hold"] == {
        "before": "then let it stand, covered,",
        "figure": "2\u00a0min",
        "after": "",
    }
    assert "Then let it stand, covered, 2 min" in limits_text(manual.walks["pork-bake"]).replace(
        "\u00a0", " "
    )


def test_a_pack_without_rows_for_it_asks_as_ever(kitchen: Path) -> None:
    """FSIS holds no row for microwave ovens: its tables are."""
    plant = (
        "kitchen.yaml",
        "code: {model: us-food-code, edition: 2022",
        "operation: inspected-establishment\ncode: {model: us-fsis, edition: 1999",
    )
    beef = (
        "ingredients/all.yaml",
        "name: Pork shoulder\n  species: pork",
        "name: Shoulder\n  species: beef",
    )
    manual = compute(
        laid(
            kitchen,
            plant,
            *WHOLE,
            beef,
            *in_microwave(""),
            (BAKE, "core 76 °C", "core 76 °C for 2 h"),
        )
    )
    cook = limit(manual, "cook")
    assert len(cook.options) > 20 and cook.stand is None


# --- bought ready to eat


@pytest.mark.parametrize(
    ("edits", "clause"),
    [
        ((), "3-403.11(A)"),
        ((PLANT_PACK,), "3-403.11(C)"),
        (
            (PLANT_PACK, (SALAD, "cooked-rice: 2 kg", "cooked-rice: 2 kg\n    pork-bake: 200 g")),
            "3-403.11(A)",
        ),
        (
            (
                PLANT_PACK,
                (
                    "ingredients/all.yaml",
                    "state: ready-to-eat\n  allergens: none\n  tcs: no\nnutmeg",
                    "state: ready-to-eat\n  allergens: none\n  tcs: no\nnutmeg",
                ),
            ),
            "3-403.11(C)",
        ),
    ],
)
def test_only_what_is_all_packed_by_a_plant_takes_its_row(
    kitchen: Path, edits: tuple[tuple[str, str, str], ...], clause: str
) -> None:
    manual = compute(laid(kitchen, *BOUGHT, *edits))
    assert limit(manual, "reheat", "rice-salad").source.clause == clause


def test_a_house_limit_counts_for_what_a_plant_packed(kitchen: Path) -> None:
    """Neither the plant's row nor the general one replaces it."""
    house = (
        "kitchen.yaml",
        "probe: probe\n",
        "probe: probe\nhouse_limits:\n  - {for: reheat, limit: core 79 °C for 20 s}\n",
    )
    laid(kitchen, *BOUGHT, PLANT_PACK, house)
    assert codes(compute(kitchen)) == ["target-below-limit"], "76 °C for 15 s meets the code"
    edit(kitchen, TOSS, "core 76 °C for 15 s", "core 80 °C for 20 s")
    reheat = limit(compute(kitchen), "reheat", "rice-salad")
    assert reheat.house is not None and reheat.law is not None
    assert (enacted(reheat), enacted(reheat.law)) == ((79, 20), (135, None))


def test_reheated_here_once_it_is_no_plant_s_any_more(kitchen: Path) -> None:
    """Heated, chilled and heated again: cooked, cooled and reheated, 3-403.11(A)."""
    again = (
        TOSS,
        "  - do: hold-hot\n",
        "  - do: chill\n    in: blast\n    target: to 4 °C\n  - do: reheat\n    id: second\n"
        "    target: core 76 °C for 15 s\n  - do: hold-hot\n",
    )
    manual = compute(laid(kitchen, *BOUGHT, PLANT_PACK, again))
    found = [lm.source.clause for lm in manual.walks["rice-salad"].limits if lm.hazard == "reheat"]
    assert found == ["3-403.11(C)", "3-403.11(A)"]


def test_bought_ready_and_held_hot_without_reheating(kitchen: Path) -> None:
    edits = (
        (TOSS, AGAIN[0][1], "  - do: hold-hot\n    add: [rice, dressing]\n  - do: serve\n"),
        AGAIN[2],
    )
    assert codes(compute(laid(kitchen, *edits))) == ["reheat-missing"]
    hot = ("ingredients/all.yaml", "name: Cooked rice\n", "name: Cooked rice\n  arrives: hot\n")
    assert codes(compute(laid(kitchen, hot))) == []


def test_boiled_for_hot_holding_it_is_reheated_whatever_the_step_is_called(kitchen: Path) -> None:
    boil = (TOSS, "  - do: reheat\n", "  - do: boil\n")
    manual = compute(laid(kitchen, *BOUGHT, boil))
    assert [lm.hazard for lm in manual.walks["rice-salad"].limits][:2] == ["reheat", "hot_hold"]
    assert enacted(limit(manual, "reheat", "rice-salad")) == (165, 15)


# --- the rest of a roast


@pytest.mark.parametrize(
    ("edits", "row"),
    [
        ((), 131),
        (((BAKED, "  - do: store\n", "  - do: carve\n  - do: store\n"),), 165),
        (((BAKED, "  - do: store\n", "  - do: portion\n  - do: store\n"),), 165),
        (((BAKED, "  - do: store\n", "  - do: divide\n  - do: store\n"),), 165),
        (
            (
                (TOSS, "  - do: reheat\n", "  - do: slice\n    add: [rice]\n  - do: reheat\n"),
                (TOSS, "    add: [rice]\n    with", "    with"),
            ),
            165,
        ),
        (((TOSS, "    with: range-oven\n    at: 180 °C\n", ""),), 165),
        (((TOSS, "    at: 180 °C\n", "    at: 150 °C\n"),), 165),
        (
            ((SALAD, "makes: {fill_weight: 1.5 kg}\n", ""), (SALAD, "[1 fills]", "[1.5 kg base]")),
            165,
        ),
        (((BAKE, "core 56 °C for 112 min", "core 64 °C for 15 s"),), 165),
        (
            (
                (BAKED, "    at: 180 °C", "    at: 150 °C"),
                (BAKE, "core 56 °C for 112 min", "core 72 °C"),
            ),
            165,
        ),
    ],
)
def test_the_chart_again_for_a_whole_roast_alone(
    edits: tuple[tuple[str, str, str], ...], row: int
) -> None:
    """3-403.11(E): unsliced, cooked by 3-401.11(B) and not by another row, in an oven of its
    chart."""
    manual = make_manual(roast_kitchen(*edits), AS_OF)
    failed = "target-below-limit" in codes(manual)
    assert failed == (row == 165), [f.message for f in manual.errors]
    options = {
        float(o.figure.value.in_unit("°F")) for o in limit(manual, "reheat", "rice-salad").options
    }
    assert (row in options) and (failed or 165 in options)


def test_a_roast_that_meets_the_chart_on_the_way_to_another_row() -> None:
    """64 °C for 12 min meets 145 °F for 15 s, whole meat's own row, and the chart's 145 °F for 4
    min."""
    manual = make_manual(
        roast_kitchen((BAKE, "core 56 °C for 112 min", "core 64 °C for 12 min")), AS_OF
    )
    assert codes(manual) == []
    assert limit(manual, "cook").source.clause == "3-401.11(A)(1)(b)"
    assert "by the roast chart" not in limit(manual, "cook").group
    assert limit(manual, "hot_hold", "rice-salad").figure is not None
    assert enacted(limit(manual, "hot_hold", "rice-salad"))[0] == 130


def test_held_hot_where_it_was_roasted(kitchen: Path) -> None:
    manual = make_manual(
        roast_kitchen(
            (BAKED, "  - do: chill\n", "  - do: hold-hot\n    target: at 56 °C\n  - do: chill\n")
        ),
        AS_OF,
    )
    assert codes(manual) == [] and enacted(limit(manual, "hot_hold"))[0] == 130
    assert limit(manual, "cook").group.endswith(", by the roast chart")
    assert limit(manual, "hot_hold").probe.startswith("The coolest part of the roast")
    words = "probe: Deep in its middle.\n    if_missed: Reheat it to 74 °C.\n    target"
    own = make_manual(roast_kitchen((*HELD[:2], HELD[2].replace("target", words))), AS_OF)
    said = limit(own, "hot_hold")
    assert (said.probe, said.if_missed) == ("Deep in its middle.", "Reheat it to 74 °C.")
    sliced = make_manual(
        roast_kitchen(
            (
                BAKED,
                "  - do: chill\n",
                "  - do: slice\n  - do: hold-hot\n    target: at 56 °C\n  - do: chill\n",
            )
        ),
        AS_OF,
    )
    assert enacted(limit(sliced, "hot_hold"))[0] == 135
    assert (
        not limit(sliced, "hot_hold").probe and "roast chart" not in limit(sliced, "hot_hold").note
    )


HELD = (BAKED, "  - do: chill\n", "  - do: hold-hot\n    target: at 56 °C\n  - do: chill\n")


def test_a_batch_that_met_another_row_is_no_roast_by_the_chart(tmp_path: Path) -> None:
    """3-401.11(A)(1)(b), 145 °F for 15 s, passes it; 3-501.16(A)(1) holds at 130 °F only what the
    chart cooked."""
    project = roast_kitchen(HELD)
    note = limit(make_manual(project, AS_OF), "hot_hold").note
    assert "roast chart" in note and "59\N{NO-BREAK SPACE}°C" in note  # 135 °F on ±1 °C
    quick = [("06:00", 50.0), ("06:01", 64.0), ("06:02", 64.0)]
    found = reviewed(project, tmp_path, "pork-bake", "bake", *quick)
    assert found["verdict"] == "pass"
    assert any("no row of the roast chart" in n for n in found["notes"])
    charted = [(f"{6 + m // 60:02}:{m % 60:02}", 56.0) for m in range(113)]
    found = reviewed(project, tmp_path, "pork-bake", "bake", *charted)
    assert found["verdict"] == "pass"
    assert not any("roast chart" in n for n in found.get("notes", []))


def test_food_held_hot_within_the_probe_s_error_is_said_to_be(tmp_path: Path) -> None:
    """130 °F is 54.4 °C: at 55 °C a probe of ±1 °C may have been below it, whatever it read
    before."""
    held = reviewed(
        roast_kitchen(HELD), tmp_path, "pork-bake", "hold-hot", ("06:00", 60.0), ("07:00", 55.0)
    )
    assert held["verdict"] == "pass" and "only if the probe is exact" in held["notes"][-1]


def test_reported_why_the_chart_is_not_for_reheating() -> None:
    manual = make_manual(roast_kitchen((TOSS, "at: 180 °C", "at: 110 °C")), AS_OF)
    assert ["the oven chart requires" in f.help for f in manual.errors] == [True]


def test_a_house_limit_for_holding_hot_counts_for_a_roast() -> None:
    house = (
        "kitchen.yaml",
        "probe: probe\n",
        "probe: probe\nhouse_limits:\n  - {for: hold-hot, limit: at 60 °C}\n"
        "  - {for: reheat, limit: core 75 °C for 15 s}\n",
    )
    manual = make_manual(roast_kitchen(house), AS_OF)
    assert codes(manual) == ["target-below-limit", "target-below-limit"]


# --- in two goes


def test_between_the_two_heats_it_is_raw_and_cooled_as_cooked_food(kitchen: Path) -> None:
    manual = compute(laid(kitchen, *PART_COOKED))
    assert codes(manual) == []
    steps = {s.step.id: s for s in manual.walks["pork-bake"].steps}
    assert steps["part-cook"].after.hot and steps["part-cook"].after.raw_animals
    assert not steps["first-chill"].after.hot and not steps["first-chill"].after.cooked
    assert [lm.hazard for lm in manual.walks["pork-bake"].limits] == [
        "part_cook",
        "cool",
        "cook",
        "cool",
        "cold_hold",
    ]


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        ("time: 40 min", "time: 61 min", "part-cook-too-long"),
        ("    procedure: Procedure 9\n", "", "part-cook-not-approved"),
        (
            "  - do: chill\n    id: first-chill\n    in: blast\n    target: to 4 °C\n",
            "",
            "part-cook-unfinished",
        ),
        (
            "    target: to 4 °C\n  - do: bake\n",
            "    target: to 4 °C\n  - do: part-cook\n    id: more\n    time: 5 min\n"
            "    procedure: Procedure 9\n  - do: bake\n",
            "part-cook-unfinished",
        ),
        ("    target: from the formula\n", "", "target-missing"),
        ("  - do: bake\n", "  - do: vacuum-pack\n  - do: bake\n", "not-covered"),
    ],
)
def test_what_two_goes_ask_for(kitchen: Path, old: str, new: str, code: str) -> None:
    laid(kitchen, *PART_COOKED)
    edit(kitchen, BAKED, old, new)
    if code == "target-missing":
        edit(kitchen, BAKE, "targets: {bake: core 72 °C}\n", "")
    assert code in codes(compute(kitchen))


@pytest.mark.parametrize("verb", ["rest", "cool", "store", "brine"])
def test_cooked_in_two_goes_never_stands_before_it_is_cooled(kitchen: Path, verb: str) -> None:
    """3-401.14(B): cooled immediately after the initial heating."""
    laid(kitchen, *PART_COOKED)
    edit(
        kitchen,
        BAKED,
        "  - do: chill\n    id: first",
        f"  - do: {verb}\n    id: wait\n    time: 3 h\n  - do: chill\n    id: first",
    )
    found = compute(kitchen).errors
    assert {f.code for f in found} == {"part-cook-unfinished", "chill-begun-too-late"}
    called = {"cool": "let cool"}.get(verb, verb)
    assert any(f"before {called}" in f.message for f in found)


def test_an_approval_that_ran_out(kitchen: Path) -> None:
    laid(kitchen, *PART_COOKED)
    edit(kitchen, "kitchen.yaml", "until: 2028-02-01", "until: 2026-10-01")
    assert codes(compute(kitchen)) == ["part-cook-not-approved"]


def test_two_goes_where_the_law_held_is_silent(kitchen: Path) -> None:
    laid(kitchen, *PART_COOKED)
    edit(
        kitchen,
        "kitchen.yaml",
        "code: {model: us-food-code, edition: 2022",
        "code: {model: uk-england, edition: 2006",
    )
    manual = compute(kitchen)
    if not manual.walks:
        pytest.fail(str([f.message for f in manual.errors]))
    first = next(lm for lm in manual.walks["pork-bake"].limits if lm.step == "part-cook")
    assert isinstance(first, NotCovered) and "not-covered" in codes(manual)


def test_two_goes_are_reported_everywhere(kitchen: Path) -> None:
    manual = compute(laid(kitchen, *PART_COOKED))
    part = limit(manual, "part_cook")
    page = next(p for p in make_pages(manual) if p.uri.endswith("pork-bake.md"))
    text = html.unescape(page.html).replace("\u00a0", " ")
    assert "part-cook: no longer than" in text and "Keep it apart from ready-to-eat food" in text
    assert "<b>1 h at most</b>" in text and "3-401.14(A)" in text
    register = next(p for p in make_pages(manual) if p.uri == REGISTER)
    assert 'id="part-cook"' in html.unescape(register.html)
    assert manual.house is not None
    box = limit_block(manual.house, part, "4", ["Part-cook"])
    assert (box["figure"]["number"], box["figure"]["unit"]) == ("1", "h")
    text = limits_text(manual.walks["pork-bake"]).replace("\u00a0", " ")
    assert "1 h at most on the heat\n" in text


# --- the older edition


@pytest.mark.parametrize("edition", ["2013", "2009"])
def test_the_older_edition_holds_the_same_rows(kitchen: Path, edition: str) -> None:
    """2013 shares them, and the strictest of both, for an edition not held, keeps them."""
    laid(kitchen, *PART_COOKED, ("kitchen.yaml", "edition: 2022", f"edition: {edition}"))
    manual = compute(kitchen)
    assert codes(manual) == []
    part = limit(manual, "part_cook")
    assert (part.lasts.most_s, part.source.clause) == (3600, "3-401.14(A)")
    edit(
        kitchen,
        "equipment/house.yaml",
        "kind: oven, name: Range oven, heat: convection",
        "kind: microwave, name: Microwave oven",
    )
    edit(kitchen, BAKED, "    at: 180 °C\n", "    standing_time: 2 min\n")
    edit(kitchen, BAKED, PART_COOKED[1][2].removesuffix("  - do: bake\n"), "")
    edit(kitchen, BAKE, "core 72 °C", "core 76 °C")
    cook = limit(compute(kitchen), "cook")
    assert enacted(cook) == (165, None) and cook.stand is not None and cook.stand.row_s == 120


# --- readings


def reviewed(
    project: Path, tmp_path: Path, formula: str, step: str, *rows: tuple[str, float]
) -> dict[str, Any]:
    log = tmp_path / "log.csv"
    lines = "".join(f"2026-11-24 {at}:00,{c}\n" for at, c in rows)
    log.write_text(f"time,temp_c\n{lines}", encoding="utf-8")
    return run(project, "review", str(log), "--formula", formula, "--step", step)  # type: ignore[no-any-return]


SLOW = [
    ("06:00", 4.0),
    ("06:05", 8.0),
    *((f"{h:02}:{m:02}", 40.0) for h in (7, 8) for m in (0, 30)),
    ("08:40", 52.0),
    ("08:50", 64.0),
    ("09:00", 76.0),
    ("09:05", 77.0),
]
"""Two hours and more from 5 °C to the figure."""


def test_the_two_hours_are_not_for_a_roast_by_the_chart(tmp_path: Path) -> None:
    """3-403.11(D) speaks of (A) to (C): late for 165 °F, the roast has met its own 158 °F."""
    hot = ((TOSS, "core 56 °C for 112 min", "core 76 °C for 15 s"), (TOSS, "at 56 °C", "at 60 °C"))
    found = reviewed(roast_kitchen(*hot), tmp_path, "rice-salad", "reheat", *SLOW)
    assert (found["verdict"], found["met_row"][:6]) == ("pass", "roast-")
    salted = (SALAD, "pork-bake: 1.5 kg", "pork-bake: 1.5 kg\n    salt: 20 g")
    found = reviewed(roast_kitchen(*hot, salted), tmp_path, "rice-salad", "reheat", *SLOW)
    assert found["verdict"] == "fail" and "2\u00a0h" in found["why"]


def test_what_a_log_can_t_show_of_a_microwave_oven_is_said(kitchen: Path, tmp_path: Path) -> None:
    laid(kitchen, *WHOLE, *in_microwave("    standing_time: 2 min\n"))
    found = reviewed(kitchen, tmp_path, "pork-bake", "bake", ("10:00", 60), ("10:02", 76))
    assert found["verdict"] == "pass" and "then 2 min covered" in found["limit"]
    assert any("waited covered for 2\u00a0min" in n for n in found["notes"])

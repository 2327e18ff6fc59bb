"""The rules of law: which row, which figure, which day. Rows are those of tests/published."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from conftest import compute, edit, lay
from each_row import each_row
from hypothesis import given
from hypothesis import strategies as st

from generator.files.finding import as_record
from generator.measures.temperature import Temperature, read_difference, read_temperature
from generator.records.process import read_target
from generator.rules.basics.grouping import group_of, highest
from generator.rules.basics.limit import Figure, InWords, Limit, figure_of
from generator.rules.basics.product import Component, Product
from generator.sheet.edited import suppose
from generator.sheet.manual import Manual

ONE = read_difference("1 °C")
DEGREES = {"C": "°C", "F": "°F"}


def figure(value: str, bound: str, printed: str | None = None) -> Figure:
    return figure_of(
        read_temperature(value),
        read_temperature(printed) if printed else None,
        bound,
        ONE,  # type: ignore[arg-type]
    )


@each_row(
    ("value", "printed", "bound", "shown_c", "read_c", "read_f"),
    [
        ("135 °F", "57 °C", "min", 58, 59, 137),
        ("145 °F", "63 °C", "min", 63, 64, 147),
        ("150 °F", "66 °C", "min", 66, 67, 152),
        ("155 °F", "68 °C", "min", 69, 70, 157),
        ("158 °F", "70 °C", "min", 70, 71, 160),
        ("165 °F", "74 °C", "min", 74, 75, 167),
        ("130 °F", "54.4 °C", "min", 55, 56, 132),
        ("70 °F", "21 °C", "max", 21, 20, 68),
        ("41 °F", "5 °C", "max", 5, 4, 39),
    ],
)
def test_figures(
    value: str, printed: str, bound: str, shown_c: int, read_c: int, read_f: int
) -> None:
    """Worked by hand: the stricter of printed and exact, rounded to the strict side; the set-point
    with ±1 °C (1.8 °F) on top. Values and printed figures: Food Code 2022, 3-401.11 and
    3-501.14."""
    found = figure(value, bound, printed)
    assert found.shown_f == read_temperature(value).in_unit("°F"), (
        "the unit of record stands untouched"
    )
    assert (found.shown_c, found.read_at_c, found.read_at_f) == (shown_c, read_c, read_f)


@given(
    st.fractions(min_value=-40, max_value=300, max_denominator=100),
    st.sampled_from(["°C", "°F"]),
    st.sampled_from(["min", "max"]),
    st.fractions(min_value=0, max_value=5, max_denominator=10),
)
def test_every_figure_is_on_the_strict_side(
    value: Fraction, unit: str, bound: str, off: Fraction
) -> None:
    limit = Temperature.of(value, unit)  # type: ignore[arg-type]
    accuracy = type(ONE)(off)
    found = figure_of(limit, None, bound, accuracy)  # type: ignore[arg-type]
    for degree in ("°C", "°F"):
        exact, margin = limit.in_unit(degree), accuracy.in_unit(degree)  # type: ignore[arg-type]
        shown, read = found.shown(degree), found.read_at(degree)  # type: ignore[arg-type]
        if bound == "min":
            assert shown >= exact and read >= exact + margin
        else:
            assert shown <= exact and read <= exact - margin


def component(
    species: str | None = "none", form: str | None = None, state: str | None = "raw", **more: object
) -> Component:
    return Component("x", "X", Fraction(1), species, state, form, True, (), **more)  # type: ignore[arg-type]


@each_row(
    ("species", "form", "stuffed", "group"),
    [
        ("beef", "intact", False, "a1"),
        ("fish", "intact", False, "a1"),
        ("crustacean", "intact", False, "a1"),
        ("pork", "comminuted", False, "a2"),
        ("beef", "injected", False, "a2"),
        ("beef", "tenderised", False, "a2"),
        ("pork", None, False, "a2"),
        ("egg", "liquid", False, "a2"),
        ("ostrich", "intact", False, "a2"),
        ("chicken", "intact", False, "a3"),
        ("guinea-fowl", "comminuted", False, "a3"),
        ("quail", "intact", False, "a3"),
        ("pheasant", "intact", False, "a3"),
        ("rhea", "intact", False, "a2"),
        ("wild-game", "intact", False, "a3"),
        ("pork", "intact", True, "a3"),
        (None, "intact", False, "a3"),
        ("unicorn", "intact", False, "a3"),
    ],
)
def test_groups(
    demo: Manual, species: str | None, form: str | None, stuffed: bool, group: str
) -> None:
    """Food Code 2022, 3-401.11(A)(1) to (3); a fact not stated counts as the strictest."""
    assert demo.house is not None
    assert group_of(component(species, form), demo.house.pack, stuffed) == group


components = st.builds(
    component,
    species=st.sampled_from(
        [None, "none", "beef", "pork", "chicken", "egg", "fish", "ostrich", "wild-game", "rabbit"]
    ),
    form=st.sampled_from([None, "intact", "comminuted", "injected", "liquid"]),
    state=st.sampled_from([None, "raw", "pasteurised", "ready-to-eat"]),
    cooked=st.booleans(),
)


@given(st.lists(components, max_size=7), st.booleans())
def test_a_mixture_takes_the_highest_group_of_anything_in_it(
    demo: Manual, parts: list[Component], stuffed: bool
) -> None:
    assert demo.house is not None
    pack = demo.house.pack
    found = highest(Product(tuple(parts), stuffed=stuffed), pack)
    raw = [c for c in parts if c.raw_animal]
    if not raw:
        assert found is None
        return
    assert found is not None
    for one in raw:
        assert pack.ranking.index(found[0]) >= pack.ranking.index(group_of(one, pack, stuffed))
    if any(c.species in ("chicken", None) for c in raw):
        assert found[0] == "a3", "poultry in a mixture makes it poultry"


def cook(manual: Manual, target: str, formula: str = "pork-bake", step: str = "bake") -> Limit:
    walk = suppose(manual, formula, step, read_target(target))
    return next(lm for lm in walk.limits if lm.hazard == "cook")


@pytest.mark.parametrize(
    ("target", "status", "value_f", "hold", "read"),
    [
        # comminuted pork with eggs, ±1 °C: the row for target − 1 °C
        ("core 72 °C", "meets", 158, 0, 72),
        ("core 71 °C", "meets", 158, 0, 71),
        ("core 70 °C", "meets", 155, 17, 70),
        ("core 69 °C", "meets", 150, 60, 69),
        ("core 68 °C", "meets", 150, 60, 68),
        ("core 67 °C", "meets", 150, 60, 67),
        ("core 66 °C", "meets", 145, 180, 66),
        ("core 64 °C", "meets", 145, 180, 64),
        ("core 64 °C for 10 min", "meets", 145, 600, 64),
        ("core 70 °C for 17 s", "meets", 155, 17, 70),
        ("core 69 °C for 17 s", "close", 155, 17, 70),
        ("core 66 °C for 1 min", "close", 150, 60, 67),
        ("core 63 °C", "close", 145, 180, 64),
        ("core 65 °C for 1 min", "fails", None, None, None),
        ("core 68 °C for 59 s", "fails", None, None, None),
        ("core 62 °C for 8 h", "fails", None, None, None),
        ("core 155 °F", "meets", 150, 60, 69),
        ("core 155 °F for 17 s", "close", 155, 17, 70),
        ("core 157 °F", "meets", 155, 17, 70),
    ],
)
def test_rows_for_a_target(
    clean: Manual, target: str, status: str, value_f: int | None, hold: int | None, read: int | None
) -> None:
    """Worked by hand from Food Code 2022, 3-401.11(A)(2) and its chart: 155 °F for 17 s, 145 °F
    for 3 min, 150 °F for 1 min, 158 °F instant. Nothing lies between the rows."""
    limit = cook(clean, target)
    assert limit.verdict.status == status
    if status != "fails":
        assert limit.figure is not None
        assert limit.figure.value.in_unit("°F") == value_f
        assert (limit.hold_s, limit.read) == (hold, read)
    else:
        assert limit.verdict.fixes == (
            "core 71 °C",
            "core 70 °C for 17 s",
            "core 67 °C for 1 min",
            "core 64 °C for 3 min",
        )
        for fix in limit.verdict.fixes:
            assert cook(clean, fix).verdict.status == "meets"


def test_sixty_five_degrees_is_below_the_150_row(clean: Manual) -> None:
    """65 °C is 149 °F: it doesn't meet 150 °F for 1 min (Food Code 3-401.11(A)(2) chart)."""
    assert cook(clean, "core 65 °C for 1 min").verdict.status == "fails"
    assert cook(clean, "core 65 °C for 3 min").verdict.status == "meets"


@given(st.integers(500, 900), st.integers(0, 400))
def test_no_row_is_invented(clean: Manual, tenths: int, hold: int) -> None:
    """Property: whatever the target, the limit shown is a row of its group, and the target meets
    it."""
    celsius = Fraction(tenths, 10)
    text = f"core {tenths / 10} °C" + (f" for {hold} s" if hold else "")
    limit = cook(clean, text)
    assert clean.house is not None and limit.figure is not None
    rows = {
        (r.value.celsius, r.hold.seconds)
        for _, r in clean.house.pack.cook_rows("a2")
        if r.value and r.hold
    }
    assert (limit.figure.value.celsius, limit.row_hold_s) in rows
    printed = {135, 145, 150, 155, 158, 165}
    assert limit.figure.shown_f in printed, "no °F limit the code doesn't print"
    if limit.verdict.status != "fails":
        assert limit.figure.value.celsius <= celsius
        assert not hold or hold >= (limit.row_hold_s or 0)


def test_poultry_has_no_longer_time_at_a_lower_temperature(demo: Manual) -> None:
    """Food Code 2022, 3-401.11(A)(3): 165 °F, under 1 s; no other row."""
    walk = suppose(demo, "turkey-chive-roll", "poach", read_target("core 68 °C for 2 h"))
    limit = next(lm for lm in walk.limits if lm.hazard == "cook")
    assert limit.verdict.status == "fails"
    assert [o.figure.value.in_unit("°F") for o in limit.options] == [165]


def roast(kitchen: Path, **changes: str) -> Path:
    """The clean kitchen's bake made a roast of beef."""
    facts = {
        "species": "beef",
        "form": "intact",
        "at": "170 °C",
        "oven": "convection",
        "target": "core 58 °C for 50 min",
    }
    facts |= changes
    line = changes.get("line", "{amount: 3 kg, whole: yes}")
    edit(kitchen, "formulas/pork-bake.yaml", "pork-shoulder: 3 kg", f"pork-shoulder: {line}")
    edit(
        kitchen,
        "ingredients/all.yaml",
        "name: Pork shoulder\n  species: pork\n  state: raw\n  form: intact",
        f"name: Shoulder\n  species: {facts['species']}\n  state: raw\n  form: {facts['form']}",
    )
    edit(
        kitchen,
        "formulas/pork-bake.yaml",
        "  bind:\n    whole-egg: 6 each\n    cream: 1 cup\n",
        changes.get("bind", "  bind:\n    salt: 1 %\n"),
    )
    edit(
        kitchen,
        "processes/baked.yaml",
        "  - do: grind\n    add: [meat]\n  - do: mix\n    add: [bind, seasoning]\n"
        "    with: bowl-mixer\n",
        changes.get("first", "  - do: toss\n    add: [meat, bind, seasoning]\n"),
    )
    edit(kitchen, "processes/baked.yaml", "do: bake", "do: roast")
    edit(
        kitchen,
        "processes/baked.yaml",
        "at: 180 °C",
        f"at: {facts['at']}" if facts["at"] else "time: 2 h",
    )
    edit(kitchen, "equipment/house.yaml", "heat: convection", f"heat: {facts['oven']}")
    edit(
        kitchen,
        "formulas/pork-bake.yaml",
        "targets: {bake: core 72 °C}",
        f"targets: {{roast: {facts['target']}}}",
    )
    return kitchen


def test_the_roast_chart_for_a_whole_roast(kitchen: Path) -> None:
    """Food Code 3-401.11(B): 133 °F for 56 min, 131 °F for 89 min; 325 °F in a convection oven for
    a roast under 10 lb. 58 − 1 °C is 134.6 °F: the 133 °F row."""
    manual = compute(roast(kitchen, target="core 58 °C for 60 min"))
    assert manual.errors == ()
    limit = manual.walks["pork-bake"].limits[0]
    assert limit.figure is not None
    assert (limit.figure.value.in_unit("°F"), limit.row_hold_s, limit.hold_s) == (133, 3360, 3600)
    assert limit.source.clause.startswith("3-401.11(B)")


def test_a_house_limit_for_a_roast_is_held_against_its_chart(kitchen: Path) -> None:
    """3-401.11(B)(2): 140 °F (60 °C) for 12 min does for a roast. The kitchen's 61 °C for 15 min is
    stricter than that, and no looser for being colder than the 145 °F of the same beef as steak."""
    path = roast(kitchen, target="core 63 °C for 20 min") / "standards/kitchen.yaml"
    house = "house_limits: [{for: cook, food: beef, limit: core 61 °C for 15 min}]\n"
    path.write_text(path.read_text("utf-8") + house, "utf-8")
    manual = compute(kitchen)
    assert manual.errors == () and "house-limit-looser" not in {f.code for f in manual.findings}


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"form": "comminuted"}, "whole, intact roasts"),
        ({"form": "injected"}, "whole, intact roasts"),
        ({"at": "160 °C"}, "the oven chart requires 325 °F (163 °C) or hotter"),
        ({"at": ""}, "the oven's temperature is not stated"),
        ({"oven": "still"}, "the oven chart requires 350 °F (177 °C) or hotter"),
        ({"oven": "high-humidity"}, "the oven chart requires 250 °F (121 °C) or cooler"),
        (
            {"bind": "  bind:\n    whole-egg: 6 each\n"},
            "one whole roast alone, never for a mixture",
        ),
        ({"first": "  - do: grind\n    add: [meat, bind, seasoning]\n"}, "whole, intact roasts"),
        # cut, filled or portioned first, and no word that each piece stays one roast; or cut up in
        # spite of it
        ({"line": "3 kg"}, "cut, filled or portioned first"),
        (
            {"line": "{amount: 3 kg, prepare: 20 mm dice, whole: yes}"},
            "cut, filled or portioned first",
        ),
        (
            {"line": "{amount: 3 kg, prepare: sliced thick, whole: yes}"},
            "cut, filled or portioned first",
        ),
        ({"line": "{amount: 3 kg, prepare: in three joints}"}, "cut, filled or portioned first"),
        (
            {"first": "  - do: toss\n    add: [meat, bind, seasoning]\n  - do: cut\n"},
            "cut, filled or portioned first",
        ),
        (
            {"first": "  - do: toss\n    add: [meat, bind, seasoning]\n  - do: slice\n"},
            "cut, filled or portioned first",
        ),
        (
            {
                "first": "  - do: toss\n    add: [meat, bind, seasoning]\n  - do: strip\n"
                "    does: cuts\n"
            },
            "cut, filled or portioned first",
        ),
    ],
)
def test_the_roast_chart_is_for_nothing_else(
    kitchen: Path, changes: dict[str, str], words: str
) -> None:
    manual = compute(roast(kitchen, target="core 58 °C for 60 min", **changes))
    errors = [f for f in manual.errors if f.code == "target-below-limit"]
    assert len(errors) == 1
    assert words in as_record(errors[0])["help"]


BAG = (
    "bag: {kind: vessel, name: Roasting bag, shape: casing, inside: {diameter: 120 mm, "
    "length: 300 mm}, moisture_tight: yes}\n"
)


def bagged(
    kitchen: Path, at: str, *, bag: str = BAG, oven: str = "still", named: str = "bag"
) -> list[str]:
    """The errors of the roast with a bag named at the step that roasts it."""
    roast(kitchen, target="core 58 °C for 60 min", at=at, oven=oven)
    with (kitchen / "standards/equipment/house.yaml").open("a") as file:
        file.write(bag)
    edit(
        kitchen, "processes/baked.yaml", "  - do: roast\n", f"  - do: roast\n    vessel: {named}\n"
    )
    return [f.code for f in compute(kitchen).errors]


@pytest.mark.parametrize("oven", ["still", "convection", "high-humidity"])
def test_a_bag_no_moisture_passes_is_high_humidity(kitchen: Path, oven: str) -> None:
    """The oven chart's footnote: 250 °F or less, 121.1 °C, for the bag in any oven."""
    assert bagged(kitchen, "120 °C", oven=oven) == []


@pytest.mark.parametrize(
    ("at", "changes"),
    [
        ("125 °C", {}),
        ("180 °C", {}),  # the still oven's figure isn't the bag's
        ("120 °C", {"bag": BAG.replace(", moisture_tight: yes", "")}),
        ("120 °C", {"named": "as the formula says"}),
    ],
)
def test_any_other_heat_or_vessel_is_not(kitchen: Path, at: str, changes: dict[str, str]) -> None:
    assert bagged(kitchen, at, **changes) == ["target-below-limit"]


@pytest.mark.parametrize("species", ["beef", "pork"])
def test_corned_beef_and_ham_are_roasts_though_they_are_injected(
    kitchen: Path, species: str
) -> None:
    """3-401.11(B): whole meat roasts including beef, corned beef, lamb, pork, and cured pork roasts
    such as ham."""
    roast(kitchen, target="core 58 °C for 60 min", species=species, form="injected")
    assert [f.code for f in compute(kitchen).errors] == ["target-below-limit"]
    edit(
        kitchen, "ingredients/all.yaml", "form: injected\n", "form: injected\n  cured_roast: yes\n"
    )
    manual = compute(kitchen)
    assert manual.errors == ()
    assert manual.walks["pork-bake"].limits[0].source.clause.startswith("3-401.11(B)")


@pytest.mark.parametrize(
    ("species", "form"),
    [
        ("lamb", "injected"),
        ("beef", "tenderised"),
        ("pork", "comminuted"),
        ("turkey", "injected"),
        ("veal", "injected"),
    ],
)
def test_no_other_roast_is_one_by_that_word(kitchen: Path, species: str, form: str) -> None:
    roast(kitchen, target="core 58 °C for 60 min", species=species, form=form)
    edit(kitchen, "ingredients/all.yaml", f"form: {form}\n", f"form: {form}\n  cured_roast: yes\n")
    assert [f.code for f in compute(kitchen).errors] == ["target-below-limit"]


def test_meat_injected_here_is_a_roast_with_a_cure_and_without_one_it_is_not(kitchen: Path) -> None:
    """Injected with brine it is no intact meat; pumped with a cure, by a variance, it is corned
    beef."""
    steps = "  - do: season\n    add: [seasoning]\n  - do: inject\n    add: [meat, bind]\n"
    roast(kitchen, target="core 58 °C for 60 min", first=steps)
    assert "target-below-limit" in [f.code for f in compute(kitchen).errors]
    (kitchen / "standards/ingredients/cure.yaml").write_text(
        "cure: {name: Cure, species: none, state: ready-to-eat, allergens: none, tcs: no, "
        "function: cure, nitrite: 6.25 %}\n"
    )
    edit(kitchen, "formulas/pork-bake.yaml", "    salt: 1 %\n", "    salt: 1 %\n    cure: 0.01 %\n")
    assert "target-below-limit" not in [f.code for f in compute(kitchen).errors]


@pytest.mark.parametrize("prepare", ["tied", "cut into three joints", "90 mm thick"])
def test_a_joint_is_a_whole_roast_where_its_line_says_so(kitchen: Path, prepare: str) -> None:
    line = f"{{amount: 3 kg, prepare: {prepare}, whole: yes}}"
    assert compute(roast(kitchen, target="core 58 °C for 60 min", line=line)).errors == ()


def test_lamb_and_pork_roasts_but_not_poultry(kitchen: Path) -> None:
    manual = compute(roast(kitchen, species="goose", target="core 58 °C for 60 min"))
    assert [f.code for f in manual.errors] == ["target-below-limit"]
    assert as_record(manual.errors[0])["message"].endswith(
        "is below the limit for poultry: 165 °F (74 °C), any one reading."
    )


def test_two_stage_cooling(clean: Manual) -> None:
    """Food Code 3-501.14(A): 135 to 70 °F within 2 h and to 41 °F within 6 h, counted from 135
    °F."""
    limit = next(lm for lm in clean.walks["pork-bake"].limits if lm.hazard == "cool")
    assert [(s.figure.value.in_unit("°F"), s.within_s) for s in limit.stages] == [
        (70, 7200),
        (41, 21600),
    ]
    assert limit.clock is not None
    assert (limit.clock.shown_c, limit.clock.read_at_c) == (58, 59)


def test_food_that_was_never_hot_has_four_hours(clean: Manual) -> None:
    """Food Code 3-501.14(B)."""
    limit = next(lm for lm in clean.walks["rice-salad"].limits if lm.hazard == "cool")
    assert [(s.figure.value.in_unit("°F"), s.within_s) for s in limit.stages] == [(41, 14400)]
    assert limit.clock is None


def test_browning_before_simmering_is_no_limit(demo: Manual) -> None:
    limits = [(lm.step, lm.hazard) for lm in demo.walks["brown-turkey-stock"].limits]
    assert limits == [("simmer", "cook"), ("chill", "cool"), ("store", "cold_hold")]


def test_chilling_between_two_cooks_makes_both_due(kitchen: Path) -> None:
    """Heat, cool and finish later is non-continuous cooking (Food Code 3-401.14): not by
    silence."""
    edit(
        kitchen,
        "processes/baked.yaml",
        "  - do: fill",
        "  - do: simmer\n  - do: chill\n    id: chill-first\n    in: blast\n"
        "    target: to 4 °C\n  - do: fill",
    )
    assert [f.code for f in compute(kitchen).errors] == ["target-missing"]


def test_hot_holding(kitchen: Path) -> None:
    """Food Code 3-501.16(A)(1): 135 °F; on ±1 °C the probe reads 59 °C."""
    edit(
        kitchen,
        "processes/baked.yaml",
        "  - do: chill\n    in: blast\n    target: to 4 °C\n  - do: store\n    in: cold-room\n",
        "  - do: hold-hot\n    target: at 65 °C\n",
    )
    assert [f.code for f in compute(kitchen).errors] == ["chill-missing"], "it says that it keeps"
    edit(kitchen, "formulas/pork-bake.yaml", "keeps: {cold: 5 days}\n", "")
    manual = compute(kitchen)
    hold = next(lm for lm in manual.walks["pork-bake"].limits if lm.hazard == "hot_hold")
    assert hold.figure is not None
    assert (hold.figure.shown_c, hold.figure.read_at_c, hold.read, hold.verdict.status) == (
        58,
        59,
        65,
        "meets",
    )
    assert not [lm for lm in manual.walks["pork-bake"].limits if lm.hazard == "cold_hold"]
    edit(kitchen, "processes/baked.yaml", "at 65 °C", "at 56 °C")
    assert [f.code for f in compute(kitchen).errors] == ["target-below-limit"]


def test_plant_food_for_hot_holding(kitchen: Path) -> None:
    """Food Code 3-401.13: plant food cooked for hot holding, 135 °F, no time set."""
    edit(
        kitchen,
        "processes/toss.yaml",
        "  - do: chill\n    in: cold-room\n    target: to 4 °C\n",
        "  - do: boil\n    target: core 70 °C\n  - do: hold-hot\n",
    )
    edit(
        kitchen,
        "ingredients/all.yaml",
        "name: Cooked rice\n  species: none\n  state: ready-to-eat",
        "name: Rice\n  species: none\n  state: raw",
    )
    limit = next(lm for lm in compute(kitchen).walks["rice-salad"].limits if lm.hazard == "cook")
    assert limit.figure is not None
    assert (limit.figure.shown_f, limit.hold_s, limit.read) == (135, None, 70)


def test_dates(clean: Manual, demo: Manual) -> None:
    """Food Code 3-501.17: 7 days with the day of preparation day 1; the chef's shorter figure
    holds."""
    pork, salad = clean.walks["pork-bake"].dates, clean.walks["rice-salad"].dates
    assert pork is not None and salad is not None
    assert (pork.day, pork.law_day, pork.chef_day) == (5, 7, 5)
    assert salad.parts_to_date == ("Cooked rice", "Cream"), "both are ready to eat as they come"
    loaf = demo.walks["mill-loaf"].dates
    assert loaf is not None and loaf.law_day is None
    assert clean.walks["house-spice"].dates.kind == "dry"  # type: ignore[union-attr]


def test_without_a_chefs_figure_the_law_stands(kitchen: Path) -> None:
    edit(kitchen, "formulas/pork-bake.yaml", "keeps: {cold: 5 days}\n", "")
    dates = compute(kitchen).walks["pork-bake"].dates
    assert dates is not None and dates.day == 7


def test_a_made_ahead_part_carries_its_raw_meat_along(kitchen: Path) -> None:
    """Allergens and limits come from the whole formula: raw chicken in a made-ahead mixture
    counts."""
    (kitchen / "standards/ingredients/poultry.yaml").write_text(
        "chicken-leg:\n  name: Chicken leg\n  species: chicken\n  state: raw\n  form: intact\n"
        "  allergens: none\n"
    )
    (kitchen / "standards/formulas/raw-mix.yaml").write_text(
        "name: Raw mix\nrevision: 1\neffective: 2026-01-01\nstation: pass\nbase: spice\n"
        "parts:\n  spice:\n    chicken-leg: 1 kg\nprocess: blend\nbatches: [1 kg base]\n"
    )
    edit(
        kitchen,
        "formulas/pork-bake.yaml",
        "house-spice: 1 %",
        "house-spice: 1 %\n    raw-mix: 10 %",
    )
    errors = compute(kitchen).errors
    assert [f.code for f in errors] == ["target-below-limit"]
    assert "poultry" in errors[0].message


def test_what_needs_no_cold_needs_none_in_the_formula_that_takes_it_in(kitchen: Path) -> None:
    """What is cooked in food that needs the cold needs it from then on; what is only put on it
    doesn't."""
    edit(
        kitchen,
        "processes/baked.yaml",
        "  - do: store\n",
        "  - do: portion\n    add: [garnish]\n  - do: store\n",
    )
    edit(kitchen, "processes/baked.yaml", "bind, seasoning]", "bind, seasoning, garnish]")
    edit(
        kitchen,
        "formulas/pork-bake.yaml",
        "process: baked",
        "  garnish:\n    nutmeg: 1 %\nprocess: baked",
    )
    edit(
        kitchen,
        "formulas/rice-salad.yaml",
        "    cream: 200 ml",
        "    pork-bake: 200 g\n    cream: 200 ml",
    )
    parts = compute(kitchen).walks["rice-salad"].end.components
    found = {(c.came, c.name, c.cooked, c.tcs) for c in parts if c.came}
    assert {
        ("pork-bake", "Fine salt", True, True),
        ("pork-bake", "Nutmeg", False, False),
    } <= found


def test_allergens_of_the_whole_formula(clean: Manual, demo: Manual) -> None:
    assert [str(a) for a in clean.sheets["pork-bake"].allergens] == ["milk", "eggs"]
    assert [str(a) for a in demo.sheets["mill-loaf"].allergens] == ["milk", "eggs", "wheat"]


def test_undercooking_is_refused_where_it_is_not_lawful(kitchen: Path) -> None:
    """Food Code 3-401.11(D) with 3-603.11; never for a highly susceptible population (3-801.11)."""
    edit(
        kitchen,
        "processes/baked.yaml",
        "  - do: chill\n    in: blast\n    target: to 4 °C\n  - do: store\n    in: cold-room\n",
        "",
    )
    edit(
        kitchen,
        "formulas/pork-bake.yaml",
        "keeps: {cold: 5 days}\n",
        "undercooked: Asked for at the table.\n",
    )
    edit(kitchen, "formulas/pork-bake.yaml", "core 72 °C", "core 60 °C")
    assert compute(kitchen).errors == ()
    edit(kitchen, "kitchen.yaml", "serves: general", "serves: highly-susceptible")
    refused = {"undercooked-refused", "susceptible-raw-eggs"}
    assert {f.code for f in compute(kitchen).errors} == refused


def test_the_page_reads_fahrenheit_where_the_kitchen_does(kitchen: Path) -> None:
    edit(kitchen, "kitchen.yaml", "temperature: °C", "temperature: °F")
    limit = compute(kitchen).walks["pork-bake"].limits[0]
    assert limit.read == 162, "72 °C is 161.6 °F, rounded up; the set-point of 158 °F is 160 °F"


RANK = {"fails": 0, "close": 1, "meets": 2}


@given(st.integers(550, 800), st.integers(1, 250), st.integers(0, 300))
def test_hotter_or_longer_is_never_worse(clean: Manual, tenths: int, more: int, hold: int) -> None:
    """Property: the verdict never falls when the target rises or is held longer."""
    low = RANK[cook(clean, f"core {tenths / 10} °C for {hold} s").verdict.status]
    hot = RANK[cook(clean, f"core {(tenths + more) / 10} °C for {hold} s").verdict.status]
    long = RANK[cook(clean, f"core {tenths / 10} °C for {hold + more} s").verdict.status]
    assert hot >= low and long >= low


@given(st.integers(400, 900), st.integers(0, 300), st.booleans())
def test_the_probe_reads_no_less_than_target_and_set_point(
    clean: Manual, tenths: int, hold: int, held: bool
) -> None:
    """Property: a target that meets its row is shown whole; the largest figure is what is read, and
    every fix of one that fails meets."""
    limit = cook(clean, f"core {tenths / 10} °C" + (f" for {hold} s" if held else ""))
    assert limit.figure is not None and limit.read is not None
    assert limit.read >= limit.figure.read_at_c
    if limit.verdict.status != "fails":
        assert limit.read >= Fraction(tenths, 10)
        assert (limit.hold_s or 0) >= (limit.row_hold_s or 0)
    for fix in limit.verdict.fixes:
        assert cook(clean, fix).verdict.status == "meets"


def fish(kitchen: Path, target: str) -> Limit:
    """The clean kitchen's bake made of whole pieces of fish."""
    edit(
        kitchen,
        "ingredients/all.yaml",
        "name: Pork shoulder\n  species: pork",
        "name: Shoulder\n  arrives: cold\n  species: fish",
    )
    edit(kitchen, "formulas/pork-bake.yaml", "    whole-egg: 6 each\n", "")
    edit(
        kitchen,
        "processes/baked.yaml",
        "  - do: grind\n    add: [meat]\n  - do: mix\n    add: [bind, seasoning]\n"
        "    with: bowl-mixer\n",
        "  - do: toss\n    add: [meat, bind, seasoning]\n",
    )
    edit(kitchen, "formulas/pork-bake.yaml", "core 72 °C", target)
    return compute(kitchen).walks["pork-bake"].limits[0]


@pytest.mark.parametrize(
    ("target", "status", "read", "hold"),
    [
        ("core 64 °C", "meets", 64, 15),
        ("core 70 °C for 1 min", "meets", 70, 60),
        ("core 63 °C", "close", 64, 15),
        ("core 64 °C for 10 s", "fails", 64, 15),
        ("core 62 °C for 1 h", "fails", 64, 15),
    ],
)
def test_fish_in_whole_pieces(
    kitchen: Path, target: str, status: str, read: int, hold: int
) -> None:
    """Food Code 2022, 3-401.11(A)(1): 145 °F for 15 s, no other row. On ±1 °C the probe reads
    62.8 + 1, so 64 °C; 63 °C is above 145 °F only if the probe is exact."""
    limit = fish(kitchen, target)
    assert (limit.verdict.status, limit.read, limit.hold_s) == (status, read, hold)
    assert [o.figure.value.in_unit("°F") for o in limit.options] == [145]


@pytest.mark.parametrize(
    ("accuracy", "target", "row", "read_f"),
    [
        ("1 °C", "core 157 °F", 155, 157),
        ("1 °C", "core 156 °F", 150, 156),
        ("2 °F", "core 157 °F", 155, 157),
        ("2 °F", "core 156 °F", 150, 156),
        ("0.5 °C", "core 156 °F", 155, 156),
        ("0.5 °C", "core 155 °F", 150, 155),
    ],
)
def test_the_row_is_chosen_for_the_target_less_the_probes_error(
    kitchen: Path, accuracy: str, target: str, row: int, read_f: int
) -> None:
    """By hand: 157 − 1.8 = 155.2 and 157 − 2 = 155 reach the 155 °F row; 156 − 1.8 doesn't;
    156 − 0.9 = 155.1 does. Rows: Food Code 2022, 3-401.11(A)(2)."""
    edit(kitchen, "kitchen.yaml", "temperature: °C", "temperature: °F")
    edit(kitchen, "equipment/house.yaml", "accuracy: 1 °C", f"accuracy: {accuracy}")
    edit(kitchen, "formulas/pork-bake.yaml", "core 72 °C", target)
    limit = compute(kitchen).walks["pork-bake"].limits[0]
    assert limit.figure is not None
    assert (limit.figure.value.in_unit("°F"), limit.read) == (row, read_f)
    assert limit.verdict.status == "meets"


def test_stuffing_makes_it_stuffed_food(kitchen: Path) -> None:
    """Food Code 2022, 3-401.11(A)(3): stuffed meat, 165 °F."""
    edit(kitchen, "processes/baked.yaml", "do: fill", "do: stuff")
    manual = compute(kitchen)
    assert [f.code for f in manual.errors] == ["target-below-limit"]
    assert "stuffed food: 165 °F" in as_record(manual.errors[0])["message"]


def test_a_rest_between_two_heats_makes_the_first_due(kitchen: Path) -> None:
    """Cooked in two goes (Food Code 3-401.14) is not allowed by silence."""
    edit(
        kitchen,
        "processes/baked.yaml",
        "  - do: fill",
        "  - do: simmer\n  - do: rest\n    time: 10 min\n  - do: fill",
    )
    assert [f.code for f in compute(kitchen).errors] == ["target-missing"]
    edit(kitchen, "processes/baked.yaml", "  - do: rest\n    time: 10 min\n", "")
    assert compute(kitchen).errors == (), "browning straight before the bake is no limit"


def test_raw_food_chilled_has_no_cooling_clock(kitchen: Path) -> None:
    """Food Code 3-501.14: (A) is for cooked food, (B) for ready-to-eat food made at room
    temperature."""
    edit(
        kitchen,
        "processes/baked.yaml",
        "  - do: fill",
        "  - do: chill\n    id: chill-raw\n    target: to 2 °C\n  - do: fill",
    )
    cooled = [lm.step for lm in compute(kitchen).walks["pork-bake"].limits if lm.hazard == "cool"]
    assert cooled == ["chill"]


def test_what_ends_frozen_is_not_held_cold(kitchen: Path) -> None:
    """Food Code 3-501.17: the days run while it is refrigerated; freezing stops the clock and
    thawing doesn't start it anew."""
    edit(kitchen, "processes/baked.yaml", "  - do: store\n    in: cold-room\n", "  - do: freeze\n")
    limits = compute(kitchen).walks["pork-bake"].limits
    assert [lm.hazard for lm in limits] == ["cook", "cool", "cold_hold"]
    assert isinstance(limits[-1], InWords) and limits[-1].source.clause == "3-501.11"
    edit(
        kitchen,
        "processes/baked.yaml",
        "  - do: freeze\n",
        "  - do: freeze\n  - do: thaw\n    in: cold-room\n",
    )
    manual = compute(kitchen)
    assert [lm.hazard for lm in manual.walks["pork-bake"].limits] == [
        "cook",
        "cool",
        "thaw",
        "cold_hold",
    ]
    dates = manual.walks["pork-bake"].dates
    assert dates is not None and (dates.day, dates.law_day) == (5, 7)


@pytest.mark.parametrize(
    ("days", "codes"),
    [
        ("6 days", []),
        ("7 days", []),
        ("1 week", []),
        ("8 days", ["keeps-beyond-law"]),
        ("9 days", ["keeps-beyond-law"]),
    ],
)
def test_the_seventh_day_is_the_last(kitchen: Path, days: str, codes: list[str]) -> None:
    """Food Code 3-501.17(A): at most 7 days at 41 °F, the day of preparation counted as day 1."""
    edit(kitchen, "formulas/pork-bake.yaml", "5 days", days)
    assert [f.code for f in compute(kitchen).errors] == codes


def test_a_cooked_part_is_cooked_and_brings_its_date(kitchen: Path) -> None:
    """Chicken cooked in its own formula asks for no second limit where it is stirred in cold, but
    its date counts (Food Code 3-501.17: the earliest-prepared part)."""
    (kitchen / "standards/ingredients/poultry.yaml").write_text(
        "hen:\n  name: Hen\n  species: chicken\n  state: raw\n  form: intact\n  allergens: none\n"
    )
    (kitchen / "standards/processes/boiled.yaml").write_text(
        "name: Boiled\nsteps:\n  - do: boil\n    add: [bird]\n    target: core 80 °C\n"
        "  - do: chill\n    in: blast\n    target: to 4 °C\n"
    )
    (kitchen / "standards/formulas/boiled-hen.yaml").write_text(
        "name: Boiled hen\nrevision: 1\neffective: 2026-01-01\nstation: pass\nbase: bird\n"
        "parts:\n  bird:\n    hen: 2 kg\nprocess: boiled\nbatches: [2 kg base]\n"
    )
    edit(
        kitchen,
        "formulas/rice-salad.yaml",
        "    cooked-rice: 2 kg",
        "    cooked-rice: 2 kg\n    boiled-hen: 400 g",
    )
    manual = compute(kitchen)
    assert manual.errors == ()
    walk = manual.walks["rice-salad"]
    assert [lm.hazard for lm in walk.limits] == ["cool", "cold_hold"]
    assert walk.dates is not None
    assert set(walk.dates.parts_to_date) == {"Cooked rice", "Cream", "Boiled hen"}
    assert manual.walks["boiled-hen"].limits[0].figure.value.in_unit("°F") == 165


def test_what_a_limit_is_for_is_said_in_the_trades_words(kitchen: Path) -> None:
    """Groups of Food Code 2022, 3-401.11(A): what puts the food into its group is named."""
    fish(kitchen, "core 60 °C")
    message = as_record(compute(kitchen).errors[0])["message"]
    assert message == (
        "The bake target, core 60 °C, is below the limit for fish: 145 °F (63 °C) for 15 s."
    )
    edit(kitchen, "ingredients/all.yaml", "species: fish", "species: goat")
    message = as_record(compute(kitchen).errors[0])["message"]
    assert "is below the limit for intact meat: 145 °F" in message
    edit(kitchen, "ingredients/all.yaml", "form: intact", "form: injected")
    message = as_record(compute(kitchen).errors[0])["message"]
    assert "is below the limit for injected meat: 145 °F (63 °C) for 3 min" in message


def test_dry_goods_keep_the_chefs_figure(kitchen: Path) -> None:
    """Food Code 3-501.17 dates only food that needs temperature control."""
    edit(kitchen, "formulas/house-spice.yaml", "dry: 90 days", "cold: 60 days")
    dates = compute(kitchen).walks["house-spice"].dates
    assert dates is not None
    assert (dates.kind, dates.day, dates.law_day) == ("dry", 60, None)
    assert dates.words == "Nothing in it needs temperature control."


def test_whose_day_it_is(kitchen: Path) -> None:
    words = {}
    for days in ("6 days", "7 days"):
        text = (kitchen / "standards/formulas/pork-bake.yaml").read_text()
        old = next(d for d in ("5 days", "6 days") if d in text)
        edit(kitchen, "formulas/pork-bake.yaml", old, days)
        dates = compute(kitchen).walks["pork-bake"].dates
        assert dates is not None
        words[days] = dates.words
    assert words == {"6 days": "day 6, the chef's figure", "7 days": "day 7, the code's"}


@pytest.mark.parametrize(
    ("target", "status", "read"),
    [
        ("at 134.9 °F", "fails", 59),
        ("at 135 °F", "close", 59),
        ("at 58 °C", "close", 59),
        ("at 136.7 °F", "close", 59),
        ("at 136.8 °F", "meets", 59),
        ("at 59 °C", "meets", 59),
        ("at 63 °C", "meets", 63),
        ("", "none", 59),
    ],
)
def test_a_hot_holding_target(kitchen: Path, target: str, status: str, read: int) -> None:
    """Food Code 3-501.16(A)(1): 135 °F. By hand: on ±1 °C (1.8 °F) 136.8 °F is the first sure
    reading, 59 °C the first whole degree; a hotter target is what is read."""
    edit(
        kitchen,
        "processes/baked.yaml",
        "  - do: chill\n    in: blast\n    target: to 4 °C\n  - do: store\n    in: cold-room\n",
        "  - do: hold-hot\n" + (f"    target: {target}\n" if target else ""),
    )
    limits = compute(kitchen).walks["pork-bake"].limits
    hold = next(lm for lm in limits if lm.hazard == "hot_hold")
    assert (hold.verdict.status, hold.read, hold.bound) == (status, read, "min")
    assert hold.basis.rule.endswith("135 °F (58 °C) or hotter".replace(" °", "\u00a0°"))


def test_cold_holding_is_read_colder_than_the_limit(clean: Manual) -> None:
    """Food Code 3-501.16(A)(2): 41 °F (5 °C); on ±1 °C the probe reads 4 °C, or 39 °F."""
    store = next(lm for lm in clean.walks["pork-bake"].limits if lm.hazard == "cold_hold")
    assert store.figure is not None
    assert (store.bound, store.read, store.figure.shown_c, store.figure.shown_f) == (
        "max",
        4,
        5,
        41,
    )
    assert (store.figure.read_at_c, store.figure.read_at_f) == (4, 39)
    assert store.basis.rule.endswith("41 °F (5 °C) or colder".replace(" °", "\u00a0°"))


@pytest.mark.parametrize(
    ("target", "status", "codes"),
    [
        ("to 4 °C", "meets", []),
        ("below 3 °C", "meets", []),
        ("to 4.1 °C", "close", ["target-within-probe-error"]),
        ("to 5 °C", "close", ["target-within-probe-error"]),
        ("to 41 °F", "close", ["target-within-probe-error"]),
        ("to 5.1 °C", "fails", ["target-above-limit"]),
    ],
)
def test_a_chilling_target(kitchen: Path, target: str, status: str, codes: list[str]) -> None:
    """Food Code 3-501.14(A)(2): 41 °F, which is 5 °C exactly; on ±1 °C 4 °C is the last sure
    one."""
    edit(kitchen, "processes/baked.yaml", "to 4 °C", target)
    manual = compute(kitchen)
    cool = next(lm for lm in manual.walks["pork-bake"].limits if lm.hazard == "cool")
    assert cool.verdict.status == status
    assert [f.code for f in manual.findings] == codes


def test_reheating_for_hot_holding(kitchen: Path) -> None:
    """Food Code 3-403.11(A): 165 °F for 15 s."""
    edit(
        kitchen,
        "processes/baked.yaml",
        "  - do: store\n    in: cold-room\n",
        "  - do: reheat\n    target: core 76 °C\n  - do: hold-hot\n",
    )
    limits = compute(kitchen).walks["pork-bake"].limits
    assert [lm.hazard for lm in limits] == ["cook", "cool", "reheat", "hot_hold"]
    reheat = limits[2]
    assert reheat.figure is not None
    assert (reheat.figure.shown_f, reheat.figure.shown_c, reheat.hold_s, reheat.read) == (
        165,
        74,
        15,
        76,
    )
    edit(kitchen, "processes/baked.yaml", "core 76 °C", "core 73 °C")
    assert [f.code for f in compute(kitchen).errors] == ["target-below-limit"]


def test_why_a_reheating_limit_is_said_food_first(kitchen: Path) -> None:
    """What is in it, then what counts as the strictest of it, then the probe."""
    edit(
        kitchen,
        "processes/toss.yaml",
        "  - do: chill\n    in: cold-room\n    target: to 4 °C\n",
        "  - do: reheat\n    target: core 76 °C for 15 s\n  - do: hold-hot\n  - do: serve\n",
    )
    edit(kitchen, "formulas/rice-salad.yaml", "keeps: {cold: 3 days}\n", "")
    limits = compute(kitchen).walks["rice-salad"].limits
    reheat = next(lm for lm in limits if lm.hazard == "reheat")
    names = [name for name, _ in reheat.basis.inputs]
    assert names[:3] == ["In it", "Bought", "Probe"]


def test_thawing_in_a_refrigerator_and_nowhere_else(kitchen: Path) -> None:
    """Food Code 3-501.13(A): under refrigeration, at 41 °F or less; other ways aren't held here."""
    edit(
        kitchen,
        "processes/baked.yaml",
        "steps:\n  - do: grind\n    add: [meat]\n",
        "steps:\n  - do: thaw\n    add: [meat]\n    in: cold-room\n  - do: grind\n",
    )
    manual = compute(kitchen)
    thaw = manual.walks["pork-bake"].limits[0]
    assert manual.errors == ()
    assert (thaw.hazard, thaw.bound, thaw.read) == ("thaw", "max", 4)
    edit(kitchen, "processes/baked.yaml", "    in: cold-room\n  - do: grind", "  - do: grind")
    assert [f.code for f in compute(kitchen).errors] == ["not-covered"]


@pytest.mark.parametrize(
    ("weight", "at", "fits"),
    [
        ("4535 g", "163 °C", True),
        ("4535 g", "162 °C", False),
        ("4535 g", "130 °C", False),
        ("10 lb", "130 °C", True),
        ("10 lb", "121 °C", False),
        ("10 lb", "250 °F", True),
    ],
)
def test_the_oven_chart_turns_at_ten_pounds(
    kitchen: Path, weight: str, at: str, fits: bool
) -> None:
    """Food Code 3-401.11(B), convection: under 10 lb (4535.9 g) 325 °F, which is 162.8 °C; from
    10 lb on 250 °F, which is 121.1 °C."""
    project = roast(kitchen, target="core 58 °C for 60 min", at=at)
    edit(project, "formulas/pork-bake.yaml", "fill_weight: 900 g", f"fill_weight: {weight}")
    edit(project, "equipment/house.yaml", "depth: 60 mm", "depth: 120 mm")
    edit(project, "formulas/pork-bake.yaml", "[4 dishes, 8 dishes]", "[4 dishes]")
    codes = [f.code for f in compute(project).errors]
    assert codes == ([] if fits else ["target-below-limit"])


@pytest.mark.parametrize(
    ("target", "codes", "read"),
    [("core 57 °C", ["target-below-limit"], None), ("core 60 °C", [], 60), ("core 90 °C", [], 90)],
)
def test_vegetables_for_hot_holding(
    kitchen: Path, target: str, codes: list[str], read: int | None
) -> None:
    """Food Code 3-401.13: 135 °F, which is 57.2 °C."""
    edit(
        kitchen,
        "processes/toss.yaml",
        "  - do: chill\n    in: cold-room\n    target: to 4 °C\n",
        f"  - do: boil\n    target: {target}\n  - do: hold-hot\n",
    )
    cooked_rice = "name: Cooked rice\n  species: none\n  state: ready-to-eat\n"
    raw = "name: Carrot\n  species: none\n  state: raw\n  tcs: no\n"
    edit(kitchen, "ingredients/all.yaml", cooked_rice, raw)
    edit(kitchen, "formulas/rice-salad.yaml", "keeps: {cold: 3 days}\n", "")
    manual = compute(kitchen)
    assert [f.code for f in manual.errors] == codes
    cooked = [lm for lm in manual.walks["rice-salad"].limits if lm.hazard == "cook"]
    assert [lm.read for lm in cooked] == ([read] if read else [])


def test_vegetables_boiled_and_chilled_have_no_cooking_limit(kitchen: Path) -> None:
    edit(kitchen, "processes/toss.yaml", "  - do: chill", "  - do: boil\n  - do: chill")
    hazards = [lm.hazard for lm in compute(kitchen).walks["rice-salad"].limits]
    assert hazards == ["cool", "cold_hold"]


def test_undercooked_is_neither_kept_nor_chilled(kitchen: Path) -> None:
    """Food Code 3-401.11(D): for a guest who asks, not for the larder."""
    chill = "  - do: chill\n    in: blast\n    target: to 4 °C\n  - do: store\n    in: cold-room\n"
    keeps = "keeps: {cold: 5 days}\n"
    edit(kitchen, "formulas/pork-bake.yaml", keeps, keeps + "undercooked: Asked for.\n")
    assert [f.code for f in compute(kitchen).errors] == ["undercooked-kept"]
    edit(kitchen, "processes/baked.yaml", chill, "")
    assert [f.code for f in compute(kitchen).errors] == ["undercooked-kept"], "still kept"
    edit(kitchen, "formulas/pork-bake.yaml", keeps, "keeps: {frozen: 30 days}\n")
    assert [f.code for f in compute(kitchen).errors] == ["undercooked-kept"], "kept frozen"
    edit(kitchen, "formulas/pork-bake.yaml", "keeps: {frozen: 30 days}\n", "")
    assert compute(kitchen).errors == ()
    edit(kitchen, "processes/baked.yaml", "  - do: fill", "  - do: freeze\n  - do: fill")
    assert [f.code for f in compute(kitchen).errors] == ["undercooked-kept"], "frozen on the way"


def test_fish_is_held_to_its_own_clause(kitchen: Path) -> None:
    """Food Code 3-401.11(A)(1)(b): 145 °F for 15 s; (a) is for eggs broken to one order."""
    edit(
        kitchen,
        "ingredients/all.yaml",
        "name: Pork shoulder\n  species: pork",
        "name: Shoulder\n  arrives: cold\n  species: fish",
    )
    edit(
        kitchen,
        "ingredients/all.yaml",
        "name: Whole egg\n  species: egg",
        "name: Binder\n  species: none",
    )
    edit(kitchen, "ingredients/all.yaml", "allergens: none", "allergens: [fish (cod)]")
    edit(
        kitchen,
        "processes/baked.yaml",
        "  - do: grind\n    add: [meat]",
        "  - do: cut\n    add: [meat]",
    )
    limit = compute(kitchen).walks["pork-bake"].limits[0]
    assert limit.source.clause == "3-401.11(A)(1)(b)"
    assert (limit.row_hold_s, limit.figure.value.in_unit("°F") if limit.figure else None) == (
        15,
        145,
    )


@pytest.mark.parametrize("place", ["", "    in: cold-room\n"])
def test_food_held_by_time_is_never_kept_wherever_it_stood(tmp_path: Path, place: str) -> None:
    """Food Code 3-501.19(B): served or discarded; a cold place while the time runs changes
    nothing."""
    kitchen = lay("held-by-time-then-chilled", tmp_path / "kitchen")
    chill = "  - do: chill\n    in: cold-room\n    target: to 4 °C\n"
    edit(kitchen, "processes/toss.yaml", chill, "")
    edit(kitchen, "processes/toss.yaml", "    procedure", f"{place}    procedure")
    assert ("time-control-then-kept", "error") in {
        (f.code, f.severity) for f in compute(kitchen).findings
    }

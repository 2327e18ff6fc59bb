"""Rules at the edge of what they ask, in small kitchens: what is said, and what isn't. By hand from
the code."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from conftest import compute, edit
from each_row import each_row
from honest_kitchens import UNSAFE, lay_out, read
from test_curing_wet import cured
from test_cut_or_opened import item, laid

from generator.cli.review import _limit as probed
from generator.measures.temperature import Temperature, TemperatureDifference
from generator.rules.basics.context import DAY_S
from generator.rules.basics.limit import Bound, Option, figure_of
from generator.rules.heat.cook_rows import assess
from generator.sheet.manual import Manual

BAKED, TOSS = "processes/baked.yaml", "processes/toss.yaml"
HOUR = 3600


def codes(manual: Manual) -> list[str]:
    return [f.code for f in manual.findings]


def between(manual: Manual, formula: str) -> list[tuple[str, int]]:
    """The steps at which time out of the cold and the heat is limited, and the limit in hours."""
    limits = (x for x in manual.walks[formula].limits if x.hazard == "preparation")
    return [(x.step, int(x.lasts.most_s / HOUR)) for x in limits]


@pytest.mark.parametrize("hours", [1, 2, 3, 7])
def test_hot_food_that_stands_before_it_is_chilled_is_on_its_cooling_clock(
    kitchen: Path, hours: int
) -> None:
    """Food Code 3-501.14(A) counts from 135 °F, wherever it is: no second clock beside that
    one."""
    edit(kitchen, BAKED, "  - do: chill\n", f"  - do: rest\n    time: {hours} h\n  - do: chill\n")
    manual = compute(kitchen)
    assert between(manual, "pork-bake") == [] and "between-too-long" not in codes(manual)
    assert ("chill-begun-too-late" in codes(manual)) == (hours >= 2), "70 °F within two hours"
    assert [x.step for x in manual.walks["pork-bake"].limits if x.hazard == "cool"] == ["chill"]


@pytest.mark.parametrize(
    ("time", "limits", "found"),
    [
        ("119 min", [], []),
        ("2 h", [("rest", 4)], []),
        ("4 h", [("rest", 4)], []),
        ("241 min", [("rest", 4)], ["between-too-long"]),
    ],
)
def test_cold_food_that_stands_is_out_for_four_hours_at_the_most(
    kitchen: Path, time: str, limits: list[tuple[str, int]], found: list[str]
) -> None:
    """Noted from two hours on, a working rule of this manual; four are those of 3-501.19(B)."""
    edit(kitchen, TOSS, "  - do: chill\n", f"  - do: rest\n    time: {time}\n  - do: chill\n")
    manual = compute(kitchen)
    assert between(manual, "rice-salad") == limits
    assert [c for c in codes(manual) if c == "between-too-long"] == found
    offered = [f.write for f in manual.findings if f.code == "between-too-long"]
    assert all(w == ("time: 4 h",) for w in offered)


@pytest.mark.parametrize(
    ("arrives", "facts", "limited"),
    [
        ("ambient", "", True),
        ("ambient\n  sealed: yes", "", True),
        ("cold", "", False),
        ("ambient", "not_tcs: Soured with vinegar.\n", False),
    ],
)
def test_food_put_together_as_warm_as_the_room_is_cold_four_hours_after(
    kitchen: Path, arrives: str, facts: str, limited: bool
) -> None:
    """Food Code 3-501.14(B): to 41 °F within four hours, though no step says that it is chilled."""
    edit(kitchen, "ingredients/all.yaml", "cooked-rice:\n", f"cooked-rice:\n  arrives: {arrives}\n")
    edit(kitchen, TOSS, "  - do: chill\n    in: cold-room\n    target: to 4 °C\n", "")
    edit(kitchen, "formulas/rice-salad.yaml", "process: toss\n", f"process: toss\n{facts}")
    manual = compute(kitchen)
    found = [x for x in manual.walks["rice-salad"].limits if x.hazard == "cool"]
    reported = [
        (x.step, [(s.figure.value.in_unit("°F"), s.within_s) for s in x.stages]) for x in found
    ]
    assert reported == ([("store", [(41, 4 * HOUR)])] if limited else [])
    if "sealed" in arrives:  # it is judged as the finished food's: no step has it
        assert probed(manual.sheets["rice-salad"], "finished") is found[0]


def test_the_dose_is_reported_once_where_pickle_and_meat_come_together(kitchen: Path) -> None:
    """10 g of nitrite ÷ (40 kg + 10 kg) is 200 ppm, at the step that brings the pickle to the
    meat."""
    steps = (
        "  - do: rest\n    add: [meat]\n    in: cold-room\n"
        "  - do: brine\n    add: [pickle]\n    in: cold-room\n    time: 5 days\n"
    )
    manual = cured(kitchen, "immersion", "160 g", steps=steps)
    found = [x for x in manual.walks["cured"].limits if x.id.endswith("/additive")]
    doses = [(x.step, x.ppm, x.final_ppm) for x in found]
    assert doses == [("brine", 200, 200)]


@pytest.mark.parametrize(("at", "wrong"), [("135 °F", False), ("134 °F", True)])
def test_food_is_held_hot_where_it_is_at_the_limit_itself(
    kitchen: Path, at: str, wrong: bool
) -> None:
    """Food Code 3-501.16(A)(1): at 135 °F or above."""
    edit(kitchen, BAKED, "  - do: chill\n", f"  - do: hold-hot\n    at: {at}\n  - do: chill\n")
    assert ("held-hot-where" in codes(compute(kitchen))) == wrong


def in_england(kitchen: Path) -> None:
    edit(
        kitchen,
        "kitchen.yaml",
        "{model: us-food-code, edition: 2022, adopted_by: Port Sable Health Rule 9}",
        "{model: uk-england, edition: 2013, adopted_by: the law of England}",
    )


@pytest.mark.parametrize("served", [False, True])
def test_where_the_law_sets_no_days_the_chef_is_asked_for_them(kitchen: Path, served: bool) -> None:
    """The pack for England holds words and no days: asked of what is kept cold, and of nothing
    else."""
    in_england(kitchen)
    edit(kitchen, "formulas/pork-bake.yaml", "keeps: {cold: 5 days}\n", "")
    if served:
        cold = (
            "  - do: chill\n    in: blast\n    target: to 4 °C\n  - do: store\n    in: cold-room\n"
        )
        edit(kitchen, BAKED, cold, "  - do: serve\n")
    asked = [f.about for f in compute(kitchen).errors if f.code == "keeps-missing"]
    assert asked == ([] if served else [frozenset({"pork-bake"})])


@pytest.mark.parametrize(
    ("hot", "at", "too_long"),
    [
        (True, "135 °F", False),
        (True, "134 °F", True),
        (True, "20 °C", True),
        (False, "41 °F", False),
        (False, "42 °F", True),
        (False, "140 °F", True),
    ],
)
def test_food_that_stands_is_held_by_the_temperature_of_its_place(
    kitchen: Path, hot: bool, at: str, too_long: bool
) -> None:
    """Food Code 3-501.16(A): 135 °F or above, 41 °F or less. A warm place makes nothing hot that
    was cold."""
    stands = f"  - do: rest\n    at: {at}\n    time: 5 h\n"
    if hot:
        cold = (
            "  - do: chill\n    in: blast\n    target: to 4 °C\n  - do: store\n    in: cold-room\n"
        )
        edit(kitchen, BAKED, cold, f"{stands}  - do: serve\n")
        edit(kitchen, "formulas/pork-bake.yaml", "keeps: {cold: 5 days}\n", "")
    else:
        edit(kitchen, TOSS, "  - do: chill\n", f"{stands}  - do: chill\n")
    assert ("between-too-long" in codes(compute(kitchen))) == too_long


def f(value: int) -> Temperature:
    return Temperature.of(value, "°F")


@each_row(
    ("bound", "limit", "target", "asked"),
    [
        ("min", 165, None, 165),
        ("min", 165, 170, 170),
        ("min", 165, 160, 165),
        ("max", 41, None, 41),
        ("max", 41, 38, 38),
        ("max", 41, 45, 41),
    ],
)
def test_the_page_asks_for_the_stricter_of_the_law_and_the_chef(
    bound: Bound, limit: int, target: int | None, asked: int
) -> None:
    figure = figure_of(f(limit), None, bound, TemperatureDifference(Fraction(0)))
    assert figure.asked("°F", f(target) if target is not None else None) == asked


@each_row(
    ("target", "hold", "lasts", "row", "sure"),
    [
        # the probe may be off by 1 °C, 1.8 °F: 147 °F is surely 145 °F, 146 °F only by a true
        # reading
        (147, None, None, "145", True),
        (147, 180, None, "145", True),
        (147, None, 180, "145", True),
        (147, 179, None, None, False),
        (147, None, 179, None, False),
        (146, None, None, "145", False),
        (146, 180, None, "145", False),
        (146, 179, None, None, False),
        (144, None, None, None, False),
        # 151 °F is surely 145 °F, and 150 °F by a true reading, held a minute
        (151, 180, None, "145", True),
        (151, 60, None, "150", False),
        (151, 59, None, None, False),
        (152, 60, None, "150", True),
        (160, 17, None, "155", True),
        (160, 16, None, None, False),
        (160, None, 17, "155", True),
        # what is held by the target goes before how long the whole step lasts
        (160, 17, 10, "155", True),
        (160, 10, 17, None, False),
    ],
)
def test_which_row_a_target_goes_by(
    target: int, hold: int | None, lasts: int | None, row: str | None, sure: bool
) -> None:
    """Food Code 3-401.11(A)(2): 145 °F for 3 min, 150 °F for 1 min, 155 °F for 17 s."""
    exact = TemperatureDifference(Fraction(0))
    options = tuple(
        Option(str(at), figure_of(f(at), None, "min", exact), Fraction(s), "clause", "")
        for at, s in ((145, 180), (150, 60), (155, 17))
    )
    seconds = [Fraction(x) if x is not None else None for x in (hold, lasts)]
    found, clear = assess(options, f(target), seconds[0], Fraction(1), seconds[1])
    assert (found.row if found is not None else None, clear) == (row, sure)


def test_where_the_law_has_no_words_for_slacking_none_are_invented(kitchen: Path) -> None:
    in_england(kitchen)
    edit(
        kitchen,
        "ingredients/all.yaml",
        "  name: Pork shoulder\n",
        "  name: Pork shoulder\n  arrives: frozen\n",
    )
    slack = "  - do: slack\n    add: [meat]\n    in: cold-room\n  - do: grind\n"
    edit(kitchen, BAKED, "  - do: grind\n    add: [meat]\n", slack)
    manual = compute(kitchen)
    assert not [x for x in manual.walks["pork-bake"].limits if x.step == "slack"]


AT_ITS_SERVING = ["Serve: Whole egg is raw here. No step cooked it."]


@pytest.mark.parametrize(
    ("end", "too"), [("  - do: serve\n", AT_ITS_SERVING), ("  - do: portion\n", [])]
)
def test_raw_egg_taken_in_after_the_cooking_is_refused_served_or_not(
    kitchen: Path, end: str, too: list[str]
) -> None:
    """Food Code 3-401.11(A): what is cooked is the food as it is served, and no part beside it."""
    edit(kitchen, BAKED, "    add: [bind, seasoning]\n", "    add: [seasoning]\n")
    cold = "  - do: chill\n    in: blast\n    target: to 4 °C\n  - do: store\n    in: cold-room\n"
    edit(kitchen, BAKED, cold, f"  - do: toss\n    add: [bind]\n{end}")
    edit(kitchen, "formulas/pork-bake.yaml", "keeps: {cold: 5 days}\n", "")
    said = [f.message for f in compute(kitchen).errors if f.code == "raw-not-cooked"]
    assert said == ["Pork bake: Whole egg is added raw after the last cooking step.", *too]


@pytest.mark.parametrize(
    ("cut", "held", "start"),
    [
        ("    time: 30 min\n", "3 h 30 min", 70),
        ("    time: 30 min\n", "3 h 31 min", 41),
        ("", "3 h", 41),  # nobody says how long it took
    ],
)
def test_four_hours_since_the_cutting_let_it_start_as_warm_as_the_room(
    kitchen: Path, cut: str, held: str, start: int
) -> None:
    """Food Code 3-501.19(B): the untimed work before the cutting says nothing of the time since."""
    steps = f"  - do: mix\n    add: [rice, dressing]\n  - do: cut\n{cut}"
    manual = compute(laid(kitchen, item("melon"), "    melon: 2 kg\n", steps, held))
    (limit,) = [x for x in manual.walks["rice-salad"].limits if x.hazard == "time_control"]
    assert limit.figure is not None and limit.figure.shown_f == start


@pytest.mark.parametrize(("species", "frozen"), [("fish", True), ("beef", False), ("pork", False)])
def test_only_fish_served_raw_is_frozen_for_its_parasites(
    kitchen: Path, species: str, frozen: bool
) -> None:
    """Food Code 3-402.11(A): raw or undercooked fish, and no meat."""
    allergens = "[fish (cod)]" if species == "fish" else "none"
    edit(
        kitchen,
        "ingredients/all.yaml",
        "  species: pork\n  state: raw\n  form: intact\n  allergens: none\n",
        f"  species: {species}\n  state: raw\n  form: intact\n  allergens: {allergens}\n",
    )
    cold = "  - do: chill\n    in: blast\n    target: to 4 °C\n  - do: store\n    in: cold-room\n"
    edit(kitchen, BAKED, cold, "  - do: serve\n")
    edit(
        kitchen,
        "formulas/pork-bake.yaml",
        "targets: {bake: core 72 °C}\nkeeps: {cold: 5 days}\n",
        "targets: {bake: core 50 °C}\nundercooked: By request; the menu carries the reminder.\n",
    )
    manual = compute(kitchen)
    assert any("parasit" in f.message for f in manual.errors) == frozen


@pytest.mark.parametrize(("at", "warm"), [("70 °F", False), ("71 °F", True)])
def test_cut_food_stands_no_warmer_than_the_room_of_its_row(
    kitchen: Path, at: str, warm: bool
) -> None:
    """Food Code 3-501.19(B) since 2017: it may start at 70 °F and never gets warmer."""
    cut = "  - do: cut\n    add: [rice, dressing]\n    time: 5 min\n"
    laid(kitchen, item("melon"), "    melon: 2 kg\n", cut)
    edit(kitchen, TOSS, "at: 20 °C", f"at: {at}")
    manual = compute(kitchen)
    found = [f for f in manual.findings if f.code == "time-control-too-warm"]
    assert len(found) == int(warm) and all("3-501.19" in f.source for f in found)


@pytest.mark.parametrize(
    ("then", "unsaid"), [("", False), ("  - do: chill\n    in: blast\n    target: to 4 °C\n", True)]
)
def test_raw_meat_that_is_warmed_is_cooked_before_it_stands(
    kitchen: Path, then: str, unsaid: bool
) -> None:
    """Food Code 3-401.14: cooked in two goes only by a written procedure; straight on is one go."""
    warmed = f"  - do: warm\n    does: heats\n    at: 60 °C\n    time: 10 min\n{then}  - do: bake\n"
    edit(kitchen, BAKED, "  - do: bake\n", warmed)
    if then:
        edit(kitchen, BAKED, "    loses: 10 %\n  - do: chill\n", "    loses: 10 %\n  - do: cool\n")
    manual = compute(kitchen)
    assert ("part-cook-unsaid" in codes(manual)) == unsaid


@pytest.mark.parametrize(
    ("target", "found"),
    [
        ("at 4 °C", []),
        ("at 41 °F", ["target-within-probe-error"]),
        ("at 42 °F", ["target-above-limit"]),
        ("at 60 °C", []),  # said of hot food: judged by the rules of holding hot
    ],
)
def test_what_is_stored_cold_is_kept_at_the_limit_or_colder(
    kitchen: Path, target: str, found: list[str]
) -> None:
    """Food Code 3-501.16(A)(2): 41 °F or less; the probe may be off by 1 °C."""
    edit(kitchen, BAKED, "  - do: store\n", f"  - do: store\n    target: {target}\n")
    said = [c for c in codes(compute(kitchen)) if c.startswith("target-")]
    assert said == found


@pytest.mark.parametrize("place", ["", "    in: pass\n"])
def test_food_thaws_in_no_way_that_nobody_allows(kitchen: Path, place: str) -> None:
    """Food Code 3-501.13 names a refrigerator, running water, a microwave and cooking, and no
    worktop."""
    thaw = f"  - do: thaw\n    add: [meat]\n{place}    time: 1 h\n  - do: grind\n"
    edit(kitchen, BAKED, "  - do: grind\n    add: [meat]\n", thaw)
    manual = compute(kitchen)
    assert manual.errors and "pork-bake" not in manual.sheets


@pytest.mark.parametrize(("portion", "refused"), [(50, False), (51, True), (120, True)])
def test_one_egg_for_one_guest_is_one_egg(kitchen: Path, portion: int, refused: bool) -> None:
    """Food Code 3-801.11(C): eggs combined are refused for the frail; an egg of 50 g makes no more
    than 50 g."""
    edit(kitchen, "kitchen.yaml", "serves: general", "serves: highly-susceptible")
    edit(
        kitchen,
        "ingredients/all.yaml",
        "  form: liquid\n  allergens: [eggs]",
        "  form: intact\n  allergens: [eggs]",
    )
    folder = kitchen / "standards"
    (folder / "processes/fry.yaml").write_text(
        "name: Fry\nsteps:\n  - do: fry\n    add: [egg]\n    target: core 75 °C\n  - do: serve\n"
    )
    (folder / "formulas/fried-egg.yaml").write_text(
        "name: Fried egg\nrevision: 1\neffective: 2026-01-01\napproved: R. Osei\nstation: range\n"
        f"to_order: yes\nraw_eggs: one-egg\nmakes: {{portion: {portion} g}}\nbase: egg\n"
        "parts:\n  egg:\n    whole-egg: 1 each\nprocess: fry\nbatches: [1 portions]\n"
    )
    found = [f for f in compute(kitchen).findings if f.code == "susceptible-raw-eggs"]
    mine = [f for f in found if "fried-egg" in f.about]
    assert bool(mine) == refused


@pytest.mark.parametrize(
    ("own", "hours"), [("to 41 °F within 3 h", 3), ("from 140 °F to 41 °F within 3 h", 4)]
)
def test_a_limit_of_the_house_from_hot_says_nothing_of_food_never_hot(
    kitchen: Path, own: str, hours: int
) -> None:
    """Food Code 3-501.14(B), four hours, is where the kitchen's own clock starts at 140 °F."""
    edit(kitchen, "ingredients/all.yaml", "cooked-rice:\n", "cooked-rice:\n  arrives: ambient\n")
    edit(
        kitchen,
        "kitchen.yaml",
        "stations:",
        f"house_limits: [{{for: cool, do: chill, limit: {own}}}]\nstations:",
    )
    (limit,) = [x for x in compute(kitchen).walks["rice-salad"].limits if x.hazard == "cool"]
    assert [s.within_s for s in limit.stages] == [hours * HOUR]


def test_a_day_of_a_limit_is_twenty_four_hours() -> None:
    assert DAY_S == 24 * HOUR


@pytest.mark.parametrize(("species", "alone"), [("pork", False), ("chicken", True)])
def test_a_row_that_stands_alone_says_so(kitchen: Path, species: str, alone: bool) -> None:
    """Food Code 3-401.11(A)(2) has rows to choose from, (A)(3) one: 165 °F."""
    edit(kitchen, "ingredients/all.yaml", "  species: pork\n", f"  species: {species}\n")
    edit(kitchen, "formulas/pork-bake.yaml", "core 72 °C", "core 76 °C")
    (limit,) = [x for x in compute(kitchen).walks["pork-bake"].limits if x.hazard == "cook"]
    assert ("no other row may replace it" in limit.basis.rule) == alone


@pytest.mark.parametrize(
    ("step", "refused"),
    [
        ("  - do: rest\n    add: [meat]\n    time: 30 min\n", True),  # it waits, in no cold place
        ("  - do: mix\n    add: [meat]\n    in: walk-in\n", True),  # it is in the cold, no more
        ("  - do: mix\n    add: [meat]\n", False),  # and is cooked next
    ],
)
def test_raw_meat_goes_into_no_hot_brine_that_waits_or_is_put_into_the_cold(
    tmp_path: Path, step: str, refused: bool
) -> None:
    spec = read("raw-into-hot-brine", UNSAFE)
    brine = "  - do: brine\n    add: [meat]\n    in: walk-in\n    time: 24 h\n"
    assert brine in spec["process"]
    spec["process"] = spec["process"].replace(brine, step)
    assert ("raw-into-hot" in codes(compute(lay_out(tmp_path, spec)))) is refused


@pytest.mark.parametrize(("at", "cooks"), [("134 °F", False), ("135 °F", True), ("136 °F", True)])
def test_what_is_hot_by_law_may_be_a_cook(tmp_path: Path, at: str, cooks: bool) -> None:
    """Food Code 3-501.16(A)(1): food is hot at 135 °F or above."""
    spec = read("warmed-and-left-at-60", UNSAFE)
    spec["process"] = spec["process"].replace("at: 60 °C", f"at: {at}")
    (found,) = [
        f for f in compute(lay_out(tmp_path, spec)).findings if f.code == "between-too-long"
    ]
    assert ("Does the heat cook it through?" in found.help) is cooks
    assert ("in a refrigerator" in found.help) is not cooks


@pytest.mark.parametrize(("flour", "doubted"), [("500 g", False), ("499 g", True)])
def test_dough_of_half_flour_bakes_dry(kitchen: Path, flour: str, doubted: bool) -> None:
    """Half of it is what is no water: flour at its own weight of water."""
    dough = (
        "flour: {name: Flour, species: none, state: raw, form: dry, allergens: [wheat], tcs: no}\n"
        "tap: {name: Tap water, species: none, state: ready-to-eat, form: liquid, allergens: none, tcs: no}\n"
    )
    edit(kitchen, "ingredients/all.yaml", "cooked-rice:\n", dough + "cooked-rice:\n")
    (kitchen / "standards/processes/bread.yaml").write_text(
        "name: Bread\nsteps:\n  - do: mix\n    add: [dough]\n  - do: bake\n    with: range-oven\n"
        "    at: 230 °C\n    time: 40 min\n  - do: store\n"
    )
    (kitchen / "standards/formulas/bread.yaml").write_text(
        "name: Bread\nrevision: 1\neffective: 2026-06-01\napproved: R. Osei\nstation: range\n"
        f"base: flour\nparts:\n  dough:\n    flour: {flour}\n    tap: 480 g\n    cream: 20 g\n"
        "process: bread\nnot_tcs: It is baked dry.\nkeeps: {dry: 2 days}\nbatches: [1 kg base]\n"
    )
    assert ("not-tcs-doubtful" in codes(compute(kitchen))) is doubted


@pytest.mark.parametrize(("hold", "short"), [("14 s", True), ("15 s", False)])
def test_reheated_to_the_very_figure_it_is_held_too_short(
    kitchen: Path, hold: str, short: bool
) -> None:
    """Food Code 3-403.11(A): 165 °F for 15 s, on a probe that is off by 0.09 °F."""
    edit(
        kitchen,
        "equipment/house.yaml",
        "reads: [°C, °F], accuracy: 1 °C",
        "reads: [°C, °F], accuracy: 0.05 °C",
    )
    reheat = f"  - do: reheat\n    with: range-oven\n    target: core 165.09 °F for {hold}\n    time: 40 min\n"
    edit(
        kitchen,
        BAKED,
        "  - do: store\n    in: cold-room\n",
        f"{reheat}  - do: hold-hot\n    target: at 60 °C\n    time: 1 h\n",
    )
    edit(kitchen, "formulas/pork-bake.yaml", "keeps: {cold: 5 days}\n", "")
    found = [f.message for f in compute(kitchen).findings if f.code == "target-below-limit"]
    assert bool(found) is short and all("held too short for the limit" in m for m in found)


def test_raw_food_that_no_step_cooks_is_shown_on_its_own_line(kitchen: Path) -> None:
    """Not on that of a formula made ahead which goes in with it."""
    text = (kitchen / "standards" / BAKED).read_text("utf-8")
    bake, chill = text.index("  - do: bake\n"), text.index("  - do: chill\n")
    edit(kitchen, BAKED, text[bake:chill], "")
    edit(kitchen, "formulas/pork-bake.yaml", "targets: {bake: core 72 °C}\n", "")
    (found,) = [f for f in compute(kitchen).findings if f.code == "raw-not-cooked"]
    assert "Pork shoulder" in found.message and found.place.text.strip() == "pork-shoulder: 3 kg"

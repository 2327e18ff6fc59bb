"""Food that a plan lets be warm owes its cooling when it goes into the cold, whatever step that
is."""

from __future__ import annotations

import itertools
from fractions import Fraction
from pathlib import Path

import pytest
from conftest import compute
from honest_kitchens import CASES, lay_out, read

from generator.answers.batch import batch_data, batch_text
from generator.pages.formula import formula_pages
from generator.rules.basics.limit import CoolingLimit
from generator.views.yield_view import output_views

PLAN = (
    "authorisations:\n"
    "  - {for: %s, document: Plan F1, authority: County, from: 2026-01-01, until: 2027-06-01}\n"
)
HEAT = {
    "pasteurised": "  - do: pasteurise\n    add: [milk]\n    target: core 85 °C for 30 min\n    time: 1 h\n",
    "warmed": "  - do: warm\n    add: [milk]\n    target: core 85 °C for 30 min\n    time: 1 h\n",
    "unheated": "  - do: mix\n    add: [milk]\n    time: 5 min\n",
}
COOL = {"cooled": "  - do: cool\n    target: at 43 °C\n    time: 20 min\n", "hot": ""}
CHANGES = {"ferment": "ferment", "age": "dry", "dry": "dry"}
CHILL = "  - do: chill\n    in: blast\n    target: to 4 °C\n    time: 3 h\n"
LABEL = {"labelled": "  - do: label\n", "unlabelled": ""}
STORE = {
    "walk-in": "  - do: store\n    in: walk-in\n",
    "another verb": "  - do: rest\n    in: walk-in\n    time: 12 h\n",
    "no place": "  - do: store\n",
    "nowhere": "",
}


def kitchen(
    change: str, process: str, formula: str = "keeps: {cold: 7 days}\n"
) -> dict[str, object]:
    return {
        "kitchen": PLAN % CHANGES[change],
        "parts": {"milk": {"milk": "5 kg"}},
        "formula": formula,
        "process": process,
    }


def cooling(tmp_path: Path, spec: dict[str, object]) -> tuple[set[str], list[Fraction]]:
    """The codes of the errors, and within how many seconds it must be cold."""
    manual = compute(lay_out(tmp_path, spec))
    codes = {f.code for f in manual.findings if f.is_error}
    walk = manual.walks.get("dish")
    limits = walk.limits if walk is not None else ()
    return codes, [lm.stages[-1].within_s for lm in limits if isinstance(lm, CoolingLimit)]


@pytest.mark.parametrize("change", CHANGES)
def test_without_its_chill_line_it_is_held_to_as_much(tmp_path: Path, change: str) -> None:
    changed = f"  - do: {change}\n    at: 43 °C\n    time: 5 h\n"
    ways = itertools.product(HEAT.values(), COOL.values(), LABEL.values(), STORE.values())
    for number, (heat, cool, label, store) in enumerate(ways):
        if not store:
            continue  # below: nothing cools it
        first = f"{heat}{cool if 'mix' not in heat else ''}{changed}"
        with_it = cooling(tmp_path / f"{number}a", kitchen(change, first + CHILL + label + store))
        without = cooling(tmp_path / f"{number}b", kitchen(change, first + label + store))
        assert with_it[1], first
        assert without[0] or (without[1] and min(without[1]) <= min(with_it[1])), first + store


@pytest.mark.parametrize("change", CHANGES)
@pytest.mark.parametrize("heat", HEAT)
@pytest.mark.parametrize("formula", ["keeps: {cold: 7 days}\n", ""])
def test_kept_and_cooled_nowhere_it_is_refused(
    tmp_path: Path, change: str, heat: str, formula: str
) -> None:
    process = f"{HEAT[heat]}  - do: {change}\n    at: 43 °C\n    time: 5 h\n  - do: label\n"
    assert "chill-missing" in cooling(tmp_path, kitchen(change, process, formula))[0]


def test_served_warm_it_owes_none(tmp_path: Path) -> None:
    process = f"{HEAT['pasteurised']}  - do: ferment\n    at: 43 °C\n    time: 5 h\n  - do: serve\n"
    assert cooling(tmp_path, kitchen("ferment", process, "")) == (set(), [])


def test_fermented_in_the_cold_it_owes_none_after(tmp_path: Path) -> None:
    process = (
        "  - do: ferment\n    add: [milk]\n    in: walk-in\n    time: 20 h\n"
        "  - do: store\n    in: walk-in\n"
    )
    assert cooling(tmp_path, kitchen("ferment", process))[1] == []


@pytest.mark.parametrize("case", [c for c in CASES if "do: ferment" in read(c)["process"]])
def test_an_honest_kitchen_without_its_chill_line_is_held_to_as_much(
    tmp_path: Path, case: str
) -> None:
    spec = read(case)
    before = cooling(tmp_path / "a", spec)
    steps = spec["process"].split("  - do: ")
    spec["process"] = "  - do: ".join(s for s in steps if not s.startswith("chill"))
    codes, after = cooling(tmp_path / "b", spec)
    assert codes or not before[1] or (after and min(after) <= min(before[1]))


@pytest.mark.parametrize("change", CHANGES)
@pytest.mark.parametrize("minutes", [20, 119, 120, 239, 240, 241, 480, 2880])
def test_the_time_before_its_plan_counts(tmp_path: Path, change: str, minutes: int) -> None:
    """Hot food that stands before it ferments, dries or ages is on no cooling clock: the chill
    behind the plan counts from the plan. So what it stands counts by the rule of four hours, told
    from two, wherever between the heat and the plan it stands."""
    stands = (f"  - do: cool\n    time: {minutes} min\n", "", "")
    if minutes > 120:
        rest = f"  - do: rest\n    time: {minutes - 60} min\n"
        stands = (stands[0], f"  - do: cool\n    time: 60 min\n{rest}", "")
    for number, stand in enumerate(filter(None, stands)):
        changed = f"  - do: {change}\n    at: 43 °C\n    time: 5 h\n{CHILL}{STORE['walk-in']}"
        process = f"{HEAT['pasteurised']}{stand}{changed}"
        manual = compute(lay_out(tmp_path / str(number), kitchen(change, process)))
        codes = {f.code for f in manual.findings}
        assert ("between-too-long" in codes) == (minutes > 240), stand
        assert ("between-noted" in codes) == (120 <= minutes <= 240), stand
        assert minutes > 240 or not any(f.is_error for f in manual.findings), stand


CABINET = (
    "  - do: %s\n    add: [milk]\n    target: core 85 °C for 30 min\n    time: 1 h\n"
    "%s"
    "  - do: ferment\n    with: cabinet\n    at: 43 °C\n    time: 3 h\n"
    "  - do: chill\n    in: blast\n    target: to 4 °C\n    time: 3 h\n"
)


def runs(
    tmp_path: Path,
    size: str,
    between: str,
    verb: str = "pasteurise",
    process: str = CABINET,
    blast: str = "",
) -> tuple[str, str]:
    """What is refused of a size, and how the loads wait for their run in the cabinet."""
    spec = kitchen(
        "ferment", process % (verb, between), f"keeps: {{cold: 7 days}}\nbatches: [{size}]\n"
    )
    lay_out(tmp_path, spec)
    house = tmp_path / "standards/equipment/house.yaml"
    line = "cabinet: {kind: other, name: Cabinet, capacity: 5 kg}\n"
    text = house.read_text(encoding="utf-8") + line
    house.write_text(
        text.replace("{kind: blast-chiller, ", f"{{kind: blast-chiller, {blast}"), encoding="utf-8"
    )
    manual = compute(tmp_path)
    codes = " ".join(f.code for f in manual.findings if f.is_error)
    if "dish" not in manual.sheets:
        return codes, ""
    loads = manual.sheets["dish"].batches[0].step_loads
    return codes, next(one.waits for one in loads if one.equipment == "cabinet")


@pytest.mark.parametrize("how", ["target: at 43 °C", "at: 43 °C", "how: By the window."])
def test_food_off_the_heat_waits_for_its_run_as_time_between(tmp_path: Path, how: str) -> None:
    """Two runs of three hours wait less than the four of the working rule, three wait longer."""
    cool = f"  - do: cool\n    {how}\n    time: 20 min\n"
    assert runs(tmp_path / "two", "10 kg base", cool) == ("", "warm")
    assert runs(tmp_path / "three", "15 kg base", cool)[0] == "runs-wait-too-long"
    # nothing says how hot warmed food gets: its hour counts too
    assert runs(tmp_path / "warmed", "10 kg base", cool, "warm")[0] == "runs-wait-too-long"


@pytest.mark.parametrize("verb", ["ferment", "proof", "rest", "zap"])
def test_several_runs_without_a_time_are_asked_for_it(tmp_path: Path, verb: str) -> None:
    """Whatever the verb: what stands warm for nobody knows how long, while others wait for its
    place. In one run nobody waits."""
    cool = "  - do: cool\n    at: 43 °C\n    time: 20 min\n"
    does = "    does: ferments\n" if verb == "zap" else ""
    changed = CABINET.replace("do: ferment\n", f"do: {verb}\n{does}")
    untimed = changed.replace("    at: 43 °C\n    time: 3 h\n", "    at: 43 °C\n")
    assert untimed != changed
    two = runs(tmp_path / "two", "10 kg base", cool, process=untimed)[0]
    assert "runs-wait-too-long" in two
    assert "runs-wait-too-long" not in runs(tmp_path / "one", "5 kg base", cool, process=untimed)[0]


def test_several_chills_without_a_time_are_asked_for_it(tmp_path: Path) -> None:
    """Hot food waits for its turn in the chiller, and its first stage runs meanwhile."""
    untimed = CABINET.replace("    target: to 4 °C\n    time: 3 h\n", "    target: to 4 °C\n")
    small = "    in: blast\n    target: to 4 °C\n"
    assert small in untimed
    codes = runs(tmp_path, "15 kg base", "", process=untimed, blast="capacity: 5 kg, ")[0]
    assert codes == "runs-wait-too-long"
    timed = CABINET.replace('time: 3 h\n"', 'time: 40 min\n"')
    assert runs(tmp_path / "t", "5 kg base", "", process=timed, blast="capacity: 5 kg, ")[0] == ""


def test_food_straight_off_the_heat_is_kept_hot(tmp_path: Path) -> None:
    assert runs(tmp_path, "15 kg base", "") == ("", "hot")


DRAIN = "  - do: drain\n    leaves: {whey: {share: 60 %, then: kept}}\n    time: 30 min\n"
FERMENT = "  - do: ferment\n    at: 43 °C\n    time: 5 h\n"


@pytest.mark.parametrize(
    ("process", "first"),
    [
        (HEAT["pasteurised"] + DRAIN + CHILL, "chill it like the food, then keep it cold"),
        (
            HEAT["pasteurised"] + FERMENT + DRAIN + CHILL,
            "chill it like the food, then keep it cold",
        ),
        (HEAT["unheated"] + DRAIN + CHILL, "chill it like the food, then keep it cold"),
        (HEAT["pasteurised"] + CHILL + DRAIN.replace("time:", "in: walk-in\n    time:"), "keep it"),
    ],
)
def test_what_is_drained_warm_is_chilled_like_the_food(
    tmp_path: Path, process: str, first: str
) -> None:
    spec = kitchen("ferment", process + STORE["walk-in"])
    sheet = compute(lay_out(tmp_path, spec)).sheets["dish"]
    (whey,) = output_views(sheet, sheet.batches[0])
    assert whey.then.startswith(first)


def test_between_for_too_long_after_a_plan_asks_whether_the_plan_covers_it(tmp_path: Path) -> None:
    press = "  - do: press\n    at: 20 °C\n    time: 8 h\n"
    process = HEAT["pasteurised"] + FERMENT + press + CHILL + STORE["walk-in"]
    manual = compute(lay_out(tmp_path / "a", kitchen("ferment", process)))
    (found,) = (f for f in manual.findings if f.code == "between-too-long")
    assert "does: ferments" in found.help and found.write == ()
    covered = process.replace("do: press\n", "do: press\n    does: ferments\n")
    codes, within = cooling(tmp_path / "b", kitchen("ferment", covered))
    assert codes == set() and within


@pytest.mark.parametrize(("time", "offered"), [("5 h", True), ("8 h", True), ("12 h", False)])
def test_no_time_is_offered_that_is_less_than_half(
    tmp_path: Path, time: str, offered: bool
) -> None:
    press = f"  - do: press\n    add: [milk]\n    at: 20 °C\n    time: {time}\n"
    manual = compute(lay_out(tmp_path, kitchen("ferment", press + CHILL + STORE["walk-in"])))
    (found,) = (f for f in manual.findings if f.code == "between-too-long")
    assert bool(found.write) is offered
    assert "`for: ferment`, `for: dry`" in found.help


def test_what_is_over_is_said_to_be_as_filled(tmp_path: Path) -> None:
    """Filled raw and baked to less: the two weights are of two states of the food."""
    process = (
        "  - do: fill\n    add: [milk]\n    vessel: as the formula says\n"
        "  - do: pasteurise\n    target: core 85 °C for 30 min\n    time: 1 h\n    loses: %s\n"
        + CHILL
    )
    formula = (
        "makes: {fill_weight: 1900 g, unit: tin}\nbatches: [10 kg base]\nkeeps: {cold: 7 days}\n"
    )
    for loses, words in (
        ("6 %", "You get 9.4 kg finished, 5 tins and 500 g over as filled"),
        ("0 %", "You get 10 kg, 5 tins and 500 g over"),
    ):
        spec = kitchen("ferment", process % loses if loses != "0 %" else "", formula)
        if loses == "0 %":
            spec["process"] = (process % "1 %").replace("    loses: 1 %\n", "")
        manual = compute(lay_out(tmp_path / loses[0], spec))
        sheet = manual.sheets["dish"]
        lines = batch_text(sheet, sheet.batches[0]).replace("\u00a0", " ").splitlines()
        assert next(ln for ln in lines if ln.startswith("You get")) == words
        page = next(p.html for p in formula_pages(manual) if "dish" in p.uri)
        assert ("over as filled" in page) == ("filled" in words)
        record = batch_data(sheet, sheet.batches[0], manual.walks)
        assert record["left_as_filled"] == ("filled" in words)


@pytest.mark.parametrize("core", ["22 °C", "43 °C"])
@pytest.mark.parametrize(("held", "asked"), [(False, False), (True, True)])
def test_what_is_warmed_for_its_culture_is_not_reheated(
    tmp_path: Path, core: str, held: bool, asked: bool
) -> None:
    """Unless it is held hot after all: 3-403.11(A) is of food reheated for hot holding."""
    warm = f"  - do: warm\n    add: [milk]\n    target: core {core}\n    time: 30 min\n"
    end = "  - do: hold-hot\n    time: 2 h\n  - do: serve\n" if held else CHILL + STORE["walk-in"]
    spec = kitchen("ferment", warm + "  - do: ferment\n    time: 8 h\n" + end)
    codes, _ = cooling(tmp_path, spec if not held else {**spec, "formula": ""})
    assert ("reheat-missing" in codes) is asked


@pytest.mark.parametrize(
    ("before", "asked"),
    [
        ("  - {do: warm, add: [milk], target: core 22 °C, time: 30 min}\n", True),
        ("  - {do: warm, add: [milk], target: core 56 °C, time: 30 min}\n", True),
        ("  - {do: warm, add: [milk], target: core 60 °C, time: 30 min}\n", False),
        ("  - {do: warm, add: [milk], time: 30 min}\n", False),
        ("  - {do: mix, add: [milk], time: 5 min}\n", True),
    ],
)
def test_what_holds_food_hot_does_not_heat_it(tmp_path: Path, before: str, asked: bool) -> None:
    spec = {**kitchen("ferment", f"{before}  - {{do: hold-hot, time: 2 h}}\n  - do: serve\n")}
    codes, _ = cooling(tmp_path, {**spec, "formula": ""})
    assert ("reheat-missing" in codes) is asked

"""Sour food that its acid keeps: a pH and a variance are asked for, whatever it was soured with
and by whatever verb."""

from __future__ import annotations

import textwrap
from pathlib import Path
from typing import Any

import pytest
from conftest import ROOT, compute
from honest_kitchens import PANTRY, lay_out, read

from generator.reference.library import read_reference
from generator.sheet.manual import Broken, Manual

VINEGAR = {"vegetables": {"cucumber": "5 kg"}, "pickle": {"vinegar": "50 %", "salt": "3 %"}}
SALTED = {"vegetables": {"chilli": "5 kg", "salt": "3 %"}}


def made(
    project: Path, parts: Any, process: str, formula: str = "keeps: {dry: 90 days}\n"
) -> Manual | Broken:
    spec = {"parts": parts, "formula": formula, "process": textwrap.indent(process, "  ")}
    return compute(lay_out(project, spec))


def codes(manual: Manual | Broken) -> set[str]:
    return {f.code for f in manual.errors}


@pytest.mark.parametrize(
    "verb", ["soak", "marinate", "infuse", "fill", "mix", "coat", "cure", "brine", "rest", "pack"]
)
def test_vinegar_under_any_verb_asks_for_the_ph(verb: str, tmp_path: Path) -> None:
    process = f"- do: {verb}\n  add: [vegetables, pickle]\n  time: 30 min\n- do: store\n"
    found = made(tmp_path, VINEGAR, process)
    assert codes(found) == {"kept-by-acid"}
    (error,) = found.errors
    assert "Spirit vinegar" in error.message and "`acidified: {ph: …" in error.help
    assert "`for: acidify`" in error.help and "7 days at most" in error.help.replace("\u00a0", " ")


def test_no_verb_at_all_is_a_way_round(tmp_path: Path) -> None:
    """Cucumbers in vinegar have no sheet as shelf goods by any verb there is; served they may."""
    for verb, facts in read_reference(ROOT / "shared").verbs.items():
        if set(facts.does) & {"serves", "holds-by-time"}:
            continue
        project = tmp_path / verb
        process = f"- do: {verb}\n  add: [vegetables, pickle]\n  time: 30 min\n- do: store\n"
        found = made(project, VINEGAR, process)
        assert "dish" not in found.sheets, verb


@pytest.mark.parametrize("verb", ["ferment", "soak", "brine", "rest", "cure", "infuse", "press"])
def test_salted_vegetables_that_stand_for_days_are_fermented(verb: str, tmp_path: Path) -> None:
    process = f"- do: {verb}\n  add: [vegetables]\n  at: 18 °C\n  time: 14 days\n- do: store\n"
    found = made(tmp_path, SALTED, process)
    assert codes(found) >= {"keeps-dry"} and "dish" not in found.sheets
    (error,) = (f for f in found.errors if f.code in ("kept-by-change", "between-too-long"))
    assert "`for: ferment`" in error.help


def test_what_says_that_it_ferments_does_in_the_cold_too(tmp_path: Path) -> None:
    """Kimchi ripens in a refrigerator: kept for longer than a date mark allows, its acid may keep
    it. What merely stands there turns no sourer."""
    process = "- do: ferment\n  add: [vegetables]\n  in: walk-in\n  time: 5 days\n- do: store\n  in: walk-in\n"
    (error,) = made(tmp_path, SALTED, process, "keeps: {cold: 60 days}\n").errors
    assert error.code == "keeps-beyond-law" and "Does an acid keep it?" in error.help


@pytest.mark.parametrize("before", ["cut", "mix", "pound"])
def test_what_ferments_is_asked_for_its_plan_whatever_was_done_before(
    before: str, tmp_path: Path
) -> None:
    """Whole cabbage and pounded chilli too: with a plan, its words; without, an error."""
    plan = read("kraut-by-its-variance")["kitchen"]
    work = f"- do: {before}\n  does: handles\n" if before == "pound" else f"- do: {before}\n"
    process = (
        f"{work}  add: [vegetables]\n  time: 5 min\n- do: ferment\n  at: 18 °C\n  time: 9 days\n"
        "- do: store\n  in: walk-in\n"
    )
    for days, kitchen, found in (
        (7, plan, set()),
        (60, plan, {"keeps-beyond-law"}),
        (7, "", {"kept-by-change", "kept-too-long"}),
    ):
        spec = {
            "parts": SALTED,
            "formula": f"keeps: {{cold: {days} days}}\n",
            "process": textwrap.indent(process, "  "),
            "kitchen": kitchen,
        }
        manual = compute(lay_out(tmp_path / f"{days}{bool(kitchen)}", spec))
        assert codes(manual) == found
        if "dish" in manual.walks and kitchen:
            assert {"preparation", "cold_hold"} <= {x.hazard for x in manual.walks["dish"].limits}


@pytest.mark.parametrize(
    ("steps", "found"),
    [
        ("at: 20 °C\n  time: 239 min\n", set()),
        ("at: 20 °C\n  time: 241 min\n", {"between-too-long"}),
        ("at: 20 °C\n  time: 23 h\n", {"between-too-long"}),
        ("", {"wait-unknown"}),
        ("in: walk-in\n  time: 23 h\n", set()),
        ("at: 4 °C\n  time: 23 h\n", set()),
    ],
)
def test_salted_vegetables_stand_no_longer_than_food_may_be_out(
    steps: str, found: set[str], tmp_path: Path
) -> None:
    """Four hours, our working rule: one day was a way round the plan for fermenting."""
    process = (
        "- do: mix\n  add: [vegetables]\n- do: stand\n  does: none\n"
        f"{'  ' if steps else ''}{steps}- do: store\n  in: walk-in\n"
    )
    assert codes(made(tmp_path, SALTED, process, "keeps: {cold: 5 days}\n")) == found


def test_a_plan_for_fermenting_has_the_ph(tmp_path: Path) -> None:
    spec = {
        "parts": SALTED,
        "formula": "not_tcs: {reason: Soured by its plan., document: Variance 3}\n"
        "keeps: {dry: 90 days}\n",
        "process": "  - do: ferment\n    add: [vegetables]\n    at: 18 °C\n    time: 14 days\n"
        "  - do: store\n",
        "kitchen": read("kraut-by-its-variance")["kitchen"],
    }
    manual = compute(lay_out(tmp_path, spec))
    assert manual.findings == ()
    assert [x.hazard for x in manual.walks["dish"].limits] == ["preparation"], "by its plan"


def test_food_that_needs_the_cold_has_the_acid_in_its_fix(tmp_path: Path) -> None:
    """It is refused by the law's own rules, which name the way that is open."""
    process = (
        "- do: blanch\n  add: [vegetables]\n  time: 2 min\n- do: soak\n  add: [pickle]\n"
        "  time: 30 min\n- do: chill\n  in: walk-in\n  target: to 4 °C\n- do: store\n"
        "  in: walk-in\n"
    )
    for formula, code in (("dry: 90 days", "keeps-dry"), ("cold: 90 days", "keeps-beyond-law")):
        project = tmp_path / code
        found = made(project, VINEGAR, process, f"keeps: {{{formula}}}\n")
        assert codes(found) == {code}
        assert "`for: acidify`" in found.errors[0].help
    plain = {"vegetables": {"cucumber": "5 kg"}, "pickle": {"water": "50 %"}}
    found = made(tmp_path / "plain", plain, process)
    assert codes(found) == {"keeps-dry"} and "acidify" not in found.errors[0].help


@pytest.mark.parametrize(
    "name", ["White wine vinegar", "Balsamic vinegar", "Citric acid", "Lemon juice", "Verjus"]
)
def test_an_acid_is_known_by_its_name(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(PANTRY, "vinegar", {**PANTRY["vinegar"], "name": name})
    process = "- do: mix\n  add: [vegetables, pickle]\n- do: store\n"
    assert codes(made(tmp_path, VINEGAR, process)) == {"kept-by-acid"}


def test_jam_and_dressing_are_kept_by_something_else(tmp_path: Path) -> None:
    """Full of sugar, or with nothing in it that would spoil."""
    jam = {"a": {"plums": "5 kg", "sugar": "100 %", "vinegar": "2 %"}}
    boiled = (
        "- do: reduce\n  add: [a]\n  time: 40 min\n  loses: 30 %\n  target: core 105 °C\n"
        "- do: store\n"
    )
    why = "not_tcs: Boiled down with as much sugar as fruit.\nkeeps: {dry: 90 days}\n"
    assert made(tmp_path / "jam", jam, boiled, why).findings == ()
    oil = {"a": {"oil": "1 kg", "vinegar": "40 %", "salt": "2 %"}}
    mixed = "- do: mix\n  add: [a]\n- do: store\n"
    assert made(tmp_path / "dressing", oil, mixed).findings == ()


JAM = {"a": {"plums": "5 kg", "sugar": "50 %", "vinegar": "2 %"}}
BOILED = "- do: boil\n  add: [a]\n  time: 40 min\n- do: fill\n- do: store\n"


@pytest.mark.parametrize(
    ("stated", "refused"),
    [
        ("document: Report 1", "kept-by-acid"),
        ("document: Report 1, water_activity: 0.80", ""),
        ("document: Report 1, water_activity: 0.879", ""),
        ("document: Report 1, water_activity: 0.88", "kept-by-acid"),
        ("document: Report 1, water_activity: 0.95", "kept-by-acid"),
        ("water_activity: 0.80", "kept-by-acid"),
    ],
)
def test_a_water_activity_on_a_document_keeps_jam(
    stated: str, refused: str, tmp_path: Path
) -> None:
    """Below 0.88 no pH is asked for at all: 1-201.10(B), table B."""
    why = f"not_tcs: {{reason: Dry enough., {stated}}}\nkeeps: {{dry: 90 days}}\n"
    found = made(tmp_path, JAM, BOILED, why)
    others = {"not-tcs-doubtful", "not-dry-enough"}
    assert codes(found) - others == ({refused} if refused else set())
    asked = [f for f in found.errors if f.code == "kept-by-acid"]
    assert all("water_activity: …" in f.help for f in asked)


@pytest.mark.parametrize("time", ["", "  time: 1 h\n", "  time: 23 h\n", "  time: 24 h\n"])
def test_what_is_dried_is_not_kept_by_an_acid(time: str, tmp_path: Path) -> None:
    """Nor does an hour less let it pass: how dry it is decides."""
    peel = {"a": {"cucumber": "5 kg", "water": "50 %", "sugar": "50 %"}}
    process = f"- do: boil\n  add: [a]\n- do: dry\n{time}- do: store\n"
    for said, asked in (("", {"kept-by-drying"}), (", water_activity: 0.78", set())):
        why = (
            f"not_tcs: {{reason: It is dry., document: Report 2{said}}}\nkeeps: {{dry: 90 days}}\n"
        )
        found = made(tmp_path / f"dry{len(said)}", peel, process, why)
        assert codes(found) == asked
        assert all("acid" not in f.message for f in found.errors)


def test_a_warm_rest_of_days_is_asked_about_however_short_it_keeps(tmp_path: Path) -> None:
    """Salted vegetables that stand warm for two days need the plan of what ferments, and no shorter
    `keeps` stands in for it."""
    process = (
        "- do: rest\n  add: [vegetables]\n  at: 18 °C\n  time: 48 h\n- do: store\n  in: walk-in\n"
    )
    for days in (7, 5, 1):
        keeps = f"keeps: {{cold: {days} days}}\n"
        (error,) = made(tmp_path / f"days{days}", SALTED, process, keeps).errors
        assert "`for: ferment`" in error.help.replace("\u00a0", " ")


CUSTARD = {"a": {"cream": "4 kg", "sugar": "10 %"}}


@pytest.mark.parametrize(
    ("said", "refused"),
    [
        ("water_activity: 0.99", True),
        ("water_activity: 0.88", True),
        ("water_activity: 0.879", False),
        ("water_activity: 0.83", False),
        ("", False),
    ],
)
@pytest.mark.parametrize("in_words", [False, True])
def test_a_water_activity_above_the_table_keeps_nothing_by_itself(
    said: str, refused: bool, in_words: bool, tmp_path: Path
) -> None:
    """1-201.10(B), table B: below 0.88 no pH is asked for; sourness and drying or not. In the words
    of the reason it counts as well."""
    figure = said.removeprefix("water_activity: ")
    reason = f"Water activity {figure} at 20 °C." if in_words else "By the laboratory."
    more = f", {said}" if said and not in_words else ""
    why = f"not_tcs: {{reason: {reason}, document: Report 3{more}}}\nkeeps: {{dry: 30 days}}\n"
    process = "- do: simmer\n  add: [a]\n  time: 20 min\n- do: set\n  time: 1 h\n- do: store\n"
    found = made(tmp_path, CUSTARD, process, why)
    assert ("not-dry-enough" in codes(found)) is (refused and bool(figure))

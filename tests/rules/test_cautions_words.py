"""Cautions of fish served raw; words of a step against its caution; what a stick blender and a pot
without a vessel raise."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from commands import run
from conftest import ROOT, compute
from each_row import each_row
from test_cautions_unsaid import INGREDIENTS, cautions

from generator.sheet.cautioning import ASK_FIRST, _says, notices_for
from generator.sheet.manual import Manual

BOILED = {"do": "boil", "with": "our-pot", "target": "core 95 °C", "add": ["soup", "lumps"]}
SOUP = {"soup": {"plain-water": "8 kg"}, "lumps": {"lump": "2 kg"}}


def test_fish_served_raw_has_its_cautions_where_it_is_cut_and_served(demo: Manual) -> None:
    by_step = demo.sheets["char-raw"].notices.by_step
    steps = {s.id: s.number for s in demo.walks["char-raw"].formula.steps}
    ids = {name: {n.id for n in by_step.get(number, ())} for name, number in steps.items()}
    for name in ("cut", "toss", "serve"):
        assert "raw-fish" in ids[name]
    assert all("no-bare-hands" in ids[name] for name in ("cut", "toss", "serve"))


@each_row(
    ("phrase", "text", "says"),
    [
        ("while under pressure", "open it while under pressure", True),
        ("while under pressure", "never open it while under pressure", False),
        ("add water", "fry. add water if it smokes", True),
        ("add water", "don't add water", False),
        ("add water", "don't wait. add water", True),
        ("bare hands", "no tongs, bare hands", True),
        ("by hand", "stir the herbs in by hand", False),
        ("by hand", "stir it. tear it by hand", True),
    ],
)
def test_words_that_forbid_a_thing_do_not_say_it(phrase: str, text: str, says: bool) -> None:
    assert _says(text, phrase) is says


@pytest.mark.parametrize(
    ("caution", "problems", "plain"),
    [
        (
            "hot-oil",
            {"with": "our-fryer", "how": ["Lower it in dripping wet."]},
            {"with": "our-fryer", "how": ["Never put wet food in. Dry it."]},
        ),
        (
            "under-pressure",
            {"how": ["In the pressure cooker, and open it while under pressure."]},
            {"how": ["In the pressure cooker. Don’t open it while under pressure."]},
        ),
        (
            "blender-hot",
            {"with": "our-blender", "how": ["Start at full speed."]},
            {"with": "our-blender", "how": ["Start slow."]},
        ),
    ],
)
def test_words_against_a_caution_are_asked_about(
    tmp_path: Path, caution: str, problems: Any, plain: Any
) -> None:
    for number, (step, said) in enumerate(((problems, True), (plain, False))):
        target = tmp_path / str(number)
        found = cautions(target, [BOILED, {"do": "work", "does": "comminutes", **step}], SOUP)
        assert caution in found[1]
        manual = compute(target)
        assert manual.house is not None
        notices = notices_for(manual.house, manual.walks["one"], frozenset())
        words = next(n.words for n in notices.by_step[2] if n.id == caution)
        assert words.startswith(ASK_FIRST) is said, words


def test_a_stick_blender_in_the_pot_is_no_closed_jug(tmp_path: Path) -> None:
    work = {"do": "work", "does": "comminutes"}
    words = ["With the stick blender, in the pot.", "With the blender.", "Blend it smooth."]
    for number, (how, closed) in enumerate(zip(words, (False, True, True), strict=True)):
        found = cautions(tmp_path / str(number), [BOILED, {**work, "how": [how]}], SOUP)
        assert ("blender-hot" in found[1]) is closed
        assert "hot-water" in found[1] or "hot-food" in found[1]


def test_a_pot_chilled_in_no_vessel_is_a_big_pot(tmp_path: Path) -> None:
    chill = {"do": "lay-down", "does": "cools", "target": "to 4 °C"}
    assert "big-pot-in-the-cold" in cautions(tmp_path / "a", [BOILED, chill], SOUP)[1]


@pytest.mark.parametrize("formula", ["weir-sausage", "millrace-shoulder"])
def test_the_danger_of_the_cure_stands_twice_in_a_batch(formula: str) -> None:
    said = run(ROOT, "batch", formula, "--as-of", "2026-11-29").stdout
    assert 1 <= said.count("DANGER: Curing salt has nitrite in it") <= 2


CURD = {"curd": {"lump": "2 kg", "sugar": "1 kg", "frying-oil": "300 g"}}
SUGAR = "sugar: {name: Sugar, species: none, state: ready-to-eat, form: dry, foodstuff: sugar, allergens: none}\n"


@pytest.mark.parametrize(
    ("more", "deep"),
    [
        ({"target": "core 82 °C"}, False),
        ({}, True),
        ({"target": "core 116 °C"}, True),
        ({"target": "core 82 °C", "at": "180 °C"}, True),
        ({"target": "core 82 °C", "how": ["Heat the sugar to 160 °C first."]}, True),
        ({"target": "core 82 °C", "how": ["Lower it into the hot oil."]}, True),
    ],
)
def test_sugar_in_water_that_does_not_boil_is_no_deep_fat(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, more: dict[str, Any], deep: bool
) -> None:
    monkeypatch.setattr("test_cautions_unsaid.INGREDIENTS", INGREDIENTS + SUGAR)
    step = {"do": "simmer", "with": "our-pot", "add": ["curd"], "time": "15 min", **more}
    (found,) = cautions(tmp_path, [step], CURD)
    assert ("hot-oil" in found) is deep


@pytest.mark.parametrize(
    ("parts", "more", "ground"),
    [
        ({"soup": {"plain-water": "8 kg"}, "lumps": {"lump": "2 kg"}}, {}, False),
        ({"soup": {"plain-water": "1 kg"}, "lumps": {"lump": "8 kg"}}, {}, True),
        (
            {"soup": {"plain-water": "8 kg"}, "lumps": {"lump": "2 kg"}},
            {"how": ["Through the grinder."]},
            True,
        ),
        (
            {"soup": {"plain-water": "8 kg"}, "lumps": {"lump": "2 kg"}},
            {"with": "our-grinder"},
            True,
        ),
        ({"soup": {"plain-water": "4 kg"}, "lumps": {"pork-shoulder": "6 kg"}}, {}, True),
    ],
)
def test_what_pours_goes_through_no_grinder_nobody_names(
    tmp_path: Path, parts: dict[str, dict[str, str]], more: dict[str, Any], ground: bool
) -> None:
    (found,) = cautions(tmp_path, [{"do": "emulsify", "add": list(parts), **more}], parts)
    assert ("grinder-hands" in found) is ground


CHOCOLATE = """\
couverture: {name: Dark couverture, species: none, state: ready-to-eat, allergens: none, tcs: no}
thick-cream: {name: Cream, species: none, state: pasteurised, form: liquid, allergens: milk}
nuts: {name: Walnuts, species: none, state: raw, allergens: none, tcs: no}
"""
GANACHE = {"dark": {"couverture": "6 kg"}, "cream": {"thick-cream": "2 kg"}}
SCALD = {"do": "scald", "add": ["dark", "cream"]}


@pytest.mark.parametrize(
    ("parts", "work", "sharp"),
    [
        (GANACHE, {"do": "emulsify"}, set()),
        (GANACHE, {"do": "make-ganache", "does": ["comminutes", "handles"]}, set()),
        (GANACHE, {"do": "emulsify", "how": ["Stir from the centre out."]}, set()),
        ({"dark": {"couverture": "2 kg"}, "cream": {"thick-cream": "2 kg"}}, {"do": "mix"}, set()),
        (GANACHE, {"do": "pipe"}, set()),
        (GANACHE, {"do": "whip"}, set()),
        # what is cut, by its verb, its words or what is in it
        (GANACHE, {"do": "cut"}, {"knives"}),
        (GANACHE, {"do": "emulsify", "how": ["Chop the couverture."]}, {"knives"}),
        (GANACHE, {"do": "grind"}, {"knives", "grinder-hands"}),
        (GANACHE, {"do": "emulsify", "with": "our-grinder"}, {"grinder-hands"}),
        (
            {"dark": {"couverture": "6 kg", "nuts": "2 kg"}, "cream": {"thick-cream": "1 kg"}},
            {"do": "emulsify"},
            {"knives", "grinder-hands"},
        ),
        (
            {"dark": {"pork-shoulder": "6 kg"}, "cream": {"thick-cream": "1 kg"}},
            {"do": "emulsify"},
            {"knives", "grinder-hands"},
        ),
    ],
)
def test_nobody_cuts_a_ganache(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    parts: dict[str, dict[str, str]],
    work: dict[str, Any],
    sharp: set[str],
) -> None:
    monkeypatch.setattr("test_cautions_unsaid.INGREDIENTS", INGREDIENTS + CHOCOLATE)
    found = cautions(tmp_path, [SCALD, work], parts)
    assert found[1] & {"knives", "grinder-hands"} == sharp

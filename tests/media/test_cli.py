"""The command line: shapes of cli answers, exit codes, what goes where, what is refused."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import click
import pytest
from commands import PROCESSES, every_command, run, run_alone
from conftest import ROOT, TESTS, compute, edit

from generator.answers.convert import _parted
from generator.cli.guide import with_their_jobs
from generator.pages import make_pages


def data(project: Path | None, *arguments: str) -> Any:
    where = arguments.index("--") if "--" in arguments else len(arguments)
    done = run(project, *arguments[:where], "--format", "json", *arguments[where:])
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    return json.loads(done.stdout)


def test_check(kitchen: Path) -> None:
    done = run(kitchen, "check", "--strict")
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.endswith("no findings.\n")
    assert data(kitchen, "check") == {
        "findings": [],
        "counts": {"error": 0, "warning": 0, "note": 0},
    }


def test_check_fails_on_errors_and_strictly_on_warnings(kitchen: Path) -> None:
    edit(kitchen, "formulas/rice-salad.yaml", "[20 portions, 40 portions]", "[1 portion]")
    assert run(kitchen, "check").returncode == 0
    assert run(kitchen, "check", "--strict").returncode == 1
    edit(kitchen, "formulas/pork-bake.yaml", "salt: 1.6 %", "salt: 1.6")
    done = run(kitchen, "check", "--format", "json")
    assert done.returncode == 1
    found = json.loads(done.stdout)
    assert found["counts"] == {"error": 1, "warning": 1, "note": 0}
    first = found["findings"][0]
    assert first["file"] == "standards/formulas/pork-bake.yaml"
    assert (first["line"], first["column"], first["severity"]) == (15, 11, "error")
    assert set(first) >= {"code", "severity", "file", "line", "column", "message", "help"}
    github = run(kitchen, "check", "--format", "github").stdout
    assert github.startswith(
        "::error file=standards/formulas/pork-bake.yaml,line=15,col=11,title=amount-without-unit::"
    )


def test_a_terminal_ends_with_the_gravest_and_counts_the_notes(kitchen: Path) -> None:
    """22 notes of ingredients in no formula once hid an error above them. As data all are there."""
    spare = "name: Spare, species: none, state: ready-to-eat, allergens: none, tcs: no"
    lines = "".join(f"spare-{n}: {{{spare}}}\n" for n in range(12))
    (kitchen / "standards/ingredients/spare.yaml").write_text(lines)
    edit(kitchen, "formulas/pork-bake.yaml", "bake: core 72 °C", "bake: core 60 °C")
    result = run(kitchen, "check")
    first, last = result.stdout.index(" note: "), result.stdout.index(" error: ")
    assert result.stdout.rindex(" note: ") < last and first < last
    assert result.stdout.count("[not-used]") == 5 + 1 and "and 7 more [not-used]" in result.stdout
    assert result.stdout.splitlines()[-1].endswith("1 error, 12 notes.")
    assert len(json.loads(run(kitchen, "check", "--format", "json").stdout)["findings"]) == 13


@pytest.mark.parametrize("typed", ["éclairs", "e\u0301clairs"], ids=["composed", "decomposed"])
def test_a_word_of_the_kitchens_own_may_have_accents(kitchen: Path, typed: str) -> None:
    """For a fill, in `batches`, and for a piece of what is counted."""
    words = "unit: dish, units: dishes"
    edit(kitchen, "formulas/pork-bake.yaml", words, f"unit: {typed[:-1]}, units: {typed}")
    edit(kitchen, "formulas/pork-bake.yaml", "[4 dishes, 8 dishes]", f"[4 éclairs, 8 {typed}]")
    edit(kitchen, "formulas/pork-bake.yaml", "6 each", f"6 {typed}")
    edit(kitchen, "ingredients/all.yaml", "weighs: {each: 50 g}", f"weighs: {{{typed[:-1]}: 50 g}}")
    assert compute(kitchen).findings == ()
    assert "8 éclairs" in run(kitchen, "batch", "pork-bake", "--fills", "8").stdout
    done = run(kitchen, "batch", "pork-bake", "--on-hand", f"whole-egg=12 {typed}")
    assert "Whole egg runs out first." in done.stdout


def test_batch_as_data(kitchen: Path) -> None:
    found = data(kitchen, "batch", "pork-bake", "--total", "5kg")
    assert found["formula"] == "pork-bake"
    assert found["total_g"] == 5000
    assert sum(ln["exact_g"] for ln in found["lines"]) == pytest.approx(5000)
    assert {"part", "step", "ingredient", "exact_g", "weigh_g", "scale", "error_pct"} <= set(
        found["lines"][0]
    )
    assert all(ln["error_pct"] >= 0 and ln["basis"]["rule"] for ln in found["lines"])
    assert {
        "factor",
        "loads",
        "filled_g",
        "yield_g",
        "fills",
        "portions",
        "binding",
        "leftover",
        "findings",
    } <= set(found)
    assert [load["equipment"] for load in found["loads"]] == ["bowl-mixer", "bowl-mixer"]
    per_load = sum(ln["weigh_g"] for ln in found["loads"][0]["lines"])
    assert found["loads"][0]["mass_g"] == pytest.approx(per_load)
    egg = next(ln for ln in found["lines"] if ln["ingredient"] == "whole-egg")
    assert egg["count"] == round(egg["exact_g"] / 50 / 2)


@pytest.mark.parametrize(
    ("option", "value", "key", "expected"),
    [
        ("--total", "8 lb", "total_g", 3628.73896),
        ("--base", "3kg", "base_g", 3000),
        ("--yield", "2.7 kg", "yield_g", 2700),
        ("--fills", "4", "fills", 4),
        ("--portions", "20", "portions", 20),
    ],
)
def test_every_size(kitchen: Path, option: str, value: str, key: str, expected: float) -> None:
    assert data(kitchen, "batch", "pork-bake", option, value)[key] == pytest.approx(expected)


def test_on_hand(kitchen: Path) -> None:
    """By hand: 5 kg of shoulder at 10 % trim is 4.5 kg, 1.5 times the formula; 10 eggs of 50 g are
    500 g, 1.667 times. The shoulder decides; 500 − 450 = 50 g of egg is left."""
    found = data(
        kitchen,
        "batch",
        "pork-bake",
        "--on-hand",
        "pork-shoulder=5kg",
        "--on-hand",
        "whole-egg=10 each",
    )
    assert found["factor"] == 1.5
    assert found["binding"] == "pork-shoulder"
    assert found["leftover"] == {"whole-egg": 50}
    text = run(kitchen, "batch", "pork-bake", "--on-hand", "pork-shoulder=5kg").stdout
    assert "Pork shoulder runs out first.\n" in text


@pytest.mark.parametrize(
    "arguments",
    [
        ["--total", "1,500kg"],
        ["--total", "9**9"],
        ["--total", "-2kg"],
        ["--total", "1e400 kg"],
        ["--total", "nan g"],
        ["--total", "5"],
        ["--total", "3 each"],
        ["--portions", "2.5"],
        ["--portions", "0"],
        ["--fills", "-1"],
        ["--total", "300 g"],
        ["--total", "5kg", "--base", "3kg"],
        ["--on-hand", "pork-shoulder"],
        ["--on-hand", "cinnamon=5g"],
        ["--on-hand", "pork-shoulder=5"],
        ["--total", "900000 kg"],
        ["--total", "1 kg; rm"],
    ],
)
def test_refused_sizes(kitchen: Path, arguments: list[str]) -> None:
    done = run(kitchen, "batch", "pork-bake", *arguments)
    assert done.returncode == 2
    assert done.stdout == ""
    assert "Traceback" not in done.stderr and done.stderr.strip()


def test_unknown_formula(kitchen: Path) -> None:
    done = run(kitchen, "batch", "pork-bakee")
    assert done.returncode == 2
    assert "Did you mean pork-bake?" in done.stderr


def test_a_broken_formula_answers_with_its_findings(kitchen: Path) -> None:
    edit(kitchen, "formulas/pork-bake.yaml", "salt: 1.6 %", "salt: 1.6")
    for command in ("batch", "limits", "data"):
        done = run(kitchen, command, "pork-bake")
        assert done.returncode == 1
        assert done.stdout == ""
        assert "[amount-without-unit]" in done.stderr
    assert run(kitchen, "batch", "rice-salad").returncode == 0


def test_limits_as_data(kitchen: Path) -> None:
    found = data(kitchen, "limits", "pork-bake")
    by_hazard = {lm["hazard"]: lm for lm in found["limits"]}
    assert list(by_hazard) == ["cook", "cool", "cold_hold", "date"]
    cook = by_hazard["cook"]
    assert (cook["value"], cook["unit"], cook["shown_c"], cook["shown_f"]) == (158, "°F", 70, 158)
    assert (cook["read_at_c"], cook["read_at_f"], cook["hold"]) == (71, 160, "instant")
    assert "hold_s" not in cook and "stages" not in cook
    assert cook["because"] == ["Pork shoulder", "Whole egg"]
    assert {"document", "edition", "clause", "read_in"} <= set(cook["source"])
    assert [o["value"] for o in cook["options"]] == [145, 150, 155, 158]
    stages = by_hazard["cool"]["stages"]
    assert [(s["from_f"], s["to_f"], s["within_s"]) for s in stages] == [
        (135, 70, 7200),
        (135, 41, 21600),
    ]
    assert stages[0]["clock_from"]["read_at_c"] == 59
    assert (by_hazard["date"]["value"], by_hazard["date"]["law_days"]) == (5, 7)


def test_limits_supposing(kitchen: Path) -> None:
    found = data(kitchen, "limits", "pork-bake", "--if", "bake: core 65 °C for 1 min")
    verdict = found["limits"][0]["verdict"]
    assert verdict["status"] == "fails"
    assert "core 67 °C for 1 min" in verdict["mends"]
    found = data(kitchen, "limits", "pork-bake", "--if", "bake: core 69 °C for 1 min")
    assert (found["limits"][0]["hold"], found["limits"][0]["hold_s"]) == ("timed", 60)
    for wrong in ("bake", "boil: core 70 °C", "bake: hot", "bake: 70"):
        assert run(kitchen, "limits", "pork-bake", "--if", wrong).returncode == 2


def test_sheet_is_the_whole_record(kitchen: Path) -> None:
    done = run(kitchen, "data", "pork-bake")
    assert done.returncode == 0
    record = json.loads(done.stdout)
    assert record["approved"] == "R. Osei"
    assert [b["size"].replace("\u00a0", " ") for b in record["batches"]] == ["4 dishes", "8 dishes"]
    assert record["allergens"] == ["milk", "eggs"]
    assert record["dates"]["use_by_day"] == 5
    assert all(lm["basis"]["rule"] for lm in record["limits"] if lm["hazard"] != "date")


@pytest.mark.parametrize(
    ("words", "value", "unit", "exact"),
    [
        (["1", "1/2", "cup", "ml"], 354.88235475, "ml", True),
        (["1.5", "lb", "g"], 680.388555, "g", True),
        (["16", "fl", "oz", "pt"], 1, "pt", True),
        (["1", "gal", "fl oz"], 128, "fl oz", True),
        (["2 lb 6 oz", "kg"], 1.077281878750, "kg", True),
        (["-18", "°C", "°F"], -0.4, "°F", True),
        (["-40", "°F", "°C"], -40, "°C", True),
        (["165", "°F", "°C"], 73.888888889, "°C", True),
        (["1", "in", "mm"], 25.4, "mm", True),
    ],
)
def test_convert(kitchen: Path, words: list[str], value: float, unit: str, exact: bool) -> None:
    """Factors: NIST Handbook 44, Appendix C; temperatures: NIST SP 811, B.8."""
    found = data(kitchen, "convert", "--", *words)
    assert (found["value"], found["unit"], found["exact"]) == (
        pytest.approx(value, rel=1e-11),
        unit,
        exact,
    )
    assert found["basis"]["rule"]


@pytest.mark.parametrize(
    ("words", "value"),
    [
        # A published unit reference page with ten digits (unitofconversion.com, US cooking).
        (["1", "US", "fl oz", "imperial fl oz"], 1.040842731),
        (["1 us gallon", "uk", "gallon"], 0.8326741846),
        # Exact by definition, from memory.
        (["1", "imperial", "pint", "to", "ml"], 568.26125),
        (["2", "metric", "cup", "ml"], 500),
        (["1 australian tbsp", "metric tbsp"], 4 / 3),
        (["1 cup", "us cup"], 1),
    ],
)
def test_convert_another_countrys_measures(kitchen: Path, words: list[str], value: float) -> None:
    assert data(kitchen, "convert", "--", *words)["value"] == pytest.approx(value, rel=1e-9)


def test_convert_another_countrys_cup_of_an_ingredient(kitchen: Path) -> None:
    """A metric cup holds 250 / 236.5882365 of the 292 g of the US cup (USDA SR28, NDB 02047)."""
    found = data(kitchen, "convert", "--of", "salt-table", "--", "1 metric cup", "g")
    assert found["value"] == pytest.approx(292 * 250 / 236.5882365, rel=1e-9)


def test_convert_through_an_ingredient(kitchen: Path) -> None:
    """USDA SR28, NDB 02047: one cup of table salt weighs 292 g, one teaspoon 6 g: two
    measurements."""
    cup = data(kitchen, "convert", "--of", "salt-table", "--", "1 cup", "g")
    tsp = data(kitchen, "convert", "--of", "salt-table", "--", "48 tsp", "g")
    assert (cup["value"], tsp["value"], cup["exact"]) == (292, 288, False)
    assert data(kitchen, "convert", "--of", "whole-egg", "--", "3 each", "g")["value"] == 150
    assert data(kitchen, "convert", "--of", "cream", "--", "476 g", "cup")["value"] == 2
    assert run(kitchen, "convert", "--of", "salt-table", "--", "1 cup", "g").stdout.startswith(
        "about 292 g\n"
    )
    assert data(kitchen, "convert", "--difference", "--", "1 degC", "°F")["value"] == 1.8


@pytest.mark.parametrize(
    ("words", "value", "unit"),
    [
        ("375 F", "190.555", "°C"),  # (375 − 32) / 1.8
        ("74 °C", "165.2", "°F"),
        ("5 g", "0.17637", "oz"),  # 5 / 28.349523125, NIST Handbook 44, Appendix C
        ("2 lb 3 oz", "992.233", "g"),
        ("1/2 in", "1.27", "cm"),
        ("half a pint", "236.588", "ml"),
        ("3/4 cup chopped onion", "120", "g"),  # SR28 11282: 160 g a cup, chopped
        ("3 medium onions", "330", "g"),  # SR28 11282: 110 g
        ("one stick of unsalted butter", "113", "g"),  # SR28 01145
        ("250 g honey to tbsp", "11.905", "tbsp"),  # SR28 19296: 21 g
        ("8 fl oz of tap water to g", "236.8", "g"),  # SR28 14411: 29.6 g
    ],
)
def test_convert_as_a_cook_says_it(tmp_path: Path, words: str, value: str, unit: str) -> None:
    """Without a unit wanted: of the other system, and of a food grams."""
    done = run(None, "convert", "--format", "json", "--", *words.split(), cwd=tmp_path)
    found = json.loads(done.stdout)
    assert found["unit"] == unit
    assert found["value"] == pytest.approx(float(value), rel=1e-4)


def test_convert_of_a_bare_figure_takes_pieces_or_asks(tmp_path: Path) -> None:
    """`3 onions`: small, medium or large? Each command that is proposed answers."""
    done = run(None, "convert", "--", "3", "onions", cwd=tmp_path)
    assert (done.returncode, done.stdout) == (2, "")
    proposed = [line for line in done.stderr.splitlines() if "Write: " in line]
    assert len(proposed) >= 3
    for line in proposed:
        words = line.split("Write: kitchen-manual ")[1].split()
        again = run(None, *words, cwd=tmp_path)
        assert again.returncode == 0 and again.stdout.startswith("about"), line


@pytest.mark.parametrize(("figure", "meant"), [("350", "°C °F g"), ("-18", "°C °F")])
def test_convert_of_a_figure_alone_asks_for_its_scale(
    kitchen: Path, figure: str, meant: str
) -> None:
    done = run(kitchen, "convert", "--", figure)
    assert done.returncode == 2 and f"{figure} of what: °C or °F" in done.stderr
    commands = re.findall("Write: kitchen-manual convert -- (.+)", done.stderr)
    assert commands == [f"{figure} {one}" for one in meant.split()]
    for command in commands:
        assert run(kitchen, "convert", "--", *command.split()).returncode == 0, command


def test_convert_asks_which_food_with_commands_that_answer(tmp_path: Path) -> None:
    done = run(None, "convert", "--", "1", "cup", "rice", cwd=tmp_path)
    assert (done.returncode, done.stdout) == (2, "")
    proposed = [line for line in done.stderr.splitlines() if "Write: " in line]
    assert len(proposed) == 2
    for line in proposed:
        again = run(None, *line.split("kitchen-manual ")[1].split(), cwd=tmp_path)
        assert again.returncode == 0, line
    dry = run(None, "convert", "--", "100 g dry bread crumbs to cup", cwd=tmp_path)
    assert dry.stdout.startswith("about 0.926 cup\n")  # common practice: about a cup


def test_convert_without_a_project(tmp_path: Path) -> None:
    done = run(None, "convert", "--", "1 cup", "ml", cwd=tmp_path)
    assert done.stdout.startswith("236.5882365 ml\n")


@pytest.mark.parametrize(
    "words",
    [
        ["9**9", "g"],
        ["1e400 kg", "g"],
        ["nan g", "kg"],
        ["5 oz water/cup", "g"],
        ["1,500 kg", "g"],
        ["1 T", "ml"],
        ["1 cup", "g"],
        ["5"],
        ["5 chairs"],
        ["1 cup", "°C"],
        ["0 g", "kg"],
        ["1 furlong", "m"],
        ["1 metric pint", "ml"],
        ["1 us us cup", "ml"],
        ["1 us kg", "imperial"],
    ],
)
def test_convert_refused(kitchen: Path, words: list[str]) -> None:
    done = run(kitchen, "convert", "--", *words)
    assert (done.returncode, done.stdout) == (2, "")
    assert "Traceback" not in done.stderr


def test_wrong_usage(kitchen: Path, tmp_path: Path) -> None:
    assert run(kitchen, "bake-it").returncode == 2
    assert run(None, "check", "--as-of", "tomorrow", cwd=kitchen).returncode == 2
    assert run(None, "check", cwd=kitchen).returncode == 2, "no mkdocs.yml there or above"
    assert run(tmp_path / "nowhere", "check", cwd=tmp_path).returncode == 2


def test_build_is_swapped_in_whole(kitchen: Path) -> None:
    (kitchen / "docs").mkdir()
    (kitchen / "mkdocs.yml").write_text(
        "site_name: Harbour\ntheme: {name: material, font: false}\n"
        "plugins: [search, kitchen-manual]\n"
    )
    out = kitchen / "out"
    done = run(kitchen, "build", "--strict", "--out", str(out))
    assert (done.returncode, done.stdout) == (
        0,
        f"{len(make_pages(compute(kitchen)))} pages in {out}\n",
    ), done.stderr
    before = (out / "range/pork-bake/index.html").read_text()
    edit(kitchen, "formulas/pork-bake.yaml", "salt: 1.6 %", "salt: 1.6")
    done = run(kitchen, "build", "--out", str(out))
    assert done.returncode == 1
    assert "nothing built: 1 error" in done.stderr
    assert (out / "range/pork-bake/index.html").read_text() == before
    assert [p.name for p in kitchen.iterdir() if p.name.startswith(".out")] == []
    edit(kitchen, "formulas/pork-bake.yaml", "salt: 1.6", "salt: 1.8 %")
    assert run(kitchen, "build", "--out", str(out)).returncode == 0
    assert (out / "range/pork-bake/index.html").read_text() != before


@pytest.mark.parametrize("quiet", [pytest.param([], marks=pytest.mark.slow), ["-q"]])
def test_the_builder_itself_is_strict_about_warnings(kitchen: Path, quiet: list[str]) -> None:
    """`mkdocs build --strict -q` hides warnings from its own count."""
    (kitchen / "docs").mkdir()
    (kitchen / "mkdocs.yml").write_text(
        "site_name: Harbour\ntheme: {name: material, font: false}\n"
        "plugins: [{kitchen-manual: {as_of: 2026-11-25}}]\n".replace("2026-11-25", '"2026-11-25"')
    )
    edit(kitchen, "equipment/house.yaml", "air: 3 °C", "air: 5 °C")
    done = subprocess.run(
        [sys.executable, "-m", "mkdocs", "build", "--strict", *quiet],
        capture_output=True,
        text=True,
        cwd=kitchen,
        check=False,
        env={**os.environ, "NO_MKDOCS_2_WARNING": "1"},
    )
    assert done.returncode == 1, done.stderr
    assert "[air-above-set-point]" in done.stderr
    assert not (kitchen / "site/index.html").exists()


def test_build_never_replaces_what_is_not_a_manual(kitchen: Path) -> None:
    (kitchen / "docs").mkdir()
    (kitchen / "mkdocs.yml").write_text(
        "site_name: H\ntheme: {name: material, font: false}\nplugins: [kitchen-manual]\n"
    )
    out = kitchen / "precious"
    out.mkdir()
    (out / "letter.txt").write_text("keep me")
    done = run(kitchen, "build", "--out", str(out))
    assert done.returncode == 1
    assert "has files that are not a manual" in done.stderr
    assert [p.name for p in out.iterdir()] == ["letter.txt"]
    assert run(kitchen, "build", "--out", str(kitchen / "standards")).returncode == 1
    assert (kitchen / "standards/kitchen.yaml").is_file()


def test_a_site_that_fetches_from_elsewhere_is_not_published(kitchen: Path) -> None:
    (kitchen / "docs").mkdir()
    (kitchen / "docs/extra.md").write_text("# Extra\n\n![x](https://example.org/x.png)\n")
    (kitchen / "mkdocs.yml").write_text(
        "site_name: H\ntheme: {name: material, font: false}\nplugins: [kitchen-manual]\n"
    )
    done = run(kitchen, "build", "--out", str(kitchen / "out"))
    assert done.returncode == 1
    assert "would fetch from elsewhere" in done.stderr
    assert not (kitchen / "out").exists()


def test_mkdocs_alone_stops_before_writing(kitchen: Path) -> None:
    (kitchen / "docs").mkdir()
    (kitchen / "mkdocs.yml").write_text(
        "site_name: H\ntheme: {name: material, font: false}\nplugins: [kitchen-manual]\n"
    )
    (kitchen / "site").mkdir()
    (kitchen / "site/old.html").write_text("old")
    edit(kitchen, "formulas/pork-bake.yaml", "salt: 1.6 %", "salt: 1.6")
    done = subprocess.run(
        [sys.executable, "-m", "mkdocs", "build"],
        cwd=kitchen,
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "NO_MKDOCS_2_WARNING": "1"},
    )
    assert done.returncode == 1
    assert "1.6 of what?" in done.stderr
    assert (kitchen / "site/old.html").read_text() == "old"


def test_every_command_stands_in_the_readme() -> None:
    readme = (ROOT / "README.md").read_text()
    for name, command in every_command().items():
        assert f"`{name}" in readme, name
        for parameter in command.params:
            for option in getattr(parameter, "opts", []):
                if option.startswith("--"):
                    assert option in readme, f"{name} {option}"


def test_batch_in_words(kitchen: Path) -> None:
    """By hand: 6 kg of base is twice the formula: 6000 + 600 + 476 + 96 + 60 = 7232 g in two loads
    of 3616 g; a load's salt is 48 g, which the fine scale shows with one decimal. Off by its
    accuracy and half a division: 0.15 g of 48 g, and 7.5 g of the 3 kg of pork."""
    text = run(kitchen, "batch", "pork-bake", "--base", "6 kg").stdout
    assert "Weigh 7.23 kg in 2 loads of 3.62 kg in the bowl mixer" in text
    salt = next(line for line in text.splitlines() if "Fine salt" in line)
    assert "48.0 g" in salt and "Fine scale, ±0.31 %" in salt
    meat = next(line for line in text.splitlines() if "Pork shoulder" in line)
    assert "3000 g" in meat and "Platform scale, ±0.25 %" in meat
    egg = next(line for line in text.splitlines() if "Whole egg" in line)
    assert egg.rstrip().endswith("about 6")


def test_limits_in_words(kitchen: Path) -> None:
    """Food Code 2022, 3-401.11(A)(2), 3-501.14(A), 3-501.16(A)(2), 3-501.17, on a probe of ±1
    °C."""
    text = run(kitchen, "limits", "pork-bake").stdout
    for words in (
        "Page asks for 72 °C (162 °F) or hotter, any one reading",
        "To be sure of it the probe must read 71 °C (160 °F) or hotter, any one reading",
        "Clock starts at 135 °F (58 °C); the probe reads 59 °C (137 °F)",
        "Probe must read 20 °C (68 °F) or colder within 2 h",
        "Probe must read 4 °C (39 °F) or colder within 6 h",
        "Use by: day 5, the chef's figure",
    ):
        assert words in text
    assert "166" not in text


ANSWERS = [
    ("check",),
    ("batch", "pork-bake"),
    ("limits", "pork-bake"),
    ("data", "rice-salad", "--portions", "10"),
    ("convert", "1 cup", "ml"),
    ("batch", "house-spice", "--base", "1 kg", "--format", "json"),
]


@pytest.mark.parametrize("words", ANSWERS, ids=" ".join)
def test_answers_are_plain_and_the_same_every_time(kitchen: Path, words: tuple[str, ...]) -> None:
    first, second = run(kitchen, *words), run(kitchen, *words)
    assert (first.returncode, first.stderr) == (0, "")
    assert first.stdout == second.stdout
    assert "\x1b" not in first.stdout and first.stdout.endswith("\n")
    assert str(kitchen) not in first.stdout, "no answer names the machine's folders"


def test_the_project_is_found_from_a_folder_inside_it(kitchen: Path) -> None:
    (kitchen / "mkdocs.yml").write_text("site_name: H\nplugins: [kitchen-manual]\n")
    done = run(None, "check", "--as-of", "2026-11-25", cwd=kitchen / "standards" / "formulas")
    assert (done.returncode, done.stderr) == (0, "")


def test_findings_of_every_file_stand_in_one_run(kitchen: Path) -> None:
    edit(kitchen, "formulas/pork-bake.yaml", "salt: 1.6 %", "salt: 1.6")
    edit(kitchen, "ingredients/all.yaml", "state: raw", "state: cooked")
    edit(kitchen, "processes/baked.yaml", "at: 180 °C", "at: 180")
    done = run(kitchen, "check", "--format", "json")
    found = json.loads(done.stdout)["findings"]
    assert done.returncode == 1
    places = [(f["file"], f["line"], f["column"]) for f in found]
    assert places == sorted(places)
    assert [f["code"] for f in found] == [
        "amount-without-unit",
        "word-unknown",
        "temperature-without-unit",
    ]
    assert found[0]["write"] == ["salt: 1.6 %", "salt: 1.6 g"]


def test_a_minus_is_typable_behind_two_dashes_only(kitchen: Path) -> None:
    assert run(kitchen, "convert", "--", "-18 °C", "°F").stdout.startswith("-0.4 °F\n")
    done = run(kitchen, "convert", "-18", "°C", "°F")
    assert (done.returncode, done.stdout) == (2, "")
    assert "--" in done.stderr


def test_this_process_answers_as_one_of_its_own(kitchen: Path) -> None:
    """What ``commands.run`` rests on: the status, the answer and what is said besides are the
    same."""
    (kitchen / "docs").mkdir()
    (kitchen / "docs/more.md").write_text("# More\n\n[nowhere](gone.md)\n")
    (kitchen / "mkdocs.yml").write_text(
        "site_name: H\ntheme: {name: material}\nplugins: [kitchen-manual]\n"
    )
    edit(kitchen, "formulas/rice-salad.yaml", "[20 portions, 40 portions]", "[1 portion]")
    for words in (("batch", "pork-bake", "--total", "5"), ("check", "--strict"), ("build",)):
        here, alone = run(kitchen, *words), run_alone(kitchen, *words)
        assert (here.returncode, here.stdout, here.stderr) == (
            alone.returncode,
            alone.stdout,
            alone.stderr,
        ), words
    assert "gone.md" in here.stderr, "the site builder's own warning"


def test_only_the_named_few_start_processes() -> None:
    """A command in a process of its own costs a second: the list says who needs it, and why."""
    found = {
        path.name
        for path in TESTS.rglob("*.py")
        if re.search(r"subprocess\.(run|Popen|check_)|\bPopen\(|multiprocessing", path.read_text())
    }
    assert found == set(PROCESSES)


@pytest.mark.parametrize(
    ("words", "rest"),
    [
        (["to", "ml"], ["to"]),  # what is converted is `to`, which is refused as it was typed
        (["1", "cup", "to", "ml"], ["1", "cup"]),
        (["1", "cup", "into", "ml"], ["1", "cup"]),
        (["1", "cup", "ml"], ["1", "cup"]),
    ],
)
def test_a_to_between_amount_and_unit_is_left_out(words: list[str], rest: list[str]) -> None:
    assert _parted(words, 1) == (rest, "ml")


def test_an_option_given_twice_is_refused_by_every_command(tmp_path: Path) -> None:
    """The last would be kept without a word. What may be repeated isn't refused for that, a flag
    says the same twice."""
    asked = 0
    for name, command in with_their_jobs().items():
        for option in command.params:
            if not isinstance(option, click.Option) or option.is_flag:
                continue
            twice = (option.opts[0], "1", f"{option.opts[0]}=2")
            done = run(None, *name.split(), *twice, cwd=tmp_path)
            said = f"{option.opts[0]} is given twice." in done.stderr
            assert said is not option.multiple, (name, option.opts, done.stderr)
            assert done.returncode != 0 and not done.stdout
            asked += 1
    assert asked > 150


def test_what_is_on_hand_twice_is_refused(kitchen: Path) -> None:
    done = run(kitchen, "batch", "rice-salad", "--on-hand", "rice=1kg", "--on-hand", "rice=2kg")
    assert done.returncode == 2 and "`rice` is on hand twice" in done.stderr


def test_every_finding_is_in_what_a_program_reads(kitchen: Path) -> None:
    """30 lines alike: text counts those beyond the first 20, and names the option that prints
    each."""
    lines = "".join(f"    nobody-{n}: 1 g\n" for n in range(30))
    edit(kitchen, "formulas/pork-bake.yaml", "  seasoning:\n", f"  seasoning:\n{lines}")
    wanted = {f"nobody-{n}" for n in range(30)}

    def named(text: str) -> set[str]:
        return set(re.findall(r"nobody-\d+", text))

    whole = json.loads(run(kitchen, "check", "--format", "json").stdout)
    assert named(json.dumps(whole)) == wanted
    assert whole["counts"]["error"] == sum(f["severity"] == "error" for f in whole["findings"])
    assert named(run(kitchen, "check", "--format", "sarif").stdout) == wanted
    short = run(kitchen, "check").stdout
    assert named(short) < wanted and "and 10 more" in short and "check --all" in short
    full = run(kitchen, "check", "--all").stdout
    assert named(full) == wanted and "more [" not in full

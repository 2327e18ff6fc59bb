"""`design`: what it prints can be pasted and is accepted, its limits and cautions travel with it,
and what can't be is refused with a reason."""

from __future__ import annotations

import json
import random
import re
import shutil
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from commands import run
from conftest import ROOT, compute, demo_alone

from generator.rules.basics.limit import DoseLimit
from generator.sheet.manual import Manual

PICKLE = ("pickle", "--meat", "pork-shoulder=6kg", "--pump", "12%", "--salt", "2%", "--loses", "9%")
CURE = ("--cure", "pink-cure", "--station", "meat-room")

SOUR = ("--food", "shallot=3kg", "--liquid", "3kg", "--salt", "2%", "--acid", "1%")
SOUR += ("--vinegar", "cider-vinegar: acid 5 %")


def asked(*words: str) -> dict[str, Any]:
    done = run(demo_alone(), "design", *words, "--format", "json")
    assert done.returncode == 0, done.stderr
    record: dict[str, Any] = json.loads(done.stdout)
    return record


def refused(*words: str) -> str:
    done = run(demo_alone(), "design", *words)
    assert done.returncode == 2, done.stdout + done.stderr
    assert not done.stdout and "Traceback" not in done.stderr
    return done.stderr.replace("\u00a0", " ")


def text_of(formula: str) -> str:
    return (ROOT / "standards" / "formulas" / f"{formula}.yaml").read_text(encoding="utf-8")


def pasted(formula: str, record: dict[str, Any], parts: tuple[str, ...] = ()) -> str:
    """A formula of the demo with the design's lines in place of its own base and parts; ``parts``
    of its own stay."""
    text = text_of(formula)
    head, rest = text.split("\nbase:", 1)
    body = rest.split("\nparts:\n", 1)[1]
    own, tail = re.match(r"((?:  [^\n]*\n)+)(.*)", body, re.S).groups()  # type: ignore[union-attr]
    kept = "".join(
        block for block in re.split(r"(?m)^(?=  \S)", own) if block.split(":")[0].strip() in parts
    )
    lines = [one for one in record["yaml"] if not one.startswith("cured_as")]
    tail = re.sub(r"(?m)^cured_as:.*\n|^bounds:\n(?:  .*\n)+", "", tail)  # of its own lines
    cured = [one for one in record["yaml"] if one.startswith("cured_as")]
    return "\n".join([head, *lines, kept.rstrip("\n"), *cured, tail]).replace("\n\n", "\n")


def project_with(tmp_path: Path, formulas: dict[str, str], pumps: dict[str, str]) -> Manual:
    """The demo with more formulas; ``pumps`` gives some the process of pumped meat with a step's
    line of their own."""
    folder = tmp_path / "demo"
    shutil.copytree(demo_alone(), folder)
    process = (folder / "standards/processes/pumped-shoulder.yaml").read_text(encoding="utf-8")
    for name, text in formulas.items():
        if name in pumps:
            own = process.replace("pump: 12 % of green weight", pumps[name])
            (folder / f"standards/processes/{name}.yaml").write_text(own, encoding="utf-8")
            text = text.replace("process: pumped-shoulder", f"process: {name}")
        text = text.replace("name: ", f"name: {name} ", 1)
        (folder / f"standards/formulas/{name}.yaml").write_text(text, encoding="utf-8")
    return compute(folder)


def nitrite(manual: Manual, formula: str) -> DoseLimit:
    walk = manual.walks[formula]
    return next(x for x in walk.limits if isinstance(x, DoseLimit) and x.most_ppm is not None)


def test_what_is_pasted_is_accepted_and_comes_to_the_same_dose(tmp_path: Path) -> None:
    """20 random pickles, and a cure, a brine, two blends: pasted into formulas of the demo, `check`
    finds no error, and the walk's own dose is the design's, at or below what was asked."""
    dice = random.Random(21)
    formulas, pumps, doses = {}, {}, {}
    for i in range(20):
        pump, ppm = dice.randint(12, 25), dice.randint(125, 200)
        record = asked(
            "pickle",
            *("--meat", f"pork-shoulder={dice.randint(3, 30)}kg", "--pump", f"{pump}%"),
            *("--salt", f"1.{dice.randint(0, 9)}%", "--loses", f"{dice.randint(1, 25)}%"),
            *("--drips", f"{dice.randint(1, 9) / 10}%", "--spare", f"{dice.randint(1, 40)}%"),
            *("--sugar", "0.3%", "--nitrite", f"{ppm}ppm", *CURE),
        )
        assert record["nitrite_ppm"] <= ppm and record["pickle_g"] >= record["goes_in_g"]
        name = f"pickle-{i}"
        formulas[name] = pasted("millrace-shoulder", record)
        pumps[name] = record["step"][-1]
        doses[name] = record["nitrite_ppm"]
    ground = asked(
        "cure",
        "--meat",
        "pork-shoulder=4kg",
        "--meat",
        "pork-back-fat=1kg",
        "--salt",
        "1.7%",
        "--nitrite",
        "156ppm",
        "--as",
        "comminuted",
        *CURE,
    )
    formulas["ground"] = pasted("weir-sausage", ground, ("seasoning", "ice", "casing"))
    doses["ground"] = ground["nitrite_ppm"]
    manual = project_with(tmp_path, formulas, pumps)
    wrong = [f for f in manual.errors if f.about & set(formulas)]
    assert not wrong, [f.message for f in wrong]
    for name, ppm in doses.items():
        limit = nitrite(manual, name)
        assert float(limit.ppm) == pytest.approx(ppm, rel=1e-9), name
        assert limit.most_ppm is not None and limit.ppm <= limit.most_ppm


def test_blends_mixes_and_jars_are_accepted_too(tmp_path: Path) -> None:
    blend = asked("blend", "--fat", "25%", "--from", "pork-shoulder", "--from", "pork-back-fat")
    jar = asked("brine", *SOUR)
    mix = asked(
        "mix",
        "--fat",
        "10%",
        "--sugar",
        "16%",
        "--from",
        "milk-fresh",
        "--from",
        "cream-heavy-whipping",
        "--from",
        "sugar",
        "--total",
        "6kg",
    )
    shallots = pasted("pickled-shallots", jar)
    shallots = shallots.replace("work_on: shallots", "work_on: food").replace(
        "pickle\n    with", "brine\n    with"
    )
    shallots = shallots.replace("of: pickle", "of: brine")
    cream = pasted("millpond-cream", mix).replace("process: frozen-cream", CREAM.strip())
    formulas = {
        "blended": pasted(
            "race-sausage", {"yaml": ["base: meat", *blend["yaml"]]}, ("seasoning", "ice", "casing")
        ),
        "jarred": shallots,
        "mixed": cream,
    }
    formulas["blended"] += "cooked_later: Sold raw; the label says cook to 74 °C in the middle.\n"
    manual = project_with(tmp_path, formulas, {})
    wrong = [f for f in manual.errors if f.about & set(formulas)]
    assert not wrong, [f.message for f in wrong]
    made = manual.made["blended"].at[1].share("fat")
    assert float(blend["fat_pct"]) == pytest.approx(25, abs=0.05)
    assert made.low < Fraction(25, 100) + Fraction(1, 1000)


CREAM = """
steps:
  - do: simmer
    add: [mix]
    with: stock-pot
    target: core 83 °C
    time: 10 min
  - do: chill
    in: ice-sink
    target: to 4 °C
    time: 1 h
  - do: fill
    vessel: as the formula says
  - do: freeze
    in: freezer
    time: 12 h
  - do: store
    in: freezer
"""


def test_limits_cautions_and_who_governs_travel_with_the_answer() -> None:
    record = asked(*PICKLE, "--nitrite", "150ppm", *CURE)
    most, least = record["limits"]
    assert (most["bound"], most["limit_ppm"], most["verdict"]) == ("max", 200, "meets")
    assert (least["bound"], least["limit_ppm"]) == ("min", 120)
    assert most["source"]["clause"] == "9 CFR 424.21(c)" and most["source"]["read_in"]
    severities = [c["severity"] for c in record["cautions"]]
    assert severities[0] == "danger" and "warning" in severities
    assert "local code wins" in record["governs"]
    assert record["basis"]["nitrite_ppm"]["rule"].startswith("nitrite × pump")
    text = run(demo_alone(), "design", *PICKLE, "--nitrite", "150ppm", *CURE).stdout
    assert text.startswith("DANGER: Curing salt has nitrite in it.")
    assert "never a permission" in text and "pump: 12 % of green weight" in text
    sour = asked("brine", *SOUR)
    assert sour["cautions"][0]["id"] == "acidified"
    assert any("below pH 4.2 " in note for note in sour["notes"])


def test_a_dose_above_its_row_is_never_designed() -> None:
    for way, above, row in (("pumped", "201ppm", "200"), ("bacon-pumped", "121ppm", "120")):
        meat = ("--meat", "belly: fat 40 %=5kg") if "bacon" in way else ()
        words = refused(*PICKLE, *meat, "--nitrite", above, *CURE, "--as", way)
        assert f"--nitrite {row}ppm" in words
    dry = ("cure", "--meat", "pork-shoulder=5kg", "--salt", "3%", *CURE)
    assert "--nitrite 625ppm" in refused(*dry, "--nitrite", "626ppm")
    assert asked(*dry, "--nitrite", "625ppm")["nitrite_ppm"] <= 625


def test_pumped_bacon_is_set_at_120_with_its_accelerator() -> None:
    """The green weight of a belly whose skin isn't said to be off counts a tenth less; the dose
    isn't typed, since it is set; without erythorbate it is refused."""
    belly = ("pickle", "--meat", "belly: fat 40 %=5kg", "--pump", "10%", "--salt", "1.8%", *CURE)
    bacon = (*belly, "--as", "bacon-pumped")
    assert "550 ppm" in refused(*bacon)
    record = asked(*bacon, "--accelerator", "erythorbate: erythorbate 100 %")
    limits = {x["name"]: x for x in record["limits"]}
    assert 119.4 <= limits["Nitrite"]["ppm"] <= 120
    assert limits["Erythorbate or ascorbate"]["ppm"] >= 550
    assert all(x["verdict"] == "meets" for x in record["limits"])
    grams = {ln["ingredient"]: ln["weighed_g"] for ln in record["lines"]}
    pumped = grams["pink-cure"] * 0.0625 / record["pickle_g"] * 500
    assert pumped / 4500 * 1e6 == pytest.approx(record["nitrite_ppm"])


@pytest.mark.parametrize(
    ("words", "reason"),
    [
        (("mix", "--fat", "14%", "--from", "milk-fresh", "--from", "sugar"), "Fat binds: 14 %"),
        (
            (
                "mix",
                "--fat",
                "10%",
                "--from",
                "milk-fresh",
                "--from",
                "sugar",
                "--from",
                "cream-heavy-whipping",
            ),
            "Many mixes",
        ),
        (("mix", "--from", "milk-fresh"), "What is wanted of it?"),
        (("mix", "--fat", "9**9", "--from", "milk-fresh"), "is not an amount"),
        (("mix", "--fat", "10%", "--from", "moon-dust"), "There is no ingredient moon-dust"),
        (
            ("mix", "--fat", "10%", "--from", "milk: fat 60 %, msnf 60 %"),
            "more than all of the food",
        ),
        (("mix", "--fat", "10%", "--from", "milk: fat -3 %"), "is no figure of a food"),
        (("mix", "--fat", "10%", "--from", "milk-fresh", "--from", "milk-fresh"), "named twice"),
        (
            ("blend", "--fat", "95%", "--from", "pork-shoulder", "--from", "pork-back-fat"),
            "Fat binds",
        ),
        (("blend", "--fat", "25%", "--from", "pork-shoulder"), "Give --from twice"),
        (("blend", "--fat", "25%", "--have", "pork-shoulder=5kg"), "Give both"),
        (
            ("blend", "--fat", "25%", "--from", "hog-casing", "--from", "pork-shoulder"),
            "how much fat?",
        ),
        (
            (
                "brine",
                "--food",
                "shallot=3kg",
                "--liquid",
                "1kg",
                "--salt",
                "2%",
                "--acid",
                "3%",
                "--vinegar",
                "v: acid 5 %",
            ),
            "Even all vinegar",
        ),
        (
            ("brine", "--food", "shallot=3kg", "--liquid", "3kg", "--salt", "40%"),
            "doesn't dissolve",
        ),
        (
            (
                "brine",
                "--food",
                "shallot=3kg",
                "--liquid",
                "3kg",
                "--salt",
                "2%",
                "--cure",
                "pink-cure",
                "--nitrite",
                "100ppm",
            ),
            "neither meat nor poultry",
        ),
        (("brine", "--food", "shallot=3kg", "--liquid", "3 cups", "--salt", "2%"), "is no weight"),
        ((*PICKLE, "--cure", "pink-cure"), "How much nitrite?"),
        (
            (*PICKLE, "--cure", "cure: salt 94 %", "--nitrite", "150ppm"),
            "how much of it is nitrite?",
        ),
        ((*PICKLE, "--nitrite", "150ppm"), "Nitrite from which cure?"),
        ((*PICKLE, "--drips", "12%"), "run out again"),
        ((*PICKLE, "--pump", "100%"), "that would be all of it"),
        ((*PICKLE, "--loses", "100%"), "that would be all of it"),
        ((*PICKLE, "--nitrite", "0ppm", *CURE), "is zero"),
        (
            ("pickle", "--meat", "pork-shoulder=6kg", "--pump", "4%", "--salt", "5%"),
            "doesn't dissolve",
        ),
        (
            ("cure", "--meat", "pork-shoulder=5kg", "--salt", "0.1%", "--nitrite", "150ppm", *CURE),
            "more salt than is wanted",
        ),
        (
            ("cure", "--meat", "pork-shoulder=2g", "--salt", "2%", "--nitrite", "150ppm", *CURE),
            "less than any scale",
        ),
        (("mix", "--fat", "4%", "--from", "milk-fresh", "--station", "attic"), "no station attic"),
    ],
)
def test_what_cannot_be_is_refused_with_a_reason(words: tuple[str, ...], reason: str) -> None:
    assert reason in refused(*words)


def test_a_decimal_comma_is_printed_as_it_is_read(tmp_path: Path) -> None:
    """In a kitchen that writes commas the pasted lines are read back as the same weights."""
    folder = tmp_path / "comma"
    shutil.copytree(
        ROOT / "tests" / "kitchens" / "second_kitchen" / "standards", folder / "standards"
    )
    done = run(
        folder,
        "design",
        "blend",
        "--fat",
        "22,5 %",
        "--from",
        "fat: fat 80,5 %",
        "--from",
        "lean: fat 5 %",
        "--total",
        "1kg",
        "--format",
        "json",
    )
    assert done.returncode == 0, done.stderr
    record = json.loads(done.stdout)
    typed = [line.split(": ")[1] for line in record["yaml"] if line.endswith(" g")]
    shown = [f"{ln['weighed_g']:g}".replace(".", ",") + " g" for ln in record["lines"]]
    assert typed == shown

"""`design`: what it prints can be pasted and is accepted, its limits and cautions travel with it,
and what can't be is refused with a reason."""

from __future__ import annotations

import json
import random
import re
import shlex
import shutil
from collections.abc import Callable, Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
import yaml
from commands import run
from conftest import ROOT, compute, demo_alone
from each_row import each_row

from generator.rules.basics.limit import DoseLimit
from generator.sheet.manual import Manual

PICKLE = ("pickle", "--meat", "pork-shoulder=6kg", "--pump", "12%", "--salt", "2%", "--loses", "9%")
CURE = ("--cure", "pink-cure", "--station", "meat-room")

ERYTHORBATE = ("--accelerator", "erythorbate: erythorbate 100 %")
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
    record = asked(*bacon, *ERYTHORBATE)
    limits = {x["name"]: x for x in record["limits"]}
    assert 119.4 <= limits["Nitrite"]["ppm"] <= 120
    assert limits["Erythorbate or ascorbate"]["from_ppm"] >= 550
    assert [x["verdict"] for x in record["limits"]] == ["meets", "close", "meets"]
    more = asked(*(word.replace("5kg", "100kg") for word in bacon), *ERYTHORBATE)
    assert [x["verdict"] for x in more["limits"]] == ["meets"] * 3
    grams = {ln["ingredient"]: ln["weighed_g"] for ln in record["lines"]}
    pumped = grams["pink-cure"] * 0.0625 / record["pickle_g"] * 500
    assert pumped / 4500 * 1e6 == pytest.approx(record["nitrite_ppm"])


@each_row(
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
        (("100%" if word == "12%" else word for word in PICKLE), "that would be all of it"),
        (("100%" if word == "9%" else word for word in PICKLE), "that would be all of it"),
        ((*PICKLE, "--nitrite", "0ppm", *CURE), "is zero"),
        (
            ("pickle", "--meat", "pork-shoulder=6kg", "--pump", "4%", "--salt", "5%"),
            "leaves no water",
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


def scales() -> dict[str, dict[str, Any]]:
    """The demo's scales by their ids, as their files say."""
    found: dict[str, dict[str, Any]] = {}
    for folder in ("stations", "equipment"):
        for path in sorted((ROOT / "standards" / folder).glob("*.yaml")):
            for ident, one in yaml.safe_load(path.read_text(encoding="utf-8")).items():
                if isinstance(one, dict) and one.get("kind") == "scale":
                    found[ident] = one
    return found


def off_g(line: dict[str, Any]) -> Fraction:
    """What the weighings of a line may be off: half a division and the accuracy, each time."""
    scale = scales()[line["scale"]]
    division, accuracy = (Fraction(scale[k].removesuffix(" g")) for k in ("division", "accuracy"))
    return (division / 2 + accuracy) * int(line["weighings"])


def held(record: dict[str, Any], ppm_of: Callable[[Fraction], Fraction]) -> None:
    """The verdicts of a design's nitrite, asked again of the grams on the scale."""
    line = next(x for x in record["lines"] if x["ingredient"] == "pink-cure")
    grams, off = Fraction(str(line["weighed_g"])), off_g(line)
    low, mid, high = (ppm_of(g) for g in (max(grams - off, Fraction(0)), grams, grams + off))
    for one in record["limits"]:
        row = Fraction(str(one["limit_ppm"]))
        sure, shown = (
            (high <= row, mid <= row) if one["bound"] == "max" else (low >= row, mid >= row)
        )
        assert one["verdict"] == ("meets" if sure else "close" if shown else "fails"), one
        assert one["bound"] == "min" or one["verdict"] == "meets"
        assert float(low) == pytest.approx(one["from_ppm"])
        assert float(high) == pytest.approx(one["to_ppm"])


def test_a_dose_is_judged_by_what_the_scale_may_be_off() -> None:
    """40 random cures near the least for what is kept cold, from a handful of meat to a tub, dry,
    pumped and under a brine: each verdict from the grams shown and the scale's own figures; what is
    proposed is surely within both ends."""
    dice, nitrite, proposed = random.Random(7), Fraction(625, 10_000), 0
    for _ in range(40):
        meat, ppm = Fraction(dice.choice((1, 3, 9, 40, 200)) * dice.randint(60, 160)), 120
        ppm += dice.choice((-5, 0, 0, 1, 2, 6))
        job = dice.choice(("cure", "pickle", "brine"))
        words = {
            "cure": ("--meat", f"pork-shoulder={meat}g", "--as", "dry"),
            "pickle": ("--meat", f"pork-shoulder={meat}g", "--pump", "12%"),
            "brine": ("--food", f"pork-shoulder={meat}g", "--liquid", f"{meat}g"),
        }[job]

        def design(dose: str, job: str = job, words: tuple[str, ...] = words) -> dict[str, Any]:
            record = asked(job, *words, "--salt", "2%", "--nitrite", dose, *CURE)
            lines = {x["ingredient"]: Fraction(str(x["weighed_g"])) for x in record["lines"]}
            flesh, cure = lines.pop("pork-shoulder"), lines.pop("pink-cure")
            rest = sum(lines.values(), Fraction(0))
            assert cure > 0
            held(
                record,
                {
                    "cure": lambda g: g * nitrite / flesh * 10**6,
                    "pickle": lambda g: g * nitrite * Fraction(12, 100) / (rest + g) * 10**6,
                    "brine": lambda g: g * nitrite / (flesh + rest + g) * 10**6,
                }[job],
            )
            return record

        record = design(f"{ppm}ppm")
        fix = re.search(r"Ask for --nitrite (\S+?)\.( |$)", " ".join(record["notes"]))
        if fix:
            proposed += 1
            assert all(x["verdict"] == "meets" for x in design(fix[1])["limits"])
    assert proposed > 9


def test_a_scale_far_too_coarse_is_no_sure_dose() -> None:
    """0.08 g on a scale that shows 0.01 g and may be 0.025 g off lies anywhere from 95 to 182 ppm:
    the least is no longer met, and nothing on that scale would be sure."""
    record = asked(
        *("cure", "--meat", "belly: fat 40 %=40g", "--salt", "2%", "--as", "bacon-dry"),
        *("--nitrite", "150ppm", *CURE),
    )
    least = next(x for x in record["limits"] if x["bound"] == "min")
    assert least["ppm"] > 120 and least["verdict"] == "close"
    note = next(x for x in record["notes"] if x.startswith("Nitrite, if it is kept cold"))
    assert "may be below" in note and "finer scale" in note


def test_the_finished_weight_of_a_dry_cure_holds_the_cure() -> None:
    """Salt and sugar are shares of the meat that is left with all that is rubbed on it."""
    dice = random.Random(3)
    for _ in range(10):
        loses, salt, sugar = dice.randint(0, 35), dice.randint(20, 45), dice.randint(0, 20)
        record = asked(
            *("cure", "--meat", "pork-shoulder=8kg", "--salt", f"{salt / 10}%", *CURE),
            *("--sugar", f"{sugar / 10}%", "--loses", f"{loses}%", "--nitrite", "150ppm"),
        )
        grams = {x["ingredient"]: x["weighed_g"] for x in record["lines"]}
        left = 8000 * (1 - loses / 100)
        rubbed = sum(g for name, g in grams.items() if name != "pork-shoulder")
        pure = grams["salt-fine"] + 0.9375 * grams["pink-cure"]
        assert record["finished_g"] == pytest.approx(left + rubbed)
        assert record["salt_pct"] == pytest.approx(pure / (left + rubbed) * 100, abs=1e-3)
        assert record["salt_pct"] == pytest.approx(salt / 10, abs=0.005)
        if sugar:
            assert grams["sugar"] / (left + rubbed) * 100 == pytest.approx(sugar / 10, abs=0.03)


def test_meat_that_is_named_twice_is_one_line() -> None:
    one = asked("cure", "--meat", "pork-shoulder=5kg", "--salt", "2%", "--nitrite", "150ppm", *CURE)
    twice = ("--meat", "pork-shoulder=3kg", "--meat", "pork-shoulder=2kg")
    two = asked("cure", *twice, "--salt", "2%", "--nitrite", "150ppm", *CURE)
    assert two == one
    other = ("--meat", "pork: fat 20 %=3kg", "--meat", "pork: fat 30 %=2kg")
    message = refused("cure", *other, "--salt", "2%", "--nitrite", "150ppm", *CURE)
    assert 'Write: --meat "pork-2: fat 30 %=2kg"' in message
    sour = ("--food", "shallot=3kg", "--liquid", "3kg", "--salt", "2%", "--acid", "1%")
    message = refused("brine", *sour, "--vinegar", "water: acid 5 %")
    assert "water is named twice" in message


DRY = {"--meat": "pork-shoulder=5kg", "--salt": "2%", "--nitrite": "150ppm", "--cure": "pink-cure"}
PUMPED = {
    **DRY,
    "--pump": "12%",
    "--loses": "9%",
    "--drips": "1%",
    "--spare": "5%",
    "--sugar": "1%",
}
BACON = {**PUMPED, "--meat": "belly: fat 40 %=25kg", "--as": "bacon-pumped", "--nitrite": "120ppm"}
BACON |= {"--accelerator": "erythorbate: erythorbate 100 %", "--erythorbate": "550ppm"}
JAR = {"--food": "shallot=3kg", "--liquid": "3kg", "--salt": "2%", "--acid": "1%"}
JAR |= {"--vinegar": "cider-vinegar: acid 5 %"}
MIX = {"--fat": "10%", "--sugar": "16%", "--total": "6kg", "--from": "sugar"}
MADE_OF = ("--from", "milk-fresh", "--from", "cream-heavy-whipping")
HAVE = ("--have", "pork-shoulder=5kg", "--add", "pork-back-fat")
BLEND = {"--fat": "25%", "--have": "pork-shoulder=5kg", "--add": "pork-back-fat"}
NUMBERS = ("{}", "0{}", "-{}", "1.000,5{}", "{},500", "200%", "half", "3 cups", "")


def spoiled() -> Iterator[tuple[str, tuple[str, ...], dict[str, str], str, str]]:
    """Each option of each job with what a hand may type in its place."""
    jobs = (
        ("cure", (), DRY),
        ("pickle", (), PUMPED),
        ("pickle", (), BACON),
        ("brine", (), JAR),
        ("mix", MADE_OF, MIX),
        ("blend", (), BLEND),
    )
    for job, more, given in jobs:
        for option, right in given.items():
            if option == "--as":
                continue
            figure = re.search(r"\d+(?=%|ppm|kg)", right.rpartition("=")[2])
            if figure is None or ":" in right.rpartition("=")[2]:
                for wrong in (right.title(), right.replace("-", " "), right.replace(" %", "")):
                    yield job, more, given, option, wrong
                continue
            named = right.rpartition("=")[0] + "=" if "=" in right else ""
            for form in NUMBERS:
                unit = right[right.index(figure[0], len(named)) + len(figure[0]) :]
                typed = form.format(figure[0] if form in ("{}", "{},500") else unit)
                typed = typed.replace(f"-{unit}", f"-{figure[0]}{unit}")
                yield job, more, given, option, f"{named}{typed}"


def test_what_a_refusal_proposes_is_accepted() -> None:
    """None, a minus, no unit, too much, two marks, words: of every option. What is refused names
    the option or the food, and each line it proposes for an option is taken when it is pasted."""
    pasted = 0
    for job, more, given, option, wrong in spoiled():
        words = [word for pair in {**given, option: wrong}.items() for word in pair]
        done = run(demo_alone(), "design", job, *words, *more, "--station", "meat-room")
        assert "Traceback" not in done.stderr and done.returncode in (0, 2), (words, done.stderr)
        if done.returncode == 0:
            continue
        fixes = re.findall(r"(?m)^  Write: (--.*)$", done.stderr.replace("\u00a0", " "))
        assert fixes or option in ("--fat", "--sugar", "--salt-from"), (words, done.stderr)
        for name, *value in map(shlex.split, fixes):
            again = [w for pair in {**given, name: value[0]}.items() for w in pair]
            done = run(demo_alone(), "design", job, *again, *more, "--station", "meat-room")
            assert f"{name}: " not in done.stderr, (words, fixes, done.stderr)
            pasted += 1
    assert pasted > 150


@pytest.mark.parametrize(
    ("words", "reason"),
    [
        (
            (*("blend", "--fat", "25%", "--total", "5kg"), *HAVE),
            "--have doesn't go with --total",
        ),
        (
            ("brine", "--food", "shallot=3kg", "--liquid", "3kg", "--salt", "2%", *SOUR[-2:]),
            "How sour",
        ),
        (("blend", "--fat", "25%", "--fat", "30%", "--from", "a"), "--fat is given twice"),
        ((*PICKLE, *ERYTHORBATE), "An accelerator of which cure?"),
        ((*PICKLE, "--nitrite", "150ppm", "--erythorbate", "550ppm", *CURE), "Which accelerator"),
    ],
)
def test_what_would_not_be_read_is_refused(words: tuple[str, ...], reason: str) -> None:
    assert reason in refused(*words)

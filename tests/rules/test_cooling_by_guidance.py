"""Cooling where the law sets no time and guidance does (the pack of England): the plan, its fixes,
a log and a prediction are held against the guidance, which is named as such."""

from __future__ import annotations

import json
import random
import re
import shutil
from collections import defaultdict
from pathlib import Path

import pytest
from commands import run
from conftest import ROOT, compute

from generator.files.finding import Finding
from generator.pages.bench_record import bench_record
from generator.views.clock_view import law_clocks
from generator.views.limit_view import limit_view

ROAST = "{do: roast, add: [meat], with: big-pot, target: core 76 °C for 30 s}"
CHILL = "do: chill, in: chiller, target: to 5 °C"
GUIDED, MOST = 90, 240
"""Minutes: of the guidance (read in the pack's row), and of the working rule for preparation."""
OF_COOLING = {"between-too-long", "chill-too-slow", "chill-past-guidance"}


@pytest.fixture
def england(tmp_path: Path) -> Path:
    shutil.copytree(ROOT / "tests/kitchens/england" / "standards", tmp_path / "standards")
    shutil.copy(ROOT / "tests/kitchens/base/mkdocs.yml", tmp_path / "mkdocs.yml")
    return tmp_path


def put(project: Path, name: str, *steps: str, keeps: str = "keeps: {cold: 3 days}") -> None:
    """A formula of beef alone with its own steps, behind one that roasts it."""
    lines = "".join(f"  - {step}\n" for step in (ROAST, *steps))
    text = (project / "standards/formulas/beef-filling.yaml").read_text(encoding="utf-8")
    text = re.sub(r"  broth:\n(    .*\n)+", "", text).replace("Beef filling", f"Dish {name}")
    text = re.sub(r"process:.*\ntargets:.*\nkeeps:.*\n", f"steps:\n{lines}{keeps}\n", text)
    (project / f"standards/formulas/{name}.yaml").write_text(text, encoding="utf-8")


def codes(project: Path) -> list[tuple[str, str]]:
    return [(f.severity, f.code) for f in compute(project).findings if f.severity != "note"]


@pytest.mark.parametrize(
    "step",
    [
        "{do: chill, time: 20 h}",
        "{do: chill, time: 3 days}",
        "{do: chill}",
        "{do: settle, does: cools, time: 20 h}",
    ],
)
def test_a_chill_names_a_place_or_a_target(england: Path, step: str) -> None:
    put(england, "dish", step)
    assert codes(england) == [("error", "chill-where")]


def test_a_time_without_a_target_is_asked_about(england: Path) -> None:
    put(england, "dish", "{do: chill, in: chiller, time: 20 h}")
    assert codes(england) == [("warning", "chill-time-unclear")]


def pasted(project: Path, finding: Finding, line: str) -> None:
    path = project / finding.place.file
    lines = path.read_text(encoding="utf-8").splitlines()
    old = lines[finding.place.line - 1]
    if line.split(":")[0] in ("time", "stays"):  # of one key on a line of braces
        old = re.sub(r"time: [^,}]*", line, old)
    else:
        old = old[: len(old) - len(old.lstrip())] + line
    lines[finding.place.line - 1] = old
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


@pytest.mark.parametrize("step", ["{do: cool, time: 150 min}", "{do: cool, time: 250 min}"])
@pytest.mark.parametrize("chill", [f"{{{CHILL}}}", f"{{{CHILL}, time: 20 h}}"])
def test_what_a_fix_proposes_is_within_the_guidance(england: Path, step: str, chill: str) -> None:
    """Never four hours on the bench: a line offered leaves no finding of cooling at its place."""
    put(england, "dish", step, chill)
    for finding in [f for f in compute(england).findings if f.code in OF_COOLING]:
        path = england / finding.place.file
        text = path.read_text(encoding="utf-8")
        for line in finding.write:
            pasted(england, finding, line)
            left = [f for f in compute(england).findings if f.place.line == finding.place.line]
            assert not [f.code for f in left if f.code in OF_COOLING], line
            path.write_text(text, encoding="utf-8")


def expected(waits: list[int], chill: int | None) -> str:
    """What a plan of ``waits`` minutes and a chill of so many is: added up by hand."""
    out, own = sum(waits), chill or 0
    if out > MOST:
        return "between-too-long"
    if out + own > MOST and chill is not None:
        return "chill-too-slow"
    return "chill-past-guidance" if out + own > GUIDED else ""


def test_every_plan_is_added_up(england: Path) -> None:
    """Random waits, and a chill with a time or none, against a sum."""
    dice, plans = random.Random(20261130), {}
    minutes = (0, 5, 30, 45, 85, 90, 91, 150, 235, 240, 241, 300)
    for number in range(60):
        waits = [dice.choice(minutes[1:]) for _ in range(dice.randrange(3))]
        chill = dice.choice((None, None, *minutes[1:], 1200))
        works = [dice.choice(("rest", "cool", "season")) for _ in waits]
        verbs = [
            f"{{do: {work}, id: w{n}, time: {m} min}}"
            for n, (work, m) in enumerate(zip(works, waits, strict=True))
        ]
        time = "" if chill is None else f", time: {chill} min"
        put(england, f"d{number}", *verbs, f"{{{CHILL}{time}}}", "{do: store, in: tall-fridge}")
        plans[f"d{number}"] = waits, chill
    found: dict[str, list[str]] = defaultdict(list)
    for finding in compute(england).findings:
        if finding.code in OF_COOLING:
            found[Path(finding.place.file).stem].append(finding.code)
    seen = set()
    for name, (waits, chill) in plans.items():
        want = expected(waits, chill)
        seen.add(want)
        assert (found[name][:1] or [""]) == [want] or want in found[name], (
            waits,
            chill,
            found[name],
        )
        if not want:
            assert not found[name], (waits, chill, found[name])
    assert seen == {*OF_COOLING, ""}


def test_a_log_is_held_against_the_guidance(england: Path) -> None:
    put(england, "dish", f"{{{CHILL}}}", "{do: store, in: tall-fridge}")
    days = "2026-11-20T"
    for rows, verdict, do in (
        (("10:00,66", "10:20,50", "11:10,7"), "Pass", ""),
        (("10:00,66", "10:30,40", "12:10,11", "12:30,7"), "Fail", "Do: Still warm"),
        (("10:00,66", "10:30,50", "20:00,30", "23:00,7"), "Fail", "Do: Too late"),
    ):
        log = england / "log.csv"
        log.write_text("time,Core (°C)\n" + "".join(f"{days}{row}\n" for row in rows))
        done = run(england, "review", str(log), "--formula", "dish", "--step", "chill")
        assert done.stdout.startswith(verdict) and do in done.stdout, done.stdout + done.stderr
        assert "Guidance, not law: as cold as you can get it within 90 minutes" in done.stdout
        assert "Limit:" not in done.stdout


def test_a_prediction_is_held_against_the_guidance(england: Path) -> None:
    put(england, "dish", f"{{{CHILL}}}", "{do: store, in: tall-fridge}")
    (england / "standards/equipment/tub.yaml").write_text(
        "tub: {kind: vessel, name: Tub, shape: box, "
        "inside: {length: 300 mm, width: 200 mm, depth: 60 mm}}\n"
    )
    typed = ("predict", "dish", "--step", "chill", "--vessel", "tub", "--depth", "40 mm")
    done = run(england, *typed)
    assert done.returncode == 0, done.stderr
    assert "guidance 1 h 30 min: " in done.stdout.replace("\u202f", " ").replace("\xa0", " ")
    assert "Guidance, not law: " in done.stdout
    record = json.loads(run(england, *typed, "--format", "json").stdout)
    assert record["stages"][0]["limit_min"] == GUIDED and "Guidance" in record["guidance"]


def test_a_batchs_readings_are_held_against_the_guidance(england: Path) -> None:
    put(england, "dish", f"{{{CHILL}}}", "{do: store, in: tall-fridge}")
    for lot, rows, words in (
        ("1", (("10:00", 66), ("10:20", 50), ("11:10", 7), ("11:25", 4)), "within what guidance"),
        ("2", (("10:00", 66), ("10:30", 40), ("12:10", 11), ("14:30", 4)), "OUT OF GUIDANCE"),
    ):
        batch = england / f"batch-{lot}.yaml"
        read = "".join(f"  - {{at: '{at}', step: chill, value: {c} °C}}\n" for at, c in rows)
        batch.write_text(
            f"formula: dish\nrevision: 1\nlot: '{lot}'\nday: 2026-11-20\nreadings:\n{read}",
            encoding="utf-8",
        )
        done = run(england, "record", str(batch))
        assert words in done.stdout and "Guidance, not law" in done.stdout, (
            done.stdout + done.stderr
        )


def test_the_phone_runs_the_clock_of_the_guidance(england: Path) -> None:
    """It names itself as advice, and no reading is judged by it as by a limit."""
    put(england, "dish", f"{{{CHILL}}}", "{do: store, in: tall-fridge}")
    manual = compute(england)
    chill = next(lm for lm in manual.sheets["dish"].walk.limits if lm.step == "chill")
    (clock,) = law_clocks(chill, "°C")
    assert [(due.seconds, due.advised) for due in clock.due] == [(GUIDED * 60, True)]
    assert clock.due[0].words.endswith("advised")
    record = bench_record(manual.sheets["dish"], chill, limit_view(manual.house, chill))
    assert record["id"] == chill.id and len(record["reads"]) == len(record["laws"]) == 1

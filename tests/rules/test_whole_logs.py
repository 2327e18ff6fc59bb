"""Logs as they come in, each judged whole: what went wrong with it, and what the verdict says of
it."""

from __future__ import annotations

import datetime
import random
import time
import zoneinfo
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from commands import run
from conftest import lay
from each_row import each_row
from test_review import FOOD_CODE_COOLING, START, c, cook_limit, f, figure, kept_limit, log_of
from test_whole_courses import AROUND, COLD_HOLD

from generator.measures.temperature import Temperature
from generator.review.log_days import Days, judged_by_day
from generator.review.readings import Reading, ReadingLog, Series, read_log
from generator.review.results import Judged
from generator.review.verdicts import Around, judge

ZONE = zoneinfo.ZoneInfo("America/Chicago")
M, H = 60, 3600
INSTANT = cook_limit(("165", figure(165, "°F", "min"), Fraction(0)))
HOT_HOLD = kept_limit(figure(135, "°F", "min"), "hot_hold")
GOOD = [
    (0, f(160)),
    (20 * M, f(136)),
    (40 * M, f(110)),
    (80 * M, f(85)),
    (130 * M, f(69)),
    (200 * M, f(55)),
    (300 * M, f(45)),
    (370 * M, f(40)),
    (400 * M, f(38)),
]


def of(
    course: list[tuple[float, Temperature]],
    around: Around = AROUND,
    limit: object = FOOD_CODE_COOLING,
) -> Judged:
    return judge(log_of(course), limit, Fraction(300), around)  # type: ignore[arg-type]


def changed(index: int, *rows: tuple[float, Temperature]) -> list[tuple[float, Temperature]]:
    return sorted([*GOOD[:index], *rows, *GOOD[index + 1 :]], key=lambda row: row[0])


def test_the_good_log_passes() -> None:
    assert of(GOOD).verdict == "pass"


def test_ten_hours_between_136_and_60_and_one_late_reading_of_136_fail() -> None:
    """The course the rule was written for: the late reading starts no clock."""
    lies = [(0, f(150)), (H, f(134)), *((H * h, f(120 - 5 * h)) for h in range(2, 11))]
    late = [(10.5 * H, f(136)), (11 * H, f(110)), (12 * H, f(69)), (14 * H, f(40))]
    judged = of([*lies, *late])  # type: ignore[list-item]
    assert judged.verdict == "fail"
    assert judged.deviation == START + datetime.timedelta(hours=2)
    assert "still 105" in judged.why.replace("\u00a0", " ")


def test_a_reading_alone_starts_and_ends_nothing() -> None:
    dip = [
        (0, f(160)),
        (H, f(134.5)),
        (2 * H, f(150)),
        (3 * H, f(136)),
        (4 * H, f(68)),
        (8 * H, f(40)),
    ]
    judged = of(dip)  # type: ignore[arg-type]
    assert judged.verdict == "cannot tell" and "disagrees with those on both sides" in judged.why
    early = [
        (0, f(136)),
        (100 * M, f(90)),
        (119 * M, f(69)),
        (125 * M, f(74)),
        (150 * M, f(68)),
        (350 * M, f(40)),
    ]
    judged = of(early)  # type: ignore[arg-type]
    assert judged.probes[0].stages[0].verdict == "cannot tell"


def test_above_the_end_before_the_deadline_is_not_at_the_end_yet() -> None:
    course = [
        (0, f(136)),
        (M, f(134)),
        (60 * M, f(69)),
        (65 * M, f(69)),
        (90 * M, f(75)),
        (125 * M, f(72)),
        (150 * M, f(68)),
        (350 * M, f(40)),
    ]
    assert of(course).verdict == "fail"  # type: ignore[arg-type]


def test_after_the_last_stage_it_is_held_cold() -> None:
    judged = of([*GOOD, (500 * M, f(43)), (520 * M, f(44))])
    assert judged.verdict == "fail" and "cooled in time, but then it read 43" in judged.why
    judged = of([*GOOD, (900 * M, f(38))])
    assert judged.verdict == "cannot tell" and "there is no reading for" in judged.why


@each_row(
    ("celsius", "verdict"),
    [(20, "pass"), (21.5, "pass"), (30, "cannot tell"), (50, "cannot tell"), (55, "cannot tell")],
)
def test_cooling_food_that_is_warm_again_is_no_pass(celsius: float, verdict: str) -> None:
    """At 19 °C in time (70 °F is 21.1 °C), then one reading above it for an hour from each side.
    The law's times can't say what that was: the food, or the probe."""
    rest = [(5.5 * H, c(8)), (6 * H, c(3.5)), (7 * H, c(3.5))]
    start = [(0, c(80)), (0.5 * H, c(57)), (H, c(30)), (1.5 * H, c(21.1)), (2 * H, c(21))]
    judged = of([*start, (3.5 * H, c(celsius)), (4.5 * H, c(18)), *rest])  # type: ignore[list-item]
    assert judged.verdict == verdict, judged.why
    if verdict != "pass":
        words = judged.why.replace("\u00a0", " ")
        assert words.startswith("It was at 70 °F") and "in time, but then it read" in words
        assert "Cooling food doesn't warm" in words


def test_food_at_its_last_figure_and_warm_again_in_time_is_no_pass() -> None:
    cold = [(290 * M, f(40)), (330 * M, f(48)), (370 * M, f(40)), (400 * M, f(38))]
    judged = of([*GOOD[:6], *cold])
    assert judged.verdict == "cannot tell", judged.why
    assert "It was at 41" in judged.why and "then it read 48" in judged.why.replace("\u00a0", " ")
    assert of([*GOOD[:6], cold[0], (330 * M, f(41)), *cold[2:]]).verdict == "pass"


def test_what_was_cold_at_its_last_reading_in_time_and_then_warm_fails_by_holding() -> None:
    """3.5 °C at 5 h 30 min, the next reading after the six hours: it said that the readings are too
    far apart, though either that reading or the holding fails."""
    course = [(0, c(80)), (0.5 * H, c(57)), (H, c(30)), (1.5 * H, c(19)), (5.5 * H, c(3.5))]
    judged = of([*course, (9.5 * H, c(15)), (12.5 * H, c(15))])  # type: ignore[list-item]
    words = judged.why.replace("\u00a0", " ")
    assert judged.verdict == "fail", words
    assert "It was cooled in time, but then it read 15 °C" in words and "41 °F" in words


@pytest.mark.parametrize("room", [[60, 66, 69, 70, 71], [75], [41, 44, 52, 61, 68]])
def test_a_probe_drawn_out_closes_the_log_and_is_named(room: list[int]) -> None:
    tail = [(400 * M + 2 * M * n, f(t)) for n, t in enumerate(room, 1)]
    judged = of([*GOOD, *tail])
    assert judged.verdict == "pass"
    assert any("taken out after 38" in note for note in judged.probes[0].notes)
    slow = [(400 * M + 30 * M * n, f(t)) for n, t in enumerate(room, 1)]
    assert of([*GOOD, *slow]).verdict == "fail"  # the food itself may have done that


def test_the_clock_starts_anew_only_after_a_reheating_that_passes() -> None:
    missed = [(0, f(136)), (H, f(110)), (2 * H, f(85))]
    reheat = [(2.2 * H, f(120)), (2.5 * H, f(150)), (2.7 * H, f(166)), (2.7 * H + M, f(167))]
    again = [(3 * H, f(137)), (4 * H, f(90)), (4.9 * H, f(69)), (8 * H, f(40))]
    judged = of([*missed, *reheat, *again])  # type: ignore[list-item]
    assert judged.verdict == "pass", judged.why
    assert any("clock starts again" in note for note in judged.probes[0].notes)
    assert "wasn't shown to be in time first" in judged.why and judged.deviation is None
    watched = [missed[0], (M, f(134)), *missed[1:], (2.05 * H, f(84)), *reheat, *again]
    judged = of(watched)  # type: ignore[arg-type]
    words = judged.why.replace("\u00a0", " ")
    assert "Its cooling failed first: It took longer than 2 h to 70 °F" in words, words
    assert "still 84 °F at 10:03 (line 6)" in words
    assert "reheated once for 15 s, to 166 °F at 10:42 (line 9), in time" in words
    assert judged.verdict == "pass" and judged.probes[0].corrected
    assert judged.deviation == START + datetime.timedelta(hours=2)
    short = [*missed, *reheat[:2], (2.7 * H, f(160)), *again]
    judged = of(short)  # type: ignore[arg-type]
    assert judged.verdict == "fail"
    words = judged.why.replace("\u00a0", " ")
    assert "warmed again to 160 °F at 10:42 (line 7) only, not to 165 °F" in words, words
    once = [*missed, *reheat[:3], *again]
    judged = of(once)  # type: ignore[arg-type]
    assert judged.verdict == "cannot tell" and "whether that was a reheating" in judged.why
    slow = [*missed, (2.1 * H, f(86)), *((s + 2 * H, t) for s, t in [*reheat, *again])]
    assert "but it took longer than 2" in of(slow).why, of(slow).why
    assert of(slow).verdict == "fail"  # 85 °F at 2 h, 166 °F at 4.7 h
    late = [*missed, (7 * H, f(80)), *((s + 5 * H, t) for s, t in [*reheat, *again])]
    assert "more than 6" in of(late).why and "after the clock began" in of(late).why
    assert of(late).verdict == "fail"  # past the last deadline: thrown away, not reheated
    twice = [*missed, *reheat, *((s + 2.7 * H, t) for s, t in [*missed[1:], *reheat, *again])]
    assert of(twice).verdict == "fail" and "once only" in of(twice).why, of(twice).why


@pytest.mark.parametrize("first", [f(134), f(100), f(39)])
def test_a_log_that_begins_late_never_passes(first: Temperature) -> None:
    course = [(0, first), *((s + M, t) for s, t in GOOD if t.celsius < f(130).celsius)]
    judged = of(course)  # type: ignore[arg-type]
    assert judged.verdict == "cannot tell" and "It doesn't show when it began" in judged.why
    made = replace(FOOD_CODE_COOLING, clock=None, stages=FOOD_CODE_COOLING.stages[1:])
    assert of([(0, f(60)), (H, f(40))], limit=made).verdict == "cannot tell"
    assert of([(0, f(70)), (H, f(40))], limit=made).verdict == "pass"


# --- readings no core can have


@each_row(
    ("course", "limit", "words"),
    [
        (
            [(0, c(5)), (10 * M, c(70)), (20 * M, c(160))],
            INSTANT,
            "no core is hotter than boiling water",
        ),
        (
            [(0, c(140)), (H, c(120)), (2 * H, c(70)), (6 * H, c(40))],
            FOOD_CODE_COOLING,
            "Is it °F?",
        ),
        (
            changed(3, (80 * M, f(85)), (82 * M, f(40)), (84 * M, f(84))),
            FOOD_CODE_COOLING,
            "jumps and comes back",
        ),
        (
            changed(3, (80 * M, f(85)), (82 * M, f(40)), (83 * M, f(39)), (84 * M, f(84))),
            FOOD_CODE_COOLING,
            "jumps and comes back",
        ),
        (
            [*GOOD[:3], (42 * M, f(109)), (44 * M, f(38)), (400 * M, f(38))],
            FOOD_CODE_COOLING,
            "fell from",
        ),
        (
            [*GOOD[:5], (200 * M, f(68)), (260 * M, f(67)), (262 * M, f(38))],
            FOOD_CODE_COOLING,
            "no",
        ),
        ([(0, f(10)), (H, f(12)), (2 * H, f(14))], COLD_HOLD, "Is it °C?"),
    ],
)
def test_what_no_core_can_have_is_named_and_leaves_the_verdict_open(
    course: list[tuple[float, Temperature]], limit: object, words: str
) -> None:
    log = replace(log_of(course), unit=course[0][1].unit)  # type: ignore[arg-type]
    judged = judge(log, limit, Fraction(4 * H), AROUND)  # type: ignore[arg-type]
    assert judged.verdict == "cannot tell" and words in judged.why, judged.why
    assert judged.deviation is None


def test_boiling_is_that_of_the_kitchen_and_of_its_food() -> None:
    course = [(0, c(70)), (15 * M, c(96)), (16 * M, c(97))]
    assert of(course, limit=INSTANT).verdict == "pass"  # type: ignore[arg-type]
    high = replace(AROUND, boiling=c(90), no_hotter=c(93))
    assert "boiling water, 90" in of(course, high, INSTANT).why  # type: ignore[arg-type]
    candy = [(0, c(70)), (10 * M, c(112)), (20 * M, c(118))]
    assert of(candy, limit=INSTANT).verdict == "cannot tell"  # type: ignore[arg-type]
    dry = replace(AROUND, boiling=None, no_hotter=None)
    assert of(candy, dry, INSTANT).verdict == "pass"  # type: ignore[arg-type]


# --- two sides


def test_two_sides_of_a_steak_are_two_sides() -> None:
    steak = replace(cook_limit(("145", figure(145, "°F", "min"), None)), measured="surface")
    one = log_of([(0, f(150)), (M, f(151))])  # type: ignore[list-item]
    judged = judge(one, steak, Fraction(300))
    assert judged.verdict == "cannot tell" and "top and bottom" in judged.why
    two = log_of([(0, f(150))], [(M, f(151))])  # type: ignore[list-item]
    assert judge(two, steak, Fraction(300)).verdict == "pass"
    cold = log_of([(0, f(150))], [(M, f(140))])  # type: ignore[list-item]
    assert judge(cold, steak, Fraction(300)).verdict == "fail"


# --- the reason


def test_the_row_nearest_to_what_was_asked_is_the_one_missed() -> None:
    rows = [("158", 158, 0), ("155", 155, 17), ("150", 150, 60), ("145", 145, 180)]
    limit = cook_limit(*((n, figure(t, "°F", "min"), Fraction(s)) for n, t, s in rows))
    asked = replace(limit, figure=figure(150, "°F", "min"))
    judged = of([(0, f(60)), (M, f(100)), (2 * M, f(130))], limit=asked)  # type: ignore[arg-type]
    assert judged.verdict == "fail" and "never at 150" in judged.why
    assert (
        "130 °F at 14:02 (line 4)" in judged.why.replace("\u00a0", " ") or "(line 4)" in judged.why
    )


def test_the_probe_that_failed_and_the_one_that_dropped_out_are_named(tmp_path: Path) -> None:
    rows = ["2026-11-25 14:00,A,60", "2026-11-25 14:00,B,60"]
    rows += [f"2026-11-25 14:{m:02},B," for m in range(2, 40, 2)]
    rows += [f"2026-11-25 {14 + m // 60}:{m % 60:02},A,61" for m in range(1, 241)]
    rows += ["2026-11-25 17:00,B,60"]
    path = tmp_path / "log.csv"
    path.write_text("time,probe,temp_c\n" + "\n".join(rows) + "\n")
    judged = judge(read_log(path, ZONE), HOT_HOLD, Fraction(2 * H), AROUND)
    assert judged.why.startswith("B: The probe B gave no reading for 3")
    assert "on 19 lines" in judged.why


def test_stamps_that_disagree_are_said_once(tmp_path: Path) -> None:
    rows = [f"2026-11-25 14:{m:02},{t}" for m in range(26) for t in (75, 70)]
    path = tmp_path / "log.csv"
    path.write_text("time,temp_c\n" + "\n".join(rows) + "\n")
    log = read_log(path, ZONE)
    (note,) = log.notes
    assert "lines 2 and 3" in note and "25\u00a0other times" in note
    judged = judge(log, INSTANT, Fraction(300), AROUND)
    assert judged.verdict == "cannot tell"
    assert "(line 2)" in judged.why and "(line 3)" in judged.why


def test_what_is_said_of_many_probes_is_said_once(tmp_path: Path) -> None:
    rows = [f"2026-11-25 14:{m:02},P{p},75" for m in (5, 0) for p in range(26)]
    path = tmp_path / "log.csv"
    path.write_text("time,probe,temp_c\n" + "\n".join(rows) + "\n")
    (note,) = read_log(path, ZONE).notes
    assert note.startswith("P0, P1 and P2 and 23 more: the lines were out of order")


def test_a_change_of_the_clocks_is_named_by_its_lines(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_text("time,temp_f\n2026-11-01 00:30,150\n2026-11-01 03:00,170\n")
    assert "between lines 2 and 3" in judge(read_log(path, ZONE), INSTANT, Fraction(300)).why


# --- how long it takes


@pytest.mark.parametrize("limit", [COLD_HOLD, FOOD_CODE_COOLING, INSTANT])
def test_a_hundred_thousand_readings_are_judged_in_little_time(limit: object) -> None:
    rng = random.Random(1)
    kinds = [c(Fraction(n, 10)) for n in range(30, 50)]
    readings = tuple(
        Reading(START + datetime.timedelta(seconds=10 * i), rng.choice(kinds), i + 2)
        for i in range(100_000)
    )
    log = ReadingLog("log.csv", "°C", (Series("A", readings),), (), False, ZONE)
    best = 9.0
    for _ in range(2):
        started = time.process_time()
        judge(log, limit, Fraction(4 * H), AROUND)  # type: ignore[arg-type]
        best = min(best, time.process_time() - started)
    print(f"100,000 readings: {best:.2f} s of CPU")
    assert best <= 0.6


# --- the command


def test_review_reads_american_dates_only_when_reported_which(tmp_path: Path) -> None:
    project = lay("base", tmp_path / "kitchen")
    (project / "mkdocs.yml").write_text("site_name: x\n")
    log = tmp_path / "log.csv"
    rows = [f"05/11/2026 2:0{m} PM,{(40 + 6 * m) * 1.8 + 32:.1f}" for m in range(8)]
    log.write_text("Model 7\nDate/Time,Temp (°F)\n" + "\n".join(rows) + "\n")
    step = ("--formula", "pork-bake", "--step", "bake")
    asked = run(project, "review", str(log), *step)
    assert asked.returncode == 1 and asked.stderr.count("day or the month first") == 1
    assert "--dates day-first" in asked.stderr
    said = run(project, "review", str(log), *step, "--dates", "month-first", "--format", "json")
    assert said.returncode == 0 and '"verdict": "pass"' in said.stdout
    hot = [f"05/11/2026 2:0{m} PM,{100 + m * 10}" for m in range(8)]
    log.write_text("time,temp_c\n" + "\n".join(hot) + "\n")
    said = run(project, "review", str(log), *step, "--dates", "day-first")
    assert said.stdout.startswith("Cannot tell. ") and "hotter than boiling water" in said.stdout


@each_row(
    ("first", "last", "words"),
    [
        ("2026-11-24", "2026-11-25", ""),
        ("2026-11-25", "2026-11-26", "goes on to 2026-11-26 00:00"),
        ("2027-11-25", "2027-11-25", "goes on to 2027-11-25"),
        ("2026-01-05", "2026-11-25", ""),
        ("2026-01-04", "2026-01-05", "begins on 2026-01-04, revision 3 on 2026-01-05"),
        ("2025-12-31", "2026-12-01", "revision 3"),
    ],
)
def test_a_log_of_days_to_come_or_of_another_revision_is_no_pass(
    first: str, last: str, words: str
) -> None:
    """In the kitchen's own zone: 06:00 UTC is midnight in Chicago."""
    stamps = [f"{first}T06:00+00:00", f"{last}T06:00+00:00"]
    readings = tuple(
        Reading(datetime.datetime.fromisoformat(at), f(t), n)
        for n, (at, t) in enumerate(zip(stamps, (170, 171), strict=True), 2)
    )
    log = ReadingLog("log.csv", "°F", (Series("A", readings),), (), False, ZONE)
    days = Days(datetime.date(2026, 11, 25), 3, datetime.date(2026, 1, 5))
    met = judged_by_day(judge(log, INSTANT, Fraction(300)), log, days)
    assert met.verdict == ("cannot tell" if words else "pass") and words in met.why
    assert met.probes[0].verdict == met.verdict
    hotter = replace(INSTANT, options=(), figure=figure(180, "°F", "min"))
    missed = judged_by_day(judge(log, hotter, Fraction(10**9)), log, days)
    assert missed.verdict == "fail" and "180" in missed.why and words in missed.why
    assert judged_by_day(met, log, Days(datetime.date(2199, 1, 1))).why == met.why


def test_review_names_a_log_of_tomorrow_and_one_from_before_the_revision(tmp_path: Path) -> None:
    project = lay("base", tmp_path / "kitchen")
    (project / "mkdocs.yml").write_text("site_name: x\n")
    log = tmp_path / "log.csv"
    step = ("--formula", "pork-bake", "--step", "bake")
    for day, words in (("2026-11-26", "it is judged on 2026-11-25"), ("2019-11-25", "revision")):
        rows = [f"{day} 14:0{m},{40 + 6 * m}" for m in range(8)]
        log.write_text("time,temp_c\n" + "\n".join(rows) + "\n")
        said = run(project, "review", str(log), *step)
        assert said.stdout.startswith("Cannot tell. ") and words in said.stdout

"""Readings judged on the page, in a real Chromium, against the rules of `review`."""

from __future__ import annotations

import datetime
import random
import zoneinfo
from collections import Counter
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from browsing import engine_of

from generator.answers.around import around
from generator.measures.temperature import Temperature
from generator.pages import STATIC
from generator.pages.bench_record import bench_record
from generator.review.readings import read_log
from generator.review.verdicts import judge, provable
from generator.rules.basics.limit import CoolingLimit, Limit, Probed, most_time
from generator.sheet.manual import Manual
from generator.sheet.sheet import Sheet
from generator.views.limit_view import asked_at, limit_view

ENGINE = (STATIC / "reading.js").read_text(encoding="utf-8")
ZONE = zoneinfo.ZoneInfo("America/Chicago")
NOON = datetime.datetime(2026, 11, 25, 12, tzinfo=ZONE)


@pytest.fixture(scope="module")
def engine(browser: Any) -> Iterator[Any]:
    with engine_of(browser, ENGINE) as page:
        yield page


def limits_of(demo: Manual) -> list[tuple[Sheet, Probed, dict[str, Any]]]:
    """Every limit of the demo that a probe reads, with what its page carries of it."""
    found = []
    for sheet in demo.sheets.values():
        for limit in sheet.walk.limits:
            if isinstance(limit, Probed) and most_time(limit) is None:
                found.append((sheet, limit, bench_record(sheet, limit, view_of(sheet, limit))))
    return found


def view_of(sheet: Sheet, limit: Limit) -> Any:
    return limit_view(sheet.house, limit)


def reviewed(folder: Path, sheet: Sheet, limit: Probed, rows: list[tuple[int, str, str]]) -> str:
    """`review`'s verdict on a log: seconds after noon, figure, scale (the same in all rows)."""
    log = folder / "log.csv"
    unit = "c" if rows[0][2] == "°C" else "f"
    lines = [
        f"{(NOON + datetime.timedelta(seconds=s)).isoformat()},1,{text}" for s, text, _ in rows
    ]
    log.write_text("\n".join([f"time,probe,temp_{unit}", *lines]) + "\n", encoding="utf-8")
    words = sheet.house.library.hazards[limit.hazard]
    beside = around(sheet.house, sheet, limit)
    within = max((s.within_s for s in getattr(limit, "stages", ())), default=Fraction(0))
    if limit.hazard == "parasites":
        within = beside.cold_gap_s or within
    gap = words.longest_gap.seconds if words.longest_gap else within
    return judge(read_log(log, ZONE), limit, gap, beside).verdict


def near(dice: random.Random, limit: Probed, unit: str) -> str:
    """A reading as somebody types it: near a figure of the limit, or anywhere in a kitchen."""
    figures = [limit.figure.value, limit.figure.value]
    degree = "°C" if unit == "°C" else "°F"
    own = figures[0].in_unit(degree)  # type: ignore[arg-type]
    value = own + dice.choice([0, 0, 1, -1, Fraction(1, 9), Fraction(-1, 9), dice.randrange(-9, 9)])
    if dice.random() < 0.3:
        value = Fraction(dice.randrange(-40, 130 if unit == "°C" else 240))
    places = dice.choice([0, 0, 1, 1, 2, 3])
    text = f"{float(round(value, places)):.{places}f}"
    return "0" if text.startswith("-") and not Fraction(text) else text


def judged_alike(demo: Manual, engine: Any, folder: Path, count: int, seed: int) -> Counter[str]:
    """Random single readings, judged by the page and by `review`."""
    dice = random.Random(seed)
    limits = [one for one in limits_of(demo) if not isinstance(one[1], CoolingLimit)]
    asked = []
    for _ in range(count):
        sheet, limit, record = dice.choice(limits)
        unit = dice.choice(["°C", "°C", "°F"])
        asked.append((sheet, limit, record, near(dice, limit, unit), unit))
    answers = engine.evaluate(
        "asked => asked.map(([limit, text, unit]) => ksJudge.say(limit, text, unit))",
        [[record, text, unit] for _, _, record, text, unit in asked],
    )
    seen: Counter[str] = Counter()
    for (sheet, limit, _, text, unit), said in zip(asked, answers, strict=True):
        where = f"{limit.id}: {text} {unit}: {said}"
        expected = reviewed(folder, sheet, limit, [(0, text, unit)]) if provable(limit) else ""
        assert said["law"] == (expected or "cannot tell"), where
        met_on_page = said["verdict"] in ("met", "reached")
        own = sheet.house.kitchen.temperature
        figure = asked_at(limit, limit.figure, unit, own)  # type: ignore[arg-type]
        typed = Fraction(text)
        reached = typed >= figure if limit.bound == "min" else typed <= figure
        assert met_on_page == (reached and said["verdict"] != "in doubt"), where
        law = limit.figure.value
        met = Temperature.of(typed, unit)  # type: ignore[arg-type]
        if met_on_page:
            assert met >= law if limit.bound == "min" else met <= law, (
                f"laxer than the law: {where}"
            )
        seen[f"{said['verdict']}, {said['law']}"] += 1
    return seen


def test_300_readings_judged_on_the_page_are_reviews(
    demo: Manual, engine: Any, tmp_path: Path
) -> None:
    seen = judged_alike(demo, engine, tmp_path, 300, 20261125)
    print(dict(seen))
    assert {key.split(", ")[0] for key in seen} >= {"met", "not yet", "missed", "in doubt"}
    assert {key.split(", ")[1] for key in seen} == {"pass", "fail", "cannot tell"}
    assert min(seen.values()) >= 1 and sum(seen.values()) == 300


@pytest.mark.slow
def test_many_more_readings_judged_on_the_page_are_reviews(
    demo: Manual, engine: Any, tmp_path: Path
) -> None:
    assert sum(judged_alike(demo, engine, tmp_path, 10_000, 7).values()) == 10_000


def cooled(dice: random.Random, limit: CoolingLimit) -> list[tuple[int, str]]:
    """Readings of one cooling: at its start, then at some moments, colder and colder."""
    clock = limit.clock
    assert clock is not None
    heat = clock.read_at("°C")
    rows, at = [(0, str(heat))], 0
    for _ in range(dice.randrange(1, 5)):
        at += dice.choice([1200, 3600, 7199, 7200, 7201, 12000, 14400])
        heat = max(heat - dice.choice([1, 5, 15, 20, 39]), Fraction(1))
        rows.append((at, str(heat)))
    return rows


def test_cooling_on_the_page_is_never_laxer_than_review(
    demo: Manual, engine: Any, tmp_path: Path
) -> None:
    """Where the page has said that the last stage was met, `review` doesn't fail the log so far.
    The page may be stricter: its figures are the probe's, and its clock starts when it is
    started."""
    dice = random.Random(11)
    limits = [
        (sheet, limit, record)
        for sheet, limit, record in limits_of(demo)
        if isinstance(limit, CoolingLimit) and limit.clock is not None and not limit.finish
    ]
    run = """([limit, rows]) => {
        const due = limit.clocks.at(-1).due.map(([s], i) => ({ i, s, at: `${s} s`, left: '' }));
        return rows.map(([at, text]) => {
            due.forEach(d => { d.past = d.s < at; });
            const said = ksJudge.say(limit, text, '°C', { due });
            (said.reached || []).forEach(i => { due[i].reached = 1; });
            return said.verdict;
        });
    }"""
    seen: Counter[str] = Counter()
    for _ in range(150):
        sheet, limit, record = dice.choice(limits)
        rows = cooled(dice, limit)
        said = engine.evaluate(run, [record, rows[1:]])
        end = said.index("met") + 2 if "met" in said else len(rows)
        log = [(at, text, "°C") for at, text in rows[:end]]
        verdict = reviewed(tmp_path, sheet, limit, log)
        if "met" in said:
            assert verdict != "fail", (limit.id, rows, said)
        seen[f"{said[-1]}, {verdict}"] += 1
    print(dict(seen))
    assert any(key.startswith("missed, fail") for key in seen)
    assert any(key.startswith("met, pass") for key in seen)


@pytest.mark.parametrize(
    ("text", "reached", "verdict"),
    [
        ("20", 1, "not yet"),
        ("21", 1, "not yet"),  # 70 °F is 21.1 °C
        ("22", 1, "not sure"),
        ("50", 1, "not sure"),
        ("4", 2, "met"),
        ("6", 2, "missed"),
        ("50", 2, "missed"),
    ],
)
def test_cooling_that_is_warm_again_is_no_yes(
    demo: Manual, engine: Any, text: str, reached: int, verdict: str
) -> None:
    """Of a cooling whose stages were all reached the page said "yes. In time." to 50 °C, and to one
    past its first stage "not yet": cooling food doesn't warm, and `review` passes no such log."""
    records = {limit.id: record for _, limit, record in limits_of(demo)}
    ask = """([limit, text, reached]) => ksJudge.say(limit, text, '°C', { due: [0, 1].map(i => (
        { i, at: '16:00', left: '1 h', past: false, reached: i < reached ? 1 : undefined })) })"""
    said = engine.evaluate(ask, [records["barley-soup/chill/cool"], text, reached])
    assert said["verdict"] == verdict, said
    assert ("It was at" in said["words"]) == (verdict in ("missed", "not sure"))


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("", "Nothing is not a temperature."),
        ("-", "- is not a temperature."),
        ("7.", "7. is not a temperature."),
        ("7.5.5", "7.5.5 is not a temperature."),
        ("12345", "12345 is not a temperature."),
        ("400", "400 °C is not a temperature of food."),
        ("-61", "-61 °C is not a temperature of food."),
    ],
)
def test_what_is_no_reading_is_refused(engine: Any, text: str, fault: str) -> None:
    limit = {"side": "min", "reads": [[[75, "75"], [167, "167"]]], "law": "665/9", "hazard": "cook"}
    said = engine.evaluate("([l, t]) => ksJudge.say(l, t, '°C')", [limit, text])
    assert said == {"fault": fault}


def test_the_words_are_those_of_the_box(engine: Any, demo: Manual) -> None:
    """The figure of the page, what is asked, the other scale when it was meant."""
    records = {limit.id: record for _, limit, record in limits_of(demo)}

    def said(limit: str, text: str, unit: str = "°C") -> str:
        found = engine.evaluate("([l, t, u]) => ksJudge.say(l, t, u)", [records[limit], text, unit])
        return f"{found['verdict']}: {found['words']}"

    assert said("turkey-chive-roll/poach/cook", "74") == "not yet: not yet. 76 °C or hotter."
    assert said("turkey-chive-roll/poach/cook", "76") == "met: yes."
    assert (
        said("turkey-chive-roll/poach/cook", "168", "°F") == "not yet: not yet. 169 °F or hotter."
    )
    assert said("turkey-chive-roll/poach/cook", "169") == "in doubt: no food is so hot. Is it °F?"
    cold = "turkey-chive-roll/store/cold_hold"
    assert said(cold, "4") == "met: yes."
    assert said(cold, "5") == "not sure: not sure. The probe may be off. 4 °C or colder."
    assert said(cold, "5,1") == "missed: too warm. 4 °C or colder."
    assert said(cold, "38") == "in doubt: is it °F?"
    assert said("barley-soup/hold-hot/hot_hold", "55").startswith("missed: too cold. ")
    assert said("turkey-chive-roll/chill/cool", "45") == (
        "no clock: no clock runs. The time counts from 59 °C on the probe."
    )
    assert said("turkey-chive-roll/chill/cool", "62") == "before: the clock starts at 59 °C."

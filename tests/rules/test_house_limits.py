"""House limits: stricter freely, looser only by an authorisation in force, seen wherever they
touch."""

from __future__ import annotations

import csv
import datetime
import functools
import html
import itertools
import json
import shutil
import zoneinfo
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from click.testing import CliRunner
from conftest import AS_OF, ROOT, compute, edit, lay
from each_row import each_row
from hypothesis import given, settings
from hypothesis import strategies as st

from generator.answers.limits import limits_record, limits_text
from generator.answers.sheet import sheet_record
from generator.binder.limit_box import limit_block
from generator.cli import cli
from generator.files.finding import Refused
from generator.measures.temperature import Temperature
from generator.pages import make_pages
from generator.records.house_limit import FORMS, HouseFigure, KitchenLimit, read_house_figure
from generator.records.kitchen import Authorisation
from generator.review.readings import Reading, ReadingLog, Series
from generator.review.verdicts import judge
from generator.rules.basics.limit import CoolingLimit, InWords, Limit, Probed
from generator.rules.house.house_limits import FOR
from generator.sheet.labelling import Asked, PartDay, date_mark
from generator.sheet.manual import Manual, make_manual
from generator.sheet.walk import Walk, walk

STRICT = """house_limits:
  - {for: cook, food: pork, limit: core 72 °C for 30 s, reason: The oven is colder at the door.}
  - {for: cool, limit: [to 20 °C within 90 min, to 4 °C within 5 h]}
  - {for: hold-cold, limit: at 4 °C}
  - {for: date, limit: 4 days}
  - {for: receive, food: pork, limit: at 3 °C}
"""


def with_limits(kitchen: Path, more: str) -> Path:
    path = kitchen / "standards" / "kitchen.yaml"
    path.write_text(path.read_text(encoding="utf-8") + more, encoding="utf-8")
    return kitchen


@pytest.fixture
def strict(kitchen: Path) -> Path:
    """The clean kitchen with a stricter limit for every hazard it meets, and kept to them."""
    edit(kitchen, "formulas/pork-bake.yaml", "bake: core 72 °C", "bake: core 74 °C for 40 s")
    edit(kitchen, "formulas/pork-bake.yaml", "cold: 5 days", "cold: 4 days")
    edit(kitchen, "processes/baked.yaml", "target: to 4 °C", "target: to 3 °C")
    edit(kitchen, "processes/toss.yaml", "target: to 4 °C", "target: to 3 °C")
    return with_limits(kitchen, STRICT)


def of(walked: Walk, hazard: str) -> Limit:
    return next(lm for lm in walked.limits if lm.hazard == hazard)


def ask(kitchen: Path, *words: str) -> str:
    done = CliRunner().invoke(cli, [*words, "--project", str(kitchen), "--as-of", str(AS_OF)])
    assert done.exit_code == 0, done.output
    return done.output


# --- what may be written


@each_row(
    ("text", "figure"),
    [
        ("core 76 °C for 30 s", ("core", 76, 30, None, 0, 0)),
        ("core 165 °F", ("core", Fraction(665, 9), 0, None, 0, 0)),
        ("at 63 °C", ("at", 63, 0, None, 0, 0)),
        ("to 21 °C within 90 min", ("cool", 21, 0, None, 5400, 0)),
        ("from 140 °F to 4 °C within 5 h", ("cool", 4, 0, 60, 18000, 0)),
        ("5 days", ("days", None, 0, None, 0, 5)),
        ("1 day", ("days", None, 0, None, 0, 1)),
    ],
)
def test_figures(text: str, figure: tuple[object, ...]) -> None:
    found = read_house_figure(text)
    at = found.temperature.celsius if found.temperature else None
    start = found.start.celsius if found.start else None
    assert (found.kind, at, found.hold_s, start, found.within_s, found.days) == figure


@each_row(
    "text",
    [
        "76",
        "76 °C",
        "hot",
        "to 4 °C",
        "5",
        "0 days",
        "5 h",
        "at 63",
        "at 63 °C for 2 h",
        "core 9**9 °C",
        "to 4 °C within",
        "from 60 to 4 °C within 1 h",
        "core 1e400 °C",
        "-5 days",
        "below 4 °C",
    ],
)
def test_what_is_no_figure_is_refused(text: str) -> None:
    with pytest.raises(Refused):
        read_house_figure(text)


@pytest.mark.parametrize(
    ("typed", "meant"), [("cooking", "cook"), ("hot-hold", "hold-hot"), ("date-marking", "date")]
)
def test_a_word_for_the_same_is_offered(kitchen: Path, typed: str, meant: str) -> None:
    manual = compute(with_limits(kitchen, f"house_limits:\n  - {{for: {typed}, limit: 5 days}}\n"))
    (found,) = manual.errors
    assert found.code == "word-unknown" and any(f"for: {meant}," in w for w in found.write)


@pytest.mark.parametrize("where", ["formula", "step", "kitchen"])
@pytest.mark.parametrize(
    "value",
    [
        "[]",
        "{}",
        '""',
        "~",
        "[[]]",
        "{limit: []}",
        "{limit: {}}",
        "{limit: core 76 °C, allowed_by: []}",
        "{reason: x}",
        "[core 76 °C, 5 days]",
        "[{limit: core 76 °C}]",
        "core -300 °C",
        "yes",
        "5",
        "core 76 °C for ever",
    ],
)
def test_what_a_tired_chef_types_is_a_finding(kitchen: Path, where: str, value: str) -> None:
    if where == "formula":
        edit(
            kitchen, "formulas/pork-bake.yaml", "keeps:", f"house_limits: {{bake: {value}}}\nkeeps:"
        )
    elif where == "step":
        edit(kitchen, "processes/baked.yaml", "at: 180 °C", f"at: 180 °C\n    house_limit: {value}")
    else:
        with_limits(kitchen, f"house_limits:\n  - for: cook\n    limit: {value}\n")
    manual = compute(kitchen)
    assert manual.errors and all(f.place.line for f in manual.errors)


def test_a_looser_limit_is_refused_and_the_code_stands(kitchen: Path) -> None:
    manual = compute(with_limits(kitchen, "house_limits:\n  - {for: hold-cold, limit: at 6 °C}\n"))
    assert [f.code for f in manual.errors] == ["house-limit-looser"]
    assert set(manual.stopped) == {"pork-bake", "rice-salad"}
    for ident in manual.stopped:
        limit = of(manual.walks[ident], "cold_hold")
        assert limit.house is None and limit.figure is not None and limit.figure.shown_f == 41


LOOSER = """house_limits:
  - {{for: date, limit: 9 days, allowed_by: V-7}}
authorisations:
  - {{for: {what}, authority: Port Sable Health, document: V-7, from: {start}, until: {until}}}
"""


@pytest.mark.parametrize(
    ("what", "start", "until", "found"),
    [
        ("date", "2026-11-25", "2027-11-25", []),
        ("date", "2026-01-01", "2026-11-25", ["authorisation-ends-soon"]),
        (
            "date",
            "2026-01-01",
            "2026-11-24",
            ["house-limit-expired", "authorisation-expired"],
        ),
        ("date", "2026-11-26", "2027-11-25", ["house-limit-expired"]),
        ("hold-cold", "2026-01-01", "2027-11-25", ["house-limit-looser"]),
    ],
)
def test_a_looser_limit_needs_its_document_in_force(
    kitchen: Path, what: str, start: str, until: str, found: list[str]
) -> None:
    edit(kitchen, "formulas/pork-bake.yaml", "cold: 5 days", "cold: 9 days")
    more = LOOSER.format(what=what, start=start, until=until)
    manual = compute(with_limits(kitchen, more))
    extra = (
        ["keeps-beyond-law"]
        if "house-limit-looser" in found or "house-limit-expired" in found
        else []
    )
    assert sorted(f.code for f in manual.findings) == sorted(found + extra)
    dates = manual.walks["pork-bake"].dates
    assert dates is not None and dates.law_day == 7
    if extra:
        assert (dates.day, dates.house) == (7, None)
    else:
        assert dates.house is not None and (dates.day, dates.house_day) == (9, 9)
        assert dates.house.words.startswith(
            "Looser than the code, by Port Sable Health, V-7, until 25\u00a0Nov\u00a0"
        )


@pytest.mark.parametrize(
    ("figure", "standing"),
    [
        ("core 158 °F", "stricter"),  # one of the code's four rows, and no other
        ("core 68.4 °C for 17 s", "stricter"),  # 155 °F is 68.33 °C
        ("core 68 °C for 17 s", "refused"),  # 154.4 °F: below the row, whatever the code prints
        ("core 68 °C for 1 min", "stricter"),  # meets 150 °F for 1 min
        ("core 69 °C for 16 s", "refused"),  # hotter but shorter than every row it reaches
        ("core 90 °C", "stricter"),
        ("[core 70 °C, core 63 °C for 3 min]", "stricter"),
        ("[core 70 °C, core 62 °C for 3 min]", "refused"),
    ],
)
def test_a_pair_is_ordered_against_the_rows(kitchen: Path, figure: str, standing: str) -> None:
    """Food Code 3-401.11(A)(2): 145 °F for 3 min, 150 °F for 1 min, 155 °F for 17 s, 158 °F at
    once."""
    edit(kitchen, "formulas/pork-bake.yaml", "bake: core 72 °C", "bake: core 95 °C for 10 min")
    edit(kitchen, "formulas/pork-bake.yaml", "keeps:", f"house_limits: {{bake: {figure}}}\nkeeps:")
    manual = compute(kitchen)
    limit = of(manual.walks["pork-bake"], "cook")
    if standing == "refused":
        assert [f.code for f in manual.errors] == ["house-limit-looser"] and limit.house is None
    else:
        assert not manual.errors and limit.house is not None
        assert limit.house.standing == standing


def test_the_nearest_counts(kitchen: Path) -> None:
    """The formula's for its step, the process's, the kitchen's for a verb, for a food, for
    anything: of those that are stricter, all count; what is looser by a document counts only as the
    nearest."""
    permit = (
        "authorisations:\n  - {for: hold-cold, authority: A, document: V-1, from: "
        "2026-01-01, until: 2027-12-01}\n"
    )
    limits = "house_limits:\n  - {for: hold-cold, limit: at 4 °C}\n"
    edit(
        kitchen,
        "formulas/pork-bake.yaml",
        "keeps:",
        "house_limits: {store: {limit: at 6 °C, allowed_by: V-1}}\nkeeps:",
    )
    manual = compute(with_limits(kitchen, limits + permit))
    bake, salad = (of(manual.walks[i], "cold_hold") for i in ("pork-bake", "rice-salad"))
    assert bake.house is not None and salad.house is not None
    assert (bake.house.standing, salad.house.standing) == ("looser", "stricter")
    assert bake.figure is not None and bake.figure.shown_c == 6
    edit(
        kitchen,
        "kitchen.yaml",
        "limit: at 4 °C}",
        "limit: {at 6 °C, allowed_by: V-1}".replace("{", "").replace("}", "") + "}",
    )
    edit(kitchen, "formulas/pork-bake.yaml", "{limit: at 6 °C, allowed_by: V-1}", "at 3 °C")
    bake = of(compute(kitchen).walks["pork-bake"], "cold_hold")
    assert bake.house is not None and bake.house.standing == "stricter"
    assert bake.figure is not None and bake.figure.shown_c == 3


def test_a_limit_for_one_food_leaves_a_higher_group_alone(kitchen: Path) -> None:
    """Pork at 69 °C is stricter than pork's rows; beside poultry the code's 165 °F is."""
    edit(kitchen, "ingredients/all.yaml", "species: egg", "species: chicken")
    edit(kitchen, "formulas/pork-bake.yaml", "bake: core 72 °C", "bake: core 76 °C")
    more = "house_limits:\n  - {for: cook, food: pork, limit: core 69 °C for 1 min}\n"
    manual = compute(with_limits(kitchen, more))
    limit = of(manual.walks["pork-bake"], "cook")
    assert limit.house is None and limit.figure is not None and limit.figure.shown_f == 165
    assert not [f for f in manual.findings if f.code.startswith("house-limit")]


# --- seen wherever it touches


def test_the_page_register_and_ingredient_show_both(strict: Path) -> None:
    manual = compute(strict)
    assert manual.errors == ()
    pages = {
        page.uri: html.unescape(page.html).replace("\u00a0", " ") for page in make_pages(manual)
    }
    words = "House limit, stricter than the code"
    bake = pages["range/pork-bake.md"]
    assert bake.count(words) >= 4, "cook, cool, store, days"
    assert "The oven is colder at the door." in bake and "core 72 °C for 30 s" in bake
    for code in ("158", "135", "41", "day 7 at most"):
        assert code in bake
    register = next(body for uri, body in pages.items() if "register" in uri or "limits" in uri)
    assert register.count(words) == 14, (
        "cook, two stages, twice store and days, receiving; four ingredients in store, two by "
        "their days"
    )
    pork = next(body for uri, body in pages.items() if uri.endswith("pork-shoulder.md"))
    rules = next(body for uri, body in pages.items() if uri.endswith("rules-us-food-code-2022.md"))
    assert "of this kitchen's own for cook, cool, hold cold, date and receive" in rules
    assert words in pork and "at 3 °C" in pork and "3-202.11(A)" in pork
    process = next(body for uri, body in pages.items() if uri.endswith("processes/baked.md"))
    assert "house limit" in process
    assert "house limit" in pages["range/index.md"]


def test_the_answers_show_both(strict: Path) -> None:
    manual = compute(strict)
    walked = manual.walks["pork-bake"]
    record = {r["hazard"]: r for r in limits_record(walked)["limits"]}
    for hazard in ("cook", "cool", "cold_hold", "date"):
        assert record[hazard]["house"]["words"] == "House limit, stricter than the code"
    cook = record["cook"]
    assert (cook["value"], cook["unit"], cook["hold_s"]) == (72, "°C", 30)
    assert (cook["law"]["value"], cook["law"]["unit"], cook["law"]["hold"]) == (
        158,
        "°F",
        "instant",
    )
    assert cook["law"]["source"]["clause"].startswith("3-401.11(A)(2)")
    assert cook["source"]["document"] == "House limit"
    assert (record["date"]["value"], record["date"]["law_days"]) == (4, 7)
    assert "Code 158 °F (70 °C)" in limits_text(walked)
    sheet = sheet_record(manual.sheets["pork-bake"], (), manual.walks)
    assert sheet["dates"]["house_days"] == 4 and sheet["dates"]["law_days"] == 7
    asked = json.loads(
        ask(strict, "limits", "pork-bake", "--format", "json", "--if", "bake: core 71 °C")
    )
    cook = next(r for r in asked["limits"] if r["hazard"] == "cook")
    assert cook["verdict"]["status"] == "fails", "158 °F would do for the code, not for the house"


def log(path: Path, *readings: tuple[int, str]) -> Path:
    with path.open("w", newline="") as lines:
        writer = csv.writer(lines)
        writer.writerow(["time", "temp_c"])
        for minutes, degrees in readings:
            at = datetime.datetime(2026, 11, 24, 9) + datetime.timedelta(minutes=minutes)
            writer.writerow([at.isoformat(sep=" "), degrees])
    return path


def test_review_judges_by_the_house_and_reports_the_code(strict: Path) -> None:
    """Cold within six hours but not within five: the code's limit is met, the house's isn't."""
    course = [(0, "70"), (10, "58"), (12, "57"), (60, "20"), (200, "10"), (320, "4.5"), (345, "3")]
    readings = log(strict / "log.csv", *course)
    words = ("review", str(readings), "--formula", "pork-bake", "--step", "chill")
    record = json.loads(ask(strict, *words, "--format", "json"))
    assert record["verdict"] == "fail" and record["code"]["verdict"] == "pass"
    assert record["house"]["standing"] == "stricter"
    text = ask(strict, *words)
    assert "By the code alone: pass" in text and "House limit, stricter than the code" in text
    assert "Code: 70 °F (21 °C) within 2 h; 41 °F (5 °C) within 6 h" in text


def test_a_limit_of_one_step_in_the_cold_has_a_box_of_its_own(kitchen: Path) -> None:
    edit(
        kitchen,
        "processes/toss.yaml",
        "  - do: chill",
        "  - do: rest\n    in: cold-room\n    house_limit: at 4 °C\n  - do: chill",
    )
    manual = compute(kitchen)
    step = next(s for s in manual.walks["rice-salad"].steps if s.step.id == "rest")
    (limit,) = step.limits
    assert limit.house is not None and limit.law is not None and limit.law.figure is not None
    assert limit.law.figure.shown_f == 41 and limit.figure is not None and limit.figure.shown_c == 4


def test_days_where_the_law_sets_none(tmp_path: Path) -> None:
    shutil.copytree(ROOT / "tests/kitchens/england" / "standards", tmp_path / "standards")
    more = (
        "house_limits:\n  - {for: date, limit: 2 days}\n"
        "  - {for: cool, limit: from 60 °C to 8 °C within 3 h}\n"
    )
    manual = compute(with_limits(tmp_path, more))
    assert {f.code for f in manual.errors} == {"keeps-beyond-law"}
    walked = manual.walks["beef-filling"]
    dates, cool = walked.dates, of(walked, "cool")
    assert dates is not None and (dates.day, dates.law_day) == (2, None)
    assert "no number of days" in dates.law_words
    assert cool.house is not None and isinstance(cool.law, InWords)
    assert cool.stages[0].within_s == 3 * 3600 and cool.figure is not None


HOT = (
    (
        "processes/baked.yaml",
        "  - do: chill\n",
        "  - do: hold-hot\n    target: at 60 °C\n  - do: chill\n",
    ),
)
AGAIN = (
    (
        "processes/toss.yaml",
        "  - do: toss\n    add: [rice, dressing]\n  - do: chill\n    in: cold-room\n"
        "    target: to 4 °C\n",
        "  - do: reheat\n    add: [rice, dressing]\n    target: core 76 °C for 15 s\n"
        "  - do: hold-hot\n    target: at 60 °C\n",
    ),
    ("formulas/rice-salad.yaml", "cooked-rice: 2 kg", "pork-bake: 2 kg"),
    ("formulas/rice-salad.yaml", "keeps: {cold: 3 days}\n", ""),
)
EVERY = [
    ("cook", "cook", "cook", "core 60 °C for 5 min", "core 76 °C", "pork-bake", ()),
    (
        "cool",
        "cool",
        "cool",
        "[to 25 °C within 2 h, to 5 °C within 7 h]",
        "[to 20 °C within 1 h, to 5 °C within 5 h]",
        "pork-bake",
        (),
    ),
    ("hold-hot", "hold-hot", "hot_hold", "at 54 °C", "at 58 °C", "pork-bake", HOT),
    ("hold-cold", "hold-cold", "cold_hold", "at 6 °C", "at 4.5 °C", "pork-bake", ()),
    (
        "reheat",
        "reheat",
        "reheat",
        "core 70 °C for 2 min",
        "core 75 °C for 15 s",
        "rice-salad",
        AGAIN,
    ),
    ("date", "date", "date", "9 days", "5 days", "pork-bake", ()),
]


@pytest.mark.parametrize(
    ("for_", "permit", "hazard", "looser", "stricter", "formula", "edits"),
    EVERY,
    ids=[e[0] for e in EVERY],
)
def test_every_hazard_takes_a_stricter_limit_and_a_looser_one_by_its_document(
    kitchen: Path,
    for_: str,
    permit: str,
    hazard: str,
    looser: str,
    stricter: str,
    formula: str,
    edits: tuple[tuple[str, str, str], ...],
) -> None:
    for change in edits:
        edit(kitchen, *change)
    edit(kitchen, "formulas/pork-bake.yaml", "core 72 °C", "core 78 °C for 10 min")
    with_limits(kitchen, f"house_limits:\n  - {{for: {for_}, limit: {stricter}}}\n")
    record = {r["hazard"]: r for r in limits_record(compute(kitchen).walks[formula])["limits"]}
    assert record[hazard]["house"]["words"] == "House limit, stricter than the code"
    path = kitchen / "standards" / "kitchen.yaml"
    text = path.read_text(encoding="utf-8").replace(f"limit: {stricter}", f"limit: {looser}")
    path.write_text(text, encoding="utf-8")
    assert "house-limit-looser" in {f.code for f in compute(kitchen).errors}
    on_file = (
        f"authorisations:\n  - {{for: {permit}, authority: County, document: V-5, from: "
        "2026-01-01, until: 2027-12-31}\n"
    )
    path.write_text(
        text.replace(f"limit: {looser}", f"limit: {looser}, allowed_by: V-5") + on_file,
        encoding="utf-8",
    )
    manual = compute(kitchen)
    assert manual.errors == ()
    record = {r["hazard"]: r for r in limits_record(manual.walks[formula])["limits"]}
    house = record[hazard]["house"]
    assert (
        house["words"].replace("\u00a0", " ")
        == "Looser than the code, by County, V-5, until 31 Dec 2027"
    )
    assert (house["document"], house["until"]) == ("V-5", "2027-12-31")
    sheet = manual.sheets[formula]
    uri = f"{sheet.formula.formula.home}/{formula}.md"
    pages = {
        page.uri: html.unescape(page.html).replace("\u00a0", " ") for page in make_pages(manual)
    }
    for shown in (pages[uri], pages["control/limits.md"]):
        assert "Looser than the code, by County, V-5, until 31 Dec 2027" in shown


def test_the_houses_days_hold_for_food_packed_without_air_too(kitchen: Path) -> None:
    """Packed without air the law may allow more days; the kitchen's own fewer are all the
    same."""
    plan = (
        "authorisations:\n  - {for: pack-without-air, authority: County, document: HACCP 7, "
        "from: 2026-02-01, until: 2028-02-01}\n"
    )
    with_limits(kitchen, plan + "house_limits:\n  - {for: date, limit: 4 days}\n")
    edit(kitchen, "processes/toss.yaml", "  - do: chill\n", "  - do: vacuum-pack\n  - do: chill\n")
    edit(
        kitchen,
        "formulas/rice-salad.yaml",
        "keeps: {cold: 3 days}",
        "without_air: {criterion: acidity, measured: 4.4, record: pH log}",
    )
    dates = compute(kitchen).walks["rice-salad"].dates
    assert dates is not None and dates.house is not None
    assert (dates.day, dates.house_day) == (4, 4)


def test_paper_and_label_show_it_too(strict: Path) -> None:
    """The binder's box says it beside the code's figure; the label's last day is the house's."""
    edit(strict, "formulas/pork-bake.yaml", "keeps: {cold: 4 days}\n", "")
    manual = compute(strict)
    sheet = manual.sheets["pork-bake"]
    cook = limit_block(sheet.house, of(sheet.walk, "cook"), "4", "Bake")
    assert "House limit, stricter than the code: core" in cook["note"]
    assert "158" in " ".join(cook["small"])
    cool = limit_block(sheet.house, of(sheet.walk, "cool"), "5", "Chill")
    assert "House limit, stricter than the code" in cool["note"]
    spice = (
        {i.item: PartDay(AS_OF) for i in sheet.walk.dates.dated_parts} if sheet.walk.dates else {}
    )
    mark = date_mark(sheet, Asked(AS_OF, parts=spice), AS_OF)
    assert mark.use_by == AS_OF + datetime.timedelta(days=3), "day 4, the first being day 1"
    assert any("House limit" in words for _, words in mark.basis.inputs)


def test_receiving_takes_both_as_well(kitchen: Path) -> None:
    with_limits(
        kitchen,
        "house_limits:\n  - {for: receive, food: pork, limit: at 7 °C, allowed_by: V-5}\n"
        "authorisations:\n  - {for: receive, authority: County, document: V-5, from: "
        "2026-01-01, until: 2027-12-31}\n",
    )
    manual = compute(kitchen)
    assert manual.findings == ()
    pages = {
        page.uri: html.unescape(page.html).replace("\u00a0", " ") for page in make_pages(manual)
    }
    for uri in ("ingredients/pork-shoulder.md", "control/limits.md"):
        assert "Looser than the code, by County, V-5, until 31 Dec 2027" in pages[uri]
        assert "41 °F" in pages[uri] and "3-202.11(A)" in pages[uri]
    assert "Looser than" not in pages["ingredients/whole-egg.md"]


# --- property: never looser than the code without an authorisation in force


@functools.cache
def computed_demo() -> Manual:
    """The demo kitchen; no fixture, for a failing example is printed with its arguments."""
    return make_manual(ROOT, AS_OF)


degrees = st.integers(-20, 1100).map(lambda tenths: Temperature.of(Fraction(tenths, 10), "°C"))
rows_f = st.sampled_from([41, 70, 130, 135, 145, 150, 155, 158, 165]).map(
    lambda f: Temperature.of(f, "°F")
)
at = degrees | rows_f
times = st.integers(0, 8 * 3600).map(Fraction) | st.sampled_from(
    [0, 15, 17, 60, 180, 7200, 21600]
).map(Fraction)


def figures_of(kind: str) -> st.SearchStrategy[tuple[HouseFigure, ...]]:
    if kind == "core":
        one = st.builds(lambda t, s: HouseFigure("core", t, s, text="core"), at, times)
        return st.lists(one, min_size=1, max_size=3).map(tuple)
    if kind == "at":
        return at.map(lambda t: (HouseFigure("at", t, text="at"),))
    if kind == "days":
        return st.integers(1, 20).map(lambda n: (HouseFigure("days", days=n, text="days"),))
    one = st.builds(lambda t, s: HouseFigure("cool", t, within_s=s, text="cool"), at, times)
    starts = st.none() | at
    return st.builds(
        lambda stages, start: tuple(replace(f, start=start) for f in stages),
        st.lists(one, min_size=1, max_size=3),
        starts,
    )


def limit_of(what: str) -> st.SearchStrategy[KitchenLimit]:
    return st.builds(
        lambda figures, food, allowed_by: KitchenLimit.model_construct(
            for_=what, limit=figures, food=food, do=None, reason="", allowed_by=allowed_by
        ),
        figures_of(FORMS[what]),  # type: ignore[index]
        st.sampled_from([(), (), ("pork",), ("poultry",), ("egg", "fish"), ("beef",)]),
        st.sampled_from(["", "V-1", "V-2"]),
    )


limits = st.sampled_from(sorted(FORMS)).flatmap(limit_of)
days = st.integers(-3, 3).map(lambda n: AS_OF + datetime.timedelta(days=n))
permits = st.builds(
    lambda document, what, start, until: Authorisation.model_construct(
        for_=what, authority="A", document=document, from_=start, until=until
    ),
    st.sampled_from(["V-1", "V-2"]),
    st.sampled_from(sorted(set(FOR.values()))),
    days,
    days,
)


def pairs(limit: Limit) -> list[tuple[Fraction, Fraction]]:
    return [(o.figure.value.celsius, o.hold_s or Fraction(0)) for o in limit.options]


def enacted(limit: Limit) -> tuple[object, ...]:
    """Its kind, and the figures its source sets: None for those its kind doesn't have."""
    return type(limit), *(getattr(limit, k, None) for k in ("figure", "stages", "row_hold_s"))


def never_looser(limit: Limit, law: Limit, by_document: bool) -> bool:
    """Whether what meets ``limit`` meets the code's own, put afresh here."""
    if by_document:
        return True
    if limit.hazard in ("cook", "reheat"):
        return all(
            any(t <= mark and h <= hold for t, h in pairs(law)) for mark, hold in pairs(limit)
        )
    if isinstance(law, CoolingLimit):
        first = limit.clock.value.celsius if limit.clock else None
        begins = law.clock is None or (first is not None and first >= law.clock.value.celsius)
        return begins and all(
            any(m.figure.value <= s.figure.value and m.within_s <= s.within_s for m in limit.stages)
            for s in law.stages
        )
    if isinstance(law, InWords):
        return True
    if limit.bound == "min":
        return law.figure.value <= limit.figure.value
    return limit.figure.value <= law.figure.value


def never_looser_without_an_authorisation(
    own: list[KitchenLimit], held: list[Authorisation]
) -> None:
    demo = computed_demo()
    assert demo.house is not None
    update = {
        "house_limits": tuple(own),
        "authorisations": (*demo.house.kitchen.authorisations, *held),
    }
    house = replace(demo.house, kitchen=demo.house.kitchen.model_copy(update=update))
    for ident, made in demo.walks.items():
        found = walk(house, made.formula, demo.walks)
        assert isinstance(found, Walk)
        code = {limit.id: limit for limit in made.limits}
        for limit in found.limits:
            law = code.get(limit.id)
            if limit.house is None:
                assert law is None or enacted(limit) == enacted(law)
                continue
            assert limit.law is not None and law is not None
            assert enacted(limit.law) == enacted(law), ident
            asked = FOR[limit.hazard]
            allowed = [
                a
                for a in held
                if a.for_ == asked
                and a.from_ <= AS_OF <= a.until
                and a.document in {o.allowed_by for o in own}
            ]
            looser = limit.house.standing == "looser"
            assert not looser or allowed, limit.id
            assert never_looser(limit, limit.law, looser), (limit.id, limit.house)
        dates, before = found.dates, made.dates
        if dates is not None and before is not None and dates.house is not None:
            assert dates.law_day == before.law_day and dates.law_day is not None
            assert dates.house_day is not None
            assert dates.house.standing == "looser" or dates.house_day < dates.law_day


OWN_AND_HELD = given(st.lists(limits, min_size=1, max_size=4), st.lists(permits, max_size=3))
test_what_is_in_force_is_never_looser_than_the_code_without_an_authorisation = settings(
    max_examples=5
)(OWN_AND_HELD(never_looser_without_an_authorisation))
test_and_never_in_two_hundred_kitchens = pytest.mark.slow(
    settings(max_examples=200)(OWN_AND_HELD(never_looser_without_an_authorisation))
)


courses = st.lists(st.tuples(st.integers(1, 120), st.integers(-10, 900)), min_size=1, max_size=12)


def what_passes_the_house_passes_the_code(
    figures: tuple[HouseFigure, ...], course: list[tuple[int, int]]
) -> None:
    """Whatever was logged: a pass by a house limit that needs no authorisation is a pass by the
    code."""
    demo = computed_demo()
    assert demo.house is not None
    what = {"core": "cook", "cool": "cool", "at": "hold-hot"}[figures[0].kind]
    own = KitchenLimit.model_construct(
        for_=what, limit=figures, food=(), do=None, reason="", allowed_by=""
    )
    house = replace(
        demo.house, kitchen=demo.house.kitchen.model_copy(update={"house_limits": (own,)})
    )
    start = datetime.datetime(2026, 11, 24, 8, tzinfo=datetime.UTC)
    minutes = itertools.accumulate(step for step, _ in course)
    readings = tuple(
        Reading(start + datetime.timedelta(minutes=m), Temperature.of(Fraction(t, 10), "°C"), 1)
        for m, (_, t) in zip(minutes, course, strict=True)
    )
    log = ReadingLog(
        "log.csv", "°C", (Series("probe", readings),), (), False, zoneinfo.ZoneInfo("UTC")
    )
    for ident in ("turkey-chive-roll", "sausage-plate", "roast-beef-cold"):
        found = walk(house, demo.walks[ident].formula, demo.walks)
        assert isinstance(found, Walk)
        for limit in found.limits:
            if limit.house is None or not isinstance(limit.law, Probed):
                continue
            gap = Fraction(3600)
            if judge(log, limit, gap).verdict == "pass":
                assert judge(log, limit.law, gap).verdict == "pass", limit.id


FIGURES_AND_COURSES = given(figures_of("cool") | figures_of("core") | figures_of("at"), courses)
test_readings_that_pass_the_house_pass_the_code = settings(max_examples=60)(
    FIGURES_AND_COURSES(what_passes_the_house_passes_the_code)
)
test_five_hundred_readings_that_pass_the_house = pytest.mark.slow(
    settings(max_examples=500)(FIGURES_AND_COURSES(what_passes_the_house_passes_the_code))
)


def test_one_that_binds_somewhere_is_never_called_needless(kitchen: Path) -> None:
    """At 41 °F it is what the code asks of the finished food, and stricter for eggs kept by their
    air."""
    edit(
        kitchen,
        "ingredients/all.yaml",
        "  form: liquid\n  allergens: [eggs]",
        "  form: intact\n  allergens: [eggs]",
    )
    edit(
        kitchen,
        "kitchen.yaml",
        "stations:",
        "house_limits: [{for: hold-cold, limit: at 41 °F}]\nstations:",
    )
    assert "house-limit-same" not in {f.code for f in compute(kitchen).findings}
    edit(kitchen, "kitchen.yaml", "{for: hold-cold, limit", "{for: hold-cold, food: pork, limit")
    assert "house-limit-same" in {f.code for f in compute(kitchen).findings}


def test_cooked_food_is_cooled_from_its_cooking_where_no_clock_is_set(tmp_path: Path) -> None:
    """English law sets no cooling time; the kitchen's own counts from the end of the cooking."""
    project = lay("base", tmp_path / "england")
    edit(
        project,
        "kitchen.yaml",
        "code: {model: us-food-code, edition: 2022",
        "code: {model: uk-england, edition: 2013",
    )
    edit(
        project,
        "kitchen.yaml",
        "stations:",
        "house_limits: [{for: cool, limit: to 5 °C within 4 h}]\nstations:",
    )
    limit = next(lm for lm in compute(project).walks["pork-bake"].limits if lm.hazard == "cool")
    assert limit.stages and limit.since == "its cooking ends"

"""Logs on paper: which are in a binder, their limits against the sheets', and the PDF itself."""

from __future__ import annotations

import datetime
import io
import re
import shutil
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import Any

import pdfplumber
import pypdfium2
import pytest
from conftest import AS_OF, KITCHENS, compute, edit
from inked import Box, letters, paths, words
from test_packs import RAW, packed

from generator.binder.documents import station_binder, station_sheets
from generator.binder.drawing import render
from generator.binder.log_sheets import log_sheets
from generator.binder.sheet_changes import plain_words, sheet_changes
from generator.rules.basics.limit import InWords
from generator.rules.store.shelf import shelf_of
from generator.sheet.manual import Manual

MM = 72 / 25.4


def logs(manual: Manual, station: str) -> dict[str, dict[str, Any]]:
    """A station's logs by kind."""
    return {
        s["key"].rpartition("/")[2].removeprefix("log-"): s
        for s in station_sheets(manual, station)
        if s["kind"] == "log"
    }


def block(sheet: dict[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = sheet["blocks"][-1]
    assert found["form"] == "log"
    return found


HAZARD = {
    "thaw": "thaw",
    "cure": "additive",
    "cool": "cool",
    "cool-made-cold": "cool",
    "hot": "hot_hold",
    "cold": "cold_hold",
}


def test_a_log_stands_where_there_is_such_a_limit(demo: Manual) -> None:
    assert demo.house is not None
    for station in demo.house.stations:
        mine = [s for s in demo.sheets.values() if s.formula.formula.home == station]
        limits = [lm for s in mine for lm in s.walk.limits]
        assert demo.standards is not None
        used = {ln.joined.item: ln.joined.ingredient for s in mine for ln in s.walk.lines}
        bought = [shelf_of(demo.house, i, f) for i, f in used.items() if f is not None]
        held = {shelf.store.hazard for shelf in bought if shelf.store is not None}
        warm = any(s.put_away is not None and s.put_away.hazard == "cool" for s in bought)
        found = logs(demo, station)
        for kind, hazard in HAZARD.items():
            wanted = any(
                lm.hazard == hazard
                and (hazard != "cool" or (getattr(lm, "clock", None) is None) == ("made" in kind))
                for lm in limits
            )
            wanted |= hazard in held
            assert (kind in found) == wanted, (station, kind)
        assert ("cook" in found) == any(lm.hazard in ("cook", "reheat") for lm in limits)
        assert ("calibration" in found) == bool(limits)
        assert ("cool-received" in found) == warm
        assert ("without-air" in found) == any(lm.hazard == "reduced_oxygen" for lm in limits)


def test_who_writes_has_room_for_initials(demo: Manual) -> None:
    """Initials want 13 mm, as the drawing of the paper gives them."""
    for station in demo.house.stations:
        for kind, sheet in logs(demo, station).items():
            by = [c for c in block(sheet)["columns"] if c["key"] in ("by", "by2")]
            assert by or kind == "deviation", (station, kind)
            assert all(c.get("mm", 13) >= 13 for c in by), (station, kind)


def test_the_deadlines_are_the_limits(demo: Manual) -> None:
    """Food Code 3-501.14(A): 2 h and 6 h, both from the start; on a ±1 °C probe 59, 20 and 4 °C."""
    limit = next(lm for lm in demo.sheets["turkey-chive-roll"].walk.limits if lm.hazard == "cool")
    sheet = logs(demo, "cold-kitchen")["cool"]
    found = block(sheet)
    assert [(s.within_s, s.after_stage) for s in limit.stages] == [(7200, False), (21600, False)]
    plus = next(c for c in found["columns"] if "fixed" in c)["fixed"]
    assert [p.replace("\u00a0", " ") for p in plus] == ["+ 2 h", "+ 6 h"]
    assert limit.clock is not None
    assert (
        plain_words(found["start"])
        .replace("\u00a0", " ")
        .endswith(f"{limit.clock.read_at('°C')} °C")
    )
    figures = [Fraction(f["number"]) for f in found["figures"]]
    assert figures == [s.figure.read_at("°C") for s in limit.stages] == [20, 4]
    first, second = found["example"]
    start = datetime.datetime.strptime(first["start"], "%H:%M")
    for row, stage in zip((first, second), limit.stages, strict=True):
        deadline = datetime.datetime.strptime(row["deadline"], "%H:%M")
        assert (deadline - start).total_seconds() == stage.within_s
        assert datetime.datetime.strptime(row["at"], "%H:%M") < deadline
        assert Fraction(row["reads"]) < stage.figure.read_at("°C"), "the example meets the limit"


def test_food_made_cold_has_a_clock_of_its_own(demo: Manual) -> None:
    """3-501.14(B): 4 h from when it is made, one line an entry."""
    found = block(logs(demo, "cold-kitchen")["cool-made-cold"])
    assert plain_words(found["start"]) == "Clock starts when it is made"
    assert [c["fixed"] for c in found["columns"] if "fixed" in c] == [["+\u00a04\u00a0h"]]
    assert len(found["lines"]) == 1 and "Green dressing" in str(found["foods"])


def test_what_comes_in_warm_is_cooled_from_the_door(demo: Manual) -> None:
    """3-501.14(C): 4 h from when it comes in; late, it isn't heated again but discarded."""
    found = block(logs(demo, "bakehouse")["cool-received"])
    assert plain_words(found["start"]) == "Clock starts when it comes in"
    assert [c["fixed"] for c in found["columns"] if "fixed" in c] == [["+\u00a04\u00a0h"]]
    how = " ".join(plain_words(words) for words in (found["foods"], *found["how"]))
    assert "For: Whole milk" in how and "hrow it away" in how and "reheat" not in how


def test_the_air_round_eggs_never_stands_alone_beside_other_food(demo: Manual) -> None:
    """3-501.16(A)(2) and (B): on a ±1 °C probe 4 °C in the food, 6 °C in the air; the example meets
    both."""
    sheet = logs(demo, "bakehouse")["cold"]
    rows = sheet["blocks"][0]["rows"]
    read = {row[0]["words"]: (row[2].replace("\u00a0", " "), row[3]) for row in rows}
    assert read["Egg, whole, fresh"] == ("6 °C", "or colder, in the air")
    assert read["Butter, unsalted and Whole milk"] == ("4 °C", "or colder")
    assert Fraction(block(sheet)["example"][0]["reads"]) < 4


def test_each_food_has_the_figure_of_its_sheet(demo: Manual) -> None:
    """Where foods differ they are in a list, each with what its own page asks for."""
    rows = logs(demo, "roasting")["cook"]["blocks"][0]["rows"]
    listed = {(row[0]["words"], row[1], row[2].replace("\u00a0", " ")) for row in rows}
    wanted = {
        (s.name, lm.verb, f"{getattr(lm, 'read', None)} °C")
        for s in demo.sheets.values()
        if s.formula.formula.home == "roasting"
        for lm in s.walk.limits
        if lm.hazard in ("cook", "reheat")
    }
    assert listed == wanted and len(wanted) >= 3
    one = block(logs(demo, "cold-kitchen")["cook"])["figures"]
    assert [(f["number"], f["unit"]) for f in one] == [("76", "°C")]


def test_a_rule_in_words_stands_in_its_words_on_a_log(kitchen: Path) -> None:
    """3-501.13(C), cooking from frozen, sets no figure: beside one that has, its words are in
    full."""
    edit(kitchen, "processes/baked.yaml", "  - do: bake\n", "  - do: bake\n    does: thaws\n")
    edit(
        kitchen,
        "processes/baked.yaml",
        "  - do: grind\n    add: [meat]\n",
        "  - do: thaw\n    add: [meat]\n    in: cold-room\n  - do: grind\n",
    )
    manual = compute(kitchen)
    words = [
        lm.words
        for lm in manual.walks["pork-bake"].limits
        if lm.hazard == "thaw" and isinstance(lm, InWords)
    ]
    (log,) = [s for s in station_binder(manual, "range", {}, "") if s["key"].endswith("/log-thaw")]
    rows = {row[1]: (row[2], row[3]) for row in log["blocks"][0]["rows"]}
    assert len(words) == 1 and rows["Bake"] == ("no figure", words[0])
    assert rows["Thaw"][0].replace("\u00a0", " ") == "4 °C"


def test_a_change_sheet_reports_what_changed_on_a_log(kitchen: Path) -> None:
    """The clock starts at 135 °F (57.2 °C): read at 59 °C on a probe to 1 °C, at 58 °C on one to
    0.5 °C."""

    def cooling() -> Any:
        made = station_binder(compute(kitchen), "range", {}, "")
        return next(s for s in made if s["key"].endswith("/log-cool"))

    before = cooling()
    edit(
        kitchen,
        "equipment/house.yaml",
        "reads: [°C, °F], accuracy: 1 °C",
        "reads: [°C, °F], accuracy: 0.5 °C",
    )
    found = {d.name: (d.old, d.new) for d in sheet_changes(before, cooling())}
    assert found["Limit for"] == (
        "Clock starts when the food falls to 59 °C",
        "Clock starts when the food falls to 58 °C",
    )


CODEX = {
    "Hazard",
    "Limit",
    "What",
    "How",
    "How often",
    "Who",
    "If missed",
    "Check",
}
"""The columns of a HACCP record after the Codex principles (CXC 1-1969), in the logs' words: the
hazard; the critical limit; monitoring: what, how, when, who; corrective action; verification. The
record is the log itself. Food Code 8-201.14 asks for the same: the method and frequency of monitoring
by the food employee, of verifying by the person in charge, the action where a limit isn't met, and
the records."""


def test_two_readings_have_two_peoples_initials(demo: Manual) -> None:
    for kind in ("cold", "cool"):
        found = block(logs(demo, "cold-kitchen")[kind])
        keys = [c["key"] for c in found["columns"]]
        if kind == "cold":
            assert {"reads", "by", "reads2", "by2", "check"} <= set(keys)
        else:  # each deadline has a line of its own
            by = next(c for c in found["columns"] if c["key"] == "by")
            assert len(found["lines"]) == 2 and not by.get("once")
            heads = [h for c in found["columns"] for h in c["heads"]]
            assert "Deadline" in heads and "Probe no." in heads
            assert "If missed: what you did" in heads


def test_a_log_of_one_deadline_speaks_of_one(demo: Manual) -> None:
    found = block(logs(demo, "cold-kitchen")["cool-made-cold"])
    said = " ".join(plain_words(w) for w in found["how"])
    assert "each deadline" not in said and "both" not in said
    assert "the deadline" in said
    heads = [h for c in found["columns"] for h in c["heads"]]
    assert "If missed:" in heads and "Probe" in heads  # on the one line there is


def test_each_log_has_an_id_of_its_own(demo: Manual) -> None:
    assert demo.house is not None
    for station in demo.house.stations:
        found = logs(demo, station).values()
        ids = [sheet["control"]["id"] for sheet in found]
        assert len(ids) == len(set(ids)), ids
        titles = [sheet["title"] for sheet in found]
        assert len(titles) == len(set(titles)), titles


def test_no_subtitle_states_a_hazard_as_a_fact(demo: Manual) -> None:
    """ "Germs grow while the food cools slowly" under a log's title reads as what happens here."""
    assert demo.house is not None
    guards = {w.guards.rstrip(".") for w in demo.house.library.hazards.values()}
    for station in demo.house.stations:
        for sheet in logs(demo, station).values():
            assert not guards & set(sheet["subtitle"]), sheet["title"]
            said = " ".join(plain_words(w) for w in block(sheet)["how"])
            assert "the reheating limit" not in said, sheet["title"]


def test_a_deviation_has_a_line_of_its_own(demo: Manual) -> None:
    """What, when, how much, held where, decision, who: and a batch sheet names the line."""
    found = block(logs(demo, "stove")["deviation"])
    heads = " ".join(h for c in found["columns"] for h in c["heads"])
    for head in ("When", "What", "How much", "Held where", "Decision, action taken", "Who"):
        assert head in heads
    sheets = [s for s in station_sheets(demo, "stove") if s["kind"] == "batch"]
    assert sheets and all("Deviation: log line" in str(s["blocks"][-1]) for s in sheets)


def test_a_reading_is_written_in_one_place(demo: Manual) -> None:
    """A limit's box on a batch sheet has blanks, or names a log that its station has."""
    assert demo.house is not None
    named = 0
    for station in demo.house.stations:
        titles = {s["title"] for s in logs(demo, station).values()}
        for sheet in station_sheets(demo, station):
            for box in sheet["blocks"] if sheet["kind"] == "batch" else ():
                if box["form"] != "limit" or not box["covered"]:
                    continue
                said = f"{plain_words(box['check'])} {plain_words(box['write'])}"
                logged = [t for t in titles if t[:1].lower() + t[1:] in said]
                blank = box.get("blanks") or box.get("fields")
                assert not (logged and blank), (sheet["key"], said)
                assert logged or blank or "Write it here" in said, (sheet["key"], said)
                named += bool(logged)
    assert named > 40


def test_every_log_names_the_seven_columns(demo: Manual) -> None:
    """What, limit, how, how often, who, if missed; by and check: the Codex principles in our
    words."""
    assert demo.house is not None
    seen = set()
    for station in demo.house.stations:
        for kind, sheet in logs(demo, station).items():
            found = block(sheet)
            names = [plain_words(h).partition(":")[0] for h in found["how"]]
            assert set(names) | {"Limit"} >= CODEX, kind
            heads = [h for c in found["columns"] for h in c["heads"]]
            assert heads[-1] == "Check" and ("By" in heads or kind == "deviation")
            labels = {f["label"] for f in found["fields"]}
            assert {"Verified by, on", "Sheet full, filed by", "Probe no., checked on"} <= labels
            assert any("missed" in h or "refused" in h or "Decision" in h for h in heads)
            limit = (
                kind == "deviation"
                or found["figures"]
                or any("Limit" in c["head"] for b in sheet["blocks"][:-1] for c in b["columns"])
            )
            assert limit, kind
            for row in found["example"]:
                known = {c["key"] for c in found["columns"]}
                assert set(row) <= known, (kind, set(row) - known)
            seen.add(kind)
    assert seen >= {"receive", "thaw", "cure", "cook", "cool", "hot", "cold", "calibration"}


def test_the_cures_weight_is_the_sheets(demo: Manual) -> None:
    rows = logs(demo, "meat-room")["cure"]["blocks"][0]["rows"]
    wanted = []
    for ident, sheet in demo.sheets.items():
        for batch in sheet.batches if ident in ("millrace-shoulder", "weir-sausage") else ():
            for line in batch.lines:
                facts = line.line.joined.ingredient
                if facts is not None and facts.function == "cure":
                    assert line.weighing.scale is not None
                    wanted.append(f"{line.weighing.scale.shows(line.weighing.grams)} g")
    assert len(wanted) >= 4
    assert [row[1].replace("\u00a0", " ") for row in rows] == wanted
    assert "Variance 26-014" in plain_words(block(logs(demo, "meat-room")["cure"])["how"][0])


def test_curing_is_logged_only_where_authorised(demo: Manual) -> None:
    """The same sheets, a kitchen without the variance, and one whose variance ran out."""
    house = demo.house
    assert house is not None
    mine = [s for s in demo.sheets.values() if s.formula.formula.home == "meat-room"]

    def kinds(authorisations: tuple[Any, ...], as_of: datetime.date = AS_OF) -> set[str]:
        kitchen = house.kitchen.model_copy(update={"authorisations": authorisations})
        other = replace(demo, house=replace(house, kitchen=kitchen), as_of=as_of)
        return {s["key"].rpartition("/")[2] for s in log_sheets(other, "meat-room", mine)}

    held = house.kitchen.authorisations
    assert "log-cure" in kinds(held)
    assert "log-cure" not in kinds(())
    until = max(a.until for a in held if a.for_ == "cure")
    assert "log-cure" in kinds(held, until)
    assert "log-cure" not in kinds(held, until + datetime.timedelta(days=1))


def test_packing_without_air_is_logged_where_it_is_authorised(kitchen: Path) -> None:
    manual = packed(kitchen, RAW)
    assert manual.errors == ()
    found = logs(manual, "range")
    assert "without-air" in found
    assert found["without-air"]["title"] == "Packing log, without air"


def test_an_english_kitchen_logs_by_the_words_of_its_law(tmp_path: Path) -> None:
    """The law sets no figure for cooling: its words are where the figure would, and no number is
    ours."""
    shutil.copytree(KITCHENS / "second_kitchen" / "standards", tmp_path / "k/standards")
    manual = compute(tmp_path / "k")
    assert manual.house is not None and manual.errors == ()
    cooling = [
        s
        for at in manual.house.stations
        for k, s in logs(manual, at).items()
        if k.startswith("cool")
    ]
    for sheet in cooling:
        found = block(sheet)
        if not found["figures"]:
            assert any(plain_words(h).startswith("Limit:") for h in found["how"])
    assert "59" not in str(cooling)
    boards = [s for at in manual.house.stations for s in logs(manual, at).values()]
    assert boards
    render(
        {
            "title": "x",
            "sheets": [
                s
                for at in manual.house.stations
                for s in station_binder(manual, at, {}, "")
                if s["kind"] == "log"
            ],
        },
        "a4",
    )


# ---- the PDF


@dataclass(frozen=True)
class Leaf:
    """A page of a log, read; ``last`` is the one to write on."""

    key: str
    last: bool
    letters: list[Box]
    paths: list[Box]


@pytest.fixture(scope="module")
def drawn(demo: Manual) -> tuple[bytes, list[str]]:
    """Every log of the demo in one PDF, and their keys in order."""
    assert demo.house is not None
    sheets = [
        s
        for at in demo.house.stations
        for s in station_binder(demo, at, {}, "")
        if s["kind"] == "log"
    ]
    return render({"title": "Logs", "sheets": sheets}, "letter"), [s["key"] for s in sheets]


@pytest.fixture(scope="module")
def leaves(drawn: tuple[bytes, list[str]]) -> list[Leaf]:
    """The pages with the key of their log."""
    found, left = [], iter(drawn[1])
    key = next(left)
    with pypdfium2.PdfDocument(drawn[0]) as opened:
        for page in opened:
            text = page.get_textpage().get_text_range()
            at, of = map(int, re.findall(r"Page (\d+) of (\d+)", text)[0])
            found.append(Leaf(key, at == of, letters(page), paths(page)))
            key = next(left, "") if at == of else key
    assert next(left, None) is None and key == ""
    return found


def test_each_log_stands_inside_the_frame(leaves: list[Leaf]) -> None:
    """On one page."""
    assert [leaf.key for leaf in leaves if not leaf.last] == []
    for leaf in leaves:
        marks = [*(c for c in leaf.letters if c.text.strip()), *leaf.paths]
        assert len(leaf.paths) > 10 and len(marks) > 300, leaf.key
        assert min(m.left for m in marks) >= 20 - 0.5, leaf.key
        assert max(m.right for m in marks) <= 200 + 0.5, leaf.key
        assert max(m.bottom for m in marks) <= 269 + 0.5, leaf.key


def test_rows_are_high_enough_to_write_in(leaves: list[Leaf]) -> None:
    """At least 9 mm from line to line, and at least four entries to a log."""
    for leaf in leaves:
        if not leaf.last:
            continue
        column = words(leaf.letters)
        tops = sorted(w.top for w in column if w.right < 30 and w.text.isdigit())
        assert len(tops) >= 4, leaf.key
        gaps = [b - a for a, b in pairwise(tops)]
        assert min(gaps) >= 9 - 0.01, leaf.key
        if "/log-cool" in leaf.key and "made" not in leaf.key and "received" not in leaf.key:
            assert min(gaps) >= 18 - 0.01, "two lines an entry"


def test_the_printed_cooling_log_reads_as_the_limit(
    drawn: tuple[bytes, list[str]], leaves: list[Leaf]
) -> None:
    number = 1 + [leaf.key for leaf in leaves].index("cold-kitchen/cold-kitchen/log-cool")
    with pdfplumber.open(io.BytesIO(drawn[0]), pages=[number]) as opened:
        (page,) = opened.pages
        large = "".join(c["text"] for c in page.chars if round(c["size"]) == 34)
        text = page.extract_text().replace("\u00a0", " ")
    assert large == "204", "20 and 4 are the largest on the page"
    entries = text.count("+ 2 h")
    assert entries == text.count("+ 6 h") and entries >= 5
    assert "16:10" in text and "20:10" in text

"""Process specs that stand alone: their page, sheet and log, register, answer and hits say the same
figures, and a reading is written in one place."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from commands import run
from conftest import compute, edit, lay
from test_shared_pages import shown

from generator.binder.documents import code_address, page_of, station_sheets
from generator.binder.sheet_changes import plain_words, sheet_changes
from generator.framing.searching import _entries
from generator.measures.marks import written_with
from generator.pages import make_pages
from generator.sheet.manual import Manual
from generator.views.routine_view import RoutineStep, routine_steps
from generator.views.uris import PROCESS_INDEX, REGISTER, process_uri, station_uri

NARROW = "\u00a0"


def steps(manual: Manual) -> Iterator[tuple[str, RoutineStep]]:
    for ident, routine in manual.routines.items():
        for step in routine_steps(manual, routine):
            yield ident, step


def sheets(manual: Manual, station: str) -> dict[str, dict[str, Any]]:
    return {s["key"]: s for s in station_sheets(manual, station)}


def text_of(sheet: dict[str, Any]) -> str:
    return json.dumps(sheet["blocks"], ensure_ascii=False).replace(NARROW, " ")


def test_the_demo_has_some_of_several_kinds(demo: Manual) -> None:
    kinds = {one.check.check for r in demo.routines.values() for one in r.checks}
    assert {None, "sanitiser", "dish-machine", "ice-point", "power-cut"} <= kinds


def test_every_figure_is_on_page_sheet_register_and_in_the_answer(demo: Manual) -> None:
    register = shown(demo, REGISTER)
    for ident, step in steps(demo):
        page = shown(demo, process_uri(ident))
        answer = run(demo.project, "limits", ident, "--as-of", "2026-11-25").stdout
        stations = demo.routines[ident].routine.station
        papers = [text_of(sheets(demo, s)[f"{s}/{ident}/routine"]) for s in stations]
        for reading in step.readings:
            figure = f"{reading.number} {reading.unit}"
            said = reading.figure.replace(NARROW, " ")
            assert said in page and figure in register, (ident, figure)
            assert said in answer.replace("−", "-"), (ident, said)
            assert all(said in paper for paper in papers), (ident, said)
            for words, where in reading.law:
                law, where = words.replace(NARROW, " "), where.replace(NARROW, " ")
                assert law in page and where in page and law in answer
                assert all(law in paper and where in paper for paper in papers)


def test_json_holds_the_figures_and_their_sources() -> None:
    done = run(None, "limits", "sanitiser-bucket", "--format", "json", "--as-of", "2026-11-25")
    record = json.loads(done.stdout)
    (check,) = record["checks"]
    by_name = {r["name"]: r for r in check["readings"]}
    assert (by_name["Strength"]["least"], by_name["Strength"]["most"]) == (50, 100)
    assert by_name["Temperature"]["least"] == 25 and by_name["Temperature"]["unit"] == "°C"
    assert check["every_s"] == 14400 and check["written_in"] is None
    clauses = {law["source"]["clause"] for r in check["readings"] for law in r["law"]}
    assert clauses == {"4-501.114(A)", "180.940(a)", "4-703.11(C)(1)"}


def test_review_and_if_say_that_it_stands_alone(tmp_path: Path) -> None:
    done = run(None, "limits", "power-cut", "--if", "store: to 4 °C")
    assert done.returncode == 2 and "has checks" in done.stderr
    log = tmp_path / "log.csv"
    log.write_text("time,temp_c\n2026-11-25 10:00,4\n", encoding="utf-8")
    done = run(None, "review", str(log), "--formula", "power-cut", "--step", "store")
    assert done.returncode == 2 and "has checks" in done.stderr


def test_it_is_found_and_listed(demo: Manual) -> None:
    pages = make_pages(demo)
    found = {e.title: e for e in _entries(demo, pages)}
    entry = found["Sanitiser for cloths and boards"]
    assert {"chlorine", "strip", "strength"} <= set(entry.words)
    assert "Power cut" in shown(demo, PROCESS_INDEX)
    assert "Without a formula" in shown(demo, station_uri("counter"))
    assert "Dish machine" in shown(demo, station_uri("counter"))
    assert "Dish machine" not in shown(demo, station_uri("stove"))


def test_a_reading_is_written_in_one_place(demo: Manual) -> None:
    """Probes have the station's thermometer log: their sheet names it and has no lines to write
    in. The others have them on their own sheet, and no log beside it."""
    for station in ("roasting", "cold-kitchen", "counter", "stove"):
        held = sheets(demo, station)
        for key, sheet in held.items():
            if not key.endswith("/routine"):
                continue
            logs = [b for b in sheet["blocks"] if b["form"] == "log"]
            probes = "/probe-morning/" in key
            assert len(logs) == (0 if probes else 1), key
            assert ("Write it in the thermometer log" in text_of(sheet)) == probes
            if probes:
                assert f"{station}/{station}/log-calibration" in held


COLUMNS = {
    "sanitiser-bucket": ("Strength ppm", "Reads °C", "pH"),
    "rack-machine": ("Wash °C", "Rinse °C", "Surface °C"),
    "power-cut": ("Power off, time", "Reads °C", "Kept, or thrown away"),
}


@pytest.mark.parametrize("ident", COLUMNS)
def test_the_columns_of_its_log_fit(demo: Manual, ident: str) -> None:
    station = demo.routines[ident].routine.station[0]
    (log,) = [
        b
        for b in sheets(demo, station)[f"{station}/{ident}/routine"]["blocks"]
        if b["form"] == "log"
    ]
    heads = [" ".join(c["heads"]) for c in log["columns"]]
    assert set(COLUMNS[ident]) < set(heads)
    assert heads[-3:] == ["If missed: what you did", "By", "Check"]
    # 180 mm of paper, 8 for the number; what is wide keeps 25
    assert 8 + sum(c.get("mm", 0) for c in log["columns"]) <= 155


def test_a_station_without_a_log_writes_on_the_sheet(tmp_path: Path) -> None:
    """Where nothing made at a station is kept cold, there is no cold holding log to name."""
    kitchen = lay("base", tmp_path)
    path = kitchen / "standards/stations/door.yaml"
    path.write_text("name: Back door\n", encoding="utf-8")
    path = kitchen / "standards/processes/opening.yaml"
    path.write_text(
        "name: Opening\nstation: door\nchecks:\n  - Sweep.\n  - check: cold\n  - check: receiving\n"
        "  - check: ice-point\n",
        encoding="utf-8",
    )
    manual = compute(kitchen)
    assert isinstance(manual, Manual) and not manual.errors
    held = sheets(manual, "door")
    sheet = held["door/opening/routine"]
    assert [b["form"] for b in sheet["blocks"]].count("log") == 2
    assert "door/door/log-calibration" in held
    assert "thermometer log" in text_of(sheet)
    assert sheet["band"]["word"] == "DRAFT"
    assert page_of(sheet["key"]) == process_uri("opening")
    assert "/processes/opening/" in code_address("https://x.org/", sheet["key"], "3", "1", "0" * 8)


def test_what_changed_on_its_sheet_is_named(tmp_path: Path) -> None:
    kitchen = lay("base", tmp_path)
    path = kitchen / "standards/processes/bucket.yaml"
    path.write_text(
        "name: Bucket\nstation: pass\nchecks:\n"
        "  - {check: sanitiser, of: chlorine, strength: 50 to 100 ppm}\n",
        encoding="utf-8",
    )

    def sheet() -> dict[str, Any]:
        manual = compute(kitchen)
        assert isinstance(manual, Manual)
        return sheets(manual, "pass")["pass/bucket/routine"]

    before = sheet()
    edit(kitchen, "processes/bucket.yaml", "50 to 100 ppm", "100 to 200 ppm")
    changes = {c.name: (c.old, c.new) for c in sheet_changes(before, sheet())}
    heat = changes["Temperature, limit: must read"]
    assert [w.replace(NARROW, " ").strip() for w in heat] == ["39 °C", "14 °C"]
    assert any(name.startswith("Strength") for name in changes)


def test_an_error_leaves_it_out_and_says_so(tmp_path: Path) -> None:
    kitchen = lay("base", tmp_path)
    path = kitchen / "standards/processes/bucket.yaml"
    path.write_text(
        "name: Bucket\nstation: pass\nchecks:\n  - {check: sanitiser}\n", encoding="utf-8"
    )
    manual = compute(kitchen)
    assert isinstance(manual, Manual)
    assert "pass/bucket/routine" not in sheets(manual, "pass")
    assert "Bucket not computed" in shown(manual, PROCESS_INDEX)
    done = run(kitchen, "limits", "bucket")
    assert done.returncode == 1 and "sanitiser-unnamed" in done.stdout + done.stderr


def test_its_words_are_plain_text(demo: Manual) -> None:
    with written_with(demo.writing):
        for key, sheet in sheets(demo, "cold-kitchen").items():
            if key.endswith("/routine"):
                (table, *_) = [b for b in sheet["blocks"] if b["form"] == "table"]
                assert all(plain_words(row[1]) for row in table["rows"])


def test_its_log_has_what_an_inspector_looks_for(demo: Manual) -> None:
    """Food Code 8-201.14 and the Codex principles (CXC 1-1969), as on the other logs
    (tests/media/test_logs.py): the hazard, the limit, what, how, how often, who, what to do, the
    check; how it is done stands in the step, the limit in the table above."""
    seen = 0
    for station in demo.house.stations:
        for key, sheet in sheets(demo, station).items():
            for log in (b for b in sheet["blocks"] if b["form"] == "log" and "/routine" in key):
                names = {plain_words(words).partition(":")[0] for words in log["how"]}
                assert names == {"Hazard", "What", "How often", "Who", "If missed", "Check"}
                heads = [
                    c["head"] for b in sheet["blocks"] if b["form"] == "table" for c in b["columns"]
                ]
                assert {"What is done", "Limit: must read"} <= set(heads)
                labels = {f["label"] for f in log["fields"]}
                assert {
                    "Verified by, on",
                    "Sheet full, filed by",
                    "Probe no., checked on",
                } <= labels
                columns = [" ".join(c["heads"]) for c in log["columns"]]
                assert {"Date", "At, time", "By", "Check", "If missed: what you did"} <= set(
                    columns
                )
                seen += 1
    assert seen == 3

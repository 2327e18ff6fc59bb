"""A batch's record (JSON): what `review` makes of it, and what it refuses."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from commands import run
from conftest import ROOT

from generator.authoring.schemas import schemas

CHILL, POACH = "turkey-chive-roll/chill/cool", "turkey-chive-roll/poach/cook"


def reading(at: str, limit: str, value: str, unit: str = "°C", **more: Any) -> dict[str, Any]:
    return {
        "id": f"r{at}{value}",
        "at": f"2026-11-25T{at}Z",
        "limit": limit,
        "probe": "1",
        "value": value,
        "unit": unit,
        "verdict": "met",
        "law": "pass",
        **more,
    }


COOLING = [
    ("18:00:00", "59"),
    ("18:40:00", "38"),
    ("19:30:00", "20"),
    ("21:00:00", "11"),
    ("22:30:00", "6"),
    ("23:50:00", "4"),
]
BATCH: dict[str, Any] = {
    "kind": "kitchen-manual batch",
    "version": 1,
    "id": "0a1b2c3d4e5f",
    "formula": "turkey-chive-roll",
    "name": "Turkey roll",
    "page": "cold-kitchen/turkey-chive-roll/",
    "revision": 4,
    "stamp": "288855fb",
    "size": "fills=8",
    "label": "8\u00a0rolls",
    "number": 1,
    "day": "2026-11-25",
    "zone": "America/Chicago",
    "who": "Ana",
    "started": "2026-11-25T17:00:00.000Z",
    "ticks": {"w-0-1": {"at": "2026-11-25T17:01:00.000Z", "done": True}},
    "clocks": [
        {
            "id": "c1",
            "key": f"{CHILL} cool",
            "kind": "deadline",
            "limit": CHILL,
            "step": 7,
            "anchor": "step-7",
            "name": "7 Chill",
            "revision": 4,
            "started": "2026-11-25T18:00:00.000Z",
            "due": [
                {"at": "2026-11-25T20:00:00.000Z", "words": "20 °C"},
                {"at": "2026-11-26T00:00:00.000Z", "words": "4 °C"},
            ],
        }
    ],
    "readings": [
        reading("17:50:00.125", POACH, "76"),
        *(reading(at, CHILL, value) for at, value in COOLING),
    ],
}


def written(folder: Path, batch: dict[str, Any]) -> str:
    path = folder / "batch.json"
    path.write_text(json.dumps(batch, ensure_ascii=False, indent=1), encoding="utf-8")
    return str(path)


def judged(path: str, *more: str) -> dict[str, Any]:
    done = run(ROOT, "review", path, *more, "--format", "json")
    assert done.returncode in (0, 1), done.stderr
    found: dict[str, Any] = json.loads(done.stdout)
    return found


@pytest.mark.parametrize("unit", ["°C", "°F", "both"])
@pytest.mark.parametrize("warm", [False, True])
def test_a_record_and_its_csv_have_one_verdict(tmp_path: Path, unit: str, warm: bool) -> None:
    """The readings as JSON, and the same as the CSV a phone exports; a missed stage too."""
    rows = [(at, "40" if warm and at == "19:30:00" else value) for at, value in COOLING]
    as_f = [(at, str(int(value) * 9 / 5 + 32)) for at, value in rows]
    batch = copy.deepcopy(BATCH)
    mixed = [
        (at, f, "°F") if unit == "°F" or (unit == "both" and i % 2) else (at, c, "°C")
        for i, ((at, c), (_, f)) in enumerate(zip(rows, as_f, strict=True))
    ]
    batch["readings"] = [reading(at, CHILL, value, scale) for at, value, scale in mixed]
    log = tmp_path / "log.csv"
    column, lines = ("temp_c", rows) if unit == "°C" else ("temp_f", as_f)
    log.write_text(
        f"time,probe,{column}\n" + "".join(f"2026-11-25T{at}Z,1,{v}\n" for at, v in lines)
    )
    one = judged(written(tmp_path, batch))
    other = judged(str(log), "--formula", "turkey-chive-roll", "--step", "chill")
    assert one["verdict"] == other["verdict"] != ""
    assert one["per_probe"] == other["per_probe"]
    assert (one["verdict"] == "pass") is not warm


def test_a_record_names_its_formula_and_its_limit(tmp_path: Path) -> None:
    batch = copy.deepcopy(BATCH)
    path = written(tmp_path, batch)
    several = run(ROOT, "review", path)
    assert several.returncode == 2
    assert "The record has readings of several limits." in several.stderr
    assert "--step poach" in several.stderr and "--step chill" in several.stderr
    assert judged(path, "--step", "poach")["verdict"] == "pass"
    batch["readings"] = batch["readings"][:1]
    assert judged(written(tmp_path, batch))["verdict"] == "pass"
    other = run(ROOT, "review", path, "--formula", "barley-soup")
    assert other.returncode == 2
    assert "The record is of `turkey-chive-roll`, not of `barley-soup`." in other.stderr
    none = run(ROOT, "review", written(tmp_path, batch), "--step", "chill")
    assert none.returncode == 2 and f"no reading of {CHILL}" in none.stderr


def test_a_reading_that_was_struck_out_counts_no_more(tmp_path: Path) -> None:
    batch = copy.deepcopy(BATCH)
    wrong = reading("17:40:00", POACH, "60", struck="2026-11-25T17:41:00Z")
    batch["readings"] = [wrong, *batch["readings"][:1]]
    assert judged(written(tmp_path, batch))["verdict"] == "pass"
    batch["readings"] = [wrong]
    assert run(ROOT, "review", written(tmp_path, batch)).returncode == 2


def test_a_record_of_another_revision_says_so(tmp_path: Path) -> None:
    batch = copy.deepcopy(BATCH)
    batch["revision"] = 3
    done = run(ROOT, "review", written(tmp_path, batch), "--step", "poach")
    assert "The batch was made by revision 3; it is judged by revision 4." in done.stdout


@pytest.mark.parametrize(
    ("key", "value", "code"),
    [
        ("version", 2, "batch-version"),
        ("kind", "a shopping list", "batch-file"),
        ("day", "25.11.2026", "date-unreadable"),
        ("started", "yesterday", "batch-time"),
        ("started", "2026-02-30T10:00:00Z", "batch-time"),
        ("ticks", {"../x": {"at": "2026-11-25T17:01:00Z", "done": True}}, "batch-tick"),
        ("surprise", "1", "key-unknown"),
        ("readings", [reading("17:50:00", POACH, "7x6")], "batch-reading"),
        ("readings", [reading("17:50:00", POACH, "999")], "reading-temperature"),
        ("readings", [], "nothing-to-judge"),
    ],
)
def test_what_is_no_record_is_refused(tmp_path: Path, key: str, value: Any, code: str) -> None:
    batch = {**copy.deepcopy(BATCH), key: value}
    done = run(ROOT, "review", written(tmp_path, batch))
    assert done.returncode in (1, 2)
    assert "Traceback" not in done.stderr
    assert done.stdout == ""
    words = {
        "reading-temperature": "999 °C is not a temperature of food.",
        "nothing-to-judge": "no reading of a limit",
    }
    assert words.get(code, f"[{code}]") in done.stderr, done.stderr


@pytest.mark.parametrize("key", [key for key in BATCH if key not in ("who", "kind")])
def test_a_key_left_out_is_reported_at_its_place(tmp_path: Path, key: str) -> None:
    batch = {k: v for k, v in BATCH.items() if k != key}
    done = run(ROOT, "review", written(tmp_path, batch))
    assert done.returncode == 1 and f"`{key}`" in done.stderr and "[key-missing]" in done.stderr


def test_the_schema_is_of_what_a_phone_writes() -> None:
    validator = jsonschema.Draft202012Validator(schemas()["batch"])
    assert list(validator.iter_errors(BATCH)) == []
    for wrong in (
        {**BATCH, "version": 2},
        {**BATCH, "surprise": 1},
        {**BATCH, "number": "two"},
        {**BATCH, "ticks": {"w-0-1": {"at": "2026-11-25T17:01:00Z", "done": "maybe"}}},
    ):
        assert list(validator.iter_errors(wrong))

"""A formula kept in a spreadsheet: what is read is what the sheet says, what isn't stops `check`."""

from __future__ import annotations

import csv
import datetime
import json
import random
from fractions import Fraction
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from commands import run
from conftest import compute, edit

from generator.sheet.manual import Manual

READ = ("--item", "Ingredient", "--amount", "Quantity", "--unit", "Unit")
HEAD = ["Ingredient", "Quantity", "Unit", "Cost"]


def book(path: Path, rows: list[list[Any]], percent: tuple[str, ...] = ()) -> Path:
    """A spreadsheet of one sheet; ``percent`` are the cells shown as percentages."""
    made = openpyxl.Workbook()
    sheet = made.active
    assert sheet is not None
    sheet.title = "Loaf"
    for row in rows:
        sheet.append(row)
    for cell in percent:
        sheet[cell].number_format = "0.0%"
    made.save(path)
    return path


def imported(kitchen: Path, sheet: Path, *words: str, name: str = "New loaf") -> dict[str, Any]:
    done = run(kitchen, "import", str(sheet), "--name", name, *words, "--format", "json")
    assert done.returncode == 0, done.stderr
    answer: dict[str, Any] = json.loads(done.stdout)
    return answer


def finished(kitchen: Path, name: str = "new-loaf") -> Path:
    """The imported file with what no spreadsheet says filled in."""
    path = kitchen / f"standards/formulas/{name}.yaml"
    text = path.read_text(encoding="utf-8").replace("process: TODO", "process: one-part")
    path.write_text(text, encoding="utf-8")
    steps = "  - do: mix\n    add: [main]\n  - do: chill\n    in: cold-room\n    target: to 4 °C\n"
    process = kitchen / "standards/processes/one-part.yaml"
    process.write_text(f"name: One part\nsteps:\n{steps}", encoding="utf-8")
    return path


def test_random_sheets_weigh_what_they_say(kitchen: Path, tmp_path: Path) -> None:
    """Of 30 sheets each amount is, in grams, what was put into the sheet."""
    grams = {"g": Fraction(1), "kg": Fraction(1000), "oz": Fraction("28.349523125")}
    items = {"pork-shoulder": "Pork shoulder", "cream": "Cream", "salt": "Fine salt"}
    rng, checked = random.Random(8), 0
    for number in range(30):
        rows: list[list[Any]] = [["A loaf"], HEAD] if rng.random() < 0.5 else [HEAD]
        wanted: dict[str, Fraction] = {}
        for ident, name in rng.sample(sorted(items.items()), rng.randint(1, 3)):
            unit = rng.choice(sorted(grams))
            figure = rng.choice([rng.randint(1, 900), round(rng.uniform(0.1, 40), 3)])
            rows.append([rng.choice([ident, name, f" {name.upper()} "]), figure, unit, 3])
            wanted[ident] = Fraction(str(figure)) * grams[unit]
        answer = imported(kitchen, book(tmp_path / "a.xlsx", rows), *READ, name=f"Loaf {number}")
        assert answer["unread_columns"] == ["D (Cost)"]
        assert {row["problem"] for row in answer["rows"]} == {""}
        for row in answer["rows"]:
            ident, _, amount = row["line"].partition(": ")
            figure, unit = amount.split()
            assert Fraction(figure) * grams[unit] == wanted.pop(ident)
            checked += 1
        assert wanted == {}
    assert checked > 50


def test_what_was_read_computes_and_what_was_not_stops_it(kitchen: Path, tmp_path: Path) -> None:
    rows = [
        ["Our loaf"],
        HEAD,
        ["Cooked rice", 2.5, "kg", 1],
        ["Fine salt", 0.016, None, 1],
        ["Dbl cream", 500, "g", 2],
        ["Cream", "two", "g"],
        ["Nutmeg", "=B3*2", "g"],
        ["For the top"],
        [None, 3.5],
        ["Fine salt", 5, "g"],
        ["White pepper", datetime.date(2026, 2, 1), "g"],
        ["Whole egg", -2, "kg"],
    ]
    answer = imported(kitchen, book(tmp_path / "a.xlsx", rows, ("B4",)), *READ)
    read = {row["row"]: (row["line"], row["problem"]) for row in answer["rows"]}
    assert read[3] == ("cooked-rice: 2.5 kg", "") and read[4] == ("salt: 1.6 %", "")
    assert [number for number, (_, problem) in read.items() if not problem] == [3, 4]
    assert read[5][0] == "dbl-cream: 500 g" and "called `Dbl cream`" in read[5][1]
    assert "no value" in read[7][1] and "no amount" in read[8][1] and "no item" in read[9][1]
    assert "in `main` already, in row 4" in read[10][1] and "2026-02-01" in read[11][1]
    assert answer["unread_rows"] == [1]
    path = finished(kitchen)
    manual = compute(kitchen)
    stopped = {f.place.line for f in manual.errors if f.place.file.endswith("new-loaf.yaml")}
    lines = path.read_text(encoding="utf-8").split("\n")
    for number, (line, problem) in read.items():
        if problem and line:
            reported = lines.index(f"    # row {number}: {problem}")
            assert reported + 2 in stopped, (number, "no unread line passes")
    kept = [ln for ln in lines if not ln.strip().startswith("# row")]
    unread = {line for line, problem in read.values() if problem}
    path.write_text("\n".join(ln for ln in kept if ln.strip() not in unread), encoding="utf-8")
    edit(kitchen, "formulas/new-loaf.yaml", "# base: TODO", "base: cooked-rice #")
    manual = compute(kitchen)
    assert isinstance(manual, Manual)
    mine = [f for f in manual.errors if f.place.file.endswith("new-loaf.yaml")]
    assert mine == [], mine
    weights = {ln.joined.item: ln.grams for ln in manual.walks["new-loaf"].lines}
    assert weights == {"cooked-rice": 2500, "salt": 40}


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_a_text_file_is_parted_where_its_headings_are(
    kitchen: Path, tmp_path: Path, separator: str
) -> None:
    path = tmp_path / "a.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        rows = [["Item", "How much"], ["cream", "1/2 cup"], ["salt", "5 g"], ["", ""]]
        csv.writer(file, delimiter=separator).writerows(rows)
    answer = imported(kitchen, path, "--item", "item", "--amount", "How much")
    assert [row["line"] for row in answer["rows"]] == ["cream: 1/2 cup", "salt: 5 g"]


def test_a_kitchen_with_commas_gets_commas(kitchen: Path, tmp_path: Path) -> None:
    for path in sorted((kitchen / "standards").rglob("*.yaml")):
        path.unlink() if path.parent.name == "formulas" else None
    edit(kitchen, "kitchen.yaml", "name:", "decimal: comma\nname:")
    sheet = book(tmp_path / "a.xlsx", [HEAD, ["cream", 0.25, "kg"]])
    answer = imported(kitchen, sheet, *READ)
    assert answer["rows"][0]["line"] == "cream: 0,25 kg"


def test_columns_by_letters_parts_and_some_rows(kitchen: Path, tmp_path: Path) -> None:
    sheet = book(
        tmp_path / "a.xlsx",
        [
            ["rice", "cooked-rice", 2000],
            ["Dressing", "cream", 300],
            ["Dressing", "salt", 9],
            [9, 9],
        ],
    )
    words = ("--item", "B", "--amount", "C", "--part", "A", "--unit", "g", "--rows", "1-3")
    answer = imported(kitchen, sheet, *words)
    lines = [(row["part"], row["line"]) for row in answer["rows"]]
    assert lines == [
        ("rice", "cooked-rice: 2000 g"),
        ("dressing", "cream: 300 g"),
        ("dressing", "salt: 9 g"),
    ]
    assert answer["unread_rows"] == [4]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (
            ("--item", "Ingredent", "--amount", "Quantity"),
            "There: Ingredient, Quantity, Unit, Cost",
        ),
        (("--item", "Ingredient", "--amount", "Ingredient"), "One column can't hold two things"),
        ((*READ, "--tab", "Roll"), "There: Loaf"),
        ((*READ, "--rows", "5-2"), "Write 5-20"),
        ((*READ, "--rows", "50-60"), "no row that can be read"),
    ],
)
def test_what_is_not_there_is_refused_and_nothing_written(
    kitchen: Path, tmp_path: Path, words: tuple[str, ...], said: str
) -> None:
    sheet = book(tmp_path / "a.xlsx", [HEAD, ["cream", 1, "kg", 1]])
    before = sorted((kitchen / "standards/formulas").iterdir())
    done = run(kitchen, "import", str(sheet), "--name", "New loaf", *words)
    assert done.returncode == 2 and said in done.stderr, done.stderr
    assert sorted((kitchen / "standards/formulas").iterdir()) == before


@pytest.mark.parametrize(
    "data", [b"", b"PK\x03\x04 broken", b"\xff\xfe\x00", b"\xd0\xcf\x11\xe0 old", b'a,b\n"1']
)
def test_what_is_no_spreadsheet_is_refused(kitchen: Path, tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "a.xlsx"
    path.write_bytes(data)
    done = run(kitchen, "import", str(path), "--name", "X", "--item", "a", "--amount", "b")
    assert done.returncode == 2 and "Traceback" not in done.stderr and "a.xlsx" in done.stderr
    assert not (kitchen / "standards/formulas/x.yaml").exists()


def test_a_name_that_is_taken_is_refused(kitchen: Path, tmp_path: Path) -> None:
    sheet = book(tmp_path / "a.xlsx", [HEAD, ["cream", 1, "kg", 1]])
    before = (kitchen / "standards/formulas/pork-bake.yaml").read_bytes()
    done = run(kitchen, "import", str(sheet), "--name", "Pork bake", *READ)
    assert done.returncode == 2 and "is there already" in done.stderr
    assert (kitchen / "standards/formulas/pork-bake.yaml").read_bytes() == before

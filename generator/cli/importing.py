"""import: a spreadsheet's formula as a formula's file."""

from __future__ import annotations

import datetime
import re
from pathlib import Path

import click

from generator.authoring.imported import Columns, Imported, parts_of, read_sheet
from generator.authoring.skeletons import add_formula
from generator.cli.options import common, find_project, form_option, print_json, refuse
from generator.files.finding import Refused, visible
from generator.intake.standards import read_standards
from generator.measures.words import breakable, counted
from generator.records.kitchen import today_at
from generator.reference.shared_data import folder_for


@click.command("import")
@click.argument("sheet", type=click.Path(path_type=Path))
@common
@click.option("--name", required=True, help="What the formula is called.")
@click.option("--item", required=True, help="The column of items: its heading or its letter.")
@click.option("--amount", required=True, help="The column of amounts: its heading or its letter.")
@click.option("--unit", default="", help="The column of units, or one unit for all rows: g.")
@click.option("--part", default="", help="The column of parts. Left out: all is one part.")
@click.option("--tab", default="", help="The sheet of a file that has several.")
@click.option("--rows", default="", help="The first and the last row, as 5-20.")
@form_option("text", "json")
def import_(
    sheet: Path,
    project: Path | None,
    as_of: datetime.date | None,
    name: str,
    item: str,
    amount: str,
    unit: str,
    part: str,
    tab: str,
    rows: str,
    form: str,
) -> None:
    """Write a formula from the rows of SHEET (.xlsx or CSV), and report what wasn't read."""
    folder = find_project(project)
    standards = read_standards(folder, folder_for(folder))
    try:
        columns = Columns(item, amount, unit, part, tab, _span(rows))
        found = read_sheet(sheet, columns, standards)
        if not any(row.line for row in found.rows):
            raise Refused(
                "sheet-unreadable", f"{sheet.name} has no row that can be read.", _first(found)
            )
        day = as_of or today_at(standards.kitchen)
        path = add_formula(folder, standards, name, day, parts_of(found))
    except Refused as refused:
        refuse(refused)
    shown = path.relative_to(folder)
    if form == "json":
        print_json(_record(found, str(shown)))
        return
    for line in _report(found, str(shown)):
        click.echo(line)


def _first(found: Imported) -> str:
    return next((f"Row {r.number}: {r.problem}" for r in found.rows), "Check --item and --amount.")


def _span(rows: str) -> tuple[int, int] | None:
    if not rows:
        return None
    match = re.fullmatch(r"([0-9]{1,6})\s*(?:-|–|to)\s*([0-9]{1,6})", rows.strip())
    if match is None or int(match[1]) > int(match[2]):
        raise Refused("rows-unreadable", f"`{rows}` is no first and last row.", "Write 5-20.")
    return int(match[1]), int(match[2])


def _report(found: Imported, path: str) -> list[str]:
    many = breakable(counted(len(found.rows), "row"))
    lines = [f"{path}: {found.read} of {many} read from {visible(found.sheet)}."]
    lines += [f"  row {r.number}: {visible(r.problem)}" for r in found.rows if r.problem]
    if found.unread_rows:
        rows = "row" if len(found.unread_rows) == 1 else "rows"
        lines.append(f"  not looked at: {rows} {', '.join(map(str, found.unread_rows))}")
    if found.unread_columns:
        columns = "column" if len(found.unread_columns) == 1 else "columns"
        lines.append(f"  not looked at: {columns} {', '.join(map(visible, found.unread_columns))}")
    lines.append("Fill in what is missing, then check.")
    return lines


def _record(found: Imported, path: str) -> dict[str, object]:
    return {
        "file": path,
        "sheet": found.sheet,
        "rows": [
            {"row": r.number, "part": r.part, "line": r.line, "problem": r.problem}
            for r in found.rows
        ],
        "unread_rows": list(found.unread_rows),
        "unread_columns": list(found.unread_columns),
    }

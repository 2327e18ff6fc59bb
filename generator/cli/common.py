"""What all commands share: the project, the day, how findings and refusals are shown."""

from __future__ import annotations

import datetime
import difflib
import json
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any, NoReturn, TypeVar

import click
from rich.console import Console
from rich.text import Text

from generator.files.finding import Finding, Refused, texts, visible_lines
from generator.measures.marks import written_with
from generator.sheet.manual import Broken, Manual, make_manual
from generator.sheet.sheet import Sheet

_F = TypeVar("_F", bound=Callable[..., Any])
_UNREADABLE = ("file-unreadable", "folder-unreadable")
_STYLE = {"error": "bold red", "warning": "bold yellow", "note": "bold"}


class DateType(click.ParamType[datetime.date]):
    name = "date"

    def convert(self, value: Any, param: Any, ctx: Any) -> datetime.date:
        if isinstance(value, datetime.date):
            return value
        try:
            return datetime.date.fromisoformat(str(value))
        except ValueError:
            self.fail(f"{value} is not a date; write year-month-day, as 2026-09-14", param, ctx)


def common(function: _F) -> _F:
    function = click.option(
        "--as-of",
        type=DateType(),
        default=None,
        help="The day to work out dates for. Default: today.",
    )(function)
    return click.option(
        "--project",
        type=click.Path(path_type=Path, file_okay=False),
        default=None,
        help="The project's folder. Default: the nearest with mkdocs.yml.",
    )(function)


def form_option(*choices: str) -> Callable[[_F], _F]:
    return click.option(
        "--format",
        "form",
        type=click.Choice(choices),
        default="text",
        show_default=True,
        help="How to answer.",
    )


def tell(words: str) -> None:
    """Something worth knowing that is no answer: on standard error."""
    click.echo(f"kitchen-manual: {words}.", err=True)


def refuse(refused: Refused) -> NoReturn:
    words = [refused.message, refused.help, *(f"Write: {w}" for w in refused.write)]
    shown = "\n  ".join(visible_lines(w) for w in words if w)
    click.echo(f"kitchen-manual: {shown}", err=True)
    raise SystemExit(2)


def find_project(given: Path | None) -> Path:
    if given is not None:
        folder = given.resolve()
        if not folder.is_dir():
            refuse(Refused("project", f"There is no folder {given}.", "Name the project's folder."))
        return folder
    nearest = nearest_project()
    if nearest is not None:
        return nearest
    refuse(
        Refused(
            "project", "No mkdocs.yml here or above.", "Name the project's folder with --project."
        )
    )


def nearest_project() -> Path | None:
    """The folder with mkdocs.yml here or above, if there is one."""
    here = Path.cwd()
    return next((f for f in (here, *here.parents) if (f / "mkdocs.yml").is_file()), None)


def manual_of(project: Path | None, as_of: datetime.date | None) -> Manual | Broken:
    """The project's manual, or what is wrong with it. From here on the command reads and writes
    with the kitchen's decimal mark."""
    manual = make_manual(find_project(project), as_of or datetime.date.today())
    click.get_current_context().with_resource(written_with(manual.writing))
    return manual


def show(findings: tuple[Finding, ...], to_stderr: bool = True) -> None:
    console = Console(stderr=to_stderr, highlight=False, soft_wrap=True, emoji=False, markup=False)
    for finding, words in texts(findings):
        text = Text(words)
        if finding is None:
            console.print(text)
            continue
        word = f" {finding.severity}: "
        start = text.plain.find(word)
        if start >= 0:
            text.stylize(_STYLE[finding.severity], start + 1, start + len(word) - 2)
        console.print(text)


def status_of(findings: Iterable[Finding]) -> int:
    """The exit status of standards with errors: 1; or 2 if all that is wrong is that files can't be
    read, which is no fault of theirs."""
    errors = [f for f in findings if f.is_error]
    return 2 if errors and all(f.code in _UNREADABLE for f in errors) else 1


def print_json(record: Any) -> None:
    click.echo(json.dumps(record, ensure_ascii=False, indent=2))


def computed(found: Manual | Broken, name: str) -> Manual:
    """The manual that is asked about ``name``; stops with 1 where there is no house to compute
    in."""
    if isinstance(found, Broken):
        _stop(found, name)
    return found


def _stop(manual: Manual | Broken, formula: str) -> NoReturn:
    """Show what stops a formula, and stop."""
    stopped = manual.stopped.get(formula)
    found = stopped.findings if stopped and stopped.findings else manual.errors
    show(found)
    click.echo(f"kitchen-manual: {formula} can't be computed until this is mended.", err=True)
    raise SystemExit(status_of(found))


def sheet_of(manual: Manual, formula: str) -> Sheet:
    """The sheet asked for; stops with 1 if it has errors, with 2 if there is none."""
    if formula in manual.stopped or (not manual.sheets and manual.errors):
        _stop(manual, formula)
    sheet = manual.sheets.get(formula)
    if sheet is None:
        near = difflib.get_close_matches(formula, manual.sheets, n=1)
        hint = f"Did you mean {near[0]}?" if near else "Known: " + ", ".join(manual.sheets) + "."
        refuse(Refused("formula-unknown", f"There is no formula {formula}.", hint))
    return sheet

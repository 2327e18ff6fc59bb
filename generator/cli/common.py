"""What all commands share: the project, the day, how findings and refusals are shown."""

from __future__ import annotations

import datetime
import difflib
import shlex
from collections.abc import Iterable
from pathlib import Path
from typing import NoReturn

import click
from click.core import ParameterSource
from rich.console import Console
from rich.text import Text

from generator.cli.options import (
    cache_option,
    common,
    find_project,
    form_option,
    nearest_project,
    print_json,
    refuse,
    report,
)
from generator.files.finding import (
    MOST_TEXT,
    SEVERITIES,
    Finding,
    Refused,
    fewer_notes,
    texts,
    unfolded,
)
from generator.files.kept import NOTHING, Kept
from generator.measures.marks import written_with
from generator.sheet.manual import Broken, Manual, make_manual
from generator.sheet.sheet import Sheet

__all__ = [
    "cache_option",
    "card_asked_for",
    "common",
    "computed",
    "find_project",
    "form_option",
    "manual_of",
    "nearest_project",
    "print_json",
    "refuse",
    "report",
    "sheet_of",
    "show",
    "status_of",
]
_UNREADABLE = ("file-unreadable", "folder-unreadable")
_STYLE = {"error": "bold red", "warning": "bold yellow", "note": "bold"}


def manual_of(
    project: Path | None,
    as_of: datetime.date | None,
    history: bool = False,
    kept: Kept = NOTHING,
) -> Manual | Broken:
    """The project's manual, or what is wrong with it, with what is ``kept`` of earlier runs; with
    ``history`` the records of batches are read, too. From here on the command reads and writes with
    the kitchen's decimal mark."""
    manual = make_manual(find_project(project), as_of, history, kept)
    click.get_current_context().with_resource(written_with(manual.writing))
    return manual


def show(findings: tuple[Finding, ...], to_stderr: bool = True, all_of_them: bool = False) -> None:
    console = Console(stderr=to_stderr, highlight=False, soft_wrap=True, emoji=False, markup=False)
    """Findings on a terminal, the gravest last, where a reader's eye is; of a file's notes of one
    code the first few, the rest counted, unless ``all_of_them`` are asked for."""
    shown = unfolded(findings) if all_of_them else fewer_notes(findings)
    gravest_first = sorted(shown, key=lambda f: SEVERITIES.index(f.severity))
    drawn = list(texts(gravest_first, most=None if all_of_them else MOST_TEXT))
    drawn.sort(key=lambda one: -SEVERITIES.index(one[0].severity) if one[0] else 1)
    for finding, words in drawn:
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
    click.echo(f"kitchen-manual: {formula} can't be computed until this is fixed.", err=True)
    raise SystemExit(status_of(found))


def _as_typed(context: click.Context, asked: click.Parameter) -> str:
    """An option as it was given, if its value is plain text, a path or a day; else nothing."""
    name = asked.name or ""
    given = context.get_parameter_source(name) is ParameterSource.COMMANDLINE
    value = context.params.get(name)
    if not given or not isinstance(asked, click.Option):
        return ""
    plain = isinstance(value, (str, Path, datetime.date))
    return f" {asked.opts[0]} {shlex.quote(str(value))}" if plain else ""


def card_asked_for(manual: Manual, name: str) -> Refused | None:
    """What to answer who asks for a card by ``name``: its endings, each with its command; None for
    another name."""
    card = manual.standards.cards.get(name)
    if card is None:
        return None
    context = click.get_current_context()
    typed = "".join(_as_typed(context, one) for one in context.command.params)
    asked = [f"kitchen-manual {context.info_name} {ident}{typed}" for ident in card.endings]
    words = f"{name} is a card. Each of its endings is a formula of its own."
    return Refused("ending-unnamed", words, "Name the ending.", asked)


def sheet_of(manual: Manual, formula: str) -> Sheet:
    """The sheet asked for; stops with 1 if it has errors, with 2 if there is none."""
    known = formula in manual.standards.cards
    if formula in manual.stopped or (not manual.sheets and manual.errors and not known):
        _stop(manual, formula)
    sheet = manual.sheets.get(formula)
    if sheet is None and (card := card_asked_for(manual, formula)) is not None:
        refuse(card)
    if sheet is None:
        near = difflib.get_close_matches(formula, manual.sheets, n=1)
        hint = f"Did you mean {near[0]}?" if near else "Known: " + ", ".join(manual.sheets) + "."
        refuse(Refused("formula-unknown", f"There is no formula {formula}.", hint))
    return sheet

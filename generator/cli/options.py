"""What the quickest commands share: project, day and form of an answer, and how they refuse.

It imports nothing but click and the findings, so that such a command starts at once.
"""

from __future__ import annotations

import datetime
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any, NoReturn, TypeVar

import click

from generator.files.finding import Refused, visible_lines

_F = TypeVar("_F", bound=Callable[..., Any])


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


def cache_option(function: _F) -> _F:
    return click.option(
        "--no-cache",
        is_flag=True,
        help="Compute everything anew. Keep nothing for the next run.",
    )(function)


_SIZES = {
    "total": ("AMOUNT", "All that is weighed, as 5kg."),
    "base": ("AMOUNT", "The base, as 3kg."),
    "yield": ("AMOUNT", "What can be served, as 4kg."),
    "portions": ("NUMBER", "So many portions."),
    "fills": ("NUMBER", "So many fills of the vessel."),
}
SIZE_NAMES = (*(f"{name}_" for name in _SIZES), "on_hand")
"""What `size_options` calls its values."""


def size_options(function: _F) -> _F:
    """How large a batch: the options `cli.sizes` reads."""
    for name, (takes, help) in _SIZES.items():
        option = click.option(f"--{name}", f"{name}_", default=None, metavar=takes, help=help)
        function = option(function)
    return click.option(
        "--on-hand",
        "on_hand",
        multiple=True,
        metavar="ITEM=AMOUNT",
        help="What there is, as purchased; repeat it. What runs out first decides.",
    )(function)


def of_the_kitchen(name: str, *folders: str, **options: Any) -> Callable[[_F], _F]:
    """An argument that a shell completes by the names of files in ``folders`` of standards/."""

    def offered(context: click.Context, param: click.Parameter, typed: str) -> list[str]:
        project = context.params.get("project") or nearest_project()
        if project is None:
            return []
        paths = (p for f in folders for p in Path(project, "standards", f).glob("*.yaml"))
        return sorted(path.stem for path in paths if path.stem.startswith(typed))

    return click.argument(name, shell_complete=offered, **options)


def form_option(*choices: str) -> Callable[[_F], _F]:
    return click.option(
        "--format",
        "form",
        type=click.Choice(choices),
        default="text",
        show_default=True,
        help="How to answer.",
    )


def report(words: str) -> None:
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


def print_json(record: Any) -> None:
    click.echo(json.dumps(record, ensure_ascii=False, indent=2))

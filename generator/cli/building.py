"""build: the site. What is needed to see that nothing changed is imported first, and nothing
else."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import click

from generator.cli.options import cache_option, common, find_project, report
from generator.files.kept import NOTHING, Kept, kept_of
from generator.reference.shared_data import folder_for
from generator.site.heard import said_again
from generator.site.unchanged import Asked, Built, Last


@contextmanager
def kept_for(project: Path | None, no_cache: bool) -> Iterator[Kept]:
    """What is kept of earlier runs; tidied up behind this one."""
    kept = NOTHING if no_cache else kept_of(find_project(project))
    try:
        yield kept
    finally:
        kept.tidied()
        if kept.words:
            report(kept.words.rstrip("."))


@click.command()
@common
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    default=None,
    help="The folder to write to. Default: site/ in the project.",
)
@click.option("--strict", is_flag=True, help="Fail on warnings too.")
@click.option(
    "--no-offline", is_flag=True, help="Let no phone save the manual. Saved copies are deleted."
)
@cache_option
def build(
    project: Path | None,
    as_of: datetime.date | None,
    out: Path | None,
    strict: bool,
    no_offline: bool,
    no_cache: bool,
) -> None:
    """Build the site aside, verify it, then swap it in whole."""
    with kept_for(project, no_cache) as kept:
        where = find_project(project)
        target = (out or where / "site").absolute()
        asked = Asked(where, folder_for(where), target, as_of, strict, not no_offline)
        last = Last(kept, asked)
        built = last.unchanged()
        if built is not None:
            kept.left()
            _again(built, target)
            return
        from generator.cli.built_whole import built_whole

        pages = built_whole(asked, kept, last)
        _done(pages, target)


def _again(built: Built, target: Path) -> None:
    """What the last build said."""
    said_again(built.said)
    _done(built.pages, target)


def _done(pages: int, target: Path) -> None:
    click.echo(f"{pages} {'page' if pages == 1 else 'pages'} in {target}")

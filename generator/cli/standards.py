"""check, serve: the standards as a whole."""

from __future__ import annotations

import datetime
import gc
from pathlib import Path

import click

from generator import __version__
from generator.binder.control import under_control
from generator.changes.clock import dated
from generator.cli.building import kept_for
from generator.cli.common import (
    cache_option,
    common,
    find_project,
    form_option,
    manual_of,
    print_json,
    show,
    status_of,
)
from generator.files.finding import (
    MOST_TEXT,
    Finding,
    as_github,
    as_record,
    counts,
    fewer_notes,
    texts,
    total_words,
    unfolded,
)
from generator.measures.words import breakable, counted
from generator.sheet.manual import Manual


@click.command()
@common
@form_option("text", "json", "github", "sarif")
@click.option("--strict", is_flag=True, help="Fail on warnings too.")
@click.option(
    "--all",
    "all_of_them",
    is_flag=True,
    help="Print every finding. Without it, text counts those alike beyond the first.",
)
@cache_option
def check(
    project: Path | None,
    as_of: datetime.date | None,
    form: str,
    strict: bool,
    all_of_them: bool,
    no_cache: bool,
) -> None:
    """Report every finding in the standards, in one run."""
    with kept_for(project, no_cache) as kept:
        manual = under_control(dated(manual_of(project, as_of, history=True, kept=kept)))
    found = counts(manual.findings)
    _print(manual.findings, form, all_of_them)
    if form == "text":
        sheets = manual.sheets if isinstance(manual, Manual) else {}
        formulas = breakable(counted(len(sheets), "formula"))
        computed = f"{formulas} computed; {manual.files} files read, the reference data with them"
        if not all_of_them and any(f.more for f in fewer_notes(manual.findings)):
            click.echo("Some are only counted. `kitchen-manual check --all` prints each.")
        click.echo(f"{computed}: {total_words(manual.findings)}.")
    if _stops(found, strict):
        raise SystemExit(status_of(manual.findings))


def _print(findings: tuple[Finding, ...], form: str, all_of_them: bool) -> None:
    """The findings in a form. What a program reads has each of them; what a person reads has the
    first of those alike, unless ``all_of_them`` are asked for."""
    if form == "json":
        each = [as_record(f) for f in unfolded(findings)]
        print_json({"findings": each, "counts": counts(findings)})
    elif form == "sarif":
        from generator.answers.sarif import sarif_log
        from generator.cli.explain import known_findings

        print_json(sarif_log(unfolded(findings), known_findings(), __version__))
    elif form == "github":
        shown = unfolded(findings) if all_of_them else findings
        for _, text in texts(shown, as_github, None if all_of_them else MOST_TEXT):
            click.echo(text)
    else:
        show(findings, to_stderr=False, all_of_them=all_of_them)


def _stops(found: dict[str, int], strict: bool) -> bool:
    return bool(found["error"] or (strict and found["warning"]))


LOOK_WHILE_SERVING = (1_000_000, 20, 50)
"""How much is made before Python's collector looks for circles while each save makes a manual."""


@click.command()
@common
@click.option("--host", default="127.0.0.1", show_default=True, help="The address to listen on.")
@click.option(
    "--port", type=click.IntRange(1, 65535), default=8000, show_default=True, help="The port."
)
@cache_option
def serve(
    project: Path | None, as_of: datetime.date | None, host: str, port: int, no_cache: bool
) -> None:
    """Serve the site, with live reload on every edit of standards/ and shared/."""
    from generator.site.publish import PublishError, serve_site

    gc.set_threshold(*LOOK_WHILE_SERVING)
    try:
        serve_site(find_project(project), as_of, host, port, not no_cache)
    except PublishError as error:
        click.echo(f"kitchen-manual: {error}.", err=True)
        raise SystemExit(1) from None

"""A build that isn't the last one's over again."""

from __future__ import annotations

import click

from generator.binder.control import under_control
from generator.changes.clock import dated
from generator.cli.common import manual_of, refuse, report, show, status_of
from generator.files.finding import Refused, counts, total_words
from generator.files.kept import Kept
from generator.sheet.manual import Broken, Manual
from generator.site.heard import heard
from generator.site.publish import PublishError, build_site
from generator.site.unchanged import Asked, Last


def built_whole(asked: Asked, kept: Kept, last: Last) -> int:
    """Compute the manual with what is ``kept`` and build its site; what is known of the ``last``
    build becomes what this one was. Returns the number of pages; stops with the findings, or why
    the site can't be built."""
    last.begins()
    with heard() as said:
        found = manual_of(asked.project, asked.as_of, history=True, kept=kept)
        manual = under_control(dated(found))
        pages = _built(manual, asked, last)
    if isinstance(manual, Manual):
        zone = manual.house.kitchen.time_zone
        last.ended(manual.as_of, zone, commits_in(manual), said, pages)
    return pages


def _built(manual: Manual | Broken, asked: Asked, last: Last) -> int:
    found = counts(manual.findings)
    stopped = bool(found["error"] or (asked.strict and found["warning"]))
    if stopped or manual.is_empty or isinstance(manual, Broken):
        show(manual.findings)
        click.echo(f"kitchen-manual: nothing built: {total_words(manual.findings)}.", err=True)
        raise SystemExit(status_of(manual.findings))
    try:
        return build_site(manual, asked.target, asked.strict, asked.offline, report, last)
    except Refused as refused:
        refuse(refused)
    except PublishError as error:
        click.echo(f"kitchen-manual: nothing built: {error}.", err=True)
        raise SystemExit(1) from None


def commits_in(manual: Manual) -> set[str]:
    """The commits that the print register names."""
    register = manual.standards.register
    binders = register.binders.values() if register is not None else ()
    sheets = (s for b in binders for s in (*b.sheets.values(), *b.given_twice.values()))
    return {sheet.commit for sheet in sheets if sheet.commit}

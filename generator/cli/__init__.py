"""The command line: check, build, serve, batch, sheet, limits, convert, review, binder, labels,
changes, explain, new, add, schema, export.

Results go to stdout, messages to stderr. Exit status: 0 done, 1 the standards have errors, 2 wrong
usage, or a place that can't be read or written, 3 a fault of our own.
"""

from __future__ import annotations

import traceback

import click

from generator import __version__
from generator.cli.answers import batch, limits, sheet_
from generator.cli.authoring import add, explain, export, new, schema
from generator.cli.binder import binder
from generator.cli.changes import changes
from generator.cli.common import show
from generator.cli.convert import convert_
from generator.cli.labels import labels
from generator.cli.review import review
from generator.cli.standards import build, check, serve
from generator.cli.streams import Unwritten, guard_streams, say
from generator.files.disk import UNCHANGED, is_the_disks, reason_of
from generator.files.finding import BrokenData


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="kitchen-manual")
def cli() -> None:
    """A kitchen standards manual that computes.

    It never decides that food is safe: published limits, a calibrated probe, local code and a
    licensed practitioner do.

    Exit status: 0 done, 1 the standards have errors and nothing was written, 2 wrong usage, or a
    place that can't be read or written, 3 a fault of the program.
    """


COMMANDS = (
    check,
    build,
    serve,
    batch,
    sheet_,
    limits,
    convert_,
    review,
    binder,
    labels,
    changes,
    explain,
    new,
    add,
    schema,
    export,
)
for command in COMMANDS:
    cli.add_command(command)


def main() -> None:
    """The console script: runs a command; what a disk or a stream refuses is exit status 2, a fault of
    our own 3."""
    try:
        guard_streams()
        cli(prog_name="kitchen-manual")
    except BrokenData as broken:
        show(broken.findings)
        raise SystemExit(1) from None
    except Unwritten as unwritten:
        say(f"{unwritten}; a file this command writes is whole, or as it was.")
        raise SystemExit(2) from None
    except Exception as error:
        if isinstance(error, OSError) and is_the_disks(error):
            where = error.filename or "a file or a stream"
            say(f"{where} can't be read or written: {reason_of(error)}; {UNCHANGED}.")
            raise SystemExit(2) from None
        traceback.print_exc()
        click.echo(
            "kitchen-manual: this is a fault of the program, not of your standards. Nothing was written. "
            "Please report it with the lines above and the command you typed.",
            err=True,
        )
        raise SystemExit(3) from None

"""The command line: check, build, serve, batch, data, limits, dough, design, order, record, trace,
reformulate, convert, predict, review, binder, labels, statement, changes, explain, new, add,
import, upgrade, fmt, schema, export.

Results go to stdout, messages to stderr. Exit status: 0 done, 1 the standards have errors, 2 wrong
usage, or a place that can't be read or written, 3 a fault of our own.
"""

from __future__ import annotations

import atexit
import gc
import traceback

import click

from generator import __version__
from generator.cli.lazily import Lazily
from generator.cli.progress import shown_progress
from generator.cli.streams import Unwritten, guard_streams, say

COMMANDS = {
    "check": "standards:check",
    "build": "building:build",
    "serve": "standards:serve",
    "batch": "answers:batch",
    "data": "answers:data",
    "limits": "answers:limits",
    "dough": "dough:dough",
    "design": "design:design",
    "order": "order:order",
    "record": "record:record",
    "trace": "trace:trace",
    "reformulate": "reformulate:reformulate_",
    "convert": "convert:convert_",
    "predict": "predict:predict_",
    "review": "review:review",
    "binder": "binder:binder",
    "labels": "labels:labels",
    "statement": "statement:statement",
    "changes": "changes:changes",
    "explain": "explain:explain",
    "new": "authoring:new",
    "add": "authoring:add",
    "import": "importing:import_",
    "upgrade": "upgrade:upgrade",
    "fmt": "fmt:fmt",
    "schema": "authoring:schema",
    "export": "authoring:export",
}
"""Each command with its module here and its name there: imported when it is asked for."""
HELPS = {
    "check": "Report every finding in the standards, in one run.",
    "build": "Build the site aside, verify it, then swap it in whole.",
    "serve": "Serve the site, with live reload on every edit of standards/ and shared/.",
    "batch": "Show the batch sheet of FORMULA at a size; without one, at its usual size.",
    "data": "Show the whole record of FORMULA as JSON, at one size or at all the kitchen's sizes.",
    "limits": "Show every critical limit of FORMULA, with the verdict on its targets; or of an "
    "ingredient.",
    "dough": "Show the water of the dough FORMULA makes: how warm, and the ice, for the day's "
    "temperatures.",
    "design": "Work out what to weigh for what is wanted: a pickle, a brine, a cure, a mix, a "
    "blend.",
    "order": "Show what PLAN asks for: batches to make, packs to buy, prep by station and day, "
    "labels.",
    "record": "Keep the record of a batch: FILES are a phone's JSON, a CSV with named columns, or "
    "YAML.",
    "trace": "Show every batch, label, day, dish and plan that holds LOT or may, and what it came "
    "from.",
    "reformulate": "Find the nearest formula within the bounds of FORMULA that what is on hand can "
    "make; or say what to relax.",
    "convert": "Convert an amount: `convert -- 1 1/2 cup ml`, `convert -- 375 F`, `convert -- 3 "
    "medium onions`, `convert --of salt-fine -- 1 tsp g`.",
    "predict": "Predict how long a body takes to heat, cool, freeze or thaw: a band, never a "
    "limit.",
    "review": "Judge a log of READINGS (time, probe, temp_c or temp_f; CSV or .xlsx), or the "
    "readings of a batch's record (JSON), by the limit of a step.",
    "binder": "Print the binder of each STATION, or of all, as one PDF; or the batch sheet of a "
    "FORMULA, at any size, dated or not; or the prep sheets and the shopping list of a PLAN.",
    "labels": "Print date labels of a batch of FORMULA.",
    "statement": "Show what a label of FORMULA says: ingredients, allergens, shared equipment, "
    "nutrition.",
    "changes": "Show what changed since a git revision or a day: numbers, limits and pages, old → "
    "new.",
    "explain": "Explain a finding, with a bad and a good example.",
    "new": "Make a small working kitchen in FOLDER, to change into yours.",
    "add": "Write a commented skeleton of a formula, process or ingredient called NAME.",
    "import": "Write a formula from the rows of SHEET (.xlsx or CSV), and report what wasn't read.",
    "upgrade": "Write the standards in today's keys.",
    "fmt": "Lay out FILES, or all standards: only indents, gaps and line ends change.",
    "schema": "Write JSON Schemas of every kind of YAML file, for editors.",
    "export": "Write the manual as a plain Markdown tree in FOLDER, for any builder.",
}
"""The first lines of their own helps, held equal by a test, so that --help imports none of them."""


@click.group(
    cls=Lazily,
    package=__name__,
    places=COMMANDS,
    helps=HELPS,
    context_settings={"help_option_names": ["-h", "--help"]},
)
@click.version_option(__version__, prog_name="kitchen-manual")
def cli() -> None:
    """A kitchen standards manual that computes.

    It never decides that food is safe: published limits, a calibrated probe, local code and a
    licensed practitioner do.

    Exit status: 0 done, 1 the standards have errors and nothing was written, 2 wrong usage, or a
    place that can't be read or written, 3 a fault of the program.
    """


LOOK_SELDOM = (10_000_000, 20, 50)
"""How much is made before Python's collector looks for circles. A kitchen's records are many, live
to the end and have few: looking them over and over would be a tenth of a command's time, and finds
next to nothing (`check` of 1000 formulas: 230 objects). `serve` looks sooner (LOOK_WHILE_SERVING):
a server lives on."""


def main() -> None:
    """The console script: runs a command; what a disk or a stream refuses is exit status 2, a fault
    of our own 3."""
    gc.set_threshold(*LOOK_SELDOM)
    try:
        guard_streams()
        with shown_progress():
            cli(prog_name="kitchen-manual")
    except SystemExit as ended:
        _held_to_the_end(ended)
        raise
    except Unwritten as unwritten:
        say(f"{unwritten}; a file this command writes is whole, or as it was.")
        raise SystemExit(2) from None
    except Exception as error:
        raise SystemExit(_fault(error)) from None


def _held_to_the_end(ended: SystemExit) -> None:
    """Have the process end without taking apart, piece by piece, what a command made: of a large
    kitchen that is a fifth of a build. A circle is looked at by Python's collector alone, and
    nothing by it once the process ends."""
    held: list[object] = [ended.__traceback__]
    held.append(held)
    atexit.register(gc.freeze)


def _fault(error: Exception) -> int:
    """Shows what went wrong and gives the exit status: faults of the standards, of a disk, our
    own."""
    from generator.files.disk import UNCHANGED, is_the_disks, reason_of
    from generator.files.finding import BrokenData

    if isinstance(error, BrokenData):
        from generator.cli.common import show

        show(error.findings)
        return 1
    if isinstance(error, OSError) and is_the_disks(error):
        where = error.filename or "a file or a stream"
        say(f"{where} can't be read or written: {reason_of(error)}; {UNCHANGED}.")
        return 2
    traceback.print_exception(error)
    click.echo(
        "kitchen-manual: this is a fault of the program, not of your standards. Nothing was "
        "written. "
        "Please report it with the lines above and the command you typed.",
        err=True,
    )
    return 3

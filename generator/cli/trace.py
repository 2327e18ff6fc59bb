"""trace: everything that holds a lot, and what it came from."""

from __future__ import annotations

import datetime
from pathlib import Path

import click

from generator.answers.trace import Trace, trace_record, trace_text
from generator.cli.common import common, computed, form_option, manual_of, print_json, refuse
from generator.files.finding import Refused
from generator.sheet.recall import graph_of, recall_of


@click.command()
@click.argument("lot")
@click.option("--item", default="", help="Only the lots of this ingredient or formula.")
@click.option("--from", "supplier", default="", help="Only the lots of this supplier.")
@common
@form_option("text", "json")
def trace(
    lot: str,
    item: str,
    supplier: str,
    project: Path | None,
    as_of: datetime.date | None,
    form: str,
) -> None:
    """Show every batch, label, day, dish and plan that holds LOT or may, and what it came from.

    LOT is a number as on a carton, a batch's own number as on its label, or the name of its
    record."""
    manual = computed(manual_of(project, as_of, history=True), lot)
    graph = graph_of(manual)
    unread = manual.history.unread
    try:
        matches = graph.find(lot, item, supplier)
    except Refused as refused:
        help = refused.help
        if unread:
            help += f" Records that can't be read may hold it: {', '.join(unread)}."
        refuse(Refused(refused.code, refused.message, help))
    recalls = tuple(recall_of(manual, graph, match) for match in matches)
    found = Trace(lot, recalls, unread, manual.house.kitchen)
    if form == "json":
        print_json(trace_record(found))
    else:
        click.echo(trace_text(found))
    if unread:
        raise SystemExit(1)

"""explain, schema, export, new, add: help for who writes the standards."""

from __future__ import annotations

import datetime
import json
from pathlib import Path

import click

from generator.authoring.kitchen_schemas import kitchen_schemas
from generator.authoring.schemas import schemas
from generator.authoring.skeletons import KINDS, add_record, new_kitchen
from generator.cli.common import common, find_project, manual_of, refuse, report, show, status_of
from generator.files.disk import made_folder, not_written, take_away, write_together
from generator.files.finding import Refused
from generator.intake.standards import Standards, read_standards
from generator.records.kitchen import today_at
from generator.reference.library import Library, read_reference
from generator.reference.shared_data import folder_for
from generator.sheet.manual import Broken


@click.command()
@click.option(
    "--out", type=click.Path(path_type=Path), required=True, help="The folder to write to."
)
@click.option(
    "--project",
    type=click.Path(path_type=Path, exists=True, file_okay=False),
    help="A project's folder, whose ids are offered.",
)
def schema(out: Path, project: Path | None) -> None:
    """Write JSON Schemas of every kind of YAML file, for editors."""
    found = schemas()
    if project is not None:
        found = kitchen_schemas(found, *_read(find_project(project)))
    files = {
        out / f"{name}.schema.json": json.dumps(content, ensure_ascii=False, indent=2) + "\n"
        for name, content in found.items()
    }
    try:
        made = made_folder(out.absolute())
    except OSError as error:
        refuse(not_written(out, error))
    try:
        write_together({path: text.encode() for path, text in files.items()})
    except Refused as refused:
        take_away(made)
        refuse(refused)
    click.echo(f"{len(found)} schemas in {out}")


def _read(project: Path) -> tuple[Standards, Library]:
    """A project's standards as far as they can be read, and its reference data."""
    shared = folder_for(project)
    return read_standards(project, shared), read_reference(shared)


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
@common
def export(folder: Path, project: Path | None, as_of: datetime.date | None) -> None:
    """Write the manual as a plain Markdown tree in FOLDER, for any builder."""
    from generator.site.exporting import export_tree  # only here: no other command draws pages

    manual = manual_of(project, as_of, history=True)
    if manual.errors or isinstance(manual, Broken):
        show(manual.errors)
        click.echo("kitchen-manual: nothing exported.", err=True)
        raise SystemExit(status_of(manual.errors))
    try:
        pages = export_tree(manual, folder.absolute(), report)
    except Refused as refused:
        refuse(refused)
    click.echo(f"{pages} {'page' if pages == 1 else 'pages'} in {folder}")


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
def new(folder: Path) -> None:
    """Make a small working kitchen in FOLDER, to change into yours."""
    try:
        files = new_kitchen(folder.absolute())
    except Refused as refused:
        refuse(refused)
    click.echo(
        f"{len(files)} files in {folder}. Start with standards/kitchen.yaml: whose law, probe "
        "and cup."
    )


@click.command()
@click.argument("kind", type=click.Choice(KINDS))
@click.argument("name")
@common
def add(kind: str, name: str, project: Path | None, as_of: datetime.date | None) -> None:
    """Write a commented skeleton of a formula, process or ingredient called NAME."""
    folder = find_project(project)
    standards = read_standards(folder, folder_for(folder))
    try:
        path = add_record(folder, standards, kind, name, as_of or today_at(standards.kitchen))
    except Refused as refused:
        refuse(refused)
    click.echo(f"{path.relative_to(folder)}: fill it in, then check.")

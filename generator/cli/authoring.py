"""explain, schema, export, new, add: help for who writes the standards."""

from __future__ import annotations

import datetime
import difflib
import json
import re
from pathlib import Path

import click

from generator.authoring.schemas import schemas
from generator.authoring.skeletons import KINDS, add_record, new_kitchen
from generator.cli.common import common, find_project, manual_of, refuse, show, status_of, tell
from generator.files.disk import made_folder, not_written, take_away, write_together
from generator.files.finding import Refused
from generator.intake.standards import read_standards
from generator.reference.library import read_reference
from generator.reference.rows import FindingWords
from generator.reference.shared_data import folder_for, installed
from generator.sheet.manual import Broken


@click.command()
@click.argument("code")
def explain(code: str) -> None:
    """What a finding means, with a bad and a good example."""
    known = read_reference(installed()).explanations
    words = known.get(code)
    if words is None:
        near = difflib.get_close_matches(code, known, n=3)
        hint = f"Did you mean {' or '.join(near)}?" if near else f"Known: {', '.join(known)}."
        refuse(Refused("code-unknown", f"There is no finding {code}.", hint))
    click.echo(explanation(code, words))
    if re.search(r"[0-9]\.[0-9]", words.good + words.bad):
        click.echo("  Examples are written with a decimal point; see `decimal` in kitchen.yaml.")


def explanation(code: str, words: FindingWords) -> str:
    """A finding's explanation as text."""
    out = [code, f"  {words.means}"]
    if words.file:
        out.append(f"  In standards/{words.file}")
        for title, text in (("Not", words.bad), ("But", words.good)):
            lines = text.rstrip("\n").split("\n") if text.strip() else ["(nothing)"]
            out.append(f"  {title}:")
            out.extend(f"      {line}" for line in lines)
    if words.source:
        out.append(f"  Source: {words.source}")
    return "\n".join(out)


@click.command()
@click.option(
    "--out", type=click.Path(path_type=Path), required=True, help="The folder to write to."
)
def schema(out: Path) -> None:
    """JSON Schemas of every kind of YAML file, for editors."""
    found = schemas()
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


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
@common
def export(folder: Path, project: Path | None, as_of: datetime.date | None) -> None:
    """The manual as a plain Markdown tree in FOLDER, for any builder."""
    from generator.site.exporting import export_tree  # only here: no other command draws pages

    manual = manual_of(project, as_of)
    if manual.errors or isinstance(manual, Broken):
        show(manual.errors)
        click.echo("kitchen-manual: nothing exported.", err=True)
        raise SystemExit(status_of(manual.errors))
    try:
        pages = export_tree(manual, folder.absolute(), tell)
    except Refused as refused:
        refuse(refused)
    click.echo(f"{pages} pages in {folder}")


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
def new(folder: Path) -> None:
    """A small working kitchen in FOLDER, to change into yours."""
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
    """A commented skeleton of a formula, process or ingredient called NAME."""
    folder = find_project(project)
    standards = read_standards(folder, folder_for(folder))
    try:
        path = add_record(folder, standards, kind, name, as_of or datetime.date.today())
    except Refused as refused:
        refuse(refused)
    click.echo(f"{path.relative_to(folder)}: fill it in, then check.")

"""fmt: the standards in one layout."""

from __future__ import annotations

import datetime
from pathlib import Path

import click

from generator.cli.options import common, find_project, refuse
from generator.files.disk import reason_of, write_together
from generator.files.finding import Refused, visible
from generator.files.layout import laid_out
from generator.measures.words import breakable, counted
from generator.records.upgrading import standards_files


@click.command()
@click.argument("files", nargs=-1, type=click.Path(path_type=Path, exists=True, dir_okay=False))
@click.option("--dry-run", is_flag=True, help="Say which files would change. Write nothing.")
@common
def fmt(
    files: tuple[Path, ...], project: Path | None, as_of: datetime.date | None, dry_run: bool
) -> None:
    """Lay out FILES, or all standards: only indents, gaps and line ends change."""
    folder = find_project(project)
    left: list[str] = []
    changed = _changed(_asked(folder, files, left), left)
    verb = "would be laid out" if dry_run else "laid out"
    done = f"{counted(len(changed), 'file')} {verb}." if changed else "Nothing to lay out."
    click.echo(breakable(done))
    try:
        if not dry_run:
            write_together(changed)
    except Refused as refused:
        refuse(refused)
    for words in left:
        click.echo(f"kitchen-manual: {words}", err=True)
    raise SystemExit(1 if left or (dry_run and changed) else 0)


def _changed(known: list[tuple[Path, str]], left: list[str]) -> dict[Path, bytes]:
    """The files that are laid out otherwise, said as they are found; what can't be is ``left``."""
    changed: dict[Path, bytes] = {}
    for path, name in known:
        raw = _bytes(path)
        found = laid_out(raw, name)
        if found is None:
            left.append(f"{name} is left as it is; `kitchen-manual check` says what is wrong.")
        elif found != raw:
            changed[path] = found
            click.echo(name)
    return changed


def _asked(folder: Path, files: tuple[Path, ...], left: list[str]) -> list[tuple[Path, str]]:
    """Those of the standards that are asked for; what is none of them is ``left``."""
    known = list(standards_files(folder, left))
    if not files:
        return known
    ours = {path.resolve(): (path, name) for path, name in known}
    left += [
        f"{visible(str(p))} is none of the standards." for p in files if p.resolve() not in ours
    ]
    return [ours[path.resolve()] for path in files if path.resolve() in ours]


def _bytes(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        refuse(Refused("file-unreadable", f"{path} can't be opened: {reason_of(error)}."))

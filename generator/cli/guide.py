"""For maintainers: the guide's made parts, written or checked.

`python -m generator.cli.guide` writes them into the pages of `site_demo/guide/`. With `--check` it
writes nothing, says which pages are not current, and ends with status 1 if one is not. It is no
command of `kitchen-manual`: only a checkout holds the guide. One of the parts is the list of
commands, which `authoring/` may not import; so the command is here.
"""

from __future__ import annotations

from pathlib import Path

import click

from generator.authoring.guide import PARTS, Part, stale, write_parts
from generator.authoring.guide.examples import COMMANDS as EXAMPLES
from generator.authoring.guide.words import code, sentence
from generator.cli import cli
from generator.cli.common import refuse
from generator.files.finding import Refused
from generator.reference.library import Library, read_reference
from generator.reference.shared_data import installed


def every_command() -> dict[str, click.Command]:
    """Every command of the program by its name."""
    with click.Context(cli) as context:
        named = {name: cli.get_command(context, name) for name in cli.list_commands(context)}
    return {name: command for name, command in named.items() if command is not None}


def with_their_jobs() -> dict[str, click.Command]:
    """Every command by its name, and each job of one that has several: "design mix"."""
    found: dict[str, click.Command] = {}
    for name, command in every_command().items():
        found[name] = command
        if isinstance(command, click.Group):
            found |= {f"{name} {job}": one for job, one in command.commands.items()}
    return found


def _examples(name: str) -> list[str]:
    """The examples of a command, or of one job of it; those of all jobs are with the jobs."""
    command, _, job = name.partition(" ")
    jobs = [one for one in with_their_jobs() if one.startswith(f"{name} ")]
    if jobs:
        return [f"{jobs[0]} --help"]
    return [e for e in EXAMPLES[command] if not job or e.split()[1] == job]


def commands(_: Library) -> str:
    """Every command: how it is called, what it does, its options, its examples."""
    out: list[str] = []
    for name, command in with_their_jobs().items():
        arguments = [p for p in command.params if isinstance(p, click.Argument)]
        usage = " ".join(
            ["kitchen-manual", name, *(a.make_metavar(click.Context(command)) for a in arguments)]
        )
        out += [f"### {name}", "", code(usage), "", " ".join((command.help or "").split()), ""]
        for option in command.params:
            if isinstance(option, click.Option):
                out.append(_option(option))
        out += [
            "",
            "```console",
            *(f"$ kitchen-manual {example}" for example in _examples(name)),
            "```",
            "",
        ]
    return "\n".join(out).rstrip()


def _option(option: click.Option) -> str:
    takes = ""
    if not option.is_flag:
        kind = option.type
        if isinstance(kind, click.Choice):
            takes = " " + "|".join(str(c) for c in kind.choices)
        else:
            takes = " " + (option.metavar or kind.name.upper().replace("INTEGER RANGE", "NUMBER"))
    again = " May be repeated." if option.multiple and "repeat" not in (option.help or "") else ""
    default = ""
    if option.show_default and option.default not in (None, False):
        default = f" Left out: {code(str(option.default))}."
    return f"- {code(option.opts[0] + takes)}: {sentence(option.help or '')}{again}{default}"


ALL_PARTS: dict[str, Part] = {**PARTS, "commands": commands}
"""Every made part, by the name a page asks for it with."""


@click.command()
@click.argument(
    "folder",
    type=click.Path(exists=True, file_okay=False, path_type=Path),
    default=Path("site_demo/guide"),
)
@click.option("--check", is_flag=True, help="Write nothing; say which pages are not current.")
def guide(folder: Path, check: bool) -> None:
    """Make the lists of the guide in FOLDER from the program and shared/."""
    library = read_reference(installed())
    if check:
        pages = list(stale(folder, ALL_PARTS, library))
        for page in pages:
            click.echo(f"{page}: not current")
        raise SystemExit(1 if pages else 0)
    try:
        written = write_parts(folder, ALL_PARTS, library)
    except Refused as refused:
        refuse(refused)
    for page in written:
        click.echo(f"{page}: written")


if __name__ == "__main__":
    guide()

"""A group whose commands take an option once, unless its help says to repeat it."""

from __future__ import annotations

import click

from generator.cli.options import refuse
from generator.files.finding import Refused


class Once(click.Group):
    """A group that refuses an option given twice to one of its commands: click would keep the last
    without a word. What may be repeated gathers every value and is let through."""

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        name, command, rest = super().resolve_command(ctx, args)
        if command is not None and not ctx.resilient_parsing:
            twice = _given_twice(ctx, name or "", command, rest)
            if twice is not None:
                refuse(_refused(twice, command))
        return name, command, rest


def _given_twice(
    ctx: click.Context, name: str, command: click.Command, typed: list[str]
) -> click.Option | None:
    """The first option with a value that is typed a second time and isn't to be repeated; None
    where there is none, or where the words can't be read: then click itself says why."""
    inner = command.context_class(command, info_name=name, parent=ctx, **command.context_settings)
    try:
        _, _, order = command.make_parser(inner).parse_args(args=list(typed))
    except click.UsageError:
        return None
    seen: set[str | None] = set()
    for one in order:
        if not isinstance(one, click.Option) or one.multiple or one.is_flag or one.count:
            continue
        if one.name in seen:
            return one
        seen.add(one.name)
    return None


def _refused(option: click.Option, command: click.Command) -> Refused:
    several = [
        one.opts[0] for one in command.params if isinstance(one, click.Option) and one.multiple
    ]
    help = "Give it once." + (f" Only these may be repeated: {', '.join(several)}." * bool(several))
    return Refused("option-twice", f"{option.opts[0]} is given twice.", help)

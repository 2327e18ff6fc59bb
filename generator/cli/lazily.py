"""A group of commands that imports a command only once it is asked for."""

from __future__ import annotations

import importlib
from collections.abc import Mapping
from typing import Any

import click

from generator.cli.once import Once


class Lazily(Once):
    """Commands by their place, "module:attribute" in ``package``, and the first line of their
    help."""

    def __init__(
        self,
        *args: Any,
        package: str,
        places: Mapping[str, str],
        helps: Mapping[str, str],
        **more: Any,
    ) -> None:
        super().__init__(*args, **more)
        self._package, self._places, self._helps = package, dict(places), dict(helps)

    def list_commands(self, ctx: click.Context) -> list[str]:
        return sorted(self._places)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        place = self._places.get(cmd_name)
        if place is None:
            return None
        module, _, attribute = place.partition(":")
        found = getattr(importlib.import_module(f"{self._package}.{module}"), attribute)
        assert isinstance(found, click.Command)
        return found

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        names = self.list_commands(ctx)
        room = formatter.width - 6 - max(map(len, names))
        rows = [(n, click.Command(n, help=self._helps[n]).get_short_help_str(room)) for n in names]
        with formatter.section("Commands"):
            formatter.write_dl(rows)

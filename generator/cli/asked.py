"""What a printing is asked of: stations, formulas or a plan, and what may be asked together."""

from __future__ import annotations

import difflib
from dataclasses import dataclass

from generator.cli.common import card_asked_for
from generator.cli.requested import Request
from generator.files.finding import Refused
from generator.sheet.manual import Manual


@dataclass(frozen=True)
class Asked:
    """What is to be printed: stations or formulas by ``names`` (none: all stations), only what
    changed ``since``, with the sheets of ``more``."""

    names: tuple[str, ...]
    since: str | None
    more: tuple[str, ...]
    request: Request

    def formulas(self, manual: Manual) -> tuple[str, ...]:
        """The formulas named; a name that is a station's too is the station's."""
        known = manual.house.stations
        return tuple(n for n in self.names if n not in known and n in manual.sheets)

    def plan(self, manual: Manual) -> str:
        """The plan named; empty for none. Raises Refused for one with anything beside it."""
        known = manual.house.stations
        plans = [n for n in self.names if n in manual.plans and n not in known]
        if not plans:
            return ""
        if len(self.names) > 1 or self.more or self.since is not None or self.request.numbers:
            raise Refused(
                "plan-alone",
                f"{plans[0]} is a plan. It is printed alone, all its sheets together.",
                f"Write: kitchen-manual binder {plans[0]} --out FILE.pdf",
            )
        return plans[0]

    def check(self, manual: Manual, record: bool) -> None:
        """Raises Refused for what can't be asked together."""
        formulas = self.formulas(manual)
        if self.plan(manual) and record:
            raise Refused(
                "whole-binders",
                "The register is of whole binders. A plan has no numbers in it.",
                "Leave out --register.",
            )
        self._check_names(manual, formulas)
        if self.request.of_a_batch and not formulas:
            raise Refused(
                "formula-missing",
                "A size, a day and a batch number are of one formula.",
                "Name the formula.",
            )
        if self.request.folded and not formulas:
            raise Refused(
                "formula-missing",
                "A folded sheet is of a formula: a binder is printed on pages.",
                "Name the formula, or leave out --folded.",
            )
        apart = bool(formulas or self.request.numbers or self.request.copies > 1)
        if apart and (record or self.since is not None):
            raise Refused(
                "whole-binders",
                "The register and what changed are of whole binders.",
                "Leave out the formula, --sheet and --copies.",
            )

    def _check_names(self, manual: Manual, formulas: tuple[str, ...]) -> None:
        """Raises Refused for stations beside formulas, and for a sheet of several stations."""
        stations = [n for n in self.names if n in manual.house.stations]
        if formulas and stations:
            raise Refused(
                "stations-or-formulas",
                f"{stations[0]} is a station, {formulas[0]} a formula.",
                "Print stations, or formulas, at a time.",
            )
        unknown = tuple(n for n in self.names if n not in (*stations, *formulas))
        if formulas and unknown:
            asked_stations(manual, unknown)
        if self.request.numbers and len(self.names) != 1:
            raise Refused(
                "one-station", "A sheet's number is of one station's binder.", "Name one station."
            )


def _no_station(manual: Manual, name: str) -> Refused:
    """What to answer where a name is neither a station's nor a formula's."""
    known = manual.house.stations
    near = difflib.get_close_matches(name, [*known, *manual.sheets, *manual.plans], n=1)
    hint = f"Did you mean {near[0]}?" if near else f"Known: {', '.join(known)}."
    return Refused("station-unknown", f"There is no station, formula or plan {name}.", hint)


def _working(manual: Manual) -> set[str]:
    """The stations that make something, or do what no formula asks for."""
    making = {s for sheet in manual.sheets.values() for s in sheet.formula.formula.station}
    return making | {s for one in manual.routines.values() for s in one.routine.station}


def asked_stations(manual: Manual, stations: tuple[str, ...]) -> list[str]:
    """The stations asked for, in the kitchen's order; all that make something, if none is named.

    Raises Refused for a station that isn't there.
    """
    known = manual.house.stations
    for name in stations:
        if name not in known:
            raise card_asked_for(manual, name) or _no_station(manual, name)
    order = [
        *manual.house.kitchen.stations,
        *(s for s in known if s not in manual.house.kitchen.stations),
    ]
    making = _working(manual)
    found = [s for s in order if (s in stations if stations else s in making)]
    if not found:
        raise Refused(
            "nothing-to-print", "No station makes anything yet.", "Write a formula first."
        )
    return found

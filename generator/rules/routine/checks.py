"""Every check of a routine with what it is held to, in their order."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from generator.measures.words import listed
from generator.records.equipment import Equipment
from generator.records.routine import KEYS, OF, Check, CheckKind, Routine
from generator.resolve.joined import House
from generator.rules.routine.others import (
    dish_machine,
    hot_water,
    kept_cold,
    kept_hot,
    power_cut,
    probe_check,
    receiving,
)
from generator.rules.routine.readings import Fault, Found, Reading
from generator.rules.routine.sanitisers import sanitiser

HAZARDS: dict[CheckKind, str] = {
    "sanitiser": "sanitiser",
    "hot-water": "warewash",
    "dish-machine": "warewash",
    "receiving": "receive",
    "cold": "cold_hold",
    "hot": "hot_hold",
    "ice-point": "probe",
    "boiling-point": "probe",
    "power-cut": "power_cut",
}
"""The hazard of each kind of check: whose working words it takes."""
_RULES = {
    "sanitiser": sanitiser,
    "hot-water": hot_water,
    "dish-machine": dish_machine,
    "receiving": receiving,
    "cold": kept_cold,
    "hot": kept_hot,
    "power-cut": power_cut,
}


@dataclass(frozen=True)
class Checked:
    """One check: its readings, or ``why`` none is held; ``number`` counts from 1."""

    number: int
    check: Check
    readings: tuple[Reading, ...]
    why: str = ""

    @property
    def hazard(self) -> str:
        """The hazard whose words it takes; empty for a task."""
        return HAZARDS[self.check.check] if self.check.check is not None else ""


@dataclass(frozen=True)
class CheckedRoutine:
    """A routine with its checks worked out."""

    id: str
    routine: Routine
    checks: tuple[Checked, ...]


def checked(
    house: House, ident: str, routine: Routine, equipment: Mapping[str, Equipment]
) -> tuple[CheckedRoutine, list[tuple[int, Fault]]]:
    """A routine's checks, and what is wrong with each, by its place in the list."""
    done: list[Checked] = []
    faults: list[tuple[int, Fault]] = []
    for index, check in enumerate(routine.checks):
        found = _found(house, check, equipment)
        wrong = [*_misplaced(check), *found.faults]
        if found.why and check.check is not None:
            wrong.append(_not_covered(found.why))
        faults += [(index, fault) for fault in wrong]
        done.append(Checked(index + 1, check, tuple(found.readings), found.why))
    return CheckedRoutine(ident, routine, tuple(done)), faults


def _found(house: House, check: Check, equipment: Mapping[str, Equipment]) -> Found:
    if check.check is None:
        return Found()
    if check.check in ("ice-point", "boiling-point"):
        return probe_check(house, check, equipment)
    if check.of is not None and check.of not in OF.get(check.check, ()):
        return Found()  # refused as misplaced
    return _RULES[check.check](house, check)


def _misplaced(check: Check) -> list[Fault]:
    """Keys that mean nothing for this kind of check, and a task without words."""
    kind, allowed = check.check, KEYS[check.check]
    faults = [
        _unused(kind, key, allowed)
        for key in ("of", "strength", "at", "ph", "with", "in", "label")
        if check.states(key) and key not in allowed
    ]
    if kind is not None and check.of is not None and "of" in allowed and check.of not in OF[kind]:
        choices = listed(list(OF[kind]), "or")
        message = f"`{check.of}` is no kind for `check: {kind}`."
        faults.append(Fault("check-of-wrong-kind", message, f"Write {choices}.", "of"))
    if kind is None and not check.how:
        message = "Nothing is said to do here."
        faults.append(Fault("check-empty", message, "Write `how`, or what is checked."))
    return faults


def _unused(kind: CheckKind | None, key: str, allowed: frozenset[str]) -> Fault:
    what = f"`check: {kind}`" if kind is not None else "a task without `check`"
    others = listed([f"`{k}`" for k in sorted(allowed)])
    help = f"It takes {others}." if others else "Delete it, or say what is checked."
    return Fault("check-key-unused", f"`{key}` means nothing for {what}.", help, key)


def _not_covered(why: str) -> Fault:
    return Fault(
        "not-covered",
        f"Not covered: {why}",
        "Ask your regulatory authority for the figure. What a maker's label says goes under "
        "`label`, with its document.",
        "check",
    )

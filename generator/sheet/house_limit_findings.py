"""What is said of house limits once all is computed."""

from __future__ import annotations

from collections.abc import Iterator

from generator.files.finding import Finding
from generator.intake.standards import Standards
from generator.measures.words import listed
from generator.records.house_limit import HouseLimit
from generator.resolve.joined import House
from generator.rules.basics.house_rule import Spoken
from generator.rules.store.shelf import Shelf
from generator.sheet.walk import Walk


def house_limit_findings(
    house: House,
    standards: Standards,
    walks: dict[str, Walk],
    shelves: dict[str, Shelf],
    findings: list[Finding],
) -> list[Finding]:
    """The findings with what is said of ingredients' own limits, and of house limits that apply
    nowhere; without the note that one asks what the code asks, where it is in force somewhere
    else."""
    used = {line.joined.item for w in walks.values() for line in w.lines}
    on_shelves = [shelves[item] for item in sorted(used & set(shelves))]
    spoken: Spoken = frozenset().union(
        *(walked.house_limits for walked in walks.values()),
        *(shelf.house_limits for shelf in on_shelves),
    )
    limits = _written(house, standards, walks)
    reported = list(findings)
    for shelf in on_shelves:
        reported += shelf.findings
    reported = _without_same(reported, limits, spoken)
    if any(f.is_error for f in reported):
        return reported  # what was stopped may be what it is meant for
    return [*reported, *_nowhere(limits, spoken)]


def _without_same(
    findings: list[Finding], limits: list[HouseLimit], spoken: Spoken
) -> list[Finding]:
    """The findings without the note that a house limit asks what the code asks, where it is in
    force somewhere."""
    binding = {place for place, in_force in spoken if in_force}
    needed = {limit.place("limit") for limit in limits if limit.place() in binding}
    return [f for f in findings if f.code != "house-limit-same" or f.place not in needed]


def _nowhere(limits: list[HouseLimit], spoken: Spoken) -> Iterator[Finding]:
    """The house limits that apply to nothing."""
    places = {place for place, _ in spoken}
    for limit in limits:
        if limit.place() not in places:
            text = listed([f.text for f in limit.limit], "or")
            yield Finding(
                "house-limit-nowhere",
                "warning",
                f"House limit: {text} applies to nothing made here.",
                limit.place("limit"),
                "Check its food, verb or step, or take it out.",
            )


def _written(house: House, standards: Standards, walks: dict[str, Walk]) -> list[HouseLimit]:
    """Every house limit of the kitchen, of the processes in use and of the formulas made here."""
    used = {walked.formula.formula.process for walked in walks.values()} - {None}
    steps = [s for i in sorted(used, key=str) for s in standards.processes[i or ""].steps]
    steps += [s for walked in walks.values() for s in walked.formula.formula.steps]
    limits: list[HouseLimit] = [*house.kitchen.house_limits]
    limits += [s.house_limit for s in steps if s.house_limit is not None]
    limits += [own for w in walks.values() for own in w.formula.formula.house_limits.values()]
    return limits

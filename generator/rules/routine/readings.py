"""What is read at a check: its figures, whose they are, and what is wrong with what was typed."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal

from generator.files.finding import Severity
from generator.measures.rounding import to_side
from generator.measures.temperature import Temperature
from generator.measures.words import NARROW, duration, plain
from generator.records.routine import Check, MakersLabel
from generator.resolve.joined import House
from generator.rules.basics.context import both, cited, source_of
from generator.rules.basics.limit import STRICT_SIDE, Bound, Figure, Source, figure_of

Quantity = Literal["strength", "temperature", "ph", "hardness", "time"]


@dataclass(frozen=True)
class Reading:
    """One thing read: from ``least`` to ``most`` in ``unit`` (of a time: seconds), with the probe's
    accuracy counted. ``law`` are the figures as enacted, in words, each with its source;
    ``within_s`` is how long it may be otherwise."""

    name: str
    quantity: Quantity
    unit: str
    least: Fraction | None = None
    most: Fraction | None = None
    law: tuple[tuple[str, Source], ...] = ()
    figures: tuple[Figure, ...] = ()
    within_s: Fraction | None = None
    words: str = ""

    @property
    def sources(self) -> tuple[Source, ...]:
        """Whose figures it holds, once each."""
        return tuple(dict.fromkeys(source for _, source in self.law))


@dataclass(frozen=True)
class Fault:
    """What is wrong with a check, under its ``key``; as a finding without its place."""

    code: str
    message: str
    help: str
    key: str = ""
    severity: Severity = "error"
    write: tuple[str, ...] = ()
    source: str = ""


@dataclass
class Found:
    """What is found of one check: readings, and faults; ``why`` nothing is held for it, in
    words."""

    readings: list[Reading] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    why: str = ""


@dataclass(frozen=True)
class Warmth:
    """A temperature of a row: its value in the unit of record, what is printed beside it, its
    source."""

    value: Temperature
    printed: Temperature | None
    bound: Bound
    source: Source


def label_source(label: MakersLabel) -> Source:
    """A maker's label as a source."""
    return Source(label.document, "", "", (), standing="label")


def warmths(house: House, *rows: object) -> list[Warmth]:
    """The temperatures of rows that have one."""
    found = []
    for row in rows:
        value: Temperature | None = getattr(row, "value", None)
        if value is not None:
            bound: Bound = getattr(row, "bound", None) or "min"
            source = source_of(house, row)  # type: ignore[arg-type]
            found.append(Warmth(value, getattr(row, "printed", None), bound, source))
    return found


def temperature(
    house: House, name: str, found: list[Warmth], check: Check, faults: list[Fault], words: str = ""
) -> Reading:
    """The strictest of some temperatures on each side, as the kitchen's probe must read them; the
    chef's ``at`` where that is stricter. ``faults`` takes what is wrong with it."""
    unit, accuracy = house.kitchen.temperature, house.probe.accuracy
    ends: dict[Bound, Fraction] = {}
    figures = []
    for one in found:
        figure = figure_of(one.value, one.printed, one.bound, accuracy)
        figures.append(figure)
        read, strictest = figure.read_at(unit), max if one.bound == "min" else min
        ends[one.bound] = strictest(ends.get(one.bound, read), read)
    if check.at is not None:
        _wanted(house, check, check.at, found, ends, faults)
    return Reading(
        name,
        "temperature",
        unit,
        ends.get("min"),
        ends.get("max"),
        tuple(law_of(one, figure) for one, figure in zip(found, figures, strict=True)),
        tuple(figures),
        words=words,
    )


def _wanted(
    house: House,
    check: Check,
    wanted: Temperature,
    found: list[Warmth],
    ends: dict[Bound, Fraction],
    faults: list[Fault],
) -> None:
    """The chef's temperature beside the limit: laxer is an error, nearer than the probe can tell a
    warning, stricter stands."""
    unit = house.kitchen.temperature
    own: Bound = "max" if "max" in ends and "min" not in ends else "min"
    for one in found:
        laxer = wanted < one.value if one.bound == "min" else wanted > one.value
        if laxer:
            word = "at least" if one.bound == "min" else "at most"
            figure = f"{plain(ends[one.bound])} {unit}"
            faults.append(
                Fault(
                    "check-too-lax",
                    f"`{wanted}`: the limit is {word} {one.value}.",
                    f"Write a figure the probe can show: {figure}.",
                    "at",
                    write=(figure,),
                    source=f"{one.source.document}, {one.source.clause}".rstrip(", "),
                )
            )
            return
    side = to_side(wanted.in_unit(unit), STRICT_SIDE[own])
    if own not in ends:
        ends[own] = side
        return
    strictest = max if own == "min" else min
    if strictest(side, ends[own]) == ends[own] and side != ends[own]:
        figure = f"{plain(ends[own])} {unit}"
        faults.append(
            Fault(
                "check-near-the-limit",
                f"`{wanted}` is nearer to the limit than the probe can show.",
                f"The sheet asks for {figure}.",
                "at",
                severity="warning",
                write=(figure,),
            )
        )
    ends[own] = strictest(side, ends[own])


def law_of(one: Warmth, figure: Figure) -> tuple[str, Source]:
    """A temperature as enacted, in words, with its source: ("at least 171 °F (77 °C)", …)."""
    word = "at least" if one.bound == "min" else "at most"
    return f"{word} {both(one.value, figure.shown_c, figure.shown_f)}", one.source


def lasting(name: str, seconds: Fraction, law: tuple[tuple[str, Source], ...]) -> Reading:
    """A least time."""
    return Reading(name, "time", "s", seconds, None, law)


def lasting_law(seconds: Fraction) -> str:
    """A least time in words."""
    return f"at least {duration(seconds)}"


def ppm(value: Fraction) -> str:
    """A strength in words."""
    return f"{plain(value)}{NARROW}ppm"


def cited_row(house: House, row: object) -> str:
    """Document and clause of a row."""
    return cited(house, row)  # type: ignore[arg-type]

"""One step as the page says it: notices, what to do, target, limits."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from generator.measures.ranges import TemperatureSpan
from generator.measures.rounding import half_up, to_side
from generator.measures.temperature import Degree, Temperature
from generator.measures.words import NARROW, duration, listed, plain
from generator.records.equipment import Machine
from generator.records.process import Target
from generator.resolve.joined import JoinedStep
from generator.rules.basics.warmth import needs_cold
from generator.sheet.cautioning import Notice
from generator.sheet.sheet import Sheet
from generator.sheet.size_words import run_words
from generator.sheet.walk import WalkedStep
from generator.views.limit_view import LimitView, limit_view, other_scale
from generator.views.uris import beside
from generator.views.yield_view import left_words, weight_words_of

_MEDIUM = {"oven": "oven", "kettle": "water", "bath": "water", "pot": "pot", "fryer": "oil"}


_ROOM = Temperature.of(40, "°C")
"""Above it a temperature without a machine is that of something heated."""


@dataclass(frozen=True)
class StepRow:
    """One thing to look up: ``other`` are its words in the other temperature scale, if any, and
    ``seconds`` a time, for a timer. ``own`` words are the chef's; what is ``aside`` isn't needed
    while one works."""

    name: str
    words: str
    other: str = ""
    seconds: int = 0
    own: bool = False
    aside: bool = False


@dataclass(frozen=True)
class StepView:
    """One step. ``loads`` are the machine's loads by batch size; ``rows`` what is looked up."""

    number: int
    verb: str
    place: str
    loads: tuple[tuple[int, str], ...]
    notices: tuple[Notice, ...]
    on: str
    take: str
    how: tuple[str, ...]
    rows: tuple[StepRow, ...]
    note: str
    limits: tuple[LimitView, ...]
    picture: str


def step_view(sheet: Sheet, walked: WalkedStep, uri: str) -> StepView:
    """The view of one walked step of a sheet."""
    step, record = walked.step, walked.step.step
    place = (step.machine.name if step.machine else "") or (step.cold.name if step.cold else "")
    loads = tuple(
        (index, run_words(one))
        for index, batch in enumerate(sheet.batches)
        for one in batch.step_loads
        if one.step == step.id
    )
    own = sheet.house.kitchen.temperature
    return StepView(
        step.number,
        step.verb,
        place,
        loads,
        sheet.notices.by_step.get(step.number, ()),
        listed([one.replace("-", " ") for one in record.work_on]),
        listed([one.replace("-", " ") for one in record.add]),
        record.how,
        (
            *_heats(step, own),
            *_air(step),
            *_measures(step),
            *_until(sheet, walked),
            *_gives(walked),
        ),
        record.note,
        tuple(limit_view(sheet.house, lm) for lm in walked.limits),
        beside(uri, record.picture),
    )


def _heats(step: JoinedStep, own: Degree) -> Iterator[StepRow]:
    """What the machine is set to, and the target, in either temperature scale."""
    other = other_scale(own)
    if (at := step.step.at) is not None:
        machine = step.machine
        name = at_name(at, machine)
        yield StepRow(name, heat_words(own, at, machine), heat_words(other, at, machine))
    if (target := step.target) is not None and target.degrees is not None:
        yield StepRow("Target", target_words(own, target), target_words(other, target))


def _air(step: JoinedStep) -> Iterator[StepRow]:
    """How humid the air is."""
    if step.step.humidity is not None:
        yield StepRow("Humidity", str(step.step.humidity))


def _measures(step: JoinedStep) -> Iterator[StepRow]:
    """How much brine it takes up, how long it takes, how often, into what."""
    record = step.step
    for name, share in (("Pump", record.pump), ("Pick-up", record.pick_up)):
        if share is not None:
            yield StepRow(name, f"{plain(share * 100)}{NARROW}% of green weight")
    if record.time is not None:
        seconds = record.time.shortest  # the clock rings when one may look
        yield StepRow("Time", str(record.time), seconds=int(half_up(seconds)))
    if record.every is not None:
        yield StepRow("Every", f"{duration(record.every.seconds)}, and before you start")
    if step.vessel is not None and (record.vessel or "fills" in step.effects):
        yield StepRow("Into", step.vessel.name)


def _until(sheet: Sheet, walked: WalkedStep) -> Iterator[StepRow]:
    """When it is done, how long it has been out of the cold by then, what is cut off."""
    record = walked.step.step
    if record.until:
        yield StepRow("Until", record.until, own=True)
    if (out := out_words(sheet, walked)) is not None:
        yield out
    if record.ends is not None:
        yield StepRow("Ends", f"cut {record.ends.text} off each end")


def _gives(walked: WalkedStep) -> Iterator[StepRow]:
    """What its weight becomes, what it is called from then on, what stays behind."""
    if (weight := weight_words_of(walked)) is not None:
        yield StepRow(*weight)
    record = walked.step.step
    if record.gives is not None:
        yield StepRow("Gives", f"the {record.gives.replace('-', ' ')}")
    for name, left in record.leaves.items():
        yield StepRow("Leaves", left_words(name, left))


def out_words(sheet: Sheet, walked: WalkedStep) -> StepRow | None:
    """How long food that needs the cold has been out of the cold, or off the heat, by the end of a
    step; None where it is cold or hot there. What isn't timed is said not to be."""
    spell = walked.course.spell
    needs = needs_cold(sheet.formula, walked.before, walked.step.number)
    if spell is None or walked.stay.during != "between" or not needs:
        return None
    name = "Off the heat" if spell.hot else "Out of the cold"
    timed = f"{duration(spell.seconds)} so far" if spell.seconds else ""
    words = "; ".join(
        w for w in (timed, "" if walked.stay.seconds is not None else "not timed") if w
    )
    if walked.course.over and spell.seconds and walked.course.in_all > spell.seconds:
        words += f"; {duration(walked.course.in_all)} in all"
    return StepRow(name, words, aside=True)


def at_name(at: TemperatureSpan, machine: Machine | None) -> str:
    """What a step's temperature is called: nothing is heated in a freezer, a tap's water or a
    room."""
    return "Heat" if machine is not None or at.warmest > _ROOM else "Kept"


def heat_words(unit: Degree, at: TemperatureSpan, machine: Machine | None) -> str:
    """What is kept at which temperature, in ``unit``: "oven 180 °C", "water 82 °C"."""
    kind = _MEDIUM.get(machine.kind, "at") if machine else "at"
    return f"{kind} {_range(unit, at, 'at')}"


def target_words(unit: Degree, target: Target) -> str:
    """The chef's target in ``unit``: "core 76 °C", "core 64 °C for 12 min"."""
    assert target.degrees is not None
    hold = f" for {target.hold}" if target.hold else ""
    return f"{target.kind} {_range(unit, target.degrees, target.kind)}{hold}"


def _range(unit: Degree, span: TemperatureSpan, kind: str) -> str:
    """A temperature, or both its ends, in ``unit``; as the chef wrote it in brackets, if in the
    other."""
    if not span.is_range:
        return _degrees(unit, span.coolest, kind)
    if span.coolest.unit == unit:
        return str(span).replace(" to ", "–") if kind == "to" else str(span)
    if span.final is not None:
        first = span.coolest if span.final == span.warmest else span.warmest
        both = (f"{plain(_whole(unit, t, kind))}{NARROW}{unit}" for t in (first, span.final))
        return f"{', then '.join(both)} ({span})"
    ends = (f"{plain(_whole(unit, end, kind))}" for end in (span.coolest, span.warmest))
    return f"{'–'.join(ends)}{NARROW}{unit} ({span})"


def _degrees(unit: Degree, value: Temperature, kind: str) -> str:
    """A temperature in ``unit``; as the chef wrote it in brackets, if in the other.

    A core target is rounded up and a chill's down, so that the figure read is never the laxer one.
    """
    if value.unit == unit:
        return str(value)
    return f"{plain(_whole(unit, value, kind))}{NARROW}{unit} ({value})"


def _whole(unit: Degree, value: Temperature, kind: str) -> Fraction:
    """Whole degrees of the other scale, on the strict side of what a target is of."""
    exact = value.in_unit(unit)
    if kind == "core":
        return to_side(exact, "up")
    return to_side(exact, "down") if kind in ("to", "below") else half_up(exact)

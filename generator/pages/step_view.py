"""One step as the page tells it: notices, what to do, target, limits."""

from __future__ import annotations

from dataclasses import dataclass

from generator.cautioning import Notice
from generator.joined import House
from generator.measures.rounding import half_up, to_side
from generator.measures.temperature import SIGN, Temperature
from generator.measures.words import NARROW, duration, listed, plain
from generator.pages.limit_view import LimitView, limit_view
from generator.pages.page import beside
from generator.records.equipment import Machine
from generator.records.process import Target
from generator.sheet import Sheet, loads_words
from generator.walk import WalkedStep

_MEDIUM = {"oven": "oven", "kettle": "water", "bath": "water", "pot": "pot", "fryer": "oil"}


@dataclass(frozen=True)
class StepView:
    """One step. ``loads`` are the machine's loads by batch size; ``rows`` what is looked up."""

    number: int
    verb: str
    place: str
    loads: tuple[tuple[int, str], ...]
    notices: tuple[Notice, ...]
    take: str
    how: tuple[str, ...]
    rows: tuple[tuple[str, str], ...]
    note: str
    limits: tuple[LimitView, ...]
    picture: str


def step_view(sheet: Sheet, walked: WalkedStep, uri: str) -> StepView:
    """The view of one walked step of a sheet."""
    step, record = walked.step, walked.step.step
    place = (step.machine.name if step.machine else "") or (step.cold.name if step.cold else "")
    loads = tuple(
        (index, loads_words(sheet.formula, one.loads))
        for index, batch in enumerate(sheet.batches)
        for one in batch.step_loads
        if one.step == step.id
    )
    rows: list[tuple[str, str]] = []
    if record.at is not None:
        rows.append(("Heat", heat_words(sheet.house, record.at, step.machine)))
    if step.target is not None and step.target.temperature is not None:
        rows.append(("Target", target_words(sheet.house, step.target)))
    if record.time is not None:
        rows.append(("Time", duration(record.time.seconds)))
    if record.every is not None:
        rows.append(("Every", f"{duration(record.every.seconds)}, and before you start"))
    if step.vessel is not None and (record.vessel or "fills" in step.effects):
        rows.append(("Into", step.vessel.name))
    if record.until:
        rows.append(("Until", record.until))
    if record.ends is not None:
        rows.append(("Ends", f"cut {record.ends.text} off each end"))
    return StepView(
        step.number, step.verb, place, loads, sheet.notices.by_step.get(step.number, ()),
        listed([part.replace("-", " ") for part in step.parts]), record.how, tuple(rows), record.note,
        tuple(limit_view(sheet.house, lm) for lm in walked.limits), beside(uri, record.picture),
    )  # fmt: skip


def heat_words(house: House, at: Temperature, machine: Machine | None) -> str:
    """What is kept at which temperature: "oven 180 °C", "water 82 °C"."""
    kind = _MEDIUM.get(machine.kind, "at") if machine else "at"
    return f"{kind} {_degrees(house, at, 'at')}"


def target_words(house: House, target: Target) -> str:
    """The chef's target in the kitchen's unit: "core 76 °C", "core 64 °C for 12 min"."""
    assert target.temperature is not None
    hold = f" for {duration(target.hold.seconds)}" if target.hold else ""
    return f"{target.kind} {_degrees(house, target.temperature, target.kind)}{hold}"


def _degrees(house: House, value: Temperature, kind: str) -> str:
    """A temperature in the kitchen's unit; as the chef wrote it in brackets, if in the other.

    A core target is rounded up and a chill's down, so that the figure read is never the laxer one.
    """
    unit = house.kitchen.temperature
    if value.unit == unit:
        return str(value)
    exact = value.in_unit(unit)
    if kind == "core":
        whole = to_side(exact, "up")
    elif kind in ("to", "below"):
        whole = to_side(exact, "down")
    else:
        whole = half_up(exact)
    return f"{plain(whole)}{NARROW}{SIGN[unit]} ({value})"

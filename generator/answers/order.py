"""The order of a plan: as JSON and as text."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from fractions import Fraction
from typing import Any

from generator.answers.cautions import cautions_record, dangers_first, governs
from generator.answers.limits import limits_record
from generator.answers.numbers import number, without_none
from generator.measures.kilos import kilos
from generator.measures.words import counted, date, duration, listed
from generator.sheet.order import Label, OnShelf, Order, clock
from generator.sheet.prep_times import TimedStep
from generator.sheet.sheet import Batch, Sheet
from generator.sheet.shopping import Bought
from generator.sheet.stock import Need, Run

_WEEK = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_SHEETS = "Weigh by the batch sheets: kitchen-manual batch FORMULA."
_LIMITS = "Cook, chill and hold by the limits: kitchen-manual limits FORMULA."


def order_record(order: Order) -> dict[str, Any]:
    """An order as one JSON object: weights in grams, times in seconds, hours without a zone, in the
    kitchen's own time."""
    return {
        "plan": order.plan.id,
        "name": order.plan.plan.name,
        "dishes": [
            {"formula": one.formula, "amount": one.text, "due": _iso(one.due)}
            for one in order.dishes
        ],
        "past": [
            {"formula": one.formula, "amount": one.text, "due": _iso(one.due)} for one in order.past
        ],
        "problems": [
            {"code": p.code, "formula": p.formula, "message": p.words, "help": p.help}
            for p in order.problems
        ],
        "make": [_run_record(run) for run in order.runs],
        "buy": [_bought_record(one) for one in order.shopping],
        "on_shelf": [_shelf_record(one) for one in order.shelf],
        "prep": [_prep_record(*row) for row in _prep(order)],
        "labels": [_label_record(one) for one in order.labels],
        "formulas": {
            ident: {"limits": limits_record(sheet.walk), **cautions_record(sheet)}
            for ident, sheet in _sheets(order).items()
        },
    }


def _sheets(order: Order) -> dict[str, Sheet]:
    """The sheets of all that is made, each once, in the order it is started."""
    return {run.sheet.id: run.sheet for run in order.runs}


def _danger_lines(order: Order) -> Iterator[str]:
    """Every DANGER of what is made: read before anything is weighed."""
    for sheet in _sheets(order).values():
        yield from (f"{sheet.name}: {line}" for line in dangers_first(sheet))


def _last_lines(order: Order) -> Iterator[str]:
    """Where the weights, the limits and the cautions are, and whose rules govern."""
    for sheet in list(_sheets(order).values())[:1]:
        yield from (_SHEETS, _LIMITS, governs(sheet).replace("\u00a0", " "))


def order_cautions(order: Order) -> list[str]:
    """What goes with an order whose form has no room for it: every DANGER, where the weights and
    the limits are, whose rules govern."""
    return [*_danger_lines(order), *_last_lines(order)]


def _iso(hour: datetime.datetime) -> str:
    return hour.isoformat(timespec="minutes")


def _run_record(run: Run) -> dict[str, Any]:
    return without_none(
        {
            "formula": run.sheet.id,
            "name": run.sheet.name,
            "status": run.sheet.status,
            "batches": [
                {
                    "size": batch.label,
                    "count": count,
                    "factor": number(batch.factor),
                    "loads": [
                        {"step": one.step, "equipment": one.equipment, "loads": one.loads.count}
                        for one in batch.step_loads
                    ],
                }
                for batch, count in run.made
            ],
            "start": _iso(run.start),
            "ready": _iso(run.ready),
            "day_one": run.day_one.isoformat() if run.day_one is not None else None,
            "use_by": run.last.isoformat() if run.last is not None else None,
            "made_g": number(run.total_g),
            "used_g": number(run.used_g),
            "left_g": number(run.left_g),
            "uses": [_use_record(use) for use in run.uses],
            "steps": [_step_record(run, one) for one in run.times.steps],
            "no_time_known": [step.id for step in run.times.untimed],
        }
    )


def _use_record(use: Need) -> dict[str, Any]:
    return without_none(
        {
            "due": _iso(use.due),
            "into": use.into,
            "mass_g": number(use.grams),
            "counted": use.counting if use.count else None,
            "count": use.count or None,
        }
    )


def _step_record(run: Run, one: TimedStep) -> dict[str, Any]:
    return {
        "step": one.step.id,
        "start": _iso(one.start(run.ready)),
        "time_s": number(one.seconds),
        "all_loads": one.by_loads,
    }


def _bought_record(one: Bought) -> dict[str, Any]:
    packs = None
    if one.packs is not None:
        packs = [{"pack": amount.text, "count": count} for amount, count in one.packs]
    return {
        "item": one.item,
        "name": one.name,
        "needs_g": number(one.needs),
        "on_shelf_g": number(one.on_shelf),
        "missing_g": number(one.missing),
        "packs": packs,
        "pack_known": one.packs is not None,
        "not_bought": one.comes,
        "buy_g": number(one.bought) if not one.comes else 0,
        "left_g": number(one.left) if not one.comes else 0,
        "first_day": one.first.isoformat() if one.first is not None else None,
        "days": [{"day": day.isoformat(), "mass_g": number(grams)} for day, grams in one.days],
    }


def _shelf_record(one: OnShelf) -> dict[str, Any]:
    return {
        "item": one.item,
        "name": one.name,
        "there_g": number(one.there),
        "used_g": number(one.used),
        "left_g": number(one.left),
        "use_by": one.last.isoformat() if one.last is not None else None,
        "past_its_day": one.past,
        "used_on": [day.isoformat() for day in one.days],
    }


def _prep_record(
    station: str, day: datetime.date, run: Run, steps: list[TimedStep]
) -> dict[str, Any]:
    return {
        "station": station,
        "day": day.isoformat(),
        "formula": run.sheet.id,
        "batches": _batches(run),
        "steps": [_step_record(run, one) for one in steps],
    }


def _label_record(one: Label) -> dict[str, Any]:
    return without_none(
        {
            "formula": one.formula,
            "labels": one.many,
            "made": one.made.isoformat(),
            "use_by": one.use_by.isoformat() if one.use_by is not None else None,
            "each": one.each,
        }
    )


def order_text(order: Order) -> str:
    """An order as text: what can't be done first; then what to make, to buy, to do and to print."""
    blocks = [
        _head(order),
        list(_danger_lines(order)),
        _block("Make", [_made_line(run) for run in order.runs if run.made]),
        _block("From the shelf", list(map(_shelf_line, order.shelf))),
        _block("Buy", [_bought_line(one) for one in order.shopping if one.missing]),
        *_prep_blocks(order),
        _block("Labels", list(map(_label_line, order.labels))),
        _block("Left over", list(_left_lines(order))),
        list(_last_lines(order)),
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block)


def _block(title: str, lines: list[str]) -> list[str]:
    return [title, *(f"  {line}" for line in lines)] if lines else []


def _day(day: datetime.date) -> str:
    return f"{_WEEK[day.weekday()]} {date(day)}".replace("\u00a0", " ")


def _hour(hour: datetime.datetime) -> str:
    return f"{_day(hour.date())} {clock(hour)}"


def _head(order: Order) -> list[str]:
    lines = [order.plan.plan.name]
    for one in order.problems:
        lines.append(f"  Can't be done: {one.words} {one.help}".replace("\u00a0", " "))
    if order.past:
        lines.append(f"  {counted(len(order.past), 'dish', 'dishes')} of days past: left out.")
    if not order.dishes:
        lines.append("  No dish is to come: nothing to make, nothing to buy.")
    return lines


def _size(batch: Batch, count: int) -> str:
    return f"{count} × {batch.label}"


def _batches(run: Run) -> str:
    return listed([_size(batch, count) for batch, count in run.made])


def _made_line(run: Run) -> str:
    loads = [
        f"{one.name}: {counted(one.loads.count * count, 'load')}"
        for batch, count in run.made
        for one in batch.step_loads
        if one.loads.count * count > 1
    ]
    words = (
        f"{run.sheet.name}: {_batches(run)}. Start {_hour(run.start)}, ready {_hour(run.ready)}."
    )
    if loads:
        words += f" {'; '.join(dict.fromkeys(loads))}."
    if run.last is not None:
        words += f" Use by {_day(run.last)}."
    else:
        words += " It isn't kept."
    if run.sheet.status != "current":
        words += f" This standard is: {run.sheet.status}."
    return words


def _shelf_line(one: OnShelf) -> str:
    there = f"{one.name}: {kilos(one.there)} there"
    if one.past:
        if one.last is None:
            return f"{there}, not counted: its last day isn't known."
        return f"{there}, past its day ({_day(one.last)}). Don't use it."
    if not one.used:
        return f"{there}, not used."
    left = f"{kilos(one.left)} left" if one.left else "all used"
    return f"{there}, {kilos(one.used)} used, {left}."


def _bought_line(one: Bought) -> str:
    first = f", first for {_day(one.first)}" if one.first is not None else ""
    if one.comes:
        return f"{one.name}: {kilos(one.missing)}, not bought{first}"
    if one.packs is None:
        return f"{one.name}: {kilos(one.missing)}, its packs aren't known{first}"
    packs = listed([f"{count} × {amount.text}" for amount, count in one.packs])
    return f"{one.name}: {packs} (needs {kilos(one.missing)}){first}"


def _prep(order: Order) -> list[tuple[str, datetime.date, Run, list[TimedStep]]]:
    """Each run's steps of each day, by station and day, in the order they start."""
    rows: dict[tuple[str, datetime.date, int], tuple[Run, list[TimedStep]]] = {}
    for run in order.runs:
        for one in run.times.steps if run.made else ():
            key = (run.sheet.formula.formula.home, one.start(run.ready).date(), run.number)
            rows.setdefault(key, (run, []))[1].append(one)
    found = [(station, day, run, steps) for (station, day, _), (run, steps) in rows.items()]
    return sorted(found, key=lambda row: (row[0], row[1], row[3][0].start(row[2].ready)))


def _prep_blocks(order: Order) -> Iterator[list[str]]:
    blocks: dict[tuple[str, datetime.date], list[str]] = {}
    for station, day, run, steps in _prep(order):
        name = run.sheet.house.stations[station].name
        title = f"{name}, {_day(day)}"
        lines = blocks.setdefault((station, day), [title])
        lines.append(f"  {run.sheet.name}, {_batches(run)}")
        lines += [f"    {_step_words(run, one)}" for one in steps]
    yield from blocks.values()


def _step_words(run: Run, one: TimedStep) -> str:
    words = f"{clock(one.start(run.ready)):>5} {one.step.id}"
    if one.seconds is None:
        return f"{words}: no time known"
    loads = ", all loads" if one.by_loads else ""
    return f"{words}: {duration(one.seconds)}{loads}"


def _label_line(one: Label) -> str:
    each = f"one for each {one.each}" if one.each else "one for each batch"
    ends = f"use by {_day(one.use_by)}" if one.use_by is not None else "dated as it is frozen"
    return f"{one.name}: {counted(one.many, 'label')}, {each}, made {_day(one.made)}, {ends}"


def _left_lines(order: Order) -> Iterator[str]:
    """What whole batches and whole packs leave, as far as a scale shows it."""
    least = Fraction(1)
    for run in order.runs:
        if run.left_g >= least:
            last = f", use by {_day(run.last)}" if run.last is not None else ", it isn't kept"
            yield f"{run.sheet.name} of {_day(run.ready.date())}: {kilos(run.left_g)}{last}"
    for one in order.shopping:
        if one.packs and one.left >= least:
            yield f"{one.name}: {kilos(one.left)} of opened packs"

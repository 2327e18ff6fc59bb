"""The order of a plan: as JSON and as text."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator
from typing import Any

from generator.answers.cautions import cautions_record, dangers_first, governs
from generator.answers.limits import limits_record
from generator.answers.numbers import number, without_none
from generator.measures.words import breakable, listed
from generator.sheet.order import Label, OnShelf, Order
from generator.sheet.prep_times import TimedStep
from generator.sheet.sheet import Sheet
from generator.sheet.shopping import Bought
from generator.sheet.stock import Need, Run
from generator.views.plan_view import (
    BuyView,
    LabelView,
    LeftView,
    MadeView,
    PlanView,
    StepTime,
    When,
    plan_view,
    prep_rows,
)

_DAY = re.compile(r"[A-Z][a-z]{2} [0-9]{1,2}\u00a0[A-Z][a-z]{2}\u00a0[0-9]{4}")
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
        "prep": [_prep_record(*row) for row in prep_rows(order)],
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
        yield from (_SHEETS, _LIMITS, breakable(governs(sheet)))


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
        "batches": listed([f"{count} × {batch.label}" for batch, count in run.made]),
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
    view = plan_view(order)
    blocks = [
        _head(view),
        list(_danger_lines(order)),
        _block("Make", [_made_line(one) for one in view.made if one.sizes]),
        _block("From the shelf", [f"{o.name}: {o.there} there, {o.words}." for o in view.shelf]),
        _block("Buy", list(map(_bought_line, view.to_buy))),
        *_prep_blocks(view),
        _block("Labels", list(map(_label_line, view.labels))),
        _block("Left over", list(map(_left_line, view.left))),
        list(_last_lines(order)),
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block)


def _block(title: str, lines: list[str]) -> list[str]:
    return [title, *(f"  {line}" for line in map(_typed, lines))] if lines else []


def _typed(words: str) -> str:
    """A day as it is typed."""
    return _DAY.sub(lambda found: breakable(found[0]), words)


def _hour(when: When) -> str:
    return f"{when.day} {when.clock}"


def _head(view: PlanView) -> list[str]:
    lines = [view.name]
    for one in view.problems:
        lines.append(breakable(f"  Can't be done: {one.words} {one.help}"))
    if view.past:
        lines.append(f"  {view.past} of days past: left out.")
    if not view.dishes:
        lines.append("  No dish is to come: nothing to make, nothing to buy.")
    return lines


def _made_line(one: MadeView) -> str:
    words = f"{one.name}: {one.batches}. Start {_hour(one.start)}, ready {_hour(one.ready)}."
    if one.loads:
        words += f" {'; '.join(one.loads)}."
    words += f" Use by {one.last}." if one.last else " It isn't kept."
    if one.status:
        words += f" This standard is: {one.status}."
    return words


def _bought_line(one: BuyView) -> str:
    first = f", first for {one.first}" if one.first else ""
    note = f" ({one.note})" if one.packs else f", {one.note}"
    return f"{one.name}: {one.words}{note}{first}"


def _prep_blocks(view: PlanView) -> Iterator[list[str]]:
    """Station by station, each day by day."""
    for one in sorted(view.days, key=lambda one: (one.station, one.date)):
        lines = [_typed(f"{one.name}, {one.day}")]
        for work in one.work:
            lines.append(f"  {work.made.name}, {work.made.batches}")
            lines += [f"    {_step_words(step)}" for step in work.steps]
        yield lines


def _step_words(one: StepTime) -> str:
    words = f"{one.clock:>5} {one.id}"
    if not one.time:
        return f"{words}: no time known"
    return f"{words}: {one.time}{', all loads' if one.all_loads else ''}"


def _label_line(one: LabelView) -> str:
    return f"{one.name}: {one.many}, one for each {one.each}, made {one.made}, {one.dated}"


def _left_line(one: LeftView) -> str:
    """What whole batches leave, and what whole packs do."""
    if not one.ready:
        return f"{one.name}: {one.weight} of opened packs"
    return f"{one.name} of {one.ready}: {one.weight}, {_kept(one)}"


def _kept(one: LeftView) -> str:
    return f"use by {one.last}" if one.last else "it isn't kept"

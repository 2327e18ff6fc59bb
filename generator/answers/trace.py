"""A lot traced: every batch, label, day, dish and plan that holds it or may, and what it came from;
as JSON and as text."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from generator.answers.numbers import number, without_none
from generator.measures.kilos import kilos
from generator.measures.words import breakable, counted, date, listed
from generator.records.kitchen import Kitchen
from generator.sheet.recall import Affected, Recall
from generator.sheet.tracing import MIXED, Match, Origin

_MOST = 40
"""How many batches that may hold it the text names; JSON has all."""


@dataclass(frozen=True)
class Trace:
    """An answer: what was ``asked``, all that the number names, the records that can't be read, and
    whose law it is."""

    asked: str
    recalls: tuple[Recall, ...]
    unread: tuple[str, ...]
    kitchen: Kitchen


def what_to_do(kitchen: Kitchen) -> tuple[str, ...]:
    """What to do about a recalled lot: the usual caution, which gives way to the law."""
    return (
        "Hold every pack and batch below. Mark it: do not use, do not throw away.",
        "Stop serving the dishes below until somebody in charge has looked.",
        "Look at the shelves and labels too: what nobody wrote down isn't in this answer.",
        f"Tell your regulatory authority ({kitchen.code.adopted_by}) and follow the recall notice.",
        "If food was served or sold, they say who must be told, and how.",
        "Recall law where you are goes before anything here. This answer doesn't decide that food "
        "is safe.",
    )


def trace_record(trace: Trace) -> dict[str, Any]:
    """A trace as one JSON object: weights in grams, days as year-month-day."""
    return {
        "asked": trace.asked,
        "matches": [_recall(one) for one in trace.recalls],
        "records_not_read": list(trace.unread),
        "complete": not trace.unread,
        "what_to_do": list(what_to_do(trace.kitchen)),
        "basis": {
            "rule": "Every batch whose record names the lot, and every batch made of one of those, "
            f"at any depth. {MIXED}",
        },
    }


def _match(match: Match) -> dict[str, Any]:
    return without_none(
        {
            "item": match.item,
            "lot": match.lot,
            "from": match.supplier,
            "made_here": match.made_here,
            "records": list(match.records),
        }
    )


def _recall(one: Recall) -> dict[str, Any]:
    return {
        **_match(one.traced.match),
        "name": one.name,
        "used_g": number(one.traced.used_g),
        "holds": [_batch(b) for b in one.batches if b.holding.surely],
        "may_hold": [_batch(b) for b in one.batches if not b.holding.surely],
        "labels": [_label(b) for b in one.batches],
        "dishes": [
            {"formula": d.formula, "name": d.name, "recorded": d.recorded} for d in one.dishes
        ],
        "plans": [{"plan": p.plan, "name": p.name, "why": list(p.why)} for p in one.plans],
        "came_from": [_origin(o) for o in one.traced.origins],
        "alike": [_match(m) for m in one.alike],
    }


def _batch(one: Affected) -> dict[str, Any]:
    record = one.batch.record
    made = record.made
    return {
        "record": one.batch.id,
        "formula": record.formula,
        "name": one.name,
        "lot": record.lot,
        "day": record.day.isoformat(),
        "why": one.holding.why,
        "through": list(one.holding.through),
        "lot_g": number(one.holding.lot_g),
        "batch_g": number(made.value) if made is not None else None,
        "use_by": _iso(one.last.day),
        "use_by_from": one.last.by,
        "frozen_until": _iso(one.last.frozen_until),
        "size": record.size,
    }


def _iso(day: datetime.date | None) -> str | None:
    return day.isoformat() if day is not None else None


def _label(one: Affected) -> dict[str, Any]:
    """What its labels say, and how many there are; None where that isn't written."""
    record = one.batch.record
    return {
        "name": one.name,
        "lot": record.lot,
        "made": record.day.isoformat(),
        "use_by": _iso(one.last.day),
        "frozen_until": _iso(one.last.frozen_until),
        "labels": record.labels,
        "surely": one.holding.surely,
    }


def _origin(one: Origin) -> dict[str, Any]:
    used = one.used
    return {
        "of": one.of,
        "item": used.item,
        "lot": used.lot,
        "from": used.from_ or None,
        "mass_g": number(used.weight.value) if used.weight is not None else None,
        "made_here": one.made_here,
        "batches": list(one.batches),
    }


def trace_text(trace: Trace) -> str:
    """A trace as text: what to do first, then each thing the number names."""
    blocks = [["What to do", *(f"  {line}" for line in what_to_do(trace.kitchen))]]
    if trace.unread:
        blocks.append(
            [
                "NOT COMPLETE: these records can't be read, and may hold it: "
                f"{listed(trace.unread)}. Run `kitchen-manual check`."
            ]
        )
    if len(trace.recalls) > 1:
        words = f"{trace.asked} is the number of {counted(len(trace.recalls), 'thing')}. "
        blocks.append([f"{words}Narrow it with --item or --from."])
    for one in trace.recalls:
        blocks += _blocks(one)
    text = "\n\n".join("\n".join(block) for block in blocks if block)
    return breakable(text)


def _blocks(one: Recall) -> list[list[str]]:
    """What is said of one thing that the number names."""
    sure = [b for b in one.batches if b.holding.surely]
    maybe = [b for b in one.batches if not b.holding.surely]
    return [
        _head(one),
        _block("Batches that hold it", list(map(_batch_line, sure))),
        _block("Batches that may hold it: nobody wrote it down", list(_maybe_lines(maybe))),
        _block("Labels to look for", list(map(_label_line, one.batches[:_MOST]))),
        _block("Dishes", list(_dish_lines(one))),
        _block("Plans", [f"{p.name}: {listed(p.why)}." for p in one.plans]),
        _block("It came from", list(_origin_lines(one.traced.origins))),
    ]


def _maybe_lines(maybe: Sequence[Affected]) -> Iterator[str]:
    yield from (f"{_batch_line(b)} Why: {b.holding.why}." for b in maybe[:_MOST])
    if len(maybe) > _MOST:
        yield f"And {len(maybe) - _MOST} more: --format json has them all."


def _block(title: str, lines: Sequence[str]) -> list[str]:
    return [title, *(f"  {line}" for line in lines)] if lines else []


def _head(one: Recall) -> list[str]:
    match = one.traced.match
    whose = f" from {match.supplier}" if match.supplier else ""
    unsaid = "" if match.made_here or match.supplier else ", supplier not written"
    kind = "batch" if match.made_here else "lot"
    lines = [f"{one.name}, {kind} {match.lot}{whose}{unsaid}"]
    if match.made_here and not match.records:
        lines.append("  It has no record. Other records say that it was used.")
    if one.traced.used_g:
        lines.append(f"  {kilos(one.traced.used_g)} of it went into recorded batches.")
    for other in one.alike:
        supplier = f" from {other.supplier}" if other.supplier else ""
        lines.append(
            f"  {other.lot}{supplier} is written nearly alike. The same lot? Trace it too."
        )
    return lines


def _batch_line(one: Affected) -> str:
    record, grams = one.batch.record, one.holding.lot_g
    made = f"{kilos(record.made.value)} made" if record.made is not None else "weight not written"
    inside = f", {kilos(grams)} of the lot in it" if grams is not None else ", how much isn't known"
    through = ""
    if one.holding.through:
        through = f" Through {listed(one.holding.through)}."
    surely = inside if one.holding.surely else ""
    return f"{one.name} {record.lot}, {date(record.day)}: {made}{surely}.{through}"


def _label_line(one: Affected) -> str:
    record = one.batch.record
    many = counted(record.labels, "label") if record.labels is not None else "labels"
    if one.last.day is None:
        ends = "use by not known"
    else:
        by = {"label": "", "computed": " (computed)"}.get(one.last.by, " at the latest")
        ends = f"use by {date(one.last.day)}{by}"
    if one.last.frozen_until is not None:
        ends += f"; frozen, until {date(one.last.frozen_until)}"
    may = "" if one.holding.surely else ". May hold it"
    return f"{one.name}, lot {record.lot}, made {date(record.day)}: {many}, {ends}{may}"


def _dish_lines(one: Recall) -> Iterator[str]:
    for dish in one.dishes:
        yield dish.name if dish.recorded else f"{dish.name}: made of it, no batch recorded"


def _origin_lines(origins: Sequence[Origin]) -> Iterator[str]:
    for one in origins:
        used = one.used
        lot = f"lot {used.lot}" if used.lot is not None else "lot not written"
        whose = f" from {used.from_}" if used.from_ else ""
        weight = f", {kilos(used.weight.value)}" if used.weight is not None else ""
        record = "" if not one.made_here or one.batches or used.lot is None else ", no record"
        yield f"{used.item}, {lot}{whose}{weight}, in {one.of}{record}"

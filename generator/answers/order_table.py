"""The order of a plan as one table: a row for each thing that can't be done, to make, buy, prepare,
label and take from the shelf, and for what is left over."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from typing import Any

from generator.answers.numbers import number
from generator.answers.order import order_record
from generator.measures.words import breakable
from generator.sheet.order import Order
from generator.sheet.stock import Run, made_g

COLUMNS = (
    *("list", "day", "at", "station", "item", "what", "count", "mass_g", "use_by"),
    *("time_s", "note"),
)


def order_csv(order: Order) -> str:
    """The table in CSV, with a row of column names: weights in grams, days as year-month-day. A
    text that a spreadsheet would take for a formula begins with an apostrophe."""
    out = io.StringIO()
    writer = csv.DictWriter(out, COLUMNS, restval="", lineterminator="\n")
    writer.writeheader()
    for row in _rows(order):
        writer.writerow({key: _cell(value) for key, value in row.items() if value is not None})
    return out.getvalue().rstrip("\n")


def _cell(value: object) -> object:
    text = value if isinstance(value, str) else ""
    return f"'{text}" if text[:1] in ("=", "+", "-", "@") else value


def _rows(order: Order) -> Iterator[dict[str, object]]:
    """Every fact of the order's record but limits and cautions: what can't be done first."""
    found = order_record(order)
    for problem in found["problems"]:
        what = breakable(f"{problem['message']} {problem['help']}")
        item = problem["formula"]
        yield {"list": "problem", "item": item, "what": what, "note": problem["code"]}
    for kind, key in (("dish", "dishes"), ("past", "past")):
        for dish in found[key]:
            of = {"list": kind, "item": dish["formula"], "what": dish["amount"]}
            yield {**of, **_hour(dish["due"])}
    for run, made in zip(order.runs, found["make"], strict=True):
        yield from _run_rows(run, made)
    for one in order.shopping:
        yield from _bought(found["buy"], one.item)
    for prep in found["prep"]:
        for step in prep["steps"]:
            yield {
                "list": "prep",
                **_hour(step["start"]),
                "station": prep["station"],
                "item": prep["formula"],
                "what": step["step"],
                "time_s": step["time_s"],
                "note": _of_the_time(step),
            }
    for label in found["labels"]:
        yield {
            "list": "label",
            "day": label["made"],
            "item": label["formula"],
            "what": label.get("each", "batch"),
            "count": label["labels"],
            "use_by": label.get("use_by"),
        }
    for shelf in found["on_shelf"]:
        yield from _shelf_rows(shelf)


def _hour(stamp: str) -> dict[str, object]:
    day, at = stamp.split("T")
    return {"day": day, "at": at}


def _of_the_time(step: dict[str, Any]) -> str | None:
    if step["time_s"] is None:
        return "no time known"
    return "all loads" if step["all_loads"] else None


def _run_rows(run: Run, made: dict[str, Any]) -> Iterator[dict[str, object]]:
    """A run's batches, and the loads each is made in; when it is ready, what it is for and what is
    left of it."""
    station, item = run.sheet.formula.formula.home, run.sheet.id
    last = made.get("use_by")
    status = None if run.sheet.status == "current" else run.sheet.status
    for (batch, count), said in zip(run.made, made["batches"], strict=True):
        what = breakable(batch.label)
        yield {
            "list": "make",
            **_hour(made["start"]),
            "station": station,
            "item": item,
            "what": what,
            "count": count,
            "mass_g": number(made_g(run.sheet.walk, batch) * count),
            "use_by": last,
            "note": status,
        }
        for load in said["loads"]:
            of = {"list": "load", "station": station, "item": item, "what": load["step"]}
            where = f"each batch of {what}, in {load['equipment']}"
            yield {**of, "count": load["loads"], "note": where}
    if run.made:
        of = {"list": "ready", "item": item, "mass_g": made["made_g"], "use_by": last}
        day_one = made.get("day_one")
        note = f"day 1 is {day_one}" if day_one is not None else "not kept"
        yield {**of, **_hour(made["ready"]), "note": note}
    for use in made["uses"]:
        of = {"list": "use", "item": item, "what": use.get("into") or "served"}
        counted = {"count": use.get("count"), "note": use.get("counted")}
        yield {**of, **_hour(use["due"]), "mass_g": use["mass_g"], **counted}
    if made["left_g"]:
        day = _hour(made["ready"])["day"]
        of = {"list": "left", "day": day, "item": item, "what": "made"}
        yield {**of, "mass_g": made["left_g"], "use_by": last}


def _shelf_rows(shelf: dict[str, Any]) -> Iterator[dict[str, object]]:
    """What is on the shelf: what is used of it, and what is left."""
    what = "use"
    if shelf["past_its_day"]:
        what = "past its day" if shelf["use_by"] is not None else "last day not known"
    of = {"item": shelf["item"], "use_by": shelf["use_by"]}
    days = ", ".join(shelf["used_on"])
    note = f"used on {days}" if days else None
    yield {"list": "shelf", "what": what, **of, "mass_g": shelf["used_g"], "note": note}
    if shelf["left_g"]:
        note = what if shelf["past_its_day"] else None
        yield {
            "list": "left",
            "what": "on the shelf",
            **of,
            "mass_g": shelf["left_g"],
            "note": note,
        }


def _bought(rows: list[dict[str, Any]], item: str) -> Iterator[dict[str, object]]:
    """What is needed of one item, by its days, and what of it is bought: a row for each pack, or
    its weight where packs aren't known; what is left of opened packs."""
    for row in rows:
        if row["item"] != item:
            continue
        for day in row["days"]:
            yield {"list": "need", "day": day["day"], "item": item, "mass_g": day["mass_g"]}
        packs = row["packs"]
        base = {"list": "buy", "day": row["first_day"], "item": item, "mass_g": row["missing_g"]}
        if not row["missing_g"]:
            continue
        if not packs:
            yield {**base, "what": "not bought" if row["not_bought"] else "by weight"}
            continue
        for pack in packs:
            yield {**base, "what": pack["pack"], "count": pack["count"]}
        if row["left_g"]:
            yield {"list": "left", "item": item, "what": "opened packs", "mass_g": row["left_g"]}

"""The order of a plan as one table: a row for each thing to make, buy, prepare, label and take from
the shelf."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator

from generator.answers.numbers import number
from generator.answers.order import order_record
from generator.sheet.order import Order
from generator.sheet.stock import made_g

COLUMNS = ("list", "day", "at", "station", "item", "what", "count", "mass_g", "use_by")


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
    found = order_record(order)
    for run in order.runs:
        for batch, count in run.made:
            yield {
                "list": "make",
                "day": run.start.date().isoformat(),
                "at": f"{run.start:%H:%M}",
                "station": run.sheet.formula.formula.home,
                "item": run.sheet.id,
                "what": batch.label.replace("\u00a0", " "),
                "count": count,
                "mass_g": number(made_g(run.sheet.walk, batch) * count),
                "use_by": run.last.isoformat() if run.last is not None else None,
            }
    for one in order.shopping:
        yield from _bought(found["buy"], one.item)
    for prep in found["prep"]:
        for step in prep["steps"]:
            day, at = step["start"].split("T")
            yield {
                "list": "prep",
                "day": day,
                "at": at,
                "station": prep["station"],
                "item": prep["formula"],
                "what": step["step"],
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
    for shelf in order.shelf:
        yield {
            "list": "shelf",
            "item": shelf.item,
            "what": "past its day" if shelf.past else "use",
            "mass_g": number(shelf.used),
            "use_by": shelf.last.isoformat() if shelf.last is not None else None,
        }


def _bought(rows: list[dict[str, object]], item: str) -> Iterator[dict[str, object]]:
    """What is bought of one item: a row for each pack, or its weight where packs aren't known."""
    for row in rows:
        if row["item"] != item or not row["missing_g"]:
            continue
        packs = row["packs"]
        base = {"list": "buy", "day": row["first_day"], "item": item, "mass_g": row["missing_g"]}
        if not isinstance(packs, list) or not packs:
            yield {**base, "what": "not bought" if row["not_bought"] else "by weight"}
            continue
        for pack in packs:
            yield {**base, "what": pack["pack"], "count": pack["count"]}

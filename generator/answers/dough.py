"""The water of a dough on a day: as JSON and as text."""

from __future__ import annotations

from typing import Any

from generator.answers.numbers import number, without_none
from generator.measures.temperature import Degree
from generator.measures.words import breakable
from generator.sheet.dough_day import DoughDay
from generator.sheet.sheet import Batch, Sheet
from generator.views.dough_view import dough_rows, of_friction


def dough_record(sheet: Sheet, batch: Batch, day: DoughDay, unit: Degree) -> dict[str, Any]:
    """The water of a dough as one JSON object; temperatures in °C, weights in grams."""
    return without_none(
        {
            "formula": sheet.id,
            "size": batch.label,
            "wanted_c": number(day.wanted.temperature.celsius),
            "temperatures_c": {
                name: number(one.celsius)
                for name, one in zip(day.wanted.asked, day.others, strict=True)
            },
            "friction_c": number(day.friction.celsius),
            "friction_measured": day.measured or None,
            "water_c": number(day.water.celsius),
            "tap_c": number(day.tap.celsius) if day.tap is not None else None,
            "ice_share_pct": number(day.share * 100) if day.share is not None else None,
            "ice": [
                {
                    "ingredient": one.line.line.joined.item,
                    "loads": one.loads,
                    "ice_each_load_g": number(one.ice.ice_g),
                    "tap_each_load_g": number(one.ice.tap_g),
                }
                for one in day.lines
            ],
            "notes": list(day.notes),
            "basis": dict(dough_rows(sheet.house, day, unit)),
        }
    )


def dough_text(sheet: Sheet, batch: Batch, day: DoughDay, unit: Degree) -> str:
    """The same for the terminal."""
    head = f"{sheet.name} · {batch.label} · dough wanted at {day.wanted.temperature}"
    lines = [head, *(f"{name}: {words}" for name, words in dough_rows(sheet.house, day, unit))]
    if day.measured:
        lines.append(
            f"Friction of the dough you measured: {of_friction(day.friction, unit)}. Write it "
            "under `dough` in the formula, or at the mixer."
        )
    return breakable("\n".join(lines))

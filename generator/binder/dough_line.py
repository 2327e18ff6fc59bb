"""The water of a dough on a batch sheet."""

from __future__ import annotations

from generator.binder.sheets import Record, Words, bold
from generator.measures.words import NARROW
from generator.sheet.manual import Manual
from generator.sheet.sheet import Sheet
from generator.views.dough_view import dough_form


def dough_water(manual: Manual, sheet: Sheet) -> list[Record]:
    """The water of a dough, to be worked out with a pencil from the day's temperatures."""
    form = dough_form(manual, sheet)
    if form is None:
        return []
    blanks = ", ".join(f"{name.lower()} ______{NARROW}{form.unit}" for name in form.asked)
    words: Words = [
        bold("Water of the dough:"),
        f" {form.sum}, less {blanks}: water ______{NARROW}{form.unit}, ice ______. Dough measured "
        f"______{NARROW}{form.unit}, wanted ",
        bold(form.wanted),
        ".",
    ]
    return [{"form": "prose", "words": words, "phase": 0}]  # where it is weighed

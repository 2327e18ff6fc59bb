"""How a step likely goes, on paper: a small drawing of the band with its times in words. Where a
formula has several such steps, the sheet of a dated batch draws each, and the standing sheet says
each in words alone. Both leave them out where they would take a page more."""

from generator.binder.sheets import Record, bold
from generator.sheet.manual import Manual
from generator.sheet.sheet import Sheet
from generator.views.curve_view import svg_of
from generator.views.forecast_view import ForecastView, forecast_view

NOT_A_LIMIT = "A prediction, not a limit. Measure the food with a probe."


def curve_blocks(
    manual: Manual, sheet: Sheet, number: int, phase: int, dated: bool
) -> list[Record]:
    """The drawing of a step's forecast, or its words alone; none where there is none."""
    unit = sheet.house.kitchen.temperature
    every = manual.forecasts.get(sheet.id, ())
    drawn = dated or len(every) == 1  # several would push a limit onto a page of its own
    return [
        {**_block(forecast_view(one, unit), drawn), "phase": phase}
        for one in every
        if one.number == number
    ]


def _block(view: ForecastView, drawn: bool) -> Record:
    words: list[str | dict[str, str]] = [bold(view.sentence)]
    for row in view.rows:
        limit = f"; limit {row.limit}: {row.verdict}" if row.limit else ""
        words.append(f" {row.degrees}: {row.early} to {row.late}{limit}.")
    return {
        "form": "curve",
        "svg": svg_of(view.drawing) if drawn else None,
        "alt": f"{view.sentence} The band of the likely temperature over time.",
        "words": [*words, f" {NOT_A_LIMIT}"],
    }

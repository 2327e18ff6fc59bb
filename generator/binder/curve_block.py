"""How a step likely goes, on paper: a small drawing of the band with its times in words. Where a
formula has several such steps, the sheet of a dated batch draws each, and the standing sheet says
each in words alone. Both leave them out where they would take a page more."""

from generator.binder.sheets import Record, bold
from generator.sheet.manual import Manual
from generator.sheet.sheet import Sheet
from generator.views.forecast_view import HIGH, LEFT, TOP, WIDE, ForecastView, forecast_view

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
        "svg": _svg(view) if drawn else None,
        "alt": f"{view.sentence} The band of the likely temperature over time.",
        "words": [*words, f" {NOT_A_LIMIT}"],
    }


def _svg(view: ForecastView) -> str:
    """The drawing in greys: the band, the likely line, the law's corner, and both scales."""
    parts = [f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {LEFT + WIDE + 16} 160">']
    for tick in view.up:
        parts.append(f'<path d="M{LEFT},{tick.at}h{WIDE}" stroke="#c8c8c8" fill="none"/>')
        parts.append(_text(f'x="{LEFT - 6}" y="{tick.at}" dy="4" text-anchor="end"', tick.words))
    for tick in view.across:
        at = f'x="{tick.at}" y="{TOP + HIGH + 16}" text-anchor="middle"'
        parts.append(_text(at, tick.words))
    parts.append(f'<polygon points="{view.band}" fill="#d9d9d9"/>')
    parts += [
        f'<polyline points="{line}" fill="none" stroke="#000" stroke-width="1.5" '
        'stroke-dasharray="6 4"/>'
        for line in view.limits
    ]
    parts.append(f'<polyline points="{view.line}" fill="none" stroke="#000" stroke-width="2.5"/>')
    return "".join([*parts, "</svg>"])


def _text(place: str, words: str) -> str:
    return f'<text {place} font-family="Source Sans Pro" font-size="12">{words}</text>'

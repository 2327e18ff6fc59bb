"""`predict FORMULA --fit LOG`: the coefficient that a logged run of a step gives, and keeping it in
the equipment's file."""

from __future__ import annotations

import json
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

from generator.cli.predicted import NO_LIMIT, as_number
from generator.files.disk import write_together
from generator.files.finding import Refused
from generator.heat.fitting import Fit, NotThisStep, fit
from generator.intake.fitted_file import with_fitted
from generator.measures.about import degrees, time_words
from generator.measures.marks import as_written
from generator.measures.words import NARROW, breakable, plain
from generator.records.fitted import UNIT
from generator.review.readings import ReadingLog, Series, seconds_between
from generator.sheet.heat_case import FormulaCase
from generator.sheet.sheet import Sheet

_SHOWN = 12
_TO_THE_END = 0.8
"""A probe that was taken out before this share of a log says nothing of its end. Ours."""


@dataclass(frozen=True)
class Logged:
    """A log fitted: its file and probe, the readings (s, °C), and what they give."""

    log: ReadingLog
    series: Series
    readings: tuple[tuple[float, float], ...]
    fit: Fit


def fitted_log(asked: FormulaCase, log: ReadingLog) -> Logged:
    """The log's course at the slowest probe, fitted. Raises Refused for a log that isn't of the
    step."""
    if asked.kind not in ("chill", "cook"):
        raise Refused(
            "log-not-this-step",
            f"{asked.step} freezes or thaws: no coefficient is fitted to that.",
            "Name a step that chills or cooks with --step.",
        )
    series = slowest(log, cools=asked.kind == "chill")
    first = series.readings[0].at
    readings = tuple(
        (float(seconds_between(first, r.at)), float(r.temperature.celsius)) for r in series.readings
    )
    try:
        return Logged(log, series, readings, fit(asked.case, readings))
    except NotThisStep as problem:
        raise Refused(
            "log-not-this-step",
            f"{log.file} isn't a log of {asked.step} in {asked.place.name}: {problem}.",
            "Name its step, vessel, depth and chiller with --step, --vessel, --depth and --in. "
            "Cut what was logged before and after it.",
        ) from None


def slowest(log: ReadingLog, cools: bool) -> Series:
    """The probe that is furthest behind at the end, of those that were read until then. Raises
    Refused for a log without readings."""
    known = [one for one in log.series if one.readings]
    if not known:
        raise Refused("log-not-this-step", f"{log.file} has no readings.")
    first = min(one.readings[0].at for one in known)
    whole = max(float(seconds_between(first, one.readings[-1].at)) for one in known)
    known = [
        one
        for one in known
        if float(seconds_between(first, one.readings[-1].at)) >= _TO_THE_END * whole
    ]
    return (max if cools else min)(known, key=lambda s: s.readings[-1].temperature.celsius)


# -- keeping --------------------------------------------------------------------------------------


def keep(asked: FormulaCase, ident: str, logged: Logged, project: Path) -> str:
    """Write the fit under `fitted` of the equipment the food was in; says what was written. Raises
    Refused, and nothing is changed."""
    path = project / asked.place.place().file
    text = path.read_bytes().decode("utf-8")
    new = with_fitted(text, ident, asked.filled.vessel_id, _entry(asked, logged))
    write_together({path: new.encode("utf-8")})
    return f"Kept in {asked.place.place().file}, under `fitted` of {ident}."


def _entry(asked: FormulaCase, logged: Logged) -> list[str]:
    h, vessel = logged.fit.h, asked.filled.vessel_id
    residual = plain(Fraction(max(round(10 * logged.fit.off), 1), 10), 1)
    return [
        *([f"vessel: {vessel}"] if vessel is not None else []),
        f"h: {_figure(h.low)} to {_figure(h.high)} {UNIT}",
        f"log: {json.dumps(Path(logged.log.file).name, ensure_ascii=False)}",
        f"date: {logged.series.readings[0].at.astimezone(logged.log.zone).date().isoformat()}",
        f"residual: {residual} °C",
    ]


def _figure(value: float) -> str:
    return as_written(f"{value:.0f}" if value >= 20 else f"{value:.1f}")


# -- the answer -----------------------------------------------------------------------------------


def fit_answer(sheet: Sheet, asked: FormulaCase, logged: Logged, kept: str, form: str) -> str:
    """What the log gives, as text or JSON."""
    known = _known(asked)
    if form == "json":
        return json.dumps(_record(asked, logged, kept, known), ensure_ascii=False, indent=2)
    h, unit = logged.fit.h, sheet.house.kitchen.temperature
    lines = [
        f"{sheet.name}, {asked.step}, in {asked.place.name}: {logged.log.file}, probe "
        f"{logged.series.probe or '1'}, {len(logged.readings)} readings",
        f"The coefficient that fits: {_figure(h.likely)} ({_figure(h.low)} to {_figure(h.high)}) "
        f"{UNIT}.",
        f"Without the log it was taken as {known}.",
        f"The course began {_began(logged.fit.delay)} the first reading.",
        f"The log is off the fitted course by {_figure(logged.fit.off)}{NARROW}°C, as a mean.",
        _agreement(asked, logged.fit),
        kept or "Nothing was written. Keep it with --keep.",
        "",
        "    time   measured     off",
    ]
    step = max(1, len(logged.readings) // _SHOWN)
    rows = list(zip(logged.readings, logged.fit.residuals, strict=True))[::step]
    for (seconds, celsius), off in rows:
        shown = breakable(degrees(celsius, unit))
        at = breakable(time_words(seconds))
        lines.append(f"{at:>10}{shown:>11}{as_written(f'{off:+.1f}'):>8}")
    return "\n".join([*(line for line in lines if line is not None), "", NO_LIMIT])


def _known(asked: FormulaCase) -> str:
    around = asked.case.places[-1].around
    areas = asked.case.body.areas()
    one = around[max(around, key=lambda face: areas[face])]
    return f"{_figure(one.h.low)} to {_figure(one.h.high)} {UNIT} ({one.name})"


def _began(delay: float) -> str:
    if abs(delay) < 30:
        return "with"
    return f"{time_words(abs(delay))} {'after' if delay > 0 else 'before'}"


def _agreement(asked: FormulaCase, found: Fit) -> str:
    """Whether an older fit of the same vessel agrees."""
    for run in reversed(asked.place.fitted):
        if run.vessel == asked.filled.vessel_id:
            agrees = run.h.low <= found.h.high and found.h.low <= run.h.high
            word = "agree" if agrees else "don't agree: look for what has changed"
            return f"It and the run of {run.date.isoformat()} {word}."
    return "It is the first run of this vessel here."


def _record(asked: FormulaCase, logged: Logged, kept: str, known: str) -> dict[str, Any]:
    h = logged.fit.h
    return {
        "step": asked.step,
        "place": asked.place.name,
        "vessel": asked.filled.vessel_id,
        "log": logged.log.file,
        "probe": logged.series.probe,
        "h_w_m2_k": {edge: as_number(getattr(h, edge)) for edge in ("low", "likely", "high")},
        "before": known,
        "start_offset_s": as_number(logged.fit.delay),
        "residual_c": as_number(logged.fit.off),
        "residuals": [
            {"t_min": as_number(s / 60), "measured_c": as_number(c), "off_c": as_number(r)}
            for (s, c), r in zip(logged.readings, logged.fit.residuals, strict=True)
        ],
        "kept": bool(kept),
        "note": NO_LIMIT,
    }

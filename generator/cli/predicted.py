"""A prediction as text, as JSON and as a table: numbers beside words, with what it rests on."""

from __future__ import annotations

import csv
import io
import json
import math
from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from generator.answers.curve import curve_svg
from generator.heat.bodies import Body
from generator.heat.case import SIZE_OFF, Around, Case, Made
from generator.heat.checks import freezing_checks
from generator.heat.prediction import Prediction, Target
from generator.heat.ranges import Range
from generator.measures.about import degrees, time_words
from generator.measures.marks import as_written
from generator.measures.rounding import significant
from generator.measures.temperature import Degree
from generator.measures.words import NARROW, breakable, listed, plain

NO_LIMIT = (
    "This is a prediction, not a limit. It never makes a step pass. Measure the food with a probe."
)
_SHOWN_ROWS = 11
_METHOD = {
    False: "series of eigenfunctions, properties constant in each place (Carslaw and Jaeger 1959)",
    True: "enthalpy by finite volumes, ice by Miles 1974, properties by temperature",
}
_PROPERTIES = "Choi and Okos 1986; ASHRAE Handbook—Refrigeration, Thermal properties of foods"


def answer(case: Case, found: Prediction, form: str, unit: Degree) -> str:
    """The whole answer in a form: text (in a unit), json, csv or svg."""
    if form == "json":
        return json.dumps(record_of(case, found), ensure_ascii=False, indent=2)
    if form == "svg":
        return picture_of(found, [(t.celsius, None) for t in found.targets], unit)
    return table_of(found) if form == "csv" else text_of(case, found, unit)


# -- numbers --------------------------------------------------------------------------------------


def as_number(value: float) -> float | None:
    """Six digits: more than any of it is worth; nothing where it is never."""
    return None if math.isinf(value) else float(f"{value:.6g}")


def minutes_of(seconds: Range) -> dict[str, float | None]:
    return {edge: as_number(getattr(seconds, edge) / 60) for edge in ("low", "likely", "high")}


def record_of(case: Case, found: Prediction) -> dict[str, Any]:
    """The answer as JSON: minutes are from the start of the last place, the course's from the
    first; nothing where it may never be."""
    targets = [_target(case.body, t) for t in found.targets]
    last = targets[-1] if targets else {"slowest_at": _where(case.body, found.slowest)}
    record: dict[str, Any] = {
        "body": case.body.name,
        "slowest_at": last["slowest_at"],
        "to_target_min": last.get("to_target_min"),
        "first_reading_min": last.get("first_reading_min"),
        "targets": targets,
        "before_min": as_number(found.before / 60),
        "curve": [
            {
                "t_min": as_number(row.seconds / 60),
                "low_c": as_number(row.celsius.low),
                "likely_c": as_number(row.celsius.likely),
                "high_c": as_number(row.celsius.high),
            }
            for row in found.rows
        ],
        "slow_side_min": {name: as_number(s / 60) for name, s in found.spread},
    }
    checks = _checks(case, found)
    if checks:
        record["cross_checks_min"] = {name: as_number(s / 60) for name, s in checks}
    record["assumed"] = _assumed(case)
    record["basis"] = {"method": _METHOD[found.frozen], "properties": _source(case)}
    record["note"] = NO_LIMIT
    return record


def _target(body: Body, target: Target) -> dict[str, Any]:
    return {
        "target_c": as_number(target.celsius),
        "to_target_min": minutes_of(target.seconds),
        "first_reading_min": as_number(target.seconds.low / 60),
        "slowest_at": _where(body, target.where),
    }


def _where(body: Body, shares: tuple[float, ...]) -> dict[str, float | None]:
    """Where a point is, as shares of the body: of a length from its first face, of a radius from
    the middle."""
    of = {
        "slab": ["thickness"],
        "sphere": ["radius"],
        "long cylinder": ["radius"],
        "cylinder": ["radius", "height"],
    }.get(body.name, ["length", "width", "height"])
    return {name: as_number(share) for name, share in zip(of, shares, strict=True)}


def _checks(case: Case, found: Prediction) -> list[tuple[str, float]]:
    if not found.frozen or not found.targets:
        return []
    return [(c.name, c.seconds) for c in freezing_checks(case, found.targets[-1].celsius)]


def _source(case: Case) -> str:
    return _PROPERTIES if isinstance(case.stuff, Made) else "as stated"


def _bounds(value: Range, unit: str) -> dict[str, Any]:
    return {
        "low": as_number(value.low),
        "likely": as_number(value.likely),
        "high": as_number(value.high),
        "unit": unit,
    }


def _assumed(case: Case) -> dict[str, Any]:
    """Every figure the prediction rests on, with its bounds."""
    stuff = case.stuff
    if isinstance(stuff, Made):
        shares = stuff.composition.shares
        made: dict[str, Any] = {
            "composition_pct": {
                n: {e: as_number(100 * getattr(s, e)) for e in ("low", "likely", "high")}
                for n, s in shares.items()
            },
            "conductivity_off_pct": as_number(100 * stuff.off),
        }
        if case.freezes and stuff.freezes_at is not None:
            made["freezes_at"] = _bounds(stuff.freezes_at, "°C")
    else:
        made = {
            "conductivity": _bounds(stuff.conductivity, "W/(m K)"),
            "heat_capacity": _bounds(stuff.capacity, "J/(m³ K)"),
        }
    return {
        **made,
        "start_c": _bounds(case.start, "°C"),
        "size_off_pct": as_number(100 * (case.size.high - 1)),
        "media_off_c": as_number(case.degrees),
        "places": [
            {
                face: {
                    "h": _bounds(a.h, "W/(m² K)"),
                    "medium": a.name or None,
                    "course_c": [[as_number(t / 60), as_number(c)] for t, c in a.course.points],
                }
                for face, a in place.around.items()
            }
            for place in case.places
        ],
        "left_out": "evaporation from a wet surface, shrinking, boiling, heat the food makes",
        "doubts": doubts(case),
    }


def doubts(case: Case) -> list[str]:
    """What speaks against a prediction, in a sentence each: nothing where nothing does."""
    media = [c for p in case.places for a in p.around.values() for c in a.course.extremes]
    found = []
    if isinstance(case.stuff, Made) and max(media) > 100 and not case.stuff.dry:
        found.append("the surface of wet food stays near 100 °C: it takes longer than this")
    if not isinstance(case.stuff, Made) and case.stuff.frozen is None and min(media) < 0:
        found.append("nothing is said of its freezing: it is taken not to freeze")
    return found


# -- words ----------------------------------------------------------------------------------------


def text_of(case: Case, found: Prediction, unit: Degree) -> str:
    """The answer for the terminal."""
    lines = [f"{case.body.name.capitalize()}, from {degrees(case.start.likely, unit)}"]
    if found.before:
        lines.append(f"  {time_words(found.before)} in the places before the last")
    for target in found.targets:
        lines += target_lines(case, target, unit)
    lines += ["", *course_lines(found, unit), "", *rests_on(case, found, unit), "", NO_LIMIT]
    return "\n".join(lines)


def never_words(seconds: Range) -> str:
    """What is said of a time that likely never comes: it can't, or it may by the band."""
    if math.isinf(seconds.low):
        return "it never gets there"
    return f"it may never get there, {time_words(seconds.low)} at the soonest"


def target_lines(case: Case, target: Target, unit: Degree) -> list[str]:
    """When a target is reached, where last, and when to read first."""
    seconds = target.seconds
    if math.isinf(seconds.likely):
        return [f"{degrees(target.celsius, unit)}: {never_words(seconds)}."]
    first = f"{degrees(target.celsius, unit)} all through: about {time_words(seconds.likely)}"
    if seconds.low < seconds.high:
        last = "perhaps never" if math.isinf(seconds.high) else time_words(seconds.high)
        first += f" ({time_words(seconds.low)} to {last})"
    lines = [f"{first}.", f"  {probe_words(case.body, target.where)}"]
    if seconds.low < seconds.high:
        lines.append(f"  First reading: after {time_words(seconds.low)}.")
    return lines


_MIDDLE = 0.03
"""A share so near to the middle counts as the middle."""


def probe_words(body: Body, where: tuple[float, ...]) -> str:
    """Where a probe goes: to the last point to get there, in mm from the bottom where that isn't
    the middle."""
    aside = [
        (axis, share)
        for axis, share in zip(body.axes, where, strict=True)
        if abs(share - (0.5 if axis.kind == "slab" else 0.0)) > _MIDDLE
    ]
    if not aside:
        return "Put the probe in the middle: it is the last point to get there."
    axis, share = aside[0]
    if len(aside) > 1 or "bottom" not in axis.faces:
        named = _where(body, where).items()
        shares = ", ".join(
            f"{n} {plain(Fraction(round(100 * (s or 0))))}{NARROW}%" for n, s in named
        )
        return f"Put the probe at {shares}: it is the last point to get there."
    up = plain(Fraction(round(1000 * share * axis.size)))
    return f"Put the probe {up}{NARROW}mm above the bottom: it is the last point to get there."


def course_lines(found: Prediction, unit: Degree) -> list[str]:
    rows = found.rows
    step = max(1, (len(rows) - 1) // (_SHOWN_ROWS - 1))
    lines = [f"    time       {unit}     from       to"]
    for row in rows[::step]:
        values = (row.celsius.likely, row.celsius.low, row.celsius.high)
        read = [v if unit == "°C" else v * 1.8 + 32 for v in values]
        shown = "".join(f"{as_written(f'{v:.1f}'):>9}" for v in read)
        lines.append(f"{breakable(time_words(row.seconds)):>8}{shown}")
    return lines


def rests_on(case: Case, found: Prediction, unit: Degree) -> list[str]:
    lines = ["It rests on:"]
    lines += [f"  {words}" for words in _stuff_words(case)]
    for number, place in enumerate(case.places, 1):
        head = f"place {number}, " if len(case.places) > 1 else ""
        alike: dict[str, list[str]] = {}
        for face, around in place.around.items():
            alike.setdefault(_around_words(around, unit), []).append(face)
        lines += [f"  {head}{listed(faces)}: {words}" for words, faces in alike.items()]
    if case.size.high > 1:
        lines.append(f"  sizes within {plain(Fraction(round(100 * SIZE_OFF)))}{NARROW}%")
    if case.degrees:
        lines.append(f"  temperatures within {plain(Fraction(case.degrees), 1)}{NARROW}°C")
    for name, seconds in _checks(case, found):
        lines.append(f"  beside it: {name} gives {time_words(seconds)}")
    if found.spread:
        worst, seconds = found.spread[0]
        late = (
            "may keep it from getting there" if math.isinf(seconds) else f"+{time_words(seconds)}"
        )
        lines.append(f"  what matters most: {worst} ({late})")
    lines.append(f"  method: {_METHOD[found.frozen]}")
    lines.append(f"  properties: {_source(case)}")
    lines.append("  left out: evaporation, shrinking, boiling, heat the food makes")
    return lines + [f"  {words}" for words in doubts(case)]


def _stuff_words(case: Case) -> list[str]:
    stuff = case.stuff
    if not isinstance(stuff, Made):
        k = _bounds_words(stuff.conductivity, "W/(m K)")
        return [f"conductivity {k}", f"heat capacity {_bounds_words(stuff.capacity, 'J/(m³ K)')}"]
    shares = [f"{n} {_bounds_words(_percent(s), '%')}" for n, s in stuff.composition.shares.items()]
    lines = [", ".join(shares)]
    if stuff.off:
        lines.append(f"conductivity within {plain(Fraction(round(100 * stuff.off)))}{NARROW}%")
    if case.freezes and stuff.freezes_at is not None:
        lines.append(f"it freezes from {_bounds_words(stuff.freezes_at, '°C')} on")
    return lines


def _percent(share: Range) -> Range:
    return Range(100 * share.low, 100 * share.likely, 100 * share.high)


def _around_words(around: Around, unit: Degree) -> str:
    if around.h.high == 0:
        return "insulated"
    name = f"{around.name}, " if around.name else ""
    points = around.course.points
    course = " → ".join(degrees(c, unit) for _, c in points)
    if len(points) > 1:
        course += f" in {time_words(points[-1][0])}"
    return f"{name}{_bounds_words(around.h, 'W/(m² K)')}, at {course}"


def _bounds_words(value: Range, unit: str) -> str:
    shown = _figure(value.likely)
    if value.low < value.high:
        shown += f" ({_figure(value.low)} to {_figure(value.high)})"
    return f"{shown}{NARROW}{unit}"


def _figure(value: float) -> str:
    return plain(significant(Fraction(value).limit_denominator(10**6), 3), 6)


def table_of(found: Prediction) -> str:
    """The course as CSV, one row a moment."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(["t_min", "low_c", "likely_c", "high_c"])
    for row in found.rows:
        values = (row.seconds / 60, row.celsius.low, row.celsius.likely, row.celsius.high)
        writer.writerow([f"{v:.6g}" for v in values])
    return out.getvalue()


def picture_of(
    found: Prediction, corners: Sequence[tuple[float, float | None]], unit: Degree
) -> str:
    """The course as SVG in a unit. ``corners``: °C, and within how many s of the last place."""
    rows = [(r.seconds, r.celsius.low, r.celsius.likely, r.celsius.high) for r in found.rows]
    law = [(at, None if within is None else within + found.before) for at, within in corners]
    return curve_svg(rows, law, unit)

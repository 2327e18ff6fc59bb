"""A process spec that stands alone in the words and figures of its page and its sheet."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from generator.measures.rounding import to_side
from generator.measures.temperature import Degree, Temperature
from generator.measures.words import NARROW, duration, duration_figure, plain
from generator.rules.basics.limit import Source
from generator.rules.basics.missed import in_general
from generator.rules.routine.checks import Checked, CheckedRoutine
from generator.rules.routine.readings import Reading
from generator.sheet.manual import Manual
from generator.views.limit_view import LABELS, other_scale

_NAMES = {
    "sanitiser": "Sanitiser",
    "hot-water": "Sanitise in hot water",
    "dish-machine": "Dish machine",
    "receiving": "What comes in",
    "cold": "Kept cold",
    "hot": "Kept hot",
    "ice-point": "Probe in ice",
    "boiling-point": "Probe in boiling water",
    "power-cut": "Power cut",
}
_OF = {
    "chlorine": "Chlorine sanitiser",
    "iodine": "Iodine sanitiser",
    "quat": "Quaternary ammonium sanitiser",
}
_WRITTEN_IN = {
    "receiving": ("log-receive", "Receiving log"),
    "cold": ("log-cold", "Cold holding log"),
    "hot": ("log-hot", "Hot holding log"),
    "ice-point": ("log-calibration", "Thermometer log"),
    "boiling-point": ("log-calibration", "Thermometer log"),
}
"""The log of a station in which a check's reading is written, by the kind of check; the others are
written on the routine's own sheet."""


@dataclass(frozen=True)
class ReadingView:
    """One reading: its ``name``, its figure as number and unit, the ``words`` behind it, ``other``
    the figure in the other temperature scale, ``law`` the figures as enacted with where they are,
    ``missed`` what is lost after a time."""

    name: str
    number: str
    unit: str
    words: str
    other: tuple[str, str]
    law: tuple[tuple[str, str], ...]
    missed: str
    note: str

    @property
    def figure(self) -> str:
        """The figure as a sentence says it: "50 to 100 ppm", "pH 8"."""
        parts = (self.unit, self.number) if self.unit == "pH" else (self.number, self.unit)
        return NARROW.join(parts)


@dataclass(frozen=True)
class RoutineStep:
    """One check as it is read: its ``name``, what to do, its readings, what to do if one is missed,
    how often, where it is done, and why it has no figure."""

    number: int
    name: str
    how: tuple[str, ...]
    place: tuple[tuple[str, str], ...]
    every: str
    readings: tuple[ReadingView, ...]
    missed: str
    note: str
    why: str
    document: str


def written_in(checked: Checked) -> tuple[str, str] | None:
    """The key and the name of the station's log a check is written in; None where it is written on
    the routine's own sheet."""
    return _WRITTEN_IN.get(checked.check.check or "")


def routine_steps(manual: Manual, routine: CheckedRoutine) -> tuple[RoutineStep, ...]:
    """The checks of a routine, in their order."""
    return tuple(_step(manual, checked) for checked in routine.checks)


def check_name(checked: Checked) -> str:
    """What is checked: "Chlorine sanitiser"; empty for a task."""
    check = checked.check
    if check.check is None:
        return ""
    return _OF.get(check.of or "", _NAMES[check.check])


def _step(manual: Manual, checked: Checked) -> RoutineStep:
    check = checked.check
    words = manual.library.hazards.get(checked.hazard)
    named = [i for i in (check.with_, check.in_) if i in manual.standards.equipment]
    return RoutineStep(
        checked.number,
        check_name(checked),
        check.how or ((words.check,) if words is not None else ()),
        tuple((i, manual.standards.equipment[i].name) for i in named if i),
        f"at least every {duration(check.every.seconds)}" if check.every else "",
        tuple(_reading(reading) for reading in checked.readings),
        check.if_missed or (in_general(words) if words is not None else ""),
        check.note,
        checked.why,
        check.label.document if check.label is not None else "",
    )


def _reading(reading: Reading) -> ReadingView:
    number, unit, words = _figure(reading)
    return ReadingView(
        reading.name,
        number,
        unit,
        words,
        _other(reading),
        tuple((f"{_label(source)} {said}", _where(source)) for said, source in reading.law),
        _lost(reading),
        reading.words,
    )


def _figure(reading: Reading) -> tuple[str, str, str]:
    """A reading's figure, its unit, and the words behind it: ("50 to 100", "ppm", ""), ("25",
    "°C", "or hotter")."""
    least, most = reading.least, reading.most
    if reading.quantity == "time":
        return *duration_figure(to_side(least or Fraction(0), "up"), days=False), "or longer"
    ends = [plain(end) for end in (least, most) if end is not None]
    unit = "pH" if reading.quantity == "ph" else reading.unit
    if len(ends) == 2:
        return " to ".join(ends), unit, ""
    if reading.quantity == "temperature":
        return ends[0], unit, "or hotter" if least is not None else "or colder"
    return ends[0], unit, "or more" if least is not None else "or less"


def _other(reading: Reading) -> tuple[str, str]:
    """A temperature in the other scale, its limit on the probe; empty for anything else."""
    if reading.quantity != "temperature" or not reading.figures:
        return "", ""
    unit = other_scale("°C" if reading.unit == "°C" else "°F")
    ends: list[str] = []
    for end, bound in ((reading.least, "min"), (reading.most, "max")):
        if end is None:
            continue
        law = [f.read_at(unit) for f in reading.figures if f.bound == bound]
        own = Temperature.of(end, "°C" if unit == "°F" else "°F")
        side = own.rounded(unit, "up" if bound == "min" else "down")
        strictest = max if bound == "min" else min
        ends.append(plain(strictest(law) if _is_law(reading, bound) else strictest(side, *law)))
    return " to ".join(ends), unit


def _is_law(reading: Reading, bound: str) -> bool:
    """Whether what is read is the law's own figure, and not a stricter one of the chef's."""
    unit: Degree = "°C" if reading.unit == "°C" else "°F"
    law = [f.read_at(unit) for f in reading.figures if f.bound == bound]
    end = reading.least if bound == "min" else reading.most
    return end == (max(law) if bound == "min" else min(law))


def _label(source: Source) -> str:
    """Whose a figure is."""
    if source.standing in ("label", "nature"):
        return "Label" if source.standing == "label" else "Reads"
    return LABELS.get(source.standing, "Code")


def _where(source: Source) -> str:
    """Where a figure is: its document and clause."""
    if source.clause.startswith(source.document):
        return source.clause
    return ", ".join(w for w in (source.document, source.clause) if w)


def _lost(reading: Reading) -> str:
    """What is thrown away after a time, in a sentence."""
    if reading.within_s is None:
        return ""
    side = "above" if reading.most is not None else "below"
    return f"{side.capitalize()} it for {duration(reading.within_s)} or longer? Throw it away."


def routines_at(manual: Manual, station: str) -> Iterator[CheckedRoutine]:
    """The routines a station does, in the order of their names."""
    found = [r for r in manual.routines.values() if station in r.routine.station]
    yield from sorted(found, key=lambda r: r.routine.name.lower())

"""The line of a log that names its columns: where it is, and what it says."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from generator.files.finding import BrokenData, Finding
from generator.measures.temperature import Degree
from generator.review.logger_files import LogLine, log_fault

_MOST_PREAMBLE = 60
"""Lines that a logger writes about itself before the heads of its columns."""
_TIMES = frozenset(
    {"time", "date/time", "date time", "date_time", "date-time", "datetime", "timestamp"}
)
_TIMES_READ = {
    **dict.fromkeys(("clock", "clock time", "time of day", "read at", "logged at"), "en"),
    **dict.fromkeys(("zeit", "uhrzeit", "datum/uhrzeit", "datum uhrzeit", "datum/zeit"), "de"),
    **dict.fromkeys(("datum zeit", "datum und uhrzeit", "zeitpunkt", "zeitstempel"), "de"),
    **dict.fromkeys(("heure", "date/heure", "date heure", "date et heure", "horodatage"), "fr"),
    **dict.fromkeys(("hora", "fecha/hora", "fecha hora", "fecha y hora", "marca de tiempo"), "es"),
    **dict.fromkeys(("ora", "data/ora", "data ora", "data e ora", "orario"), "it"),
}
"""More heads of times, which a note repeats: in English, German, French, Spanish and Italian."""
_DATES_READ = frozenset({"date", "datum", "fecha", "data"})
_TIME = re.compile(
    r"(?P<name>[a-z/ _-]+?)[ ,]*[(\[]?"
    r"(?P<zone>(?:GMT|UTC)\s*(?P<offset>[+-]\d{1,2}:?\d{2})?)[)\]]?",
    re.IGNORECASE,
)
"""A head of times that says their zone: `Date Time, GMT-06:00`."""
_ELAPSED = re.compile(
    r"elapsed|duration|run ?time|\b(?:min|mins|minutes?|s|sec|secs|seconds?|h|hrs?|hours?)\b",
    re.IGNORECASE,
)
_SERIAL = re.compile(r"\s*\([^()]*S/N[^()]*\)$", re.IGNORECASE)
"""What a logger writes of itself behind a head: `Temp, °F (LGR S/N: 2098, SEN S/N: 2098)`."""
_WARMTH = re.compile(
    r"[°º]|temp|celsius|fahrenheit|ambient|dew|set[ _-]?point|\bair\b|\b[cf]\b", re.IGNORECASE
)
"""A column that may be of temperatures."""
_PRODUCTS = frozenset(
    {
        "product",
        "product name",
        "food",
        "food item",
        "item",
        "item name",
        "dish",
        "recipe",
        "formula",
    }
)
_PROBES = frozenset({"probe", "channel", "sensor"})
_UNIT = r"[(\[]?(?P<sign>°|º|deg(?:rees?)?\.?)?\s*(?P<unit>[cf])(?:elsius|ahrenheit)?[)\]]?"
_HEAD = re.compile(
    r"(?P<word>temp(?:erature)?\.?|reading|value|celsius|fahrenheit)?[ _,]*"
    + _UNIT.replace("[cf])", "[cf])?", 1),
    re.IGNORECASE,
)
_VESSEL = (
    "pans?|pots?|trays?|tubs?|gn|gastro(?:norm)?|hotel pan|buckets?|bowls?|batch|load|rack|roast|"
    "joint|pieces?|sample|container"
)
"""What holds the food, or is it: a column with its scale is of a probe in it."""
_ABROAD = (
    "temperatur|temperatura|temp[ée]rature|kerntemperatur|temp|f(?:ü|ue)hler|sonde|sonda|kanal|"
    "canale?|messwert|valeur|valor|valore|kern|produkt|produit|producto|prodotto|"
    "(?:à |a )?c(?:œ|oe)ur|(?:al )?cuore|(?:del )?n[úu]cleo|interna|interne"
)
"""The same in German, French, Spanish and Italian."""
_WORD = (
    "temp(?:erature)?|probe|core|sensor|channel|ch|thermocouple|tc|t|food|product|internal|"
    f"cent(?:re|er)|reading|value|top|bottom|side|{_VESSEL}|{_ABROAD}"
)
_NUMBERED = re.compile(
    rf"(?P<name>(?:(?:{_WORD})[ _.\-]*)+(?:(?:no\.?|\#)?\s*\d{{1,3}}|[a-z](?![a-z]))?"
    rf"(?:(?<=\d)[ _.\-]*temp(?:erature)?\.?)?)"
    rf"(?:[ _,/]+|(?=[(\[°º])){_UNIT}",
    re.IGNORECASE,
)
"""A head that names a probe and its scale: `Probe 1 (°C)`, `Core temp 2 [°F]`, `T1/°C`."""
_UNSAID = re.compile(rf"(?:(?:{_WORD})[ _.\-]*)+(?:(?:no\.?|\#)?\s*\d{{1,3}})?", re.IGNORECASE)
"""A head of temperatures, or a probe's, that doesn't say its scale: its cells may."""
NO_READING = frozenset(
    {"", "-", "--", "---", "n/a", "na", "nan", "null", "none", "err", "error", "open", "no reading"}
)
"""What loggers write when the probe gave nothing: a drop-out, not a temperature."""
NUMBER = re.compile(r"([-+−]?\d{1,4}(?:[.,]\d{1,6})?)\s*(?:°?\s*([CF]))?", re.ASCII | re.IGNORECASE)
"""A temperature, with its own scale or without: `64`, `64C`, `147 °F`."""
FORM = (
    "A line names the columns: time,probe,temp_c (or temp_f). Or time and a column for each probe, "
    "as in Probe 1 (°C)."
)


@dataclass(frozen=True)
class Heads:
    """Where the columns are. ``names`` are the probes of columns of temperatures, by their
    places, where each probe has a column of its own; empty where a row is one reading. ``zone`` is
    that of stamps without one, where the head says it; ``product`` is the column that
    names the food; ``left_out`` are columns that nothing is taken from; ``read_as`` says what was
    taken of heads that aren't the usual ones."""

    time: int
    date: int | None
    temperature: int
    probe: int | None
    unit: Degree
    width: int
    separator: str
    names: tuple[tuple[int, str], ...] = ()
    zone: datetime.tzinfo | None = None
    left_out: tuple[str, ...] = ()
    product: int | None = None
    read_as: str = ""


def find_heads(path: Path, lines: list[LogLine]) -> tuple[int, Heads]:
    """The line that names the columns, by its place among ``lines``, and what it says.

    Raises BrokenData, with what the first line lacks if no line names a time and a temperature."""
    for index, line in enumerate(lines[:_MOST_PREAMBLE]):
        for separator in sorted(",;\t", key=line.text.count, reverse=True):
            names = [cell.lower() for cell in line.parted(separator) or ()]
            if not any(_is_time(n) for n in names):
                continue
            scales = _scales(names, lines[index + 1 :], separator)
            if scales or any(_temperature_head(n) for n in names):
                return index, _named(path, line, separator, scales)
    raise BrokenData([_lacking(path, lines[:_MOST_PREAMBLE])])


def _scales(names: Sequence[str], rows: Sequence[LogLine], separator: str) -> Mapping[int, str]:
    """The scales, C or F, of columns of temperatures by their places: those that heads say; where
    none does, that which every cell of a column says of itself."""
    said = {i: match["unit"] for i, name in enumerate(names) if (match := _temperature_head(name))}
    if any(said.values()):
        return {i: unit.upper() for i, unit in said.items() if unit}
    return {i: scale for i, scale in _by_cells(names, rows, separator) if scale}


def _by_cells(
    names: Sequence[str], rows: Sequence[LogLine], separator: str
) -> Iterator[tuple[int, str]]:
    """What the cells below a head say that may be of temperatures."""
    others = _PROBES | _PRODUCTS
    for at, name in enumerate(names):
        if _UNSAID.fullmatch(name) and name not in others:
            parted = (row.parted(separator) or () for row in rows)
            yield at, _said_in([cells[at] for cells in parted if len(cells) > at])


def _said_in(cells: Sequence[str]) -> str:
    """The scale that every cell says of itself; "" where one says none, or another."""
    said = {_own_scale(cell) for cell in cells} - {None}
    return str(said.pop()) if len(said) == 1 else ""


def _own_scale(cell: str) -> str | None:
    """The scale a cell says of itself, "" for none; None where the probe gave nothing."""
    if cell.lower() in NO_READING:
        return None
    match = NUMBER.fullmatch(cell)
    return (match[2] or "").upper() if match else ""


def _lacking(path: Path, lines: list[LogLine]) -> Finding:
    """What the line lacks that comes nearest to naming the columns: the first that has a time, else
    the first of all."""
    for line in lines:
        for separator in sorted(",;\t", key=line.text.count, reverse=True):
            cells = line.parted(separator) or ()
            if not any(_is_time(cell.lower()) for cell in cells):
                continue
            message, help = "There is no column temp_c or temp_f.", FORM
            degrees = [cell for cell in cells if _WARMTH.search(cell)]
            if degrees:
                name = degrees[0][:40]
                message = (
                    f"`{name}` isn't known as the food's temperature in °C or °F. There is no "
                    f"column temp_c or temp_f."
                )
                help = f"If it is the food's, rename this column temp_c, or temp_f. {FORM}"
            return log_fault("readings-header", path, line.number, line.text, message, help)
    return _without_time(path, lines)


_TIME_AND_READING = 2


def _without_time(path: Path, lines: list[LogLine]) -> Finding:
    """What is said where no line names a time: by the line that names a temperature, or the
    first."""
    for line in lines:
        for separator in sorted(",;\t", key=line.text.count, reverse=True):
            cells = line.parted(separator) or ()
            if len(cells) >= _TIME_AND_READING and any(map(_WARMTH.search, cells)):
                message, help = _no_time_among(cells)
                return log_fault("readings-header", path, line.number, line.text, message, help)
    line = lines[0]
    words = "There is no column time."
    return log_fault("readings-header", path, line.number, line.text, words, FORM)


def _no_time_among(cells: Sequence[str]) -> tuple[str, str]:
    """What is said of heads among which none is known as the time, and what to do."""
    elapsed = next((c for c in cells if _ELAPSED.search(c)), None)
    if sum(map(_side_by_side, cells)) > 1:
        return (
            "The readings are side by side, and none has its own time of day.",
            "Write the time it was read beside each temperature: Date, Food, Time, Temp (°F), "
            f"Time, Temp. Or write a line for each reading. {FORM}",
        )
    dated = next((c for c in cells if re.search("date|time", c, re.IGNORECASE)), None)
    if elapsed is not None:
        return (
            f"`{elapsed[:40]}` is not a time of day. There is no column time.",
            "Write clock times in a column time, as in 2026-11-25 14:05.",
        )
    if dated is not None:
        return (
            f"`{dated[:40]}` isn't known as the time. There is no column time.",
            f"If it holds dates with times, rename this column time. {FORM}",
        )
    named = ", ".join(f"`{cell[:40]}`" for cell in cells[:6] if cell)
    return (
        "There is no column time.",
        f"The columns are {named}. Rename the column of times to time. Rename the food's "
        f"temperature to temp_c or temp_f. {FORM}",
    )


def _side_by_side(cell: str) -> bool:
    """Whether it heads the readings of one hour after the start: `2 hr`, `Temp after 4 hours`."""
    return re.search(r"\d\s*(?:h|hrs?|hours?|min|mins|minutes?)\b", cell, re.IGNORECASE) is not None


def _is_time(name: str) -> bool:
    match = _TIME.fullmatch(name)
    return (
        name in _TIMES
        or name in _TIMES_READ
        or (match is not None and match["name"].strip() in _TIMES)
    )


def _zone_of(name: str) -> datetime.tzinfo | None:
    """The zone that a head of times says; None where it says none. Raises ValueError for one that
    is none."""
    match = _TIME.fullmatch(name) if name not in _TIMES and name not in _TIMES_READ else None
    if match is None:
        return None
    digits = re.sub(r"\D", "", match["offset"] or "0000")
    hours, minutes = int(digits[:-2]), int(digits[-2:])
    if hours > 14 or minutes > 59:
        raise ValueError(name)
    offset = datetime.timedelta(hours=hours, minutes=minutes)
    return datetime.timezone(-offset if "-" in match["zone"] else offset)


_AT_ODDS = ({"celsius", "f"}, {"fahrenheit", "c"})


def _temperature_head(name: str) -> re.Match[str] | None:
    """A head of temperatures: a word for it, a sign of degrees, or both; its unit may be missing.
    Or a probe's with its unit."""
    name = _SERIAL.sub("", name)
    match = _HEAD.fullmatch(name)
    if match and match["unit"] and {match["word"], match["unit"]} in _AT_ODDS:
        return None
    if match and (match["word"] or (match["sign"] and match["unit"])):
        return match
    return _NUMBERED.fullmatch(name)


def _named(path: Path, line: LogLine, separator: str, units: Mapping[int, str]) -> Heads:
    def broken(message: str, help: str = FORM) -> BrokenData:
        return BrokenData(
            [log_fault("readings-header", path, line.number, line.text, message, help)]
        )

    cells = line.parted(separator) or ()
    names = [cell.lower() for cell in cells]
    if not units:
        bare = next(filter(_temperature_head, names))
        raise broken(
            f"`{bare}` doesn't say °C or °F. There is no column temp_c or temp_f.",
            f"{FORM} Or write the same scale in every cell, as in 64 °C.",
        )
    at, twice = _single(names)
    if twice:
        raise broken(f"The column {twice} is there twice.")
    column, letter = next(iter(units.items()))
    each = tuple((i, _probe_of(cells[i], i)) for i in units) if len(units) > 1 else ()
    if each and len(set(units.values())) > 1:
        raise broken("There are columns in °C and in °F. Keep one scale.")
    if each and "probe" in at:
        raise broken(
            "There are several columns of temperatures, and one that names the probe. Keep one "
            "way.",
            "Leave out the column probe, or all columns of temperatures but one.",
        )
    if len({name for _, name in each}) < len(each):
        raise broken(
            "Two columns of temperatures have the same name. Keep one.",
            "Give each probe's column a name, as in Probe 1 (°C).",
        )
    try:
        zone = _zone_of(names[at["time"]])
    except ValueError:
        raise broken(f"`{cells[at['time']][:40]}`: there is no such zone.") from None
    unit: Degree = "°C" if letter == "C" else "°F"
    product = _product(names)
    judged = {product, *at.values(), *(i for i, _ in each or ((column, ""),))}
    return Heads(
        *(at["time"], at.get("date"), column, at.get("probe"), unit, len(names), separator, each),
        zone=zone,
        left_out=_left_out(cells, judged),
        product=product,
        read_as=_read_as(cells, at["time"], tuple(units)),
    )


def _single(names: Sequence[str]) -> tuple[dict[str, int], str]:
    """Where the columns of time, probe and date are, and which of them is twice ("" for
    none)."""
    at: dict[str, int] = {}
    for index, name in enumerate(names):
        kind = "time" if _is_time(name) else "date" if name in _DATES_READ else ""
        kind = "probe" if name in _PROBES else kind
        if kind in at:
            return at, kind
        if kind:
            at[kind] = index
    return at, ""


_SURE = re.compile(rf"(?:{_VESSEL}|{_ABROAD})\b", re.IGNORECASE)


def _read_as(cells: Sequence[str], time: int, columns: Sequence[int]) -> str:
    """What was taken of heads that aren't the usual ones, as a sentence; empty for nothing."""
    said = []
    if cells[time].lower() in _TIMES_READ:
        said.append(f"`{cells[time][:40]}` as the time")
    usual = re.compile(r"temp(?:erature)?\b", re.IGNORECASE)
    taken = [cells[i][:40] for i in columns if _SURE.match(cells[i]) and not usual.match(cells[i])]
    if taken:
        names = ", ".join(f"`{one}`" for one in taken[:6])
        said.append(f"{names} as the food's own temperature")
    return f"Read {' and '.join(said)}." if said else ""


def _product(names: Sequence[str]) -> int | None:
    """Where the column is that names the food."""
    return next((i for i, name in enumerate(names) if name in _PRODUCTS), None)


def _left_out(cells: Sequence[str], used: set[int | None]) -> tuple[str, ...]:
    return tuple(cell for i, cell in enumerate(cells) if cell and i not in used)


def _probe_of(cell: str, index: int) -> str:
    """The name of the probe a column is of: its head without the scale."""
    cell = _SERIAL.sub("", cell)
    match = _NUMBERED.fullmatch(cell)
    name = match["name"] if match else re.sub(r"[ _,(\[]*[°º]?\s*[cfCF]?[)\]]?$", "", cell)
    return name.strip(" _.-") or f"column {index + 1}"

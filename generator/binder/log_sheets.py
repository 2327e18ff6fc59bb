"""The logs of a station: what is watched, the limit, how, how often, by whom, what if it is missed.

A log is in a binder only where something made there has such a limit, and curing and packing
without air only where they are authorised. Its columns follow the principles of the Codex General
Principles of Food Hygiene (CXC 1-1969) in this manual's own words; its limits are the sheets'.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from generator.binder.log_cooling import cooling_groups, cooling_key, cooling_logs
from generator.binder.log_deviation import deviation_log
from generator.binder.log_forms import (
    AT,
    BY,
    CHECK,
    DAY,
    FOOD,
    MISSED,
    READS,
    Column,
    Watched,
    air_words,
    authorised,
    column,
    head_fields,
    in_unit,
    log_block,
    log_sheet,
    monitoring,
    small_print,
)
from generator.binder.log_others import curing_logs, receiving_logs, thermometer_log
from generator.binder.routine_sheet import probes_checked
from generator.binder.sheets import Record, Words
from generator.measures.words import NARROW, listed, plain
from generator.resolve.joined import House
from generator.rules.basics.limit import Limit, NotCovered, Probed
from generator.sheet.manual import Manual
from generator.sheet.sheet import Sheet
from generator.views.limit_view import LimitView, limit_view


def log_sheets(manual: Manual, station: str, sheets: Sequence[Sheet]) -> list[Record]:
    """The logs of a station that makes ``sheets``, in the order of the work."""
    house = manual.house
    watched = watched_of(manual, sheets)

    def of(*hazards: str) -> list[Watched]:
        return [w for w in watched if w.limit.hazard in hazards]

    found = receiving_logs(manual, station, sheets)
    found += _foods(manual, station, "log-thaw", "Thawing log", of("thaw"), "thaw", _THAW, _THAWED)
    if authorised(house, "cure", manual.as_of):
        found += curing_logs(manual, station, sheets, of("additive"))
    found += _foods(
        manual,
        station,
        "log-cook",
        "Cooking log",
        of("cook", "reheat"),
        "cook",
        _COOK,
        _COOKED,
    )
    found += _foods(
        manual,
        station,
        "log-part-cook",
        "Part-cooking log",
        of("part_cook"),
        "part_cook",
        _PART,
        _PARTED,
    )
    found += cooling_logs(manual, station, of("cool"))
    found += _foods(
        manual,
        station,
        "log-hot",
        "Hot holding log",
        of("hot_hold"),
        "hot_hold",
        _HOLD,
        _held(of("hot_hold"), "min"),
    )
    found += _foods(
        manual,
        station,
        "log-cold",
        "Cold holding log",
        of("cold_hold"),
        "cold_hold",
        _HOLD,
        _held(of("cold_hold"), "max"),
    )
    if authorised(house, "pack-without-air", manual.as_of):
        found += _foods(
            manual,
            station,
            "log-without-air",
            "Packing log, without air",
            of("reduced_oxygen"),
            "reduced_oxygen",
            _PACK,
            _PACKED,
        )
    if watched or probes_checked(manual, station):
        found.append(thermometer_log(manual, station, house))
    if sheets:
        found.append(deviation_log(manual, station))
    return found


def watched_of(manual: Manual, sheets: Sequence[Sheet]) -> list[Watched]:
    """Every limit of what a station makes, and of its ingredients once they are in."""
    watched = [
        Watched(sheet.name, limit, limit_view(sheet.house, limit))
        for sheet in sheets
        for limit in sheet.walk.limits
        if not isinstance(limit, NotCovered)
    ]
    return watched + _on_the_shelf(manual, sheets)


@dataclass(frozen=True)
class LogNames:
    """The names of a station's logs, by the hazard of a limit and, of cooling, by its clock."""

    house: House
    names: Mapping[object, str]

    def of(self, limit: Limit) -> str:
        """The log a limit's reading is written in; empty where the station has none for it."""
        if limit.hazard != "cool":
            return self.names.get(limit.hazard, "")
        one = Watched("", limit, limit_view(self.house, limit))
        return self.names.get(cooling_key(self.house, one), "")


def log_names(manual: Manual, sheets: Sequence[Sheet]) -> LogNames:
    """The logs of a station that makes ``sheets``, by what is written in them."""
    house = manual.house
    cool = [w for w in watched_of(manual, sheets) if w.limit.hazard == "cool"]
    names: dict[object, str] = dict(_LOGS.items())
    if authorised(house, "cure", manual.as_of):
        names["additive"] = "Curing log"
    if authorised(house, "pack-without-air", manual.as_of):
        names["reduced_oxygen"] = "Packing log, without air"
    names |= {key: group.title for key, group in cooling_groups(house, cool).items()}
    return LogNames(house, names)


_LOGS = {
    "thaw": "Thawing log",
    "cook": "Cooking log",
    "reheat": "Cooking log",
    "part_cook": "Part-cooking log",
    "hot_hold": "Hot holding log",
    "cold_hold": "Cold holding log",
}


def _on_the_shelf(manual: Manual, sheets: Sequence[Sheet]) -> list[Watched]:
    """What of a station's ingredients is watched once they are in: each in store, and the clock of
    what came in warm. All of them are there, so that nobody holds a refrigerator to the air round
    eggs alone."""
    house = manual.house
    return [
        Watched(shelf.name, limit, limit_view(house, limit))
        for shelf in manual.shelves_of(sheets)
        for limit in shelf.limits
        if limit.hazard == "cool" or limit.step == "store"
    ]


# ---- logs of foods with a figure each

_COOK = (DAY, FOOD, READS, AT, column("Held until", 20, "until"), MISSED, BY, CHECK)
_COOKED = {
    "date": "25 Nov",
    "food": "Roll, 261125-2",
    "reads": "",
    "at": "10:40",
    "until": "–",
    "missed": "none",
    "by": "MK",
    "check": "HO",
}
_PART = (
    DAY,
    FOOD,
    column("Heat on", 19, "start"),
    column("Heat off", 19, "at"),
    column("Chilled from", 22, "until"),
    MISSED,
    BY,
    CHECK,
)
_PARTED = {
    "date": "25 Nov",
    "food": "Patties, 261125-1",
    "start": "09:10",
    "at": "09:50",
    "until": "09:55",
    "missed": "none",
    "by": "MK",
    "check": "HO",
}
_THAW = (
    DAY,
    FOOD,
    column("Start, time", 20, "start"),
    column("End, time", 19, "at"),
    READS,
    MISSED,
    BY,
    CHECK,
)
_THAWED = {
    "date": "25 Nov",
    "food": "Trout, lot 4471",
    "start": "07:00",
    "at": "15:30",
    "reads": "",
    "missed": "none",
    "by": "MK",
    "check": "HO",
}
_HOLD = (
    column("Date", 15, "date"),
    column("Food, or unit", None, "food"),
    column("At, time", 15, "at"),
    column("Reads", 17, "reads"),
    column("By", 13, "by"),
    column("At, time", 15, "at2"),
    column("Reads", 17, "reads2"),
    column("By", 13, "by2"),
    column("If missed:", 26, "missed", "what you did"),
    column("Check", 12, "check"),
)
"""Two readings, so two people's initials."""
_PACK = (
    DAY,
    FOOD,
    column("Packed at", 20, "at"),
    READS,
    column("Use by", 20, "until"),
    MISSED,
    BY,
    CHECK,
)
_PACKED = {
    "date": "25 Nov",
    "food": "Pack 1–12, 261125-2",
    "at": "14:10",
    "reads": "",
    "until": "1 Dec",
    "missed": "none",
    "by": "MK",
    "check": "HO",
}


def _held(watched: Sequence[Watched], bound: str) -> dict[str, str]:
    return {
        "date": "25 Nov",
        "food": "Cupboard 1" if bound == "min" else "Walk-in",
        "at": "11:00" if bound == "min" else "07:30",
        "reads": "",
        "at2": "13:00" if bound == "min" else "21:15",
        "reads2": "",
        "by2": "JS",
        "missed": "none",
        "by": "MK",
        "check": "HO",
    }


def _foods(
    manual: Manual,
    station: str,
    kind: str,
    title: str,
    watched: Sequence[Watched],
    hazard: str,
    columns: Sequence[Column],
    example: dict[str, str],
) -> list[Record]:
    """A log of one hazard: one large figure where all foods share it, else a list of them."""
    house = manual.house
    if not watched:
        return []
    words = house.library.hazards[hazard]
    same = len({w.figures for w in watched}) == 1
    first = watched[0]
    blocks: list[Record] = []
    figures: list[Record] = []
    if same and first.view.figures:
        figures = [_large_figure(first.view)]
    else:
        blocks.append(_limits_table(watched))
    block = log_block(
        figures=figures,
        start="",
        foods=[w.food for w in watched] if figures else (),
        small=small_print(first.view) if same else ["", ""],
        how=monitoring(house, words),
        fields=head_fields(house),
        columns=in_unit(house, columns),
        example=[_with_a_reading(example, watched)],
    )
    return [log_sheet(manual, station, kind, title, words.what, [*blocks, block])]


def _large_figure(view: LimitView) -> Record:
    """The one figure of a log, with how long it is held and then waits."""
    figure = view.figures[0]
    rest = f" for {view.hold} {view.hold_rest}" if view.hold else ""
    rest += f", then {view.stand} covered" if view.stand else ""
    return {
        "words": view.lead,
        "number": figure.number,
        "unit": figure.unit,
        "after": f"{figure.words}{rest}",
    }


def _with_a_reading(example: dict[str, str], watched: Sequence[Watched]) -> dict[str, str]:
    """The example row with a reading that meets the limits of all foods."""
    limit = watched[0].limit
    strictest = min if limit.bound == "max" else max
    reads = [w.limit.read for w in watched if isinstance(w.limit, Probed)]
    reported = _reading(limit, strictest(reads, default=None))
    return {k: (reported if k.startswith("reads") else v) for k, v in example.items()}


def _reading(limit: Limit, figure: Fraction | None) -> str:
    """A reading that meets the limit, for the example row."""
    if figure is None:
        return ""
    off = Fraction(4, 5) if limit.bound == "min" else Fraction(-4, 5)
    return plain(figure + off, 1)


def _limits_table(watched: Sequence[Watched]) -> Record:
    """The foods of a log with the figure of each, those alike in one row."""
    alike: dict[tuple[str, ...], list[Watched]] = {}
    for one in watched:
        alike.setdefault((one.limit.verb, *one.figures), []).append(one)
    rows: list[list[Words | Record]] = []
    for group in alike.values():
        view, names = group[0].view, listed(tuple(dict.fromkeys(w.food for w in group)))
        figure = view.figures[0] if view.figures else None
        read = f"{figure.number}{NARROW}{figure.unit}" if figure else "no figure"
        reported = f"for {view.hold}" if view.hold else "" if figure else view.words
        air = air_words(group[0].limit)
        stood = f"then {view.stand} covered" if view.stand else ""
        rows.append(
            [
                {"words": names, "under": f"{view.document}, {view.clause}"},
                group[0].limit.verb,
                read,
                " ".join(
                    w for w in (f"{figure.words}{air}" if figure else "", reported, stood) if w
                ),
            ]
        )
    return {
        "form": "table",
        "rows": rows,
        "least": 9,
        "columns": [
            {"head": "Food", "share": 1, "bold": True},
            {"head": "Step", "mm": 24},
            {"head": "Limit: probe must read", "mm": 38, "role": "weight"},
            {"head": "", "mm": 40},
        ],
    }

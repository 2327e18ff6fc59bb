"""Date and pack labels as a record: words for each label, and where it is on the sheet."""

from __future__ import annotations

import datetime
from urllib.parse import quote

from generator.binder.qr import TooLong, qr_svg, side_of
from generator.binder.sheets import Record, Words, bold
from generator.files.finding import Refused
from generator.measures.marks import written_with
from generator.measures.words import NARROW, breakable, counted, day_and_month, plain
from generator.records.kitchen import LabelSheet
from generator.rules.basics.in_words import hold_day_words
from generator.rules.basics.limit import figure_of
from generator.rules.cold.holding import held_cold
from generator.sheet.labelling import DateMark
from generator.sheet.manual import Manual
from generator.sheet.sheet import Sheet
from generator.views.label_view import label_view
from generator.views.limit_view import limit_view
from generator.views.store_view import store_view
from generator.views.uris import address, formula_uri

MODULE_MM = 0.41
"""A module of the code: 0.4 mm is the least a phone reads off paper."""
_VERSIONS = (4, 5, 6)
_WEEK = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def day_words(day: datetime.date) -> str:
    """A day with its weekday and month in words, without the year, never broken: "Sat 7 Nov"."""
    return f"{_WEEK[day.weekday()]}{NARROW}{day_and_month(day)}"


def label_document(
    manual: Manual,
    sheet: Sheet,
    mark: DateMark,
    lot: str,
    packs: int,
    geometry: LabelSheet,
    start: int,
    site: str,
    statement: bool = False,
) -> Record:
    """The document of ``packs`` labels and one record copy, from position ``start`` (1 is the first
    label of the first row). ``site`` is the site's address (empty: no QR codes); ``statement`` puts
    the ingredients and the shared equipment on each.

    Raises Refused for a position that isn't on the sheet.
    """
    if not 1 <= start <= geometry.count:
        raise Refused(
            "label-start",
            f"There is no position {start} on a sheet of {counted(geometry.count, 'label')}.",
            "Positions count along the rows, from 1 at the top left.",
        )
    with written_with(manual.writing):
        label = label_record(sheet, mark, lot, site)
        if statement:
            *before, contains = label["lines"]
            label["lines"] = [*before, *statement_lines(manual, sheet.id, contains)]
    counts: list[Words] = [["Pack ", bold(str(n)), f" of {packs}"] for n in range(1, packs + 1)]
    counts.append([bold("Record copy")])
    across, down = geometry.steps()
    return {
        "title": f"{sheet.name}, labels of {mark.made.isoformat()}, lot {lot}",
        "geometry": {
            "across": geometry.across,
            "down": geometry.down,
            "left": float(geometry.left.value),
            "top": float(geometry.top.value),
            "width": float(geometry.width.value),
            "height": float(geometry.height.value),
            "step": [float(across), float(down)],
        },
        "start": start - 1,
        "label": label,
        "counts": counts,
    }


def label_record(sheet: Sheet, mark: DateMark, lot: str, site: str) -> Record:
    """The words of one label; ``big`` is its largest line, ``lines`` are under it."""
    code = None
    if site:
        where = f"{site}{address(formula_uri(sheet.formula.formula.home, sheet.id))}?l={quote(lot)}"
        try:
            svg = qr_svg(where, _VERSIONS)
            code = {"svg": svg, "address": where, "side": side_of(svg, MODULE_MM)}
        except TooLong:
            code = None
    contains = ", ".join(str(a) for a in sheet.allergens)
    words: Words = (
        ["Contains ", bold(contains), "."]
        if contains
        else f"Contains {sheet.house.allergens.none}."
    )
    head, big, year = _headline(mark)
    return {
        "name": sheet.name,
        "head": head,
        "big": big,
        "year": year,
        "lines": [*_days(mark), *_keeping(sheet, mark), words],
        "lot": lot,
        "qr": code,
    }


def statement_lines(manual: Manual, formula: str, contains: Words) -> list[Words]:
    """The statement of ingredients as lines of a label, allergens bold and in capitals; right under
    it what it ``contains``, then what the equipment it shares also handles."""
    view = label_view(manual, formula)
    runs = [bold(run.words.upper()) if run.out else run.words for run in view.runs]
    lines: list[Words] = [["Ingredients: ", *runs, "."], contains]
    return [*lines, view.shared] if view.shared else lines


def _headline(mark: DateMark) -> tuple[str, str, str]:
    if mark.use_by is not None and mark.then_days is not None:
        return "In the colder place until", day_words(mark.use_by), str(mark.use_by.year)
    if mark.use_by is not None:
        return "Use by", day_words(mark.use_by), str(mark.use_by.year)
    if mark.left == 1:
        return "Once thawed, use", "that day", ""
    days = breakable(counted(mark.left, "day"))
    return "Once thawed, use within", days, "thaw day counts"


def _days(mark: DateMark) -> list[Words]:
    """When it was made, day 1 if a part's is earlier, and its stay in the freezer."""
    lines: list[Words] = [
        ["Made ", bold(_with_year(mark.made, mark, day_words(mark.made))), ", day 1."]
    ]
    if mark.day_one != mark.made:
        first = bold(_with_year(mark.day_one, mark))
        lines = [["Made ", bold(_with_year(mark.made, mark)), ", day 1 ", first, "."]]
    if mark.moved is not None:
        lines.append(["Taken out ", bold(_with_year(mark.moved, mark, day_words(mark.moved))), "."])
    if mark.then_days is not None:
        days = counted(mark.then_days, "day")
        lines.append(["Taken out ________ Use by ________ (", bold(days), ", that day counts)."])
    stay = mark.frozen
    if stay is None:
        return lines
    frozen: list[str | dict[str, str]] = ["Frozen ", bold(_with_year(stay.since, mark))]
    if stay.thawed is not None:
        return [*lines, [*frozen, ", thawed ", bold(_with_year(stay.thawed, mark)), "."]]
    return [*lines, [*frozen, f", day {mark.used} of {mark.days}."]]


def _with_year(day: datetime.date, mark: DateMark, words: str = "") -> str:
    """A day; its year too where the label's largest line isn't of the same one."""
    words = words or day_and_month(day)
    same = mark.use_by is not None and day.year == mark.use_by.year
    return words if same else f"{words}{NARROW}{day.year}"


def _keeping(sheet: Sheet, mark: DateMark) -> list[Words]:
    """How it is kept, in the words of the formula's own page."""
    if mark.kind == "dry":
        return ["Keep dry."]
    if mark.use_by is None and mark.thaw_by is not None:
        last = f"{day_words(mark.thaw_by)}{NARROW}{mark.thaw_by.year}"
        if sheet.formula.formula.eaten_frozen:
            return [["Eat frozen by ", bold(last), "."], ["Thawed? Throw it away."]]
        return [["Keep frozen. Thaw by ", bold(last), "."]]
    if mark.use_by is None:
        return ["Keep frozen."]
    words = _cold_words(sheet, mark)
    raw = "Not ready to eat: cook it." if mark.kind == "raw" else ""
    return [" ".join(w for w in (words, raw) if w)] if words or raw else []


def _cold_words(sheet: Sheet, mark: DateMark) -> str:
    """How cold it is kept: as its page says (taken out of a colder place, from then on), else by
    the row for holding cold on this probe."""
    views = tuple(limit_view(sheet.house, limit) for limit in sheet.walk.store)
    if mark.moved is not None and len(views) > 1:
        warmer = views[1].figures[0]
        return f"Keep at {warmer.number}{NARROW}{warmer.unit} {warmer.side}."
    words = store_view(sheet, views).keep
    found = held_cold(sheet.house)
    if not words and found is not None and found[1].value is not None:
        unit = sheet.house.kitchen.temperature
        row = found[1]
        figure = figure_of(found[1].value, row.printed, "max", sheet.house.probe.accuracy)
        words = f"Keep at {plain(figure.read_at(unit))}{NARROW}{unit} or colder."
        if sheet.walk.dates is not None:
            words = f"{words} {hold_day_words(sheet.walk.dates)}".strip()
    return words

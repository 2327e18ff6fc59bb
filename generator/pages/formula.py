"""The formula page, in the order of the cook's questions."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from generator.cautioning import Notice
from generator.joined import JoinedFormula
from generator.manual import Manual
from generator.measures.rounding import half_up
from generator.measures.words import NARROW, counted, date, duration, listed
from generator.pages.limit_view import LimitView, limit_view
from generator.pages.page import Heading, Page, link, make_page
from generator.pages.uris import formula_uri
from generator.pages.weigh_view import WeighView, weigh_view
from generator.scaling.loads import kilos
from generator.sheet import Batch, Sheet, loads_words, made_ahead
from generator.walk import WalkedStep

_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


@dataclass(frozen=True)
class StatusView:
    """The status line: ``reversed`` for anything but current."""

    word: str
    reversed: bool
    rest: str


@dataclass(frozen=True)
class SizeView:
    """One batch size: what the segment says, what it gives, its weigh list."""

    index: int
    figure: str
    noun: str
    label: str
    total: str
    loads: str
    gets: tuple[str, ...]
    weigh: WeighView
    ahead: tuple[tuple[str, str, str], ...]
    yielded: tuple[tuple[str, str], ...]
    refused: str = ""


@dataclass(frozen=True)
class StepView:
    """One step: its notices, what to do, its target, its limits."""

    number: int
    id: str
    verb: str
    place: str
    loads: tuple[tuple[int, str], ...]
    notices: tuple[Notice, ...]
    take: str
    how: tuple[str, ...]
    rows: tuple[tuple[str, str], ...]
    note: str
    limits: tuple[LimitView, ...]
    picture: str


@dataclass(frozen=True)
class StoreView:
    """Use by, and what stands on the label."""

    day: int | None
    words: str
    explain: str
    strip: tuple[tuple[str, str], ...]
    frozen: str
    parts: str
    keep: str
    label_day: str
    day_one: str


def status_of(sheet: Sheet) -> StatusView:
    """The status line of a sheet on its day."""
    formula = sheet.formula.formula
    revision = f"revision {formula.revision}"
    if sheet.status == "draft":
        return StatusView("Draft, do not use", True, f"{revision} · not approved")
    if sheet.status == "not-yet":
        return StatusView("Not current", True, f"{revision} · starts {date(formula.effective)}")
    return StatusView("Current", False, f"{revision} · from {date(formula.effective)}")


def formula_pages(manual: Manual) -> list[Page]:
    """A page for every computed formula."""
    made_at = {i: formula_uri(s.formula.formula.station, i) for i, s in manual.sheets.items()}
    return [_page(manual, sheet, made_at) for sheet in manual.sheets.values()]


def _page(manual: Manual, sheet: Sheet, made_at: dict[str, str]) -> Page:
    formula = sheet.formula.formula
    uri = formula_uri(formula.station, sheet.id)
    sizes = tuple(
        _size(manual, sheet, batch, i, uri, made_at) for i, batch in enumerate(sheet.batches)
    )
    steps = tuple(_step(sheet, walked, uri) for walked in sheet.walk.steps)
    store_limits = tuple(limit_view(sheet.house, limit) for limit in sheet.walk.store)
    store = _store(sheet, store_limits)
    allergen_list = sheet.house.library.allergens.get(sheet.house.pack.facts.allergens)
    headings = [Heading("weigh", "Weigh")]
    for step in steps:
        chips = tuple(chip for limit in step.limits for chip in limit.chips)
        headings.append(Heading(f"step-{step.number}", step.verb, str(step.number), chips))
    if formula.looks_right or formula.looks_wrong:
        headings.append(Heading("right", "How it looks right"))
    headings.append(
        Heading("store", "Store and label", "", tuple(c for lv in store_limits for c in lv.chips))
    )
    return make_page(
        uri, sheet.name, formula.station, "formula.html", edit=sheet.formula.file, headings=tuple(headings),
        status=status_of(sheet), station=sheet.formula.station.name, ident=sheet.id,
        station_href=link(uri, f"{formula.station}/index.md"),
        allergens=[str(a) for a in sheet.allergens],
        no_allergens=allergen_list.none if allergen_list else "no major allergen",
        sizes=sizes, steps=steps, store=store, store_limits=store_limits,
        page_notices=sheet.notices.page, notices_off=sheet.notices.off,
        right=formula.looks_right, wrong=formula.looks_wrong,
        picture=_picture(uri, formula.picture), note=formula.note, undercooked=formula.undercooked,
        also=", ".join(formula.also), legal_maximum=False, adopted=sheet.house.kitchen.code.adopted_by,
        document=sheet.house.pack.facts.document, as_of=date(sheet.as_of), one_size=len(sizes) == 1,
    )  # fmt: skip


def _picture(uri: str, name: str | None) -> str:
    if not name:
        return ""
    return "../" * (uri.count("/") + 1) + name


def _size(
    manual: Manual, sheet: Sheet, batch: Batch, index: int, uri: str, made_at: dict[str, str]
) -> SizeView:
    words = batch.label.split(NARROW, 1)
    figure, noun = (words[0], words[1]) if len(words) == 2 else (batch.label, "")
    need = made_ahead(manual.walks, sheet, batch)
    ahead = tuple(
        (
            manual.walks[i].formula.formula.name,
            kilos(g),
            link(uri, made_at[i]) if i in made_at else "",
        )
        for i, g in need.items()
    )
    loads = counted(batch.loads.count, "load") if batch.loads.count > 1 else ""
    return SizeView(
        index, figure, noun, batch.label, kilos(batch.yields.raw_g), loads, _gets(sheet.formula, batch),
        weigh_view(sheet, batch, uri, made_at), ahead, _yielded(sheet.formula, batch),
    )  # fmt: skip


def _gets(formula: JoinedFormula, batch: Batch) -> tuple[str, ...]:
    """What a batch gives, as "160 slices of 30 g" or "9.7 kg"."""
    yields, makes = batch.yields, formula.formula.makes
    if makes is not None and yields.portions is not None and yields.portion_g is not None:
        noun = makes.serving or "portion"
        return (
            counted(yields.portions, noun, makes.servings or None),
            f"of {kilos(_whole(yields.portion_g))}",
        )
    if makes is not None and yields.fills is not None:
        return (counted(yields.fills, makes.one, makes.plural), "")
    return (kilos(yields.yield_g), "")


def _whole(grams: Fraction) -> Fraction:
    """A portion's weight as people say it: whole grams from ten on."""
    return half_up(grams) if grams >= 10 else grams


def _yielded(formula: JoinedFormula, batch: Batch) -> tuple[tuple[str, str], ...]:
    yields, makes = batch.yields, formula.formula.makes
    rows: list[tuple[str, str]] = [("Weighed", kilos(yields.raw_g))]
    if yields.filled_g is not None:
        words = kilos(yields.filled_g)
        if makes is not None and yields.fills is not None and makes.fill is not None:
            words += (
                f" in {counted(yields.fills, makes.one, makes.plural)} of {kilos(makes.fill.value)}"
            )
            if yields.rest_g:
                words += f", {kilos(yields.rest_g)} over"
        rows.append(("Filled", words))
    finished = kilos(yields.yield_g)
    if yields.ends_g:
        finished += f" sliced, {kilos(yields.ends_g)} ends"
    rows.append(("Finished", finished))
    return tuple(rows)


def _step(sheet: Sheet, walked: WalkedStep, uri: str) -> StepView:
    step, record = walked.step, walked.step.step
    place = (step.machine.name if step.machine else "") or (step.cold.name if step.cold else "")
    loads = tuple(
        (index, loads_words(sheet.formula, one.loads))
        for index, batch in enumerate(sheet.batches)
        for one in batch.step_loads
        if one.step == step.id
    )
    rows: list[tuple[str, str]] = []
    medium = {"oven": "oven", "kettle": "water", "bath": "water", "pot": "pot", "fryer": "oil"}
    if record.at is not None:
        kind = medium.get(step.machine.kind, "at") if step.machine else "at"
        rows.append(("Heat", f"{kind} {record.at}"))
    if step.target is not None and step.target.text:
        rows.append(("Target", step.target.text))
    if record.time is not None:
        rows.append(("Time", duration(record.time.seconds)))
    if step.vessel is not None and (record.vessel or "fills" in step.effects):
        rows.append(("Into", step.vessel.name))
    if record.until:
        rows.append(("Until", record.until))
    if record.ends is not None:
        rows.append(("Ends", f"cut {record.ends.text} off each end"))
    take = listed([part.replace("-", " ") for part in step.parts])
    return StepView(
        step.number, step.id, step.verb, place, loads, sheet.notices.by_step.get(step.number, ()), take,
        record.how, tuple(rows), record.note, tuple(limit_view(sheet.house, lm) for lm in walked.limits),
        _picture(uri, record.picture),
    )  # fmt: skip


def _store(sheet: Sheet, limits: tuple[LimitView, ...]) -> StoreView:
    dates = sheet.walk.dates
    keep = (
        f"Keep at {limits[0].figures[0].number}{NARROW}{limits[0].figures[0].unit} or colder."
        if limits
        else ""
    )
    frozen = ""
    if dates is not None and dates.frozen_days is not None:
        frozen = (
            f"Frozen it keeps {dates.frozen_days} days by the chef's figure. Freezing stops the count of days "
            "and doesn't start it again: write how many days it had before."
        )
    if dates is None or dates.day is None:
        return StoreView(None, "", dates.words if dates else "", (), frozen, "", keep, "", "")
    parts = ""
    if dates.parts_to_date:
        parts = (
            f"If {listed(list(dates.parts_to_date))} was made or opened earlier, its day governs."
        )
    if dates.kind == "refrigerated":
        explain = f"The day it is first ready to eat is day 1. The code allows day {dates.law_day} at most."
        words, one = dates.words, "Made"
    else:
        explain, words, one = dates.words, f"day {dates.day}, the chef's figure", "Made"
    strip: tuple[tuple[str, str], ...] = ()
    if dates.day <= 14:
        strip = tuple((day, _DAYS[(i + dates.day - 1) % 7]) for i, day in enumerate(_DAYS))
    return StoreView(dates.day, words, explain, strip, frozen, parts, keep, f"day {dates.day}", one)

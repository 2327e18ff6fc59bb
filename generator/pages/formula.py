"""The formula page, in the order of the cook's questions."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import partial

from markupsafe import Markup

from generator.files.progress import counted_off
from generator.measures.individuals import RULE, SOURCE
from generator.measures.kilos import kilos
from generator.measures.marks import as_written, decimal_sign, written_with
from generator.measures.rounding import half_up
from generator.measures.words import NARROW, counted, date, listed, plural_of
from generator.pages.batch_record import batch_record
from generator.pages.bench_record import bench_record
from generator.pages.escape import as_data
from generator.pages.kept_page import key_of_page
from generator.pages.of_variants import variant_links, variant_view
from generator.pages.page import Heading, Page, make_page, page_kept
from generator.pages.tags import tag_links
from generator.records.formula import Formula
from generator.resolve.joined import JoinedFormula
from generator.rules.cures.salting import salting_rows
from generator.sheet.ahead import ahead_of, ahead_words, of_words
from generator.sheet.manual import Manual
from generator.sheet.sheet import Batch, Sheet
from generator.sheet.size_words import size_figure
from generator.views.bakers_view import bakers_rows
from generator.views.composition_view import composition_rows
from generator.views.dough_view import dough_form
from generator.views.forecast_view import ForecastView, forecast_view
from generator.views.history_view import history_views
from generator.views.label_view import DEFERS, NOT_CLEANING, label_view
from generator.views.limit_view import LimitView, basis_rows, limit_view
from generator.views.other_units import to_us
from generator.views.status_view import status_of
from generator.views.step_view import StepRow, StepView, step_view
from generator.views.store_view import StoreView, store_view
from generator.views.uris import (
    Link,
    address,
    beside,
    formula_uri,
    ingredient_uri,
    link,
    process_uri,
    station_uri,
)
from generator.views.weigh_view import WeighView, weigh_view
from generator.views.yield_view import (
    OutputView,
    fill_words,
    fills_words,
    from_to_words,
    gets_words,
    output_views,
    over_as_filled,
    over_words,
)

_DEGREES = re.compile(r"[−-]?\d+(?:[.,]\d+)?\s?°[CF]")


@dataclass(frozen=True)
class AheadView:
    """A made-ahead formula and how much of it a batch takes, or what is made ahead ``into``; ``of``
    says what a by-product comes out of."""

    name: str
    amount: str
    href: str
    into: str = ""
    of: str = ""


@dataclass(frozen=True)
class SizeView:
    """One batch size: what the segment says, what it gives, its weigh list."""

    index: int
    figure: str
    noun: str
    label: str
    loads: str
    gets: str
    gets_each: str
    weigh: WeighView
    ahead: tuple[AheadView, ...]
    yielded: tuple[tuple[str, str], ...]
    outputs: tuple[OutputView, ...]


def formula_pages(manual: Manual) -> list[Page]:
    """A page for every computed formula."""
    made_at = _made_at(manual)
    sheets = counted_off("Writing pages", manual.sheets.values())
    return [_kept_page(manual, sheet, made_at) for sheet in sheets]


def formula_page(manual: Manual, ident: str) -> Page:
    """The page of one computed formula, in the kitchen's decimal mark."""
    with written_with(manual.writing):
        return _kept_page(manual, manual.sheets[ident], _made_at(manual))


def _made_at(manual: Manual) -> dict[str, str]:
    """Where each computed formula's page lies, by its id."""
    return {i: formula_uri(s.formula.formula.home, i) for i, s in manual.sheets.items()}


def _kept_page(manual: Manual, sheet: Sheet, made_at: dict[str, str]) -> Page:
    return manual.keeping.kept.of(
        key_of_page(manual, sheet, made_at),
        partial(_page, manual, sheet, made_at),
        lambda page: page.kept,
        page_kept,
    )


def _page(manual: Manual, sheet: Sheet, made_at: dict[str, str]) -> Page:
    formula = sheet.formula.formula
    uri = formula_uri(formula.home, sheet.id)
    sizes = tuple(
        _size(manual, sheet, batch, i, uri, made_at) for i, batch in enumerate(sheet.batches)
    )
    steps = tuple(step_view(sheet, walked, uri) for walked in sheet.walk.steps)
    store_limits = tuple(limit_view(sheet.house, limit) for limit in sheet.walk.store)
    store = store_view(sheet, store_limits)
    record = batch_record(sheet, manual.walks) or {}
    only = "only" in record
    dough = dough_form(manual, sheet)
    bench = dict(_bench(sheet, (*(lv for s in steps for lv in s.limits), *store_limits)))
    return make_page(
        uri,
        sheet.name,
        formula.home,
        "formula.html",
        record=_of_the_page(sheet, record, bench, sizes),
        bench=_as_data(bench),
        other="°F, lb, oz" if to_us(sheet.house) else "°C, g",
        own_sizes_only=only,
        asks=_asks(sheet, record),
        edit=sheet.formula.file,
        headings=tuple(_headings(formula, steps, store, store_limits, dough is not None)),
        status=status_of(sheet),
        ident=sheet.id,
        at=address(uri),
        made=date(sheet.as_of),
        stations=[
            (sheet.house.stations[one].name, link(uri, station_uri(one))) for one in formula.station
        ],
        endings=_endings(manual, formula, sheet.id, uri),
        variant=variant_view(manual, sheet, uri, made_at),
        variants=variant_links(manual, sheet, uri, made_at),
        contains=_contains(sheet),
        sizes=sizes,
        steps=steps,
        forecasts=_forecasts(manual, sheet),
        store=store,
        store_limits=store_limits,
        inside=_inside(manual, sheet),
        label=label_view(manual, sheet.id),
        defers=DEFERS,
        not_cleaning=NOT_CLEANING,
        measured=history_views(manual.yields.get(sheet.id, ())),
        chart_rule=as_written(RULE),
        chart_source=SOURCE,
        asides=_asides(steps),
        again=dict(_again(steps, store_limits)),
        dough=dough,
        dough_record=as_data(dough.record if dough is not None else {}),
        confirmed=[one.sentence for one in sheet.confirmed],
        page_notices=sheet.notices.page,
        before_notices=sheet.notices.before,
        notices_off=sheet.notices.off,
        right=formula.looks_right,
        wrong=formula.looks_wrong,
        picture=beside(uri, formula.picture),
        note=formula.note,
        undercooked=formula.undercooked,
        also=", ".join(formula.other_names),
        adopted=sheet.house.kitchen.code.adopted_by,
        document=sheet.house.pack.facts.document,
        tags=tag_links(uri, manual, sheet),
        about=_about(manual, sheet, uri, made_at),
        process=_process(sheet, uri),
    )


def _endings(manual: Manual, formula: Formula, ident: str, uri: str) -> list[Link]:
    """The other endings of its card, each with the way to its page."""
    found = []
    for other in formula.ending.all if formula.ending is not None else ():
        record = manual.standards.formulas.get(other)
        if other != ident and record is not None:
            found.append(Link(record.name, link(uri, formula_uri(record.home, other))))
    return found


def _forecasts(manual: Manual, sheet: Sheet) -> dict[int, ForecastView]:
    """How its chills and cooks likely go, by the number of the step."""
    unit = sheet.house.kitchen.temperature
    found = manual.forecasts.get(sheet.id, ())
    return {one.number: forecast_view(one, unit) for one in found}


def _asides(steps: tuple[StepView, ...]) -> list[tuple[StepView, StepRow]]:
    """What isn't needed while one works, by its step."""
    return [(step, row) for step in steps for row in step.rows if row.aside]


@dataclass(frozen=True)
class AgainView:
    """Where a limit stands whole: its ``box``, the step's number, the step's ``place``."""

    box: str
    number: int
    place: str


def _again(
    steps: tuple[StepView, ...], store: tuple[LimitView, ...]
) -> Iterator[tuple[str, AgainView]]:
    """The limits that stand whole at an earlier step, word for word, by their ids.

    One with a clock is whole wherever it is: its clock is that step's."""
    whole: dict[LimitView, AgainView] = {}
    at_steps = ((step.number, view) for step in steps for view in step.limits)
    for number, view in (*at_steps, *((0, view) for view in store)):
        if not view.covered or view.start or view.hold or view.stand:
            continue
        said = replace(view, id="", basis=(), why="", target="")
        if said in whole:
            yield view.id, whole[said]
        elif number:
            box = f"box-{view.id.replace('/', '-')}"
            whole[said] = AgainView(box, number, f"step-{number}")


_Rows = tuple[tuple[str, str], ...]


def _inside(manual: Manual, sheet: Sheet) -> tuple[tuple[str, _Rows], ...]:
    """What is in it: tables of the fold, each with its name; empty where there is nothing."""
    walk = sheet.walk
    return (
        ("In 100 g of it", composition_rows(manual.house, manual.made[sheet.id])),
        ("How salty", salting_rows(sheet.house, walk.salting) if walk.salting else ()),
        ("Bakers' percentages", _bakers(manual, sheet)),
        ("What one fill weighs", basis_rows(walk.filling) if walk.filling.inputs else ()),
    )


def _process(sheet: Sheet, uri: str) -> Link | None:
    """The process the formula shares; None where its steps are its own."""
    ident = sheet.formula.formula.process
    return Link(sheet.formula.process.name, link(uri, process_uri(ident))) if ident else None


def _bakers(manual: Manual, sheet: Sheet) -> _Rows:
    """The bakers' figures of a dough; none for anything else."""
    dough = manual.dough(sheet.id)
    return bakers_rows(manual.house, dough, sheet.walk) if dough is not None else ()


def _bench(sheet: Sheet, views: tuple[LimitView, ...]) -> Iterator[tuple[str, dict[str, object]]]:
    """What a phone judges readings by and runs clocks of, by the limit's id."""
    limits = {limit.id: limit for limit in sheet.walk.limits}
    for view in views:
        record = bench_record(sheet, limits[view.id], view)
        if record:
            yield view.id, record


def _as_data(bench: dict[str, dict[str, object]]) -> dict[str, Markup]:
    return {ident: as_data(one) for ident, one in bench.items()}


def _of_the_page(
    sheet: Sheet,
    record: dict[str, object],
    bench: dict[str, dict[str, object]],
    sizes: tuple[SizeView, ...],
) -> Markup | str:
    """The record with what a batch is started with: whose it is, the labels of its sizes, the
    kitchen's zone and scale; empty where there is none. Ticks count for one ``stamp`` alone: of the
    weights, the steps' own words and the limits."""
    if not record:
        return ""
    kitchen, formula = sheet.house.kitchen, sheet.formula.formula
    weights = [
        [
            (r.name, r.whole, r.decimals, r.unit)
            for group in s.weigh.groups
            for part in group.parts
            for r in part.rows
        ]
        for s in sizes
    ]
    steps = [[step.step.verb, list(step.step.step.how)] for step in sheet.walk.steps]
    told = json.dumps([record, weights, steps, bench], sort_keys=True)
    of_page = {
        "name": formula.name,
        "stamp": hashlib.sha256(told.encode()).hexdigest()[:8],
        "labels": [s.label for s in sizes],
        "zone": kitchen.time_zone,
        "degree": kitchen.temperature[-1],
        "sign": decimal_sign(),
    }
    return as_data(record | of_page)


def _contains(sheet: Sheet) -> str:
    """The allergens declared of it, in the words of the kitchen's list."""
    return ", ".join(str(a) for a in sheet.allergens) or sheet.house.allergens.none


def _headings(
    formula: Formula,
    steps: tuple[StepView, ...],
    store: StoreView,
    store_limits: tuple[LimitView, ...],
    doughs: bool,
) -> Iterator[Heading]:
    """What is on the page, top to bottom; ``doughs``: the water of its dough is on it."""
    yield Heading("weigh", "Weigh")
    if doughs:
        yield Heading("water", "Water of the dough")
    yield from _step_headings(steps)
    if formula.looks_right or formula.looks_wrong or formula.picture:
        yield Heading("right", "How it looks")
    chips = tuple(chip for view in store_limits for chip in view.chips)
    also = tuple(figure for view in store_limits for figure in _other_figures(view))
    yield Heading("store", "Store and label", "", chips, also)
    if store.day is not None:
        yield Heading("use-by", f"Use by day {store.day}")


@dataclass(frozen=True)
class AsksView:
    """What any other size can be asked by: kinds of size, what may be on hand, units of weight.

    ``own`` are the two a kitchen asks most, each a field with its label: the base by its own name,
    and what is served."""

    base: str
    own: tuple[tuple[str, str], ...]
    kinds: tuple[tuple[str, str], ...]
    items: tuple[tuple[str, str], ...]
    units: tuple[str, ...]


def _asks(sheet: Sheet, record: dict[str, object]) -> AsksView | None:
    """What any other size is asked by; None where the kitchen's own sizes are all there are."""
    if not record or "only" in record:
        return None
    kinds = (
        *_counted_kinds(sheet),
        ("total", "to weigh, in all"),
        ("base", "of the base"),
        ("yield", "to serve"),
    )
    items = {ln.joined.item: ln.joined.name for ln in sheet.walk.lines if ln.grams}
    units = ("kg", "g", "lb", "oz") if to_us(sheet.house) else ("lb", "oz", "kg", "g")
    base = listed([one.replace("-", " ") for one in sheet.formula.formula.base])
    served = [("portions", f"{words} to serve") for kind, words in kinds if kind == "portions"]
    own = (("base", f"{base} on hand"), *served)
    named = tuple((kind, words[:1].upper() + words[1:]) for kind, words in own)
    return AsksView(base, named, kinds, tuple(items.items()), units)


def _counted_kinds(sheet: Sheet) -> Iterator[tuple[str, str]]:
    """Fills and portions, where the formula makes them, and what they are called."""
    makes, figures = sheet.formula.formula.makes, sheet.walk.figures
    if makes is None:
        return
    if figures.fills is not None:
        yield "fills", makes.plural
    if figures.portion is not None or figures.per_fill:
        yield "portions", makes.portion_units or plural_of(makes.portion_unit or "portion")


def _about(manual: Manual, sheet: Sheet, uri: str, made_at: dict[str, str]) -> list[Link]:
    """Each ingredient with the way to its page, and the allergens it brings."""
    found: dict[str, Link] = {}
    for line in sheet.formula.lines:
        if line.ingredient is not None:
            href, allergens, first = (
                link(uri, ingredient_uri(line.item)),
                line.ingredient.allergens,
                "",
            )
        elif line.item in made_at:
            href, allergens, first = (
                link(uri, made_at[line.item]),
                manual.sheets[line.item].allergens,
                "made ahead",
            )
        else:
            continue
        contains = f"contains {', '.join(str(a) for a in allergens)}" if allergens else ""
        rest = " · ".join(words for words in (first, contains) if words)
        found.setdefault(line.item, Link(line.name, href, rest))
    return list(found.values())


def _other_figures(view: LimitView) -> tuple[str, ...]:
    """The temperatures a limit is known by beside its own: in the other scale, and the code's."""
    others = [NARROW.join(figure.other) for figure in view.figures if figure.other[0]]
    return tuple(dict.fromkeys([*others, *_DEGREES.findall(f"{view.code}{view.code_rest}")]))


def _step_headings(steps: tuple[StepView, ...]) -> list[Heading]:
    return [
        Heading(
            f"step-{step.number}",
            step.verb,
            str(step.number),
            tuple(chip for limit in step.limits for chip in limit.chips),
            tuple(also for limit in step.limits for also in _other_figures(limit)),
        )
        for step in steps
    ]


def _size(
    manual: Manual, sheet: Sheet, batch: Batch, index: int, uri: str, made_at: dict[str, str]
) -> SizeView:
    figure, noun = size_figure(sheet.formula, batch.size)
    ahead = tuple(
        AheadView(
            one.name,
            ahead_words(one),
            link(uri, made_at[one.id]) if one.id in made_at else "",
            one.into,
            of_words(one),
        )
        for one in ahead_of(manual.walks, sheet.walk, batch.factor)
    )
    loads = counted(batch.loads.count, "load") if batch.loads.count > 1 else ""
    gets, each = gets_words(sheet.formula, batch)
    return SizeView(
        index,
        figure,
        noun,
        batch.label,
        loads,
        gets,
        each,
        weigh_view(sheet, batch, uri, made_at),
        ahead,
        _yielded(sheet.formula, batch),
        output_views(sheet, batch),
    )


def _in_fills(formula: JoinedFormula, batch: Batch) -> str:
    """What it is filled into, how much each holds and what is over."""
    yields, makes = batch.yields, formula.formula.makes
    if makes is None or yields.fills is None:
        return ""
    each, over = fill_words(makes, yields.fill_g or Fraction(0)), over_words(yields)
    of_each = "" if yields.rest_pieces else f" of {each}"
    as_filled = " as filled" if over_as_filled(yields) else ""
    left = f", {over} over{as_filled}" if over else ""
    return f" in {fills_words(formula, batch)}{of_each}{left}"


def _yielded(formula: JoinedFormula, batch: Batch) -> tuple[tuple[str, str], ...]:
    """What is filled and what is finished, each said to be which."""
    yields, makes = batch.yields, formula.formula.makes
    rows: list[tuple[str, str]] = []
    if yields.filled_g is not None:
        rows.append(("Filled", kilos(yields.filled_g) + _in_fills(formula, batch)))
    finished = kilos(yields.yield_g)
    if yields.ends_g:
        finished += f" sliced, {kilos(half_up(yields.ends_g))} ends"
    if makes is not None and makes.by_portions and yields.over_portions_g:
        finished += f", {kilos(half_up(yields.over_portions_g))} over"
    rows.append(("Finished", finished))
    if (spread := from_to_words(batch)) != "":
        rows.append(("From, to", spread))
    return tuple(rows)

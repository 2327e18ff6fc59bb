"""The sheets of a plan: the plan itself, what to buy, and what each station does on each day."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from generator.binder.notice_blocks import notice_block
from generator.binder.qr import TooLong, qr_svg
from generator.binder.sheets import Record, bold, hash_of, sheet_record
from generator.measures.marks import written_with
from generator.measures.words import counted
from generator.records.approval import Approval
from generator.sheet.manual import Manual
from generator.sheet.sheet import Sheet
from generator.views.plan_view import (
    BuyView,
    MadeView,
    PlanView,
    StationDay,
    StepTime,
    Work,
    plan_view,
)
from generator.views.uris import address, plan_uri

_NOBODYS = Approval("current", None, None, "", None, None, False)
"""A plan isn't a standard: it has no revision, and nobody approves it."""
_STARTS = (
    "Each step starts at the latest then. A step without a time counts as none: start earlier."
)


def plan_sheets(manual: Manual, plan: str, site: str) -> list[Record]:
    """The sheets of a plan of ``manual.orders``, by its id: the plan, the shopping list, one for
    each station and day. ``site`` is the site's address (empty: no QR codes)."""
    with written_with(manual.writing):
        view = plan_view(manual.orders[plan])
        found = [_whole(manual, view)]
        if view.buy:
            found.append(_shopping(manual, view))
        found += [_station_day(manual, view, one) for one in view.days]
    return [_finished(sheet, plan, site) for sheet in found]


def _finished(sheet: Record, plan: str, site: str) -> Record:
    """A sheet with its hash and the way to the plan's page."""
    control = {**sheet["control"], "hash": hash_of(sheet)}
    code = None
    if site:
        where = f"{site}{address(plan_uri(plan))}"
        try:
            code = {"svg": qr_svg(where), "address": where}
        except TooLong:
            code = None
    return {**sheet, "control": control, "qr": code}


def _sheet(
    manual: Manual, view: PlanView, kind: str, words: list[str], blocks: list[Record], **more: Any
) -> Record:
    """A sheet of a plan; ``words`` are its second line, ``more`` its station and its band."""
    found = sheet_record(
        manual,
        "plan",
        f"plan/{view.id}/plan{f'/{kind}' if kind else ''}",
        more.get("title", view.name),
        words,
        more.get("station", ""),
        _NOBODYS,
        f"{view.id}, plan{f', {kind}' if kind else ''}",
        blocks,
    )
    blank = dict.fromkeys(("revision", "effective", "approved", "review"), "")
    control = {**found["control"], **blank, "status": "PLAN"}
    return {**found, "control": control, "band": more.get("band")}


Heads = Sequence[tuple[str, int | None, Record]]
"""Each column's head, its width in mm (None: what is over) and how it is set."""


def _table(heads: Heads, rows: list[list[Any]], least: int = 7) -> Record:
    """A table of words."""
    columns = [
        {"head": head, **({"share": 1} if mm is None else {"mm": mm}), **more}
        for head, mm, more in heads
    ]
    return {"form": "table", "columns": columns, "rows": rows, "least": least}


def _head(words: str, right: str = "") -> Record:
    return {"form": "head", "words": words, "keep": True, **({"right": right} if right else {})}


def _dangers(sheets: Iterable[Sheet]) -> Iterator[Record]:
    """Every DANGER of what is made, each once."""
    found = {n.words: n for sheet in sheets for n in sheet.notices.all if n.severity == "danger"}
    for notice in found.values():
        yield notice_block(notice)


def _whole(manual: Manual, view: PlanView) -> Record:
    """The plan: what can't be done, what is served, made, labelled, on the shelf and left over."""
    blocks: list[Record] = []
    for one in view.problems:
        cant = [bold(f"Can't be done: {one.words}"), f" {one.help}"]
        blocks.append({"form": "prose", "words": cant})
    blocks += _dangers(view.sheets)
    for words in (view.note, f"{view.past} of days past: left out." if view.past else ""):
        if words:
            blocks.append({"form": "prose", "words": words})
    if not view.dishes:
        words = "No dish is to come: nothing to make, nothing to buy."
        blocks.append({"form": "prose", "words": words})
    blocks += [*_served(view), *_made(view), *_labels(view), *_shelf(view), *_left(view)]
    band = None
    if view.problems:
        many = counted(len(view.problems), "thing")
        band = {
            "form": "reversed",
            "word": "CAN'T ALL BE DONE",
            "words": f"Read the {many} below first.",
        }
    return _sheet(manual, view, "", ["Plan"], blocks, band=band)


def _served(view: PlanView) -> Iterator[Record]:
    if view.dishes:
        yield _head("Served")
        heads: Heads = (
            ("When", 50, {}),
            ("What", None, {"bold": True}),
            ("How much", 40, {"bold": True}),
        )
        yield _table(
            heads,
            [[f"{one.due.day.short} {one.due.clock}", one.name, one.amount] for one in view.dishes],
        )


def _made(view: PlanView) -> Iterator[Record]:
    if view.made:
        yield _head("Made")
        heads: Heads = (
            ("What, and what for", None, {"bold": True}),
            ("Start", 25, {}),
            ("Ready", 25, {}),
            ("Made, used, left", 28, {}),
            ("Last day", 27, {}),
        )
        yield _table(heads, [_made_row(one) for one in view.made])


def _made_row(one: MadeView) -> list[Any]:
    state = f" This standard is: {one.status}." if one.status else ""
    used = f"{one.used} used" + (f", {one.left} left" if one.left else "")
    return [
        {"words": f"{one.name}, {one.batches}.{state}", "under": _basis(one)},
        {"words": one.start.clock, "under": one.start.day.short},
        {"words": one.ready.clock, "under": one.ready.day.short},
        {"words": one.made, "under": used},
        {
            "words": one.last.short or "isn't kept",
            "under": f"day 1: {one.day_one.short}" if one.day_one else "",
        },
    ]


def _basis(one: MadeView) -> str:
    """What a run is for, how many times the formula it is, and each machine's loads."""
    uses = [
        f"{use.into or 'Served'}: {f'{use.count}, ' if use.count else ''}{use.weight}, "
        f"{use.due.day.short} {use.due.clock}"
        for use in one.uses
    ]
    sizes = [
        f"{size.words}: × {size.factor} the formula"
        + "".join(f"; {verb}, {name}: {loads}" for verb, name, loads in size.in_loads)
        for size in one.sizes
    ]
    untimed = [f"No time known: {', '.join(one.untimed)}"] if one.untimed else []
    return "".join(f"{line}. " for line in (*uses, *sizes, *untimed)).rstrip()


def _labels(view: PlanView) -> Iterator[Record]:
    if view.labels:
        yield _head("Labels")
        heads: Heads = (
            ("What", None, {"bold": True}),
            ("Labels", 30, {"bold": True}),
            ("One for each", 32, {}),
            ("Made", 28, {}),
            ("Last day", 44, {}),
        )
        yield _table(
            heads,
            [[o.name, o.many, o.each, o.made.short, o.use_by or o.dated] for o in view.labels],
        )


def _shelf(view: PlanView) -> Iterator[Record]:
    if view.shelf:
        yield _head("From the shelf")
        heads: Heads = (
            ("What", None, {"bold": True}),
            ("There", 24, {}),
            ("Use", 62, {}),
            ("Last day", 40, {}),
        )
        rows: list[list[Any]] = []
        for one in view.shelf:
            days = f"on {', '.join(day.short for day in one.days)}" if one.days else ""
            said = [bold(one.words)] if one.past else one.words
            rows.append([one.name, one.there, {"words": said, "under": days}, str(one.last)])
        yield _table(heads, rows)


def _left(view: PlanView) -> Iterator[Record]:
    if view.left:
        yield _head("Left over")
        heads: Heads = (
            ("What", None, {"bold": True}),
            ("How much", 30, {"bold": True}),
            ("Made", 36, {}),
            ("Last day", 44, {}),
        )
        yield _table(
            heads,
            [
                [
                    one.name,
                    one.weight,
                    one.ready.short or "opened packs",
                    str(one.last) if one.last or not one.ready else "it isn't kept",
                ]
                for one in view.left
            ],
        )


def _shopping(manual: Manual, view: PlanView) -> Record:
    """What to buy, in whole packs where they are known, with room for a tick and for the lot."""
    heads: Heads = (
        ("Got", 11, {"write": True}),
        ("How much", 34, {"bold": True}),
        ("What", None, {"bold": True}),
        ("First for", 28, {}),
        ("Lot, last day", 36, {"write": True}),
    )
    blocks: list[Record] = []
    if not view.to_buy:
        blocks.append({"form": "prose", "words": "Nothing to buy."})
    for head, rows in view.bought:
        blocks.append(_head(head))
        blocks.append(_table(heads, [_buy_row(one) for one in rows]))
    there = [one for one in view.buy if not one.missing]
    if there:
        names = "; ".join(f"{one.name}, {one.needs}" for one in there)
        blocks.append({"form": "prose", "words": [bold("All on the shelf: "), f"{names}."]})
    return _sheet(manual, view, "shopping", ["Shopping list", view.name], blocks, title="To buy")


def _buy_row(one: BuyView) -> list[Any]:
    what = {"words": one.name, "under": "; ".join(one.basis)}
    return ["", one.words, what, one.first.short, ""]


def _station_day(manual: Manual, view: PlanView, one: StationDay) -> Record:
    """What a station does on a day, by the clock, with room for initials."""
    used = {work.made.formula for work in one.work}
    blocks = list(_dangers(sheet for sheet in view.sheets if sheet.id in used))
    for work in one.work:
        blocks += _work(work)
    blocks.append({"form": "prose", "words": _STARTS})
    band = None
    if any(work.made.cant for work in one.work):
        words = "Not as it is planned. Ask before you start."
        band = {"form": "reversed", "word": "CAN'T ALL BE DONE", "words": words}
    elif any(work.made.status for work in one.work):
        band = {"form": "reversed", "word": "NOT IN FORCE", "words": "Ask before you start."}
    return _sheet(
        manual,
        view,
        f"{one.station}/{one.date.isoformat()}",
        ["Prep sheet", one.day, view.name],
        blocks,
        title=one.name,
        station=one.day.short,
        band=band,
    )


def _work(work: Work) -> Iterator[Record]:
    made = work.made
    yield _head(made.name)
    kept = f"Use by {made.last}." if made.last else "It isn't kept."
    state = f" This standard is: {made.status}." if made.status else ""
    words = [
        *([bold("Can't be done. ")] if made.cant else []),
        bold(f"{made.batches}."),
        f" Ready {made.ready.day.short} {made.ready.clock}. {kept}{state}",
    ]
    yield {"form": "prose", "words": words, "keep": True}
    heads: Heads = (
        ("At", 22, {"role": "weight"}),
        ("Do", None, {"bold": True}),
        ("How long", 48, {}),
        ("By", 20, {"write": True}),
    )
    yield _table(heads, [_step_row(step) for step in work.steps], 9)


def _step_row(step: StepTime) -> list[Any]:
    time = step.time or "no time known"
    return [
        step.clock,
        f"{step.number} {step.verb}",
        f"{time}, all loads" if step.all_loads else time,
        "",
    ]

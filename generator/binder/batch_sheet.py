"""The batch sheet of a formula: weigh list, steps, limits, yields; it is the batch record too.

Its batch sizes are side by side where each line is weighed once, else the usual size is on it and
the others are printed on request. Expected values are beside the blanks for what was done: lot and
actual weight of each component, by and check, times, readings, yields, deviations and release (the
columns a batch record has under 21 CFR 111.260).
"""

from __future__ import annotations

import datetime
import json
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from functools import partial

from generator.binder.cautions_block import Placed, placed, strip_block
from generator.binder.curve_block import curve_blocks
from generator.binder.dough_line import dough_water
from generator.binder.limit_box import limit_block, sold_as, with_deadlines
from generator.binder.log_sheets import LogNames, log_names
from generator.binder.notice_blocks import again_words, notice_block
from generator.binder.sheets import Record, Words, as_kept, bold, sheet_record
from generator.binder.weigh_list import different, side_by_side, weighing
from generator.binder.yields_block import outputs_block, record_blocks
from generator.measures.words import breakable, listed, plural_of
from generator.records.fields import as_id
from generator.records.formula import Formula
from generator.rules.basics.limit import CoolingLimit, KeepingLimit, Limit, ShareLimit
from generator.sheet.manual import Manual
from generator.sheet.sheet import Batch, Sheet
from generator.sheet.size_words import run_words
from generator.sheet.walk import WalkedStep
from generator.views.limit_view import limit_view
from generator.views.sentences import first_bold, sentences_of
from generator.views.step_view import StepView, step_view
from generator.views.store_view import StoreView, store_view
from generator.views.uris import formula_uri
from generator.views.yield_view import gets_words

WEIGH, COOK = 0, 1
"""The two halves of a batch sheet: two places, often two shifts."""
_PAIR = 2
_SHORT = 90
"""Letters a text may have to be in a third column."""


@dataclass(frozen=True)
class Dated:
    """One batch of a day: its number, its day, when its cooling clock starts if that is planned
    ("14:10"), its use-by in words, and the days of its parts by their names."""

    number: str
    made: str
    start: datetime.time | None
    use_by: str
    parts: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class _Steps:
    """A sheet's steps: their views, sentences and cautions, where cooking starts and where what is
    read is written."""

    views: tuple[StepView, ...]
    sentences: dict[int, str]
    cautions: Placed
    cook: int | None
    logs: LogNames | None
    store: StoreView
    dated: Dated | None = None

    def log_of(self, limit: Limit) -> str:
        """The log of a limit; empty where it is written on the sheet itself, as on a dated one."""
        return "" if self.dated is not None or self.logs is None else self.logs.of(limit)


def batch_sheets(manual: Manual, sheet: Sheet, logs: LogNames | None = None) -> list[Record]:
    """The batch sheet of a formula, with as many of its sizes as go on one; none of a by-product
    whose formula has an error, so that nobody knows its sizes. ``logs`` are those of its
    station."""
    if not sheet.batches:
        return []
    sizes = side_by_side(sheet.batches)
    names = [] if logs is None else sorted(f"{key!r}={name}" for key, name in logs.names.items())
    keeping = manual.keeping
    # Without the station's logs those of all its formulas are asked: not of this sheet alone.
    key = "" if logs is None else keeping.key_of(sheet, "batch sheet", *names)
    made = partial(_sheet, manual, sheet, sizes, logs, "batch")
    return [keeping.kept.of(key, made, as_kept, json.loads)]


def sheet_of_size(manual: Manual, sheet: Sheet, batch: Batch, dated: Dated | None = None) -> Record:
    """The batch sheet of one size alone, on request; ``dated`` makes it that of one batch, on
    which its readings are written too."""
    return _sheet(manual, sheet, (batch,), None, f"batch/{_size_id(batch)}", dated)


def _size_id(batch: Batch) -> str:
    return as_id(breakable(batch.label).replace(".", "-").replace(",", "-"))


def _cook_step(sheet: Sheet) -> int | None:
    """The first step that has a cooking or reheating limit."""
    for walked in sheet.walk.steps:
        if any(limit.hazard in ("cook", "reheat") for limit in walked.limits):
            return walked.step.number
    return None


def _steps_of(manual: Manual, sheet: Sheet, logs: LogNames | None, dated: Dated | None) -> _Steps:
    station = sheet.formula.formula.home
    uri = formula_uri(station, sheet.id)
    if logs is None:
        mine = [s for s in manual.sheets.values() if station in s.formula.formula.station]
        logs = log_names(manual, mine)
    stored = tuple(limit_view(sheet.house, limit) for limit in sheet.walk.store)
    return _Steps(
        tuple(step_view(sheet, walked, uri) for walked in sheet.walk.steps),
        sentences_of(sheet),
        placed(sheet),
        _cook_step(sheet),
        logs,
        store_view(sheet, stored),
        dated,
    )


def _stores(sheet: Sheet, steps: _Steps) -> bool:
    """Whether the last step is storing, with nothing of its own: it is in the box of the
    limit of storing."""
    last = sheet.walk.steps[-1]
    quiet = not _at_the_bench(last) and not steps.cautions.boxes.get(last.step.number)
    return bool(sheet.walk.store) and "stores" in last.step.effects and quiet


def _last_phase(sheet: Sheet) -> int:
    return WEIGH if _cook_step(sheet) is None else COOK


def _sheet(
    manual: Manual,
    sheet: Sheet,
    batches: Sequence[Batch],
    logs: LogNames | None,
    kind: str,
    dated: Dated | None = None,
) -> Record:
    """The sheet of ``batches``, one size or several side by side; ``kind`` ends its key."""
    contains = ", ".join(str(a) for a in sheet.allergens) or sheet.house.allergens.none
    labels = [breakable(batch.label) for batch in batches]
    steps = _steps_of(manual, sheet, logs, dated)
    alone = "" if kind == "batch" else f", {labels[0]}"
    return sheet_record(
        manual,
        "batch",
        f"{sheet.formula.formula.home}/{sheet.id}/{kind}",
        sheet.name,
        ["Batch sheet", ", ".join(batch.label for batch in batches)],
        sheet.stations,
        sheet.approval,
        f"{sheet.id}, batch sheet{alone}",
        [
            *_other_endings(manual, sheet),
            *_notes(sheet),
            *(notice_block(notice, True) for notice in steps.cautions.above),
            *strip_block(steps.cautions),
            *weighing(sheet, batches),
            *_sold_as(sheet),
            *dough_water(manual, sheet),
            *_making(manual, sheet, batches, steps),
            *_storing(sheet, steps),
            *(
                block
                for batch in batches
                for block in outputs_block(
                    sheet, batch, _last_phase(sheet), alone=len(batches) == 1
                )
            ),
            *record_blocks(sheet, batches, _last_phase(sheet)),
        ],
        strip={"left": f"Contains {contains}.", "right": _gives(sheet, batches)},
        fields=_fields(len(batches) > 1, dated),
    )


def _gives(sheet: Sheet, batches: Sequence[Batch]) -> str:
    """What one size gives; of several, the table of yields says it. Which sizes are on sheets of
    their own."""
    shown = {batch.factor for batch in batches}
    others = [b.label for b in different(sheet.batches) if b.factor not in shown]
    more = f"On request: {listed(others)}." if others and batches[0] in sheet.batches else ""
    if len(batches) > 1:
        return more
    gets, each = gets_words(sheet.formula, batches[0])
    gives = " ".join(w for w in ("→", gets, each) if w)
    return f"{gives}. {more}" if more else gives


def _fields(several: bool, dated: Dated | None) -> list[Record]:
    """The boxes under the head of the first page, and of the others; filled in as far as the batch
    is known."""
    known = {"Batch no.": dated.number, "Date": dated.made} if dated is not None else {}

    def row(*labels: tuple[str, float]) -> Record:
        boxes = [{"label": w, "share": s, "value": known.get(w, "")} for w, s in labels]
        return {"phases": [], "fields": boxes}

    batch, date, started = ("Batch no.", 28), ("Date", 27), ("Started", 18)
    probe, made = ("Probe no.", 20), ("Made by", 22)
    size = [("Size made", 22)] if several else []
    scales, machines = ("Scales checked, by", 30), ("Machines clean, by", 30)
    return [
        row(batch, date, started, *size, scales, probe, machines, made),
        row(batch, date),
    ]


def _other_endings(manual: Manual, sheet: Sheet) -> list[Record]:
    """The other endings of its card, which share its first steps; what a by-product comes out
    of."""
    record = sheet.formula.formula
    if record.by_product is not None:
        words: Words = [bold("Comes out of:"), f" {record.by_product.name}"]
        return [{"form": "prose", "words": words}]
    ending = record.ending
    known = manual.standards.formulas
    others = [i for i in ending.all if i != sheet.id and i in known] if ending is not None else []
    if not others:
        return []
    head = "Other ending:" if len(others) == 1 else "Other endings:"
    words = [bold(head), f" {listed([known[i].name for i in others])}"]
    return [{"form": "prose", "words": words}]


def _sold_as(sheet: Sheet) -> list[Record]:
    """The bounds of the standard of identity the food is sold by."""
    limits = (limit for walked in sheet.walk.steps for limit in walked.limits)
    return [sold_as(sheet.house, one) for one in limits if isinstance(one, ShareLimit)]


def _at_the_bench(walked: WalkedStep) -> tuple[Limit, ...]:
    """The limits of a step that somebody reads or keeps there."""
    return tuple(limit for limit in walked.limits if not isinstance(limit, ShareLimit))


def _notes(sheet: Sheet) -> list[Record]:
    blocks: list[Record] = [
        {"form": "prose", "words": [bold("Confirmed against its name:"), f" {one.sentence}"]}
        for one in sheet.confirmed
    ]
    for name, reason in sheet.notices.off:
        words: Words = [bold("Caution switched off:"), f" {name}. Reason: {reason}"]
        blocks.append({"form": "prose", "words": words})
    if sheet.formula.formula.undercooked:
        words = [bold("On a guest's request only."), f" {sheet.formula.formula.undercooked}"]
        blocks.append({"form": "prose", "words": words})
    if sheet.formula.formula.note:
        blocks.append({"form": "prose", "words": sheet.formula.formula.note})
    return blocks


# ---- making


def _making(manual: Manual, sheet: Sheet, batches: Sequence[Batch], steps: _Steps) -> list[Record]:
    """The steps: those without a limit in rows together, each limit in a box of its own."""
    blocks: list[Record] = []
    rows: list[Record] = []
    covers: list[str] = []
    phase = WEIGH

    def close() -> None:
        if rows:
            blocks.append(
                {"form": "steps", "rows": list(rows), "phase": phase, "covers": list(covers)}
            )
        rows.clear()
        covers.clear()

    kept = steps.views[:-1] if _stores(sheet, steps) else steps.views
    for walked, view in zip(sheet.walk.steps, kept, strict=False):
        whole = steps.cautions.boxes.get(view.number, ())
        if whole or _at_the_bench(walked) or view.number == steps.cook:
            close()
        if view.number == steps.cook:
            phase = COOK
        blocks += [notice_block(notice, True, phase) for notice in whole]
        loads = _loads(sheet, batches, walked.step.id)
        if _at_the_bench(walked):
            blocks += _limits_of_step(sheet, walked, view, loads, phase, steps)
            blocks += curve_blocks(manual, sheet, view.number, phase, steps.dated is not None)
        else:
            how = _how(view, steps)
            if "labels" in walked.step.effects and steps.store.day is not None:
                how = f"{how} {_use_by(steps)}".strip()
            words = [*_step_words(view, steps.sentences[view.number], loads), f" {how}".rstrip()]
            boxes = _boxes(sheet, batches, walked)
            rows.append({"number": str(view.number), "words": words, "boxes": boxes})
            covers.append(view.verb.lower())
    close()
    return blocks


def _loads(sheet: Sheet, batches: Sequence[Batch], step: str) -> str:
    """The machine's loads at a step, where there is more than one: of one size in words, of
    several what differs."""
    known = [
        (batch.label, run_words(one) if one.loads.count > 1 else "")
        for batch in batches
        for one in batch.step_loads
        if one.step == step
    ]
    said = {words for _, words in known}
    if len(said) <= 1:
        return next(iter(said), "")
    return "; ".join(f"{label}: {words or 'one load'}" for label, words in known)


def _limits_of_step(
    sheet: Sheet, walked: WalkedStep, view: StepView, loads: str, phase: int, steps: _Steps
) -> list[Record]:
    """A step's limits, each as a box: the first says what to do, the others only the verb."""
    blocks: list[Record] = []
    words: Words = _step_words(view, steps.sentences[view.number], loads)
    how = _how(view, steps)
    stored = _at_steps(sheet)
    limits = [stored.get(limit.id, limit) for limit in _at_the_bench(walked)]
    for which, limit in enumerate(limits, 1):
        if which > 1:
            words, how = [bold(view.verb), f": limit {which} of {len(limits)}."], ""
        block = limit_block(
            sheet.house, limit, str(view.number), words, how, log=steps.log_of(limit)
        )
        if steps.dated is not None and isinstance(limit, CoolingLimit):
            block = with_deadlines(block, limit, steps.dated.start)
        blocks.append({**block, "phase": phase, "covers": [view.verb.lower()]})
    return blocks


def _at_steps(sheet: Sheet) -> dict[str, Limit]:
    """The limits of storing that a step which stores has already, by the id of the step's limit:
    the box there says when it is in force, and no second one repeats it. The last limit of storing
    has a box of its own, which holds the use-by."""
    found: dict[str, Limit] = {}
    for stored in sheet.walk.store[:-1]:
        for walked in sheet.walk.steps:
            if "stores" in walked.step.effects:
                found |= {one.id: stored for one in walked.limits if _same(one, stored)}
    return found


def _same(limit: Limit, stored: Limit) -> bool:
    """Whether a step's limit is the one of storing but for when that is in force."""
    if not isinstance(limit, KeepingLimit) or not isinstance(stored, KeepingLimit):
        return False
    return limit == replace(
        stored,
        id=limit.id,
        step=limit.step,
        number=limit.number,
        verb=limit.verb,
        when=limit.when,
    )


_SETTINGS = ("Heat", "Kept", "Time", "Target")
_ONLY_ON_SCREEN = ("Out of the cold", "Off the heat")
"""How long it has been out so far: a limit of it has a box of its own."""


def _step_words(view: StepView, sentence: str, loads: str = "") -> list[str | dict[str, str]]:
    """A step as a sentence, its settings in bold: "**Poach** the rolls in the kettle: **water
    82 °C**, **1 h 20 min**, target **core 76 °C**.\""""
    first, rest = first_bold(sentence)
    words: list[str | dict[str, str]] = [bold(first), rest]
    settings = [(row.name, row.words) for row in view.rows if row.name in _SETTINGS]
    for number, (name, setting) in enumerate(settings):
        words.append(": " if number == 0 else ", ")
        words += ["target ", bold(setting)] if name == "Target" else [bold(setting)]
    words.append(f". Loads: {loads}." if loads else ".")
    return words


def _how(view: StepView, steps: _Steps) -> str:
    """What to do at a step, in sentences; first the cautions that are whole elsewhere."""
    sentences = list(filter(None, [again_words(steps.cautions.lines.get(view.number, ()))]))
    sentences += view.how
    sentences += [
        f"{row.name}: {row.words[:1].lower() + row.words[1:] if row.name == 'Until' else row.words}"
        for row in view.rows
        if row.name not in (*_SETTINGS, *_ONLY_ON_SCREEN)
    ]
    if view.note:
        sentences.append(view.note)
    return " ".join(s if s.endswith((".", "!", "?")) else f"{s}." for s in sentences)


def _boxes(sheet: Sheet, batches: Sequence[Batch], walked: WalkedStep) -> list[str]:
    """What is written down at a step: two boxes, and who did it."""
    step = walked.step
    if step.target is not None and step.target.degrees is not None:
        return [f"Reads {sheet.house.kitchen.temperature}", "At", "By"]
    done = _made_at(sheet, step.effects)
    if done:
        return [done[:1].upper() + done[1:], "At", "By"]
    if "labels" in step.effects:
        return ["Use by", "Labels", "By"]
    loads = max(
        (one.loads.count for b in batches for one in b.step_loads if one.step == step.id), default=1
    )
    if loads == _PAIR:
        return ["Load 1 at", "Load 2 at", "By"]
    if loads > _PAIR:
        return ["First load at", "Last load at", "By"]
    return ["Start", "End", "By"] if step.step.time is not None else ["At", "", "By"]


def _made_at(sheet: Sheet, effects: Collection[str]) -> str:
    """What is counted after a step that fills, slices or packs; empty after any other."""
    makes = sheet.formula.formula.makes
    if "fills" in effects and makes is not None:
        return makes.plural
    if "slices" in effects and makes is not None:
        return makes.portion_units or (
            plural_of(makes.portion_unit) if makes.portion_unit else "portions"
        )
    return "packs" if "packs" in effects and "packs-without-air" not in effects else ""


# ---- the end of it


def _use_by(steps: _Steps) -> str:
    """The use-by in sentences, with how it is counted; of one batch its day."""
    store, dated = steps.store, steps.dated
    if dated is not None and dated.use_by:
        parts = [f"{name}: day 1 is {day}." for name, day in dated.parts]
        return " ".join([f"Use by: {dated.use_by}.", *parts])
    reported = " ".join(w for w in (store.explain, store.parts, store.frozen) if w)
    return f"Use by: {store.words}. {reported}" if store.day is not None else reported


def _labelled(sheet: Sheet) -> bool:
    return any("labels" in walked.step.effects for walked in sheet.walk.steps)


def _storing(sheet: Sheet, steps: _Steps) -> list[Record]:
    """What good looks like, and the limit of storing; the use-by too, where no step labels."""
    phase = _last_phase(sheet)
    last = steps.views[-1] if _stores(sheet, steps) else None
    told = _labelled(sheet) and steps.store.day is not None
    use_by = "" if told else _use_by(steps)
    texts = _looks(sheet.formula.formula)
    below: list[Record] = []
    if sheet.walk.store:
        below = _store_limits(sheet, last, use_by, phase, steps)
    elif use_by and len(texts) == _PAIR and len(use_by) <= _SHORT:
        texts.append(use_by)
    elif use_by:
        below = [{"form": "prose", "words": use_by, "phase": phase}]
    beside: list[Record] = [{"form": "beside", "texts": texts, "phase": phase}] if texts else []
    return [*beside, *below]


def _looks(formula: Formula) -> list[Words]:
    """How it should look and wrong, as far as the formula says."""
    said = (("Right:", formula.looks_right), ("Wrong:", formula.looks_wrong))
    return [[bold(word), f" {words}"] for word, words in said if words]


def _store_limits(
    sheet: Sheet, last: StepView | None, use_by: str, phase: int, steps: _Steps
) -> list[Record]:
    """The limits of storing, each as a box; the use-by and the step are with the last one."""
    blocks: list[Record] = []
    at_steps = {limit.id for limit in _at_steps(sheet).values()}
    for limit in (x for x in sheet.walk.store if x.id not in at_steps):
        final = limit is sheet.walk.store[-1]  # of two places the last step's is the last
        words: Words = [bold("Store"), " it."]
        step, how = "", use_by if final else ""
        if last is not None and final:
            step, words = str(last.number), _step_words(last, steps.sentences[last.number])
            how = f"{_how(last, steps)} {use_by}".strip()
        block = limit_block(
            sheet.house, limit, step, words, how, blank=False, log=steps.log_of(limit)
        )
        blocks.append({**block, "phase": phase, "covers": ["store"]})
    return blocks

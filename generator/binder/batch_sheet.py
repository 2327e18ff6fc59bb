"""The batch sheet of one batch size: weigh list, steps, limits, yields; it is the batch record too.

Expected values are beside the blanks for what was done: lot and actual weight of each component,
by and check, times, readings, yields, deviations and release (the columns a batch record has under
21 CFR 111.260).
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from generator.binder.dough_line import dough_water
from generator.binder.limit_box import limit_block
from generator.binder.sheets import Record, Words, bold, sheet_record
from generator.binder.yields_block import outputs_block, yields_block
from generator.measures.words import NARROW, counted
from generator.records.fields import as_id
from generator.records.formula import Formula
from generator.sheet.cautioning import Notice
from generator.sheet.manual import Manual
from generator.sheet.sheet import Batch, BatchLine, Sheet
from generator.sheet.walk import WalkedStep
from generator.views.limit_view import limit_view
from generator.views.step_view import StepView, step_view
from generator.views.store_view import store_view
from generator.views.uris import formula_uri
from generator.views.weigh_view import GroupView, PartView, WeighView, weigh_view
from generator.views.yield_view import gets_words

WEIGH, COOK = 0, 1
"""The two halves of a batch sheet: two places, often two shifts."""
_PAIR = 2
_SHORT = 90
"""Letters a text may have to be in a third column."""


@dataclass(frozen=True)
class _Steps:
    """What all batch sizes of a formula share: its steps' views and where cooking starts."""

    views: tuple[StepView, ...]
    cook: int | None


def batch_sheets(manual: Manual, sheet: Sheet) -> list[Record]:
    """The batch sheets of a formula, one for each of the kitchen's batch sizes."""
    uri = formula_uri(sheet.formula.formula.home, sheet.id)
    steps = _Steps(
        tuple(step_view(sheet, walked, uri) for walked in sheet.walk.steps), _cook_step(sheet)
    )
    found: list[Record] = []
    for index, batch in enumerate(sheet.batches):
        made = _sheet(manual, sheet, index, batch, steps)
        again = sum(
            one["key"].rpartition("~")[0] == made["key"] or one["key"] == made["key"]
            for one in found
        )
        found.append({**made, "key": f"{made['key']}~{again + 1}"} if again else made)
    return found


def batch_key(sheet: Sheet, batch: Batch) -> str:
    """The key of a batch sheet, stable while the batch size is called the same."""
    size = as_id(batch.label.replace(NARROW, " ").replace(".", "-").replace(",", "-"))
    return f"{sheet.formula.formula.home}/{sheet.id}/batch/{size}"


def _cook_step(sheet: Sheet) -> int | None:
    """The first step that has a cooking or reheating limit."""
    for walked in sheet.walk.steps:
        if any(limit.hazard in ("cook", "reheat") for limit in walked.limits):
            return walked.step.number
    return None


def _stores(sheet: Sheet) -> bool:
    """Whether the last step is storing, with nothing of its own: it is in the box of the
    limit of storing."""
    last = sheet.walk.steps[-1]
    quiet = not last.limits and not any(
        n.whole for n in sheet.notices.by_step.get(last.step.number, ())
    )
    return bool(sheet.walk.store) and "stores" in last.step.effects and quiet


def _last_phase(sheet: Sheet) -> int:
    return WEIGH if _cook_step(sheet) is None else COOK


def _sheet(manual: Manual, sheet: Sheet, index: int, batch: Batch, steps: _Steps) -> Record:
    contains = ", ".join(str(a) for a in sheet.allergens) or sheet.house.allergens.none
    gets, each = gets_words(sheet.formula, batch)
    view = weigh_view(sheet, batch, "", {}, with_why=False)
    label = batch.label.replace(NARROW, " ")
    return sheet_record(
        manual,
        "batch",
        batch_key(sheet, batch),
        sheet.name,
        ["Batch sheet", batch.label],
        sheet.stations,
        sheet.approval,
        f"{sheet.id}, batch sheet, {label}",
        [
            *_notes(sheet),
            *(notice_block(notice, True) for notice in sheet.notices.before),
            *_weighing(batch, view),
            *dough_water(manual, sheet),
            *_making(sheet, index, batch, steps),
            *_storing(sheet, steps.views[-1] if _stores(sheet) else None),
            *outputs_block(sheet, batch, _last_phase(sheet)),
            yields_block(sheet, batch, view.total[0], _last_phase(sheet)),
            _release(sheet),
        ],
        strip={
            "left": f"Contains {contains}.",
            "right": " ".join(w for w in (f"{view.total[0]} → {gets}", each) if w),
        },
        fields=_fields(),
    )


def _fields() -> list[Record]:
    def row(phases: list[int], *labels: tuple[str, float]) -> Record:
        return {"phases": phases, "fields": [{"label": w, "share": s} for w, s in labels]}

    batch, date, made = ("Batch no.", 42), ("Date", 30), ("Made by", 28)
    scales, machines = ("Scales checked, by", 30), ("Machines clean, by", 30)
    return [
        row([WEIGH], batch, date, ("Started", 22), scales, machines, made),
        row([COOK], batch, date, ("Started", 22), ("Probe no.", 28), machines, made),
        row(
            [],
            ("Batch no.", 32),
            ("Date", 24),
            ("Started", 20),
            scales,
            ("Probe no.", 20),
            machines,
            made,
        ),
    ]


def _notes(sheet: Sheet) -> list[Record]:
    blocks: list[Record] = [
        {"form": "prose", "words": [bold("Confirmed against its name:"), f" {one.sentence}"]}
        for one in sheet.confirmed
    ]
    blocks += [notice_block(notice) for notice in sheet.notices.page]
    for name, reason in sheet.notices.off:
        words: Words = [bold("Caution switched off:"), f" {name}. Reason: {reason}"]
        blocks.append({"form": "prose", "words": words})
    if sheet.formula.formula.undercooked:
        words = [bold("On a guest’s request only."), f" {sheet.formula.formula.undercooked}"]
        blocks.append({"form": "prose", "words": words})
    if sheet.formula.formula.note:
        blocks.append({"form": "prose", "words": sheet.formula.formula.note})
    return blocks


def notice_block(notice: Notice, keep: bool = False, phase: int = WEIGH) -> Record:
    """A caution: its signal word and its words; ``keep`` holds it before the step it is about."""
    return {
        "form": "notice",
        "severity": notice.severity,
        "words": notice.words,
        "keep": keep,
        "phase": phase,
    }


def again_words(notices: Iterable[Notice]) -> str:
    """The cautions that were whole before, in front of what to do: signal word and first
    clause."""
    return " ".join(f"{n.severity.upper()}: {n.short}" for n in notices if not n.whole)


# ---- weighing


def _weighing(batch: Batch, view: WeighView) -> list[Record]:
    """The weigh lists in the order of the steps: two loads a table, and what goes in once."""
    blocks: list[Record] = []
    for group, together in zip(view.groups, batch.groups(), strict=True):
        blocks += _weigh_group(group, together.lines, len(view.groups) > 1)
    return blocks


def _weigh_group(group: GroupView, lines: tuple[BatchLine, ...], several: bool) -> list[Record]:
    """What is weighed together; ``several``: other groups stand beside it."""
    if group.loads == 1:
        right = None if several else _load_words(1, group.load_words[0])
        head = "Weigh once for the whole batch" if several else "Weigh"
        return _weigh_table(head, right, "Weigh", ["Actual"], group.parts, lines)
    blocks: list[Record] = []
    for first in range(1, group.loads + 1, _PAIR):
        loads = [f"Load {n}" for n in range(first, min(first + _PAIR, group.loads + 1))]
        head = _weigh_head(group.loads, first, len(loads))
        named = f"{group.name}: {head.lower()}" if not group.leads or group.head else head
        right = _load_words(group.loads, group.load_words[0])
        blocks += _weigh_table(named, right, "Per load", loads, group.parts, lines)
    return blocks


def _load_words(count: int, load: str) -> Words:
    """What one load weighs, never the sum: nobody is to weigh that."""
    if count == 1:
        return ["In all ", bold(load)]
    times = "twice" if count == _PAIR else f"{count} times"
    return ["Each line ", bold(times), "; one load is ", bold(load)]


def _weigh_head(count: int, first: int, loads: int) -> str:
    if count == 1:
        return "Weigh"
    if count <= _PAIR:
        return f"Weigh {counted(count, 'load')}"
    if loads == 1:
        return f"Weigh load {first} of {count}"
    return f"Weigh loads {first} and {first + 1} of {count}"


def _weigh_table(
    head: str,
    right: Words | None,
    figure: str,
    loads: list[str],
    parts: tuple[PartView, ...],
    lines: tuple[BatchLine, ...],
) -> list[Record]:
    rows: list[Record] = []
    for part in parts:
        for number, row in enumerate(part.rows):
            line = lines[row.number - 1]
            more = [row.prepare, row.note.rstrip(",")]
            more += [
                " ".join(w for w in (r.before, r.bold, r.after) if w).rstrip() for r in row.remarks
            ]
            rows.append(
                {
                    "part": part.name if number == 0 else "",
                    "name": row.name,
                    "more": " · ".join(w for w in more if w),
                    "scale": row.scale,
                    "whole": row.whole,
                    "decimals": row.decimals,
                    "unit": row.unit,
                    "lot": _lot(line),
                }
            )
    return [
        {"form": "head", "words": head, "right": right, "keep": True},
        {"form": "weigh", "figure": figure, "loads": loads, "rows": rows, "covers": ["weigh"]},
    ]


def _lot(line: BatchLine) -> str:
    """What the lot box asks for beside the lot: the day by which a perishable part is dated."""
    facts = line.line.joined.ingredient
    if line.line.joined.formula is not None:
        return "Made"
    if facts is not None and facts.tcs and facts.state == "ready-to-eat":
        return "Opened"
    return ""


# ---- making


def _making(sheet: Sheet, index: int, batch: Batch, steps: _Steps) -> list[Record]:
    """The steps of batch size ``index``: those without a limit in rows together, each limit in a
    box of its own."""
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

    kept = steps.views[:-1] if _stores(sheet) else steps.views
    for walked, view in zip(sheet.walk.steps, kept, strict=False):
        whole = [notice for notice in view.notices if notice.whole]
        if whole or walked.limits or view.number == steps.cook:
            close()
        if view.number == steps.cook:
            phase = COOK
        blocks += [notice_block(notice, True, phase) for notice in whole]
        loads = dict(view.loads).get(index, "")
        if walked.limits:
            blocks += _limits_of_step(sheet, walked, view, loads, phase)
        else:
            rows.append(step_row(view, loads, _boxes(sheet, batch, walked)))
            covers.append(view.verb.lower())
    close()
    return blocks


def _limits_of_step(
    sheet: Sheet, walked: WalkedStep, view: StepView, loads: str, phase: int
) -> list[Record]:
    """A step's limits, each as a box: the first says what to do, the others only the verb."""
    blocks: list[Record] = []
    words: Words = step_head(view, loads)
    how = step_how(view)
    for limit in walked.limits:
        block = limit_block(sheet.house, limit, str(view.number), words, how)
        blocks.append({**block, "phase": phase, "covers": [view.verb.lower()]})
        words, how = [bold(view.verb), ", as well"], ""
    return blocks


def step_head(view: StepView, loads: str = "") -> list[str | dict[str, str]]:
    """A step in a line: verb, what it takes, on what, how hot, how long."""
    words: list[str | dict[str, str]] = [bold(view.verb)]
    for names in (view.on, view.take):
        if names:
            words.append(f" {names}")
    for part in (view.place, loads):
        if part:
            words.append(f" · {part}")
    for name, reported in ((row.name, row.words) for row in view.rows):
        if name in ("Heat", "Kept", "Time", "Target"):
            words += [" · ", bold(reported)] if name != "Target" else [" · target ", bold(reported)]
    return words


def step_how(view: StepView) -> str:
    """What to do at a step, in sentences."""
    sentences = [words] if (words := again_words(view.notices)) else []
    sentences += view.how
    sentences += [
        f"{name}: {reported[:1].lower() + reported[1:] if name == 'Until' else reported}"
        for name, reported in ((row.name, row.words) for row in view.rows)
        if name not in ("Heat", "Kept", "Time", "Target")
    ]
    if view.note:
        sentences.append(view.note)
    return " ".join(s if s.endswith((".", "!", "?")) else f"{s}." for s in sentences)


def step_row(view: StepView, loads: str, boxes: list[str]) -> Record:
    """A step without a limit as a row: number, words, boxes to write in."""
    how = step_how(view)
    words = [*step_head(view, loads), f". {how}" if how else "."]
    return {"number": str(view.number), "words": words, "boxes": boxes}


def _boxes(sheet: Sheet, batch: Batch, walked: WalkedStep) -> list[str]:
    """What is written down at a step: two boxes, and who did it."""
    step = walked.step
    if step.target is not None and step.target.degrees is not None:
        return [f"Reads {sheet.house.kitchen.temperature}", "At", "By"]
    done = _made_at(sheet, step.effects)
    if done:
        return [done[:1].upper() + done[1:], "At", "By"]
    if "labels" in step.effects:
        return ["Use by", "Labels", "By"]
    loads = next((one.loads.count for one in batch.step_loads if one.step == step.id), 1)
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
            f"{makes.portion_unit}s" if makes.portion_unit else "portions"
        )
    return "packs" if "packs" in effects and "packs-without-air" not in effects else ""


# ---- the end of it


def _storing(sheet: Sheet, last: StepView | None) -> list[Record]:
    """What good looks like, the limit of storing with the use-by; ``last`` is the step it belongs
    to."""
    phase = _last_phase(sheet)
    views = tuple(limit_view(sheet.house, limit) for limit in sheet.walk.store)
    store = store_view(sheet, views)
    reported = " ".join(w for w in (store.explain, store.parts, store.frozen) if w)
    use: Words = [bold(f"Use by: {store.words}. "), reported] if store.day is not None else reported
    texts = _looks(sheet.formula.formula)
    below: list[Record] = []
    if sheet.walk.store:
        use_by = f"Use by: {store.words}. {reported}" if store.day is not None else reported
        below = _store_limits(sheet, last, use_by, phase)
    elif use and len(texts) == _PAIR and len(reported) <= _SHORT:
        texts.append(use)
    elif use:
        below = [{"form": "prose", "words": use, "phase": phase}]
    beside: list[Record] = [{"form": "beside", "texts": texts, "phase": phase}] if texts else []
    return [*beside, *below]


def _looks(formula: Formula) -> list[Words]:
    """How it should look and wrong, as far as the formula says."""
    said = (("Right:", formula.looks_right), ("Wrong:", formula.looks_wrong))
    return [[bold(word), f" {words}"] for word, words in said if words]


def _store_limits(sheet: Sheet, last: StepView | None, use_by: str, phase: int) -> list[Record]:
    """The limits of storing, each as a box; the use-by and the step are with the last one."""
    blocks: list[Record] = []
    for limit in sheet.walk.store:
        final = limit is sheet.walk.store[-1]  # of two places the last step's is the last
        words: Words = [bold("Store")]
        step, how = "", use_by if final else ""
        if last is not None and final:
            step, words = str(last.number), step_head(last)
            how = f"{step_how(last)} {use_by}".strip()
        block = limit_block(sheet.house, limit, step, words, how, blank=False)
        blocks.append({**block, "phase": phase, "covers": ["store"]})
    return blocks


def _release(sheet: Sheet) -> Record:
    labels = (
        ("Deviation, action taken", 60),
        ("Packs", 20),
        ("Label copy", 28),
        ("Released by", 42),
        ("Date", 30),
    )
    return {
        "form": "fields",
        "fields": [{"label": w, "share": s} for w, s in labels],
        "phase": _last_phase(sheet),
    }

"""The batch sheet: as JSON and as text."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from types import MappingProxyType
from typing import Any

from generator.answers.cautions import cautions_record, dangers_first, with_cautions
from generator.answers.numbers import basis_record, number, without_none
from generator.files.finding import as_record
from generator.measures.kilos import kilos
from generator.measures.words import breakable, counted, duration, plain
from generator.records.makes import Makes
from generator.scaling.batch import Yields
from generator.sheet.ahead import Ahead, ahead_of, ahead_words, made_ahead, of_words
from generator.sheet.outputs import Output
from generator.sheet.sheet import Batch, BatchLine, Sheet
from generator.sheet.size_words import run_words, scatter_words, shares_words
from generator.sheet.station_scales import scales_words
from generator.sheet.step_loads import StepLoads
from generator.sheet.walk import Walk
from generator.views.yield_view import (
    each_words,
    fills_words,
    from_to_words,
    output_views,
    over_as_filled,
    over_words,
    tests_words,
)

_NONE: Mapping[str, Walk] = MappingProxyType({})


def batch_data(sheet: Sheet, batch: Batch, walks: dict[str, Walk]) -> dict[str, Any]:
    """A batch as one JSON object; weights in grams, uncertainty in percent."""
    yields = batch.yields
    record: dict[str, Any] = {
        "formula": sheet.id,
        "name": sheet.name,
        "revision": sheet.formula.formula.revision,
        "status": sheet.status,
        "size": batch.label,
        "factor": number(batch.factor),
        "lines": [_line(ln) for ln in batch.lines],
        "loads": _loads(batch),
        "step_loads": [_run(one) for one in batch.step_loads],
        "machines": [_busy(ident, runs) for ident, runs in batch.machines],
        "scales": dict(scales_words(sheet.house, sheet.formula)),
        "base_g": number(yields.base_g),
        "total_g": number(yields.total_g),
        "filled_g": number(yields.filled_g),
        "finished_g": number(yields.finished_g),
        "yield_g": number(yields.yield_g),
        "ends_g": number(yields.ends_g),
        "fills": yields.fills,
        "left_after_fills_g": number(yields.rest_g),
        "left_as_filled": over_as_filled(yields),
        "pieces_in_last_fill": yields.rest_pieces or None,
        "portions": yields.portions,
        "portion_g": number(yields.portion_g),
        "portion_beside_g": number(yields.beside_g) if yields.beside_g else None,
        "portion_from_g": number(yields.portion_from_g),
        "portion_to_g": number(yields.portion_to_g),
        "binding": batch.on_hand.binding if batch.on_hand else None,
        "leftover": {k: number(v) for k, v in batch.on_hand.leftover.items()}
        if batch.on_hand
        else {},
        **_spread(batch),
        "made_ahead_g": {k: number(v) for k, v in made_ahead(walks, sheet, batch).items()},
        "made_ahead": [_ahead_record(one) for one in ahead_of(walks, sheet.walk, batch.factor)],
        "findings": [as_record(f) for f in batch.findings],
        **cautions_record(sheet),
    }
    return record


def _spread(batch: Batch) -> dict[str, Any]:
    """What can be served at least and at most, and what else comes out."""
    low_high = [number(grams) for grams in batch.from_to] if batch.from_to is not None else None
    return {"yield_from_to_g": low_high, "outputs": [_output(one) for one in batch.outputs]}


def _output(one: Output) -> dict[str, Any]:
    return without_none(
        {
            "name": one.name,
            "step": one.step.id,
            "mass_g": number(one.grams),
            "then": one.then,
            "keep_cold": True if one.cold and one.then == "kept" else None,
            "cover_g": number(one.cover_g),
            "taken_up_g": number(one.taken_up_g),
            "kept_as": one.kept_as or None,
        }
    )


def _run(one: StepLoads) -> dict[str, Any]:
    """One machine's loads at one step; times in seconds."""
    return without_none(
        {
            "step": one.step,
            "equipment": one.equipment,
            "loads": one.loads.count,
            "mass_g": number(one.loads.grams),
            "fills": list(one.loads.pieces) or None,
            "rest_in_last": one.loads.rest or None,
            "each_s": number(one.each_s),
            "in_all_s": number(one.in_all_s),
            "longest_wait_s": number(one.longest_wait_s) if one.waits else None,
            "waits": one.waits or None,
            "bound_by": one.bound_by,
            "volume_ml": number(one.volume_ml),
            "basis": basis_record(one.basis),
        }
    )


def _ahead_record(one: Ahead) -> dict[str, Any]:
    return without_none(
        {
            "formula": one.id,
            "name": one.name,
            "mass_g": number(one.grams),
            "count": number(one.count),
            "level": one.level,
            "into": one.into or None,
            "out_of": one.of or None,
            "most_g": number(one.gives),
        }
    )


def _busy(ident: str, runs: tuple[StepLoads, ...]) -> dict[str, Any]:
    """One machine's runs in the order of the work, and how long it is busy, as far as steps say."""
    timed = [one.in_all_s for one in runs if one.in_all_s is not None]
    return without_none(
        {
            "equipment": ident,
            "runs": [{"step": one.step, "loads": one.loads.count} for one in runs],
            "busy_s": number(sum(timed, Fraction(0))) if timed else None,
            "not_timed": [one.step for one in runs if one.each_s is None] or None,
        }
    )


def _line(line: BatchLine) -> dict[str, Any]:
    weighing = line.weighing
    joined = line.line.joined
    return without_none(
        {
            "part": line.part,
            "step": line.step.id,
            "ingredient": joined.item,
            "name": line.name,
            "exact_g": number(line.exact_g),
            "weigh_g": number(line.weigh_g),
            "loads": line.loads,
            "weigh_each_load_g": number(weighing.grams),
            "weighings": weighing.count,
            "scale": weighing.scale.id if weighing.scale else None,
            "error_pct": number(weighing.share * 100),
            "permitted_pct": number(weighing.permitted * 100),
            "needs_scale_reading_g": number(weighing.needs),
            "as_purchased_g": number(line.purchased_g)
            if line.purchased_g != line.exact_g
            else None,
            "count": number(line.count),
            "whole_pieces": line.whole_pieces or None,
            "loads_of": line.at if line.loads > 1 else None,
            "household": line.household,
            "as_needed": joined.line.amount.kind == "as-needed" or None,
            "made_ahead": joined.formula is not None or None,
            "basis": basis_record(line.line.basis),
        }
    )


def _loads(batch: Batch) -> list[dict[str, Any]]:
    lines = [
        {"part": ln.part, "ingredient": ln.line.joined.item, "weigh_g": number(ln.weighing.grams)}
        for ln in batch.per_load()
    ]
    return [
        {
            "equipment": batch.equipment or None,
            "mass_g": number(batch.load_g()),
            "machine_mass_g": number(batch.loads.grams),
            "lines": lines,
        }
        for _ in range(batch.loads.count)
    ]


def weight_words(line: BatchLine) -> str:
    """What the scale shows for one load, with its unit."""
    weighing = line.weighing
    if weighing.scale is None:
        return f"{plain(weighing.grams)} g"
    scale = weighing.scale
    text = f"{scale.shows(weighing.grams)} {scale.unit}"
    if weighing.count > 1:
        text += f" in {weighing.count} weighings of {scale.shows(weighing.each)} {scale.unit}"
    return text


_STATUS = {
    "draft": "DRAFT, do not use: not approved",
    "superseded": "SUPERSEDED, do not use: taken out of use",
}


def batch_text(sheet: Sheet, batch: Batch, walks: Mapping[str, Walk] = _NONE) -> str:
    """A batch for the terminal. ``walks`` are those of what is made ahead."""
    out = [
        *_head(sheet, batch),
        *dangers_first(sheet),
        _to_weigh(batch),
        *_on_hand(batch),
        "",
        *_groups(batch),
        "",
        *_purchased(batch),
        *_ahead(sheet, batch, walks),
        *_scales(sheet),
        *_machines(sheet, batch),
        _gets(sheet, batch),
        *_yields(sheet, batch),
        *_else(sheet, batch),
        *_one_fill(sheet),
        *_frozen(sheet),
    ]
    return with_cautions(breakable("\n".join(out)), sheet)


def _frozen(sheet: Sheet) -> Iterator[str]:
    """From when the time of a freezing against parasites counts, and what to write down."""
    for limit in sheet.walk.limits:
        if limit.hazard == "parasites" and limit.note:
            yield f"{limit.verb} ({limit.step}): {limit.note}"


def _purchased(batch: Batch) -> Iterator[str]:
    """What is taken out, where some of it is trimmed off."""
    bought: dict[str, tuple[Fraction, Fraction]] = {}
    for line in batch.lines:
        if line.purchased_g != line.exact_g:
            before = bought.get(line.name, (Fraction(0), Fraction(0)))
            bought[line.name] = (before[0] + line.purchased_g, before[1] + line.exact_g)
    for name, (purchased, ready) in bought.items():
        yield f"Take out {name}: {kilos(purchased)} as purchased for {kilos(ready)} trimmed"


def _ahead(sheet: Sheet, batch: Batch, walks: Mapping[str, Walk]) -> Iterator[str]:
    """What is made ahead, at every level: what goes into another is below it."""
    for one in ahead_of(walks, sheet.walk, batch.factor):
        yield f"{'  ' * (one.level - 1)}Make ahead {one.name}: {_ahead_of(one)}"


def _ahead_of(one: Ahead) -> str:
    return ", ".join(filter(None, (ahead_words(one), of_words(one))))


def _one_fill(sheet: Sheet) -> Iterator[str]:
    """How the weight of a fill by volume was found."""
    rows = sheet.walk.filling.inputs
    if rows:
        yield "One fill: " + "; ".join(f"{name.lower()} {words}" for name, words in rows)


def _head(sheet: Sheet, batch: Batch) -> Iterator[str]:
    """What it is, and that it isn't in force."""
    formula = sheet.formula.formula
    yield f"{sheet.name} · revision {formula.revision} · {batch.label}"
    if sheet.status == "not-yet":
        yield f"NOT CURRENT: starts {formula.effective.isoformat()}"
    elif sheet.status in _STATUS:
        yield _STATUS[sheet.status]


def _to_weigh(batch: Batch) -> str:
    """All that is weighed, and in how many loads."""
    total = kilos(batch.yields.total_g)
    if batch.loads.count <= 1:
        return f"Weigh {total}"
    where = f" in the {batch.equipment_name.lower()}" if batch.equipment_name else ""
    loads = counted(batch.loads.count, "load")
    if batch.whole():
        return f"Weigh {total} in {loads}{where}"
    load = batch.load_g()
    if load * batch.loads.count < batch.yields.total_g * Fraction(99, 100):
        # the rest is in the food already, or is weighed once for all loads
        return f"Weigh {total} in {loads}{where}: {kilos(load)} is weighed out for each load"
    return f"Weigh {total} in {loads} of {kilos(batch.loads.grams)}{where}"


def _on_hand(batch: Batch) -> Iterator[str]:
    """What runs out first, and what is left over."""
    if batch.on_hand:
        names = {ln.line.joined.item: ln.name for ln in batch.lines}
        left = ", ".join(f"{names[k]} {kilos(v)}" for k, v in batch.on_hand.leftover.items())
        rest = f" Left over: {left}" if left else ""
        yield f"{names[batch.on_hand.binding]} runs out first.{rest}"


def _groups(batch: Batch) -> Iterator[str]:
    """The lines of each load part by part, in the order of the steps: machine by machine, and what
    is weighed once for the whole batch in between."""
    width = max(len(ln.name) for ln in batch.lines)
    groups = batch.groups()
    for group in groups:
        if group.run is not None:
            where = "" if group.leads else f" in the {group.run.name.lower()}"
            yield f"Each of {group.loads} loads{where}"
        elif len(groups) > 1:
            yield "For the whole batch"
        yield from _by_part(group.lines, width)


def _by_part(lines: Sequence[BatchLine], width: int) -> Iterator[str]:
    """Lines below the names of their parts."""
    part = ""
    for line in lines:
        if line.part != part:
            part = line.part
            yield f"  {part.replace('-', ' ')}"
        yield _line_text(line, width)


def _line_text(line: BatchLine, width: int) -> str:
    """A line's weight, its scale, how exactly it weighs, and what else is to be said of it."""
    weighing = line.weighing
    kind = line.line.joined.line.amount.kind
    scale = weighing.scale.name if weighing.scale else "no scale"
    note = f"  {line.household}" if kind in ("volume", "count") else ""
    if line.whole_pieces and (scatter := scatter_words(line.line)):
        note += f", {scatter}"
    if line.shares:
        note += f"  for all {len(line.shares)} loads: {shares_words(line.shares).rstrip('.')}"
    if kind == "as-needed":
        note = "  as needed"
    elif weighing.needs is not None:
        note += "  needs a finer scale"
    share = plain(weighing.share * 100, 2)
    return f"    {line.name:<{width}}  {weight_words(line):>12}  {scale}, ±{share} %{note}"


def _scales(sheet: Sheet) -> Iterator[str]:
    """Whose scales the weights are for."""
    for whose, scales in scales_words(sheet.house, sheet.formula):
        yield f"Scales, {whose[0].lower()}{whose[1:]}: {scales}"


def _machines(sheet: Sheet, batch: Batch) -> Iterator[str]:
    """The loads of each machine."""
    for one in batch.step_loads:
        bound = one.bound_by == "bowl" and one.loads.count > 1
        room = ", as much as its bowl has room for" if bound else ""
        yield f"{one.name} ({one.step}): {run_words(one, room)}"
    for _, runs in batch.machines:
        timed = [one.in_all_s for one in runs if one.in_all_s is not None]
        if max(one.loads.count for one in runs) > 1 and timed:
            steps = _in_turn(runs)
            more = " and more" if len(timed) < len(runs) else ""
            yield f"{runs[0].name} is busy for {duration(sum(timed, Fraction(0)))}{more}: {steps}"


def _in_turn(runs: Sequence[StepLoads]) -> str:
    """The runs of one machine in the order they are made: "3 loads (stew), then 2 loads (boil)";
    "3 loads, each of them: blanch, braise" where a load goes through several steps at a time."""
    words, together = "", ""
    for one in runs:
        if together:
            words += f", {one.step}"
        else:
            many = counted(one.loads.count, "load")
            words += ", then " if words else ""
            words += f"{many}, load by load: {one.step}" if one.by_load else f"{many} ({one.step})"
        together = one.step if one.by_load else ""
    return words


def _same_words(makes: Makes, yields: Yields) -> bool:
    """Whether a portion is a piece, and called like it."""
    same = (makes.portion_unit, makes.portion_units) == (makes.unit, makes.units)
    return makes.piece is not None and same and yields.portions == yields.fills


def _portions(makes: Makes, yields: Yields, pieces: str) -> list[str]:
    """The portions a batch gives; of pieces, with what one weighs."""
    assert yields.portions is not None
    rest = yields.over_portions_g if makes.by_portions else Fraction(0)
    over = f" and {kilos(rest)} over" if rest else ""
    one = makes.portion_unit or "portion"
    words = pieces or counted(yields.portions, one, makes.portion_units or None) + over
    return [f"{words} of {each_words(yields)}" if makes.piece is not None else words]


def _yields(sheet: Sheet, batch: Batch) -> Iterator[str]:
    """From what to what, and by which tests."""
    if (spread := from_to_words(batch)) != "":
        yield f"From {spread}"
    for walked in sheet.walk.steps:
        if walked.step.yields is not None and walked.step.yields.tests:
            yield f"{walked.step.verb} ({walked.step.id}): {tests_words(walked.step.yields)}"


def _else(sheet: Sheet, batch: Batch) -> Iterator[str]:
    """What else comes out, and what becomes of it."""
    views = output_views(sheet, batch)
    if views:
        yield "What else comes out, never counted as yield"
    for one in views:
        yield f"    {one.name}: {one.weight}. {one.step}: {one.then}"


def _gets(sheet: Sheet, batch: Batch) -> str:
    """What the batch gives, and what is over behind the last whole fill and portion."""
    makes, yields = sheet.formula.formula.makes, batch.yields
    words = [kilos(yields.yield_g)]
    over, as_filled = over_words(yields), ""
    if over_as_filled(yields):
        words, as_filled = [f"{words[0]} finished"], " as filled"
    if makes is not None and yields.fills is not None:
        words.append(
            fills_words(sheet.formula, batch) + (f" and {over} over{as_filled}" if over else "")
        )
    if makes is not None and yields.portions is not None:
        words += _portions(makes, yields, words.pop() if _same_words(makes, yields) else "")
    text = "You get " + ", ".join(words)
    return text + (f", and {kilos(yields.ends_g)} of ends" if yields.ends_g else "")

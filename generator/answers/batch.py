"""The batch sheet: as JSON and as text."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import Any

from generator.answers.cautions import cautions_record, dangers_first, with_cautions
from generator.answers.numbers import basis_record, number, without_none
from generator.files.finding import as_record
from generator.measures.kilos import kilos
from generator.measures.words import counted, plain
from generator.scaling.batch import Yields
from generator.sheet.sheet import Batch, BatchLine, Sheet, loads_words, made_ahead
from generator.sheet.station_scales import scales_words
from generator.sheet.walk import Walk


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
        "step_loads": [
            {
                "step": one.step,
                "equipment": one.equipment,
                "loads": one.loads.count,
                "mass_g": number(one.loads.grams),
                "fills": list(one.loads.pieces) or None,
                "bound_by": one.bound_by,
                "volume_ml": number(one.volume_ml),
                "basis": basis_record(one.basis),
            }
            for one in batch.step_loads
        ],
        "scales": dict(scales_words(sheet.house, sheet.formula)),
        "base_g": number(yields.base_g),
        "total_g": number(yields.total_g),
        "filled_g": number(yields.filled_g),
        "finished_g": number(yields.finished_g),
        "yield_g": number(yields.yield_g),
        "ends_g": number(yields.ends_g),
        "fills": yields.fills,
        "left_after_fills_g": number(yields.rest_g),
        "portions": yields.portions,
        "portion_g": number(yields.portion_g),
        "binding": batch.on_hand.binding if batch.on_hand else None,
        "leftover": {k: number(v) for k, v in batch.on_hand.leftover.items()}
        if batch.on_hand
        else {},
        "made_ahead_g": {k: number(v) for k, v in made_ahead(walks, sheet, batch).items()},
        "findings": [as_record(f) for f in batch.findings],
        **cautions_record(sheet),
    }
    record["step_loads"] = [without_none(one) for one in record["step_loads"]]
    return record


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


def batch_text(sheet: Sheet, batch: Batch) -> str:
    """A batch for the terminal."""
    out = [
        *_head(sheet, batch),
        *dangers_first(sheet),
        _to_weigh(batch),
        *_on_hand(batch),
        "",
        *_groups(batch),
        "",
        *_scales(sheet),
        *_machines(sheet, batch),
        _gets(sheet, batch.yields),
    ]
    return with_cautions("\n".join(out).replace("\u00a0", " "), sheet)


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
    return f"Weigh {total} in {loads} of {kilos(batch.load_g())}{where}"


def _on_hand(batch: Batch) -> Iterator[str]:
    """What runs out first, and what is left over."""
    if batch.on_hand:
        names = {ln.line.joined.item: ln.name for ln in batch.lines}
        left = ", ".join(f"{names[k]} {kilos(v)}" for k, v in batch.on_hand.leftover.items())
        rest = f" Left over: {left}" if left else ""
        yield f"{names[batch.on_hand.binding]} runs out first.{rest}"


def _groups(batch: Batch) -> Iterator[str]:
    """The lines of each load part by part, then those weighed once for the whole batch."""
    if batch.loads.count > 1:
        yield f"Each of {batch.loads.count} loads"
    width = max(len(ln.name) for ln in batch.lines)
    yield from _by_part(batch.per_load(), width)
    if batch.whole():
        yield "For the whole batch"
        yield from _by_part(batch.whole(), width)


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
        room = ", as much as its bowl has room for" if one.bound_by == "bowl" else ""
        yield f"{one.name} ({one.step}): {loads_words(sheet.formula, one.loads)}{room}"


def _gets(sheet: Sheet, yields: Yields) -> str:
    """What the batch gives, and what is over behind the last whole fill and portion."""
    makes = sheet.formula.formula.makes
    words = [kilos(yields.yield_g)]
    if makes is not None and yields.fills is not None:
        over = f" and {kilos(yields.rest_g)} over" if yields.rest_g else ""
        words.append(counted(yields.fills, makes.unit, makes.plural) + over)
    if makes is not None and yields.portions is not None:
        rest = yields.over_portions_g if makes.portion is not None else Fraction(0)
        over = f" and {kilos(rest)} over" if rest else ""
        words.append(
            counted(yields.portions, makes.portion_unit or "portion", makes.portion_units or None)
            + over
        )
    text = "You get " + ", ".join(words)
    return text + (f", and {kilos(yields.ends_g)} of ends" if yields.ends_g else "")

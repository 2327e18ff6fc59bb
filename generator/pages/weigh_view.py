"""The weigh list of one batch size: rows by part and scale, load by load."""

from __future__ import annotations

from dataclasses import dataclass

from generator.computed import Basis
from generator.measures.words import NARROW, plain
from generator.pages.page import link
from generator.scaling.loads import kilos
from generator.scaling.scales import too_coarse_words
from generator.sheet import Batch, BatchLine, Sheet


@dataclass(frozen=True)
class RowView:
    """One line to weigh: ``whole`` and ``decimals`` of the figure, its unit, what stands by it."""

    key: str
    name: str
    note: str
    whole: str
    decimals: str
    unit: str
    remarks: tuple[tuple[str, str], ...]
    href: str
    scale: str
    scale_reads: str
    new_scale: bool
    number: int


@dataclass(frozen=True)
class PartView:
    """Rows of one part, in weighing order."""

    name: str
    rows: tuple[RowView, ...]


@dataclass(frozen=True)
class WhyView:
    """A line's working for the fold "Why these weights?"."""

    name: str
    basis: Basis
    weighing: str


@dataclass(frozen=True)
class WeighView:
    """The weigh list of a batch: what each load takes, and what goes in once for the whole batch."""

    loads: int
    load_words: str
    parts: tuple[PartView, ...]
    whole: tuple[PartView, ...]
    rows: int
    why: tuple[WhyView, ...]
    purchase: tuple[tuple[str, str, str], ...]


def weigh_view(sheet: Sheet, batch: Batch, uri: str, made_at: dict[str, str]) -> WeighView:
    """The weigh list of one batch. ``made_at`` gives the page of each made-ahead formula."""
    per_load, whole = batch.per_load(), batch.whole()
    trimmed = [ln for ln in batch.lines if ln.purchased_g != ln.exact_g]
    return WeighView(
        batch.loads.count,
        kilos(batch.load_g()),
        _parts(per_load, uri, made_at),
        _parts(whole, uri, made_at),
        len(per_load),
        tuple(WhyView(ln.name, ln.line.basis, _weighing(ln)) for ln in batch.lines),
        tuple((ln.name, kilos(ln.purchased_g), kilos(ln.exact_g)) for ln in trimmed),
    )


def _parts(lines: tuple[BatchLine, ...], uri: str, made_at: dict[str, str]) -> tuple[PartView, ...]:
    parts: list[PartView] = []
    rows: list[RowView] = []
    part = scale = ""
    for number, line in enumerate(lines, 1):
        if line.part != part:
            if rows:
                parts.append(PartView(_part_name(part), tuple(rows)))
            part, rows, scale = line.part, [], ""
        row = _row(line, scale, number, uri, made_at)
        scale = row.scale
        rows.append(row)
    if rows:
        parts.append(PartView(_part_name(part), tuple(rows)))
    return tuple(parts)


def _part_name(part: str) -> str:
    return part.replace("-", " ").capitalize()


def _row(line: BatchLine, before: str, number: int, uri: str, made_at: dict[str, str]) -> RowView:
    weighing, joined = line.weighing, line.line.joined
    scale = weighing.scale
    shown = scale.shows(weighing.grams) if scale else plain(weighing.grams)
    unit = scale.unit if scale else "g"
    whole, point, decimals = shown.partition(".")
    notes: list[str] = []
    if joined.line.prepare:
        notes.append(joined.line.prepare)
    if joined.line.amount.kind in ("volume", "count") and line.household:
        notes.append(line.household)
    if joined.formula is not None:
        notes.append("made ahead")
    if joined.line.note:
        notes.append(joined.line.note)
    remarks: list[tuple[str, str]] = []
    if scale is not None and weighing.count > 1:
        each = f"{scale.shows(weighing.each)}{NARROW}{unit}"
        remarks.append(
            (
                f"In {weighing.count} weighings of {each}:",
                f"the scale holds {kilos(scale.capacity)} with its tub.",
            )
        )
    if scale is not None and weighing.needs is not None:
        remarks.append(("Scale too coarse.", too_coarse_words(weighing)))
    reads = f"{plain(scale.division / scale.unit_g)}{NARROW}{unit}" if scale else ""
    name = scale.name if scale else "No scale"
    href = link(uri, made_at[joined.formula]) if joined.formula in made_at else ""
    return RowView(
        f"{line.part}-{joined.item}", line.name, ", ".join(notes), whole, point + decimals, unit,
        tuple(remarks), href, name, reads, name != before, number,
    )  # fmt: skip


def _weighing(line: BatchLine) -> str:
    weighing = line.weighing
    exact = plain(line.exact_g / line.loads, 3)
    load = " a load" if line.loads > 1 else ""
    share = plain(weighing.share * 100, 2)
    permitted = plain(weighing.permitted * 100)
    return f"exactly {exact}{NARROW}g{load}; weighed to ±{share}{NARROW}%, permitted {permitted}{NARROW}%"

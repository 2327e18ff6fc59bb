"""The weigh list of one batch size: rows by part and scale, load by load."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from generator.measures.kilos import kilos
from generator.measures.words import NARROW, as_scale_shows, at_the_mark, plain
from generator.resolve.joined import House
from generator.scaling.scales import too_coarse_words
from generator.sheet.sheet import Batch, BatchLine, Sheet
from generator.sheet.size_words import loads_words, scatter_words, shares_words
from generator.sheet.station_scales import scales_words
from generator.views.limit_view import basis_rows
from generator.views.other_units import other_line, other_weight
from generator.views.uris import link


@dataclass(frozen=True)
class Remark:
    """A remark below a weight: plain words around those that are set in bold; ``other``: the bold
    ones in the other system. ``of_size``: another batch size may need no such remark."""

    before: str
    bold: str
    after: str
    other: str = ""
    of_size: bool = False


@dataclass(frozen=True)
class RowView:
    """One line to weigh: ``whole`` and ``decimals`` of the figure, its unit, what is beside it.

    ``note`` is short and is beside the figure, ``prepare`` belongs to the name. ``other`` is
    the figure in the other system: before its decimal mark, behind it, and the unit. ``line`` is
    where its line is among the batch's.
    """

    name: str
    prepare: str
    note: str
    whole: str
    decimals: str
    unit: str
    remarks: tuple[Remark, ...]
    href: str
    scale: str
    scale_reads: str
    new_scale: bool
    number: int
    other: tuple[str, str, str] = ("", "", "")
    line: int = 0


@dataclass(frozen=True)
class PartView:
    """Rows of one part, in weighing order."""

    name: str
    rows: tuple[RowView, ...]


@dataclass(frozen=True)
class WhyView:
    """A line's working for the fold "Why these weights?"."""

    name: str
    weighing: str
    basis: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class GroupView:
    """What is weighed together: for each of ``loads`` of the machine ``name``, which ``leads``
    where most is weighed for it, or once where it has no name; what a load weighs by its lines, in
    either system. ``head`` is what the page writes above it, if anything."""

    name: str
    loads: int
    leads: bool
    load_words: tuple[str, str]
    parts: tuple[PartView, ...]
    head: str = ""


@dataclass(frozen=True)
class WeighView:
    """The weigh list of a batch: what is weighed together, in the order of the steps; ``first`` is
    where in it the group is that the page shows load by load. ``loads`` are those of the machine
    for which most is weighed.

    ``total`` and ``load_words`` come in the kitchen's system and in the other."""

    total: tuple[str, str]
    loads: int
    load_words: tuple[str, str]
    groups: tuple[GroupView, ...]
    first: int
    rows: int
    why: tuple[WhyView, ...]
    purchase: tuple[tuple[str, str, str], ...]


def weigh_view(
    sheet: Sheet, batch: Batch, uri: str, made_at: dict[str, str], with_why: bool = True
) -> WeighView:
    """The weigh list of one batch. ``made_at`` gives the page of each made-ahead formula; paper has
    no folds and asks for it without the working (``with_why``)."""
    per_load, groups = batch.per_load(), _groups(sheet.house, batch, uri, made_at)
    trimmed = [ln for ln in batch.lines if ln.purchased_g != ln.exact_g]
    return WeighView(
        _total(sheet.house, batch.lines, sum((ln.weigh_g for ln in batch.lines), Fraction(0))),
        batch.loads.count,
        _total(sheet.house, per_load, batch.load_g()),
        groups,
        next(
            (n for n, g in enumerate(groups) if g.leads or (batch.loads.count == 1 and not g.name)),
            -1,
        ),
        len(per_load),
        ()
        if not with_why
        else (
            *(WhyView(ln.name, _weighing(ln), basis_rows(ln.line.basis)) for ln in batch.lines),
            WhyView("Scales", "the coarsest that is sure enough", scales_of(sheet)),
            *_why_loads(sheet, batch),
        ),
        tuple((ln.name, kilos(ln.purchased_g), kilos(ln.exact_g)) for ln in trimmed),
    )


def _groups(house: House, batch: Batch, uri: str, made_at: dict[str, str]) -> tuple[GroupView, ...]:
    """What is weighed together. The loads of the leading machine are headed by its name where there
    are others beside it, what is weighed once where there is anything else."""
    groups = batch.groups()
    several = any(g.run is not None and not g.leads for g in groups)
    found: list[GroupView] = []
    for index, group in enumerate(groups):
        name, head = group.run.name if group.run is not None else "", ""
        if group.leads and (several or index):
            head = f"{name}: {group.loads} loads"
        if not name and len(groups) > 1:
            head = "Once, for the whole batch"
        words = _total(
            house, group.lines, sum((ln.weighing.grams for ln in group.lines), Fraction(0))
        )
        parts = _parts(house, batch, group.lines, uri, made_at)
        found.append(GroupView(name, group.loads, group.leads, words, parts, head))
    return tuple(found)


def scales_of(sheet: Sheet) -> tuple[tuple[str, str], ...]:
    """Whose scales the weights are for, in the order they are asked."""
    return scales_words(sheet.house, sheet.formula)


def _why_loads(sheet: Sheet, batch: Batch) -> list[WhyView]:
    """What caps the loads of each machine that has a bowl."""
    return [
        WhyView(f"Loads: {one.name}", loads_words(one.loads), basis_rows(one.basis))
        for one in batch.step_loads
        if one.volume_ml is not None
    ]


def _total(house: House, lines: Iterable[BatchLine], grams: Fraction) -> tuple[str, str]:
    """A sum of weights as the coarsest of their scales would show it, if all read in one unit; and
    in the other system."""
    scales = {ln.weighing.scale for ln in lines if ln.weighing.scale is not None}
    units = {(scale.unit, scale.unit_g) for scale in scales}
    if len(units) != 1:
        return kilos(grams), ""
    unit, unit_g = units.pop()
    coarsest = max(scale.division for scale in scales)
    other = other_weight(house, grams, coarsest, unit)
    return (
        f"{as_scale_shows(grams / unit_g, coarsest / unit_g)}{NARROW}{unit}",
        NARROW.join(filter(None, other)),
    )


def _parts(
    house: House, batch: Batch, lines: tuple[BatchLine, ...], uri: str, made_at: dict[str, str]
) -> tuple[PartView, ...]:
    places = {id(line): index for index, line in enumerate(batch.lines)}
    parts: list[PartView] = []
    rows: list[RowView] = []
    part = scale = ""
    for number, line in enumerate(lines, 1):
        if line.part != part:
            if rows:
                parts.append(PartView(part_name(part), tuple(rows)))
            part, rows, scale = line.part, [], ""
        row = replace(_row(house, line, scale, number, uri, made_at), line=places[id(line)])
        scale = row.scale
        rows.append(row)
    if rows:
        parts.append(PartView(part_name(part), tuple(rows)))
    return tuple(parts)


def part_name(part: str) -> str:
    """A part's id as the crew reads it: ``dry-mix`` is "Dry mix"."""
    return part.replace("-", " ").capitalize()


def _row(
    house: House, line: BatchLine, before: str, number: int, uri: str, made_at: dict[str, str]
) -> RowView:
    weighing, joined = line.weighing, line.line.joined
    scale = weighing.scale
    shown = scale.shows(weighing.grams) if scale else plain(weighing.grams)
    unit = scale.unit if scale else "g"
    whole, decimals = at_the_mark(shown)
    note = line.household if joined.line.amount.kind in ("volume", "count") else ""
    if joined.line.amount.kind == "as-needed":
        note = "as needed, about"
    if joined.formula is not None:
        note = f"{note}, made ahead" if note else "made ahead"
    reads = f"{plain(scale.division / scale.unit_g)}{NARROW}{unit}" if scale else ""
    name = scale.name if scale else "No scale"
    href = link(uri, made_at[joined.formula]) if joined.formula in made_at else ""
    other, other_unit = other_line(house, line, weighing.grams)
    return RowView(
        line.name,
        joined.line.prepare,
        note,
        whole,
        decimals,
        unit,
        _remarks(house, line),
        href,
        name,
        reads,
        name != before,
        number,
        (*at_the_mark(other), other_unit),
    )


def _remarks(house: House, line: BatchLine) -> tuple[Remark, ...]:
    return (*_weighings(house, line), *_bounds(line), *_notes(line))


def _weighings(house: House, line: BatchLine) -> Iterator[Remark]:
    """That a line is weighed more than once, since its scale holds no more."""
    weighing, scale = line.weighing, line.weighing.scale
    if scale is not None and weighing.count > 1:
        other = other_line(house, line, weighing.each)
        yield Remark(
            f"In {weighing.count} weighings of",
            f"{scale.shows(weighing.each)}{NARROW}{scale.unit}:",
            f"with its tub on, the scale holds {kilos(scale.capacity)}.",
            other=f"{NARROW.join(other)}:" if all(other) else "",
            of_size=True,
        )


def _bounds(line: BatchLine) -> Iterator[Remark]:
    """Which side of its weight the law bounds."""
    facts = line.line.joined.ingredient
    if line.capped or (facts is not None and facts.function == "cure"):
        yield Remark("", "Legal maximum: never more.", "Rounded down.")
    if facts is not None and facts.erythorbate is not None:
        yield Remark("", "Required: never less.", "Rounded up.")


def _notes(line: BatchLine) -> Iterator[Remark]:
    """That the scale is too coarse for it, that it is for loads that differ, and the line's own
    note."""
    record, weighing = line.line.joined.line, line.weighing
    measured = record.amount.kind != "as-needed"
    if weighing.scale is not None and weighing.needs is not None and measured:
        yield Remark("", "Scale too coarse.", too_coarse_words(weighing), of_size=True)
    if line.shares:
        yield Remark(
            f"For all {len(line.shares)} loads:", shares_words(line.shares), "", of_size=True
        )
    if line.whole_pieces and (scatter := scatter_words(line.line)):
        yield Remark("One weighs", scatter.removesuffix(" each") + ".", "")
    if record.note:
        yield Remark(record.note, "", "")


def _weighing(line: BatchLine) -> str:
    weighing = line.weighing
    exact = plain(line.exact_g / line.loads, 3)
    load = " a load" if line.loads > 1 else ""
    share = plain(weighing.share * 100, 2)
    permitted = plain(weighing.permitted * 100)
    return (
        f"exactly {exact}{NARROW}g{load}; weighed to ±{share}{NARROW}%, permitted "
        f"{permitted}{NARROW}%"
    )

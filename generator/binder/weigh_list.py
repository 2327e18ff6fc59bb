"""The weigh list of a batch sheet: sizes side by side where each line is weighed once, else one
size with a box for each load."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from generator.binder.cautions_block import of_what_is_weighed
from generator.binder.sheets import Record, Words, bold
from generator.measures.words import NARROW, counted
from generator.sheet.cautioning import Notice
from generator.sheet.dosed import nitrite_in
from generator.sheet.sheet import Batch, BatchLine, Sheet
from generator.views.weigh_view import GroupView, PartView, Remark, RowView, WeighView, weigh_view

_PAIR = 2
_MOST_SIDE_BY_SIDE = 3


def side_by_side(batches: Sequence[Batch]) -> tuple[Batch, ...]:
    """The batch sizes that go on one sheet: those of which every line is weighed once, as far as
    the paper is wide; the first alone where it is weighed load by load."""
    once = [b for b in batches if all(line.loads == 1 for line in b.lines)]
    if not once or batches[0] not in once:
        return (batches[0],)
    return tuple(different(once)[:_MOST_SIDE_BY_SIDE])


def different(batches: Sequence[Batch]) -> list[Batch]:
    """The batch sizes that differ: 8 birds and 32 quarters of them are one."""
    found: dict[Fraction, Batch] = {}
    for batch in batches:
        found.setdefault(batch.factor, batch)
    return list(found.values())


def weighing(sheet: Sheet, batches: Sequence[Batch]) -> list[Record]:
    """The weigh lists in the order of the steps: what each load takes, two loads a table, and what
    goes in once for the whole batch. Of several ``batches`` every line is weighed once."""
    views = [weigh_view(sheet, batch, "", {}, with_why=False) for batch in batches]
    if len(batches) > 1:
        heads = [
            {"size": b.label, "total": v.total[0]} for b, v in zip(batches, views, strict=True)
        ]
        tables = [
            (view.groups[0].parts, batch.groups()[0].lines)
            for view, batch in zip(views, batches, strict=True)
        ]
        return _table(sheet, "", None, heads, ["Actual"], tables)
    return _of_one_size(sheet, batches[0], views[0])


def _of_one_size(sheet: Sheet, batch: Batch, view: WeighView) -> list[Record]:
    """The tables of one size."""
    if len(view.groups) == 1 and view.groups[0].loads == 1:
        heads = [{"size": batch.label, "total": f"in all {view.total[0]}"}]
        tables = [(view.groups[0].parts, batch.groups()[0].lines)]
        return _table(sheet, "", None, heads, ["Actual"], tables)
    blocks: list[Record] = []
    for group, together in zip(view.groups, batch.groups(), strict=True):
        blocks += _group(sheet, group, together.lines)
    return blocks


def _group(sheet: Sheet, group: GroupView, lines: tuple[BatchLine, ...]) -> list[Record]:
    """The tables of what is weighed together, beside other groups or load by load."""
    if group.loads == 1:
        heads = [{"size": "Weigh", "total": ""}]
        words = "Weigh once for the whole batch"
        return _table(sheet, words, None, heads, ["Actual"], [(group.parts, lines)])
    blocks: list[Record] = []
    right = _load_words(group.loads, group.load_words[0])
    for first in range(1, group.loads + 1, _PAIR):
        loads = [f"Load {n}" for n in range(first, min(first + _PAIR, group.loads + 1))]
        head = _weigh_head(group.loads, first, len(loads))
        named = f"{group.name}: {head.lower()}" if not group.leads or group.head else head
        size = [{"size": "Per load", "total": ""}]
        blocks += _table(sheet, named, right, size, loads, [(group.parts, lines)])
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


_Table = tuple[tuple[PartView, ...], tuple[BatchLine, ...]]
"""The rows of one size by part, and their lines."""


def _table(
    sheet: Sheet,
    head: str,
    right: Words | None,
    sizes: list[Record],
    actual: list[str],
    tables: Sequence[_Table],
) -> list[Record]:
    """A table with its head, empty where its first column says it: ``sizes`` are its columns of
    figures, ``actual`` those to write in."""
    rows = list(_rows(sheet, [s["size"] for s in sizes], tables))
    heads = [{"form": "head", "words": head, "right": right, "keep": True}] if head else []
    lead = "" if head else ("Tick one size" if len(sizes) > 1 else "Weigh")
    weigh = {"form": "weigh", "lead": lead, "sizes": sizes, "actual": actual, "rows": rows}
    return [*heads, {**weigh, "covers": ["weigh"]}]


def _rows(sheet: Sheet, sizes: list[str], tables: Sequence[_Table]) -> Iterator[Record]:
    """The rows of a table: a heading over consecutive rows on one scale, the DANGER of a cure above
    the first cure, and each line with its figure in every size."""
    parts, lines = tables[0]
    others = [_by_line(*table) for table in tables[1:]]
    notices = list(of_what_is_weighed(sheet))
    rows = _with_their_part(parts)
    runs = list(_runs([row.scale for _, row in rows]))
    for at, (part, row) in enumerate(rows):
        line = lines[row.number - 1]
        run = _run_at(runs, at)
        if run == at:
            yield {"row": "group", "scale": _scale_words(row)}
        if nitrite_in(sheet.walk, line.line) or _is_cure(line):
            yield from map(_danger, notices)
            notices = []
        alike = [row, *(found[id(line.line)] for found in others)]
        heading = row.scale if run is not None else ""
        made = _line(line, alike, sizes, [there for _, there in tables], heading)
        yield {**made, "part": part, "under": _scale_words(row) if heading else ""}


def _run_at(runs: list[tuple[int, int]], at: int) -> int | None:
    """Where the run begins that a row is in; None for one on a scale of its own."""
    return next((start for start, end in runs if start <= at < end), None)


def _by_line(views: tuple[PartView, ...], lines: tuple[BatchLine, ...]) -> dict[int, RowView]:
    """The rows of a size by what line they are of."""
    return {id(lines[row.number - 1].line): row for part in views for row in part.rows}


def _with_their_part(parts: tuple[PartView, ...]) -> list[tuple[str, RowView]]:
    """Each row, the first of a part with its name."""
    return [(part.name if n == 0 else "", row) for part in parts for n, row in enumerate(part.rows)]


def _runs(scales: Sequence[str]) -> Iterator[tuple[int, int]]:
    """Where two or more rows on one scale begin and end: they have one heading."""
    start = 0
    for end in range(1, len(scales) + 1):
        if end == len(scales) or scales[end] != scales[start]:
            if end - start > 1:
                yield start, end
            start = end


def _danger(notice: Notice) -> Record:
    """A caution over the row of what it is about, with room for two people's initials."""
    return {
        "row": "danger",
        "severity": notice.severity,
        "words": notice.words,
        "boxes": ["First initials", "Second initials"],
    }


def _is_cure(line: BatchLine) -> bool:
    facts = line.line.joined.ingredient
    return facts is not None and facts.function == "cure"


def _scale_words(row: RowView) -> str:
    """A scale's name and what it reads: "Fine scale, reads 0.1 g"."""
    return f"{row.scale}, reads {row.scale_reads}" if row.scale_reads else row.scale


def _line(
    line: BatchLine,
    rows: list[RowView],
    sizes: list[str],
    lines: list[tuple[BatchLine, ...]],
    scale: str,
) -> Record:
    """One line; ``scale`` is the heading it is under, empty under none."""
    row = rows[0]
    made = "made ahead" if line.line.joined.formula is not None else ""
    one_scale = len({one.scale for one in rows}) == 1
    on = _small(row.scale) if one_scale and row.scale != scale else ""
    more = [row.prepare, made, on, *_remarks(rows, sizes)]
    return {
        "row": "line",
        "name": row.name,
        "more": " · ".join(w for w in more if w),
        "cells": [
            _cell(
                one,
                row.scale if one_scale else scale,
                of[one.number - 1],
                len(rows) < _MOST_SIDE_BY_SIDE,
            )
            for one, of in zip(rows, lines, strict=True)
        ],
        "lot": _lot(line),
    }


def _cell(row: RowView, scale: str, line: BatchLine, roomy: bool) -> Record:
    """A figure in one size; of three sizes beside each other only pieces are said as well, no
    volumes."""
    note = row.note.removesuffix("made ahead").strip(" ,")
    if not roomy and line.line.joined.line.amount.kind == "volume":
        note = ""
    other = _small(row.scale) if row.scale != scale else ""
    return {
        "whole": row.whole,
        "decimals": row.decimals,
        "unit": row.unit,
        "tolerance": tolerance_words(line),
        "note": ", ".join(w for w in (note, other) if w),
    }


def _small(name: str) -> str:
    return name[:1].lower() + name[1:]


def tolerance_words(line: BatchLine) -> str:
    """How far a reading may be from its figure: "±\u00a016". Empty where it is weighed to the
    figure, as a line the law bounds and one whose scale leaves less than a division; for what is
    taken as needed, and for whole pieces."""
    weighing = line.weighing
    as_needed = line.line.joined.line.amount.kind == "as-needed"
    if weighing.scale is None or as_needed or line.whole_pieces:
        return ""
    facts = line.line.joined.ingredient
    bound = line.capped or _is_cure(line) or (facts is not None and facts.erythorbate is not None)
    off = Fraction(0) if bound else weighing.tolerance
    return f"±{NARROW}{weighing.scale.shows(off)}" if off else ""


def _remarks(rows: list[RowView], sizes: list[str]) -> Iterator[str]:
    """What is said below a name, once; what is of one size alone behind that size."""
    said = [[_remark(r) for r in row.remarks] for row in rows]
    for words in dict.fromkeys(w for one in said for w in one):
        whose = [size for size, one in zip(sizes, said, strict=True) if words in one]
        yield words if len(whose) == len(rows) else f"{', '.join(whose)}: {words}"


def _remark(one: Remark) -> str:
    return " ".join(w for w in (one.before, one.bold, one.after) if w).rstrip()


def _lot(line: BatchLine) -> str:
    """What the lot box asks for beside the lot: the day by which a perishable part is dated."""
    facts = line.line.joined.ingredient
    if line.line.joined.formula is not None:
        return "Made"
    if facts is not None and facts.tcs and facts.state == "ready-to-eat":
        return "Opened"
    return ""

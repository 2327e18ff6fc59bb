"""What a variant says differently from its base: both laid out as facts at one size, and compared
by the engine that compares two printings."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from generator.files.finding import Refused
from generator.measures.words import NARROW
from generator.records.size import Size
from generator.sheet.composed import Made
from generator.sheet.sheet import Batch, Sheet, make_batch
from generator.views.composition_view import parts_of
from generator.views.facts import Change, Facts, NamedFacts, fact_changes
from generator.views.sheet_facts import facts_of

_SIZE = "the same size"


@dataclass(frozen=True)
class Difference:
    """What differs from the base, line by line first, then all figures; ``at`` is the size both
    are compared at, "" where the base can't be made in it."""

    at: str
    lines: tuple[Change, ...]
    figures: tuple[Change, ...]


def difference(base: Sheet, variant: Sheet, made: Mapping[str, Made]) -> Difference:
    """What a variant says differently from its base. ``made`` says what each is made of, by the
    ids of both."""
    sizes = _at_one_size(base, variant)
    then, now = (_facts(s, b, made[s.id]) for s, b in zip((base, variant), sizes, strict=True))
    changes = [c for c in fact_changes(then, now) if c.group != "control"]
    weighed = set(_names(base)) | set(_names(variant))
    lines = tuple(c for c in changes if c.group == "batch" and c.name in weighed)
    typed = [c for c in changes if c.group == "formula" and c.name in weighed]
    rest = tuple(c for c in changes if c not in lines and c not in typed)
    at = variant.batches[0].label.replace(NARROW, " ") if sizes[0] is not None else ""
    return Difference(at, lines or tuple(typed), rest)


def _names(sheet: Sheet) -> Iterator[str]:
    """The names a sheet's lines have as facts."""
    seen: dict[str, int] = {}
    for line in sheet.walk.lines:
        name = line.joined.name
        seen[name] = seen.get(name, 0) + 1
        yield name if seen[name] == 1 else f"{name}, {seen[name]}"


def _at_one_size(base: Sheet, variant: Sheet) -> tuple[Batch | None, Batch | None]:
    """Both in the variant's own size; none where the base can't be made in it."""
    if not variant.batches:
        return None, None
    batch = variant.batches[0]
    try:
        total = Size("total", batch.yields.total_g)
        return make_batch(base.house, base.walk, total), batch
    except Refused:
        return None, None


def _facts(sheet: Sheet, batch: Batch | None, made: Made) -> Facts:
    batches = () if batch is None else (replace(batch, label=_SIZE),)
    facts = NamedFacts(facts_of(replace(sheet, batches=batches)))
    for part in parts_of(made):
        if part.stated:
            facts.put("composition", part.name, part.words)
    return facts


def variants_of(sheets: Mapping[str, Sheet], base: str) -> list[Sheet]:
    """The variants of a formula, the newest first."""
    found = [s for s in sheets.values() if s.formula.formula.variant_of == base]
    return sorted(found, key=lambda s: (s.formula.formula.effective, s.id), reverse=True)

"""What a variant says differently from its base: both laid out as facts at one size, and compared
by the engine that compares two printings."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from generator.measures.words import breakable
from generator.sheet.composed import Made
from generator.sheet.manual import Manual
from generator.sheet.same_size import in_total
from generator.sheet.sheet import Batch, Sheet
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
    then, now = _at_one_size(base, variant)
    changes = fact_changes(
        _facts(base, then, made[base.id]), _facts(variant, now, made[variant.id])
    )
    weighed = {*_names(base), *_names(variant)}
    parted: dict[str, list[Change]] = {"lines": [], "typed": [], "figures": []}
    for change in changes:
        if change.group != "control":
            parted[_kind(change, weighed)].append(change)
    at = breakable(now.label) if now is not None else ""
    return Difference(at, tuple(parted["lines"] or parted["typed"]), tuple(parted["figures"]))


def _kind(change: Change, weighed: set[str]) -> str:
    """Whether a change is of a line's weight, of a line as typed, or of another figure."""
    if change.name not in weighed:
        return "figures"
    return {"batch": "lines", "formula": "typed"}.get(change.group, "figures")


def _names(sheet: Sheet) -> Iterator[str]:
    """The names a sheet's lines have as facts."""
    seen: dict[str, int] = {}
    for line in sheet.walk.lines:
        name = line.joined.name
        seen[name] = seen.get(name, 0) + 1
        yield name if seen[name] == 1 else f"{name}, {seen[name]}"


def _at_one_size(base: Sheet, variant: Sheet) -> tuple[Batch | None, Batch | None]:
    """Both in the variant's own size; none where the base can't be made in it."""
    now = variant.batches[0] if variant.batches else None
    then = in_total(base, now.yields.total_g) if now is not None else None
    return (then, now) if then is not None else (None, None)


def _facts(sheet: Sheet, batch: Batch | None, made: Made) -> Facts:
    batches = () if batch is None else (replace(batch, label=_SIZE),)
    facts = NamedFacts(facts_of(replace(sheet, batches=batches)))
    for part in parts_of(made):
        if part.stated:
            facts.put("composition", part.name, part.words)
    return facts


def variants_of(manual: Manual, base: str) -> list[Sheet]:
    """The variants of a formula, the newest first."""
    found = [manual.sheets[ident] for ident in manual.variants.get(base, ())]
    return sorted(found, key=lambda s: (s.formula.formula.effective, s.id), reverse=True)

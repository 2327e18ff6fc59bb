"""How much of a by-product the batches of its formula give, and how much others take of it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from fractions import Fraction

from generator.files.finding import Finding, Refused
from generator.measures.kilos import kilos
from generator.measures.words import listed
from generator.records.size import Size
from generator.sheet.measured_sizes import as_weight
from generator.sheet.outputs import factor_of
from generator.sheet.walked import Walk


def all_with_sizes(walks: Mapping[str, Walk]) -> dict[str, Walk]:
    """All walks, in their order, by-products with the sizes their formulas give: a formula goes
    before what comes out of it, however early what another takes of it was walked."""
    found = dict(walks)
    for ident in sorted(walks, key=lambda i: _remove_of(walks, i)):
        found[ident] = _with_sizes(found[ident], found)
    return found


def _remove_of(walks: Mapping[str, Walk], ident: str) -> int:
    """How many formulas a by-product is away from one that is written in a file; 0 for such."""
    seen: set[str] = set()
    while ident in walks and ident not in seen:
        seen.add(ident)
        of = walks[ident].formula.formula.by_product
        if of is None:
            break
        ident = of.formula
    return len(seen)


def _with_sizes(walk: Walk, walks: Mapping[str, Walk]) -> Walk:
    """A walk of a by-product that has no batch sizes of its own with what the batches of its
    formula give of it; any other as it is. ``walks`` are those walked before."""
    of = walk.formula.formula.by_product
    if of is None or walk.formula.sizes or of.formula not in walks:
        return walk
    sizes = tuple(
        Size("yield", factor * walk.figures.yielded, "", kilos(factor * walk.figures.yielded))
        for factor in _factors(walks[of.formula])
    )
    return replace(walk, formula=replace(walk.formula, sizes=sizes))


def _factors(walk: Walk) -> Iterator[Fraction]:
    """The factors of a formula's batch sizes that it can be made in."""
    for size in walk.formula.sizes:
        try:
            sized = as_weight(walk, size)
            yield factor_of(walk, sized.kind, sized.value)
        except Refused:
            continue  # the sheet says it


def gives_of(walk: Walk, walks: Mapping[str, Walk]) -> Fraction | None:
    """The grams of a by-product that its formula's largest batch gives; None of any other."""
    of = walk.formula.formula.by_product
    if of is None or of.formula not in walks:
        return None
    made = max(_factors(walks[of.formula]), default=None)
    return made * walk.figures.yielded if made is not None else None


def asked_for_too_much(walks: Mapping[str, Walk]) -> Iterator[Finding]:
    """A note where a formula's usual batch takes more of a by-product than the largest batch that
    leaves it gives, or several take more together."""
    for ident, walk in walks.items():
        gives = gives_of(walk, walks)
        takers = _takers(ident, walks) if gives is not None else {}
        if gives is None or not takers:
            continue
        alone = {taker: grams for taker, grams in takers.items() if grams > gives}
        for taker, grams in alone.items():
            yield _too_much(walk, gives, grams, [walks[taker]])
        together = sum(takers.values(), Fraction(0))
        if not alone and together > gives:
            yield _too_much(walk, gives, together, [walks[i] for i in takers])


def _takers(ident: str, walks: Mapping[str, Walk]) -> dict[str, Fraction]:
    """The formulas that take a by-product, each with the grams of its usual batch."""
    found: dict[str, Fraction] = {}
    for other, walk in walks.items():
        taken = sum((ln.grams for ln in walk.lines if ln.joined.formula == ident), Fraction(0))
        usual = next(_factors(walk), None) if taken else None
        if usual is not None:
            found[other] = taken * usual
    return found


def _too_much(walk: Walk, gives: Fraction, takes: Fraction, takers: list[Walk]) -> Finding:
    of = walk.formula.formula.by_product
    assert of is not None
    names = listed([taker.formula.formula.name for taker in takers])
    together = "" if len(takers) == 1 else " together"
    record = takers[0].formula.formula
    part, item = next(
        (ln.joined.part, ln.joined.item)
        for ln in takers[0].lines
        if ln.joined.formula == walk.formula.id
    )
    return Finding(
        "by-product-short",
        "note",
        f"{names}: a usual batch takes {kilos(takes)} of {walk.formula.formula.name}{together}. "
        f"The largest batch of {of.name} gives {kilos(gives)}.",
        record.key_place("parts", part, item),
        f"Make {of.name} more than once, or in a larger batch. Or make less here.",
        about=frozenset({taker.formula.id for taker in takers}),
    )

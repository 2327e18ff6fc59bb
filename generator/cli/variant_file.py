"""A nearest formula as the file of a variant: what is typed of each line, and its computing."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from generator.authoring.variants import Variant, VariantLine
from generator.measures.words import plain
from generator.sheet.bounded import Cell
from generator.sheet.percents import Key
from generator.sheet.reformulated import Nearest, NewLine
from generator.sheet.sheet import Sheet

_US = {"oz": "oz", "lb": "lb"}


def typed_weight(grams: Fraction, unit: str = "g", unit_g: Fraction = Fraction(1)) -> str:
    """A weight as it is typed: in a scale's ounces or pounds, else in grams or kilograms."""
    if unit in _US:
        return f"{plain(grams / unit_g, 9, False)} {unit}"
    if grams >= 1000:
        return f"{plain(grams / 1000, 9, False)} kg"
    return f"{plain(grams, 9, False)} g"


def variant_of(sheet: Sheet, nearest: Nearest, ident: str, made_of: str) -> Variant:
    """What is written of a nearest formula."""
    kept = [line for line in nearest.lines if line.now_g]
    units = {ln.line.joined.item: _unit(ln.weighing.scale) for b in sheet.batches for ln in b.lines}
    cells = {(cell.key, cell.of): cell for cell in nearest.want.cells}
    there = {name for line in kept for name in line.key}
    return Variant(
        ident,
        sheet.id,
        sheet.as_of,
        tuple(_line(line, cells, units) for line in kept),
        _size(sheet, nearest, kept, units),
        _base_ids(sheet, nearest, there),
        _gone(sheet, there),
        made_of,
    )


def _size(
    sheet: Sheet,
    nearest: Nearest,
    kept: list[NewLine],
    units: Mapping[str, tuple[str, Fraction]],
) -> str:
    """The batch's size as it is typed: what its base weighs, in the unit of its scale."""
    base = _base_keys(sheet, nearest)
    grams = sum((line.now_g for line in kept if line.key in base), Fraction(0))
    unit = next((units[k[1]] for k in sorted(base) if k[1] in units), ("g", Fraction(1)))
    return f"{typed_weight(grams, *unit)} base"


def _gone(sheet: Sheet, there: set[str]) -> frozenset[str]:
    """The ids that bounds name and that aren't in it any more."""
    bounds = sheet.formula.formula.bounds
    return frozenset(bounds.shares if bounds is not None else ()) - there


def _unit(scale: Any) -> tuple[str, Fraction]:
    return ("g", Fraction(1)) if scale is None else (scale.unit, scale.unit_g)


def _line(
    line: NewLine,
    cells: Mapping[tuple[Key, Key], Cell],
    units: Mapping[str, tuple[str, Fraction]],
) -> VariantLine:
    """What is typed of one line."""
    part, item = line.key
    own = cells.get((line.key, line.key))
    if own is None:  # it stands in for another line
        like = next(of for key, of in cells if key == line.key)[1]
        unit = units.get(like, ("g", Fraction(1)))
        return VariantLine(part, item, like, typed_weight(line.now_g, *unit))
    amount = own.line.joined.line.amount
    as_typed = amount.kind != "percent" and line.now_g == own.line.grams
    if line.follows or as_typed:
        return VariantLine(part, item, item)
    if amount.kind == "count":
        many = line.now_g / own.line.grams * amount.value
        return VariantLine(part, item, item, f"{plain(many, 6, False)} {amount.unit}")
    weight = typed_weight(line.now_g, *units.get(item, ("g", Fraction(1))))
    if amount.kind == "as-needed":
        return VariantLine(part, item, item, None, weight)
    return VariantLine(part, item, item, weight)


def _base_keys(sheet: Sheet, nearest: Nearest) -> set[Key]:
    """The keys of the base, and of what stands in for its lines."""
    base = set(sheet.formula.base)
    return base | {cell.key for cell in nearest.want.cells if cell.of in sheet.formula.base}


def _base_ids(sheet: Sheet, nearest: Nearest, there: set[str]) -> tuple[str, ...]:
    """The base as it is typed: the parts that are left, the ingredients and what stands in for
    them."""
    formula, found = sheet.formula.formula, list[str]()
    for name in formula.base:
        if name in formula.parts:
            found += [name] if name in there else []
            continue
        cells = [c for c in nearest.want.cells if c.of[1] == name and c.of in sheet.formula.base]
        found += [cell.key[1] for cell in cells if nearest.grams.get(cell.key)]
    return tuple(dict.fromkeys(found))

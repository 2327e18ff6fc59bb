"""What a label says of a formula, as JSON and as text: the statement of its ingredients, the
equipment it shares, and its nutrition."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from generator.answers.numbers import number, without_none
from generator.measures.words import breakable
from generator.sheet.manual import Manual
from generator.sheet.nutrition import Declared, Nutrition, NutritionRow, nutrition_of
from generator.sheet.statement import Stated, Statement, statement_of
from generator.views.label_view import (
    DEFERS,
    NOT_CLEANING,
    LabelView,
    figure_words,
    label_view,
    quid_words,
    tolerance_g,
)


def statement_record(manual: Manual, formula: str) -> dict[str, Any]:
    """What a label says of a formula, by its id: every ingredient with its share, each figure from
    … to … and as the law in force declares it."""
    statement = statement_of(manual.house, manual.walks, manual.stated, formula)
    view = label_view(manual, formula)
    nutrition = nutrition_of(manual.label_law, manual.labelled[formula], manual.walks[formula])
    return {
        "law": view.law,
        "statement": view.statement,
        "ingredients": _ingredients(statement.ingredients, statement),
        "contains": [str(allergen) for allergen in statement.allergens],
        "shared_equipment": [
            {
                "equipment": one.equipment,
                "allergens": [
                    {"allergen": str(allergen), "by": list(names)}
                    for allergen, names in one.allergens
                ],
            }
            for one in statement.shared
        ],
        "shared_equipment_words": f"{view.shared} {NOT_CLEANING}" if view.shared else "",
        "doubts": list(view.doubts),
        "nutrition": _nutrition(nutrition) if nutrition is not None else None,
        "defers": DEFERS,
        "basis": [{"name": name, "words": words} for name, words in view.rows],
    }


def _ingredients(stated: Iterable[Stated], statement: Statement) -> list[dict[str, Any]]:
    return [
        without_none(
            {
                "item": one.item,
                "name": one.name,
                "grams": number(one.grams),
                "share_pct": number(one.share * 100),
                "of_finished_pct": number(one.of_finished * 100),
                "any_order": one.small,
                "allergens": [str(allergen) for allergen in one.allergens],
                "declared": quid_words(one, statement.lost).strip("()") if one.quid else None,
                "contains": _inside(one, statement),
            }
        )
        for one in stated
    ]


def _inside(one: Stated, statement: Statement) -> list[dict[str, Any]] | list[str] | None:
    """What an ingredient is made of: what we make, or the words of its own label."""
    if one.inside:
        return _ingredients(one.inside, statement)
    return list(one.says) or None


def _nutrition(nutrition: Nutrition) -> dict[str, Any]:
    return {
        "portion_g": number(nutrition.portion_g) if nutrition.portion_g is not None else None,
        "rows": [_row(row) for row in nutrition.rows],
    }


def _row(row: NutritionRow) -> dict[str, Any]:
    portion, tolerance = row.per_portion, tolerance_g(row)
    return without_none(
        {
            "nutrient": row.id,
            "name": row.row.name,
            "unit": row.row.unit,
            "clause": row.row.clause,
            "per_100_g": _declared(row, row.per_100_g),
            "tolerance_per_100_g": number(tolerance) if tolerance is not None else None,
            "per_portion": _declared(row, portion) if portion is not None else None,
            "left_open_by": list(row.open_by) or None,
        }
    )


def _declared(row: NutritionRow, found: Declared) -> dict[str, Any]:
    percent = found.percent
    return without_none(
        {
            "from": number(found.exact.low),
            "to": number(found.exact.high),
            "declared": breakable(figure_words(row, found)),
            "of_a_day_pct": [number(one) for one in percent] if percent is not None else None,
        }
    )


def statement_text(manual: Manual, formula: str) -> str:
    """What a label says of a formula, for the terminal."""
    view = label_view(manual, formula)
    lines = [manual.walks[formula].formula.formula.name, "", f"Ingredients: {view.statement}."]
    if view.contains:
        lines.append(f"Contains: {view.contains}.")
    if view.shared:
        lines.append(f"{view.shared} {NOT_CLEANING}")
        lines += [f"  {name}: {words}" for name, words in view.equipment]
    lines += view.doubts
    lines += ["", *_table(view), ""]
    lines += [f"{name}: {words}" for name, words in view.rows]
    return breakable("\n".join([*lines, DEFERS]))


def _table(view: LabelView) -> list[str]:
    """The nutrition in columns, what is part of another row set in; a column with nothing in it is
    left out."""
    rows = [
        (
            f"  {n.name}" if n.part else n.name,
            f"{n.per_100_g} {n.tolerance}".rstrip(),
            n.per_portion,
            n.day,
        )
        for n in view.lines
    ]
    heads = ("Nutrition", "In 100 g", f"In a portion of {view.portion}", "Of a day")
    columns = [column for column in zip(heads, *rows, strict=True) if any(column[1:])]
    return [_in_columns(row, columns) for row in zip(*columns, strict=True)]


def _in_columns(row: tuple[str, ...], columns: list[tuple[str, ...]]) -> str:
    first, *others = zip(row, (max(map(len, column)) for column in columns), strict=True)
    cells = [first[0].ljust(first[1]), *(cell.rjust(width) for cell, width in others)]
    return "  ".join(cells).rstrip()

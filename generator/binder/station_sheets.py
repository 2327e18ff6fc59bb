"""A station's own sheets: allergens, conversions for what it weighs, sign-off."""

from __future__ import annotations

from generator.binder.sheets import Record, sheet_record
from generator.measures.temperature import Temperature
from generator.records.approval import Approval, approval_of
from generator.records.ingredient import Ingredient
from generator.resolve.joined import House
from generator.sheet.manual import Manual
from generator.sheet.sheet import Sheet
from generator.views.status_view import status_of
from generator.views.table_rows import (
    about_words,
    equal_row,
    household_weights,
    measure_words,
    oven_row,
)
from generator.views.tables import measures_of, oven_table, spoon_table

_SIGNATURES = 17


def _of(manual: Manual, station: str) -> tuple[House, Approval, str]:
    house = manual.house
    record = house.stations[station]
    return house, approval_of(record, house.kitchen, manual.as_of), record.name


def allergen_sheet(manual: Manual, station: str, sheets: list[Sheet]) -> Record:
    """Every formula of the station against the kitchen's list of allergens, in words too.

    A word off the list that is declared gets a column of its own, in which nothing is ever denied.
    """
    house, approval, name = _of(manual, station)
    listed = list(house.allergens.named())
    words = list(dict.fromkeys([*listed, *(a.word for sheet in sheets for a in sheet.allergens)]))
    rows = []
    for sheet in sorted(sheets, key=lambda s: s.name.lower()):
        mine = {a.word for a in sheet.allergens}
        contains = ", ".join(str(a) for a in sheet.allergens) or house.allergens.none
        status = status_of(sheet)
        cells = ["yes" if w in mine else ("no" if w in listed else "–") for w in words]
        reported = (
            f"{status.word}. Contains {contains}" if status.reversed else f"Contains {contains}"
        )
        rows.append({"name": sheet.name, "words": reported, "cells": cells})
    return sheet_record(
        manual,
        "allergens",
        f"{station}/{station}/allergens",
        "Allergens of this station",
        [house.allergens.name],
        name,
        approval,
        f"{station}, allergens",
        [
            {
                "form": "prose",
                "words": "Made-ahead parts are counted. Not sure, or another supplier? Ask before "
                "you serve.",
            },
            {"form": "matrix", "heads": [w[:1].upper() + w[1:] for w in words], "rows": rows},
        ],
    )


def conversion_sheet(manual: Manual, station: str, sheets: list[Sheet]) -> Record | None:
    """What the measures of the station's ingredients weigh, the kitchen's spoons and cups, and the
    station's heats in the other scale; None where the station weighs nothing."""
    if not sheets:
        return None
    house, approval, name = _of(manual, station)
    return sheet_record(
        manual,
        "conversions",
        f"{station}/{station}/conversions",
        "Conversions for this station",
        ["Grams first; measures are about"],
        name,
        approval,
        f"{station}, conversions",
        [*_measures(house, sheets), *_spoons(house), *_heats(manual, sheets)],
    )


def _measures(house: House, sheets: list[Sheet]) -> list[Record]:
    """What the measures of the ingredients weigh, by the ingredients' names."""
    found: dict[str, Ingredient] = {}
    for sheet in sheets:
        for line in sheet.formula.lines:
            if line.ingredient is not None:
                found.setdefault(line.item, line.ingredient)
    rows = []
    for facts in sorted(found.values(), key=lambda f: f.name.lower()):
        measures = measures_of(house.units, household_weights(house, facts))
        if measures:
            reported = ", ".join(f"{measure_words(m)} {about_words(m)}" for m in measures)
            rows.append([facts.name, reported])
    if not rows:
        return []
    return [
        {"form": "head", "words": "What measures weigh", "keep": True},
        {
            "form": "table",
            "columns": [
                {"head": "Ingredient", "mm": 60, "bold": True},
                {"head": "In grams", "share": 1},
            ],
            "rows": rows,
        },
    ]


def _spoons(house: House) -> list[Record]:
    """The kitchen's spoons and cups in millilitres."""
    spoons = [equal_row(row) for row in spoon_table(house.units)]
    return [
        {"form": "head", "words": "Spoons and cups of this kitchen", "keep": True},
        {
            "form": "table",
            "columns": _THREE,
            "rows": [[r.left, r.right, r.mark] for r in spoons],
            "least": 6.3,
        },
    ]


def _named(sheets: list[Sheet]) -> set[Temperature]:
    """Both ends of the temperatures that the steps name."""
    spans = [w.step.step.at for s in sheets for w in s.walk.steps if w.step.step.at is not None]
    return {end for span in spans for end in (span.coolest, span.warmest)}


def _heats(manual: Manual, sheets: list[Sheet]) -> list[Record]:
    """The heats that the steps of ``sheets`` name, each in the other scale."""
    used = _named(sheets)
    heats = []
    for unit in dict.fromkeys(at.unit for at in used):
        mine = {at.celsius for at in used if at.unit == unit}
        heats += [oven_row(r) for r in oven_table(manual, unit) if r.value.celsius in mine]
    if not heats:
        return []
    return [
        {
            "form": "head",
            "words": "Heats of this station",
            "keep": True,
            "right": "For setting a dial, never for a limit",
        },
        {
            "form": "table",
            "columns": _THREE,
            "least": 6.3,
            "rows": [[h.left, h.right, h.mark] for h in heats],
        },
    ]


_THREE = [
    {"head": "This", "mm": 44, "bold": True},
    {"head": "is", "mm": 44},
    {"head": "Figure", "share": 1},
]


def sign_off_sheet(manual: Manual, station: str) -> Record:
    """Who works here, their initials as the other sheets carry them, and what they have read."""
    _, approval, name = _of(manual, station)
    heads = (
        ("Name", 46),
        ("Initials", 18),
        ("Sheets read: no., revision", 54),
        ("Signature", 38),
        ("Date", 24),
    )
    return sheet_record(
        manual,
        "sign-off",
        f"{station}/{station}/sign-off",
        "Initials and sign-off",
        ["Who works at this station"],
        name,
        approval,
        f"{station}, sign-off",
        [
            {
                "form": "prose",
                "words": "Read the sheets. Ask what you do not understand. Then sign. Your "
                "initials under By and Check mean that you did it, or saw it.",
            },
            {
                "form": "table",
                "least": 10.2,
                "rows": [[""] * len(heads)] * _SIGNATURES,
                "columns": [{"head": h, "mm": mm, "write": True} for h, mm in heads],
            },
        ],
    )

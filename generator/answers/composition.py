"""What a formula is made of, and a dough's overall formula: as JSON and as text."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import Any

from generator.answers.numbers import number, without_none
from generator.measures.between import Between
from generator.measures.kilos import kilos
from generator.measures.words import breakable
from generator.sheet.manual import Manual
from generator.sheet.sheet import Batch
from generator.views.bakers_view import (
    OverallLine,
    bakers_rows,
    bakers_sums,
    later_lines,
    overall_lines,
)
from generator.views.composition_view import composition_rows, parts_of


def composition_record(manual: Manual, formula: str) -> dict[str, Any]:
    """What a finished formula is made of, in percent of its weight, each from … to …"""
    made = manual.made[formula]
    return {
        "per_100_g": {
            part.key: without_none(
                {
                    **_percent(part.share),
                    "stated": part.stated,
                    "left_open_by": list(part.open_by) or None,
                }
            )
            for part in parts_of(made)
        },
        "lost_over_its_water_g": number(made.balance.dry_g),
        "sources": [{"name": name, "source": source or None} for name, source in made.sources],
        "basis": dict(composition_rows(manual.house, made)),
    }


def bakers_record(manual: Manual, formula: str) -> dict[str, Any] | None:
    """A dough's overall formula, in percent of its total flour; None for what is no dough."""
    dough = manual.dough(formula)
    if dough is None:
        return None
    overall = dough.overall
    flour = overall.flour_g
    return {
        "overall": [_row(row, flour) for row in overall_lines(overall)],
        "later": [_row(row, flour) for row in later_lines(overall)],
        "liquid_pct": number(overall.liquid_g / flour * 100),
        "water_pct": _percent(overall.water_g.times(1 / flour)),
        "salt_pct": number(overall.salt_g / flour * 100),
        "sugar_pct": _percent(overall.sugar_g.times(1 / flour)),
        "prefermented_flour_pct": number(overall.prefermented * 100),
        "prefermented_by_pct": {n: number(g / flour * 100) for n, g in overall.ahead_g},
        "dough_yield_pct": number(overall.dough_g / flour * 100),
        "basis": dict(bakers_rows(manual.house, dough, manual.walks[formula])),
    }


def _percent(share: Between) -> dict[str, Any]:
    return {"from_pct": number(share.low * 100), "to_pct": number(share.high * 100)}


def _row(line: OverallLine, flour: Fraction) -> dict[str, Any]:
    return without_none(
        {
            "name": line.name,
            "pct": number(line.grams / flour * 100),
            "of_it_pct": {name: number(g / flour * 100) for name, g in line.by} or None,
        }
    )


def composition_text(manual: Manual, formula: str) -> str:
    """What a finished formula is made of, for the terminal."""
    return _pairs(
        "Made of, per 100 g finished", composition_rows(manual.house, manual.made[formula])
    )


def bakers_text(manual: Manual, formula: str, batch: Batch) -> str:
    """A dough's overall formula at a batch size, for the terminal: percent, grams in all, and by
    each preferment; "" for what is no dough."""
    dough = manual.dough(formula)
    if dough is None:
        return ""
    overall, factor = dough.overall, batch.factor
    ways = (*overall.through, "the dough") if overall.through else ()
    heads = ("Overall formula", "%", "in all", *ways)
    rows = [heads, *(_cells(ln, overall.through, factor) for ln in overall_lines(overall))]
    widths = [max(len(row[i]) for row in rows) for i in range(len(heads))]
    lines = [
        "  ".join(
            (
                row[0].ljust(widths[0]),
                *(c.rjust(w) for c, w in zip(row[1:], widths[1:], strict=True)),
            )
        ).rstrip()
        for row in rows
    ]
    walk = manual.walks[formula]
    return breakable("\n".join([*lines, _pairs("", bakers_sums(dough, walk))]))


def _cells(line: OverallLine, through: Iterable[str], factor: Fraction) -> tuple[str, ...]:
    by = dict(line.by)
    own = line.grams - sum(by.values(), Fraction(0))
    weights = tuple(by.get(name, Fraction(0)) for name in through)
    apart = (*weights, own) if weights else ()
    cells = [kilos(grams * factor) if grams else "" for grams in apart]
    return line.name, line.percent, kilos(line.grams * factor), *cells


def _pairs(head: str, rows: Iterable[tuple[str, str]]) -> str:
    found = [f"{name}: {words}" for name, words in rows]
    return breakable("\n".join([head, *found] if head else found))

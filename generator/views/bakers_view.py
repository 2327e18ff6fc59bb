"""The bakers' figures in words: a dough's overall formula on its total flour."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from generator.composition.bakers import Overall, Row
from generator.measures.between import Between
from generator.measures.kilos import kilos
from generator.measures.rounding import half_up
from generator.measures.words import NARROW, listed, plain
from generator.resolve.equipment import volume_ml
from generator.resolve.joined import House
from generator.sheet.doughs import SOURCES, Dough
from generator.sheet.walked import Walk

RULE = (
    "Everything on the total flour, which is 100 %, with what is in each preferment. Sub-formulas "
    "with flour are opened, by weight. Hydration is said twice: the liquids as weighed, and the "
    "water in all but the flour, by composition."
)


@dataclass(frozen=True)
class OverallLine:
    """A line of the overall formula: its share of the flour in words, its grams at factor 1, and
    those of them that come by each preferment."""

    name: str
    percent: str
    grams: Fraction
    by: tuple[tuple[str, Fraction], ...]


def percent(share: Fraction) -> str:
    """A share of the flour as bakers write it: 71 %, 0.7 %, 0.06 %."""
    places = 1 if share >= Fraction(1, 10) else 2 if share >= Fraction(1, 1000) else 3
    return f"{plain(share * 100, places)}{NARROW}%"


def between(part: Between, whole: Fraction) -> str:
    """From … to … of the flour, or one figure."""
    return f"{part.times(100 / whole).words(1)}{NARROW}%"


def overall_lines(overall: Overall) -> tuple[OverallLine, ...]:
    """The overall formula, line by line."""
    return tuple(_line(overall, row) for row in overall.rows)


def later_lines(overall: Overall) -> tuple[OverallLine, ...]:
    """What comes to the dough once it is mixed."""
    return tuple(_line(overall, row) for row in overall.later)


def _line(overall: Overall, row: Row) -> OverallLine:
    return OverallLine(row.name, percent(overall.on_flour(row.grams)), row.grams, row.by)


def bakers_rows(house: House, dough: Dough, walk: Walk) -> tuple[tuple[str, str], ...]:
    """The bakers' figures of a dough, in reading order."""
    overall = dough.overall
    rows = [("Total flour", f"100{NARROW}%: {listed([r.name for r in overall.rows if r.flour])}")]
    rows += [(row.name, _with_its_way(overall, row)) for row in overall.rows]
    rows += bakers_sums(dough, walk)
    sources = "; ".join(house.library.source_title(key) for key in SOURCES)
    return (*rows, ("Rule", RULE), ("Source", f"The form of it: {sources}"))


def _with_its_way(overall: Overall, row: Row) -> str:
    """A share of the flour, and how much of it comes by which preferment."""
    words = percent(overall.on_flour(row.grams))
    ways = [f"{percent(overall.on_flour(grams))} in the {name}" for name, grams in row.by]
    return f"{words}, of it {listed(ways)}" if ways else words


def bakers_sums(dough: Dough, walk: Walk) -> list[tuple[str, str]]:
    """What follows from the overall formula: hydration, salt, sugar, what is prefermented, yield,
    what a piece weighs."""
    overall = dough.overall
    flour = overall.flour_g
    rows = [
        (
            "Hydration",
            f"{percent(overall.liquid_g / flour)} of liquid; {between(overall.water_g, flour)} "
            "of water, with the water in everything but the flour",
        ),
        ("Salt on flour", percent(overall.salt_g / flour)),
        ("Sugars on flour", f"{between(overall.sugar_g, flour)}, all but the flour's own"),
    ]
    if overall.ahead_g:
        ways = listed([f"{name} {percent(g / flour)}" for name, g in overall.ahead_g])
        rows.append(("Prefermented flour", f"{percent(overall.prefermented)}: {ways}"))
    rows.append(
        (
            "Dough yield",
            f"{percent(overall.dough_g / flour)}: 1{NARROW}kg of flour makes "
            f"{kilos(overall.dough_g / flour * 1000)} of dough",
        )
    )
    if overall.later:
        later = [f"{ln.name} {ln.percent}" for ln in later_lines(overall)]
        rows.append(("Put to the dough later", listed(later)))
    return [*rows, *_pieces(walk)]


def _pieces(walk: Walk) -> Iterator[tuple[str, str]]:
    """What a piece weighs as it is divided and as it is finished."""
    figures, makes = walk.figures, walk.formula.formula.makes
    if makes is None or figures.fill is None or not figures.filled:
        return
    finished = figures.fill * figures.finished / figures.filled
    loss = 1 - figures.finished / figures.filled
    words = f"{kilos(figures.fill)} a {makes.unit}, finished {kilos(finished)}"
    yield "Divide", f"{words}: it loses {percent(loss)}" if loss > 0 else words
    yield from _vessel(walk, figures.fill)


def _vessel(walk: Walk, fill: Fraction) -> Iterator[tuple[str, str]]:
    """The room a fill has in its vessel, and the dough for it by the room that is wanted."""
    vessel = walk.formula.vessel
    inside = volume_ml(vessel) if vessel is not None else None
    if vessel is not None and inside is not None:
        room = f"{plain(inside / 1000, 2)}{NARROW}l inside"
        each = f"{plain(inside / fill, 2)}{NARROW}ml for each gram of dough"
        yield "Vessel", f"{vessel.name}, {room}: {each}"
        dough = walk.formula.formula.dough
        if dough is not None and dough.tin_room is not None:
            words = f"{plain(dough.tin_room.value, 2)}{NARROW}ml for each gram"
            yield "Dough for it", f"{kilos(half_up(inside / dough.tin_room.value))}, at {words}"

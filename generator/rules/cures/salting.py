"""How salty a brined, pumped or cured food comes out: arithmetic from what went in, and no
permission.

At balance: salt ÷ (meat + brine), the two being one system (FSIS Directive 7620.3, handbook p. 22).
Water-phase salt: salt × 100 ÷ (salt + moisture) (Maine 01-001 CMR 359; Ontario fish plant
guidelines F.B.14.14). A laboratory's analysis is what counts for either.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from generator.measures.rounding import Side, to_side
from generator.measures.words import NARROW, listed, plain
from generator.resolve.joined import House, JoinedFormula, JoinedStep
from generator.rules.basics.product import Component, Product
from generator.rules.cures.brining import share_taken_up

SOURCES = ("curing-handbook-methods", "me-01-001-359", "on-fb-14-14")
_POURED_OFF = frozenset({"soaks", "brines", "takes-off", "drains"})
_TRIFLE = Fraction(1, 100)
"""Ingredients of unknown water up to this share of the food don't stop the reckoning: they count as
all water for the lower figure and as none for the higher."""

_MOSTLY = Fraction(1, 2)
"""From this share of salt on, an ingredient whose water isn't known counts as dry."""


@dataclass(frozen=True)
class Salting:
    """``at_balance`` is the salt in the whole of meat and brine after step ``number``, a share;
    None for food cured dry. ``in_water`` are the least and the most salt in the water of the
    finished food; None, with the names in ``unknown``, where a composition is missing.
    ``uncounted`` are cures whose salt isn't stated.
    """

    number: int
    verb: str
    at_balance: Fraction | None
    in_water: tuple[Fraction, Fraction] | None
    salt_g: Fraction
    whole_g: Fraction
    water_g: tuple[Fraction, Fraction]
    unknown: tuple[str, ...]
    uncounted: tuple[str, ...]


def salting(
    formula: JoinedFormula, walked: Iterable[tuple[JoinedStep, Product]], end: Product
) -> Salting | None:
    """The salt of a brined, pumped or cured food; None for any other, or without salt in it.

    ``walked`` are the steps with the product after each, ``end`` the finished product.
    """
    steps = tuple(walked)
    wet = [(s, p) for s, p in steps if _brines(s)]
    salt = _salt(end.components)
    if not salt or not (wet or _is_cured(formula, end)):
        return None
    step, product = wet[-1] if wet else steps[-1]
    balance = _salt(product.components) / _grams(product.components) if wet else None
    steps = _of_the_food(formula, step, steps)
    known = _water(end.components) + _gained(steps)
    blank = _blank(end.components)
    unknown_g, total = _grams(blank), _grams(end.components)
    few = unknown_g <= total * _TRIFLE
    most, least = known + unknown_g, known - total * _dried(steps)
    in_water = (salt / (salt + most), salt / (salt + least)) if few and least > 0 else None
    names = () if few else _names(blank)
    return Salting(
        step.number,
        step.verb,
        balance,
        in_water,
        salt,
        total,
        (most, max(least, Fraction(0))),
        names,
        _uncounted(end),
    )


def _of_the_food(
    formula: JoinedFormula, step: JoinedStep, steps: tuple[tuple[JoinedStep, Product], ...]
) -> tuple[tuple[JoinedStep, Product], ...]:
    """The steps the food itself goes through from ``step`` on, where there are other streams: what
    those lose isn't lost by the food."""
    if formula.ways is None:
        return steps
    numbers = {s.number for s in formula.since(step.number)}
    return tuple((s, p) for s, p in steps if s.number in numbers)


def _is_cured(formula: JoinedFormula, end: Product) -> bool:
    return formula.formula.cured_as is not None or any(c.nitrite for c in end.components)


def _uncounted(end: Product) -> tuple[str, ...]:
    """The cures whose salt isn't stated."""
    return _names(c for c in end.components if c.function == "cure" and not c.salt)


def _names(components: Iterable[Component]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(c.name for c in components))


def _brines(step: JoinedStep) -> bool:
    return "brines" in step.effects or "injects" in step.effects or share_taken_up(step) is not None


def _grams(components: Iterable[Component]) -> Fraction:
    return sum((c.grams for c in components), Fraction(0))


def _salt(components: Iterable[Component]) -> Fraction:
    return sum((c.grams * c.salt for c in components if c.salt), Fraction(0))


def _water(components: Iterable[Component]) -> Fraction:
    """The water known of, in grams."""
    return sum((c.grams * c.water for c in components if c.water is not None), Fraction(0))


def _blank(components: Iterable[Component]) -> list[Component]:
    """Those whose water nobody knows; a cure, which is mostly salt, is dry."""
    return [c for c in components if c.water is None and c.salt < _MOSTLY]


def _dried(steps: tuple[tuple[JoinedStep, Product], ...]) -> Fraction:
    """The share of its weight the food loses by cooking, smoking, drying: at most all of it water.
    Brine that is poured off, and what is trimmed away, takes its salt along and doesn't count."""
    left = Fraction(1)
    for step, _ in steps:
        off = step.effects & _POURED_OFF or _brines(step)
        if step.yields is not None and step.yields.mean < 1 and not off:
            left *= step.yields.mean
    return 1 - left


def _gained(steps: tuple[tuple[JoinedStep, Product], ...]) -> Fraction:
    """The water the food gains by its steps, in grams."""
    shares = ((s.yields.mean, p.mass) for s, p in steps if s.yields is not None)
    return sum((mass * (1 - 1 / share) for share, mass in shares if share > 1), Fraction(0))


def salting_rows(house: House, salt: Salting) -> tuple[tuple[str, str], ...]:
    """What is said of it, in reading order: each figure with what it was worked from."""
    rows: list[tuple[str, str]] = []
    if salt.at_balance is not None:
        rows.append(
            (
                "Salt at balance",
                f"{_percent(salt.at_balance)} of meat and brine together, after step "
                f"{salt.number}, {salt.verb.lower()}",
            )
        )
    if salt.in_water is not None:
        low, high = salt.in_water
        words = f"{_percent(low)} of its water and salt"
        if _percent(low) != _percent(high):
            words = (
                f"{_percent(low)} to {_percent(high, 'up')} of its water and salt: the higher if "
                "only water is lost in cooking and drying"
            )
        rows.append(("Salt in its water", words))
    elif salt.unknown:
        names = listed(salt.unknown)
        rows.append(
            (
                "Salt in its water",
                f"can't be computed: write the water of {names} under `composition`, or name a "
                "`foodstuff`",
            )
        )
    else:
        rows.append(("Salt in its water", "can't be computed: more is lost than the water in it"))
    rows.append(("Salt", f"{plain(salt.salt_g, 1)}{NARROW}g in {plain(salt.whole_g, 0)}{NARROW}g"))
    if salt.uncounted:
        rows.append(("Not counted", f"the salt in {listed(salt.uncounted)}; state it under `salt`"))
    rows.append(
        (
            "Rule",
            "salt ÷ (meat + brine); salt ÷ (salt + water). Arithmetic, never a permission: a "
            "laboratory measures both",
        )
    )
    rows.append(("Source", "; ".join(house.library.source_title(key) for key in SOURCES)))
    return tuple(rows)


def _percent(share: Fraction, side: Side = "down") -> str:
    """A share with the three decimals a balance and a titration give, rounded down: it is held
    against least figures; the upper of two bounds up."""
    return f"{plain(to_side(share * 100, side, Fraction(1, 1000)), 3)}{NARROW}%"

"""Figures of a label: energy by a law's factors, and what a law rounds a figure to. Exact, and from
… to … where the food is.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction

from generator.composition.balance import Balance
from generator.composition.nutrients import UNACCOUNTED
from generator.measures.between import NOTHING, Between
from generator.measures.rounding import half_up
from generator.records.composition import MAIN, ROUNDING
from generator.records.label_law import Band


def available(balance: Balance) -> Between:
    """Carbohydrate without its fibre, in grams, as the European Union declares it."""
    carbohydrate, fibre = balance.parts["carbohydrate"], balance.parts["fibre"]
    low = max(carbohydrate.low - fibre.high, Fraction(0))
    return Between(low, max(carbohydrate.high - fibre.low, low))


def energy(balance: Balance, factors: Mapping[str, Fraction]) -> Between:
    """The energy of a mixture: grams of each constituent by its factor.

    Its main constituents make up its weight, but for what analyses differ by (``ROUNDING``) and for
    acid beside them: so where several are open, not all of them are at their most, or at their
    least, together. Acid counts where it is stated; else it is in the carbohydrate, or in what the
    figures of a food leave over, which may be nothing or all acid.
    """
    grams = _apart(balance, "available" in factors)
    by = [(grams[name], factors.get(name, Fraction(0))) for name in grams]
    total = balance.grams
    acid = balance.parts["acid"]
    most = _filled(by, total * (1 + ROUNDING), richest_first=True)
    least = _filled(by, total * (1 - ROUNDING) - acid.high, richest_first=False)
    sour = acid if "acid" in balance.stated and "acid" in factors else NOTHING
    low, high = _with_acid(least, most, sour, grams, factors)
    left = balance.parts.get(UNACCOUNTED, NOTHING).high
    high += left * factors.get("acid", factors.get("carbohydrate", Fraction(0)))
    return Between(low, max(low, high))


def _apart(balance: Balance, without_fibre: bool) -> dict[str, Between]:
    """The main constituents without overlap, the fibre apart from the carbohydrate if asked."""
    found = {name: balance.parts[name] for name in MAIN}
    if without_fibre:
        found.pop("carbohydrate")
        found |= {"available": available(balance), "fibre": balance.parts["fibre"]}
    return found


def _filled(
    by: Iterable[tuple[Between, Fraction]], total: Fraction, *, richest_first: bool
) -> Fraction:
    """The energy where each is at its least, and the rest of the weight is what has most, or least,
    energy, as far as each can be more."""
    ordered = sorted(by, key=lambda one: one[1], reverse=richest_first)
    found = sum((grams.low * factor for grams, factor in ordered), Fraction(0))
    room = total - sum((grams.low for grams, _ in ordered), Fraction(0))
    for grams, factor in ordered:
        more = max(min(grams.width, room), Fraction(0))
        found, room = found + more * factor, room - more
    return found


def _with_acid(
    least: Fraction,
    most: Fraction,
    acid: Between,
    grams: Mapping[str, Between],
    factors: Mapping[str, Fraction],
) -> tuple[Fraction, Fraction]:
    """Energy with the acid that is stated, which is in the carbohydrate or beside it."""
    if not acid.high:
        return least, most
    within = min(acid.high, grams["available"].high)
    less = within * (factors["available"] - factors["acid"])
    beside = max(acid.low - grams["available"].high, Fraction(0)) * factors["acid"]
    return max(least - less, Fraction(0)) + beside, most + acid.high * factors["acid"]


def declared(value: Fraction, bands: Sequence[Band]) -> Fraction | str:
    """A figure as a law declares it: to the step of the first band that holds it, half up; or the
    words it says in its place. Nothing at all is 0."""
    if not value:
        return Fraction(0)
    band = next(one for one in bands if one.holds(value))
    return band.says if band.step is None else half_up(value, band.step)

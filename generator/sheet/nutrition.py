"""The nutrition of a finished formula by a law of labels: each row for 100 g and for a portion,
from … to …, after what it loses and what is poured off.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from generator.composition.balance import Balance
from generator.composition.label_figures import available, declared, energy
from generator.measures.between import Between
from generator.records.composition import SALT_OF_SODIUM
from generator.records.label_law import LabelLaw, LabelRow
from generator.records.per_weight import UNITS
from generator.sheet.components import portion_of
from generator.sheet.composed import Made
from generator.sheet.walked import Walk

HUNDRED = Fraction(100)
_Factors = Mapping[str, Mapping[str, Fraction]]
_COUNTED: Mapping[str, tuple[str, ...]] = {
    "energy": ("fat", "protein", "carbohydrate", "alcohol"),
    "available": ("carbohydrate", "fibre"),
    "salt": ("sodium",),
}
"""The constituents of what is none of them itself."""


@dataclass(frozen=True)
class Declared:
    """A figure of a label: exactly, from ``low`` to ``high`` in the row's unit, and both as the law
    rounds them, a figure or words; ``percent`` of a day, if the row has one."""

    exact: Between
    low: Fraction | str
    high: Fraction | str
    percent: tuple[Fraction, Fraction] | None

    @property
    def known(self) -> bool:
        """Whether it is declared as one figure."""
        return self.low == self.high


@dataclass(frozen=True)
class NutritionRow:
    """A row of the label: for 100 g, and for a portion where there is one. ``open_by`` are the
    names that leave it open, the most first, ``unstated`` those of them that are food: a least
    amount is known, and no most. ``stated``: something in the food states it."""

    id: str
    row: LabelRow
    per_100_g: Declared
    per_portion: Declared | None
    open_by: tuple[str, ...]
    unstated: tuple[str, ...]
    stated: bool


@dataclass(frozen=True)
class Nutrition:
    """What a label declares of a finished formula; ``portion_g`` is None where it makes none."""

    law: LabelLaw
    portion_g: Fraction | None
    rows: tuple[NutritionRow, ...]


def nutrition_of(law: LabelLaw, made: Made, walk: Walk) -> Nutrition | None:
    """The nutrition of a finished formula, by its balance with all a label asks for; None of what
    weighs nothing."""
    balance = made.balance
    if not balance.grams:
        return None
    portion = portion_of(walk)
    factors: _Factors = {one.unit: one.factors for one in law.energy}
    rows = tuple(
        _row(law, ident, row, balance, portion, factors) for ident, row in law.rows.items()
    )
    return Nutrition(law, portion, rows)


def _row(
    law: LabelLaw,
    ident: str,
    row: LabelRow,
    balance: Balance,
    portion: Fraction | None,
    factors: _Factors,
) -> NutritionRow:
    share = _amount(row, balance, factors).times(1 / balance.grams)
    per = 1 if row.counts == "energy" else 1 / UNITS[row.unit]
    names = _names(row.counts, balance)
    return NutritionRow(
        ident,
        row,
        _declared(law, row, share.times(HUNDRED * per)),
        _declared(law, row, share.times(portion * per)) if portion is not None else None,
        names,
        tuple(name for name in names if not name.startswith("what step ")),
        _COUNTED.get(row.counts, (row.counts,))[0] in balance.stated or row.counts == "energy",
    )


def _amount(row: LabelRow, balance: Balance, factors: _Factors) -> Between:
    """Grams of what a row counts in the whole mixture, or its energy."""
    if row.counts == "energy":
        return energy(balance, factors[row.unit])
    if row.counts == "available":
        return available(balance)
    if row.counts == "salt":  # Regulation (EU) No 1169/2011, Annex I point 11
        return balance.parts["sodium"].times(SALT_OF_SODIUM)
    return balance.parts[row.counts]


def _names(counts: str, balance: Balance) -> tuple[str, ...]:
    """What leaves a row open; energy is open where any of what has energy is."""
    of = _COUNTED.get(counts, (counts,))
    return tuple(dict.fromkeys(name for one in of for name in balance.left_open_by(one)))


def _declared(law: LabelLaw, row: LabelRow, exact: Between) -> Declared:
    percent = None
    if row.daily is not None:
        bands = law.percents[row.percent]
        ends = [declared(one * HUNDRED / row.daily, bands) for one in (exact.low, exact.high)]
        percent = (Fraction(ends[0]), Fraction(ends[1]))
    low, high = (declared(one, row.bands) for one in (exact.low, exact.high))
    return Declared(exact, _figure(low), _figure(high), percent)


def _figure(found: Fraction | str) -> Fraction | str:
    """A text that is a figure, as 0, is one."""
    return Fraction(found) if isinstance(found, str) and found.isdigit() else found

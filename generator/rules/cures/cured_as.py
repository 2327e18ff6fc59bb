"""By which row a cure is dosed and on which grams: the way the meat is cured.

9 CFR 424.21(c) and 424.22(b): on the green weight of the meat, of meat and pickle where the two
come to balance, or of what the meat takes up of the pickle.
"""

from __future__ import annotations

from fractions import Fraction

from generator.reference.row_kinds import AdditiveRow
from generator.resolve.joined import JoinedLine
from generator.rules.basics.context import StepContext
from generator.rules.basics.product import Component
from generator.rules.cures.curing import Refusal, ask_for_bacon, not_held, without_meat
from generator.rules.cures.dosing import (
    Dose,
    at_balance,
    green_weight,
    is_meat,
    on_the_meat,
    pickle_parts,
    taken_up,
    weight_of,
)

WET = frozenset({"immersion", "pumped", "bacon-immersion", "bacon-pumped"})
"""Cured in a pickle: the dose is taken where meat and pickle come together."""
_PUMP = (
    "Write `pump: 10 % of green weight` with your figure on the step that injects it, or "
    "`pick_up` where the meat turns in it."
)


def row_of(context: StepContext, line: JoinedLine) -> AdditiveRow:
    """The row of the way it is cured; comminuted meat takes the row of comminuted meat, the
    strictest of those not bacon's, whatever it is called. Raises Refusal."""
    pack = context.house.additives
    meat = [c for c in context.before.components if is_meat(context.house, c)]
    method = _method(context, meat)
    if not meat and not method:
        raise without_meat(line)
    found = pack.row_for(AdditiveRow, method) if pack is not None and method else None
    if found is None or found[1].ppm is None:
        raise not_held(f"{line.name}: there is no dose limit here for curing this way.", line)
    if not meat:
        raise without_meat(line)
    if "bacon" in method:
        _check_bacon(context, line)
    return found[1]


def _check_bacon(context: StepContext, line: JoinedLine) -> None:
    """Raises Refusal for bacon cured with the potassium salt."""
    cures = [c for c in context.before.components if c.nitrite]
    if any(c.cure.nitrite_from == "potassium-nitrite" for c in cures):
        raise not_held(
            f"{line.name}: bacon has its own dose for the potassium salt. It isn't in the rules "
            "here.",
            line,
        )


def _method(context: StepContext, meat: list[Component]) -> str:
    """The way it is cured, as its row is called. Raises Refusal for a belly that may be bacon."""
    method = context.formula.formula.cured_as or ""
    if "bacon" in method:
        return method
    if any(c.form in (None, "comminuted") and c.raw_animal for c in meat):
        return "comminuted"  # a form not stated is the strictest
    ask_for_bacon(context, meat, method)
    return method


def dose_of(context: StepContext, row: AdditiveRow, line: JoinedLine) -> Dose:
    """On which grams the nitrite is taken, by the way it is cured. Raises Refusal."""
    house, product, step = context.house, context.before, context.step
    weighed = green_weight(house, product.components)
    green = green_weight(house, product.components, skin_factor(context, row))
    if row.applies not in WET:
        return on_the_meat(green)
    parts = pickle_parts(house, product, step.parts)
    pickle = weight_of(product, parts)
    if not parts:
        raise Refusal(
            "pickle-missing",
            f"{line.name}: the cure and the meat are in one part. There is no pickle to weigh.",
            "Make the pickle its own part, with its water, salt and cure.",
        )
    pumped = row.applies in ("pumped", "bacon-pumped")
    if pumped:
        _check_pumped(context, line)
    else:
        _check_not_pumped(context, row.applies)
    share = step.step.pump or step.step.pick_up
    if share is None:
        return at_balance(weighed, pickle)
    return taken_up(weighed, pickle, share, pumped, green / weighed)


def _check_pumped(context: StepContext, line: JoinedLine) -> None:
    """Raises Refusal for pumped meat of which nobody says how much it takes up, and for meat that
    lies in a pickle afterwards."""
    step = context.step
    if step.step.pump is None and step.step.pick_up is None:
        raise Refusal(
            "pump-missing",
            f"{step.verb}: how much of the pickle goes into the meat?",
            _PUMP,
            step.step.place("do"),
        )
    if any("brines" in later.effects for later in context.formula.after(step.number)):
        raise not_held(
            f"{line.name}: there is no dose limit here for meat that is pumped and then lies in "
            "a pickle.",
            line,
        )


def _check_not_pumped(context: StepContext, applies: str) -> None:
    """Raises Refusal for a step that pumps what the formula says is cured another way."""
    step = context.step
    if step.step.pump is not None:
        raise Refusal(
            "pump-missing",
            f"{step.verb}: it is pumped here, but the formula says `cured_as: {applies}`.",
            f"Write `cured_as: {'bacon-pumped' if 'bacon' in applies else 'pumped'}`, or delete "
            "`pump`.",
            step.step.place("pump"),
        )


def skin_factor(context: StepContext, row: AdditiveRow) -> Fraction:
    """What the green weight of a belly with its skin on is multiplied by; 1 where no row says
    so."""
    pack = context.house.additives
    found = pack.row_for(AdditiveRow, "skin-on") if pack is not None else None
    if row.applies not in ("bacon-dry", "bacon-pumped") or found is None:
        return Fraction(1)
    return found[1].factor or Fraction(1)

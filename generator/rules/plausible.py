"""Figures no kitchen means: a core hotter than boiling water, a chill that freezes, °C for °F.

Warnings only, and no limits: these are bounds of what is possible, each with the same figure in the
other scale where that would make sense.
"""

from __future__ import annotations

from generator.finding import Finding, Place
from generator.measures.temperature import Temperature
from generator.measures.words import NARROW
from generator.rules.context import NOTHING, Outcome, StepContext

BOILING = Temperature.of(100, "degC")
FROZEN = Temperature.of(-5, "degC")
"""Well below where food begins to freeze, so that a chill to just under 0 °C is not asked about."""
_IN_WATER = frozenset({"poach", "simmer", "boil"})


def plausible(context: StepContext) -> Outcome:
    """Ask about a temperature that can't be meant as it is written."""
    step = context.step
    found: list[Finding] = []
    target, at = step.target, step.step.at
    temperature = target.temperature if target else None
    if target is not None and temperature is not None:
        place = context.target_place()
        if target.kind == "core" and temperature > BOILING and context.before.raw_animals:
            words = (
                f"{step.verb}: {target.text} is hotter than boiling water; food doesn't get there."
            )
            found.append(_ask(context, words, temperature, target.text, place))
        elif context.cools and "freezes" not in step.effects and temperature < FROZEN:
            words = f"{step.verb}: {target.text} freezes it."
            found.append(_ask(context, words, temperature, target.text, place))
    water = step.step.do in _IN_WATER or (step.machine and step.machine.kind == "bath")
    if at is not None and water and at > BOILING:
        words = f"{step.verb}: at {at}, and water boils at {BOILING}."
        found.append(_ask(context, words, at, str(at), step.step.place("at")))
    cold = step.cold
    if cold is not None and cold.kind == "refrigerator" and cold.air < FROZEN:
        words = f"{cold.name} is a refrigerator kept at {cold.air}: food freezes there."
        found.append(_ask(context, words, cold.air, str(cold.air), cold.place("air")))
    return Outcome((), tuple(found)) if found else NOTHING


def _ask(context: StepContext, words: str, typed: Temperature, text: str, place: Place) -> Finding:
    other = typed.swapped()
    write: tuple[str, ...] = ()
    if FROZEN <= other <= BOILING:
        figure, meant = str(typed).replace(NARROW, " "), str(other).replace(NARROW, " ")
        whole = text.replace(NARROW, " ")
        head, hold = whole.partition(" for ")[::2]
        kind = head.split(" ")[0] if head[:1].isalpha() else ""
        mended = f"{kind} {meant}".strip() + (f" for {hold}" if hold else "")
        write = (place.mended(mended),)
        words = f"{words} Is {figure} meant, or {meant}?"
    return context.finding(
        "temperature-implausible", "warning", words, "Check the figure and its scale.", write, place
    )

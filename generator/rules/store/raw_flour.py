"""Raw flour that is eaten: dough, batter and what is dusted with it, where nothing heats it.

The FDA's advice: flour is a raw food, is not to be eaten or tasted raw, and goes into no
ready-to-eat food raw. From which share it is an error is a working rule of this manual.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Literal

from generator.files.finding import Finding
from generator.measures.temperature import Temperature
from generator.measures.words import listed
from generator.records.effects import HEATS
from generator.resolve.joined import JoinedFormula, JoinedStep
from generator.rules.basics.context import EndContext, EndOutcome
from generator.rules.basics.fate import LEAVEN
from generator.rules.basics.flour import is_raw_flour
from generator.rules.basics.product import Component

_COOKS = HEATS - {"heats"}
_KILLS = Temperature.of(70, "°C")
DUSTED = Fraction(1, 25)
"""The share below which flour is dust: an error above it, a warning below."""


def eaten_raw_flour(context: EndContext) -> EndOutcome:
    """An error where raw flour is eaten that no step heats; a warning where it is only dust, is
    only warmed, or is raised with yeast: whoever bakes that may not be written yet."""
    if not context.fate.eaten:
        return EndOutcome()
    parts = context.product.components
    flour = [(c, _heat(context.formula, c)) for c in parts if is_raw_flour(c)]
    raw = [(c, how) for c, how in flour if how != "cooked"]
    if not raw:
        return EndOutcome()
    names = listed(list(dict.fromkeys(c.name for c, _ in raw)))
    return EndOutcome((), (_eaten_raw(context, names, sure=_is_sure(parts, raw)),))


_Heat = Literal["", "warmed", "cooked"]


def _is_sure(parts: Sequence[Component], raw: Sequence[tuple[Component, _Heat]]) -> bool:
    """Whether raw flour that nothing warms is more than dust in what nobody raised."""
    cold = sum((c.grams for c, how in raw if not how), Fraction(0))
    raised = any(LEAVEN.search(c.name) for c in parts)
    return cold >= DUSTED * sum((c.grams for c in parts), Fraction(0)) and not raised


def _eaten_raw(context: EndContext, names: str, sure: bool) -> Finding:
    formula = context.formula.formula
    return Finding(
        "flour-eaten-raw",
        "error" if sure else "warning",
        f"{formula.name}: no step cooks {names}, and it is eaten. Raw flour can carry germs that "
        "make people sick.",
        formula.key_place("name"),
        "Bake or cook it. Or buy flour that its maker heat-treated, and put that into its name. "
        "Does whoever takes it bake it? Write that under `cooked_later`.",
        source=context.house.library.source_title("fda-flour"),
        about=frozenset({context.formula.id}),
    )


def _heat(formula: JoinedFormula, part: Component) -> _Heat:
    """What heats a part, from the step on that takes it in: ``cooked`` too by what is stated to be
    70 °C and hotter."""
    since = formula.since_taken({part.part})
    if any(step.effects & _COOKS or _hot(step) for step in since):
        return "cooked"
    return "warmed" if any(step.effects & HEATS for step in since) else ""


def _hot(step: JoinedStep) -> bool:
    """Whether a step that heats states a temperature that kills germs."""
    spans = (step.step.at, step.target.degrees if step.target is not None else None)
    stated = any(span is not None and span.coolest >= _KILLS for span in spans)
    return stated and bool(step.effects & HEATS)

"""Food that is hot or warm at the end, is kept, and is cooled nowhere."""

from __future__ import annotations

from generator.files.finding import Finding
from generator.reference.row_kinds import CoolRow
from generator.rules.basics.context import EndContext, chilled_to, cited
from generator.rules.basics.fate import chilled_on_the_way

PLANS = {"ferments": "ferment", "dries": "dry", "ages": "dry", "sprouts": "sprout"}
"""The authorisation each way of changing food by time asks for."""


def warm_by_plan(context: EndContext) -> bool:
    """Whether a plan let the food be warm, and no step brought it to cold since."""
    changed_here = any(step.effects & PLANS.keys() for step in context.formula.steps)
    return context.course.state == "between" and context.product.from_ambient and changed_here


def never_chilled(context: EndContext) -> Finding | None:
    """The error of food that is hot or warm at the end, is kept, and is brought to cold by no step.
    What isn't said to be served is kept."""
    if _gone(context):
        return None
    formula, hot = context.formula.formula, context.product.hot
    said = formula.keeps is not None
    cool = context.house.pack.row_for(CoolRow, "cooked" if hot else "ambient")
    other = "" if said else " Is nothing of it kept? End its process with `do: serve`."
    return Finding(
        "chill-missing",
        "error",
        f"{formula.name} {_WHY[hot, said]}. No step chills it.",
        formula.key_place("keeps" if said else "name"),
        f"Add a step to its process, as in `do: chill` with `target: {chilled_to(context.house)}`."
        f"{other}",
        source=cited(context.house, cool[1]) if cool else "",
        about=frozenset({context.formula.id}),
    )


def _gone(context: EndContext) -> bool:
    """Whether nothing of it is kept as it is here: refused for being kept at all, served, kept only
    before it was heated again, or hot into another formula, which is asked in its turn."""
    formula = context.formula.formula
    if formula.undercooked or not context.fate.kept:
        return True
    if context.fate.served and chilled_on_the_way(context.formula):
        return True
    return bool(context.formula.used_in) and formula.keeps is None


_WHY = {
    (True, True): "is cooked and kept cold",
    (True, False): "is hot at the end, not stated to be served",
    (False, True): "is warm at the end, and kept",
    (False, False): "is warm at the end, not stated to be served",
}
"""Why it owes its cooling: whether it is hot, and whether it is said to be kept."""

"""A brine, a marinade or a fat that raw meat or fish lay in: none of the meat is weighed in it, and
its juice is. It counts as raw as the meat until a step cooks it."""

from __future__ import annotations

from generator.measures.words import listed
from generator.resolve.joined import JoinedFormula
from generator.rules.basics.product import Component


def only_juice(parts: tuple[Component, ...]) -> tuple[str, ...]:
    """The names of the raw food of an animal of which nothing but juice is in a product; none where
    some of it is there itself."""
    raw = [c for c in parts if c.raw_animal]
    if not raw or any(c.weight for c in raw):
        return ()
    return tuple(dict.fromkeys(c.name for c in raw))


def spent_names(formula: JoinedFormula) -> str:
    """What the steps of a formula leave behind and use again, by name, as words; "what was left
    behind" where none is named."""
    names = [
        name.replace("-", " ")
        for step in formula.steps
        for name, left in step.step.leaves.items()
        if left.then == "used-again"
    ]
    return listed(names) or "what was left behind"


def lay_in(names: tuple[str, ...]) -> str:
    """Why it counts as raw: "raw Pork loin lay in it, and its juice is in it still"."""
    return f"raw {listed(list(names))} lay in it, and the juice is in it still"


COOK_IT = (
    "Cook it first, in a step of its own with a core target: `do: boil`, `work_on:` its name. Or "
    "throw it away: `then: thrown-away`."
)
"""What to do with what raw food lay in."""

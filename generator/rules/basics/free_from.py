"""What a formula's name says is not in it, held against what is: dairy-free, free from nuts, vegan.

A guest with an allergy goes by the name. For gluten 21 CFR 101.91 counts rye, barley and what is
made of them as well as wheat."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator

from generator.files.finding import Finding
from generator.measures.words import listed
from generator.reference.denials import (
    ANY,
    OF_ALLERGENS,
    OF_ANIMALS,
    VEGAN,
    VEGETARIAN,
    denials,
)
from generator.rules.basics.context import EndContext, EndOutcome
from generator.rules.basics.product import Component

_CEREALS = re.compile(
    r"\b(?:wheat|rye|barley|malt|malted|spelt|triticale|kamut|farro|semolina|bulgur|couscous|seitan)\b"
    r"(?![ -]free)",
    re.IGNORECASE,
)
_HONEY = re.compile(r"\bhoney\b(?!dew)", re.IGNORECASE)
_Denied = tuple[str, Callable[[Component], bool]]
"""The words a name says it in, and whether an ingredient is what they deny."""


def denied_by_name(context: EndContext) -> EndOutcome:
    """An error where a name of the formula says that something isn't in it, and it is; made-ahead
    formulas count with all that is in them."""
    formula = context.formula.formula
    found: list[Finding] = []
    for key, name in (("name", formula.name), *(("other_names", n) for n in formula.other_names)):
        for said, is_it in _denials(name):
            holds = [c.name for c in context.product.components if is_it(c)]
            if holds:
                found.append(_finding(context, key, said, list(dict.fromkeys(holds))))
    return EndOutcome((), tuple(dict.fromkeys(found)))


def _finding(context: EndContext, key: str, said: str, holds: list[str]) -> Finding:
    formula, names = context.formula.formula, listed(holds)
    return Finding(
        "name-denies",
        "error",
        f"{formula.name}: its name says “{said}”. It has {names} in it.",
        formula.key_place(key),
        f"Take that word out of the name, or leave {names} out. A guest with an allergy goes by "
        "the name.",
        source=_law(context, said),
        about=frozenset({context.formula.id}),
    )


def _law(context: EndContext, said: str) -> str:
    """The law that says what may be called gluten-free, where the law in force is of the United
    States."""
    american = context.house.pack.id.startswith("us-")
    asked = american and "gluten" in said.casefold()
    return context.house.library.source_title("us-cfr-101-91") if asked else ""


def _denials(name: str) -> Iterator[_Denied]:
    for denial in denials(name):
        if denial.word in (VEGAN, VEGETARIAN):
            yield denial.said, _flesh if denial.word == VEGETARIAN else _of_animals
        else:
            yield denial.said, _has(denial.word)


def _has(word: str) -> Callable[[Component], bool]:
    """Whether an ingredient has the allergen of a word; of gluten, whether it is made of a cereal
    with it, which the list of the United States doesn't name but for wheat."""
    if word == ANY:
        return lambda part: bool(part.allergens)
    denied = OF_ALLERGENS[word]

    def holds(part: Component) -> bool:
        if any(a.word in denied or (word == a.kind) for a in part.allergens):
            return True
        return word == "gluten" and _CEREALS.search(part.name) is not None

    return holds


def _flesh(part: Component) -> bool:
    return part.species not in ("none", "egg", None)


def _of_animals(part: Component) -> bool:
    if part.species not in ("none", None) or any(a.word in OF_ANIMALS for a in part.allergens):
        return True
    return _HONEY.search(part.name) is not None

"""Allergens that an ingredient likely holds and doesn't declare: what such food holds as a rule,
and foods named anywhere in a name that isn't known whole ("Devon clotted cream", "Salmon mousse").

Nothing here is sure, so it is asked about. What its own label says it is made of answers it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from generator.files.finding import Finding
from generator.measures.words import listed
from generator.records.ingredient import Allergen, Ingredient
from generator.reference.denials import Freed, freed_by, without_denials
from generator.reference.foods import KnownFacts
from generator.reference.known_names import KnownFood, KnownNames, NameFacts
from generator.reference.library import Library
from generator.reference.phrases import Phrase
from generator.reference.rows import AllergenList
from generator.resolve.contradictions import NONE, facts_of_names, undeclared

_APART = re.compile(r"([,;:()\[\]/|–—+&]|\s-\s|\b(?:with|without|from|for|no)\b)")
_OF_ELSE = ("without", "for", "no")
"""Behind these stands what the food isn't, or what it is used for."""
Phrases = list[tuple[Phrase, str]]
"""A part of a name as phrases, each with the id of the food it is a name of."""


def asked_allergens(
    library: Library, ident: str, facts: Ingredient, declared_by: AllergenList
) -> Finding | None:
    """A warning that names the allergens it likely holds, in the words of the list in force; None
    where there are none, or its own label says what it is made of."""
    if facts.contains_ingredients or any(
        a.word not in declared_by.named() for a in facts.allergens
    ):
        return None
    known: list[Allergen] = []  # an error names these
    for by_name in facts_of_names(library, facts):
        known += undeclared(library, facts, known, by_name, declared_by)
    missing: list[Allergen] = []
    said: list[str] = []
    for likely, words in _likely(library.known_names, facts):
        found = list(undeclared(library, facts, [*known, *missing], likely, declared_by))
        missing += found
        said += [f"{words} {listed([str(a) for a in found])}"] if found else []
    return _finding(ident, facts, missing, said) if missing else None


def _finding(ident: str, facts: Ingredient, missing: list[Allergen], said: list[str]) -> Finding:
    stated = listed([str(a) for a in facts.allergens]) or NONE
    place = facts.place("allergens") if facts.states("allergens") else facts.place()
    names = listed([str(a) for a in missing], "or")
    return Finding(
        "allergen-usual",
        "warning",
        f"{facts.name}: {'; '.join(said)}. `allergens: {stated}` leaves that out.",
        place,
        f"Read its label. Does it hold {names}? Declare it. If not, write what its label names, "
        "`contains_ingredients: […]`, or give reason and document: "
        "`confirmed: {allergens: {reason: …, document: …}}`.",
        about=frozenset({ident}),
    )


def _likely(names: KnownNames, facts: Ingredient) -> Iterator[tuple[NameFacts, str]]:
    """What its names make likely, as facts of a food, and the words that say so."""
    asked = (facts.name, *facts.other_names)
    freed = freed_by(asked)
    if freed.everything:
        return
    for name in asked:
        whole = names.of_names((name,))
        for one in whole:
            usual = freed.left_of(one.usually)
            yield _holding(names, one.name, one.food, usual), "such food usually holds"
        if not names.is_no_such(name):
            yield from _within(names, name, freed, known=bool(whole))


def _holding(names: KnownNames, name: str, food: str, allergens: tuple[str, ...]) -> NameFacts:
    """A food by one of its names, with these allergens alone."""
    species = names.foods[food].species
    facts = KnownFacts().model_copy(update={"allergens": allergens, "species": species})
    return NameFacts(name, food, facts)


def _within(
    names: KnownNames, name: str, freed: Freed, known: bool
) -> Iterator[tuple[NameFacts, str]]:
    """The foods named anywhere in a name, less what it says isn't in it; where its first part is
    ``known``, in what follows: "Chicken thighs, breaded"."""
    parts = [names.names_within(part) for part in _parts(without_denials(name))]
    whole = [_words(phrases) for phrases in parts]
    for index, phrases in enumerate(parts[known:], int(known)):
        others = [*whole[:index], *whole[index + 1 :]]
        for at, (phrase, ident) in enumerate(phrases):
            if not ident or _is_another(names, names.foods[ident], phrases, at, others):
                continue
            food, called = names.foods[ident], " ".join(phrase)
            held = freed.left_of((*food.allergens, *food.usually))
            words = "usually holds" if food.usually and not food.allergens else "holds"
            yield _holding(names, called, ident, held), f"its name says {called}, which {words}"


def _words(phrases: Phrases) -> Phrase:
    return tuple(word for phrase, _ in phrases for word in phrase)


def _parts(name: str) -> Iterator[str]:
    """The parts of a name that say what is in it."""
    pieces = _APART.split(name.casefold())
    for index in range(0, len(pieces), 2):
        if not index or pieces[index - 1] not in _OF_ELSE:
            yield pieces[index]


def _is_another(
    names: KnownNames, food: KnownFood, phrases: Phrases, at: int, others: list[Phrase]
) -> bool:
    """Whether the words round the name of a food make another of it: oyster mushroom, coconut milk,
    rice noodles; "Butter, shea"."""
    behind = phrases[at + 1][0] if at + 1 < len(phrases) else ()
    if food.only_whole or behind in names.called_after:
        return True
    before = [_words(phrases[:at]), *others]
    of_milk = food.allergens == ("milk",) and _ends(before, names.milk_of)
    return of_milk or (food.any_grain and _ends(before, names.grain_of))


def _ends(places: list[Phrase], known: set[Phrase]) -> bool:
    return any(words[-len(phrase) :] == phrase for words in places for phrase in known)

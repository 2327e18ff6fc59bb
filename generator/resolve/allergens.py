"""Allergens as declared, held against the one list the kitchen declares by."""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping
from dataclasses import replace

from generator.files.finding import Place
from generator.measures.words import listed
from generator.records.ingredient import Allergen
from generator.reference.rows import AllergenList, AllergenWord
from generator.resolve.names import Names

_NEAR = 0.8  # a wrong guess among allergens would be copied
_NO_WORDS = frozenset({"no", "nil", "nothing", "n-a", "na", "n/a", "not-any", "zero", "free"})
"""What is typed for `none`."""


def list_of(names: Names) -> AllergenList | None:
    """The list of allergens in force: the kitchen's, or else its code's; None if neither is
    known."""
    kitchen = names.standards.kitchen
    if kitchen is None:
        return None
    ident = kitchen.allergens
    if ident is None:
        packs = names.library.packs.values()
        ident = next((p.facts.allergens for p in packs if p.facts.model == kitchen.code.model), "")
    return names.library.allergens.get(ident)


def check_allergens(names: Names, ident: str, declared_by: AllergenList | None) -> None:
    """Findings about one ingredient's allergens; nothing is reported while the list is unknown."""
    if declared_by is None:
        return
    ingredient = names.standards.ingredients[ident]
    words = declared_by.named()
    _by_its_species(names, ident, words)
    others = {w for one in names.library.allergens.values() for w in one.named()}
    foreign: list[Allergen] = []
    for allergen in ingredient.allergens:
        if allergen.word in words:
            _kind(names, ident, allergen, words[allergen.word])
        elif allergen.word in others:
            foreign.append(allergen)
        elif allergen.word in _NO_WORDS:
            place = ingredient.place("allergens")
            names.error(
                "allergen-unknown",
                place,
                f"There is no allergen called `{allergen.word}`.",
                "Are there none in it, by its label? Then write `none`.",
                ident,
                (place.fixed("none"),) if len(ingredient.allergens) == 1 else (),
            )
        else:
            names.unknown(
                "allergen-unknown",
                "allergen",
                allergen.word,
                ingredient.place("allergens"),
                words,
                ident,
                cutoff=_NEAR,
            )
    if foreign:
        _of_another_list(names, ident, foreign, declared_by)


def _by_its_species(names: Names, ident: str, words: Mapping[str, AllergenWord]) -> None:
    """What an ingredient is by its species, as fish or egg, is declared; said once all its words
    are of this list."""
    ingredient = names.standards.ingredients[ident]
    declared = {allergen.word for allergen in ingredient.allergens}
    if not declared <= set(words):
        return
    for word in words.values():
        if ingredient.species in word.species and word.name not in declared:
            kind = " with its kind in brackets" if word.kind_named else ""
            names.error(
                "allergen-missing",
                ingredient.place("allergens"),
                f"{ingredient.name}: its species is {ingredient.species}, and {word.name} is "
                "not among its allergens.",
                f"Declare {word.name}{kind}.",
                ident,
            )


def _kind(names: Names, ident: str, allergen: Allergen, word: AllergenWord) -> None:
    """The kind in brackets: there if the list asks for it, and one the list names."""
    ingredient = names.standards.ingredients[ident]
    place = ingredient.place("allergens")
    if word.kind_named and not allergen.kind:
        names.error(
            "allergen-kind",
            place,
            f"{ingredient.name}: which {word.which or word.name}?",
            f"Name the kind in brackets, as in {word.name} ({word.example}).",
            ident,
        )
    elif word.kinds and allergen.kind and allergen.kind not in word.kinds:
        near = difflib.get_close_matches(allergen.kind, word.kinds, n=1, cutoff=_NEAR)
        fixed = _replaced(place, allergen, f"{word.name} ({near[0]})") if near else None
        names.error(
            "allergen-kind-unknown",
            place,
            f"{ingredient.name}: `{allergen.kind}` is not a {word.which or word.name} of this "
            "list.",
            f"Known: {', '.join(word.kinds)}. Name any other under `note`.",
            ident,
            [fixed.text.strip()] if fixed else (),
        )


def _here(declared_by: AllergenList, allergen: Allergen) -> Allergen | None:
    """An allergen of another list as this list calls it; None if it isn't on this one."""
    called = declared_by.instead.get(str(allergen)) or declared_by.instead.get(allergen.word)
    if called is None:
        return None
    word, _, kind = called.rstrip(")").partition(" (")
    carried = allergen.kind if str(allergen) not in declared_by.instead else ""
    return Allergen(word, kind or carried)


def here_as(declared_by: AllergenList, text: str) -> Allergen | None:
    """An allergen written as on any list, "gluten (rye)", as this list calls it; None if it isn't
    on it."""
    word, _, kind = text.rstrip(")").partition(" (")
    allergen = Allergen(word, kind)
    found = allergen if word in declared_by.named() else _here(declared_by, allergen)
    if found is None:
        return None
    on = declared_by.named()[found.word]
    if not on.kind_named:
        return Allergen(found.word)
    return None if on.kinds and found.kind and found.kind not in on.kinds else found


def _of_another_list(
    names: Names, ident: str, foreign: list[Allergen], declared_by: AllergenList
) -> None:
    """Words of another list: what they are called here, or that this list doesn't have them."""
    ingredient = names.standards.ingredients[ident]
    place = ingredient.place("allergens")
    called: list[Allergen] = []
    absent: list[str] = []
    helps: list[str] = []
    fixed: Place | None = place
    for allergen in foreign:
        here = _here(declared_by, allergen)
        if here is None:
            absent.append(allergen.word)
            continue
        word = declared_by.named()[here.word]
        if _kind_asked(word, here):
            helps.append(_with_its_kind(word))
            continue
        called.append(here)
        fixed = _replaced(fixed, allergen, str(here)) if fixed is not None else None
    if absent:
        helps.append(_for_the_note(names, absent))
    write = [fixed.text.strip()] if fixed is not None and len(called) == len(foreign) else []
    if called and not write:
        helps.insert(0, f"Declare {listed([str(a) for a in called])}.")
    names.error(
        "allergen-of-another-list",
        place,
        f"{ingredient.name}: {_are_not(foreign)} on this kitchen's list, {declared_by.name}.",
        " ".join(helps),
        ident,
        write,
    )


def _are_not(foreign: list[Allergen]) -> str:
    reported = listed([f"`{a}`" for a in foreign])
    return f"{reported} {'is' if len(foreign) == 1 else 'are'} not"


def _kind_asked(word: AllergenWord, allergen: Allergen) -> bool:
    """Whether the list asks for the kind, and this isn't one it knows."""
    if not word.kind_named:
        return False
    return allergen.kind not in word.kinds if word.kinds else not allergen.kind


def _with_its_kind(word: AllergenWord) -> str:
    known = f" Known: {', '.join(word.kinds)}." if word.kinds else ""
    return f"Declare {word.name} with its kind, as in {word.name} ({word.example}).{known}"


def _for_the_note(names: Names, absent: list[str]) -> str:
    """What to do with words this list doesn't have: the lists that have them all."""
    lists = [i for i, a in names.library.allergens.items() if set(absent) <= set(a.named())]
    choices = " or ".join(f"`allergens: {i}`" for i in lists)
    return f"Name {listed(absent)} under `note`, or write {choices} in kitchen.yaml."


def _replaced(place: Place, allergen: Allergen, fix: str) -> Place | None:
    """The place with the allergen's word in its line replaced; None if it isn't on that line."""
    typed = re.escape(str(allergen)).replace(r"\ ", r"[\s-]*").replace(r"\(", r"\s*\(")
    found = re.compile(typed, re.IGNORECASE).search(place.text, max(place.column - 1, 0))
    if found is None:
        return None
    return replace(place, text=place.text[: found.start()] + fix + place.text[found.end() :])

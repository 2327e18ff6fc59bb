"""What speaks against a fact an ingredient states: its name, its other names and its foodstuff.

Each check yields the key of the fact, what is wrong, and what to write; which of it is reported,
and whether it is confirmed, is decided in ``facts``.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import replace

from generator.measures.words import listed
from generator.records.ingredient import Allergen, Ingredient
from generator.reference.known_names import ANIMALS, NameFacts
from generator.reference.library import Library
from generator.reference.packs import Pack
from generator.reference.row_kinds import WordsRow
from generator.reference.rows import AllergenList
from generator.resolve.allergens import here_as

NONE = "none"
GAME = "game"
"""What a name says of deer, boar and hare: farmed or wild, but no other meat."""
BIRD, OTHER = "bird", "other"
"""Poultry by the code, whoever raised it; and an animal that `species` has no word for."""
WILD = "wild-game"
_ALLOWED = {
    GAME: ("game", WILD),
    BIRD: ("poultry", "ratite", WILD),
    OTHER: ("game", WILD, "fish"),
}
"""What a species may count as that is stated of such food: frogs, turtles and alligators are fish
by 21 CFR 123.3."""
_CALLED = {GAME: "game", BIRD: "a bird's", OTHER: "another animal's"}
_PERCENT = re.compile(r"\d+(?:[.,]\d+)?\s*%")
_APART = re.compile(r"[,;:/()\[\]{}<>*•·]")
"""What parts the foods in a text copied from a label."""
_JOINED = re.compile(
    r"\s(?:and|with|containing|contains)\s(?!no\s)|[&+]|^contains\s(?!no\s)", re.IGNORECASE
)
"""What joins foods within such a part."""
Problem = tuple[str, str, str]
"""The key of a fact, what is wrong with it, and what to write: "" for nothing sure."""


def facts_of_names(library: Library, facts: Ingredient) -> tuple[NameFacts, ...]:
    """What an ingredient's own names say: its name and its other names, never its id."""
    return library.known_names.of_names((facts.name, *facts.other_names))


def sources(library: Library, facts: Ingredient) -> Iterator[tuple[NameFacts, str]]:
    """What is known of an ingredient, and where from: "its name", "its foodstuff, beef,"."""
    for by_name in facts_of_names(library, facts):
        yield (
            by_name,
            "its name" if by_name.name == facts.name else f"its other name, {by_name.name},",
        )
    stuff = library.foodstuffs.get(facts.foodstuff or "")
    if stuff is not None:
        yield (
            NameFacts(stuff.name, facts.foodstuff or "", stuff.facts),
            f"its foodstuff, {stuff.name},",
        )


def contradicted(
    library: Library,
    facts: Ingredient,
    by_name: NameFacts,
    whose: str,
    pack: Pack | None,
) -> Iterator[Problem]:
    """Each fact that ``by_name`` contradicts, allergens aside; ``whose`` says where it is from, as
    in "its name". ``pack`` is the law."""
    if facts.species in known_species(library):  # an unknown word is said to be one first
        yield from _species(facts, by_name, whose, pack)
    yield from _raw(facts, by_name, whose)
    yield from _cold(facts, by_name, whose, pack)
    yield from _form(facts, by_name, whose)
    yield from _plant(facts, by_name, whose)
    if by_name.facts.function == "cure" and facts.function != "cure":
        yield "function", f"{whose} says that it is a cure, but nothing else does", "cure"
    yield from _parasites(facts, by_name, whose)


def _raw(facts: Ingredient, by_name: NameFacts, whose: str) -> Iterator[Problem]:
    """Food that is known raw and stated as made safe. Raw milk has a rule of its own:
    rules/milk.py."""
    known = by_name.facts
    if known.state != "raw" or "milk" in known.allergens or not _perishes(by_name):
        return
    if facts.state in ("pasteurised", "ready-to-eat"):
        sure = "raw" if known.species is not None else ""  # raw milk isn't to be had so at all
        said = f"`state: {facts.state}` that it isn't"
        yield "state", f"{whose} says that it is raw, and {said}", sure


def _cold(
    facts: Ingredient, by_name: NameFacts, whose: str, pack: Pack | None
) -> Iterator[Problem]:
    """Food that is known to need the cold, and stated to need none."""
    packed = by_name.keeps_packed and facts.commercially_packed
    if facts.tcs or not facts.states("tcs") or packed or not needs_cold_by(by_name, pack):
        return
    why = (
        "cut food of its kind needs" if by_name.cut and not by_name.facts.tcs else "such food needs"
    )
    yield (
        "tcs",
        f"by {whose.rstrip(',')}, {why} time and temperature control{_unless(by_name)}, and "
        "`tcs: no` says it doesn't",
        "yes",
    )


def _form(facts: Ingredient, by_name: NameFacts, whose: str) -> Iterator[Problem]:
    """Food that is known to be cut, ground or injected, and stated as intact."""
    known = by_name.facts.form
    if known is not None and facts.form == "intact":
        form = known if known == "comminuted" else "tenderised"
        yield (
            "form",
            f"{whose} says that it isn't intact any more, and `form: intact` that it is",
            form,
        )


def _plant(facts: Ingredient, by_name: NameFacts, whose: str) -> Iterator[Problem]:
    """A plant of one kind, stated as one of another."""
    known = by_name.facts.plant
    if known and facts.states("plant") and facts.plant not in (None, known):
        word = known.replace("-", " ")
        yield (
            "plant",
            f"{whose} says {word}, and `plant: {facts.plant}` something else",
            known,
        )


def _parasites(facts: Ingredient, by_name: NameFacts, whose: str) -> Iterator[Problem]:
    """Fish stated as free of parasites by what it isn't: tuna, farmed, roe, or shellfish."""
    freed = facts.parasites.freed_by if facts.parasites is not None else ""
    if by_name.facts.kind == "other" and freed == "tuna":
        yield "parasites", f"{whose} says that it is no tuna, and `freed_by: tuna` that it is", ""
    if by_name.wild and freed == "farmed":
        yield "parasites", f"{whose} says that it is wild, and `freed_by: farmed` that it isn't", ""
    if freed == "roe" and by_name.facts.species == "fish" and not by_name.roe:
        yield "parasites", f"{whose} says nothing of roe, and `freed_by: roe` that it is", ""
    if freed == "molluscan-shellfish" and by_name.food == "mollusc":
        said = "says that it is no oyster, clam, mussel or scallop"
        yield "parasites", f"{whose} {said}, and `freed_by: molluscan-shellfish` that it is", ""


def _unless(by_name: NameFacts) -> str:
    """What else the ingredient might state, so that it needs no cold as it comes."""
    if by_name.keeps_packed:
        return " unless a plant made and packed it (`commercially_packed: yes`)"
    if by_name.keeps_sealed:
        return " once its sealed pack is opened (`sealed: yes` in place of `tcs`)"
    return ""


def _perishes(by_name: NameFacts) -> bool:
    """Whether raw makes a difference by the law: food of an animal, or milk."""
    return by_name.facts.species not in (None, NONE) or bool(by_name.facts.tcs)


def needs_cold_by(by_name: NameFacts, pack: Pack | None) -> bool:
    """Whether known food needs time and temperature control as it comes: plant food only where the
    pack in force has a row for it (Food Code 1-201.10: cut melon, greens, tomato, garlic in
    oil)."""
    known = by_name.facts
    if known.plant and pack is not None:
        if f"{known.plant}-raw" in {i for i, _ in pack.rows_of(WordsRow, "tcs")}:
            return False  # counted so as it comes, whatever is stated
        done = f"{known.plant}-cut" if by_name.cut and not known.tcs else f"{known.plant}-in-oil"
        return bool(known.tcs or by_name.cut) and pack.row_for(WordsRow, done, "tcs") is not None
    return bool(known.tcs) and not known.plant


def known_species(library: Library) -> frozenset[str]:
    """Every word an ingredient's `species` may be."""
    return frozenset({NONE}).union(*(pack.definitions for pack in library.packs.values()))


def _species(
    facts: Ingredient, by_name: NameFacts, whose: str, pack: Pack | None
) -> Iterator[Problem]:
    """Another animal than it is known to be of, or none, or one where it is of none."""
    known, stated = by_name.facts.species, facts.species
    if known is None or stated is None or stated == known:
        yield from _wild(by_name, whose, stated, pack)
    elif known in ANIMALS:
        yield from _of_an_animal(by_name, whose, stated, pack)
    elif known == NONE:
        yield "species", f"{whose} is of no animal, and `species: {stated}` says it is", ""
    elif stated != WILD or _class(known, pack) != "game":  # shot, not farmed: the stricter row
        word = "egg" if known == "egg" else known.replace("-", " ")
        sure = known if _as_strict(known, stated, pack) else ""
        yield "species", f"{whose} says {word}, and `species: {stated}` says otherwise", sure


def _of_an_animal(
    by_name: NameFacts, whose: str, stated: str, pack: Pack | None
) -> Iterator[Problem]:
    """Food that is known of some animal, or of game, and stated as of none or as no game."""
    known, group = by_name.facts.species, _class(stated, pack)
    allowed = _ALLOWED.get(known or "")
    offered = WILD if known != BIRD and _class(WILD, pack) else ""
    if stated == NONE:
        yield "species", f"{whose} is an animal's, and `species: none` says it isn't", ""
    elif allowed and group and group not in allowed and (offered or known != GAME):
        yield (
            "species",
            f"{whose} is {_CALLED[known or '']}, and `species: {stated}` says it isn't",
            offered,
        )
    else:
        yield from _wild(by_name, whose, stated, pack)


def _wild(
    by_name: NameFacts, whose: str, stated: str | None, pack: Pack | None
) -> Iterator[Problem]:
    """Game that its name calls wild, stated as farmed: the code's row for farmed game isn't its own
    (3-401.11(A)(1)(b), (3))."""
    if by_name.wild and _class(stated, pack) == "game":
        yield (
            "species",
            f"{whose} says that it is wild, and `species: {stated}` is for farmed game",
            WILD,
        )


def _class(species: str | None, pack: Pack | None) -> str:
    """What a species counts as in the pack in force; "" where it doesn't say."""
    return pack.class_of(species) if pack is not None else ""


def _as_strict(known: str, stated: str, pack: Pack | None) -> bool:
    """Whether food of one species is held to no less than that of another in the pack in force, so
    that it may be offered for it: an animal for none, poultry for anything, else only the same
    class."""
    if stated == NONE:
        return True
    classes = {s: d.group_as for s, d in pack.definitions.items()} if pack is not None else {}
    return classes.get(known) is not None and classes[known] in ("poultry", classes.get(stated))


def undeclared_allergens(
    library: Library, facts: Ingredient, declared_by: AllergenList
) -> Iterator[Problem]:
    """All allergens it holds by its names, its foodstuff and its own label and doesn't declare, in
    the words of the list in force: one problem for all, so that what it says to write is whole."""
    words = declared_by.named()
    if any(a.word not in words for a in facts.allergens):
        return  # said of another list first
    missing: list[Allergen] = []
    said: list[str] = []
    for by_name, whose in sources(library, facts):
        found = list(undeclared(library, facts, missing, by_name, declared_by))
        missing += found
        said += [_holds(whose, found)] if found else []
    inside = _undeclared_inside(library, facts, missing, declared_by)
    if inside:
        found = list(dict.fromkeys(a for of_one in inside.values() for a in of_one))
        missing += found
        said.append(_holds(f"its own label, with {listed(list(inside))} in it,", found))
    if missing:
        yield _left_out(facts, missing, said, declared_by)


def _left_out(
    facts: Ingredient, missing: list[Allergen], said: Iterable[str], declared_by: AllergenList
) -> Problem:
    """The problem of ``missing`` allergens, with what ``said`` that it holds them. Of what kind one
    is that the list asks for, its label alone says."""
    stated = listed([str(a) for a in facts.allergens]) or NONE
    line = [str(a) for a in (*facts.allergens, *missing)]
    message = f"{'; '.join(said)}, and `allergens: {stated}` leaves that out"
    words = declared_by.named()
    if any(words[a.word].kind_named and not a.kind for a in missing):
        return "allergens", message, ""
    return "allergens", message, line[0] if len(line) == 1 else f"[{', '.join(line)}]"


def _undeclared_inside(
    library: Library, facts: Ingredient, missing: Iterable[Allergen], declared_by: AllergenList
) -> dict[str, list[Allergen]]:
    """Each name on the own label of ``facts`` that brings allergens neither declared nor found
    ``missing`` before, with them."""
    found = {
        by_name.name: list(undeclared(library, facts, missing, by_name, declared_by))
        for by_name in known_inside(library, facts)
    }
    return {name: allergens for name, allergens in found.items() if allergens}


def _holds(whose: str, found: Iterable[Allergen]) -> str:
    return f"{whose} says that it holds {listed([str(a) for a in found])}"


def known_inside(library: Library, facts: Ingredient) -> Iterator[NameFacts]:
    """What is known of each food that the own label of ``facts`` names, in any brackets too."""
    for text in facts.contains_ingredients:
        parts = [p.strip() for p in _APART.split(_PERCENT.sub(",", text)) if p.strip()]
        found = [one for part in parts for one in _of_part(library, part)]
        yield from found or library.known_names.of_names((text,))


def _of_part(library: Library, part: str) -> tuple[NameFacts, ...]:
    """What a part of a label's text says; where it says nothing as a whole, as "half and half"
    does, each of the foods it joins."""
    of_names = library.known_names.of_names
    joined = (name for name in _JOINED.split(part) if name.strip())
    return of_names((part,)) or tuple(one for name in joined for one in of_names((name.strip(),)))


def undeclared(
    library: Library,
    facts: Ingredient,
    missing: Iterable[Allergen],
    by_name: NameFacts,
    declared_by: AllergenList,
) -> Iterator[Allergen]:
    """The allergens it is known to hold, as the list calls them, that it doesn't declare and that
    aren't among those found ``missing`` before."""
    words = declared_by.named()
    for text in by_name.facts.allergens:
        held = here_as(declared_by, text)
        if held is None:
            continue  # not on this list
        word = words[held.word]
        there = [a for a in (*facts.allergens, *missing) if a.word == held.word]
        if facts.species in word.species and not there:
            continue  # asked for by its species already
        if word.kind_named and not held.kind:
            held = replace(held, kind=_kind_of(library, by_name))
        if not any(_same(library, a, held, by_name) for a in there):
            yield held


def _same(library: Library, stated: Allergen, known: Allergen, by_name: NameFacts) -> bool:
    """Whether a declared allergen is the one known: its kind is, as far as both are said."""
    if not known.kind or not stated.kind or known.kind == stated.kind:
        return True
    return library.known_names.alike(by_name, stated.kind)


def _kind_of(library: Library, by_name: NameFacts) -> str:
    """The kind of a fish or crustacean by its name; of what holds some kind of nut or fish, "": its
    label says which."""
    if by_name.facts.species is None:
        return ""
    return library.known_names.kind_in(by_name) or _kind_in(by_name.name)


def _kind_in(name: str) -> str:
    """The kind as its name says it, for a list that asks for kinds without naming them."""
    return name.split(",")[0].strip().lower()[:40].replace("(", "").replace(")", "")

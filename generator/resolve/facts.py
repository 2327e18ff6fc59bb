"""What an ingredient states, held against what its name and its foodstuff say of it.

Two steps: facts it leaves out are filled in from its foodstuff (``filled_in``), never so that a
limit gets laxer than for an unknown food by silence alone; and a statement that speaks against what
is known is an error until it is confirmed by a reason and a document (``check_statements``).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Any

from generator.files.finding import Finding
from generator.intake.standards import Standards
from generator.records.ingredient import Ingredient
from generator.reference.foods import Foodstuff, KnownFacts
from generator.reference.known_names import NameFacts
from generator.reference.library import Library
from generator.reference.packs import Pack
from generator.reference.rows import AllergenList
from generator.resolve.allergens import here_as
from generator.resolve.asked_allergens import asked_allergens
from generator.resolve.contradictions import (
    NONE,
    Problem,
    contradicted,
    facts_of_names,
    sources,
    undeclared_allergens,
)
from generator.resolve.contradictions import known_species as known_species
from generator.resolve.names import Names


def filled_in(standards: Standards, library: Library) -> Standards:
    """The standards with the facts an ingredient leaves out taken from its foodstuff, and its kind
    of plant from its name. Allergens are never filled in."""
    done = {i: _filled(library, facts) for i, facts in standards.ingredients.items()}
    return replace(standards, ingredients=done)


def _filled(library: Library, facts: Ingredient) -> Ingredient:
    stuff = library.foodstuffs.get(facts.foodstuff or "")
    reported = facts_of_names(library, facts)
    found = _by_foodstuff(stuff.facts, reported, facts) if stuff is not None else {}
    plants = [t.facts.plant for t in reported if t.facts.plant]
    if stuff is not None and stuff.facts.plant:
        plants.append(stuff.facts.plant)
    if facts.plant is None and plants and found.get("species", facts.species) == NONE:
        found["plant"] = plants[0]
    return facts.model_copy(update=found) if found else facts


def _by_foodstuff(
    known: KnownFacts, reported: tuple[NameFacts, ...], facts: Ingredient
) -> dict[str, Any]:
    """The facts left out that the foodstuff gives: its species, that it needs no cold, raw, or dry
    and so what it is; what it is used for."""
    found: dict[str, Any] = {}
    if facts.species is None and _of_that_species(known, reported):
        found["species"] = known.species
    dry = _needs_no_cold(known, reported)
    if dry and not facts.states("tcs") and found.get("species", facts.species) == NONE:
        found["tcs"] = False
    if facts.state is None and (known.state == "raw" or dry):
        found["state"] = known.state
    return found | _used_as(known, facts)


def _used_as(known: KnownFacts, facts: Ingredient) -> dict[str, Any]:
    """What the foodstuff says it is used for, where that is left out: as salt or a cure, as
    flour."""
    found: dict[str, Any] = {}
    if facts.function is None and known.function is not None:
        found["function"] = known.function
    if facts.flour is None and known.flour:
        found["flour"] = True
    return found


def _of_that_species(known: KnownFacts, reported: tuple[NameFacts, ...]) -> bool:
    """Whether the foodstuff gives a species, and no name says another."""
    by_name = {t.facts.species for t in reported if t.facts.species is not None}
    return known.species is not None and by_name <= {known.species}


def _needs_no_cold(known: KnownFacts, reported: tuple[NameFacts, ...]) -> bool:
    """Whether the foodstuff needs no cold, and no name says that it does, or is cut."""
    return known.tcs is False and not any(t.facts.tcs or t.cut for t in reported)


def check_statements(
    names: Names, ident: str, declared_by: AllergenList | None, pack: Pack | None
) -> None:
    """Findings about facts of one ingredient that its name or its foodstuff speaks against, and
    about confirmations of facts nothing speaks against."""
    facts = names.standards.ingredients[ident]
    problems: set[str] = set()
    for key, message, write in _all_problems(names, facts, declared_by, pack):
        if key not in problems and key not in facts.confirmed:
            _contradicted(names, ident, facts, key, message, write)
        problems.add(key)
    problems |= _asked_of_allergens(names, ident, facts, declared_by)
    for key in facts.confirmed:
        if key not in problems:
            names.findings.append(
                Finding(
                    "confirmed-for-nothing",
                    "warning",
                    f"{facts.name}: `{key}` is confirmed, but neither its name nor its foodstuff "
                    "contradicts it.",
                    facts.key_place("confirmed", key),
                    "Delete it.",
                    about=frozenset({ident}),
                )
            )


def _asked_of_allergens(
    names: Names,
    ident: str,
    facts: Ingredient,
    declared_by: AllergenList | None,
) -> set[str]:
    """Asks about the allergens it likely holds, unless that is confirmed; the key of the fact where
    there is something to ask."""
    if declared_by is None:
        return set()
    asked = asked_allergens(names.library, ident, facts, declared_by)
    if asked is None:
        return set()
    if "allergens" not in facts.confirmed:
        names.findings.append(asked)
    return {"allergens"}


def _all_problems(
    names: Names, facts: Ingredient, declared_by: AllergenList | None, pack: Pack | None
) -> Iterator[Problem]:
    """All that speaks against what an ingredient states: each name and its foodstuff, then what
    only all of them together leave unsaid."""
    library = names.library
    for reported, whose in sources(library, facts):
        yield from contradicted(library, facts, reported, whose, pack)
    if declared_by is not None:
        yield from undeclared_allergens(library, facts, declared_by)
    if facts.function != "cure" and _called_a_cure(names, facts):
        yield "function", "its name says that it is a cure, but nothing else does", "cure"
    if _animal_without_cold(library, facts):
        yield (
            "tcs",
            f"it is animal food (`species: {facts.species}`), but `tcs: no` says that it needs "
            "no cold",
            "yes",
        )
    if _ready_by_word_alone(library, facts):
        yield (
            "state",
            f"it is animal food (`species: {facts.species}`), but nothing in its name or "
            f"foodstuff says what made it `{facts.state}` (is it so? put it into the name: "
            "cooked, smoked, pasteurised)",
            "raw",
        )


def _animal_without_cold(library: Library, facts: Ingredient) -> bool:
    """Whether moist food of an animal is stated to need no cold, by nothing that is known of it: it
    isn't dry, no gelling agent, and not one that needs none by its name or its foodstuff, as fat,
    fish sauce or dried meat."""
    if facts.tcs or not facts.states("tcs") or facts.species in (None, NONE):
        return False
    if _dry_or_an_aid(facts):
        return False
    if _made_by_a_plant(facts_of_names(library, facts), facts):
        return False
    known = [reported.facts for reported, _ in sources(library, facts)]
    return not any(k.boils_hot or k.tcs is False for k in known)


def _made_by_a_plant(reported: Iterable[NameFacts], facts: Ingredient) -> bool:
    """Whether a plant packed what is made of several things by its name, as mayonnaise: it made it
    so that it can be eaten, and kept."""
    return facts.commercially_packed and any(t.keeps_packed for t in reported)


def _dry_or_an_aid(facts: Ingredient) -> bool:
    """Whether it is dry, or sets, colours or keeps other food."""
    return facts.form == "dry" or facts.function is not None or bool(facts.undated_as)


def _called_a_cure(names: Names, facts: Ingredient) -> bool:
    """Whether a word anywhere in its names says that it holds nitrite or nitrate: food that is
    cured already aside, and what no salt is."""
    cured = facts.species not in (None, NONE) or facts.nitrite is not None
    return not cured and names.library.known_names.a_cure((facts.name, *facts.other_names))


def _ready_by_word_alone(library: Library, facts: Ingredient) -> bool:
    """Whether food of an animal is stated to be ready to eat or pasteurised, and nothing else of it
    says what made it so: neither its names nor its foodstuff. Dry food, and what sets or colours
    other food, aside; and a name that is nothing known, where a plant under inspection packed
    it."""
    of_an_animal = facts.species not in (None, NONE) and facts.species in known_species(library)
    if not of_an_animal or facts.state not in _MADE_SAFE or _dry_or_an_aid(facts):
        return False
    if facts.states("tcs") and not facts.tcs:
        return False  # asked why it needs no cold, which says what made it so
    return not _says_what_made_it_so(library, facts)


_MADE_SAFE = ("ready-to-eat", "pasteurised")


def _says_what_made_it_so(library: Library, facts: Ingredient) -> bool:
    """Whether a name or the foodstuff says what made it safe to eat; or a plant packed it, and
    its name is no animal's."""
    stuff = library.foodstuffs.get(facts.foodstuff or "")
    if stuff is not None and stuff.facts.state in _MADE_SAFE:
        return True
    reported = facts_of_names(library, facts)
    of_an_animal = any(known.facts.species is not None for known in reported)
    if facts.commercially_packed and not of_an_animal and stuff is None:
        return True
    if _made_by_a_plant(reported, facts):
        return True
    boils = any(t.facts.boils_hot or t.roe for t in reported)
    return boils or library.known_names.ready((facts.name, *facts.other_names))


def _contradicted(
    names: Names, ident: str, facts: Ingredient, key: str, message: str, write: str
) -> None:
    """The error: what speaks against the fact, the fact as it would be right, and how to confirm
    it."""
    stated = facts.states(key)
    place = facts.place(key) if stated else facts.place()
    fixed: tuple[str, ...] = ()
    more = _goes_with(facts, key, write)
    if more:
        pass
    elif write and stated and "[" not in place.text[place.column - 1 : place.column]:
        fixed = (place.fixed(write),)
    elif write and stated:
        fixed = (f"{key}: {write}",)
    correct = "Correct the name or the fact."
    names.error(
        "fact-contradicted",
        place,
        f"{facts.name}: {message}.",
        f"{f'Write `{key}: {write}`{more}.' if write else correct} "
        "Is it really so? Give reason and document: "
        f"`confirmed: {{{key}: {{reason: …, document: …}}}}`.",
        ident,
        fixed,
    )


def _goes_with(facts: Ingredient, key: str, write: str) -> str:
    """What else is to be changed with a fact so that no other contradicts it, in words; empty if
    nothing is: what is raw is not sealed, what needs the cold doesn't come in without it."""
    if key == "state" and write == "raw" and facts.sealed:
        return ", delete `sealed`, and write how it comes in: `arrives: cold` or `arrives: frozen`"
    if key == "state" and write == "raw" and facts.arrives == "hot":
        return ", and how it comes in: `arrives: cold` or `arrives: frozen`"
    if key == "tcs" and write == "yes" and facts.arrives == "ambient" and not facts.sealed:
        return (
            ", and how it comes in: `arrives: cold`, `arrives: frozen`, or `sealed: yes` for a can "
            "or jar"
        )
    return ""


def offer_allergens(
    standards: Standards,
    library: Library,
    findings: tuple[Finding, ...],
    declared_by: AllergenList | None,
) -> tuple[Finding, ...]:
    """The findings; one that asks for an ingredient's allergens offers what its foodstuff and its
    name say."""
    if declared_by is None:
        return findings
    return tuple(_offering(standards, library, f, declared_by) for f in findings)


def _offering(
    standards: Standards, library: Library, finding: Finding, declared_by: AllergenList
) -> Finding:
    if finding.code != "key-missing" or not finding.message.endswith(
        "`allergens` is missing here."
    ):
        return finding
    (ident, *_) = finding.about or ("",)
    stuff = library.foodstuffs.get(standards.foodstuffs.get(ident, ""))
    known = _known_allergens(library, stuff, standards.names.get(ident, ""))
    if not known and (stuff is None or stuff.facts.state != "raw"):
        return finding  # what is made of several things may hold more than follows from its name
    here = dict.fromkeys(str(a) for text in known if (a := here_as(declared_by, text)) is not None)
    words = ", ".join(here)
    line = f"allergens: {f'[{words}]' if len(here) > 1 else words or NONE}"
    whose = "its foodstuff" if stuff is not None else "its name"
    return replace(finding, help=f"By {whose}: `{line}`. {finding.help}")


def _known_allergens(library: Library, stuff: Foodstuff | None, name: str) -> list[str]:
    """The allergens a foodstuff holds, and then what a name says of."""
    by_foodstuff = stuff.facts.allergens if stuff is not None else ()
    reported = library.known_names.of_names((name,))
    return [*by_foodstuff, *(a for t in reported for a in t.facts.allergens)]

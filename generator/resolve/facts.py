"""What an ingredient states, held against what its name and its foodstuff say of it.

Two steps: facts it leaves out are filled in from its foodstuff (``filled_in``), never so that a
limit gets laxer than for an unknown food by silence alone; and a statement that speaks against what
is known is an error until it is confirmed by a reason and a document (``check_statements``).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from generator.files.finding import Finding
from generator.intake.standards import Standards
from generator.measures.words import listed
from generator.records.ingredient import Allergen, Ingredient
from generator.reference.known_names import Told
from generator.reference.library import Library
from generator.reference.packs import Pack
from generator.reference.rows import AllergenList
from generator.resolve.allergens import here_as
from generator.resolve.names import Names

NONE = "none"
GAME = "game"
"""What a name tells of deer, boar and hare: farmed or wild, but no other meat."""
WILD = "wild-game"


def told_of(library: Library, facts: Ingredient) -> tuple[Told, ...]:
    """What an ingredient's own names tell: its name and its other names, never its id."""
    return library.known_names.told((facts.name, *facts.also))


def filled_in(standards: Standards, library: Library) -> Standards:
    """The standards with the facts an ingredient leaves out taken from its foodstuff, and its kind
    of plant from its name. Allergens are never filled in."""
    done = {i: _filled(library, facts) for i, facts in standards.ingredients.items()}
    return replace(standards, ingredients=done)


def _filled(library: Library, facts: Ingredient) -> Ingredient:
    stuff = library.foodstuffs.get(facts.foodstuff or "")
    told = told_of(library, facts)
    found: dict[str, Any] = {}
    if stuff is not None:
        known = stuff.facts
        by_name = {t.facts.species for t in told if t.facts.species is not None}
        if facts.species is None and known.species is not None and by_name <= {known.species}:
            found["species"] = known.species
        dry = known.tcs is False and not any(t.facts.tcs or t.cut for t in told)
        if dry and not facts.states("tcs") and found.get("species", facts.species) == NONE:
            found["tcs"] = False
        if facts.state is None and (known.state == "raw" or dry):
            found["state"] = known.state
        if facts.function is None and known.function is not None:
            found["function"] = known.function
    plants = [t.facts.plant for t in told if t.facts.plant]
    if stuff is not None and stuff.facts.plant:
        plants.append(stuff.facts.plant)
    if facts.plant is None and plants and found.get("species", facts.species) == NONE:
        found["plant"] = plants[0]
    return facts.model_copy(update=found) if found else facts


def check_statements(
    names: Names, ident: str, declared_by: AllergenList | None, pack: Pack | None
) -> None:
    """Findings about facts of one ingredient that its name or its foodstuff speaks against, and
    about confirmations of facts nothing speaks against."""
    facts = names.standards.ingredients[ident]
    against: set[str] = set()
    for told, whose in _sources(names.library, facts):
        for key, message, write in _against(names.library, facts, told, whose, declared_by, pack):
            if key in facts.confirmed:
                against.add(key)
            elif key not in against:
                against.add(key)
                _contradicted(names, ident, facts, key, message, write)
    if facts.function != "cure" and "function" not in against and _called_a_cure(names, facts):
        against.add("function")
        if "function" not in facts.confirmed:
            words = "its name says that it is a cure, and nothing else does"
            _contradicted(names, ident, facts, "function", words, "cure")
    if _animal_without_cold(names.library, facts, "tcs" in against):
        against.add("tcs")
        if "tcs" not in facts.confirmed:
            words = (
                f"it is food of an animal (`species: {facts.species}`), and `tcs: no` says "
                "that it needs no cold"
            )
            _contradicted(names, ident, facts, "tcs", words, "yes")
    if _ready_by_word_alone(names.library, facts) and "state" not in against:
        against.add("state")
        if "state" not in facts.confirmed:
            words = (
                f"it is food of an animal (`species: {facts.species}`), and nothing in its name or "
                f"its foodstuff says what made it `{facts.state}`; put it into the name, as in "
                "cooked, smoked, pasteurised, if it is so"
            )
            _contradicted(names, ident, facts, "state", words, "raw")
    for key in facts.confirmed:
        if key not in against:
            names.findings.append(
                Finding(
                    "confirmed-for-nothing",
                    "warning",
                    f"{facts.name}: `{key}` is confirmed, and neither its name nor its "
                    "foodstuff speaks against it.",
                    facts.key_place("confirmed", key),
                    "Take it out.",
                    about=frozenset({ident}),
                )
            )


def _animal_without_cold(library: Library, facts: Ingredient, said: bool) -> bool:
    """Whether moist food of an animal is stated to need no cold, by nothing that is known of it: it
    isn't dry, no gelling agent, and not one that needs none by its name or its foodstuff, as fat,
    fish sauce or dried meat."""
    if said or facts.tcs or not facts.states("tcs") or facts.species in (None, NONE):
        return False
    if facts.form == "dry" or facts.function is not None or facts.undated_as:
        return False
    known = [told.facts for told, _ in _sources(library, facts)]
    return not any(k.boils_hot or k.tcs is False for k in known)


def _called_a_cure(names: Names, facts: Ingredient) -> bool:
    """Whether a word anywhere in its names says that it holds nitrite or nitrate: food that is
    cured already aside, and what no salt is."""
    cured = facts.species not in (None, NONE) or facts.nitrite is not None
    return not cured and names.library.known_names.a_cure((facts.name, *facts.also))


def _ready_by_word_alone(library: Library, facts: Ingredient) -> bool:
    """Whether food of an animal is stated to be ready to eat or pasteurised, and nothing else of it
    says what made it so: neither its names nor its foodstuff. Dry food, and what sets or colours
    other food, aside; and a name that is nothing known, where a plant under inspection packed
    it."""
    of_an_animal = facts.species not in (None, NONE) and facts.species in known_species(library)
    if not of_an_animal or facts.state not in ("ready-to-eat", "pasteurised"):
        return False
    if facts.form == "dry" or facts.function is not None or facts.undated_as:
        return False
    if facts.states("tcs") and not facts.tcs:
        return False  # asked why it needs no cold, which says what made it so
    stuff = library.foodstuffs.get(facts.foodstuff or "")
    if stuff is not None and stuff.facts.state in ("ready-to-eat", "pasteurised"):
        return False
    told = told_of(library, facts)
    if facts.commercially_packed and not told and stuff is None:
        return False
    boils = any(t.facts.boils_hot or t.roe for t in told)
    return not boils and not library.known_names.ready((facts.name, *facts.also))


def _sources(library: Library, facts: Ingredient) -> Iterator[tuple[Told, str]]:
    for told in told_of(library, facts):
        yield told, "its name" if told.name == facts.name else f"its other name, {told.name},"
    stuff = library.foodstuffs.get(facts.foodstuff or "")
    if stuff is not None:
        yield (
            Told(stuff.name, facts.foodstuff or "", stuff.facts),
            f"its foodstuff, {stuff.name},",
        )


_Against = tuple[str, str, str]


def _against(
    library: Library,
    facts: Ingredient,
    told: Told,
    whose: str,
    declared_by: AllergenList | None,
    pack: Pack | None,
) -> Iterator[_Against]:
    """Each fact that is spoken against: its key, what is wrong, and what to write, "" for nothing
    sure."""
    if facts.species in known_species(library):  # an unknown word is said to be one first
        yield from _species(facts, told, whose, pack)
    known = told.facts
    milk = "milk" in known.allergens  # raw milk has a rule of its own: rules/milk.py
    if (
        known.state == "raw"
        and not milk
        and facts.state in ("pasteurised", "ready-to-eat")
        and _perishes(told)
    ):
        sure = "raw" if known.species is not None else ""  # raw milk isn't to be had so at all
        said = f"`state: {facts.state}` that it isn't"
        yield "state", f"{whose} says that it is raw, and {said}", sure
    packed = told.keeps_packed and facts.commercially_packed
    if not facts.tcs and facts.states("tcs") and needs_cold_by(told, pack) and not packed:
        why = "cut food of its kind needs" if told.cut and not known.tcs else "such food needs"
        yield (
            "tcs",
            f"by {whose.rstrip(',')}, {why} time and temperature control{_unless(told)}, and "
            "`tcs: no` says it doesn't",
            "yes",
        )
    if known.form is not None and facts.form == "intact":
        form = known.form if known.form == "comminuted" else "tenderised"
        yield (
            "form",
            f"{whose} says that it isn't intact any more, and `form: intact` that it is",
            form,
        )
    if known.plant and facts.states("plant") and facts.plant not in (None, known.plant):
        word = known.plant.replace("-", " ")
        yield (
            "plant",
            f"{whose} says {word}, and `plant: {facts.plant}` something else",
            known.plant,
        )
    if known.function == "cure" and facts.function != "cure":
        yield "function", f"{whose} says that it is a cure, and nothing else does", "cure"
    freed = facts.parasites.freed_by if facts.parasites is not None else ""
    if known.kind == "other" and freed == "tuna":
        yield "parasites", f"{whose} says that it is no tuna, and `freed_by: tuna` that it is", ""
    if told.wild and freed == "farmed":
        yield "parasites", f"{whose} says that it is wild, and `freed_by: farmed` that it isn't", ""
    if freed == "roe" and known.species == "fish" and not told.roe:
        yield "parasites", f"{whose} says nothing of roe, and `freed_by: roe` that it is", ""
    if declared_by is not None:
        yield from _allergens(facts, told, whose, declared_by)


def _unless(told: Told) -> str:
    """What else the ingredient might state, so that it needs no cold as it comes."""
    if told.keeps_packed:
        return " unless a plant made and packed it (`commercially_packed: yes`)"
    if told.keeps_sealed:
        return " once its sealed pack is opened (`sealed: yes` in place of `tcs`)"
    return ""


def _perishes(told: Told) -> bool:
    """Whether raw makes a difference by the law: food of an animal, or milk."""
    return told.facts.species not in (None, NONE) or bool(told.facts.tcs)


def needs_cold_by(told: Told, pack: Pack | None) -> bool:
    """Whether what is told needs time and temperature control as it comes: plant food only where
    the pack in force has a row for it (Food Code 1-201.10: cut melon, greens, tomato, garlic in
    oil)."""
    known = told.facts
    if known.plant and pack is not None:
        if f"{known.plant}-raw" in {i for i, _ in pack.rows_of("tcs")}:
            return False  # counted so as it comes, whatever is stated
        done = f"{known.plant}-cut" if told.cut and not known.tcs else f"{known.plant}-in-oil"
        return bool(known.tcs or told.cut) and pack.row_for("tcs", done) is not None
    return bool(known.tcs) and not known.plant


def known_species(library: Library) -> frozenset[str]:
    """Every word an ingredient's `species` may be."""
    return frozenset({NONE}).union(*(pack.definitions for pack in library.packs.values()))


def _species(facts: Ingredient, told: Told, whose: str, pack: Pack | None) -> Iterator[_Against]:
    known, stated = told.facts.species, facts.species
    if known is None or stated is None or stated == known:
        if told.wild and _class(stated, pack) == "game":
            yield from _wild(whose, stated)
        return
    if known in ("animal", GAME):
        if stated == NONE:
            yield "species", f"{whose} is an animal's, and `species: none` says it isn't", ""
        elif known == GAME and _class(WILD, pack) and _class(stated, pack) not in ("game", WILD):
            yield "species", f"{whose} is game, and `species: {stated}` says it isn't", WILD
        elif told.wild and _class(stated, pack) == "game":
            yield from _wild(whose, stated)
        return
    if known == NONE:
        yield "species", f"{whose} is of no animal, and `species: {stated}` says it is", ""
        return
    if stated == WILD and _class(known, pack) == "game":
        return  # shot, not farmed: the stricter row
    word = "egg" if known == "egg" else known.replace("-", " ")
    sure = known if _as_strict(known, stated, pack) else ""
    yield "species", f"{whose} says {word}, and `species: {stated}` says otherwise", sure


def _wild(whose: str, stated: str | None) -> Iterator[_Against]:
    """Game that its name calls wild: the code's row for farmed game isn't its own
    (3-401.11(A)(1)(b), (3))."""
    yield (
        "species",
        f"{whose} says that it is wild, and `species: {stated}` is for farmed game",
        WILD,
    )


def _class(species: str | None, pack: Pack | None) -> str:
    """What a species counts as in the pack in force; "" where it doesn't say."""
    found = pack.definitions.get(species or "") if pack is not None else None
    return found.group_as or "" if found is not None else ""


def _as_strict(known: str, stated: str, pack: Pack | None) -> bool:
    """Whether food of one species is held to no less than that of another in the pack in force, so
    that it may be offered for it: an animal for none, poultry for anything, else only the same
    class."""
    if stated == NONE:
        return True
    classes = {s: d.group_as for s, d in pack.definitions.items()} if pack is not None else {}
    return classes.get(known) is not None and classes[known] in ("poultry", classes.get(stated))


def _allergens(
    facts: Ingredient, told: Told, whose: str, declared_by: AllergenList
) -> Iterator[_Against]:
    """The allergens it holds by what it is and doesn't declare, in the words of the list in
    force."""
    words = declared_by.named()
    if any(a.word not in words for a in facts.allergens):
        return  # said of another list first
    missing: list[Allergen] = []
    for text in told.facts.allergens:
        held = here_as(declared_by, text)
        if held is None or facts.species in words[held.word].species:
            continue  # not on this list, or asked for by its species already
        if words[held.word].kind_named and not held.kind:
            held = replace(held, kind=_kind_in(told.name))
        if not any(
            a.word == held.word and _same(a, held, words[held.word].kinds) for a in facts.allergens
        ):
            missing.append(held)
    if missing:
        stated = listed([str(a) for a in facts.allergens]) or NONE
        told_words = listed([str(a) for a in missing])
        line = [str(a) for a in (*facts.allergens, *missing)]
        yield (
            "allergens",
            f"{whose} says that it holds {told_words}, and `allergens: {stated}` leaves that out",
            line[0] if len(line) == 1 else f"[{', '.join(line)}]",
        )


def _same(stated: Allergen, known: Allergen, kinds: tuple[str, ...]) -> bool:
    """Whether a declared allergen is the one known; kinds are compared only where the list names
    them."""
    return not kinds or not known.kind or known.kind == stated.kind


def _kind_in(name: str) -> str:
    """The kind as its name says it, for a list that asks for kinds without naming them."""
    return name.split(",")[0].strip().lower()[:40].replace("(", "").replace(")", "")


def _contradicted(
    names: Names, ident: str, facts: Ingredient, key: str, message: str, write: str
) -> None:
    """The error: what speaks against the fact, the fact as it would be right, and how to confirm
    it."""
    stated = facts.states(key)
    place = facts.place(key) if stated else facts.place()
    mended: tuple[str, ...] = ()
    if write and stated and "[" not in place.text[place.column - 1 : place.column]:
        mended = (place.mended(write),)
    elif write and stated:
        mended = (f"{key}: {write}",)
    correct = "Correct the name or the fact, whichever is wrong."
    names.error(
        "fact-contradicted",
        place,
        f"{facts.name}: {message}.",
        f"{f'Write `{key}: {write}`.' if write else correct} "
        f"If it is so all the same, give reason and document: "
        f"`confirmed: {{{key}: {{reason: …, document: …}}}}`.",
        ident,
        mended,
    )


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
    told = library.known_names.told((standards.names.get(ident, ""),))
    known = [
        *(stuff.facts.allergens if stuff is not None else ()),
        *(a for t in told for a in t.facts.allergens),
    ]
    if not known and (stuff is None or stuff.facts.state != "raw"):
        return finding  # what is made of several things may hold more than follows from its name
    here = dict.fromkeys(str(a) for text in known if (a := here_as(declared_by, text)) is not None)
    words = ", ".join(here)
    line = f"allergens: {f'[{words}]' if len(here) > 1 else words or NONE}"
    whose = "its foodstuff" if stuff is not None else "its name"
    return replace(finding, help=f"By {whose}: `{line}`. {finding.help}")

"""Whole names of foods, and what follows from them: the reader of ``shared/known-names.yaml``.

A name is known only if every word of its first part is: one food, and words that say no other.
"Cream" and "Double cream, fresh" are cream; "coconut cream" and "cream of tartar" are nothing
known.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from generator.files.finding import Finding, Place
from generator.intake.reading import EVERYTHING, Reader
from generator.records.fields import Id, IdList, WordList, YesNo
from generator.records.record import Record
from generator.reference.denials import Freed, freed_by, without_denials
from generator.reference.foods import KnownFacts
from generator.reference.phrases import Phrase, phrase_of, plain_text

ANIMALS = ("animal", "game", "bird", "other")
"""What a name says of an animal that is no word of `species`: any, any game, any poultry, one that
the rules have no word of."""
_BREAK = re.compile(r"[,;:()\[\]/|–—+&]|\s-\s|\b(?:with|without|from|for)\b")
_NOT_IT = re.compile(r"\b(?:meat|animal|flesh|nitrite|nitrate|cure)s?[\s-]+free\b")
"""What takes away what the food itself is: a sausage free of meat, a cure free of nitrite."""
_NITRITE = re.compile(r"\be ?(249|250|251|252)\b")
"""Potassium and sodium nitrite and nitrate by their numbers as food additives."""
ACID = "acid"
"""The food under which ``shared/known-names.yaml`` lists what food is soured with."""
_TURNS = {"joints", "raw"}
"""The roles by which a name of a food is only a word beside another."""
_ROLES = (
    "plain",
    "joints",
    "raw",
    "heated",
    "preserved",
    "seasoned",
    "cut",
    "comminuted",
    "not-intact",
    "wild",
)


class KnownFood(KnownFacts):
    """A food and the whole names it goes by. ``may_be_raw``: a word for raw says its state;
    ``ready``: it is ready to eat by what it is; ``dried``: it needs the cold again once it is wet;
    ``keeps_packed``: as a plant packs it, it needs no cold; ``keeps_sealed``: it needs none in its
    sealed pack, until that is opened; ``read_in``: the lists of names its allergens were read in;
    ``alike``: which of its names are of one kind, where they are of many; ``usually``: allergens it
    holds as a rule, not by what it is; ``only_whole``: within another name its own tells
    nothing; ``any_grain``: it may be made of another grain than wheat."""

    names: WordList
    read_in: IdList = ()
    alike: tuple[WordList, ...] = ()
    usually: WordList = ()
    only_whole: YesNo = False
    any_grain: YesNo = False
    may_be_raw: YesNo = False
    ready: YesNo = False
    dried: YesNo = False
    keeps_packed: YesNo = False
    keeps_sealed: YesNo = False


@dataclass(frozen=True)
class NameFacts:
    """What the names of an ingredient say: the name that does, the food's id, its facts, and
    whether the name says that it is cut, wild, or roe, is dried food that needs the cold once it is
    wet, and needs none as a plant packs it, or in its sealed pack; ``usually`` are allergens that
    such food holds as a rule."""

    name: str
    food: str
    facts: KnownFacts
    cut: bool = False
    wild: bool = False
    roe: bool = False
    dried: bool = False
    keeps_packed: bool = False
    keeps_sealed: bool = False
    usually: tuple[str, ...] = ()


class KnownNames:
    """The names, ready to be looked up.

    ``words`` holds the words of the trade by their role, ``others`` the names that are none of
    ``foods``, ``unless`` what makes nothing known anywhere in a name, ``turned-by`` what turns the
    word before a comma into another food, ``roe`` what a fish's eggs are called. ``called_after``
    are plants and drinks that a food's name stands before, ``milk_of`` and ``grain_of`` what stands
    before milk and flour of plants and other grains than wheat.
    """

    def __init__(
        self,
        words: Mapping[str, Iterable[str]],
        others: Iterable[str],
        foods: Mapping[str, KnownFood],
    ) -> None:
        self.foods = dict(foods)
        self._read_before: dict[tuple[str, ...], tuple[NameFacts, ...]] = {}
        self._called_before: dict[tuple[str, str], bool] = {}
        self._roles: dict[Phrase, set[str]] = {}
        for role in _ROLES:
            for word in words.get(role, ()):
                self._roles.setdefault(phrase_of(word), set()).add(role)

        def of_role(role: str) -> set[Phrase]:
            return {phrase_of(word) for word in words.get(role, ())}

        self._unless, self._roe = of_role("unless"), of_role("roe")
        self._turned = of_role("turned-by")
        self._others = {phrase_of(name) for name in others}
        self._names = {phrase_of(n): ident for ident, food in foods.items() for n in food.names}
        known = [*self._roles, *self._unless, *self._turned, *self._others, *self._names]
        self._longest = max(map(len, known), default=1)
        self._begin = {phrase[0] for phrase in known if phrase}
        self._cut_before: dict[str, bool] = {}
        self._none_before: dict[str, bool] = {}
        self.called_after = of_role("called-after")
        self.milk_of, self.grain_of = of_role("milk-of"), of_role("grain-of")

    def __eq__(self, other: object) -> bool:
        """Whether the same names are known; what was looked up before doesn't count."""
        return isinstance(other, KnownNames) and self._data() == other._data()

    def __hash__(self) -> int:
        return hash((self._longest, len(self._names)))

    def _data(self) -> tuple[object, ...]:
        of_words = (self._roles, self._unless, self._roe, self._turned)
        return self.foods, self._names, self._others, of_words

    def of_names(self, names: Iterable[str]) -> tuple[NameFacts, ...]:
        """What each of an ingredient's ``names`` says; nothing if any of them says that it isn't
        so."""
        asked = tuple(name for name in names if name.strip())
        if asked not in self._read_before:  # every step asks again what the same food is called
            freed = freed_by(asked)
            denied = freed.everything or any(map(self.is_no_such, asked))
            reported = () if denied else map(self._of_name, asked)
            left = (_less(one, freed) for one in reported if one is not None)
            self._read_before[asked] = tuple(one for one in left if one is not None)
        return self._read_before[asked]

    def are_called(self, food: str, name: str) -> bool:
        """Whether an ingredient's ``name`` says that it is a ``food``, by its id."""
        called = self._called_before.get((food, name))
        if called is None:
            called = any(one.food == food for one in self.of_names((name,)))
            self._called_before[food, name] = called
        return called

    def ready(self, names: Iterable[str]) -> bool:
        """Whether a word anywhere in an ingredient's ``names`` says what made it ready to eat: that
        it is cooked, smoked or cured, or a food that is ready by what it is."""
        asked = [plain_text(name) for name in names]
        if any(self._only_raw(part) for name in asked for part in _BREAK.split(name)):
            return False
        return any(self._ready(phrase_of(name)) for name in asked)

    def _only_raw(self, part: str) -> bool:
        """Whether a part of a name is a word for raw and nothing else: "Salmon, raw, smoked-salt
        rub"."""
        words = phrase_of(part)
        return "raw" in self._roles.get(words, ()) and words not in self._names

    def species_named(self, names: Iterable[str]) -> frozenset[str]:
        """The animals that whole names of foods anywhere in some ``names`` are of: pork for "Pork
        links", pork and beef for "Ham and brisket pie". None of a name that says it isn't so, nor
        where a longer name is another food."""
        found: set[str] = set()
        for name in names:
            words = phrase_of(plain_text(name))
            at = 0 if not self._denied(name) else len(words)
            while at < len(words):
                sizes = range(min(self._longest, len(words) - at), 0, -1)
                known = (words[at : at + many] for many in sizes)
                whole = next((one for one in known if self._is_a_name(one)), words[at : at + 1])
                food = self.foods.get(self._names.get(whole, ""))
                if food is not None and food.species not in (None, "none", *ANIMALS):
                    found.add(str(food.species))
                at += len(whole)
        return frozenset(found)

    def _is_a_name(self, words: Phrase) -> bool:
        return words in self._names or words in self._others

    def a_cure(self, names: Iterable[str]) -> bool:
        """Whether a cure is named anywhere in ``names``, or nitrite or nitrate by its number, and
        nothing denies it."""
        asked = [name for name in names if name.strip()]
        if any(self._denied(name) for name in asked):
            return False
        return any(
            _NITRITE.search(plain_text(n)) or self._cure_in(phrase_of(plain_text(n))) for n in asked
        )

    def _cure_in(self, words: Phrase) -> bool:
        found = (self._at(words, i, self._names) for i in range(len(words)))
        return any(f is not None and self.foods[self._names[f]].function == "cure" for f in found)

    def an_acid(self, names: Iterable[str]) -> bool:
        """Whether vinegar or another acid that keeps food is named anywhere in ``names``, and
        nothing denies it."""
        asked = [name for name in names if name.strip()]
        if any(self._denied(name) for name in asked):
            return False
        return any(ACID in self._foods_anywhere(phrase_of(plain_text(name))) for name in asked)

    def foods_in(self, names: Iterable[str]) -> set[str]:
        """The ids of the foods whose names stand anywhere in an ingredient's ``names``."""
        return set().union(*(self._foods_anywhere(phrase_of(plain_text(n))) for n in names))

    def _foods_anywhere(self, words: Phrase) -> set[str]:
        """The foods whose names stand anywhere in a name."""
        found = (self._at(words, i, self._names) for i in range(len(words)))
        return {self._names[phrase] for phrase in found if phrase is not None}

    def kind_in(self, by_name: NameFacts) -> str:
        """The kind as a name says it, where its food has names of many kinds: "Cod fillet" is cod;
        "" where nothing does."""
        if not self._of_one_kind(by_name):
            return ""
        found = self._kind(by_name.name, by_name.food)
        return " ".join(found) if found is not None else ""

    def alike(self, by_name: NameFacts, kind: str) -> bool:
        """Whether a ``kind`` of nut or fish may be the one that a name says; what isn't known is.
        Two names of one food are of one kind, unless it has names of many."""
        others = [one for one in self.of_names((kind,)) if one.facts.allergens]
        if not others or by_name.food not in self.foods:
            return True
        return any(self._one_kind(by_name, one) for one in others)

    def _one_kind(self, one: NameFacts, other: NameFacts) -> bool:
        mine, others = self._kind(one.name, one.food), self._kind(other.name, other.food)
        groups = (*self.foods[one.food].alike, *self.foods[other.food].alike)
        if mine is None or others is None:
            return True
        if any({mine, others} <= set(map(phrase_of, group)) for group in groups):
            return True
        if one.food != other.food:
            return not (self._of_one_kind(one) and self._of_one_kind(other))
        return not groups or bool(set(mine) & set(others))

    def _of_one_kind(self, one: NameFacts) -> bool:
        """Whether a food's name says a kind: a nut by name, a fish of one kind; no "fish paste"."""
        named = any("(" in text for text in one.facts.allergens)
        return named or one.facts.kind is not None or bool(self.foods[one.food].alike)

    def _kind(self, name: str, food: str) -> Phrase | None:
        """The name of a food within an ingredient's name."""
        words = phrase_of(plain_text(name))
        found = (self._at(words, i, self._names) for i in range(len(words)))
        return next((one for one in found if one is not None and self._names[one] == food), None)

    def cuts(self, text: str) -> bool:
        """Whether a word of ``text`` says that something is cut: diced, wedges, tear."""
        if text not in self._cut_before:
            words = phrase_of(text)
            found = (self._at(words, i, self._roles) for i in range(len(words)))
            self._cut_before[text] = any(
                phrase is not None and "cut" in self._roles[phrase] for phrase in found
            )
        return self._cut_before[text]

    def _ready(self, words: Phrase) -> bool:
        for i in range(len(words)):
            role, food = self._at(words, i, self._roles), self._at(words, i, self._names)
            if role is not None and self._roles[role] & {"heated", "preserved"}:
                return True
            if food is not None and self.foods[self._names[food]].ready:
                return True
        return False

    def _denied(self, name: str) -> bool:
        """Whether a name says that it is of no animal, or not what its words say."""
        return freed_by((name,)).of_an_animal or self.is_no_such(name)

    def is_no_such(self, name: str) -> bool:
        """Whether a name says that the food isn't what its other words say: a substitute, a
        flavouring, a meat-free sausage."""
        if name not in self._none_before:
            self._none_before[name] = self._says_no_such(name)
        return self._none_before[name]

    def _says_no_such(self, name: str) -> bool:
        plain = plain_text(name)
        if _NOT_IT.search(plain):
            return True
        words, i = phrase_of(plain), 0
        while i < len(words):
            # vinegar essence is an acid, though an essence of others isn't one
            known = self._at(words, i, self._names)
            if known is None and self._at(words, i, self._unless):
                return True
            i += len(known) if known is not None else 1
        return False

    def names_within(self, part: str) -> list[tuple[Phrase, str]]:
        """A part of a name as phrases in their order, the longest known first: each with the id of
        the food it is a name of, "" for any other."""
        words, i = phrase_of(part), 0
        found: list[tuple[Phrase, str]] = []
        while i < len(words):
            whole = self._at(words, i, self._others) or (words[i],)
            name = self._at(words, i, self._names)
            if name is not None and len(name) >= len(whole) and whole not in self._others:
                whole = name
            found.append((whole, self._names.get(whole, "") if whole == name else ""))
            i += len(whole)
        return found

    def _at(self, words: Phrase, start: int, known: Iterable[Phrase]) -> Phrase | None:
        """The longest known phrase at a place."""
        if words[start] not in self._begin:  # most words begin none
            return None
        for size in range(min(self._longest, len(words) - start), 0, -1):
            if words[start : start + size] in known:
                return words[start : start + size]
        return None

    def _of_name(self, name: str) -> NameFacts | None:
        parts = [phrase_of(part) for part in _BREAK.split(plain_text(without_denials(name)))]
        parts = [part for part in parts if part]
        if not parts:
            return None
        first, rest = parts[0], parts[1:]
        turned = self._turned_round(first, rest)
        if turned is not None:
            food, roles, with_it = turned
            rest = [part for part in rest if part != with_it]
        elif self._holds(rest, self._turned):
            return None
        else:
            food, roles = self._read(first) or ("", set())
        if not food:
            return None
        roles |= self._roles_in(rest)
        facts = _facts(self.foods[food], roles)
        roe = self._holds(parts, self._roe)
        known = self.foods[food]
        cut, wild = "cut" in roles, "wild" in roles
        return NameFacts(
            *(name, food, facts, cut, wild, roe, known.dried, known.keeps_packed),
            *(known.keeps_sealed, known.usually),
        )

    def _roles_in(self, parts: Iterable[Phrase]) -> set[str]:
        """The roles of all the words known in some parts of a name."""
        found: set[str] = set()
        for part in parts:
            for i in range(len(part)):
                phrase = self._at(part, i, self._roles)
                found |= self._roles[phrase] if phrase else set()
        return found

    def _holds(self, parts: Iterable[Phrase], known: Iterable[Phrase]) -> bool:
        """Whether a known phrase is anywhere in some parts of a name."""
        return any(self._at(part, i, known) for part in parts for i in range(len(part)))

    def _turned_round(
        self, first: Phrase, rest: list[Phrase]
    ) -> tuple[str, set[str], Phrase] | None:
        """Another food than the first part's own, once a later part is read with it: "Butter,
        peanut"."""
        own = self._read(first)
        for part in rest:
            for words in (part + first, first + part):
                found = self._read(words)
                if found is not None and (own is None or own[0] != found[0]):
                    return *found, part
        return None

    def _read(self, words: Phrase) -> tuple[str, set[str]] | None:
        """The one food of a part all of whose words are known, and the roles of the others."""
        found = self._foods_and_roles(words) if words not in self._others else None
        if found is None:
            return None
        foods, others = found
        roles: set[str] = set().union(*others)
        if len(foods) > 1:  # "sashimi tuna": the other name says how it is
            roles |= {r for name in foods for r in self._roles.get(name, ())}
        food = self._one_food(foods)
        if not food or ({"joints"} in others and self.foods[food].species is None):
            return None
        return food, roles

    def _foods_and_roles(self, words: Phrase) -> tuple[dict[Phrase, str], list[set[str]]] | None:
        """The foods a part names, and the roles of each other word in it, the longest known name
        or word first; None where a word of it isn't known."""
        foods: dict[Phrase, str] = {}
        others: list[set[str]] = []
        i = 0
        while i < len(words):
            name, role = self._at(words, i, self._names), self._at(words, i, self._roles)
            if name is not None and len(name) >= len(role or ()):
                foods[name] = self._names[name]
                i += len(name)
            elif role is not None:
                others.append(self._roles[role])
                i += len(role)
            else:
                return None
        return foods, others

    def _one_food(self, foods: Mapping[Phrase, str]) -> str:
        """The one food that all the names in a part mean, or nothing; in "turkey ham" the ham is
        a joint of the turkey, in "sashimi tuna" the sashimi a way of serving it."""
        kinds = set(foods.values())
        if len(foods) > 1:
            kinds = {f for n, f in foods.items() if not self._roles.get(n, set()) & _TURNS}
        return kinds.pop() if len(kinds) == 1 else ""


def _less(known: NameFacts, freed: Freed) -> NameFacts | None:
    """What is known less what the name says isn't in it; None for food that is nothing else, as
    dairy-free milk or a vegan burger."""
    facts = known.facts
    left = freed.left_of(facts.allergens)
    if freed.species(facts.species) or (facts.allergens and not left):
        return None
    usually = freed.left_of(known.usually)
    if (left, usually) == (facts.allergens, known.usually):
        return known
    return replace(known, facts=facts.model_copy(update={"allergens": left}), usually=usually)


def _facts(food: KnownFood, roles: set[str]) -> KnownFacts:
    """The facts of a food once the other words of its name are counted in."""
    kept, heated = bool(roles & {"preserved", "seasoned"}), "heated" in roles
    raw = "raw" in roles and not kept and not heated
    may_be_raw = food.species is not None or food.may_be_raw
    return KnownFacts().model_copy(
        update={
            "species": food.species,
            "state": "raw" if food.state or (raw and may_be_raw) else None,
            "form": _form(food, roles),
            "allergens": food.allergens,
            "tcs": False if food.tcs is False else True if food.tcs and not kept else None,
            "plant": food.plant if not kept and not heated else None,
            "function": food.function,
            "kind": food.kind,
            "boils_hot": food.boils_hot,
            "fat": food.fat,
        }
    )


def _form(food: KnownFood, roles: set[str]) -> str | None:
    """The form of a food: its own, else for meat and fish what the other words say of it."""
    if food.form is not None or food.species in (None, "egg"):
        return food.form
    return next((form for form in ("comminuted", "not-intact") if form in roles), None)


class _NamesFile(Record):
    """The whole of known-names.yaml."""

    words: dict[Id, WordList]
    others: WordList
    foods: dict[Id, KnownFood]


def read_known_names(reader: Reader) -> KnownNames:
    """The known names of ``shared/``; faults go to ``reader``, and nothing is known then."""
    path = reader.root / reader.top / "known-names.yaml"
    if path.is_file():
        tree = reader.take(reader.document(path), EVERYTHING)
        start = Place(f"{reader.top}/known-names.yaml", 1, 1)
        read = reader.record(_NamesFile, tree, start, EVERYTHING) if tree is not None else None
        return KnownNames(read.words, read.others, read.foods) if read else KnownNames({}, (), {})
    name = f"{reader.top}/known-names.yaml"
    reader.findings.append(
        Finding(
            "reference-missing",
            "error",
            f"{name} is missing.",
            Place(name),
            "Copy it from the installation.",
            about=frozenset({EVERYTHING}),
        )
    )
    return KnownNames({}, (), {})

"""Whole names of foods, and what follows from them: the reader of ``shared/known-names.yaml``.

A name is known only if every word of its first part is: one food, and words that tell no other.
"Cream" and "Double cream, fresh" are cream; "coconut cream" and "cream of tartar" are nothing
known.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from generator.files.finding import Finding, Place
from generator.intake.reading import EVERYTHING, Reader
from generator.records.fields import Id, WordList, YesNo
from generator.records.record import Record
from generator.reference.foods import KnownFacts

Phrase = tuple[str, ...]
_BREAK = re.compile(r"[,;:()\[\]/|–—+&]|\s-\s|\b(?:with|without|from|for)\b")
_FREE = re.compile(r"\w[\s-]+free\b(?![\s-]+(?:range|run))")
_ROLES = (
    "plain",
    "joints",
    "raw",
    "heated",
    "preserved",
    "cut",
    "comminuted",
    "not-intact",
    "wild",
)


class KnownFood(KnownFacts):
    """A food and the whole names it goes by. ``may_be_raw``: a word for raw tells its state."""

    names: WordList
    may_be_raw: YesNo = False


@dataclass(frozen=True)
class Told:
    """What the names of an ingredient tell: the name that does, the food's id, its facts, and
    whether the name says that it is cut, wild, or roe."""

    name: str
    food: str
    facts: KnownFacts
    cut: bool = False
    wild: bool = False
    roe: bool = False


class KnownNames:
    """The names, ready to be looked up.

    ``words`` holds the words of the trade by their role, ``others`` the names that are none of
    ``foods``, ``unless`` what makes nothing known anywhere in a name, ``turned-by`` what turns the
    word before a comma into another food, ``roe`` what a fish's eggs are called.
    """

    def __init__(
        self,
        words: Mapping[str, Iterable[str]],
        others: Iterable[str],
        foods: Mapping[str, KnownFood],
    ) -> None:
        self.foods = dict(foods)
        self._read_before: dict[tuple[str, ...], tuple[Told, ...]] = {}
        self._roles: dict[Phrase, set[str]] = {}
        for role in _ROLES:
            for word in words.get(role, ()):
                self._roles.setdefault(_phrase(word), set()).add(role)
        self._unless = {_phrase(word) for word in words.get("unless", ())}
        self._roe = {_phrase(word) for word in words.get("roe", ())}
        self._turned = {_phrase(word) for word in words.get("turned-by", ())}
        self._others = {_phrase(name) for name in others}
        self._names = {_phrase(n): ident for ident, food in foods.items() for n in food.names}
        known = [*self._roles, *self._unless, *self._turned, *self._others, *self._names]
        self._longest = max(map(len, known), default=1)

    def told(self, names: Iterable[str]) -> tuple[Told, ...]:
        """What each of an ingredient's ``names`` tells; nothing if any of them says that it isn't
        so."""
        asked = tuple(name for name in names if name.strip())
        if asked not in self._read_before:  # every step asks again what the same food is called
            denied = any(self._denied(name) for name in asked)
            told = () if denied else map(self._told, asked)
            self._read_before[asked] = tuple(one for one in told if one is not None)
        return self._read_before[asked]

    def _denied(self, name: str) -> bool:
        plain = _plain(name)
        if _FREE.search(plain):
            return True
        words = _phrase(plain)
        return any(self._at(words, i, self._unless) for i in range(len(words)))

    def _at(self, words: Phrase, start: int, known: Iterable[Phrase]) -> Phrase | None:
        """The longest known phrase at a place."""
        for size in range(min(self._longest, len(words) - start), 0, -1):
            if words[start : start + size] in known:
                return words[start : start + size]
        return None

    def _told(self, name: str) -> Told | None:
        parts = [_phrase(part) for part in _BREAK.split(_plain(name))]
        parts = [part for part in parts if part]
        if not parts:
            return None
        first, rest = parts[0], parts[1:]
        turned = self._turned_round(first, rest)
        found = turned[:2] if turned else None
        if turned:
            rest = [part for part in rest if part != turned[2]]
        if found is None and any(self._at(p, i, self._turned) for p in rest for i in range(len(p))):
            return None
        food, roles = found or self._read(first) or ("", set())
        if not food:
            return None
        for part in rest:
            for i in range(len(part)):
                phrase = self._at(part, i, self._roles)
                roles |= self._roles[phrase] if phrase else set()
        facts = _facts(self.foods[food], roles)
        roe = any(self._at(part, i, self._roe) for part in parts for i in range(len(part)))
        return Told(name, food, facts, "cut" in roles, "wild" in roles, roe)

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
        if words in self._others:
            return None
        foods: dict[Phrase, str] = {}
        roles: set[str] = set()
        of_an_animal = False
        i = 0
        while i < len(words):
            name, role = self._at(words, i, self._names), self._at(words, i, self._roles)
            if name is not None and len(name) >= len(role or ()):
                foods[name] = self._names[name]
                i += len(name)
            elif role is not None:
                roles |= self._roles[role]
                of_an_animal |= self._roles[role] == {"joints"}
                i += len(role)
            else:
                return None
        for name in [n for n in foods if n in self._roles and len(foods) > 1]:
            if "joints" in self._roles[name]:  # "turkey ham": the ham is a joint of it
                del foods[name]
        kinds = set(foods.values())
        if len(kinds) != 1:
            return None
        food = kinds.pop()
        if of_an_animal and self.foods[food].species is None:
            return None
        return food, roles


def _facts(food: KnownFood, roles: set[str]) -> KnownFacts:
    """The facts of a food once the other words of its name are counted in."""
    kept, heated = "preserved" in roles, "heated" in roles
    raw = "raw" in roles and not kept and not heated
    animal = food.species is not None
    form = food.form
    if form is None and animal and food.species != "egg":
        form = (
            "comminuted"
            if "comminuted" in roles
            else "not-intact"
            if "not-intact" in roles
            else None
        )
    return KnownFacts().model_copy(
        update={
            "species": food.species,
            "state": "raw" if food.state or (raw and (animal or food.may_be_raw)) else None,
            "form": form,
            "allergens": food.allergens,
            "tcs": True if food.tcs and not kept else None,
            "plant": food.plant if not kept and not heated else None,
            "function": food.function,
            "kind": food.kind,
            "boils_hot": food.boils_hot,
            "fat": food.fat,
        }
    )


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


def _plain(text: str) -> str:
    """Small letters without accents, hyphens between letters as spaces."""
    bare = unicodedata.normalize("NFKD", text.casefold().replace("’", "'").replace("œ", "oe"))
    bare = "".join(c for c in bare if not unicodedata.combining(c))
    return re.sub(r"(?<=\w)-(?=\w)", " ", bare)


def _phrase(text: str) -> Phrase:
    """The words of a text in the singular; figures and signs are left out."""
    words = re.findall(r"[a-z']+", re.sub(r"\S*\d\S*", " ", _plain(text)))
    return tuple(one for word in words if (one := _singular(word)))


def _singular(word: str) -> str:
    word = word.removesuffix("'s").removesuffix("s'").strip("'")
    if len(word) < 4 or word.endswith(("ss", "us")):
        return word
    if word.endswith("ies") and len(word) > 4:
        return word[:-3] + "y"
    if word.endswith(("oes", "ches", "shes", "xes")) and len(word) > 4:
        return word[:-2]
    return word.removesuffix("s")

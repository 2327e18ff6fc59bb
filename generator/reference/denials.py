"""What a name says isn't in a food: dairy-free, without nuts, vegan.

Which words are read is a working rule of this manual.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache

OF_ALLERGENS: dict[str, tuple[str, ...]] = {
    "dairy": ("milk",),
    "milk": ("milk",),
    "egg": ("eggs",),
    "gluten": ("gluten", "wheat"),
    "wheat": ("wheat",),
    "nut": ("tree nuts", "nuts", "peanuts"),
    "tree nut": ("tree nuts", "nuts"),
    "peanut": ("peanuts",),
    "soy": ("soybeans",),
    "soya": ("soybeans",),
    "fish": ("fish",),
    "shellfish": ("crustacean shellfish", "crustaceans", "molluscs"),
    "crustacean": ("crustacean shellfish", "crustaceans"),
    "mollusc": ("molluscs",),
    "sesame": ("sesame",),
    "mustard": ("mustard",),
    "celery": ("celery",),
    "lupin": ("lupin",),
    "sulphite": ("sulphites",),
    "sulfite": ("sulphites",),
}
"""Which words of the lists of allergens a word of a name denies."""
_ABROAD = {
    **dict.fromkeys(("latte", "lait", "leche", "milch", "lácteos", "latticini"), "dairy"),
    **dict.fromkeys(("uovo", "uova", "huevo", "huevos", "oeufs", "œufs", "ei", "eier"), "egg"),
    **dict.fromkeys(("glutine", "gluten"), "gluten"),
    **dict.fromkeys(("noci", "noix", "nueces", "nüsse"), "nut"),
}
"""The same words in Italian, French, Spanish and German, behind the word for without."""
ANY = "allergen"
VEGAN, VEGETARIAN = "vegan", "vegetarian"
OF_ANIMALS = ("milk", "eggs", "fish", "crustacean shellfish", "crustaceans", "molluscs")
"""The allergens that nothing vegan holds."""
_FLESH = ("fish", "crustacean shellfish", "crustaceans", "molluscs")
_WORDS = "|".join(sorted((*OF_ALLERGENS, ANY), key=len, reverse=True))
_ONE = rf"(?:{_WORDS})s?"
_MORE = rf"{_ONE}(?:(?:\s*[,/&+]\s*|\s+(?:and|or|nor)\s+){_ONE})*"
_NOT = r"(?<!\bnot )(?<!\bnever )"
_DENIES = (
    re.compile(rf"{_NOT}\b({_MORE})[\s-]?free\b(?![\s-]*(?:range|run))", re.IGNORECASE),
    re.compile(rf"{_NOT}\b(?:free (?:from|of)|without|no|non)[\s-]+({_MORE})\b", re.IGNORECASE),
    re.compile(rf"{_NOT}\b({_ONE})less\b", re.IGNORECASE),
)
_DENIES_ABROAD = re.compile(rf"\b(?:senza|sans|sin|ohne)\s+({'|'.join(_ABROAD)})\b", re.IGNORECASE)
_SINGLE = re.compile(rf"\b({_WORDS})s?\b", re.IGNORECASE)
_DIET = re.compile(
    rf"{_NOT}(?<!\bnon[ -])\b(vegan[aeo]?|plant[ -]based|vegetari(?:an[ao]?|sch))\b", re.IGNORECASE
)
_MEATLESS = re.compile(r"\b(?:veggie|meatless)\b", re.IGNORECASE)
_FREE_OF_KIND = re.compile(r"\b(\w+?)s?[\s-]free\b(?![\s-]*(?:range|run))", re.IGNORECASE)


@dataclass(frozen=True)
class Denial:
    """What a name says in so many words isn't in it: ``word`` is one of OF_ALLERGENS, ANY, VEGAN or
    VEGETARIAN."""

    said: str
    word: str


def denials(name: str) -> Iterator[Denial]:
    """All that a name says isn't in it, in the order of the ways to say so."""
    for pattern in _DENIES:
        for match in pattern.finditer(name):
            for word in _SINGLE.findall(match[1]):
                yield Denial(match[0].strip(), word.casefold())
    for match in _DENIES_ABROAD.finditer(name):
        yield Denial(match[0], _ABROAD[match[1].casefold()])
    for match in _DIET.finditer(name):
        diet = VEGETARIAN if match[1].casefold().startswith("vegeta") else VEGAN
        yield Denial(match[0], diet)


def without_denials(name: str) -> str:
    """A name without the words that say what isn't in it: "milk chocolate" of "Nut-free milk
    chocolate", "milk" of "Fat-free milk"."""
    for denial in denials(name):
        name = name.replace(denial.said, " ")
    return _FREE_OF_KIND.sub(" ", _MEATLESS.sub(" ", name))


@dataclass(frozen=True)
class Freed:
    """What some names together say isn't in a food: ``words`` of the lists of allergens, ``kinds``
    of one ("barley"), an animal's ``flesh``, all of ``animals``, or ``everything``."""

    words: frozenset[str] = frozenset()
    kinds: frozenset[str] = frozenset()
    flesh: bool = False
    animals: bool = False
    everything: bool = False

    def left_of(self, allergens: Iterable[str]) -> tuple[str, ...]:
        """Those of ``allergens``, written as on a list, "gluten (rye)", that aren't denied."""
        return tuple(text for text in allergens if not self._denies(text))

    def _denies(self, text: str) -> bool:
        word, _, kind = text.rstrip(")").partition(" (")
        return word in self.words or bool(kind and (kind in self.words or kind in self.kinds))

    def species(self, species: str | None) -> bool:
        """Whether food of a species is denied."""
        if species == "egg":
            return self.animals or "eggs" in self.words
        return self.flesh and species not in (None, "none")

    @property
    def of_an_animal(self) -> bool:
        """Whether anything of an animal is denied."""
        return self.everything or self.flesh or bool(self.words & set(OF_ANIMALS))


def freed_by(names: Iterable[str]) -> Freed:
    """What some names of one food say isn't in it."""
    return _freed_by(tuple(names))


@lru_cache(4096)
def _freed_by(asked: tuple[str, ...]) -> Freed:
    """The reading itself: several checks ask for the names of one food."""
    said = {denial.word for name in asked for denial in denials(name)}
    flesh = bool(said & {VEGAN, VEGETARIAN}) or any(map(_MEATLESS.search, asked))
    words = {a for word in said for a in OF_ALLERGENS.get(word, ())}
    words |= set(_FLESH) if flesh else set()
    words |= set(OF_ANIMALS) if VEGAN in said else set()
    kinds = {m[1].casefold() for name in asked for m in _FREE_OF_KIND.finditer(name)}
    return Freed(frozenset(words), frozenset(kinds), flesh, VEGAN in said, ANY in said)

"""What is typed behind the options of `design`, read by a kitchen: each refusal names its option,
and every line it proposes is one that the same reader takes."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from fractions import Fraction
from typing import Any, TypeVar

from generator.files.finding import Refused
from generator.measures.between import NOTHING
from generator.measures.marks import as_written
from generator.measures.words import plain
from generator.records.ingredient import Ingredient
from generator.sheet.design_doses import Curing, Meats, Seasoning, Way
from generator.sheet.design_foods import (
    DesignFood,
    food_and_amount,
    food_and_share,
    food_of,
    grams,
    share,
)
from generator.sheet.manual import Manual

_T = TypeVar("_T")
_MILLION = 1_000_000
_CREAM = "cream: fat 40 %, msnf 5.4 %"
_EXAMPLES = {
    "accelerator": "erythorbate: erythorbate 100 %",
    "acid": "1%",
    "add": _CREAM,
    "cure": "cure: nitrite 6.25 %, salt 93.75 %",
    "drips": "3%",
    "erythorbate": "550ppm",
    "fat": "25%",
    "from": _CREAM,
    "liquid": "3kg",
    "loses": "9%",
    "msnf": "10%",
    "nitrite": "150ppm",
    "pump": "12%",
    "salt": "2%",
    "solids": "36%",
    "spare": "10%",
    "sugar": "1%",
    "total": "10kg",
    "vinegar": "vinegar: acid 5 %",
}
"""What is proposed for an option where nothing nearer to what was typed can be."""
_NONE_OF_IT = ("pump", "nitrite", "erythorbate")
"""Options of which there is some."""
_MAY_BE_OUT = ("nitrite", "erythorbate")
_ALL_OF_IT = ("drips", "loses", "pump")
"""Options that can't be all of it."""


def option_of(key: str) -> str:
    """An option as it is typed."""
    return f"--{key.replace('_', '-')}"


def _quoted(text: str) -> str:
    return f'"{text}"' if re.search(r"[\s;]", text) else text


class Asked:
    """What was typed, read by a kitchen's units, ingredients and scales. Each reader raises
    Refused."""

    def __init__(self, manual: Manual, given: dict[str, Any]) -> None:
        self.house = manual.house
        self.kitchen: Mapping[str, Ingredient] = manual.standards.ingredients
        self.given = given
        self.station = self._station(given["station"])

    def _station(self, ident: str | None) -> str:
        known = list(self.house.stations)
        if ident is None:
            return known[0] if known else ""
        if ident not in known:
            raise Refused(
                "station-unknown", f"There is no station {ident}.", f"Known: {', '.join(known)}."
            )
        return ident

    def _read(self, key: str, text: str, reader: Callable[[str], _T], also: str = "") -> _T:
        """What is typed behind an option. A refusal proposes the first of its own fixes, of the
        figure with the option's unit (``also``) and of the option's example that can be read."""
        try:
            return reader(text)
        except Refused as no:
            help = no.help
            if no.code == "amount-zero":
                help = f"Write how much{', or leave it out' * (key in _MAY_BE_OUT)}."
            write = [
                f"{option_of(key)} {_quoted(one)}" for one in _fixes(key, text, no, reader, also)
            ]
            raise Refused(no.code, f"{option_of(key)}: {no.message}", help, write) from None

    def food(self, key: str, text: str | None = None, cure: bool = False) -> DesignFood:
        """The food of an option."""
        typed = self.given[key] if text is None else text

        def read(one: str) -> DesignFood:
            return food_of(one, self.house, self.kitchen, cure=cure)

        return self._read(key, typed, read)

    def foods(self, key: str) -> list[DesignFood]:
        """Every food of an option that may be repeated."""
        if not self.given[key]:
            raise Refused("design-food", "Made of what?", f"Give {option_of(key)}.")
        return [self.food(key, text) for text in self.given[key]]

    def amounts(self, key: str) -> Meats:
        """Foods with their grams, in the order they are first named; of one that is named again the
        grams are added up."""
        if not self.given[key]:
            raise Refused("design-food", "Which food, and how much?", f"Give {option_of(key)}.")
        found: dict[str, tuple[DesignFood, Fraction]] = {}
        for text in self.given[key]:
            food, more = self.amount(key, text)
            before, so_far = found.get(food.id, (food, Fraction(0)))
            if before != food:
                raise Refused(
                    "design-twice",
                    f"{option_of(key)}: {food.id} is named twice, with other figures each time.",
                    "Give the second another name.",
                    [f'{option_of(key)} "{_renamed(text, food.id)}"'],
                )
            found[food.id] = food, so_far + more
        return list(found.values())

    def amount(self, key: str, text: str) -> tuple[DesignFood, Fraction]:
        """A food and its grams."""
        return self._read(key, text, lambda one: food_and_amount(one, self.house, self.kitchen))

    def fixed(self, key: str) -> list[tuple[DesignFood, Fraction]]:
        """Foods with their shares."""

        def read(one: str) -> tuple[DesignFood, Fraction]:
            return food_and_share(one, self.house, self.kitchen)

        return [self._read(key, text, read) for text in self.given[key]]

    def meats(self) -> Meats:
        return self.amounts("meat")

    def share(self, key: str) -> Fraction:
        """The share of an option; none where it isn't given."""
        text = self.given[key]
        if text is None:
            return Fraction(0)

        def read(one: str) -> Fraction:
            found = share(one, self.house.units)
            if key in _ALL_OF_IT and found >= 1:
                raise Refused("share-out-of-range", f"`{one}`: that would be all of it.", "")
            if key in _NONE_OF_IT and not found:
                raise Refused("amount-zero", f"`{one}` is zero.", "")
            return found

        return self._read(key, text, read, "%")

    def needed(self, key: str) -> Fraction:
        """The share of an option that can't be left out."""
        self._given(key)
        return self.share(key)

    def weight(self, key: str) -> Fraction:
        """The grams of an option that can't be left out."""
        self._given(key)
        return self._read(key, self.given[key], lambda one: grams(one, self.house.units), "g")

    def _given(self, key: str) -> None:
        if self.given[key] is None:
            option = option_of(key)
            write = [f"{option} {_EXAMPLES[key]}"]
            raise Refused("design-missing", f"{option} is missing.", "", write)

    def ppm(self, key: str) -> Fraction | None:
        """The parts per million of an option; None where it isn't given."""
        text = self.given.get(key)
        if text is None:
            return None

        def read(one: str) -> Fraction:
            found = share(one, self.house.units)
            if not found:
                raise Refused("amount-zero", f"`{one}` is zero.", "")
            return found

        return self._read(key, text, read, "ppm") * _MILLION

    def seasoning(self) -> Seasoning:
        """The salt and the sugar wanted, and what they and the water are."""
        only = [i for i, one in self.kitchen.items() if one.function == "salt"]
        salt = only[0] if len(only) == 1 else "salt"
        return Seasoning(
            self.food("salt_from", self.given["salt_from"] or salt),
            self.food("sugar_from", self.given["sugar_from"] or "sugar"),
            self.food("water_from", self.given["water_from"] or "water"),
            self.needed("salt"),
            self.share("sugar"),
        )

    def curing(self, way: Way) -> Curing | None:
        """The cure with its dose and its accelerator; None without one."""
        if self.given["cure"] is None:
            for key, words in (
                ("nitrite", "Nitrite from which cure?"),
                ("accelerator", "An accelerator of which cure?"),
                ("erythorbate", "An accelerator of which cure?"),
            ):
                if self.given.get(key) is not None:
                    help = f"Give --cure, or leave {option_of(key)} out."
                    raise Refused("design-cure", words, help)
            return None
        return Curing(self.food("cure", cure=True), self.ppm("nitrite"), way, *self._accelerator())

    def _accelerator(self) -> tuple[DesignFood | None, Fraction | None]:
        dose = self.ppm("erythorbate")
        if self.given.get("accelerator") is None:
            if dose is not None:
                raise Refused(
                    "design-food",
                    "Which accelerator is the --erythorbate of?",
                    "",
                    ['--accelerator "erythorbate: erythorbate 100 %"'],
                )
            return None, None
        food = self.food("accelerator")
        if not food.shares.get("erythorbate", NOTHING).high:
            raise Refused(
                "design-figure",
                f"--accelerator: {food.name}: how much of it is erythorbate or ascorbate?",
                "Type it as its label says.",
                [f'--accelerator "{food.id}: erythorbate {plain(Fraction(100))} %"'],
            )
        return food, dose


def _fixes(
    key: str, text: str, no: Refused, reader: Callable[[str], object], also: str
) -> list[str]:
    """What to type in place of ``text``: all that is proposed is read."""
    bare = bool(also) and text.strip()[-1:].isdigit()
    tried = [f"{text.strip()}{also}"] if bare else [one.strip('"') for one in no.write]
    fixes = [one for one in tried if _reads(reader, one)]
    example = as_written(_EXAMPLES.get(key, ""))
    return fixes or ([example] if example else [])


def _reads(reader: Callable[[str], object], text: str) -> bool:
    """Whether a reader takes what is proposed."""
    try:
        reader(text)
    except Refused:
        return False
    return True


def _renamed(text: str, ident: str) -> str:
    """A food under a second name."""
    return text.strip().replace(ident, f"{ident}-2", 1)

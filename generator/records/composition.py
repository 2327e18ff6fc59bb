"""What food is made of, as a table, a label or a laboratory says it: shares of its weight, each a
figure or a range.

Carbohydrate is by difference, with its fibre, as FAO (Food and Nutrition Paper 77, 2003) and USDA
print it; a label of the European Union prints it without. What isn't stated isn't nothing: what it
may be is worked out in :mod:`generator.composition`.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Annotated, Any, Literal

from pydantic import Field, PlainValidator, ValidationInfo, WithJsonSchema

from generator.files.finding import Refused, clipped
from generator.measures.between import Between
from generator.measures.words import listed, plain
from generator.records.fields import Words, refusal, text_of
from generator.records.per_weight import InHundredGrams
from generator.records.record import Record
from generator.records.shares import read_constituent

_RANGE = re.compile(r"(?P<low>[^%]+?)\s*%?\s*(?:\bto\b|–|-)\s*(?P<high>[^%]+%)")
ROUNDING = Fraction(3, 200)
"""How far parts may pass the whole: each is analysed and rounded on its own. The foodstuffs of the
reference data come to 101.39 % at most."""
SALT_OF_SODIUM = Fraction(5, 2)
"""Salt for sodium: Regulation (EU) No 1169/2011, Annex I point 11, salt = sodium × 2.5."""

MAIN = ("water", "protein", "fat", "carbohydrate", "ash", "alcohol")
"""What food is made of, without overlap. Sugar and fibre are in the carbohydrate, salt in the
ash; acids are in the carbohydrate of a table by difference, and beside it on a label."""


def _bounds(value: Any, info: ValidationInfo) -> Between:
    text = " ".join(text_of(value).split())
    found = _RANGE.fullmatch(text)
    if found is None:
        return Between.just(read_constituent(value, info))
    low = read_constituent(f"{found['low'].strip()} %", info)
    high = read_constituent(found["high"].strip(), info)
    if low > high:
        raise refusal(
            Refused(
                "range-upside-down",
                f"`{clipped(text)}`: the lower figure comes first.",
                "As in 12 to 14 %.",
            )
        )
    return Between(low, high)


Constituent = Annotated[
    Between,
    PlainValidator(_bounds),
    WithJsonSchema(
        {
            "type": "string",
            "form": "A percentage from 0 to 100 %, or a range.",
            "examples": ["20 %", "0 %", "12 to 14 %"],
            "pattern": "%",
        }
    ),
]


class Acids(Record):
    """Acids by their kind, in percent of the weight."""

    acetic: Constituent | None = Field(None, description="Acetic acid, as in vinegar.")
    citric: Constituent | None = Field(None, description="Citric acid, as in lemon juice.")
    lactic: Constituent | None = Field(None, description="Lactic acid, as in what has soured.")
    malic: Constituent | None = Field(None, description="Malic acid, as in apples.")
    tartaric: Constituent | None = Field(None, description="Tartaric acid, as in wine.")

    @property
    def kinds(self) -> tuple[str, ...]:
        """Those that are stated."""
        return tuple(name for name in type(self).model_fields if getattr(self, name) is not None)

    @property
    def total(self) -> Between:
        """All of them together."""
        return sum((getattr(self, name) for name in self.kinds), Between.just(0))


class Shares(Record):
    """What a food is made of, in percent of its weight."""

    water: Constituent | None = Field(None, description="Water.", examples=["76 %"])
    protein: Constituent | None = Field(None, description="Protein.", examples=["11 to 13 %"])
    fat: Constituent | None = Field(None, description="Fat.")
    carbohydrate: Constituent | None = Field(
        None,
        description="Carbohydrate, its fibre included. A label of the EU prints it without: add "
        "the two.",
    )
    sugar: Constituent | None = Field(
        None, description="Sugars of all kinds, part of the carbohydrate."
    )
    fibre: Constituent | None = Field(None, description="Dietary fibre, part of the carbohydrate.")
    ash: Constituent | None = Field(None, description="Ash: minerals, salt among them.")
    salt: Constituent | None = Field(
        None, description="Salt. Of an ingredient it may also be under the key `salt` beside this."
    )
    sodium: Constituent | None = Field(
        None,
        description="Sodium, where a table prints it and not salt. It counts as 2.5 times as much "
        "salt.",
        examples=["0.04 %"],
    )
    acid: Acids | None = Field(None, description="Acids by their kind.", examples=["{acetic: 5 %}"])
    alcohol: Constituent | None = Field(
        None,
        description="Alcohol by weight. A label prints it by volume, which is more: 12 % vol is "
        "about 9.5 % by weight.",
    )
    milk_solids: Constituent | None = Field(
        None,
        description="What is left of milk without its water. Not stated: nothing, if the "
        "ingredient doesn't declare milk.",
    )
    saturated: Constituent | None = Field(
        None, description="Saturated fatty acids, part of the fat."
    )
    trans: Constituent | None = Field(None, description="Trans fatty acids, part of the fat.")
    added_sugar: Constituent | None = Field(
        None,
        description="Sugars added to it, part of the sugar: sugar, syrup, honey. Not those of "
        "milk, fruit and vegetables. Not stated: what its foodstuff says.",
    )
    cholesterol: InHundredGrams | None = Field(
        None, description="Cholesterol in 100 g.", examples=["215 mg"]
    )
    vitamin_d: InHundredGrams | None = Field(
        None, description="Vitamin D in 100 g.", examples=["1.7 µg"]
    )
    calcium: InHundredGrams | None = Field(
        None, description="Calcium in 100 g.", examples=["24 mg"]
    )
    iron: InHundredGrams | None = Field(None, description="Iron in 100 g.", examples=["1.8 mg"])
    potassium: InHundredGrams | None = Field(
        None, description="Potassium in 100 g.", examples=["240 mg"]
    )

    def stated(self, name: str) -> Between | None:
        """What is stated of a constituent by its name here; None if nothing is."""
        if name == "acid":
            return self.acid.total if self.acid is not None else None
        found: Between | None = getattr(self, name)
        return found

    @property
    def any_stated(self) -> bool:
        """Whether anything is."""
        return any(self.stated(name) is not None for name in (*CONSTITUENTS, *NUTRIENTS))

    def problems(self) -> list[tuple[Literal["over", "part"], str, str]]:
        """What can't be so: parts over the whole of the food, or over what they are part of. Each
        with the key it is about, and in words."""
        found: list[tuple[Literal["over", "part"], str, str]] = []
        main = [(n, s) for n in (*MAIN, "acid") if (s := self.stated(n)) is not None]
        counted = sum((s.low for n, s in main if n != "acid"), Fraction(0))
        if counted > 1 + ROUNDING:
            names = ", ".join(n for n, _ in main if n != "acid")
            found.append(("over", main[0][0], f"{names} come to more than 100 % together"))
        for parts, whole in _PARTS:
            problem = self._over(parts, whole)
            if problem:
                key = next(n for n in parts if self.stated(n) is not None)
                found.append(("part", key, problem))
        found += self._two_salts()
        found += self._beside_water()
        return found

    def _over(self, names: tuple[str, ...], whole: str) -> str:
        """In words, that some parts are more than what they are part of; "" if they aren't."""
        most = self.stated(whole)
        parts = [(n, s) for n in names if (s := self.stated(n)) is not None]
        if most is None or sum((s.low for _, s in parts), Fraction(0)) <= most.high + ROUNDING:
            return ""
        names_of = listed([_CALLED.get(n, n) for n, _ in parts])
        counts = {1: "it", 2: "both"}.get(len(parts), "them all")
        return f"more {names_of} than {whole}, which counts {counts}"

    def _two_salts(self) -> list[tuple[Literal["over", "part"], str, str]]:
        """That salt and sodium are both stated, and not the same."""
        if self.salt is None or self.sodium is None:
            return []
        equivalent = self.sodium.times(SALT_OF_SODIUM)
        apart = max(equivalent.low - self.salt.high, self.salt.low - equivalent.high)
        if apart <= ROUNDING / 10:
            return []
        words = plain(equivalent.low * 100, 3)
        return [("part", "sodium", f"the sodium is {words} % of salt, and `salt` says otherwise")]

    def _beside_water(self) -> list[tuple[Literal["over", "part"], str, str]]:
        """What can't be there beside the water: acid, milk solids."""
        water = self.stated("water")
        return [
            ("over", name, f"{name.replace('_', ' ')} and water come to more than 100 %")
            for name in ("acid", "milk_solids", "sugar", "salt")
            if water is not None
            and (part := self.stated(name)) is not None
            and water.low + part.low > 1 + ROUNDING
        ]


_PARTS: tuple[tuple[tuple[str, ...], str], ...] = (
    (("sugar", "fibre"), "carbohydrate"),
    (("saturated", "trans"), "fat"),
    (("added_sugar",), "sugar"),
    (("sodium", "calcium", "iron", "potassium"), "ash"),
)
"""What is part of what."""
_CALLED = {"saturated": "saturated fat", "trans": "trans fat", "added_sugar": "added sugar"}
CONSTITUENTS = (*MAIN, "sugar", "fibre", "salt", "sodium", "acid", "milk_solids")
"""What may be stated of a food."""
NUTRIENTS = (
    "saturated",
    "trans",
    "added_sugar",
    "cholesterol",
    "vitamin_d",
    "calcium",
    "iron",
    "potassium",
)
"""What only a label asks for: part of the fat, the sugar, the ash, or hardly any weight."""


class Composition(Shares):
    """What it is made of, in percent of its weight, with the source."""

    source: Words = Field(
        description="The table, label or laboratory the figures come from.",
        examples=["weighed here 2026-10-05", "label of the tub"],
    )

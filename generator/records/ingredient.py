"""Ingredients: facts only. Which row of law follows from them is computed."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, PlainValidator

from generator.finding import Refused
from generator.records.fields import (
    ONE_OR_MANY,
    Id,
    Mass,
    Share,
    WordList,
    Words,
    YesNo,
    clipped,
    refusal,
    text_of,
)
from generator.records.record import Record
from generator.source_text import Mapping

State = Literal["raw", "pasteurised", "ready-to-eat"]
Form = Literal["intact", "tenderised", "injected", "comminuted", "liquid", "dry"]
Function = Literal["salt", "cure", "gelling-agent"]


@dataclass(frozen=True)
class Allergen:
    """An allergen as declared: its word, and the kind of fish or nut where one is named."""

    word: str
    kind: str = ""

    def __str__(self) -> str:
        return f"{self.word} ({self.kind})" if self.kind else self.word


_ALLERGEN = re.compile(r"([a-z][a-z -]*?)\s*(?:\(([^()]{1,40})\))?")


def _allergens(value: Any) -> tuple[Allergen, ...]:
    items = [value] if isinstance(value, str) else value
    if not isinstance(items, list):
        raise refusal(
            Refused(
                "allergens-form",
                "Allergens are a list, or the word none.",
                "As in allergens: [milk, eggs].",
            )
        )
    found: list[Allergen] = []
    for item in items:
        word = " ".join(text_of(item).lower().split())
        if word == "none":
            if len(items) > 1:
                raise refusal(
                    Refused("allergens-form", "`none` stands alone.", "Delete it or the others.")
                )
            return ()
        match = _ALLERGEN.fullmatch(word) if len(word) <= 60 else None
        if match is None and isinstance(value, str) and "," in word:
            raise refusal(
                Refused(
                    "allergens-form",
                    "Several allergens stand in square brackets.",
                    "",
                    [f"allergens: [{' '.join(word.split())}]"],
                )
            )
        if match is None:
            raise refusal(
                Refused(
                    "allergens-form",
                    f"`{clipped(item)}` is not an allergen's name.",
                    "A name is a word or two, its kind in brackets, as in tree nuts (almond).",
                )
            )
        found.append(Allergen(match[1].replace("-", " "), match[2] or ""))
    return tuple(found)


class Composition(Record):
    """What it is made of, in percent of its weight, with the source."""

    water: Share
    protein: Share
    fat: Share
    carbohydrate: Share | None = None
    ash: Share | None = None
    source: Words


def _weighs(value: Any) -> Any:
    if not isinstance(value, Mapping):
        raise refusal(
            Refused(
                "weighs-form",
                "Unit weights are a group of measures.",
                "As in weighs: {each: 110 g, cup: 125 g}.",
            )
        )
    return value


class Ingredient(Record):
    """One ingredient in standards/ingredients/<shelf>.yaml, under its id."""

    name: Words = Field(description="The name the crew reads.")
    species: Id | None = Field(
        None, description="The animal it comes from, or none. Not stated: counted as the strictest."
    )
    state: State | None = Field(
        None, description="Raw, pasteurised or ready to eat as it arrives. Not stated: raw."
    )
    form: Form | None = Field(
        None,
        description="For meat and fish: intact, tenderised, injected, comminuted; a liquid; dry.",
    )
    allergens: Annotated[tuple[Allergen, ...], PlainValidator(_allergens), ONE_OR_MANY] = Field(
        description="none, or a list; the kind of fish, nut or cereal stands in brackets."
    )
    tcs: YesNo = Field(
        True, description="Does it need time and temperature control for safety as it arrives?"
    )
    function: Function | None = Field(
        None, description="Salt, cure or gelling agent: weighed to 0.5 %."
    )
    organ: Literal["liver", "kidney", "heart", "tongue", "other"] | None = Field(
        None, description="For offal: which organ."
    )
    nitrite: Share | None = Field(
        None,
        description="For a cure: its strength, sodium nitrite in percent. There is no default.",
    )
    foodstuff: Id | None = Field(
        None, description="An entry of shared/foodstuffs.yaml that gives measured unit weights."
    )
    weighs: Annotated[dict[str, Mass] | None, BeforeValidator(_weighs)] = Field(
        None, description="What one piece or measure weighs: each, clove, cup, cup packed, ml."
    )
    source: Words = Field("", description="Where the unit weights come from.")
    composition: Composition | None = Field(None, description="Composition, for later use.")
    trim: Share | None = Field(None, description="Trim loss from as purchased to ready to use.")
    also: WordList = Field((), description="Other names people search for.")
    note: Words = Field("", description="Anything the crew should know.")

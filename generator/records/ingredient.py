"""Ingredients: facts only. Which row of law follows from them is computed."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Annotated, Any, ClassVar, Literal

from pydantic import BeforeValidator, Field, PlainValidator, ValidationInfo

from generator.files.finding import Refused, clipped
from generator.files.source_text import Mapping
from generator.measures.amounts import Amount
from generator.records.composition import Composition
from generator.records.fields import (
    Id,
    Mass,
    Share,
    Told,
    WordList,
    Words,
    YesNo,
    measure_or_count,
    one_or_many,
    refusal,
    text_of,
)
from generator.records.named import Paper, Said
from generator.records.record import Record
from generator.records.shares import Strength
from generator.records.yields import StepYield, TrimTest, measured

State = Literal["raw", "pasteurised", "ready-to-eat"]
Form = Literal["intact", "tenderised", "injected", "comminuted", "liquid", "dry"]
Arrival = Literal["cold", "frozen", "hot", "ambient"]
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
                    Refused("allergens-form", "Write `none` alone.", "Delete it or the others.")
                )
            return ()
        match = _ALLERGEN.fullmatch(word) if len(word) <= 60 else None
        if match is None and isinstance(value, str) and "," in word:
            raise refusal(
                Refused(
                    "allergens-form",
                    "Put several allergens in square brackets.",
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


_ALLERGENS_SCHEMA = one_or_many(
    "One or a list. There is no default.",
    {"type": "string", "maxLength": 60},
    "none",
    "milk",
    "[milk, wheat]",
    "fish (cod)",
    "tree nuts (almond)",
)


class Parasites(Record):
    """Why raw fish may be served without freezing it here, and the paper that says so."""

    freed_by: Literal["supplier-freezing", "tuna", "farmed", "molluscan-shellfish", "roe"] = Field(
        description="Frozen by the supplier, or a kind the code lists as needing no freezing."
    )
    record: Paper = Field(description="The supplier's letter or invoice on file.")


Doubted = Literal["species", "state", "form", "allergens", "tcs", "plant", "function", "parasites"]
"""The facts a name or a foodstuff may speak against."""


class Confirmation(Record):
    """Why a fact is so, though the ingredient's name or its foodstuff says otherwise."""

    reason: Said = Field(
        min_length=1,
        description="Why it is so, in a sentence. It prints beside the fact.",
        examples=["Dried until its water activity is 0.80."],
    )
    document: Paper = Field(
        min_length=1,
        description="The paper on file that says so.",
        examples=["Laboratory report 26-114"],
    )


class UnitMass(Record):
    """What one piece or one measure weighs, and how far pieces differ."""

    short: ClassVar[str] = "mean"
    mean: Mass = Field(
        description="What one weighs, the mean of those weighed. You may write only this after "
        "the colon.",
        examples=["280 g"],
    )
    from_: Mass | None = Field(
        None,
        alias="from",
        description="What the lightest of them weighs. Of pieces only.",
        examples=["250 g"],
    )
    to: Mass | None = Field(
        None, description="What the heaviest of them weighs. Of pieces only.", examples=["320 g"]
    )

    @property
    def value(self) -> Fraction:
        """The mean, in grams."""
        return self.mean.value

    @property
    def text(self) -> str:
        """The mean as typed."""
        return self.mean.text


NOT_BOUGHT = "none"
"""The word for packs of what comes out of the tap, or grows in the yard."""
MOST_PACKS = 8
"""More sizes of one thing than any supplier's list has."""


def _packs(value: Any, info: ValidationInfo) -> tuple[Amount, ...] | str:
    items = [value] if isinstance(value, str) else value
    if isinstance(value, str) and value.strip().lower() == NOT_BOUGHT:
        return NOT_BOUGHT
    if not isinstance(items, list) or not items or len(items) > MOST_PACKS:
        raise refusal(
            Refused(
                "packs-form",
                f"Packs are a size, a list of up to {MOST_PACKS} sizes, or the word none.",
                "As in packs: [25 kg, 5 kg].",
            )
        )
    found: list[Amount] = []
    for item in items:
        amount = measure_or_count(item, info)
        if amount.value <= 0:
            raise refusal(Refused("amount-zero", f"`{clipped(item)}` is an empty pack.", ""))
        found.append(amount)
    return tuple(found)


_SIZE_OF_A_PACK = {"type": "string", "pattern": "[A-Za-z]"}
Packs = Annotated[
    tuple[Amount, ...] | Literal["none"],
    PlainValidator(_packs),
    one_or_many(
        "A size, or a list: a weight, a volume or a count.",
        _SIZE_OF_A_PACK,
        "25 kg",
        "[25 kg, 5 kg]",
        "5 l",
        "30 each",
        NOT_BOUGHT,
    ),
]


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

    name: Told = Field(description="The name the crew reads.", examples=["Lamb shoulder, boneless"])
    species: Id | None = Field(
        None,
        description="The animal it comes from, or none for plants, milk, salt and water. Not "
        "stated: the foodstuff's. Without one it counts as poultry, with a warning.",
        examples=["lamb", "none"],
    )
    state: State | None = Field(
        None,
        description="What it is as it arrives. Not stated: the foodstuff's for dry food that "
        "needs no cold. If not, raw, and dated as if it were ready to eat.",
    )
    form: Form | None = Field(
        None,
        description="What it is as it arrives. Meat and fish not stated to be intact count as "
        "comminuted. "
        "Ounces of a liquid must be made clear.",
    )
    allergens: Annotated[tuple[Allergen, ...], PlainValidator(_allergens), _ALLERGENS_SCHEMA] = (
        Field(description="none, or a list. Put the kind of fish, nut or cereal in brackets.")
    )
    tcs: YesNo = Field(
        True,
        description="Does it need time and temperature control for safety as it arrives? Write "
        "no for salt, spices, raw vegetables, flour. Not stated: yes, unless its "
        "foodstuff needs none.",
    )
    arrives: Arrival | None = Field(
        None,
        description="How it comes in: cold, frozen, hot, or ambient (not cooled). Not "
        "stated: cold.",
    )
    commercially_packed: YesNo = Field(
        False,
        description="Ready to eat, made and packed by a food processing plant under "
        "inspection, and in the plant's pack until it is used here? Not stated: no.",
    )
    own_law: Paper = Field(
        "",
        description="The law of its trade that sets the temperature it comes in at, as for milk "
        "and shellfish. The figure is in that law.",
        examples=["Grade A Pasteurized Milk Ordinance"],
    )
    approved_source: Paper = Field(
        "",
        description="For food that is safe of some sources alone, as wild mushrooms, ackee and "
        "puffer fish: the paper on file that says who identified, tested or inspected it.",
        examples=["Approval 2026-31, Ridge Mushrooms, each lot identified"],
    )
    sealed: YesNo = Field(
        False,
        description="Does it come hermetically sealed and ready to eat, as a can or a jar, and "
        "need no cold until it is opened? After opening it needs the cold. Its "
        "`arrives` is ambient.",
    )
    without_air: YesNo | None = Field(
        None,
        description="Does it come packed without air, such as vacuum? If it is fish and arrives "
        "frozen, take it out of its pack before it thaws. Not stated: fish that "
        "arrives frozen counts as packed without air.",
    )
    whole_muscle: Paper = Field(
        "",
        description="For a beef steak served pink without the advisory: the label or paper that "
        "says it is whole-muscle, intact beef, or is cut here from such beef. Its "
        "step's target is `surface`.",
        examples=["Label of the pack, Dunmore Packing Co."],
    )
    cured_roast: YesNo = Field(
        False,
        description="Does it come as a whole, raw, cured roast of beef or pork, as corned beef "
        "or ham? Injected, it is one by the roast chart all the same. Not stated: no.",
    )
    function: Function | None = Field(
        None,
        description="What it does. All three are weighed to 0.5 % instead of 1 %. Write cures "
        "and gelling agents in grams or percent only.",
    )
    organ: Literal["liver", "kidney", "heart", "tongue", "other"] | None = Field(
        None, description="For offal, which organ. Cautions need it."
    )
    plant: (
        Literal["leafy-greens", "tomato", "melon", "sprouts", "garlic", "oil", "other"] | None
    ) = Field(
        None,
        description="For plant food, which kind, where cutting it or mixing it with oil makes "
        "it need the cold. Not stated: a word of its names decides. `other` means none of them.",
    )
    parasites: Parasites | None = Field(
        None, description="For fish served raw: what frees it of parasites, and the record of it."
    )
    nitrite: Strength | None = Field(
        None,
        description="For a cure, its strength: nitrite in percent, as on its label. There is no "
        "default.",
        examples=["6.25 %"],
    )
    nitrite_from: Literal["sodium-nitrite", "potassium-nitrite", "vegetable"] = Field(
        "sodium-nitrite",
        description="Which salt the label names. vegetable is celery and the like, called "
        "natural. It can't be dosed.",
    )
    nitrate: Strength | None = Field(
        None,
        description="For a cure, its nitrate in percent, as on its label, if it has any.",
        examples=["4 %"],
    )
    erythorbate: Strength | None = Field(
        None,
        description="For a cure accelerator: sodium erythorbate or sodium ascorbate in "
        "percent. Pumped bacon needs it.",
        examples=["100 %"],
    )
    phosphate: Strength | None = Field(
        None,
        description="For a phosphate, or a blend with one, how much of it is phosphate, as on its "
        "label. Meat may have so much of it and no more.",
        examples=["100 %"],
    )
    salt: Strength | None = Field(
        None,
        description="Common salt in percent of its weight: of a cure, a sauce, a salted food. "
        "`function: salt` alone counts as 100 %.",
        examples=["93.75 %"],
    )
    skin: Literal["left-on", "taken-off"] | None = Field(
        None,
        description="For a belly cured as bacon. Not stated: left on, which leaves less meat "
        "to cure.",
    )
    cheese: Literal["hard", "semisoft", "pasteurised-process", "soft"] | None = Field(
        None, description="For a cheese made by a plant, its kind. Packing without air needs it."
    )
    undated_as: (
        Literal[
            "deli-salad",
            "hard-cheese",
            "semisoft-cheese",
            "cultured-dairy",
            "preserved-fish",
            "dry-sausage",
            "salt-cured",
        ]
        | None
    ) = Field(
        None,
        description="For food that needs no date once it is opened: which food of the code's "
        "list it is. It counts only with `commercially_packed`. A hard or semisoft "
        "`cheese` counts without it. Not stated: it is dated.",
    )
    raw_milk: Paper = Field(
        "",
        description="For a `cheese` cured from raw milk: the standard of 21 CFR 133 that allows "
        "its variety, or the maker's label that names it. Not stated: from "
        "pasteurised milk, unless its name says raw.",
        examples=["21 CFR 133.113, cured 60 days; label of the wheel"],
    )
    flour: YesNo | None = Field(
        None,
        description="Does it count as flour in bakers' percentages? Not stated: what its "
        "foodstuff says, else no.",
    )
    foodstuff: Id | None = Field(
        None,
        description="A foodstuff of the reference data, for its measured unit weights and the "
        "facts it gives.",
        examples=["onion-raw"],
    )
    weighs: Annotated[dict[str, UnitMass] | None, BeforeValidator(_weighs)] = Field(
        None,
        description="What one piece or measure weighs, by its word: each, large, clove, cup, cup "
        "packed, ml. It replaces the foodstuff's.",
        examples=[
            "{each: 110 g}",
            "{cup: 245 g, cup packed: 260 g}",
            "{each: {mean: 280 g, from: 250 g, to: 320 g}}",
        ],
    )
    source: Words = Field(
        "",
        description="Where the unit weights come from: a table, a label, or weighed here on a "
        "date.",
        examples=["weighed here 2026-10-05", "label of the tub"],
    )
    composition: Composition | None = Field(
        None,
        description="What it is made of, as far as you know it, with the source. It replaces the "
        "foodstuff's. What you leave out counts as unknown, not as nothing.",
    )
    contains_ingredients: WordList = Field(
        (),
        description="For food bought ready-made of several things: what its own label says it is "
        "made of, in that order. The statement of ingredients puts it in brackets.",
        examples=["[mustard seed, vinegar, salt]"],
    )
    trim: Share | None = Field(
        None,
        description="What is trimmed off, of the weight as purchased. Weigh lines ready to use.",
    )
    packs: Packs = Field(
        (),
        description="The packs it is bought in, one or a list: `order` buys whole ones. Write "
        "none for what isn't bought, as water from the tap. Left out: `order` says the weight.",
    )
    trim_tests: tuple[TrimTest, ...] = Field(
        (),
        description="Trim tests, in place of `trim`. Their mean counts.",
        examples=["[{date: 2026-10-05, raw: 12 kg, trimmed: 10.2 kg}]"],
    )
    confirmed: dict[Doubted, Confirmation] = Field(
        default_factory=dict,
        description="Facts above that are true although the name or the foodstuff says "
        "otherwise. Each needs its reason and its document. They print with the "
        "ingredient's facts.",
        examples=[
            "{tcs: {reason: Dried until its water activity is 0.80., document: Laboratory "
            "report 26-114}}"
        ],
    )
    other_names: WordList = Field(
        (), description="Other names people search for.", examples=["[spring onion, green onion]"]
    )
    note: Told = Field(
        "", description="Anything the crew should know.", examples=["Wash it after you cut it."]
    )

    @property
    def trimming(self) -> StepYield | None:
        """What is ready to use of what is purchased, by the tests, else as stated; None where
        nothing is trimmed off."""
        if self.trim_tests:
            return measured([test.share for test in self.trim_tests])
        return StepYield(*(3 * (1 - self.trim,))) if self.trim is not None else None

    @property
    def trim_share(self) -> Fraction:
        """What is trimmed off, as a share of what is purchased."""
        found = self.trimming
        return max(1 - found.mean, Fraction(0)) if found is not None else Fraction(0)

"""A formula: what is in it, what it makes, and what the chef wants at each step."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Annotated, ClassVar, Literal

from pydantic import BeforeValidator, Field, PlainValidator, ValidationInfo, WithJsonSchema

from generator.files.finding import Refused
from generator.measures.amounts import read_amount
from generator.measures.units import Units
from generator.records.dough import DoughFacts
from generator.records.fields import (
    Date,
    Id,
    IdList,
    Keeping,
    LineAmount,
    Mass,
    PictureFile,
    PureNumber,
    TimeSpan,
    Told,
    WholeNumber,
    WordList,
    Words,
    YesNo,
    refusal,
    text_of,
    units_of,
)
from generator.records.house_limit import HouseLimit
from generator.records.makes import Makes as Makes
from generator.records.process import Step, StepChange, TargetField
from generator.records.record import Record
from generator.records.yields import YieldTest

Lethality = Annotated[
    Literal["6.5-log", "7-log", "single-temperature"],
    BeforeValidator(lambda value: value.replace(",", ".") if isinstance(value, str) else value),
]
"""Which table of a plant's authority; its figure is typed with either decimal mark."""
SizeKind = Literal["total", "base", "yield", "portions", "fills"]


@dataclass(frozen=True)
class Size:
    """A batch size: so many grams in all (``total``), of the base or of the yield, or so
    many portions or fills; of a weight ``amount`` is it as typed, without what is weighed.
    ``by_volume``: the value is millilitres of a base that is measured."""

    kind: SizeKind
    value: Fraction
    text: str = ""
    amount: str = ""
    by_volume: bool = False


def read_size(text: str, units: Units) -> Size:
    """``5 fills``, ``40 portions``, ``3 kg base``, ``5 kg total``, ``4 kg yield``. Raises Refused.

    Any other counted noun is taken for the formula's own word for a fill or a portion and is
    checked when the formula is joined; its kind is then ``fills`` with the word in ``text``.
    """
    typed = " ".join(text.split())
    found = _weighed_size(typed, units) or _counted_size(typed, units)
    if found is not None:
        return found
    if re.fullmatch(r"[0-9.]+ ?(kg|g|lb|oz)?", typed) and len(typed) <= 20:
        words = ("fills", "portions") if typed.isdigit() else ("base", "total", "yield")
        raise Refused(
            "size-unreadable",
            f"{typed} of what?",
            "Write what is counted or weighed.",
            [f"{typed} {word}" for word in words],
        )
    raise Refused(
        "size-unreadable",
        f"`{typed[:60]}` is not a batch size.",
        "Count fills or portions, or weigh, as in 5 fills, 40 portions, 3 kg base, 5 kg total or "
        "4 kg yield.",
    )


def _weighed_size(typed: str, units: Units) -> Size | None:
    """``3 kg base``, ``5 kg total``, ``4 kg yield``, ``3 l base``. Raises Refused for an amount
    that is none, and for a volume of what isn't measured."""
    match = re.fullmatch(r"(.+?)\s+(?:of\s+)?(total|base|yield)", typed)
    if match is None:
        return None
    try:
        amount = read_amount(match[1], units, pieces=False)
    except Refused as refused:
        write = [fix + typed[len(match[1]) :] for fix in refused.write]
        raise Refused(refused.code, refused.message, refused.help, write) from None
    if amount.kind == "volume" and match[2] == "base":
        return Size("base", amount.value, typed, match[1], by_volume=True)
    if amount.kind == "volume":
        raise Refused(
            "size-unreadable",
            f"`{typed}`: what a batch weighs or yields is a weight, not a volume.",
            "Write its weight, as in 5 kg yield. Or count fills or portions of a `fill_volume` or "
            "`portion_volume`. Only a `base` that is given by volume may be asked for so.",
        )
    if amount.kind != "mass":
        return None
    return Size(match[2], amount.value, typed, match[1])  # type: ignore[arg-type]


def _counted_size(typed: str, units: Units) -> Size | None:
    """``5 fills``, ``40 portions``, ``12 custard cups``: a whole number of something counted."""
    match = re.fullmatch(r"([0-9]{1,5})\s+([a-z][a-z -]*)", typed)
    if match is None or int(match[1]) == 0:
        return None
    unit = units.find(match[2])[0]
    if unit is not None and unit.kind != "volume":  # a cup may be one of custard
        return None
    kind: SizeKind = "portions" if match[2] in ("portions", "portion") else "fills"
    return Size(kind, Fraction(int(match[1])), match[2])


def _size(value: object, info: ValidationInfo) -> Size:
    try:
        return read_size(text_of(value), units_of(info))
    except Refused as refused:
        raise refusal(refused) from None


SizeField = Annotated[
    Size,
    PlainValidator(_size),
    WithJsonSchema(
        {
            "type": "string",
            "form": "A weight in total, of the base or of the yield, or a count of fills or "
            "portions by their word.",
            "examples": [
                "5 kg total",
                "3 kg base",
                "4 kg yield",
                "8 fills",
                "12 loaves",
                "40 portions",
            ],
            "pattern": "[A-Za-z]",
        }
    ),
]


class NotTcs(Record):
    """Why the finished food needs no temperature control, and the paper that shows it."""

    short: ClassVar[str] = "reason"
    reason: Words = Field(
        min_length=1,
        description="Why it needs none. You may write only the reason after the colon.",
        examples=["Dry spices only. Nothing wet goes in."],
    )
    document: Words = Field(
        "",
        description="The paper on file that proves it: a laboratory's pH or water activity, or "
        "your authority's letter. Left out: the reason is enough only for food baked "
        "or boiled dry.",
        examples=["Laboratory report 26-114"],
    )

    @property
    def words(self) -> str:
        """The reason, and the document beside it."""
        return f"{self.reason} ({self.document})" if self.document else self.reason


class Line(Record):
    """One ingredient or made-ahead formula and how much of it, under its id."""

    short: ClassVar[str] = "amount"
    amount: LineAmount = Field(
        description="How much, ready to use. You may write only this after the colon."
    )
    usual: Mass | None = Field(
        None, description="For `as needed`, the usual amount. Batch, allergens and yield count it."
    )
    prepare: Told = Field(
        "", description="How it is cut or made ready before it is weighed.", examples=["12 mm dice"]
    )
    whole: YesNo = Field(
        False,
        description="For meat cooked by the roast chart: is each piece one whole roast, as a "
        "joint is, once it is cut to size, filled or portioned? Not stated: no.",
    )
    note: Told = Field(
        "", description="A remark next to the line.", examples=["From the second drawer."]
    )


class Keeps(Record):
    """How long it keeps: the chef's figure; the law caps it."""

    cold: Keeping | None = Field(
        None, description="Kept cold. Day 1 is the day it is ready to eat."
    )
    frozen: Keeping | None = Field(None, description="Kept frozen. The date mark pauses.")
    dry: Keeping | None = Field(
        None, description="Kept dry, for food that needs no temperature control."
    )
    study: Words = Field(
        "",
        description="Where the law sets no days: what proves that it keeps so long, such as a "
        "laboratory's report.",
        examples=["Shelf-life study 2026-07, Fenland Laboratory"],
    )


class WithoutAir(Record):
    """Which criterion of the code lets it be packed without air, and the record that shows it."""

    criterion: Literal[
        "water-activity",
        "acidity",
        "cured-at-a-plant",
        "competing-organisms",
        "cheese",
        "fish-frozen",
        "cook-chill",
        "within-48-hours",
    ] = Field(
        description="The criterion it meets, or its paragraph: cook-chill includes sous vide; "
        "within-48-hours is opened by then."
    )
    kept: Literal["cold", "near-freezing", "near-freezing-then-cold", "frozen"] = Field(
        "cold",
        description="For cook-chill, how it is kept: cold has the shortest life. "
        "near-freezing-then-cold is kept at two places, the `store` steps at the end of "
        "its process.",
    )
    sold: YesNo | None = Field(
        None,
        description="For cook-chill: is it sold, or passed on to another business, in its pack? "
        "Only `no` is legal, and you must write it.",
    )
    measured: PureNumber | None = Field(
        None, description="The water activity or the pH measured in this food."
    )
    record: Words = Field(description="Where the measurement, or the receipt, is written down.")


class Acidified(Record):
    """Made sour enough to need no temperature control: the pH asked for, where each is written."""

    ph: PureNumber = Field(
        description="The pH every batch must read, or less. Measure each batch. Never calculate "
        "it.",
        examples=["4.0"],
    )
    meter: PureNumber = Field(
        description="How far the pH meter may be off, plus or minus.", examples=["0.1"]
    )
    water_activity: PureNumber | None = Field(
        None,
        description="The water activity measured in this food. Not stated: the strictest "
        "column counts.",
        examples=["0.91"],
    )
    packed_after_heating: YesNo = Field(
        False,
        description="Is it heated, and then closed in its pack? If not, the stricter table counts.",
    )
    record: Words = Field(
        description="Where the pH of each batch is written down.", examples=["pH log"]
    )


class Formula(Record):
    """A formula: what is in it, what it makes, what the chef wants. One a file,
    standards/formulas/<id>.yaml."""

    name: Told = Field(
        description="The name the crew reads.", examples=["Lamb braised with prunes"]
    )
    revision: WholeNumber = Field(description="Add 1 with every change that matters.")
    effective: Date = Field(
        description="The day this revision starts. Before it, the page says: not current."
    )
    approved: Words = Field(
        "",
        description="Who approved it. Left out: the page says draft, do not use.",
        examples=["head chef"],
    )
    review_by: Date | None = Field(
        None,
        description="The day it is reviewed. Left out: the kitchen's `review_every` after "
        "`effective`.",
    )
    superseded: Date | None = Field(
        None,
        description="The day it was taken out of use. From then on, page and sheet say superseded.",
    )
    station: IdList = Field(
        min_length=1,
        description="The station where it is made, or a list: each of them lists its page and "
        "prints its sheets. The first is where it belongs, by its address and its scales.",
        examples=["hearth", "[hearth, pass]"],
    )
    makes: Makes | None = Field(
        None, description="Fills and portions. Left out: sizes are given by weight."
    )
    base: IdList = Field(
        (),
        description="The part, or the ingredients, that count as 100 %. Left out: the one part "
        "given in weights, or in a formula without percentages all of it.",
        examples=["meat", "[mince, dice]"],
    )
    parts: dict[Id, dict[Id, Line]] = Field(
        description="Parts by name; in each, ingredients and made-ahead formulas by id, in "
        "weighing order."
    )
    process: Id | None = Field(
        None,
        description="The process spec: its file's name. Left out: the formula has its own `steps`.",
        examples=["braise-and-chill"],
    )
    steps: tuple[Step, ...] = Field(
        (), description="The formula's own steps, a list, in place of a process."
    )
    changes: dict[Id, StepChange] = Field(
        default_factory=dict,
        description="What is done otherwise than in the shared process, by step id.",
        examples=["{braise: {loses: 12 %, with: braising-pan}}"],
    )
    yield_tests: dict[Id, tuple[YieldTest, ...]] = Field(
        default_factory=dict,
        description="Yield tests by step id. Their mean takes the place of what the step `loses` "
        "or `gains`.",
        examples=["{braise: [{date: 2026-10-05, before: 5 kg, after: 3.9 kg}]}"],
    )
    dough: DoughFacts | None = Field(
        None,
        description="For a dough: how warm it is wanted. The page and the command `dough` then "
        "give the water's temperature, and the ice, for the day's temperatures.",
        examples=["25 °C", "{temperature: 25 °C, friction: 12 °C}"],
    )
    targets: dict[Id, TargetField] = Field(
        default_factory=dict,
        description="What the chef wants, by step id. It replaces the process's target.",
        examples=["{braise: core 75 °C}"],
    )
    times: dict[Id, TimeSpan] = Field(
        default_factory=dict,
        description="How long it takes, by step id. It replaces the process's time.",
        examples=["{rest: 12 h}"],
    )
    house_limits: dict[Id, HouseLimit] = Field(
        default_factory=dict,
        description="Your own limits by step id. `store` is for holding it cold at the end, "
        "`date` for its days.",
        examples=["{bake: core 76 °C for 30 s, store: at 3 °C}"],
    )
    keeps: Keeps | None = Field(
        None, description="How long it keeps by the chef. The law limits it."
    )
    not_tcs: NotTcs | None = Field(
        None,
        description="Why the finished food needs no temperature control. It removes cooling, "
        "holding and date limits, and prints on the page. A reason alone is enough "
        "for food baked or boiled dry. Anything else needs its document too.",
        examples=[
            "Dry spices only. Nothing wet goes in.",
            "{reason: Water activity 0.84 at 20 °C., document: Laboratory report 26-114}",
        ],
    )
    cured_as: (
        Literal[
            "comminuted",
            "dry",
            "immersion",
            "pumped",
            "bacon-dry",
            "bacon-immersion",
            "bacon-pumped",
            "premix",
        ]
        | None
    ) = Field(
        None,
        description="For a cured formula, how it is cured. Bacon has its own doses. Massaged in "
        "a pickle counts as pumped. A premix is a cure mix or a brine for another "
        "formula: its dose is calculated there. Comminuted meat always counts as "
        "comminuted.",
    )
    bacon: YesNo | None = Field(
        None,
        description="For a cured belly, with its skin or without, whose `cured_as` isn't one "
        "of bacon’s: is it bacon? Only `no` is legal there, and you must write it.",
    )
    without_air: WithoutAir | None = Field(
        None, description="For food packed without air: the criterion that allows it."
    )
    filling: Literal["seasoning", "food", "nothing"] | None = Field(
        None,
        description="For meat or fish rolled or folded round something, or with food put on "
        "or into it: is that seasoning alone (herbs, salt, spice), or food? Food makes it "
        "stuffed. Nothing is for one ground mixture that is shaped, and for food that lies "
        "beside or on the meat. Not stated: food.",
    )
    acidified: Acidified | None = Field(
        None,
        description="For food acidified by a variance so that it needs no temperature control. "
        "Its step is `acidify`. From there on, the limits on cold, heat and dates "
        "don't apply.",
    )
    eaten_frozen: YesNo = Field(
        False,
        description="Is it eaten frozen, as ice cream is? It needs `keeps: {frozen: …}` and a "
        "freezer to its end. Its label says the day to eat it by, and that it is thrown away once "
        "it is thawed. Not stated: it is thawed, and dated from then.",
    )
    to_order: YesNo = Field(
        False,
        description="Is it made for one guest's order and served at once? Its eggs are broken "
        "for it, its cooked food is heated again for it. Not stated: no. Then raw "
        "eggs count as pooled, and reheated food has the reheating limit.",
    )
    raw_eggs: Literal["one-serving", "baked", "one-egg"] | None = Field(
        None,
        description="How raw eggs are used where a highly susceptible population is served. "
        "one-serving: combined right before they are cooked for one guest's meal, as an "
        "omelet. baked: combined right before it is baked through, as a cake or bread. "
        "one-egg: a single egg broken for one guest's meal and cooked through. one-serving and "
        "one-egg need `to_order`. Never for dressings, sauces, meringue, ice cream or drinks. "
        "Not stated: refused.",
    )
    lethality: Lethality | None = Field(
        None,
        description="For a plant under inspection, which of the authority's tables its HACCP "
        "plan uses. Not stated: the tables' own.",
    )
    smoked_for: Literal["flavour", "keeping"] | None = Field(
        None,
        description="For a formula with a step `smoke`: smoked for its flavour, or to keep it, "
        "which needs a variance. Not stated: to keep it.",
    )
    undercooked: Words = Field(
        "",
        description="Served raw or undercooked on a guest's request: why, and how guests are "
        "informed. Made to order only.",
        examples=["Cooked to order at the guest’s wish; the menu carries the reminder."],
    )
    cooked_later: Words = Field(
        "",
        description="For food that leaves raw: who cooks it, and what informs them, such as a "
        "label. Not stated: it counts as eaten as it is, unless another formula "
        "cooks it.",
        examples=["Sold raw; the label says cook to 74 °C in the middle."],
    )
    cautions_off: dict[Id, Words] = Field(
        default_factory=dict,
        description="Cautions switched off by id, each with its reason. The page prints the "
        "reason.",
        examples=["{knives: The roots come cut from the supplier.}"],
    )
    looks_right: Told = Field(
        "", description="What good looks like.", examples=["Dark gravy that coats a spoon."]
    )
    looks_wrong: Told = Field("", description="What bad looks like.", examples=["Thin and grey."])
    batches: Annotated[tuple[SizeField, ...], Field(min_length=1)] = Field(
        description="The batch sizes the kitchen makes, a list. The first is the usual one."
    )
    picture: PictureFile | None = Field(None, description="A picture of what looks right.")
    other_names: WordList = Field(
        (), description="Other names people search for.", examples=["[lamb stew, tagine]"]
    )
    note: Told = Field("", description="A remark.")

    @property
    def home(self) -> str:
        """The station where it belongs: the first of those where it is made."""
        return self.station[0]

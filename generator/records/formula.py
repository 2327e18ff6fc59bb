"""A formula: what is in it, what it makes, and what the chef wants at each step."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, ClassVar, Literal

from pydantic import BeforeValidator, Field, PrivateAttr

from generator.records.bounds import Bounds
from generator.records.by_product import ByProduct
from generator.records.dough import DoughFacts
from generator.records.ending import Ending
from generator.records.fields import (
    Date,
    Id,
    IdList,
    LineAmount,
    Mass,
    PictureFile,
    TimeSpan,
    Told,
    WholeNumber,
    WordList,
    Words,
    YesNo,
)
from generator.records.house_limit import HouseLimit
from generator.records.kept import Acidified as Acidified
from generator.records.kept import Keeps as Keeps
from generator.records.kept import NotTcs as NotTcs
from generator.records.kept import WithoutAir as WithoutAir
from generator.records.makes import Makes as Makes
from generator.records.named import Approver, Said
from generator.records.process import Step, StepChange, TargetField
from generator.records.record import Record
from generator.records.size import Size as Size
from generator.records.size import SizeField
from generator.records.yields import YieldTest

Lethality = Annotated[
    Literal["6.5-log", "7-log", "single-temperature"],
    BeforeValidator(lambda value: value.replace(",", ".") if isinstance(value, str) else value),
]
"""Which table of a plant's authority; its figure is typed with either decimal mark."""


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
    may_be: IdList = Field(
        (),
        description="What may go in for it, or for some of it, where there is too little of it: "
        "ids. Only `reformulate` takes it.",
        examples=["pork-leg", "[pork-leg, pork-loin]"],
    )
    note: Told = Field(
        "", description="A remark next to the line.", examples=["From the second drawer."]
    )


@dataclass(frozen=True)
class EndingOf:
    """Whose ending a formula is: the ``card``'s id and name, the ending's own id, the formulas of
    all its endings in their order, and how many steps are its own. ``on_process``: they follow the
    steps of the card's process."""

    card: str
    card_name: str
    ending: str
    all: tuple[str, ...]
    own_steps: int
    on_process: bool = False


@dataclass(frozen=True)
class ByProductOf:
    """Which ``output`` of the formula ``formula`` a by-product is, and that formula's ``name``;
    ``step`` is the number of the step that leaves it, in the by-product's own steps."""

    formula: str
    name: str
    output: str
    step: int


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
    approved: Approver = Field(
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
        "prints its sheets. The first is where it belongs, by its address and its scales. A card "
        "may leave it to its endings.",
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
    endings: dict[Id, Ending] = Field(
        default_factory=dict,
        min_length=1,
        description="What one card ends in, by an id: hot, cold. Each ending is a formula of its "
        "own, called CARD-ENDING: the shared steps, then the ending's.",
        examples=["{hot: {steps: [{do: serve}]}, cold: {steps: [{do: store}]}}"],
    )
    by_products: dict[Id, ByProduct] = Field(
        default_factory=dict,
        description="What becomes of an output that a step `leaves` and keeps, by its name there. "
        "It is a formula of its own, called FORMULA-OUTPUT. Other formulas take it by that id.",
        examples=["{whey: {steps: [{do: chill}, {do: store}], keeps: {cold: 2 days}}}"],
    )
    bounds: Bounds | None = Field(
        None,
        description="What it stays within when `reformulate` makes it of what is on hand.",
        examples=["{fat: 24 to 30 %, salt: 1.6 to 2 % of meat}"],
    )
    variant_of: Id | None = Field(
        None,
        description="The formula it is a variant of. Its page shows what differs.",
        examples=["country-sausage"],
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
        "of bacon's: is it bacon? Only `no` is legal there, and you must write it.",
    )
    standard_of_identity: Id | None = Field(
        None,
        description="For meat sold under a name that the law keeps for it, which standard: "
        "ground-beef, frankfurter, ham. Its bounds on fat, water, meat and protein are then held "
        "against what the formula is made of. Write none for food that only sounds like one. Not "
        "stated: a name that is one's is asked about.",
        examples=["frankfurter", "none"],
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
    undercooked: Said = Field(
        "",
        description="Served raw or undercooked on a guest's request: why, and how guests are "
        "informed. Made to order only.",
        examples=["Cooked to order at the guest's wish; the menu carries the reminder."],
    )
    cooked_later: Said = Field(
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
    quid: IdList = Field(
        (),
        description="Lines whose share the label must say: those in the food's name, in its "
        "picture, or that make it what it is (EU, Article 22).",
        examples=["[apple]"],
    )
    looks_right: Told = Field(
        "", description="What good looks like.", examples=["Dark gravy that coats a spoon."]
    )
    looks_wrong: Told = Field("", description="What bad looks like.", examples=["Thin and grey."])
    batches: Annotated[tuple[SizeField, ...], Field(min_length=1)] = Field(
        description="The batch sizes the kitchen makes, a list. The first is the usual one. A card "
        "may leave them to its endings."
    )
    picture: PictureFile | None = Field(None, description="A picture of what looks right.")
    other_names: WordList = Field(
        (), description="Other names people search for.", examples=["[lamb stew, tagine]"]
    )
    note: Told = Field("", description="A remark.")

    _ending: EndingOf | None = PrivateAttr(default=None)
    _by_product: ByProductOf | None = PrivateAttr(default=None)

    @property
    def ending(self) -> EndingOf | None:
        """Whose ending it is; None for a formula of its own."""
        return self._ending

    def set_ending(self, ending: EndingOf) -> None:
        """Say whose ending it is."""
        self._ending = ending

    @property
    def by_product(self) -> ByProductOf | None:
        """What it is a by-product of; None for a formula of its own."""
        return self._by_product

    def set_by_product(self, of: ByProductOf) -> None:
        """Say what it is a by-product of. It is no ending."""
        self._by_product, self._ending = of, None

    @property
    def ends_as(self) -> str:
        """The output of its last step that is the finished food; empty where that is what the step
        gives."""
        of = self._by_product
        return of.output if of is not None and of.step == len(self.steps) else ""

    def whose_steps(self, ident: str) -> str:
        """What a fault in its steps stops: the process, so all that share it; or by its ``ident``
        the formula alone, as where the steps of an ending follow."""
        return f"process:{self.process}" if self.process and not self.steps else ident

    @property
    def home(self) -> str:
        """The station where it belongs: the first of those where it is made."""
        return self.station[0]

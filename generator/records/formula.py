"""A formula: what is in it, what it makes, and what the chef wants at each step."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Annotated, ClassVar, Literal

from pydantic import Field, PlainValidator, ValidationInfo

from generator.finding import Refused
from generator.measures.amounts import read_amount
from generator.measures.units import Units
from generator.records.fields import (
    Date,
    Duration,
    Id,
    IdList,
    Keeping,
    Length,
    LineAmount,
    Mass,
    PictureFile,
    WholeNumber,
    WordList,
    Words,
    refusal,
    text_of,
    units_of,
)  # fmt: skip
from generator.records.process import TargetField
from generator.records.record import Record

SizeKind = Literal["raw", "base", "yield", "portions", "fills"]


@dataclass(frozen=True)
class Size:
    """A batch size: so many grams raw, base or yield, or so many portions or fills."""

    kind: SizeKind
    value: Fraction
    text: str = ""


def read_size(text: str, units: Units) -> Size:
    """``5 fills``, ``40 portions``, ``3 kg base``, ``5 kg raw``, ``4 kg yield``. Raises Refused.

    Any other counted noun is taken for the formula's own word for a fill or a portion and is
    checked when the formula is joined; its kind is then ``fills`` with the word in ``text``.
    """
    typed = " ".join(text.split())
    match = re.fullmatch(r"(.+?)\s+(?:of\s+)?(raw|base|yield)", typed)
    if match:
        try:
            amount = read_amount(match[1], units, pieces=False)
        except Refused as refused:
            write = [mend + typed[len(match[1]) :] for mend in refused.write]
            raise Refused(refused.code, refused.message, refused.help, write) from None
        if amount.kind == "mass":
            return Size(match[2], amount.value, typed)  # type: ignore[arg-type]
    match = re.fullmatch(r"([0-9]{1,5})\s+([a-z][a-z -]*)", typed)
    if match and int(match[1]) > 0:
        kind: SizeKind = "portions" if match[2] in ("portions", "portion") else "fills"
        return Size(kind, Fraction(int(match[1])), match[2])
    raise Refused(
        "size-unreadable",
        f"`{typed[:60]}` is not a batch size.",
        "Count fills or portions, or weigh, as in 5 fills, 40 portions, 3 kg base, 5 kg raw or 4 kg yield.",
    )


def _size(value: object, info: ValidationInfo) -> Size:
    try:
        return read_size(text_of(value), units_of(info))
    except Refused as refused:
        raise refusal(refused) from None


SizeField = Annotated[Size, PlainValidator(_size)]


class Line(Record):
    """One ingredient or made-ahead formula and how much of it."""

    short: ClassVar[str] = "amount"
    amount: LineAmount = Field(description="How much: an amount, or a percentage of the base.")
    usual: Mass | None = Field(None, description="For `as needed`: the usual amount.")
    prepare: Words = Field("", description="How it is cut or made ready.")
    note: Words = Field("", description="A remark beside the line.")


class Makes(Record):
    """What a batch is filled and portioned into."""

    fill: Mass | None = Field(None, description="What goes into one vessel.")
    vessel: Id | None = Field(None, description="The vessel, a piece of equipment.")
    one: Words = Field("fill", description="What one fill is called: roll, loaf, tub.")
    many: Words = Field("", description="Its plural.")
    portion: Mass | None = Field(None, description="What one portion weighs.")
    portions: WholeNumber | None = Field(None, description="Portions from one fill.")
    slice: Length | None = Field(None, description="How thick a slice is.")
    length: Length | None = Field(None, description="How long one finished fill is.")
    serving: Words = Field("", description="What one portion is called: slice, bowl.")
    servings: Words = Field("", description="Its plural.")

    @property
    def plural(self) -> str:
        return self.many or self.one + "s"


class Keeps(Record):
    """How long it keeps: the chef's figure; the law caps it."""

    refrigerated: Keeping | None = None
    frozen: Keeping | None = None
    dry: Keeping | None = None


class Formula(Record):
    """standards/formulas/<id>.yaml"""

    name: Words = Field(description="The name the crew reads.")
    revision: WholeNumber = Field(description="Counts up with every change that matters.")
    effective: Date = Field(description="The day this revision starts.")
    approved: Words = Field("", description="Who approved it; without it the sheet is a draft.")
    station: Id = Field(description="Where it is made.")
    makes: Makes | None = Field(None, description="Fills and portions.")
    base: IdList = Field(description="The part (or ingredients) that count as 100 %.")
    parts: dict[Id, dict[Id, Line]] = Field(
        description="Ingredients handled together, in weighing order."
    )
    process: Id = Field(description="The process spec.")
    targets: dict[Id, TargetField] = Field(default_factory=dict, description="Targets by step.")
    times: dict[Id, Duration] = Field(default_factory=dict, description="Times by step.")
    keeps: Keeps | None = Field(None, description="The chef's shelf life.")
    not_tcs: Words = Field(
        "", description="Why the finished food needs no temperature control; stands on the page."
    )
    cured_as: Literal["comminuted", "dry", "bacon-dry"] | None = Field(
        None, description="How it is cured, where the steps don't tell: dry or bacon-dry."
    )
    undercooked: Words = Field(
        "",
        description="Served raw or undercooked on a guest's request: why, and how guests are told.",
    )
    cautions_off: dict[Id, Words] = Field(
        default_factory=dict, description="Cautions switched off, each with its written reason."
    )
    looks_right: Words = Field("", description="What good looks like.")
    looks_wrong: Words = Field("", description="What bad looks like.")
    batches: Annotated[tuple[SizeField, ...], Field(min_length=1)] = Field(
        description="The batch sizes the kitchen makes; the first is the usual one."
    )
    picture: PictureFile | None = Field(None, description="A picture of what looks right.")
    also: WordList = Field((), description="Other names people search for.")
    note: Words = Field("", description="A remark.")

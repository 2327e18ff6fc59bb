"""What is kept of a formula beside its food: whey, cooking liquor, rendered fat, trimmings."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from generator.records.fields import Id, IdList, PictureFile, WordList, Words
from generator.records.kept import Keeps, NotTcs, WithoutAir
from generator.records.makes import Makes
from generator.records.named import Said
from generator.records.process import Step
from generator.records.record import Record
from generator.records.size import SizeField


class ByProduct(Record):
    """What becomes of an output that is kept. It is a formula of its own, called FORMULA-OUTPUT."""

    name: Words = Field(
        "",
        description="The whole name the crew reads. Left out: the formula's name and the output's.",
        examples=["Sweet whey"],
    )
    station: IdList = Field(
        (),
        description="The station of this by-product, or a list. Left out: the formula's.",
        examples=["pass"],
    )
    steps: tuple[Step, ...] = Field(
        (),
        description="What is done to it once it is kept, a list. Left out: it goes straight into "
        "the formula that takes it.",
    )
    makes: Makes | None = Field(
        None, description="Its fills and portions. Left out: sizes are given by weight."
    )
    batches: Annotated[tuple[SizeField, ...], Field(min_length=1)] | None = Field(
        None,
        description="Its batch sizes, a list. Left out: what the formula's batches give of it.",
    )
    keeps: Keeps | None = Field(
        None, description="How long it keeps by the chef. The law limits it."
    )
    not_tcs: NotTcs | None = Field(
        None,
        description="Why it needs no temperature control, as in a formula.",
        examples=["Rendered fat without water, strained."],
    )
    without_air: WithoutAir | None = Field(
        None, description="If it is packed without air: the criterion that allows it."
    )
    cooked_later: Said = Field(
        "",
        description="If it leaves raw: who cooks it, and what informs them.",
        examples=["Sold raw; the label says cook to 74 °C in the middle."],
    )
    cautions_off: dict[Id, Words] = Field(
        default_factory=dict,
        description="Cautions switched off for it alone, each with its reason.",
        examples=["{knives: It is poured.}"],
    )
    looks_right: Words = Field(
        "", description="What good looks like.", examples=["Clear and green."]
    )
    looks_wrong: Words = Field("", description="What bad looks like.", examples=["Cloudy."])
    picture: PictureFile | None = Field(None, description="A picture of what looks right.")
    other_names: WordList = Field(
        (), description="Other names people search for.", examples=["[whey]"]
    )
    note: Words = Field("", description="A remark.", examples=["Strain it twice."])

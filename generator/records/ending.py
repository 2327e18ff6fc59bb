"""One of a card's endings: what is done behind the shared steps, and what then is otherwise."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from generator.records.fields import Id, IdList, PictureFile, WordList, Words, YesNo
from generator.records.kept import Keeps, NotTcs, WithoutAir
from generator.records.makes import Makes
from generator.records.named import Said
from generator.records.process import Step
from generator.records.record import Record
from generator.records.size import SizeField

IN_PLACE = ("station", "makes", "batches")
"""What an ending may say in place of what its card says; all else is said once."""


class Ending(Record):
    """One ending of a card. With what it shares it is a whole formula, called CARD-ENDING."""

    name: Words = Field(
        "",
        description="The whole name the crew reads. Left out: the card's name and the ending's id.",
        examples=["Duck leg, from the oven"],
    )
    station: IdList = Field(
        (),
        description="The station of this ending, or a list. Left out: the card's.",
        examples=["pass"],
    )
    steps: tuple[Step, ...] = Field(
        min_length=1,
        description="The steps of this ending, a list. They follow the shared ones: the card's own "
        "`steps`, or its `process`.",
    )
    makes: Makes | None = Field(
        None, description="Fills and portions of this ending. Left out: the card's."
    )
    batches: Annotated[tuple[SizeField, ...], Field(min_length=1)] | None = Field(
        None, description="The batch sizes of this ending, a list. Left out: the card's."
    )
    keeps: Keeps | None = Field(
        None,
        description="How long this ending keeps by the chef. The law limits it. Write it here or "
        "on the card, never on both.",
    )
    not_tcs: NotTcs | None = Field(
        None,
        description="Why this ending needs no temperature control, as in a formula.",
        examples=["Baked dry to the middle."],
    )
    without_air: WithoutAir | None = Field(
        None, description="If this ending is packed without air: the criterion that allows it."
    )
    eaten_frozen: YesNo | None = Field(
        None, description="Is this ending eaten frozen, as in a formula? Not stated: no."
    )
    to_order: YesNo | None = Field(
        None,
        description="Is this ending made for one guest's order and served at once? Not stated: no.",
    )
    undercooked: Said = Field(
        "",
        description="This ending is served raw or undercooked on a guest's request: why, and how "
        "guests are informed.",
        examples=["Cooked to order at the guest's wish; the menu carries the reminder."],
    )
    cooked_later: Said = Field(
        "",
        description="If this ending leaves raw: who cooks it, and what informs them.",
        examples=["Sold raw; the label says cook to 74 °C in the middle."],
    )
    cautions_off: dict[Id, Words] = Field(
        default_factory=dict,
        description="Cautions switched off in this ending alone, each with its reason.",
        examples=["{knives: It is served whole.}"],
    )
    looks_right: Words = Field(
        "", description="What good looks like.", examples=["Crisp skin, warm through."]
    )
    looks_wrong: Words = Field("", description="What bad looks like.", examples=["Pale and soft."])
    picture: PictureFile | None = Field(None, description="A picture of what looks right.")
    other_names: WordList = Field(
        (), description="Other names people search for.", examples=["[crisp leg]"]
    )
    note: Words = Field("", description="A remark.", examples=["One leg a plate."])

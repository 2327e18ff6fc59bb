"""What a batch of a formula is divided into: fills, pieces, portions."""

from __future__ import annotations

from pydantic import Field

from generator.measures.words import plural_of
from generator.records.fields import (
    Id,
    Length,
    Mass,
    Overrun,
    Volume,
    WholeNumber,
    Words,
)
from generator.records.record import Record


class Makes(Record):
    """Fills and portions: what a batch is divided into."""

    fill_weight: Mass | None = Field(
        None, description="What goes into one vessel, weighed at the first step that fills."
    )
    fill_volume: Volume | None = Field(
        None,
        description="What goes into one vessel by volume, in place of `fill_weight`.",
        examples=["1 l", "1 pt"],
    )
    piece: Id | None = Field(
        None,
        description="The counted line of which one piece is one fill: a leg, a bird, a ham. "
        "Batches are then whole pieces. Without `portions` each piece is one portion. More than "
        "one to a fill: `pieces`.",
        examples=["duck-leg"],
    )
    pieces: WholeNumber | None = Field(
        None,
        description="How many of the `piece` go into one fill. Left out: one. The last fill of a "
        "batch holds what is left.",
        examples=["6"],
    )
    litre: Mass | None = Field(
        None,
        description="What one litre of the mix weighs, weighed here, before air is in it. Left "
        "out: by the composition and the measures of what is in it.",
        examples=["1090 g"],
    )
    overrun: Overrun | None = Field(
        None,
        description="For a whipped or frozen mix, the volume that air adds, in percent of the "
        "mix's own.",
        examples=["80 %"],
    )
    vessel: Id | None = Field(
        None, description="The vessel, a piece of equipment.", examples=["flat-pan"]
    )
    unit: Words = Field(
        "fill", description="What one fill is called: roll, loaf, tub.", examples=["loaf"]
    )
    units: Words = Field(
        "", description="Its plural. Left out: as in trays, boxes, patties.", examples=["loaves"]
    )
    portion: Mass | None = Field(None, description="What one portion weighs, finished.")
    portion_volume: Volume | None = Field(
        None,
        description="What one portion is by volume, in place of `portion`.",
        examples=["60 ml"],
    )
    portions: WholeNumber | None = Field(
        None, description="Portions from one fill, instead of a portion's weight."
    )
    slice: Length | None = Field(
        None,
        description="How thick a slice is. Each slice is a portion. Needs `length` "
        "and `fill_weight`.",
        examples=["8 mm"],
    )
    length: Length | None = Field(
        None, description="How long one finished fill is, ends included.", examples=["180 mm"]
    )
    portion_unit: Words = Field(
        "",
        description="What one portion is called: slice, bowl. Left out: portion.",
        examples=["slice"],
    )
    portion_units: Words = Field(
        "", description="Its plural. Left out: as in trays, boxes, patties.", examples=["slices"]
    )

    @property
    def to_a_fill(self) -> int:
        """How many pieces are in a full fill: one, where it isn't said."""
        return self.pieces or 1

    @property
    def plural(self) -> str:
        return self.units or plural_of(self.unit)

    @property
    def fills(self) -> bool:
        """Whether it says what one fill is: by weight, by volume, or as a piece."""
        return any(w is not None for w in (self.fill_weight, self.fill_volume, self.piece))

    @property
    def by_portions(self) -> bool:
        """Whether it says how much one portion is, by weight or by volume."""
        return self.portion is not None or self.portion_volume is not None

"""What is known of foods, of water at a height, and of what heats: records of shared data that
aren't law."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from generator.records.composition import Shares
from generator.records.fields import Degrees, Id, Mass, WholeNumber, WordList, Words, YesNo
from generator.records.record import Record


class CheckPoint(Record):
    """What a thermometer must read in water: boiling at so many feet, or in stirred ice (no
    feet)."""

    feet: WholeNumber | None = None
    reads: Degrees
    printed: Degrees | None = None
    source: Id


class Medium(Record):
    """What a verb's `at` is the temperature of: water, or its steam."""

    medium: Literal["water", "its-steam"]


class KnownFacts(Record):
    """What follows from what a food is: see shared/known-names.yaml.

    ``species`` is an animal, none, ``animal`` for any but none, or ``game`` for any game;
    ``allergens`` are in the words of the European list, or of the one that has it; ``kind`` says
    whether a fish is tuna; ``tcs`` None where it depends; ``boils_hot`` says that it is sugar or
    fat, which get hotter than boiling water, ``fat`` which; ``flour`` that bakers count it as
    flour; ``one_piece`` that its measure is of one solid piece, so that nothing follows for a
    measure full of small ones.
    """

    species: Id | None = None
    state: Literal["raw", "pasteurised", "ready-to-eat"] | None = None
    form: Literal["comminuted", "not-intact"] | None = None
    allergens: WordList = ()
    tcs: YesNo | None = None
    plant: Id | None = None
    function: Literal["salt", "cure"] | None = None
    kind: Literal["tuna", "other"] | None = None
    boils_hot: YesNo = False
    fat: YesNo = False
    flour: YesNo = False
    one_piece: YesNo = False


class Foodstuff(Record):
    """Measured unit weights, composition and facts of a food, from a named source. ``sugars`` says
    whether those in it are its own, or what it is put to other food for."""

    name: Words
    usda: Words = ""
    source: Id
    facts: KnownFacts = KnownFacts()
    measures: Literal["us", "metric", "imperial", "australian"] = "us"
    weighs: dict[str, Mass] = Field(default_factory=dict)
    composition: Shares = Shares()
    sugars: Literal["own", "added"] | None = None

"""The kinds of row a rule pack holds: one record a hazard, or a few hazards that have the same
keys."""

from __future__ import annotations

from fractions import Fraction
from typing import Annotated, ClassVar, Literal, Self, TypeAlias

from pydantic import PlainValidator, model_validator

from generator.files.finding import Refused
from generator.measures.times import Time, read_time
from generator.measures.words import listed
from generator.records.fields import (
    Degree,
    Degrees,
    Difference,
    Duration,
    Id,
    IdList,
    Mass,
    WholeNumber,
    WordList,
    Words,
    YesNo,
    reader,
    refusal,
)
from generator.records.record import Record

INSTANT = Time(read_time("0 s").seconds, "instant")


def _hold(text: str) -> Time | None:
    if text.strip() == "none":
        return None
    if text.strip() == "instant":
        return INSTANT
    return read_time(text)


def _figure(text: str) -> Fraction:
    try:
        return Fraction(text)
    except ValueError:
        raise Refused("value-unreadable", f"`{text}` is not a figure.") from None


class ClockFrom(Record):
    """A temperature a clock starts at, or that bounds a start: in its unit, and as printed."""

    value: Degrees
    printed: Degrees | None = None


class StageRow(Record):
    """One stage of cooling: to what, within which time of the clock's start, or of the end of the
    stage before where the source gives each stage a time of its own. An ``advised`` time is none of
    the limit: past it the source is only less certain that the food is safe."""

    to: Degrees
    printed: Degrees | None = None
    within: Duration
    counts_from: Literal["start", "stage-before"] = "start"
    advised: YesNo = False
    clause: Words


Bound = Literal["min", "max"]
Figure = Annotated[Fraction, PlainValidator(reader(_figure))]
Hold = Annotated[Time | None, PlainValidator(reader(_hold))]
"""How long a temperature is held: an instant for any one reading, None for `none`."""


Held = Literal["hot_hold", "cold_hold"]
Timed = Literal["clean", "preparation"]
InWords = Literal["humidity", "smoking", "source", "susceptible", "tcs", "undercook"]
OneOf: TypeAlias = Held | Timed | InWords
"""The hazards of which a kind of row has several."""

Standard = Literal[
    "fat",
    "added-water",
    "fat-and-added-water",
    "water-put-in",
    "meat",
    "meat-protein",
    "phosphate",
]
"""What a standard of identity bounds: of the finished food its fat, its added water, both; of all
ingredients the water or ice, and the meat; the meat's protein of what is no fat. Phosphate is
bounded in meat by whatever name it is sold."""

OF_WHAT: dict[Standard, str] = {
    "fat": "fat, of the finished food",
    "added-water": "added water, of the finished food",
    "fat-and-added-water": "fat and added water together, of the finished food",
    "water-put-in": "water or ice, of all ingredients",
    "meat": "meat, of all ingredients",
    "meat-protein": "meat protein, of what is no fat",
    "phosphate": "phosphate, of the finished food",
}
"""What a percentage of a standard of identity is of."""

_Keys: TypeAlias = tuple[str, ...]
_Pairs: TypeAlias = tuple[tuple[str, str], ...]


class RowHead(Record):
    """What every row of law has, whatever it is about.

    ``standing`` is enacted text or an authority's guidance; ``document`` names its text where
    that isn't the pack's. A temperature is in the unit of record; what is ``printed`` beside it in
    the other scale is under a key of its own. ``beside`` are keys that can't be without
    another, ``says`` those of which a row has one at least: its figure, or its rule in words.
    """

    beside: ClassVar[_Pairs] = ()
    says: ClassVar[_Keys] = ()
    hazard: str
    standing: Literal["law", "guidance"] = "law"
    document: Words = ""
    clause: Words
    read_in: IdList
    editions: Words = ""
    note: Words = ""

    @model_validator(mode="after")
    def _is_whole(self) -> Self:
        for key, other in self.beside:
            if getattr(self, key) is not None and getattr(self, other) is None:
                raise refusal(
                    Refused("key-missing", f"`{other}` is missing here, because `{key}` is given.")
                )
        if self.says and not any(getattr(self, key) for key in self.says):
            keys = listed([f"`{key}`" for key in self.says], "or")
            raise refusal(Refused("key-missing", f"{keys} is missing here. A row needs them."))
        return self


class FoodRow(RowHead):
    """A row that speaks of a ``food``; ``applies`` names the kind of food or the procedure it is
    asked for by, None where it is the hazard's general row."""

    food: Words
    applies: Id | None = None


class BoundedRow(FoodRow):
    """A row with one temperature and the side that is safe, or, without them, a rule in ``words``;
    some have both."""

    beside: ClassVar[_Pairs] = (("value", "bound"),)
    says: ClassVar[_Keys] = ("value", "words")
    bound: Bound | None = None
    value: Degrees | None = None
    printed: Degrees | None = None
    words: Words = ""


class CookRow(FoodRow):
    """Raw food cooked: a temperature and its hold; ``stand`` is how long it then stands covered. A
    steak is ``measured`` on its surface, and belongs to no ``group``."""

    hazard: Literal["cook"]
    group: Id | None = None
    bound: Bound
    value: Degrees
    printed: Degrees | None = None
    hold: Hold
    stand: Duration | None = None
    measured: Literal["core", "surface"] = "core"
    words: Words = ""


class PartCookRow(FoodRow):
    """A first, partial heating: how long it may take."""

    hazard: Literal["part_cook"]
    group: Id
    bound: Bound
    within: Duration


class ReheatRow(BoundedRow):
    """Food heated up again: a temperature and its hold, how soon it must be there (``within``, from
    ``clock_from`` on), or the cooking rows of another group (``rows_of``) that will do."""

    says = ("value", "within", "rows_of", "words")
    hazard: Literal["reheat"]
    hold: Hold = None
    stand: Duration | None = None
    within: Duration | None = None
    clock_from: ClockFrom | None = None
    rows_of: Id | None = None


class CoolRow(FoodRow):
    """Food cooled: in ``stages``, or by a rule in ``words``, which may name a time (``within``).

    ``option`` names a schedule among several for the same food (the first is the pack's own),
    ``begins_within`` how soon after cooking its chilling begins, ``packed_at`` what it must come
    down to before it is packed, ``nitrite_least`` the ingoing nitrite in ppm its food is cured
    with.
    """

    says = ("stages", "words")
    hazard: Literal["cool"]
    applies: Id
    clock_from: ClockFrom | None = None
    stages: tuple[StageRow, ...] = ()
    option: Id | None = None
    begins_within: Duration | None = None
    packed_at: ClockFrom | None = None
    nitrite_least: Figure | None = None
    within: Duration | None = None
    words: Words = ""


class HoldRow(BoundedRow):
    """Food held hot or cold; ``group`` is the one whose food alone may be held so."""

    hazard: Held
    group: Id | None = None
    measured: Literal["core", "air"] = "core"


class ReceiveRow(BoundedRow):
    """Food taken in at the door."""

    hazard: Literal["receive"]
    applies: Id
    measured: Literal["core", "air"] = "core"


class ThawRow(BoundedRow):
    """Food thawed in a way (``how``): the food or the water, ``above_for`` how long in all the food
    may be above the figure."""

    beside = (*BoundedRow.beside, ("above_for", "value"))
    hazard: Literal["thaw"]
    how: Id | None = None
    measured: Literal["core", "water"] = "core"
    above_for: Duration | None = None


class TimeControlRow(FoodRow):
    """Food kept by time alone: how warm it may start (``start_max``) or how hot it must
    (``start_min``), and what it may never pass meanwhile (``stay_max``). ``how`` says what must be
    on file."""

    hazard: Literal["time_control"]
    how: Id | None = None
    bound: Bound
    within: Duration
    start_max: ClockFrom | None = None
    start_min: ClockFrom | None = None
    stay_max: ClockFrom | None = None


class DateRow(FoodRow):
    """How many days food may be kept ``at`` a temperature: day 1 is the day of ``day_one``, and it
    is marked if it is kept longer than ``after``; or a rule in ``words``."""

    beside = (("days", "day_one"), ("after", "days"))
    says = ("day_one", "frozen", "words")
    hazard: Literal["date"]
    days: WholeNumber | None = None
    day_one: Id | None = None
    at: Degrees | None = None
    printed: Degrees | None = None
    after: Duration | None = None
    frozen: Id | None = None
    words: Words = ""


class ParasitesRow(BoundedRow):
    """Fish frozen through at a temperature, and kept for the hold there or, once it is solid
    (``how``), at ``store_at``."""

    beside = (*BoundedRow.beside, ("value", "hold"), ("store_at", "value"))
    hazard: Literal["parasites"]
    applies: Id
    hold: Hold = None
    how: Id | None = None
    store_at: Degrees | None = None
    store_printed: Degrees | None = None


class ReducedOxygenRow(FoodRow):
    """Food packed without air: sealed at ``value``, kept ``at`` a temperature for so many ``days``
    from ``day_one``, or till the maker's own date if that is sooner (``makers_date``); there
    ``within`` a time; and from ``at`` moved to ``store_at``, where it has ``then_days``. ``most``
    is a pure number, of water activity or pH."""

    beside = (
        ("value", "bound"),
        ("most", "bound"),
        ("store_at", "at"),
        ("store_at", "then_days"),
        ("store_at", "days"),
        ("then_days", "store_at"),
        ("days", "day_one"),
    )
    says = ("value", "most", "at", "within", "words")
    hazard: Literal["reduced_oxygen"]
    applies: Id
    bound: Bound | None = None
    value: Degrees | None = None
    most: Figure | None = None
    at: Degrees | None = None
    printed: Degrees | None = None
    days: WholeNumber | None = None
    day_one: Id | None = None
    makers_date: YesNo = False
    within: Duration | None = None
    store_at: Degrees | None = None
    store_printed: Degrees | None = None
    then_days: WholeNumber | None = None
    words: Words = ""


class AcidityRow(FoodRow):
    """A pH that needs no control of temperature: at ``most``, or ``below`` one that is itself too
    much, where the water activity is ``aw_most`` or ``aw_below``."""

    beside = (("most", "bound"), ("below", "bound"))
    says = ("most", "below", "words")
    hazard: Literal["acidity"]
    applies: Id
    bound: Bound | None = None
    most: Figure | None = None
    below: Figure | None = None
    aw_most: Figure | None = None
    aw_below: Figure | None = None
    words: Words = ""


class AdditiveRow(FoodRow):
    """A dose in ``ppm``, ``exact`` one that is set and not only capped; or a ``factor`` a weight is
    multiplied by; or a rule in ``words``. ``document`` is the regulation's or the handbook's."""

    beside = (("ppm", "bound"),)
    says = ("ppm", "factor", "words")
    hazard: Literal["additive"]
    applies: Id
    document: Words
    bound: Bound | None = None
    ppm: Figure | None = None
    printed_ppm: Words = ""
    exact: YesNo = False
    factor: Figure | None = None
    words: Words = ""


class CompositionRow(FoodRow):
    """What food sold under a name (``applies``) may be made of: so many ``percent`` of a
    ``constituent`` at most, or at least. ``called`` are names of food that ask for the standard;
    with ``raw`` of food alone that is raw when it is finished."""

    hazard: Literal["composition"]
    applies: Id
    document: Words
    constituent: Standard
    bound: Bound
    percent: Figure
    called: WordList = ()
    raw: YesNo = False


class OvenRow(RowHead):
    """How hot an oven is for a roast of a weight: under one, or from one on."""

    says = ("weight_under", "weight_from")
    hazard: Literal["oven"]
    oven: Literal["still", "convection", "high-humidity"]
    weight_under: Mass | None = None
    weight_from: Mass | None = None
    weight_printed: Mass
    bound: Bound
    value: Degrees
    printed: Degrees


class ProbeRow(FoodRow):
    """How far a thermometer of a ``scale`` may be ``off``."""

    hazard: Literal["probe"]
    scale: Degree
    bound: Bound
    off: Difference


class TimeRow(FoodRow):
    """Work that may last so long and no longer (``within``), or a rule in ``words``."""

    says = ("within", "words")
    hazard: Timed
    within: Duration | None = None
    words: Words = ""


class SanitiserRow(FoodRow):
    """A solution that sanitises, in mg/L: the least warmth (``value``) of one ``strength_from`` a
    figure on, up to ``strength_most`` or ``strength_below`` one that is too much for the row, with
    the highest pH and hardness of water; or how long it stays on (``contact``); or a rule in
    ``words``."""

    says = ("value", "strength_most", "contact", "words")
    hazard: Literal["sanitiser"]
    applies: Id
    strength_from: Figure | None = None
    strength_below: Figure | None = None
    strength_most: Figure | None = None
    ph_most: Figure | None = None
    hardness_most: Figure | None = None
    value: Degrees | None = None
    printed: Degrees | None = None
    contact: Duration | None = None
    words: Words = ""


class WarewashRow(FoodRow):
    """Water that washes or sanitises: its temperature, or that of what comes out of it."""

    hazard: Literal["warewash"]
    applies: Id
    bound: Bound
    value: Degrees
    printed: Degrees | None = None
    hold: Hold = None


class PowerCutRow(FoodRow):
    """Food without power: what it may never pass for longer than a time (``within``)."""

    hazard: Literal["power_cut"]
    applies: Id
    bound: Bound
    value: Degrees
    within: Duration
    words: Words = ""


class WordsRow(FoodRow):
    """A rule that sets no figure."""

    hazard: InWords
    words: Words


Row: TypeAlias = (
    CookRow
    | PartCookRow
    | ReheatRow
    | CoolRow
    | HoldRow
    | ReceiveRow
    | ThawRow
    | TimeControlRow
    | DateRow
    | ParasitesRow
    | ReducedOxygenRow
    | AcidityRow
    | AdditiveRow
    | CompositionRow
    | OvenRow
    | ProbeRow
    | TimeRow
    | SanitiserRow
    | WarewashRow
    | PowerCutRow
    | WordsRow
)
"""One row of law. Its ``hazard`` says which of these it is, and so which keys it may have; who
shows every kind asks by ``match``, with a case for each and ``assert_never`` at the end."""

"""House limits: figures of the kitchen's own in place of the code's, as a chef writes them."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Annotated, Any, ClassVar, Literal

from pydantic import Field, PlainValidator

from generator.files.finding import Refused, clipped
from generator.measures.temperature import Temperature, read_temperature
from generator.measures.times import read_time
from generator.measures.words import breakable
from generator.records.fields import Id, WordList, Words, one_or_many, reader, refusal
from generator.records.named import Paper
from generator.records.record import Record
from generator.records.target import Target, read_target

HouseKind = Literal["core", "at", "cool", "days"]
LimitFor = Literal["cook", "cool", "hold-hot", "hold-cold", "reheat", "receive", "date"]
FORMS: dict[LimitFor, HouseKind] = {
    "cook": "core",
    "cool": "cool",
    "hold-hot": "at",
    "hold-cold": "at",
    "reheat": "core",
    "receive": "at",
    "date": "days",
}
"""How the figure of each kind of limit is written."""
EXAMPLES: dict[HouseKind, str] = {
    "core": "core 76 °C for 30 s",
    "at": "at 63 °C",
    "cool": "to 21 °C within 90 min",
    "days": "5 days",
}


@dataclass(frozen=True)
class HouseFigure:
    """One figure: a core temperature with the seconds it is held (0: any one reading), a
    temperature it is kept ``at``, one it cools to within ``within_s`` (from ``start``, or from
    where the code's clock starts), or a number of ``days``."""

    kind: HouseKind
    temperature: Temperature | None = None
    hold_s: Fraction = Fraction(0)
    start: Temperature | None = None
    within_s: Fraction = Fraction(0)
    days: int = 0
    text: str = ""


_COOLS = re.compile(r"(?:from\s+(.+?)\s+)?to\s+(.+?)\s+within\s+(.+)", re.IGNORECASE)
_DAYS = re.compile(r"([0-9]{1,4})\s+days?", re.IGNORECASE)


def read_house_figure(text: str) -> HouseFigure:
    """``core 76 °C for 30 s``, ``at 63 °C``, ``to 21 °C within 90 min``, ``from 60 °C to 4 °C
    within 5 h``, ``5 days``. Raises Refused."""
    typed = " ".join(text.split())
    days = _DAYS.fullmatch(typed)
    if days:
        if int(days[1]) == 0:
            raise _unreadable(typed)
        return HouseFigure("days", days=int(days[1]), text=typed)
    cools = _COOLS.fullmatch(typed)
    if cools:
        start = read_temperature(cools[1]) if cools[1] else None
        within = read_time(cools[3])
        return HouseFigure(
            "cool", read_temperature(cools[2]), start=start, within_s=within.seconds, text=typed
        )
    if not re.match(r"(core|at|to|below)\s", typed, re.IGNORECASE):
        raise _unreadable(typed)
    return _of_a_target(read_target(typed), typed)


def _of_a_target(target: Target, typed: str) -> HouseFigure:
    """A figure written as a step's target is. Raises Refused for one that is no limit."""
    degrees, held = target.degrees, target.hold
    if (degrees is not None and degrees.is_range) or (held is not None and held.is_range):
        raise Refused(
            "house-limit-unreadable",
            f"`{clipped(typed)}`: a limit is one figure, and this is a range.",
            "Write the end that must be kept to. A range is a target.",
        )
    hold, temperature = held.shortest if held else None, target.coolest
    match target.kind:
        case "core" if temperature is not None:
            return HouseFigure("core", temperature, hold or Fraction(0), text=typed)
        case "at" if temperature is not None and hold is None:
            return HouseFigure("at", temperature, text=typed)
        case "to" | "below" if hold is None:
            raise Refused(
                "house-limit-unreadable",
                f"`{clipped(typed)}`: within which time?",
                "A limit for cooling needs both, as in to 21 °C within 90 min.",
            )
    raise _unreadable(typed)


def _unreadable(typed: str) -> Refused:
    """What a figure lacks; a temperature alone is offered both ways it may be meant."""
    try:
        bare = breakable(str(read_temperature(typed)))
    except Refused as refused:
        fixes = [f"{word} {fix}" for word in ("at", "core") for fix in refused.write]
    else:
        fixes = [f"at {bare}", f"core {bare}"]
    return Refused(
        "house-limit-unreadable",
        f"`{clipped(typed)}` is not a limit.",
        f"Write it as in {', '.join(EXAMPLES.values())}.",
        fixes,
    )


_figure = reader(read_house_figure)


def _figures(value: Any) -> tuple[HouseFigure, ...]:
    if value == []:
        raise refusal(
            Refused("value-missing", "The list is empty.", "Write a value or delete the key.")
        )
    return tuple(_figure(one) for one in (value if isinstance(value, list) else [value]))


HouseFigures = Annotated[
    tuple[HouseFigure, ...],
    PlainValidator(_figures),
    one_or_many(
        "A figure of the right kind, or a list.",
        {"type": "string", "pattern": "[0-9]"},
        *EXAMPLES.values(),
        "[to 21 °C within 90 min, to 4 °C within 4 h]",
    ),
]


class HouseLimit(Record):
    """A limit of the kitchen's own for one step."""

    short: ClassVar[str] = "limit"
    short_list: ClassVar[bool] = True
    limit: HouseFigures = Field(
        description="The figure. Of several core temperatures, any one is enough. Of several "
        "cooling times, all count."
    )
    reason: Words = Field(
        "", description="Why. The page prints it.", examples=["The oven is colder at the door."]
    )
    allowed_by: Paper = Field(
        "",
        description="For a limit looser than the code's: the `document` of the authorisation "
        "that allows it.",
        examples=["Variance 2026-118"],
    )


class KitchenLimit(HouseLimit):
    """A limit of the kitchen's own, wherever it applies."""

    short: ClassVar[str] = ""
    for_: LimitFor = Field(alias="for", description="What it limits.")
    food: WordList = Field(
        (),
        description="Only food with this in it: a species, or a class as the rules name it. "
        "Left out: any food.",
        examples=["poultry", "[beef-comminuted, pork]"],
    )
    do: Id | None = Field(
        None, description="Only steps of this verb. Left out: any step.", examples=["poach"]
    )

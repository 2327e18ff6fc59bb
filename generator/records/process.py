"""A process spec: the steps many formulas share."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import Field, PlainValidator, WithJsonSchema

from generator.finding import Refused
from generator.measures.temperature import Temperature, read_temperature
from generator.measures.times import Time, read_time
from generator.records.fields import (
    Degrees,
    Duration,
    Id,
    IdList,
    Length,
    PictureFile,
    Share,
    WordList,
    Words,
    reader,
    refusal,
    text_of,
)  # fmt: skip
from generator.records.record import Record
from generator.source_text import Mapping

Effect = Literal[
    "comminutes", "tenderises", "injects", "pools", "stuffs", "cooks", "fills", "cools", "freezes",
    "thaws", "reheats", "hot-holds", "excludes-air", "slices", "takes-off", "cleans",
]  # fmt: skip


@dataclass(frozen=True)
class Target:
    """What the chef wants at a step: ``core`` with an optional hold, or ``to``/``below``/``at``.

    ``from_formula`` stands for the words "from the formula".
    """

    kind: Literal["core", "to", "below", "at", "from-formula"]
    temperature: Temperature | None = None
    hold: Time | None = None
    text: str = ""


_TARGET = re.compile(r"(core|to|below|at)\s+(.+?)(?:\s+for\s+(.+))?", re.IGNORECASE)


def read_target(text: str) -> Target:
    """``core 75 °C``, ``core 57 °C for 90 min``, ``below 4 °C``, ``to 4 °C``, ``at 63 °C``,
    ``from the formula``. Raises Refused."""
    typed = " ".join(text.split())
    if typed.lower() == "from the formula":
        return Target("from-formula", text=typed)
    match = _TARGET.fullmatch(typed)
    if match is None:
        try:
            temperature = read_temperature(typed)
        except Refused as refused:
            if refused.code == "temperature-without-unit":
                raise _behind(refused, "core ", "") from None
            raise Refused(
                "target-unreadable",
                f"`{typed[:60]}` is not a target.",
                "Say where it is measured, the temperature and, if held, how long, "
                "as in core 75 °C, core 68 °C for 2 min or to 4 °C.",
            ) from None
        raise Refused(
            "target-unreadable",
            f"`{typed}`: measured where?",
            "A cook's target is measured in the core; a chill's target is what it is brought to.",
            [
                f"core {temperature}".replace("\u00a0", " "),
                f"to {temperature}".replace("\u00a0", " "),
            ],
        )
    kind = match[1].lower()
    held = f" for {match[3]}" if match[3] else ""
    try:
        temperature = read_temperature(match[2])
    except Refused as refused:
        raise _behind(refused, f"{match[1]} ", held) from None
    try:
        hold = read_time(match[3]) if match[3] else None
    except Refused as refused:
        raise _behind(refused, f"{match[1]} {match[2]} for ", "") from None
    return Target(kind, temperature, hold, typed)  # type: ignore[arg-type]


def _behind(refused: Refused, before: str, after: str) -> Refused:
    """A refusal of one half of a target, its mends whole targets again."""
    write = [f"{before}{mend}{after}" for mend in refused.write]
    return Refused(refused.code, refused.message, refused.help, write)


def _target(value: Any) -> Target:
    if isinstance(value, Mapping):
        if len(value) == 1:
            key, inner = next(iter(value.items()))
            value = f"{key} {text_of(inner)}"
        else:
            raise refusal(
                Refused("target-unreadable", "A target is one line.", "As in target: core 75 °C.")
            )
    try:
        return read_target(text_of(value))
    except Refused as refused:
        raise refusal(refused) from None


TargetField = Annotated[
    Target,
    PlainValidator(_target),
    WithJsonSchema(
        {
            "description": "core T, core T for t, to T, below T, at T; or: from the formula.",
            "anyOf": [
                {"type": "string", "examples": ["core 75 °C", "to 4 °C", "from the formula"]},
                {"type": "object", "additionalProperties": {"type": "string"}},
            ],
        }
    ),
]


class Step(Record):
    """One step of a process."""

    do: Id = Field(
        description="The verb: one of shared/verbs.yaml, or one of your own with `does`."
    )
    id: Id | None = Field(None, description="The step's id, needed if a verb comes twice.")
    take: IdList = Field((), description="The parts taken in here.")
    using: Id | None = Field(None, description="The machine.")
    in_: Id | None = Field(
        None, alias="in", description="Where it stands: a refrigerator, a chiller."
    )
    vessel: Annotated[str, PlainValidator(reader(str.strip))] | None = Field(
        None, description="What it is filled into, or: as the formula says."
    )
    at: Degrees | None = Field(None, description="The temperature of the water, oven or air.")
    target: TargetField | None = Field(
        None, description="What the chef wants; or: from the formula."
    )
    time: Duration | None = Field(None, description="How long it takes.")
    until: Words = Field("", description="How the cook sees that it is done.")
    how: WordList = Field((), description="What to do, a sentence a line.")
    probe: Words = Field("", description="Where to put the probe.")
    if_missed: Words = Field("", description="What to do if the limit is missed.")
    loses: Share | None = Field(None, description="Loss of weight in this step.")
    ends: Length | None = Field(None, description="What is cut off each end before slicing.")
    does: tuple[Effect, ...] = Field(
        (), description="For a verb of your own: what it does to the food."
    )
    picture: PictureFile | None = Field(None, description="A picture of the step.")
    note: Words = Field("", description="A remark for the crew.")


class Process(Record):
    """standards/processes/<id>.yaml"""

    name: Words = Field(description="The process's name.")
    needs: IdList = Field((), description="The parts a formula must have.")
    steps: tuple[Step, ...] = Field(min_length=1, description="The steps in doing order.")
    note: Words = Field("", description="A remark.")

    def step_ids(self) -> tuple[str, ...]:
        """Each step's id: its own, else its verb."""
        return tuple(step.id or step.do for step in self.steps)

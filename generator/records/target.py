"""What the chef wants at a step: where it is measured, how hot or cold, and how long."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import PlainValidator, WithJsonSchema

from generator.files.finding import Refused
from generator.files.source_text import Mapping
from generator.measures.ranges import Span, TemperatureSpan, read_span, read_temperatures
from generator.measures.temperature import Temperature
from generator.measures.words import breakable
from generator.records.fields import SCALE, refusal, text_of


@dataclass(frozen=True)
class Target:
    """What the chef wants at a step: ``core`` or ``surface`` with an optional hold, or
    ``to``/``below``/``at``.

    ``from_formula`` means the words "from the formula".
    """

    kind: Literal["core", "surface", "to", "below", "at", "from-formula"]
    degrees: TemperatureSpan | None = None
    hold: Span | None = None
    text: str = ""

    @property
    def coolest(self) -> Temperature | None:
        """The lower end of its temperature: the worse one for food that is cooked or held hot."""
        return self.degrees.coolest if self.degrees is not None else None

    @property
    def warmest(self) -> Temperature | None:
        """The upper end of its temperature: the worse one for food that is chilled or held cold."""
        return self.degrees.warmest if self.degrees is not None else None


_TARGET = re.compile(r"(core|surface|to|below|at)\s+(.+?)(?:\s+for\s+(.+))?", re.IGNORECASE)


def read_target(text: str) -> Target:
    """``core 75 °C``, ``core 57 °C for 90 min``, ``surface 64 °C``, ``below 4 °C``, ``to 4 °C``,
    ``at 63 °C``, ``from the formula``. Raises Refused."""
    typed = " ".join(text.split())
    if typed.lower() == "from the formula":
        return Target("from-formula", text=typed)
    match = _TARGET.fullmatch(typed)
    if match is None:
        raise _without_a_place(typed)
    kind = match[1].lower()
    held = f" for {match[3]}" if match[3] else ""
    try:
        degrees = read_temperatures(match[2])
    except Refused as refused:
        if refused.code == "temperature-without-unit":
            fixes = _worth_offering(kind, refused.write)
            refused = Refused(refused.code, refused.message, refused.help, fixes)
        raise _behind(refused, f"{match[1]} ", held) from None
    try:
        hold = read_span(match[3]) if match[3] else None
    except Refused as refused:
        raise _behind(refused, f"{match[1]} {match[2]} for ", "") from None
    return Target(kind, degrees, hold, typed)  # type: ignore[arg-type]


_COOLEST_CORE, _WARMEST_TO = Temperature.of(40, "°C"), Temperature.of(50, "°C")
_HOTTEST_CORE = Temperature.of(130, "°C")
"""Within these a figure is offered for a core that cooks, or for food that is chilled: no limits,
only what is worth offering."""


def _fits(kind: str, degrees: TemperatureSpan) -> bool:
    """Whether a temperature is worth offering as a target of this kind."""
    if kind in ("core", "surface"):
        return degrees.coolest >= _COOLEST_CORE and degrees.warmest <= _HOTTEST_CORE
    return degrees.warmest <= _WARMEST_TO if kind in ("to", "below") else True


def _plain(text: str) -> str:
    """A target as a chef types it; a range behind `to` by a dash."""
    kind, _, rest = breakable(text).partition(" ")
    return f"{kind} {rest.replace(' to ', '–') if kind == 'to' else rest}"


def _without_a_place(typed: str) -> Refused:
    """Why a text that doesn't say where it is measured is no target, with the targets it may be."""
    try:
        degrees = read_temperatures(typed)
    except Refused as refused:
        if refused.code not in ("temperature-without-unit", "range-doubtful"):
            return Refused(
                "target-unreadable",
                f"`{typed[:60]}` is not a target.",
                "Write where it is measured, the temperature and, if held, how long, as in core "
                "75 °C, core 68 °C for 2 min or to 4 °C.",
                _behind_other_words(typed),
            )
        fixes = [t for fix in refused.write for t in _targets_of(read_temperatures(fix))]
        fixes = [t for t in fixes if t.startswith("core")] or fixes
        return Refused(refused.code, refused.message, refused.help, fixes)
    return Refused(
        "target-unreadable",
        f"`{typed}`: measured where?",
        "Measure a cooking target in the core. A chilling target is the temperature to reach.",
        _targets_of(degrees),
    )


def _behind_other_words(typed: str) -> list[str]:
    """The targets a temperature behind words of a chef's own may be: "internal 70 °C"."""
    words = re.match(r"[^\d+−-]{3,30}(?<=[\s:])", typed)
    if words is None:
        return []
    temperature, for_, hold = typed[words.end() :].partition(" for ")
    try:
        held = f"{for_}{read_span(hold).text}" if for_ else ""
        found = _targets_of(read_temperatures(temperature))
    except Refused:
        return []
    return [f"{one}{held}" for one in found if not held or one.startswith("core")]


def _targets_of(degrees: TemperatureSpan) -> list[str]:
    """What a temperature may be as a target: of a core that cooks, or to be chilled to."""
    return [_plain(f"{kind} {degrees}") for kind in ("core", "to") if _fits(kind, degrees)]


def _worth_offering(kind: str, fixes: Sequence[str]) -> list[str]:
    """The temperatures that fit a kind of target; all of them where none does."""
    fitting = [fix for fix in fixes if _fits(kind, read_temperatures(fix))]
    return fitting or list(fixes)


def _behind(refused: Refused, before: str, after: str) -> Refused:
    """A refusal of one half of a target, its fixes whole targets again."""
    write = [f"{before}{fix}{after}" for fix in refused.write]
    return Refused(refused.code, refused.message, refused.help, write)


def _target(value: Any) -> Target:
    if isinstance(value, Mapping):
        if len(value) == 1:
            key, inner = next(iter(value.items()))
            value = f"{key} {text_of(inner)}"
        else:
            raise refusal(
                Refused(
                    "target-unreadable", "Write a target on one line.", "As in target: core 75 °C."
                )
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
            "form": "core, surface, to, below or at, a temperature and, if held, for how long.",
            "examples": [
                "core 75 °C",
                "core 68 °C for 2 min",
                "surface 64 °C",
                "to 4 °C",
                "below 4 °C",
                "at 60 °C",
                "from the formula",
            ],
            "anyOf": [
                {"type": "string", "pattern": f"^[Ff]rom the formula$|{SCALE['pattern']}"},
                {
                    "type": "object",
                    "propertyNames": {"pattern": "^(core|surface|to|below|at)$"},
                    "additionalProperties": {"type": "string"},
                    "minProperties": 1,
                    "maxProperties": 1,
                },
            ],
        }
    ),
]

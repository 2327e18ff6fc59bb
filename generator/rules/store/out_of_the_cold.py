"""Whether food that isn't known to keep is kept out of the cold: said, or by its steps, or because
nothing says where it is kept. What is left unsaid counts as the worst that could be written there.

How long food stands at a step before that counts as keeping it is a working rule of this manual.
"""

from __future__ import annotations

from fractions import Fraction
from typing import NamedTuple

from generator.files.finding import Finding, Place, Severity
from generator.measures.rounding import total
from generator.measures.words import duration, with_verb
from generator.records.effects import CHANGES, HEATS
from generator.resolve.joined import House, JoinedStep
from generator.rules.basics.context import DAY_S, EndContext, EndOutcome
from generator.rules.basics.product import Component
from generator.rules.cold.holding import held_cold

COLD_OR_PAPER = (
    "Keep it cold: write `cold`. Or name the paper that shows that it keeps: `not_tcs: {reason: …, "
    "document: …}`."
)
_WHERE = (
    "Where is it kept, and how long? Keep it cold: write `keeps: {cold: 3 days}`, and end its "
    "process with `do: store`, `in:` a refrigerator. Is nothing kept? End it with `do: serve`. Or "
    "name the paper that shows that it keeps: `not_tcs: {reason: …, document: …}`."
)
_AT_ITS_STEP = (
    "Put it into a refrigerator at that step (`in`). Or name the paper that shows that it keeps: "
    "`not_tcs: {reason: …, document: …}`."
)

_ELSEWHERE = HEATS | CHANGES | {"holds-hot", "cleans"}


class KeptOut(NamedTuple):
    """How food is kept out of the cold: in words behind "is", for how many ``seconds`` (None where
    nobody says), where that is written, how to answer, and whether another formula takes it in."""

    words: str
    seconds: Fraction | None
    place: Place
    help: str
    passed_on: bool

    @property
    def unsaid(self) -> bool:
        """Whether nothing says that it is kept so: it may be, for all that is written."""
        return self.seconds is None

    @property
    def beyond_a_day(self) -> bool:
        """Whether it is kept so for more than a day, or nobody says for how long."""
        return self.seconds is None or self.seconds > DAY_S

    def said(self, inside: str = "") -> str:
        """How it is kept, a sentence behind "is", with what is ``inside``: "with Thyme in oil"."""
        if self.unsaid:
            return f"{f'kept {inside}'.strip()}. Nothing says where, or how long."
        return f"{self.words}{', ' if inside else ''}{inside}."

    def severity(self, stated: Severity) -> Severity:
        """How a finding counts that is ``stated`` of food whose formula says that it is kept out of
        the cold: food that another formula takes in may be used at once, and is asked about."""
        return "warning" if self.passed_on else stated


def found_moist(
    context: EndContext, kept: KeptOut, severity: Severity, words: str, source: str, more: str = ""
) -> EndOutcome:
    """The finding of food that is ``kept`` out of the cold; ``more`` is another way to answer."""
    formula = context.formula.formula
    finding = Finding(
        "kept-moist",
        kept.severity(severity),
        f"{with_verb(formula.name, 'is')} {words}",
        kept.place,
        f"{kept.help} {more}".strip(),
        source=source,
        about=frozenset({context.formula.id}),
    )
    return EndOutcome((), (finding,))


def kept_out(context: EndContext, parts: list[Component]) -> KeptOut | None:
    """How food with ``parts`` in it is kept out of the cold; None where it isn't."""
    formula, keeps = context.formula.formula, context.formula.formula.keeps
    if keeps is not None and keeps.dry is not None:
        place = keeps.place("dry")
        words = "kept out of the cold"
        return KeptOut(words, keeps.dry.seconds, place, COLD_OR_PAPER, False)
    since = _together(context, parts)
    stood = total(_warm_s(context.house, step) for step in since)
    if stood > DAY_S:
        words = f"out of the cold for {duration(stood)} by its steps"
        return KeptOut(words, stood, formula.key_place("name"), _AT_ITS_STEP, False)
    cold = (keeps.cold or keeps.frozen) if keeps is not None else None
    if cold is not None:
        return _stored_warm(context.house, since, cold.seconds)
    if context.fate.served or context.product.frozen or _put_into_the_cold(context.house, since):
        return None
    passed_on = bool(context.formula.used_in)
    return KeptOut("kept", None, formula.key_place("name"), _WHERE, passed_on)


def _stored_warm(house: House, steps: tuple[JoinedStep, ...], seconds: Fraction) -> KeptOut | None:
    """Food whose formula says that it is kept cold, and whose last step of storing says that its
    place is warmer; None of any other."""
    last = next((s for s in reversed(steps) if "stores" in s.effects), None)
    if last is None or last.step.at is None or in_the_cold(house, last):
        return None
    words = f"kept cold by its formula, and stored at {last.step.at}"
    return KeptOut(words, seconds, last.step.place("at"), _AT_ITS_STEP, False)


def _together(context: EndContext, parts: list[Component]) -> tuple[JoinedStep, ...]:
    """The steps from the one on that takes the last of some parts in."""
    formula = context.formula
    return formula.since(max(formula.taken_at({c.part}) for c in parts))


def _put_into_the_cold(house: House, steps: tuple[JoinedStep, ...]) -> bool:
    """Whether the last of some steps that stores food does so in a cold place; where none stores
    it, whether one is in a cold place at all."""
    stores = [step for step in steps if "stores" in step.effects]
    return any(in_the_cold(house, step) for step in stores[-1:] or steps)


def _warm_s(house: House, step: JoinedStep) -> Fraction:
    """The seconds food stands out of the cold at a step; none where that heats it, or changes it by
    a plan, which has rules of its own."""
    time = step.step.time
    if time is None or step.effects & _ELSEWHERE or in_the_cold(house, step):
        return Fraction(0)
    return time.longest


def in_the_cold(house: House, step: JoinedStep) -> bool:
    """Whether a step is in a cold place, or says that its place is as cold."""
    cold, at = held_cold(house), step.step.at
    if step.cold is not None:
        return True
    most = cold[1].value if cold is not None else None
    return at is not None and most is not None and at.warmest <= most

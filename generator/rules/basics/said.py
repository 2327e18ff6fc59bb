"""Words of a step that say more of the work than its keys do: a question, no limit.

A working rule of this manual. No program reads all that a cook is asked to do; it reads a word like
*vacuum* or *mince*, and whatever rule hangs on it then asks for the effect that would call it.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Callable
from fractions import Fraction

from generator.files.finding import Finding
from generator.measures.temperature import Temperature, TemperatureDifference
from generator.measures.words import listed
from generator.resolve.joined import House
from generator.rules.basics.context import NOTHING, Outcome, StepContext


def which_is_meant(context: StepContext) -> str:
    """What a step's verb may be meant for, as a question with the verb to write for each, where it
    is a word of several trades; empty if it isn't."""
    verb = context.house.library.verbs.get(context.step.step.do)
    if verb is None or not verb.either:
        return ""
    ways = [f"{words}: `do: {other}`" for other, words in verb.either.items()]
    return f"“{verb.name}” has several meanings. Which is it? {_first_big('; '.join(ways))}. "


def _first_big(words: str) -> str:
    return words[:1].upper() + words[1:]


def _two_meanings(context: StepContext) -> list[Finding]:
    """Asked of a word of several trades where nothing at the step says what happens to food that
    needs the cold: how warm it is, or how warm it gets. What thaws is asked by the law on that."""
    step, asks = context.step, which_is_meant(context)
    stated = step.cold is not None or step.step.at is not None or step.target is not None
    if not asks or stated or "thaws" in step.effects or step.step.does:
        return []
    return [
        context.finding(
            "verb-ambiguous",
            "warning",
            f"{step.verb}: this word has several meanings, and nothing here says which.",
            f"{asks}Or keep the word, and write how warm its place is (`at`).",
            place=step.step.place("do"),
        )
    ]


_FIGURE = re.compile(r"(?<![\w.,-])(\d{2,3}(?:[.,]\d)?)\s?°\s?([CF])\b")
"""A temperature in free words, with either decimal mark: nobody is held to one there."""
_WARM = Temperature.of(30, "°C")
"""Below it a figure in the words of a cook is a cold place's, or a dough's."""
_CARRIED = TemperatureDifference(Fraction(10), "°C")
"""How far a joint may rise once it is out of the oven: a figure nearer to the target than this may
be meant so."""


def said_otherwise(context: StepContext) -> Outcome:
    """Asked where the words of a step say an effect that no step of the formula has, or a
    temperature far below the target of the step."""
    if not context.before.needs_cold:
        return NOTHING
    found = [*_effects(context), *_figures(context), *_two_meanings(context)]
    return Outcome((), tuple(found)) if found else NOTHING


_PACKED = frozenset({"packs"})
"""What the name of a machine says is read of a step that closes a pack, and of a verb of the
kitchen's own: a vacuum filler fills, and packs nothing."""


def _effects(context: StepContext) -> list[Finding]:
    step, library = context.step, context.house.library
    texts = [*step.step.how, *([step.verb] if step.step.do not in library.verbs else [])]
    if step.machine is not None and (step.effects & _PACKED or step.step.do not in library.verbs):
        texts.append(step.machine.name)
    if step.vessel is not None and step.effects & {"packs", "fills"}:
        texts.append(step.vessel.name)
    if step.effects & _PACKED and _cooked_in_it(context):
        texts.append(context.formula.formula.name)
    said = _says_any(context.house)
    return _unsaid(context, texts) if any(map(said, texts)) else []


def _says_any(house: House) -> Callable[[str], bool]:
    """Whether a text has any word that says an effect: of each text once, as many steps say the
    same."""

    def asked() -> Callable[[str], bool]:
        search = any_of(house.library.said_words).search
        return functools.lru_cache(4096)(lambda text: search(text) is not None)

    return house.once("said", house.library, asked)


def _cooked_in_it(context: StepContext) -> bool:
    """Whether food is packed raw or warm and a later step cooks it, as sous vide is: then the name
    of the formula counts too. Of food that is packed when it is done it may name a part of it."""
    return any("cooks" in later.effects for later in context.formula.after(context.step.number))


def _unsaid(context: StepContext, texts: list[str]) -> list[Finding]:
    step, library = context.step, context.house.library
    has = {e for s in context.formula.steps for e in s.effects}
    found: list[Finding] = []
    for effect, said in library.said.items():
        if has & {effect, *said.or_}:
            continue
        words = [w for w in said.words if any(_holds(text, w) for text in texts)]
        if words:
            found.append(
                context.finding(
                    "words-say-more",
                    "error" if said.binds else "warning",
                    f"{step.verb}: its words say {listed([f'“{w}”' for w in words])}, but no "
                    f"step of the formula `{effect}`.",
                    f"Is that done? Write `does: {effect}` at this step. If not, use other words.",
                    place=step.step.place("how" if step.step.how else "do"),
                )
            )
    return found


def _holds(text: str, word: str) -> bool:
    return _whole(word).search(text) is not None


@functools.cache
def any_of(words: tuple[str, ...]) -> re.Pattern[str]:
    """Finds a text with one of the words in it: most have none, and are looked over once."""
    return re.compile(rf"\b(?:{'|'.join(map(re.escape, words))})\b", re.IGNORECASE)


@functools.cache
def _whole(word: str) -> re.Pattern[str]:
    return re.compile(rf"\b{re.escape(word)}\b", re.IGNORECASE)


def _read(match: re.Match[str]) -> Temperature:
    figure = Fraction(match[1].replace(",", "."))
    return Temperature.of(figure, "°C" if match[2] == "C" else "°F")


def _figures(context: StepContext) -> list[Finding]:
    step, target = context.step, context.step.target
    if "cooks" not in step.effects or target is None or target.coolest is None:
        return []
    if target.kind != "core":
        return []
    below = [
        match[0]
        for text in step.step.how
        for match in _FIGURE.finditer(text)
        if (said := _read(match)) > _WARM and said + _CARRIED < target.coolest
    ]
    if not below:
        return []
    return [
        context.finding(
            "words-say-more",
            "warning",
            f"{step.verb}: its words say {listed(below)}, but its target is {target.text}.",
            "Which is right? Delete the figure in the words, or correct the target.",
            place=step.step.place("how"),
        )
    ]

"""What a batch gives, in a word or two."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from generator.measures.kilos import kilos
from generator.measures.rounding import half_up
from generator.measures.words import NARROW, counted, plain
from generator.records.makes import Makes
from generator.records.process import Left
from generator.records.yields import StepYield
from generator.resolve.joined import JoinedFormula
from generator.rules.basics.limit import figure_of
from generator.rules.cold.holding import held_cold
from generator.scaling.batch import Yields
from generator.sheet.outputs import Output
from generator.sheet.sheet import Batch, Sheet
from generator.sheet.walk import WalkedStep
from generator.sheet.weighing import piece_words

_THEN = {
    "thrown-away": "throw it away",
    "kept": "keep it",
    "used-again": "it is used again",
    "goes-on": "it goes its own way",
}


@dataclass(frozen=True)
class OutputView:
    """What else comes out: its weight, at which step, what becomes of it."""

    name: str
    weight: str
    step: str
    then: str


def output_views(sheet: Sheet, batch: Batch) -> tuple[OutputView, ...]:
    """What drains or stays behind in a batch, as the page and the sheet say it."""
    return tuple(
        OutputView(
            one.name[:1].upper() + one.name[1:],
            kilos(one.grams),
            f"Step {one.step.number}, {one.step.verb.lower()}",
            _then(sheet, one),
        )
        for one in batch.outputs
    )


def _then(sheet: Sheet, one: Output) -> str:
    """What becomes of it, how cold it is kept, what the meat took up of a pickle."""
    words = [_THEN[one.then]]
    if one.kept_as:
        words[0] = f"kept by a standard of its own: {one.kept_as}"
    elif one.then == "kept" and one.cold and (held := held_cold(sheet.house)) is not None:
        row = held[1]
        if row.value is not None:
            figure = figure_of(row.value, row.printed, "max", sheet.house.probe.accuracy)
            unit = sheet.house.kitchen.temperature
            shown = f"{plain(figure.asked(unit, None))}{NARROW}{unit}"
            words[0] = _kept_cold(one, shown)
    if one.cover_g is not None and one.taken_up_g is not None:
        words.append(f"of {kilos(one.cover_g)} the meat took up {kilos(one.taken_up_g)}")
    return "; ".join(words)


def _kept_cold(one: Output, shown: str) -> str:
    """How what needs the cold is kept: like the food, or where that needs none, on its own."""
    if one.alone:
        first = "chill it at once, then " if one.warm else ""
        return f"{first}keep it cold, unlike the food: the probe must read {shown} or colder"
    first = "chill it like the food, then " if one.warm else ""
    return f"{first}keep it cold, like the food: the probe must read {shown} or colder"


def tests_words(found: StepYield) -> str:
    """Yield tests in words: their mean, and how far they spread."""
    mean = f"{plain(found.mean * 100, 1)}{NARROW}%"
    if found.spread is None:
        return f"{counted(found.tests, 'test')}: {mean}; how far it varies isn't known"
    spread = f"{plain(found.spread * 100, 1)}{NARROW}%"
    return (
        f"{counted(found.tests, 'test')}: mean {mean}, sample standard deviation {spread} of the "
        "weight"
    )


def weight_words_of(walked: WalkedStep) -> tuple[str, str] | None:
    """What a step makes of its weight, as a name and words: by tests, a range, a gain; None for a
    plain loss, which the weights themselves show."""
    found, record = walked.step.yields, walked.step.step
    if found is None:
        return None
    if found.tests:
        return "Yields", tests_words(found)
    if record.loses is not None and found.varies:
        return "Loses", f"{record.loses.words} of its weight"
    return ("Gains", f"{record.gains.words} of its weight") if record.gains is not None else None


def left_words(name: str, left: Left) -> str:
    """What stays behind at a step: how much of it, and what becomes of it."""
    of = f" of the {left.of.replace('-', ' ')}" if left.of is not None else " of what comes in"
    share = f", {plain(left.share * 100)}{NARROW}%{of}" if left.share is not None else ""
    return f"the {name.replace('-', ' ')}{share}: {_THEN[left.then]}"


def from_to_words(batch: Batch) -> str:
    """What can be served, at least and at most; empty where no yield varies."""
    if batch.from_to is None:
        return ""
    low, high = batch.from_to
    counted_by = ""
    if batch.yields.portions is not None or batch.yields.fills is not None:
        counted_by = ". Counted by the low end"
    return f"{kilos(low)} to {kilos(high)}{counted_by}"


def gets_words(formula: JoinedFormula, batch: Batch) -> tuple[str, str]:
    """What a batch gives: ("160 slices", "of 30 g"), or ("9.7 kg", "")."""
    yields, makes = batch.yields, formula.formula.makes
    if makes is not None and yields.portions is not None and yields.portion_g is not None:
        noun = makes.portion_unit or "portion"
        return counted(
            yields.portions, noun, makes.portion_units or None
        ), f"of {each_words(yields)}"
    if makes is not None and yields.fills is not None:
        return counted(yields.fills, makes.unit, makes.plural), ""
    return kilos(yields.yield_g), ""


def fills_words(formula: JoinedFormula, batch: Batch) -> str:
    """The fills a batch makes: "4 tubs", "4 tubs and one of 2 legs" where the last isn't full."""
    yields, makes = batch.yields, formula.formula.makes
    assert makes is not None and yields.fills is not None
    whole = counted(yields.fills, makes.unit, makes.plural)
    if not yields.rest_pieces:
        return whole
    line = next(ln.line for ln in batch.lines if ln.whole_pieces)
    rest = counted(yields.rest_pieces, *piece_words(line))
    return f"{whole} and one of {rest}" if yields.fills else f"1{NARROW}{makes.unit} of {rest}"


def over_words(yields: Yields) -> str:
    """What is over behind the last whole fill, in kilos; empty where a fill that isn't full holds
    it."""
    return kilos(yields.rest_g) if yields.rest_g and not yields.rest_pieces else ""


def over_as_filled(yields: Yields) -> bool:
    """Whether what is over behind the last whole fill weighs otherwise once it is finished: it was
    weighed as it is filled, before it lost or gained."""
    return bool(over_words(yields)) and yields.filled_g not in (None, yields.yield_g)


def fill_words(makes: Makes | None, grams: Fraction) -> str:
    """What one fill is: "900 g"; "1 l, 605 g"; "about 235 g" of a piece."""
    if makes is not None and makes.fill_volume is not None:
        return f"{makes.fill_volume.text}, {_whole(grams)}"
    if makes is not None and makes.piece is not None:
        return f"about {_whole(grams)}"
    return kilos(grams)


def each_words(yields: Yields) -> str:
    """What one portion weighs: "30 g"; "about 228 g, 203 g to 260 g" where pieces differ; without
    what its pieces lie in, which is said behind it."""
    assert yields.portion_g is not None
    beside = yields.beside_g
    each = _whole(yields.portion_g - beside)
    more = f", and {_whole(beside)} each of what it lies in" if beside else ""
    if yields.portion_from_g is None or yields.portion_to_g is None:
        return f"about {each}{more}" if beside else each
    low, high = _whole(yields.portion_from_g - beside), _whole(yields.portion_to_g - beside)
    return f"about {each}, {low} to {high}{more}"


def _whole(grams: Fraction) -> str:
    return kilos(half_up(grams) if grams >= 10 else grams)

"""Each machine's loads at its step: by what it takes in weight, and by what its bowl holds."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from generator.files.finding import Finding, Refused
from generator.measures.basis import Basis
from generator.measures.kilos import kilos, kilos_step
from generator.measures.words import NARROW, counted, listed, plain
from generator.records.effects import HEATS
from generator.resolve.joined import House
from generator.scaling.batch import Stock
from generator.scaling.loads import (
    Counted,
    Loads,
    Unfit,
    equal_loads,
    open_ended,
    whole_piece_loads,
)
from generator.sheet.lots import Lot, lots_of
from generator.sheet.outputs import yields_of
from generator.sheet.step_loads import StepLoads, take_on
from generator.sheet.takes import Takes, handed_at, litres_words, takes_of
from generator.sheet.waiting import (
    Waiting,
    all_at_once,
    holds_too_little,
    meetings,
    meets_too_late,
    needs_its_time,
    run_not_timed,
    waiting_at,
    waits_too_long,
)
from generator.sheet.walk import Walk, WalkedStep

_REPORTED = Fraction(1, 10)
"""From this share of the weight on, an assumed volume is reported beside the loads it sets."""


@dataclass(frozen=True)
class _Size:
    """A size that does: its factor, and its words."""

    factor: Fraction
    words: str


@dataclass(frozen=True)
class _Misfit:
    """A size that a step or the vessels don't allow, and the factors that would do."""

    unfit: Unfit
    more: Fraction | None
    less: Fraction | None


def loads_of(
    house: House, walk: Walk, factor: Fraction, stock: Stock | None = None
) -> tuple[StepLoads, ...]:
    """Each machine's loads. Raises Refused, with sizes that do, where no load is possible: of what
    is made of a ``stock``, only such as it gives."""
    found = _tried(house, walk, factor)
    if not isinstance(found, _Misfit):
        return found
    unfit = found.unfit
    more = _that_does(house, walk, found.more, "more")
    less = _that_does(house, walk, found.less, "less")
    if stock is None:
        help = _sizes_that_do(unfit, more, less)
    else:
        help = _of_the_stock(unfit, stock, more, less)
    raise Refused(unfit.code, unfit.message, help)


def _of_the_stock(unfit: Unfit, stock: Stock, more: _Size | None, less: _Size | None) -> str:
    """The size that does and that there is enough for; and what a larger one takes."""
    found = [f"Make {less.words}."] if less is not None else []
    if more is not None:
        found.append(_takes_more(stock, more))
    help = unfit.help if found else unfit.help.removeprefix("Or ")
    found.append(help[:1].upper() + help[1:])
    return " ".join(filter(None, found))


def _takes_more(stock: Stock, more: _Size) -> str:
    """How much of each item a size takes that the stock is too small for."""
    needs = listed(
        [
            f"{kilos(_up(grams))} of {item.replace('-', ' ')}"
            for item, grams in stock.lacking(more.factor).items()
        ]
    )
    return f"For {more.words} you need {needs}." if needs else f"Make {more.words}."


def _up(grams: Fraction) -> Fraction:
    """A weight rounded up to what is shown of it."""
    step = kilos_step(grams)
    return math.ceil(grams / step) * step


def larger_that_does(house: House, walk: Walk, factor: Fraction) -> tuple[Fraction, str] | None:
    """The nearest factor above one that is too small for a machine at which every step has its
    loads, with its words ("38 sausages"); None where there is none, or nothing is too small."""
    found = _tried(house, walk, factor)
    size = _that_does(house, walk, found.more, "more") if isinstance(found, _Misfit) else None
    return None if size is None else (size.factor, size.words.removesuffix(" or more"))


def with_a_size_that_does(
    house: House, walk: Walk, refused: Refused, stock: Stock | None = None
) -> Refused:
    """A refusal of less than one piece, with the nearest size that every step allows, and what that
    takes where it was to be made of a ``stock``; any other as it is."""
    pieces = walk.figures.pieces
    if refused.code != "size-below-a-piece" or pieces is None:
        return refused
    size = _that_does(house, walk, Fraction(1, pieces), "more")
    help = ""
    if size is not None:
        help = f"Make {size.words}." if stock is None else _takes_more(stock, size)
    return Refused(refused.code, refused.message, help, refused.write)


def _sizes_that_do(unfit: Unfit, more: _Size | None, less: _Size | None) -> str:
    """The sizes that would do, in the formula's own words."""
    found = (more and more.words, less and f"{less.words} at most")
    sizes = ", or ".join(words for words in found if words)
    if not sizes:
        help = unfit.help.removeprefix("Or ")
        return help[:1].upper() + help[1:]
    return " ".join(w for w in (f"Make {sizes}.", unfit.help) if w)


_TRIES = 20
"""How many sizes are tried, each the nearest that the step which refused the last one allows."""


def _that_does(
    house: House, walk: Walk, factor: Fraction | None, side: Literal["more", "less"]
) -> _Size | None:
    """The nearest size to a factor that every step allows, in the formula's own words; None where
    there is none. "Or more" is said only where every larger one does, too."""
    for _ in range(_TRIES):
        size = _in_own_words(walk, factor, side) if factor is not None else None
        if size is None:
            return None
        at, words = size
        found = _tried(house, walk, at)
        if not isinstance(found, _Misfit):
            or_more = side == "more" and _any_larger(house, walk, at, found)
            return _Size(at, f"{words} or more" if or_more else words)
        factor = found.more if side == "more" else found.less
        if factor is None or (factor <= at if side == "more" else factor >= at):
            return None
    return None


_MORE_TRIES = 60
"""How many larger counts are tried until every machine is sure to make loads of any."""


def _any_larger(house: House, walk: Walk, factor: Fraction, found: tuple[StepLoads, ...]) -> bool:
    """Whether every larger batch has loads, too, and vessels. What is counted only comes in whole
    fills or portions: weights in between need none."""
    vessel = walk.formula.vessel
    bounded = vessel is not None and vessel.count is not None
    if bounded or next(meetings(house, walk), None) is not None:
        return False
    counts = _counted_at_one(walk)
    for more in range(1, _MORE_TRIES + 1):
        if all(one.open_ended for one in found):
            return True
        if counts is None:
            return False
        larger = _tried(house, walk, factor + more / counts[0])
        if isinstance(larger, _Misfit):
            return False
        found = larger
    return False


def _in_own_words(
    walk: Walk, factor: Fraction, side: Literal["more", "less"]
) -> tuple[Fraction, str] | None:
    """A size near a factor that can be asked for, and its words: whole fills, else whole portions,
    else a weight in total."""
    figures = walk.least or walk.figures
    whole = math.ceil if side == "more" else math.floor
    counts = _counted_at_one(walk)
    if counts is not None:
        at_one, one, many = counts
        count = whole(factor * at_one)
        return (count / at_one, counted(count, one, many)) if count else None
    step = kilos_step(factor * figures.total)
    grams = whole(factor * figures.total / step) * step
    return (grams / figures.total, f"{kilos(grams)} total") if grams else None


def _counted_at_one(walk: Walk) -> tuple[Fraction, str, str | None] | None:
    """How many fills, else portions, the formula as written makes, and what one and more of them
    are called; None where it counts nothing."""
    figures, makes = walk.least or walk.figures, walk.formula.formula.makes
    if makes is None:
        return None
    if figures.fills:
        return figures.fills, makes.unit, makes.plural
    if figures.portion and figures.yielded:
        one = makes.portion_unit or "portion"
        return figures.yielded / figures.portion, one, makes.portion_units or None
    return None


def _tried(house: House, walk: Walk, factor: Fraction) -> tuple[StepLoads, ...] | _Misfit:
    """Each machine's loads at a factor, or the first thing that doesn't allow it."""
    unfit = _too_few_vessels(walk, factor)
    fills = (walk.least or walk.figures).fills or Fraction(1)
    if unfit is not None:
        return _misfit(unfit, fills)
    found: list[StepLoads] = []
    lots = lots_of(walk)
    for index, walked in enumerate(walk.steps):
        lot = lots.get(walked.step.number)
        takes = takes_of(walk, walked)
        if takes is not None:
            whole = _counted(walked, lot, factor)
            one = _step_loads(house, walk, index, takes, factor, whole, lot)
            if isinstance(one, Unfit):
                return _misfit(one, walked.before.mass if whole is None or not lot else lot.many)
            found.append(one)
            take_on(walk, walked, found, takes, factor, whole, lots)
    late = _late_for_a_meeting(house, walk, found)
    return tuple(found) if late is None else _misfit(late, Fraction(1))


def _late_for_a_meeting(house: House, walk: Walk, found: list[StepLoads]) -> Unfit | None:
    """Why a stream would wait too long until the runs of other food are done."""
    if walk.formula.ways is None:
        return None  # one step after the other: nothing waits
    numbers = {one.step.id: one.step.number for one in walk.steps}
    runs = {numbers[one.step]: one.behind_s or Fraction(0) for one in found}
    late = (meets_too_late(meeting, runs) for meeting in meetings(house, walk))
    return next((one for one in late if one is not None), None)


def _misfit(unfit: Unfit, at_one: Fraction) -> _Misfit:
    """A misfit with its figures, which are ``at_one`` in the formula as written, as factors."""
    more = unfit.more / at_one if unfit.more is not None else None
    less = unfit.less / at_one if unfit.less is not None else None
    return _Misfit(unfit, more, less)


def _too_few_vessels(walk: Walk, factor: Fraction) -> Unfit | None:
    """Every fill of a batch needs a vessel of its own."""
    vessel, makes = walk.formula.vessel, walk.formula.formula.makes
    if vessel is None or vessel.count is None or makes is None:
        return None
    yields = yields_of(walk, factor)
    if yields.fills is None:
        return None
    need = yields.fills + (1 if yields.rest_g else 0)
    if need <= vessel.count:
        return None
    return Unfit(
        "vessels-too-few",
        f"{counted(need, makes.unit, makes.plural)} need {counted(need, 'vessel')}, and there are "
        f"{vessel.count}: {vessel.name}.",
        "Or check `count` of the vessel.",
        less=Fraction(vessel.count),
    )


def _counted(walked: WalkedStep, lot: Lot | None, factor: Fraction) -> Counted | None:
    """The whole fills or pieces at a step; None where the food isn't in any yet, or in less than
    one."""
    if lot is None:
        return None
    exact = lot.many * factor
    whole = math.ceil(exact) if lot.closed else math.floor(exact)
    if not whole:
        return None
    each = walked.before.mass / lot.many
    rest = Fraction(0) if exact <= whole else (exact - whole) * each
    return Counted(whole, each, rest)


def _step_loads(
    house: House,
    walk: Walk,
    index: int,
    takes: Takes,
    factor: Fraction,
    whole: Counted | None,
    lot: Lot | None,
) -> StepLoads | Unfit:
    """The loads of one machine at one step, or why there are none."""
    walked = walk.steps[index]
    grams = walked.before.mass * factor
    loads = _loads(takes, grams, whole, lot)
    if isinstance(loads, Unfit):
        return loads
    time = walked.step.step.time
    each_s = time.longest if time is not None else None
    waiting = waiting_at(house, walk, index)
    at_once = all_at_once(walk, walked.step.number)
    unfit = (
        holds_too_little(takes, loads, whole)
        if at_once
        else _in_turn(takes, loads, whole, each_s, waiting, walked.step.effects)
    )
    if unfit is not None:
        return unfit
    bound, room = _bound_by(takes, whole), takes.room
    timed = each_s is not None or needs_its_time(walked.step.effects)
    return StepLoads(
        walked.step.id,
        takes.ident,
        takes.name,
        loads,
        bound,
        loads.grams * room.ml_per_g if room is not None else None,
        _basis(takes, grams, loads, bound),
        _assumed(takes),
        each_s,
        waiting.how if loads.count > 1 else "",
        _open_ended(takes, loads, whole, at_once or (waiting.most is not None and timed)),
        bool(walked.step.effects & HEATS),
        *_handed(walk, walked, factor, loads),
        time.shortest if time is not None else None,
        waiting.most - waiting.before if waiting.most is not None else None,
    )


def _in_turn(
    takes: Takes,
    loads: Loads,
    whole: Counted | None,
    each_s: Fraction | None,
    waiting: Waiting,
    effects: frozenset[str],
) -> Unfit | None:
    """Why loads one after another won't do: the last waits too long, or nothing says how long."""
    if each_s is not None:
        return waits_too_long(takes, loads, whole, each_s, waiting)
    return run_not_timed(takes, loads, whole, waiting, effects)


def _handed(walk: Walk, walked: WalkedStep, factor: Fraction, loads: Loads) -> tuple[Fraction, str]:
    """What each of several loads that are weighed takes of what earlier steps gave, and which."""
    if loads.count == 1 or loads.pieces:
        return Fraction(0), ""
    found = handed_at(walk, walked)
    if found is None:
        return Fraction(0), ""
    return found.grams * factor / loads.count, found.words


def _loads(takes: Takes, grams: Fraction, whole: Counted | None, lot: Lot | None) -> Loads | Unfit:
    """Loads by weight, or of whole fills or pieces where the food is in such."""
    if whole is None or lot is None:
        return equal_loads(grams, takes.most, takes.least, takes.where)
    return _loads_of_fills(lot, takes, whole)


def _open_ended(takes: Takes, loads: Loads, whole: Counted | None, bounded: bool) -> bool:
    """Whether every larger batch has loads at a machine; ``bounded``: more runs wait for too long
    in the end."""
    each = whole.each if whole is not None else None
    capped = takes.most is not None or (each is not None and takes.places is not None)
    if bounded and capped:
        return False
    return open_ended(loads.count, each, takes.most, takes.least, takes.places)


def _assumed(takes: Takes) -> tuple[str, ...]:
    """What in a bowl has no measure, where it is more than a pinch."""
    room = takes.room
    if room is None or room.bulk.share < _REPORTED:
        return ()
    return tuple(name for name, _ in room.bulk.assumed)


def _bound_by(takes: Takes, whole: Counted | None) -> Literal["", "most", "bowl", "places"]:
    """What caps a load."""
    if whole is not None and takes.places is not None:
        by_weight = takes.most // whole.each if takes.most is not None else None
        if by_weight is None or takes.places < by_weight:
            return "places"
    if takes.by_bowl:
        return "bowl"
    return "most" if takes.written else ""


def _loads_of_fills(lot: Lot, takes: Takes, whole: Counted) -> Loads | Unfit:
    """Loads of whole fills or pieces."""
    words = (lot.one, lot.more, takes.said)
    return whole_piece_loads(whole, takes.most, takes.least, takes.places, takes.where, words)


_SETS = {
    "bowl": "; the bowl sets how much goes in",
    "places": "; its places set how many go in",
    "most": "; the machine's most sets how much goes in",
}
"""What caps a load, in words."""


def _basis(takes: Takes, grams: Fraction, loads: Loads, bound: str) -> Basis:
    room = takes.room
    inputs = [("At this step", kilos(grams))]
    if takes.written:
        inputs.append(("Takes", f"at most {takes.written}"))
    if takes.out > 1:
        inputs.append(("There at the end", f"{kilos(grams * takes.out)}, which has to go in"))
    if takes.places is not None:
        inputs.append(("Places", str(takes.places)))
    if room is not None:
        inputs.append(("Bowl", room.words))
        inputs.append(
            ("One load", f"{kilos(loads.grams)}, about {litres_words(loads.grams * room.ml_per_g)}")
        )
        for each in dict.fromkeys(ml for _, ml in room.bulk.assumed):
            names = listed([name for name, ml in room.bulk.assumed if ml == each])
            inputs.append(
                ("Assumed", f"{names}: {plain(each)}{NARROW}ml a gram, no measure is entered")
            )
    rule = "it fits in one load"
    if loads.count > 1:
        rule = "as few equal loads as fit" + _SETS.get(bound, "")
    return Basis(tuple(inputs), rule)


def assumed_findings(walk: Walk, step_loads: tuple[StepLoads, ...]) -> list[Finding]:
    """A note where the bowl sets the loads by an assumption: a measure would settle it."""
    found: list[Finding] = []
    for one in step_loads:
        if one.bound_by != "bowl" or one.loads.count == 1 or not one.assumed:
            continue
        place = next(s.step.step.place("with") for s in walk.steps if s.step.id == one.step)
        found.append(
            Finding(
                "volume-assumed",
                "note",
                f"{one.name}: its bowl sets the loads, and the volume of {listed(one.assumed)} "
                "is assumed.",
                place,
                "Enter a volume under the ingredient's `weighs`, with its `source`. The page "
                "shows what was assumed.",
                about=frozenset({walk.formula.id}),
            )
        )
    return found

"""What stays behind at a step: drained, pressed out, left in a brine or a marinade; and what the
meat didn't take up of its pickle."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from generator.files.finding import Finding
from generator.measures.words import listed
from generator.records.process import Left
from generator.resolve.joined import House, JoinedFormula, JoinedStep
from generator.rules.basics.product import Product
from generator.rules.basics.raw_juice import lay_in, only_juice
from generator.rules.cures.brining import after_taking_up, share_taken_up
from generator.rules.cures.dosing import pickle_parts, weight_of
from generator.sheet.walked import Leftover


def staying(house: House, before: Product, step: JoinedStep) -> Product:
    """The product without what stays behind: ``before`` is what came to the step."""
    product = after_taking_up(house, before, step)
    if not step.step.leaves:
        return product
    gone = {part: Fraction(0) for part in _parts(before)}
    for left in step.step.leaves.values():
        for part, share in _shares(before, left).items():
            gone[part] = gone.get(part, Fraction(0)) + share
    if not any(gone.values()):
        return product
    return product.part_of({part: 1 - share for part, share in gone.items()})


def leftovers(house: House, before: Product, step: JoinedStep) -> Iterator[Leftover]:
    """What stays behind at a step, each with its weight and all that touched it."""
    named = False
    for name, left in step.step.leaves.items():
        if left.share is not None:
            yield Leftover(name, left.then, before.part_of(_shares(before, left)), step.number)
        else:
            named = True
            yield from _rest_of_pickle(house, before, step, name, left.then)
    if not named:
        yield from _rest_of_pickle(house, before, step, "", "thrown-away")


def _rest_of_pickle(
    house: House, before: Product, step: JoinedStep, name: str, then: str
) -> Iterator[Leftover]:
    """What the meat didn't take up of its pickle, with how much of it that was."""
    if share_taken_up(step) is None:
        return
    parts = pickle_parts(house, before, step.parts)
    cover = weight_of(before, parts)
    taken_up = weight_of(after_taking_up(house, before, step), parts)
    rest = (cover - taken_up) / cover if cover else Fraction(0)
    if not (rest or name):
        return
    product = before.part_of({part: rest for part in parts})
    words = name or f"rest of {listed([p.replace('-', ' ') for p in sorted(parts)])}"
    yield Leftover(words, then, product, step.number, cover, taken_up)


def _parts(product: Product) -> tuple[str, ...]:
    return tuple(dict.fromkeys(c.part for c in product.components))


def _shares(before: Product, left: Left) -> dict[str, Fraction]:
    """How much of each part stays behind."""
    if left.share is None:
        return {}
    parts = _parts(before) if left.of is None else (left.of,)
    return dict.fromkeys(parts, left.share)


def raw_juice_kept(
    formula: JoinedFormula, step: JoinedStep, found: tuple[Leftover, ...], after: Product
) -> Iterator[Finding]:
    """A warning for each output that is kept and that raw food of an animal lay in, unless the step
    cooked it, as ``after`` says: nothing here says what becomes of it, and it counts as raw."""
    for one in found:
        juice = only_juice(one.behind(after).components)
        if one.name in formula.kept_as:
            continue  # its own steps say it
        if one.then != "kept" or one.name not in step.step.leaves or not juice:
            continue
        place = step.step.leaves[one.name].place("then")
        yield Finding(
            "raw-juice-kept",
            "warning",
            f"{step.verb} keeps `{one.name}`: {lay_in(juice)}. It counts as raw.",
            place,
            "Throw it away. Or take it at a later step (`then: used-again`) that cooks it to a "
            "core target.",
            (place.fixed("thrown-away"),),
            about=frozenset({formula.id}),
        )


def nothing_left(formula: str, step: JoinedStep, found: tuple[Leftover, ...]) -> Iterator[Finding]:
    """An error for each output with nothing in it: its part isn't in the food at this step, or all
    of the pickle was taken up."""
    for one in found:
        if one.product.mass or one.name not in step.step.leaves:
            continue
        of = step.step.leaves[one.name].of
        what = f"`{of}` isn't in the food here" if of is not None else "nothing is left here"
        yield Finding(
            "left-of-unknown",
            "error",
            f"{step.verb} leaves `{one.name}` behind, but {what}.",
            step.step.key_place("leaves", one.name),
            "Leave it at the step where it is, or delete it.",
            about=frozenset({formula}),
        )

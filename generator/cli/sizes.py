"""The batch that the size options ask for."""

from __future__ import annotations

import shlex
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from fractions import Fraction
from typing import Any

from generator.files.finding import Refused
from generator.measures.amounts import Amount, read_amount
from generator.measures.marks import whole_figures
from generator.measures.units import Units
from generator.measures.words import with_verb
from generator.records.formula import Size
from generator.records.size import counted_base
from generator.scaling.batch import OnHand, from_on_hand, stock_of
from generator.scaling.weights import UnitWeight, to_grams
from generator.sheet.machine_loads import with_a_size_that_does
from generator.sheet.measured_sizes import (
    base_pieces,
    grams_of_base,
    grams_of_pieces,
    not_by_volume,
)
from generator.sheet.sheet import Batch, Sheet, make_batch


def asked_batch(sheet: Sheet, options: dict[str, Any]) -> Batch | None:
    """The batch the size options ask for, or None without any."""
    on_hand = options.pop("on_hand")
    given = {kind.rstrip("_"): text for kind, text in options.items() if text is not None}
    if len(given) + bool(on_hand) > 1:
        raise Refused("size-twice", "One batch size at a time.", "Give one of the size options.")
    if on_hand:
        found = _on_hand(sheet, on_hand)
        return make_batch(
            sheet.house, sheet.walk, Size("base", sheet.walk.figures.base * found.factor), found
        )
    if not given:
        return None
    kind, text = next(iter(given.items()))
    try:
        size = _size(sheet, kind, str(text))
    except Refused as refused:
        # a line of a file may be deleted, what is typed here not; the script's words are the same
        help = "Write how much." if refused.code == "amount-zero" else refused.help
        write = list(_accepted(sheet, kind, refused.write))
        raise Refused(refused.code, refused.message, help, write) from None
    return make_batch(sheet.house, sheet.walk, size)


def _accepted(sheet: Sheet, kind: str, fixes: Iterable[str]) -> Iterator[str]:
    """Of what a refusal proposes the options that are taken as they are typed."""
    for fix in fixes:
        if fix.startswith("--"):
            yield fix
            continue
        try:
            _size(sheet, kind, fix)
        except Refused:
            continue
        yield f"--{kind} {shlex.quote(fix)}"


def asked_or_usual(sheet: Sheet, options: dict[str, Any]) -> Batch:
    """The batch the size options ask for; without any, that of the usual size. Raises Refused for
    a by-product without a size of its own: it comes out of another formula's batch."""
    found = asked_batch(sheet, options)
    if found is not None:
        return found
    if sheet.batches:
        return sheet.batches[0]
    of = sheet.formula.formula.by_product
    comes = f" It comes out of each batch of `{of.formula}`." if of is not None else ""
    raise Refused(
        "size-missing",
        f"{with_verb(sheet.name, 'has')} no batch size of its own.{comes}",
        "Give a size, or write `batches`" + (" under the by-product." if of is not None else "."),
        ["--total 5kg"],
    )


def _size(sheet: Sheet, kind: str, text: str) -> Size:
    if kind in ("portions", "fills"):
        if not text.isascii() or not text.isdigit() or len(text) > 6:
            raise Refused(
                "whole-number-expected",
                f"`{text}` is not a whole number of {kind}.",
                "Digits only. For part of one give a weight, as in --total 5kg.",
                list(whole_figures(text)),
            )
        amount = read_amount(f"{text} each", sheet.house.units)
        return Size(kind, amount.value, text)  # type: ignore[arg-type]
    amount = _counted(sheet, kind, text) or read_amount(text, sheet.house.units, pieces=False)
    if amount.kind == "count":
        grams = grams_of_pieces(sheet.walk, amount.value, amount.unit, text)
        return Size("base", grams, text)
    if amount.kind == "volume" and kind == "base":
        return Size("base", grams_of_base(sheet.walk, amount.value, text), text)
    if amount.kind == "volume":
        raise not_by_volume(sheet.walk, amount.value, text)
    if amount.kind != "mass":
        raise Refused("amount-wrong-kind", f"`{text}` is not a weight.", "", ["5kg"])
    return Size(kind, amount.value, text)  # type: ignore[arg-type]


def _counted(sheet: Sheet, kind: str, text: str) -> Amount | None:
    """So many pieces of the base. Raises Refused for a figure without a word, of a base that is
    counted."""
    if kind != "base":
        return None
    pieces = base_pieces(sheet.walk)
    if pieces and text.strip().isdigit():
        raise Refused(
            "amount-without-unit",
            f"{text} of what?",
            "Write what is counted or weighed.",
            [f"--base {text}{word}" for word in (*list(pieces)[:2], "kg")],
        )
    return counted_base(text, sheet.house.units)


def _on_hand(sheet: Sheet, given: tuple[str, ...]) -> OnHand:
    needs: dict[str, Any] = {}
    trims: dict[str, Any] = {}
    weights: dict[str, tuple[UnitWeight, ...]] = {}
    for line in sheet.walk.lines:
        item = line.joined.item
        needs[item] = needs.get(item, 0) + line.grams
        weights[item] = line.unit_weights
        facts = line.joined.ingredient
        if facts is not None and facts.trim_share:
            trims[item] = facts.trim_share
    have: dict[str, Any] = {}
    for entry in given:
        item, sign, text = entry.partition("=")
        if not sign:
            raise without_amount(entry, needs)
        item = item.strip()
        if item in have:
            raise on_hand_twice(item)

        def grams(text: str, item: str = item) -> Fraction:
            amount = on_hand_amount(text, sheet.house.units)
            return to_grams(amount, weights.get(item, ()), item).grams

        have[item] = on_hand_of(item, text, grams)
    try:
        return from_on_hand(have, needs, trims, sheet.walk.figures)
    except Refused as refused:
        raise _not_of_the_stock(sheet, refused, have, needs, trims) from None


def on_hand_amount(text: str, units: Units) -> Amount:
    """What there is of an item, as typed. Raises Refused for what is no amount, or a share."""
    amount = read_amount(text, units)
    if amount.kind == "percent":
        raise Refused("amount-wrong-kind", f"`{text}` is no amount on hand.", "", ["2kg"])
    return amount


def on_hand_twice(item: str) -> Refused:
    """The refusal of an item that is named twice as on hand."""
    help = "Name it once, with all there is of it."
    return Refused("on-hand-twice", f"`{item}` is on hand twice.", help)


def without_amount(entry: str, items: Iterable[str]) -> Refused:
    """What is said of an ``entry`` of --on-hand that says no amount; ``items`` are those of the
    formula."""
    known = list(items)
    item = entry.strip() if entry.strip() in known or not known else known[0]
    return Refused("on-hand-form", f"`{entry}`: write ITEM=AMOUNT.", "", [f"--on-hand {item}=2kg"])


def on_hand_of(item: str, text: str, grams: Callable[[str], Fraction]) -> Fraction:
    """The ``grams`` of an amount of ``item`` on hand. Raises Refused with what is taken in place of
    it, as the option is typed."""
    try:
        return grams(text)
    except Refused as refused:
        write = []
        for fix in refused.write:
            with suppress(Refused):
                grams(fix)
                entry = f"{item}={fix.replace(' ', '')}"
                write.append(f"--on-hand {shlex.quote(entry)}")
        help = "Write how much, or none." if refused.code == "amount-zero" else refused.help
        raise Refused(refused.code, f"{item}: {refused.message}", help, write) from None


def _not_of_the_stock(
    sheet: Sheet, refused: Refused, have: dict[str, Any], needs: dict[str, Any], trims: Any
) -> Refused:
    """A refusal of what there is, with what a size that does takes of it."""
    known = {item: grams for item, grams in have.items() if needs.get(item)}
    stock = stock_of(known, needs, trims)
    return with_a_size_that_does(sheet.house, sheet.walk, refused, stock)

"""reformulate: the nearest formula that what is on hand can make."""

from __future__ import annotations

import datetime
import difflib
import re
from dataclasses import replace
from fractions import Fraction
from functools import partial
from pathlib import Path
from typing import Any, NoReturn

import click

from generator.answers.reformulate import (
    Answered,
    LeastBatch,
    answered,
    no_answer_record,
    no_answer_text,
    reformulated_record,
    reformulated_text,
)
from generator.authoring.variants import (
    base_file,
    free_id,
    left_out,
    tried,
    variant_text,
    write_variant,
)
from generator.cli.common import (
    common,
    computed,
    form_option,
    manual_of,
    print_json,
    refuse,
    sheet_of,
    show,
)
from generator.cli.options import of_the_kitchen, size_options
from generator.cli.sizes import (
    asked_or_usual,
    on_hand_amount,
    on_hand_of,
    on_hand_twice,
    without_amount,
)
from generator.cli.variant_file import variant_of
from generator.files.finding import Finding, Refused
from generator.measures.kilos import kilos_step
from generator.measures.rounding import to_side
from generator.measures.words import with_verb
from generator.records.size import Size
from generator.scaling.weights import to_grams
from generator.sheet.blend_model import Want
from generator.sheet.bounded import Cell, cells_of
from generator.sheet.machine_loads import larger_that_does
from generator.sheet.manual import Broken, Manual, make_manual
from generator.sheet.reformulated import (
    Nearest,
    NoAnswer,
    left_at,
    not_a_batch,
    reformulate,
    want_of,
)
from generator.sheet.sheet import Sheet, make_batch

_NONE = re.compile(r"(?:none|0+(?:[.,]0+)?\s*(?:g|kg|oz|lb)?)")


@click.command("reformulate")
@of_the_kitchen("formula", "formulas")
@common
@form_option("text", "json")
@size_options
@click.option("--write", default=None, metavar="ID", help="Write it as a formula of that id.")
def reformulate_(
    formula: str,
    project: Path | None,
    as_of: datetime.date | None,
    form: str,
    write: str | None,
    **sizes: Any,
) -> None:
    """Find the nearest formula within the bounds of FORMULA that what is on hand can make; or say
    what to relax.

    What you don't name counts as there if the formula asks for it; what a line may be is taken only
    if you name it."""
    manual = computed(manual_of(project, as_of), formula)
    sheet = sheet_of(manual, formula)
    try:
        ident = free_id(manual.standards, write) if write is not None else _an_id(manual, formula)
        want = _wanted(manual, sheet, sizes)
        tree = base_file(manual.project, manual.standards, formula)
        found = reformulate(want)
        if isinstance(found, NoAnswer):
            _no_answer(sheet, found, form)
        if _machines(sheet, found.total_g):
            _no_answer(sheet, not_a_batch(found), form)
        made_of = ", ".join(f"{item} {_short(grams)}" for item, grams in want.have.items())
        text = variant_text(tree, variant_of(sheet, found, ident, made_of))
        answer = _answered(manual, sheet, found, ident, text, left_out(tree))
        if write is not None:
            path = write_variant(manual.project, ident, text)
            answer = replace(answer, written=path.relative_to(manual.project).as_posix())
    except Refused as refused:
        refuse(refused)
    show(answer.findings)
    if form == "json":
        print_json(reformulated_record(answer))
    else:
        click.echo(reformulated_text(answer, manual.house.kitchen.temperature))


def _short(grams: Fraction) -> str:
    return f"{float(grams):g} g"


def _an_id(manual: Manual, formula: str) -> str:
    """An id to compute a variant under that nobody has."""
    number = 1
    while f"{formula}-{number}" in {*manual.standards.formula_files, *manual.standards.ingredients}:
        number += 1
    return f"{formula}-{number}"[-60:].lstrip("-0123456789")


def _wanted(manual: Manual, sheet: Sheet, sizes: dict[str, Any]) -> Want:
    """What is asked. Raises Refused for a formula without bounds, a size it doesn't make, and what
    is on hand and isn't in it."""
    if sheet.formula.formula.bounds is None:
        raise Refused(
            "bounds-missing",
            f"{with_verb(sheet.name, 'has')} no bounds to stay within.",
            "Write them in its file, as in",
            ["bounds: {fat: 24 to 30 %, salt: 1.6 to 2 % of meat}"],
        )
    on_hand = sizes.pop("on_hand")
    given = any(text is not None for text in sizes.values())
    batch = asked_or_usual(sheet, {**sizes, "on_hand": ()})
    cells = cells_of(manual.house, sheet.walk, manual.walks, manual.made)
    have = _stock(manual, cells, on_hand)
    return want_of(manual.house, sheet.walk, manual.walks, manual.made, batch, have, given)


def _stock(manual: Manual, cells: tuple[Cell, ...], given: tuple[str, ...]) -> dict[str, Fraction]:
    """What there is of each item, in grams as purchased. Raises Refused."""
    if not given:
        raise Refused(
            "on-hand-missing", "What is on hand?", "Name it.", ["--on-hand pork-shoulder=6kg"]
        )
    known = {cell.line.joined.item: cell for cell in reversed(cells)}
    found: dict[str, Fraction] = {}
    for entry in given:
        item, sign, text = (one.strip() for one in entry.partition("="))
        if not sign:
            raise without_amount(entry, known)
        if item not in known:
            raise _not_in_it(manual, item, list(known))
        if item in found:
            raise on_hand_twice(item)
        found[item] = on_hand_of(item, text, partial(_amount, manual, known[item], item))
    return found


def _amount(manual: Manual, cell: Cell, item: str, text: str) -> Fraction:
    """One amount in grams; none of it is an amount too. Raises Refused."""
    if _NONE.fullmatch(text.lower()):
        return Fraction(0)
    amount = on_hand_amount(text, manual.house.units)
    made = cell.line.joined.formula is not None
    return to_grams(amount, cell.line.unit_weights, item, made, manual.house.units).grams


def _not_in_it(manual: Manual, item: str, known: list[str]) -> Refused:
    near = difflib.get_close_matches(item, known, n=1)
    there = item in manual.standards.ingredients or item in manual.standards.formulas
    words = f"`{item}` isn't in this formula, and no line of it may be that."
    if not there:
        words = f"There is no ingredient or formula called `{item}`."
    help = f"Did you mean {near[0]}?" if near else f"In it: {', '.join(known)}."
    if there and not near:
        help += " Write it under `may_be` of the line it can take the place of."
    return Refused("item-unknown", words, help)


def _machines(sheet: Sheet, total: Fraction) -> str:
    """Why the machines don't take a batch of so many grams; "" where they do."""
    try:
        make_batch(sheet.house, sheet.walk, Size("total", total))
    except Refused as refused:
        return refused.message
    return ""


def _no_answer(sheet: Sheet, found: NoAnswer, form: str) -> NoReturn:
    """Say that there is none, and stop with 1."""
    why, least = "", None
    if found.most_g:
        why = _machines(sheet, found.most_g)
        least = _least_batch(sheet, found) if why else None
    if form == "json":
        print_json(no_answer_record(sheet.id, found, why, least))
    else:
        click.echo(no_answer_text(sheet, found, why, least))
    raise SystemExit(1)


def _least_batch(sheet: Sheet, found: NoAnswer) -> LeastBatch | None:
    """The smallest batch above the largest that the stock makes which the machines take, and what
    it lacks; None where there is none."""
    whole = sheet.walk.figures.total
    larger = larger_that_does(sheet.house, sheet.walk, found.most_g / whole)
    if larger is None:
        return None
    factor, words = larger
    exact = factor * whole
    total = to_side(exact, "up", kilos_step(exact))
    total = total if not _machines(sheet, total) else exact
    return LeastBatch(total, words, left_at(found.want, total / whole))


def _answered(
    manual: Manual, base: Sheet, found: Nearest, ident: str, text: str, out: tuple[str, ...]
) -> Answered:
    """The nearest formula computed like any other, among the kitchen's standards. Stops with 1
    where it has an error: it isn't lawful, or it can't be made."""
    with tried(manual.project, ident, text) as folder:
        tested = make_manual(folder, manual.as_of)
    file = f"standards/formulas/{ident}.yaml"
    if isinstance(tested, Broken) or ident not in tested.sheets:
        stopped = tested.stopped.get(ident)
        findings = stopped.findings if stopped is not None else tested.errors
        show(tuple(_of_the_base(base, one) if one.place.file == file else one for one in findings))
        words = f"the nearest formula of what is on hand can't be {base.name}: see above"
        click.echo(f"kitchen-manual: {words}. Nothing is written.", err=True)
        raise SystemExit(1)
    findings = tuple(f for f in tested.findings if f.place.file == file)
    made = {base.id: manual.made[base.id], ident: tested.made[ident]}
    return replace(answered(base, tested.sheets[ident], found, made, out), findings=findings)


def _of_the_base(base: Sheet, finding: Finding) -> Finding:
    """A finding of the nearest formula, which has no file, at the key of the base that it hangs on.
    What it proposes was for a line that nobody has, so only its words stay."""
    formula = base.formula.formula
    key = finding.place.text.strip().partition(":")[0]
    known = key in type(formula).model_fields and formula.states(key)
    place = formula.place(key) if known else formula.key_place("name")
    message = f"Of what is on hand: {finding.message}"
    return replace(finding, place=place, message=message, write=())

"""The nearest formula of what is on hand, or what to relax: as JSON and as text."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from generator.answers.cautions import cautions_record, dangers_first, with_cautions
from generator.answers.limits import limits_record, limits_text
from generator.answers.numbers import number, without_none
from generator.files.finding import Finding, as_record
from generator.measures.between import Between
from generator.measures.kilos import kilos
from generator.measures.temperature import Degree
from generator.measures.words import breakable, counted, listed, plain
from generator.records.bounds import Bound
from generator.sheet.blend_model import Want
from generator.sheet.bounded import Counted, cells_of, counted_bounds
from generator.sheet.composed import Made
from generator.sheet.manual import Manual
from generator.sheet.named_species import named_species
from generator.sheet.percents import key_of
from generator.sheet.reformulated import Left, Nearest, NewLine, NoAnswer, Relaxed
from generator.sheet.sheet import Sheet
from generator.views.facts import ABSENT, Change
from generator.views.variant_view import Difference, difference, variants_of

RULE = (
    "The nearest is the formula whose lines differ least in all, each by its share of what it is. "
    "So few lines change. A percentage that stays counts as no change, a cure's dose always stays. "
    "Weights are steps of the scales, and every bound was asked again in exact numbers."
)
_RELAXES = "The least in all, each as a share of what it is now, rounded outward."


@dataclass(frozen=True)
class Answered:
    """A nearest formula computed whole: its ``sheet``, what differs from the base, the bounds that
    don't hold once all is weighed, what is left out of the base, the animals that its name tells
    and that are ``unnamed`` in it now, and its findings; ``written`` is its file, "" where none
    was."""

    base: Sheet
    sheet: Sheet
    nearest: Nearest
    difference: Difference
    unheld: tuple[tuple[Counted, Between | None], ...]
    left_out: tuple[str, ...]
    unnamed: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()
    written: str = ""


@dataclass(frozen=True)
class LeastBatch:
    """The smallest batch that the machines take, where the stock makes less: its grams in all, its
    ``words`` in the formula's own measure, and what each item lacks for it."""

    total_g: Fraction
    words: str
    left: tuple[Left, ...]


def answered(
    base: Sheet, sheet: Sheet, nearest: Nearest, made: Mapping[str, Made], left_out: Iterable[str]
) -> Answered:
    """A nearest formula computed whole as ``sheet``, compared with its base; ``made`` says what
    both are made of."""
    batch = sheet.batches[0]
    weighed = {key_of(line.line.joined): line.weigh_g for line in batch.lines}
    unheld = tuple(
        (one, one.figure(weighed)) for one in nearest.want.bounds if one.verdict(weighed) != "holds"
    )
    found = difference(base, sheet, made)
    gone = _species(base) - _species(sheet)
    unnamed = tuple(sorted(named_species(base.house, base.walk) & gone))
    return Answered(base, sheet, nearest, found, unheld, tuple(left_out), unnamed)


def _species(sheet: Sheet) -> frozenset[str]:
    """The animals of all that goes into a formula."""
    found = (one.species for step in sheet.walk.steps for one in step.before.components)
    return frozenset(one for one in found if one is not None)


def _ends(bound: Bound, share: bool) -> dict[str, Any]:
    """A bound's ends in percent or in grams."""
    unit, times = ("pct", 100) if share else ("g", 1)
    ends = {f"from_{unit}": bound.least, f"to_{unit}": bound.most}
    return {k: number(v * times) for k, v in ends.items() if v is not None}


def _figure(one: Counted, found: Between | None) -> dict[str, Any]:
    if found is None:
        return {}
    share = one.whole is not None
    unit, times = ("pct", 100) if share else ("g", 1)
    return {
        f"is_from_{unit}": number(found.low * times),
        f"is_to_{unit}": number(found.high * times),
    }


def _bound_record(one: Counted, found: Between | None, binds: bool | None) -> dict[str, Any]:
    record = {
        "bound": one.ident,
        "about": one.words,
        **_ends(one.bound, one.whole is not None),
        **_figure(one, found),
        "binds": binds,
    }
    return without_none(record)


def _binds(one: Counted, nearest: Nearest) -> bool:
    return bool({f"{one.ident}<", f"{one.ident}>"} & nearest.binding)


def reformulated_record(answered: Answered) -> dict[str, Any]:
    """The nearest formula as one JSON object; weights in grams, shares in percent."""
    nearest, sheet = answered.nearest, answered.sheet
    return {
        "formula": answered.base.id,
        "variant": sheet.id,
        "name": sheet.name,
        "written": answered.written or None,
        "total_g": number(nearest.total_g),
        "off_pct": number(nearest.off * 100),
        "proved_nearest": nearest.proved,
        "lines": [_line_record(line) for line in nearest.lines],
        "bounds": [_bound_record(one, f, _binds(one, nearest)) for one, f in nearest.bounds],
        "not_held_as_weighed": [_bound_record(one, f, None) for one, f in answered.unheld],
        "on_hand": [_left_record(one, nearest) for one in nearest.left],
        "kept_out": _kept_out_record(nearest.want),
        "no_longer_named": list(answered.unnamed),
        "left_out": list(answered.left_out),
        "difference": difference_record(answered.difference),
        "limits": limits_record(sheet.walk)["limits"],
        "findings": [as_record(f) for f in answered.findings],
        "basis": {"rule": RULE},
        **cautions_record(sheet),
    }


def difference_record(found: Difference) -> dict[str, Any]:
    """What differs from the base: lines, then figures, each old and new."""
    return {
        "at": found.at or None,
        "lines": [_change(c) for c in found.lines],
        "figures": [{"group": c.group, **_change(c)} for c in found.figures],
    }


def variant_record(manual: Manual, sheet: Sheet) -> dict[str, Any]:
    """What a formula is a variant of and what differs, and which variants it has; empty for one
    that is none and has none."""
    of = sheet.formula.formula.variant_of
    record: dict[str, Any] = {}
    if of is not None:
        base = manual.sheets.get(of)
        differs = None if base is None else difference_record(difference(base, sheet, manual.made))
        record["variant_of"] = {"formula": of, "difference": differs}
    variants = [one.id for one in variants_of(manual, sheet.id)]
    return record | ({"variants": variants} if variants else {})


def bounds_record(manual: Manual, sheet: Sheet) -> dict[str, Any]:
    """A formula's bounds, what each is as the formula is written, and whether that holds; empty
    for one without."""
    if sheet.formula.formula.bounds is None:
        return {}
    cells = cells_of(manual.house, sheet.walk, manual.walks, manual.made)
    bounds, _ = counted_bounds(sheet.formula, cells)
    grams = {key_of(line.joined): line.grams for line in sheet.walk.lines}
    return {
        "bounds": [
            _bound_record(one, one.figure(grams), None) | {"verdict": one.verdict(grams)}
            for one in bounds
        ]
    }


def _change(change: Change) -> dict[str, Any]:
    return {"what": change.name, "old": change.old or None, "new": change.new or None}


def _line_record(line: NewLine) -> dict[str, Any]:
    part, item = line.key
    return without_none(
        {
            "part": part,
            "item": item,
            "name": line.name,
            "was_g": number(line.was_g),
            "now_g": number(line.now_g),
            "keeps_its_percentage": line.follows,
            "instead_of": list(line.instead_of) or None,
        }
    )


def _left_record(one: Left, nearest: Nearest | None) -> dict[str, Any]:
    return {
        "item": one.item,
        "name": one.name,
        "have_g": number(one.have_g),
        "used_g": number(one.used_g),
        "left_g": number(one.left_g),
        "short_g": number(one.short_g),
        "binds": nearest is not None and f"stock:{one.item}" in nearest.binding,
    }


def no_answer_record(
    formula: str, found: NoAnswer, why: str = "", least: LeastBatch | None = None
) -> dict[str, Any]:
    """That there is none, and what to relax, as one JSON object; ``why`` a machine doesn't take
    the largest batch, ``least`` the smallest that it takes."""
    return {
        "formula": formula,
        "variant": None,
        "relax": [_relaxed_record(one) for one in found.relaxed],
        "most_g": number(found.most_g) if found.most_g else None,
        "most_refused": why or None,
        "machines_take": None
        if least is None
        else {
            "total_g": number(least.total_g),
            "words": least.words,
            "short": [_short_record(one) for one in least.left if one.short_g],
        },
        "cannot_be_told": [
            {"about": words, "left_open_by": list(names)} for words, names in found.open_by
        ],
        "on_hand": [_short_record(one) for one in found.left],
        "kept_out": _kept_out_record(found.want),
        "basis": {"rule": _RELAXES},
    }


def _kept_out_record(want: Want) -> list[dict[str, str]]:
    return [{"name": name, "why": why} for name, why in want.kept_out]


def _short_record(one: Left) -> dict[str, Any]:
    return {
        "item": one.item,
        "name": one.name,
        "have_g": number(one.have_g),
        "short_g": number(one.short_g),
    }


def _relaxed_record(one: Relaxed) -> dict[str, Any]:
    share = one.counted.whole is not None
    unit, times = ("pct", 100) if share else ("g", 1)
    return {
        "bound": one.counted.ident,
        "about": one.counted.words,
        "old": _ends(one.old, share),
        "new": _ends(one.new, share),
        f"by_{unit}": number(one.by * times),
        "write": write_words(one),
    }


def write_words(one: Relaxed) -> str:
    """A relaxed bound as it is typed, with its key."""
    share, bound = one.counted.whole is not None, one.new
    key = one.counted.ident.split(".")[1 if one.counted.ident.startswith("shares.") else 0]
    of = bound.of.replace("-", " ")
    behind = f" {'in' if bound.inside else 'of'} {of}" if of else ""
    low, high = (
        None if end is None else (plain(end * 100, 6, False) if share else _typed(end))
        for end in (bound.least, bound.most)
    )
    sign = " %" if share else ""
    if low is not None and high is not None:
        return f"{key}: {low} to {high}{sign}{behind}"
    side = f"at least {low}" if low is not None else f"at most {high}"
    return f"{key}: {side}{sign}{behind}"


def _typed(grams: Fraction) -> str:
    return f"{plain(grams / 1000, 6, False)} kg" if grams >= 1000 else f"{plain(grams, 6, False)} g"


def reformulated_text(answered: Answered, unit: Degree) -> str:
    """The nearest formula for the terminal, with its limits and cautions."""
    nearest, base, sheet = answered.nearest, answered.base, answered.sheet
    total = kilos(nearest.total_g)
    out = [*dangers_first(sheet), f"{base.name}, of what is on hand: {total} in all"]
    out += [f"WARNING: {_unnamed_words(answered, one)}" for one in answered.unnamed]
    out += _table(nearest.lines)
    out += ["", "Bounds", *(_bound_line(one, f, nearest) for one, f in nearest.bounds)]
    out += ["", "On hand", *(_left_line(one, nearest) for one in nearest.left)]
    out += [_kept_out_line(*one) for one in nearest.want.kept_out]
    if answered.unheld:
        out += ["", "Not held once all is weighed on your scales"]
        out += [f"  {_first(o.words)}: {o.spoken(f)}, not {o.limits}." for o, f in answered.unheld]
    out += ["", *_difference_lines(answered.difference, base.name)]
    if answered.left_out:
        out += ["", _left_out_words(answered.left_out, base.name)]
    out += ["", RULE if nearest.proved else f"{RULE} A nearer one may exist: the search was long."]
    if answered.written:
        out += ["", f"Written: {answered.written}, revision 1, a draft until somebody approves it."]
    out += ["", limits_text(sheet.walk, unit)]
    return breakable(with_cautions("\n".join(out), sheet))


def _unnamed_words(answered: Answered, species: str) -> str:
    return (
        f"no {species} is left in it, and it is called {answered.base.name}. The name no longer "
        "fits: sell it by another."
    )


def _left_out_words(keys: tuple[str, ...], base: str) -> str:
    names = listed([f"`{key}`" for key in keys])
    return f"Left out, since it was said or measured of {base} alone: {names}."


def _first(words: str) -> str:
    return words[:1].upper() + words[1:]


def _table(lines: Iterable[NewLine]) -> list[str]:
    """Each line as it is and now, with what it takes the place of."""
    rows = [("", "as it is", "now", "")]
    for line in lines:
        was = _weight(line.was_g) if line.was_g else ""
        now = _weight(line.now_g) if line.now_g else "none"
        rest = f"in place of {listed(line.instead_of)}" if line.instead_of else ""
        if not rest and line.follows:
            rest = "same percentage"
        elif not rest and line.was_g == line.now_g:
            rest = "same"
        rows.append((line.name, was, now, rest))
    widths = [max(len(row[i]) for row in rows) for i in range(3)]
    return [
        f"  {a.ljust(widths[0])}  {b.rjust(widths[1])}  {c.rjust(widths[2])}  {d}".rstrip()
        for a, b, c, d in rows
    ]


def _weight(grams: Fraction) -> str:
    """A weight as it is, to a tenth of a gram."""
    return f"{plain(grams / 1000, 4, False)} kg" if grams >= 1000 else f"{plain(grams, 1)} g"


def _bound_line(one: Counted, found: Between | None, nearest: Nearest) -> str:
    binds = ". It binds" if _binds(one, nearest) else ""
    return f"  {_first(one.words)}: {one.spoken(found)}, within {one.limits}{binds}."


def _left_line(one: Left, nearest: Nearest) -> str:
    left = f"{kilos(one.left_g)} left over" if one.left_g else "nothing left over"
    short = f". The formula as it is lacks {kilos(one.short_g)}" if one.short_g else ""
    binds = ". It binds" if f"stock:{one.item}" in nearest.binding else ""
    return f"  {one.name}: {kilos(one.used_g)} of {kilos(one.have_g)} used, {left}{short}{binds}."


def _difference_lines(found: Difference, base: str) -> Iterator[str]:
    """What changes against the base, old → new."""
    if not found.figures:
        yield f"Limits, allergens, cautions and composition are as in {base}."
        return
    many = counted(len(found.figures), "figure")
    yield f"Against {base}, {many} changed"
    for change in found.figures:
        yield f"  {change.name}: {change.old or ABSENT} → {change.new or ABSENT}"


def no_answer_text(
    sheet: Sheet, found: NoAnswer, why: str = "", least: LeastBatch | None = None
) -> str:
    """That there is none, and what to relax, for the terminal; ``why`` a machine doesn't take the
    largest batch, ``least`` the smallest that it takes."""
    out = [f"{sheet.name} can't be made of what is on hand within its bounds."]
    out += [_short_line(one) for one in found.left if one.short_g]
    out += [_kept_out_line(*one) for one in found.want.kept_out]
    out += [*_relax_lines(found, why), *_most_lines(found, why), *_least_lines(least)]
    out += _sized_lines(found)
    for words, names in found.open_by:
        out += ["", f"{_first(words)} may hold: it is left open by {listed(names[:4])}."]
        out.append("State what they are made of under `composition`, and ask again.")
    return breakable("\n".join(out))


def _relax_lines(found: NoAnswer, why: str) -> Iterator[str]:
    """The bounds to relax; nothing of a batch that only a machine refuses."""
    if found.relaxed:
        yield from ("", "It can, if you relax:")
        for one in found.relaxed:
            yield f"  {_first(one.counted.words)}, by {_by(one)}. {write_words(one)}"
    elif not why:
        yield from ("", "No bound that is relaxed makes it possible.")


def _most_lines(found: NoAnswer, why: str) -> Iterator[str]:
    """The largest batch within the bounds, or ``why`` a machine doesn't take that."""
    if found.most_g:
        most = f"Within all its bounds the most is {kilos(found.most_g)}"
        yield from ("", f"{most}. But {why}" if why else f"{most}: {_size(found.most_g)}")


def _least_lines(least: LeastBatch | None) -> Iterator[str]:
    """The smallest batch that the machines take, and what it lacks."""
    if least is not None:
        yield ""
        yield f"The smallest batch its machines take is {least.words}: {_size(least.total_g)}"
        lacks = [f"{kilos(one.short_g)} of {one.name}" for one in least.left if one.short_g]
        if lacks:
            yield f"As it is written, that lacks {listed(lacks)}."


def _sized_lines(found: NoAnswer) -> Iterator[str]:
    """What is short and isn't cut, since the batch's size says how much of it goes in."""
    if found.sized:
        goes, them = ("goes", "it a bound") if len(found.sized) == 1 else ("go", "each a bound")
        yield ""
        yield f"{listed(found.sized)} {goes} by the size of the batch."
        yield f"To put less in, give {them} of its own under `shares`."


def _kept_out_line(name: str, why: str) -> str:
    return f"  {name} stays out: {why}. To take it in, give the food another name."


def _size(grams: Fraction) -> str:
    return f"--total {_typed(grams).replace(' ', '')}"


def _short_line(one: Left) -> str:
    return f"  {one.name}: {kilos(one.have_g)} on hand, {kilos(one.short_g)} short."


def _by(one: Relaxed) -> str:
    if one.counted.whole is not None:
        return f"{plain(one.by * 100, 3)} percentage points"
    return kilos(one.by)

"""What a formula makes, as figures at factor 1: fills by weight, by volume or as pieces, portions.

A volume becomes a weight once, by what a litre of the mix weighs and the air that is in it.
Overrun is the volume that air adds, in percent of the mix's own, so that a volume weighs the mix's
weight over (1 + overrun): H. D. Goff, Ice Cream Technology e-Book, University of Guelph, "Overrun
calculations": % overrun = (weight of mix − weight of the same volume of ice cream) / weight of the
same volume of ice cream × 100.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from generator.files.finding import Finding, Severity
from generator.measures.basis import Basis
from generator.measures.kilos import kilos, kilos_step
from generator.measures.rounding import total
from generator.measures.words import NARROW, breakable, counted, listed, plain
from generator.records.equipment import Vessel
from generator.records.formula import Makes
from generator.resolve.equipment import volume_ml
from generator.resolve.joined import House, JoinedFormula
from generator.rules.basics.product import Product
from generator.scaling.batch import Figures
from generator.scaling.weights import BARE_PIECES, UnitWeight, piece_of
from generator.sheet.volumes import bulk_of, least_of, likely_of
from generator.sheet.walked import WalkedStep
from generator.sheet.weighing import WeighedLine, pours

_REPORTED = Fraction(1, 10)
"""From this share of the weight on, an assumed volume is reported beside what it sets."""
_CLOSER = Fraction(9, 10)
"""How much less room than by its measures food may take up where no litre of it was weighed: ours,
so that a vessel is refused only where there is no doubt."""
_CLINGS = Fraction(1, 10)
"""Below this share of the pieces' own weight, liquid and fat cling to them: a glaze. Ours."""
_IN_BITS = frozenset({"cuts", "slices", "comminutes", "tenderises", "pools", "stuffs"})
"""What ends a count of pieces: no piece is one afterwards."""


@dataclass(frozen=True)
class Filling:
    """What a formula makes of its mass, how a volume was weighed, and what is wrong with it."""

    figures: Figures
    basis: Basis
    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class _Mix:
    """How much room a gram of what is filled takes up, in millilitres, air included; ``least`` is
    the least it can be; ``assumed`` names what no measure is entered of."""

    ml_per_g: Fraction
    least: Fraction
    assumed: tuple[str, ...]
    how: tuple[tuple[str, str], ...]


_TELLS = Fraction(1, 10)
"""The share of the pieces' weight from which what lies beside them is named."""


def filling_of(
    house: House,
    formula: JoinedFormula,
    lines: Sequence[WeighedLine],
    steps: Sequence[WalkedStep],
    filled: Product | None,
    end: Product,
) -> Filling:
    """What the walk of a formula makes at factor 1. ``filled`` is the product of the step whose
    filling counts, None without one, ``end`` that after the last step."""
    raw = total(ln.grams for ln in lines)
    base = total(ln.grams for ln in lines if (ln.joined.part, ln.joined.item) in formula.base)
    mass = filled.mass if filled is not None else None
    makes = formula.formula.makes
    if makes is None:
        return Filling(Figures(base, raw, mass, end.mass), Basis(), ())
    per_fill, sliced, findings = _slices(formula, makes)
    mix = _mix(house, makes, filled or end)
    fill, rows = _fill(makes, mix)
    portion = _portion(makes, mix)
    figures = Figures(base, raw, mass, end.mass, fill, portion, per_fill, sliced)
    if makes.piece is not None:
        figures = _in_pieces(formula, figures, makes, lines, steps, end)
    beside = _lie_beside(makes, lines, filled or end)
    overfull = _vessel(formula, makes, mix, figures, _grown(steps, filled), beside)
    findings += overfull or _volume_findings(formula, makes, mix)
    findings += _counts(formula, makes, figures, lines, steps, end)
    basis = Basis(tuple(rows), "volume × what it weighs ÷ (1 + overrun)") if rows else Basis()
    return Filling(figures, basis, tuple(findings))


def _mix(house: House, makes: Makes, product: Product) -> _Mix:
    """The room what is filled takes up: by the litre weighed, else by the measures of what is in
    it."""
    air = 1 + (makes.overrun or Fraction(0))
    how = []
    if makes.overrun:
        how.append(("Overrun", f"{plain(makes.overrun * 100)}{NARROW}%"))
    if makes.litre is not None:
        own = 1000 / makes.litre.value
        weighed = ("One litre of the mix", f"{makes.litre.text}, weighed here")
        return _Mix(own * air, own * air, (), (weighed, *how))
    if makes.fill_volume is None and makes.portion_volume is None:
        room = bulk_of(product).ml / product.mass * air
        return _Mix(room, least_of(product) / product.mass * air * _CLOSER, (), ())
    bulk, least = likely_of(house, product), least_of(product)
    per_g = bulk.ml / product.mass
    litre = kilos(1000 / per_g)
    words = [("One litre of the mix", f"about {litre}, by what is in it")]
    assumed = tuple(name for name, _ in bulk.assumed) if bulk.share >= _REPORTED else ()
    if assumed:
        words.append(("Assumed", f"the volume of {listed(assumed)}: no measure is entered"))
    return _Mix(per_g * air, least / product.mass * air * _CLOSER, assumed, (*words, *how))


def _fill(makes: Makes, mix: _Mix) -> tuple[Fraction | None, list[tuple[str, str]]]:
    """The grams of one fill, and how a volume was turned into them."""
    if makes.fill_weight is not None:
        return makes.fill_weight.value, []
    volume = makes.fill_volume or makes.portion_volume
    if volume is None:
        return None, []
    grams = volume.value / mix.ml_per_g
    row = (volume.text.capitalize(), f"weighs {kilos(grams)}")
    return (grams if makes.fill_volume is not None else None), [*mix.how, row]


def _portion(makes: Makes, mix: _Mix) -> Fraction | None:
    """The grams of one portion that is weighed or measured."""
    if makes.portion is not None:
        return makes.portion.value
    if makes.portion_volume is None:
        return None
    return makes.portion_volume.value / mix.ml_per_g


def _in_pieces(
    formula: JoinedFormula,
    figures: Figures,
    makes: Makes,
    lines: Sequence[WeighedLine],
    steps: Sequence[WalkedStep],
    end: Product,
) -> Figures:
    """The figures of a formula made in pieces: a piece, or so many of them, is a fill, with its
    share of all else."""
    line = next(ln for ln in lines if ln.joined.item == makes.piece)
    amount = line.joined.line.amount
    count, to_a_fill = int(amount.value), makes.to_a_fill
    filled = figures.filled if figures.filled is not None else figures.finished
    to_each = figures.finished / count * to_a_fill
    light = heavy = Fraction(0)
    for each in _kept_whole(formula, line, lines, steps):
        off = _off_the_mean(piece_of(each.joined.line.amount.unit, each.unit_weights))
        own = _share_of(each.joined.item, end) * to_each
        light, heavy = light + own * off[0], heavy + own * off[1]
    return replace(
        figures,
        fill=filled / count * to_a_fill,
        portion=None,
        per_fill=makes.portions or to_a_fill,
        pieces=count,
        to_a_fill=to_a_fill,
        lightest=light,
        heaviest=heavy,
        beside=_beside(line.joined.item, end, steps) * to_each,
    )


def _kept_whole(
    formula: JoinedFormula,
    piece: WeighedLine,
    lines: Iterable[WeighedLine],
    steps: Sequence[WalkedStep],
) -> Iterator[WeighedLine]:
    """The line whose pieces are counted, and every other of whole pieces that stay so."""
    yield piece
    for line in lines:
        joined = line.joined
        counted = joined.line.amount.kind == "count" and not joined.line.prepare
        whole = counted and joined.item != piece.joined.item and not pours(line)
        if whole and not _in_bits(formula, joined.part, steps):
            yield line


def _off_the_mean(weight: UnitWeight | None) -> tuple[Fraction, Fraction]:
    """How far the lightest and the heaviest piece are from the mean, as shares of it."""
    if weight is None or weight.low is None or weight.high is None:
        return Fraction(0), Fraction(0)
    return 1 - weight.low / weight.grams, weight.high / weight.grams - 1


def _share_of(item: str, product: Product) -> Fraction:
    """How much of a product one item is, made ahead or not, as a share of all that is in it."""
    whole = sum((c.grams for c in product.components), Fraction(0))
    own = sum((c.grams for c in product.components if item in (c.item, c.came)), Fraction(0))
    return own / whole if whole else Fraction(0)


def _beside(item: str, product: Product, steps: Sequence[WalkedStep]) -> Fraction:
    """The share of a product that its pieces lie in: liquid and fat. None of it where some was
    drained, or so little is there that it clings to them."""
    around = _around(item, product)
    whole = sum((c.grams for c in product.components), Fraction(0))
    clings = around < _CLINGS * _share_of(item, product) * whole
    if not whole or clings or any(one.left and _around(item, one.before) for one in steps):
        return Fraction(0)
    return around / whole


def _around(item: str, product: Product) -> Fraction:
    """The grams of liquid and fat beside an item's pieces."""
    pours = [c for c in product.components if c.form == "liquid" or c.boils == "fat"]
    return sum((c.grams for c in pours if item not in (c.item, c.came)), Fraction(0))


def _finding(
    formula: JoinedFormula,
    makes: Makes,
    key: str,
    code: str,
    severity: Severity,
    message: str,
    help: str,
    write: tuple[str, ...] = (),
) -> Finding:
    place = makes.place(key)
    fixes = tuple(place.fixed(text) for text in write)
    about = frozenset({formula.id})
    return Finding(code, severity, message, place, help, fixes, about=about)


def _volume_findings(formula: JoinedFormula, makes: Makes, mix: _Mix) -> list[Finding]:
    """A volume whose weight rests on an assumption."""
    key = "fill_volume" if makes.fill_volume is not None else "portion_volume"
    if makes.fill_volume is None and makes.portion_volume is None:
        return []
    if makes.litre is not None:
        return []
    help = "Weigh one litre of the mix, before air is in it. Write it under `makes` as `litre`."
    words = (
        f"What it weighs is assumed: no measure of {listed(mix.assumed)} is entered."
        if mix.assumed
        else "What it weighs is worked out by what is in it, without air that is beaten in."
    )
    severity: Severity = "warning" if mix.assumed else "note"
    return [_finding(formula, makes, key, "volume-assumed", severity, words, help)]


def _grown(steps: Sequence[WalkedStep], filled: Product | None) -> Fraction:
    """The most that is in a vessel of each gram that was filled: what is cooked in it may gain."""
    if filled is None or not filled.mass:
        return Fraction(1)
    first = next((n for n, one in enumerate(steps, 1) if one.after is filled), len(steps))
    there = (one.before.mass * one.grows / filled.mass for one in steps[first:] if one.grows > 1)
    return max((Fraction(1), *there))


def _lie_beside(makes: Makes, lines: Sequence[WeighedLine], filled: Product) -> list[str]:
    """What lies in a fill beside its pieces, a tenth of their weight or more: the fat of a confit,
    by name."""
    least = _TELLS * total(ln.grams for ln in lines if ln.joined.item == makes.piece)
    inside = {c.part for c in filled.components}
    names = [
        ln.joined.name
        for ln in lines
        if ln.joined.item != makes.piece and ln.joined.part in inside and ln.grams >= least
    ]
    return list(dict.fromkeys(names))


def _vessel(
    formula: JoinedFormula,
    makes: Makes,
    mix: _Mix,
    figures: Figures,
    grown: Fraction,
    beside: list[str],
) -> list[Finding]:
    """A fill goes into its vessel, by the vessel's inside measures, and what it has ``grown`` to
    there, too. ``beside`` is what lies in it beside its pieces."""
    vessel = formula.vessel
    if vessel is not None and makes.pieces is not None and figures.fill is not None:
        return _pieces_in_vessel(formula, makes, vessel, mix, figures.fill * grown, beside)
    inside = volume_ml(vessel) if vessel is not None else None
    if vessel is None or inside is None:
        return []
    if makes.fill_volume is not None:
        key, typed, least = "fill_volume", makes.fill_volume, makes.fill_volume.value * grown
        takes, most = "", _litres(Fraction(math.floor(inside / grown)))
    elif makes.fill_weight is not None:
        key, typed = "fill_weight", makes.fill_weight
        least = typed.value * mix.least * grown
        takes, most = f", {_litres(least)} or more,", _at_most(inside / mix.least / grown)
    else:
        return []
    if least <= inside:
        return []
    swells = ", with what it gains there," if grown > 1 else ""
    words = f"A fill of {typed.text}{takes}{swells} doesn't go into the {_litres(inside)} of "
    words += f"{vessel.name}."
    help = f"Fill {most} or less, or use a larger vessel. Or check `inside` and `headspace`."
    return [_finding(formula, makes, key, "vessel-overfull", "error", words, help)]


def _pieces_in_vessel(
    formula: JoinedFormula,
    makes: Makes,
    vessel: Vessel,
    mix: _Mix,
    fill: Fraction,
    beside: list[str],
) -> list[Finding]:
    """So many pieces go into one vessel, with their share of all else."""
    inside, capacity = volume_ml(vessel), vessel.capacity
    takes = fill * mix.least
    words = ""
    if capacity is not None and fill > capacity.value:
        words = f"weigh {kilos(fill)}. {vessel.name} takes {capacity.text}."
    if inside is not None and takes > inside:
        words = (
            f"take up {_litres(takes)} or more. They don't go into the {_litres(inside)} of "
            f"{vessel.name}."
        )
    if not words:
        return []
    bounds = (
        inside / mix.least if inside is not None else None,
        capacity.value if capacity is not None else None,
    )
    most = math.floor(min(b for b in bounds if b is not None) / fill * makes.to_a_fill)
    words = f"{makes.to_a_fill} pieces to a fill{_counted_in(beside)} {words}"
    help = _fewer(most, beside)
    return [_finding(formula, makes, "pieces", "vessel-overfull", "error", words, help)]


def _counted_in(beside: list[str]) -> str:
    return f", with their share of {listed(beside)}," if beside else ""


def _fewer(most: int, beside: list[str]) -> str:
    """What to do where at most so many pieces go in."""
    help = "Not even one goes in: use a larger vessel."
    if most:
        help = f"Write `pieces: {most}` or less, or use a larger vessel."
    if beside:
        help += f" Does {listed(beside)} stay behind? Write `leaves` at the step where it does."
    return help


def _at_most(grams: Fraction) -> str:
    """A weight in words that is no more than so many grams."""
    step = kilos_step(grams)
    return kilos(math.floor(grams / step) * step)


def _litres(ml: Fraction) -> str:
    if ml < 1000:
        return f"{plain(ml, 0)}{NARROW}ml"
    return f"{plain(ml / 1000, 2)}{NARROW}l"


def _counts(
    formula: JoinedFormula,
    makes: Makes,
    figures: Figures,
    lines: Iterable[WeighedLine],
    steps: Sequence[WalkedStep],
    end: Product,
) -> list[Finding]:
    """The pieces a formula counts and the portions or fills it says it makes are as many, or so
    many to each."""
    if makes.piece is not None:
        return []
    line = next((ln for ln in lines if _whole_pieces(formula, ln, steps, end)), None)
    if line is None:
        return []
    many = int(line.joined.line.amount.value)
    for key, made, word in _made(makes, figures):
        if made and many % made and made % many:
            return [_count_disagrees(formula, makes, figures, line, key, word)]
    return []


def _count_disagrees(
    formula: JoinedFormula,
    makes: Makes,
    figures: Figures,
    line: WeighedLine,
    key: str,
    word: str,
) -> Finding:
    amount = line.joined.line.amount
    filled = key.startswith("fill") or key == "portions"
    each = (figures.filled or figures.finished) if filled else figures.yielded
    size = kilos(Fraction(math.floor(each / amount.value)))
    many = f"of {line.joined.name.lower()}" if amount.unit in BARE_PIECES else amount.unit
    words = f"{plain(amount.value)} {many} give {word}."
    fill = "fill_weight" if makes.fill_weight is not None else "fill_volume"
    if key == "portions":
        help = (
            f"Are they whole pieces in each {makes.unit}? Write `piece: {line.joined.item}`, and "
            f"`pieces` with how many go into one, in place of `{fill}`."
        )
    else:
        help = breakable(
            f"Is each one of its own? Write `piece: {line.joined.item}` in place of `{key}`: it is "
            f"then about {size}, whatever the piece weighs. "
        )
        help += (
            breakable(f"Or write `{key}: {size}`.")
            if key in ("portion", "fill_weight")
            else "Several to each? Add `pieces`."
        )
    return _finding(formula, makes, key, "count-disagrees", "warning", words, help)


def _made(makes: Makes, figures: Figures) -> Iterator[tuple[str, int, str]]:
    """What is made at factor 1: the key that says it, how many, and in words."""
    one, more = makes.portion_unit or "portion", makes.portion_units or None
    if figures.portion:
        key = "portion" if makes.portion is not None else "portion_volume"
        many = math.floor(figures.yielded / figures.portion)
        size = makes.portion or makes.portion_volume
        assert size is not None
        yield key, many, f"{counted(many, one, more)} of {size.text}"
    elif figures.fills is not None and (size := makes.fill_weight or makes.fill_volume):
        key = "fill_weight" if makes.fill_weight is not None else "fill_volume"
        many = math.floor(figures.fills)
        fills = f"{counted(many, makes.unit, makes.plural)} of {size.text}"
        yield key, many, fills
        if makes.portions is not None:
            portions = many * makes.portions
            yield (
                "portions",
                portions,
                f"{counted(portions, one, more)}, {makes.portions} from each of {fills}",
            )


def _whole_pieces(
    formula: JoinedFormula, line: WeighedLine, steps: Sequence[WalkedStep], end: Product
) -> bool:
    """Whether a line is counted pieces of the base that stay whole and are most of what is made: an
    ingredient as it comes, or pieces cooked ahead; another dish made ahead is portioned as a matter
    of course."""
    joined = line.joined
    amount = joined.line.amount
    if amount.kind != "count" or joined.line.prepare or amount.value.denominator != 1:
        return False
    if (joined.part, joined.item) not in formula.base or pours(line):
        return False
    if _in_bits(formula, joined.part, steps):
        return False
    return _share_of(joined.item, end) > Fraction(1, 2)


def _in_bits(formula: JoinedFormula, part: str, steps: Sequence[WalkedStep]) -> bool:
    """Whether a step on a part's own way ends a count of its pieces; what is boned or trimmed stays
    one piece."""
    first = next((s.step.number for s in steps if part in s.step.parts), None)
    way = formula.since(first) if first is not None else ()
    return any(
        s.effects & _IN_BITS or ("divides" in s.effects and "takes-off" not in s.effects)
        for s in way
    )


def _slices(formula: JoinedFormula, makes: Makes) -> tuple[int | None, Fraction, list[Finding]]:
    """The portions in one fill, and the share of it that is sliced: all of it, where nothing is."""
    if makes.slice is None:
        return makes.portions, Fraction(1), []
    if makes.length is None or (makes.fill_weight is None and makes.fill_volume is None):
        words = "A slice needs the length and weight of one fill."
        help = "Add `length` and `fill_weight` under `makes`."
        found = _finding(formula, makes, "slice", "slice-needs-length", "error", words, help)
        return makes.portions, Fraction(1), [found]
    ends = sum((s.step.ends.value for s in formula.steps if s.step.ends), Fraction(0))
    usable = makes.length.value - 2 * ends
    per_fill = max(0, math.floor(usable / makes.slice.value))
    if per_fill == 0:
        words = "There is no whole slice between the ends."
        help = "Check slice, length and ends."
        found = _finding(formula, makes, "slice", "slice-too-thick", "error", words, help)
        return per_fill, Fraction(1), [found]
    return per_fill, per_fill * makes.slice.value / makes.length.value, []

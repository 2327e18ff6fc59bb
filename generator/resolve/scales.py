"""Scales checked against themselves: a slip is asked about at the scale, not at each line."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from generator.files.finding import Finding, Refused
from generator.files.source_text import Mapping
from generator.measures.amounts import Amount, read_amount
from generator.measures.units import Units
from generator.records.equipment import Scale
from generator.resolve.names import Names

FINER_THAN_SHOWN = Fraction(1, 2)
"""A display's own step hides half a division: nobody knows a scale to be surer than that."""
MOST_OFF, USUALLY_OFF = 30, 5
"""Divisions a kitchen scale may be off before one of the two figures is asked about, and at most
where another figure is offered."""
FEWEST_STEPS, MOST_STEPS = 100, 1_000_000
"""Divisions in a scale's capacity. Market scales have some thousands; these bounds are ours, wide,
and only ask."""
_UNITS = ("g", "kg")


def check_scale(names: Names, scale: Scale, about: str) -> bool:
    """The first of a scale's own slips: figures that can't be of one scale, or a container that
    uses up its capacity. Whether there is one."""
    figures = _figures(scale)
    reasons = dict(_misfits(figures, MOST_OFF))
    if reasons:
        _ask(names, scale, figures, reasons, about)
    elif _used_up(scale) and scale.tare is not None:
        names.error(
            "tare-above-capacity",
            scale.place("tare"),
            f"{scale.name}: its container weighs {scale.tare.text}, and it holds "
            f"{scale.capacity.text} in all.",
            "Check `tare` and `capacity`.",
            about,
        )
    return bool(reasons) or _used_up(scale)


def _ask(
    names: Names, scale: Scale, figures: dict[str, Amount], reasons: dict[str, str], about: str
) -> None:
    """Ask about figures that can't be of one scale, where the likeliest slip is."""
    first, words = next(iter(reasons.items()))
    key, meant = _meant(figures, names.standards.units)
    place = scale.place(key or first)
    names.findings.append(
        Finding(
            "scale-implausible",
            "warning",
            f"{scale.name}: {words}",
            place,
            "Check `division`, `accuracy` and `capacity`, and their units. Lines too small for "
            "this scale are reported once it is right.",
            (place.fixed(meant),) if meant else (),
            about=frozenset({about}),
        )
    )


def _used_up(scale: Scale) -> bool:
    """Whether the container weighs all the scale holds."""
    return scale.tare is not None and scale.tare.value >= scale.capacity.value


def _figures(scale: Scale) -> dict[str, Amount]:
    return {key: getattr(scale, key) for key in _KEYS}


_KEYS = ("division", "accuracy", "capacity")


def _misfits(figures: dict[str, Amount], most_off: int) -> Iterator[tuple[str, str]]:
    """What can't be of one scale, off by so many divisions at most: the key it is asked at, and
    the words."""
    division, accuracy, capacity = (figures[key] for key in _KEYS)
    if accuracy.value < division.value * FINER_THAN_SHOWN:
        words = f"off by {accuracy.text} at most, and it shows steps of {division.text} only."
        yield "division", words
    if accuracy.value > division.value * most_off:
        yield "accuracy", f"shows steps of {division.text}, and may be off by {accuracy.text}."
    if not FEWEST_STEPS <= capacity.value / division.value <= MOST_STEPS:
        yield "capacity", f"shows steps of {division.text}, and holds {capacity.text}."


def _meant(figures: dict[str, Amount], units: Units) -> tuple[str, str]:
    """The one key, and its figure in the other unit, that would make the scale fit; else
    nothing."""
    for key, typed in figures.items():
        if typed.unit not in _UNITS:
            continue
        other = _UNITS[1 - _UNITS.index(typed.unit)]
        text = f"{typed.text[: -len(typed.unit)].strip()} {other}"
        try:
            swapped = read_amount(text, units, pieces=False)
        except Refused:
            continue
        if not dict(_misfits({**figures, key: swapped}, USUALLY_OFF)):
            return key, text
    return "", ""


def doubted_scales(names: Names) -> dict[str, Fraction]:
    """The scales with a slip of their own, and how many grams each may be sure to for all that is
    known: 0 where no figure of it can be read."""
    units = names.standards.units
    found = {i: _finest(tree, units) for i, tree in names.standards.lost_scales.items()}
    for ident, scale in names.standards.equipment.items():
        if isinstance(scale, Scale) and _has_a_slip(scale):
            found[ident] = min(scale.division.value, scale.accuracy.value)
    return found


def _has_a_slip(scale: Scale) -> bool:
    above = scale.minimum is not None and scale.minimum.value > scale.capacity.value
    return above or _used_up(scale) or bool(dict(_misfits(_figures(scale), MOST_OFF)))


def _finest(tree: Mapping, units: Units) -> Fraction:
    """The smaller of a lost scale's division and accuracy, of those that can be read."""
    found = [Fraction(0)]
    for key in ("division", "accuracy"):
        try:
            found.append(read_amount(str(tree.get(key, "")), units, pieces=False).value)
        except Refused:
            continue
    return min(found[1:], default=Fraction(0))

"""A sanitising solution: how strong, how warm, how sour, how long it stays on.

Food Code 4-501.114 and 4-703.11(C), the tolerance exemptions of 40 CFR 180.940 for the most, and
the maker's label: the stricter applies. What isn't stated counts as the strictest column.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from generator.measures.strengths import Strength
from generator.measures.temperature import Temperature
from generator.measures.words import breakable, listed, plain
from generator.records.routine import OF, Check
from generator.reference.row_kinds import SanitiserRow
from generator.resolve.joined import House
from generator.rules.basics.context import source_of
from generator.rules.basics.limit import Source
from generator.rules.routine.readings import (
    Fault,
    Found,
    Reading,
    Warmth,
    cited_row,
    label_source,
    lasting,
    lasting_law,
    ppm,
    temperature,
    warmths,
)

_TOXIC = "More than that leaves on the surface what food must not take up."


def sanitiser(house: House, check: Check) -> Found:
    """What a sanitiser is held to, and what is wrong with it as it was typed."""
    found = Found()
    if check.of is None:
        found.faults.append(
            Fault(
                "sanitiser-unnamed",
                "Which sanitiser is it? Each has limits of its own.",
                f"Write `of:` {listed(list(OF['sanitiser']), 'or')}.",
            )
        )
        return found
    rows = [r for _, r in house.pack.rows_of(SanitiserRow) if r.applies == check.of]
    if not rows and _said(check) is None:
        found.why = f"No row for it is held in {house.pack.facts.name}."
        return found
    span = _span(house, check, rows, found)
    if span is not None:
        row = _row(house, check, rows, span, found)
        _strength(house, check, rows, row, span, found)
        if not found.faults:
            _warmth(house, check, row, found)
            _sourness(house, check, row, found)
            _hardness(house, check, row, found)
            _contact(house, check, found)
    return found


def _said(check: Check) -> Strength | None:
    """How strong its label says it is used."""
    return check.label.strength if check.label is not None else None


def _span(
    house: House, check: Check, rows: Sequence[SanitiserRow], found: Found
) -> Strength | None:
    """How strong it is made: as the chef says, as the label says, or the code's own range."""
    said = _said(check)
    if said is None and check.of in ("quat", "other"):
        found.faults.append(
            Fault(
                "label-missing",
                f"The code leaves the strength of {_NAMES[check.of]} to its maker's label.",
                "Write `label:` with its `document` and `strength`.",
                "label" if check.label is not None else "",
                source=cited_row(house, rows[0]) if rows else "",
            )
        )
        return None
    span = check.strength or said or _own_range(rows)
    if span is None:
        found.faults.append(
            Fault(
                "strength-missing",
                "How strong is it? Its least temperature follows from that.",
                "Write what the strip must show, as in strength: 50 to 100 ppm.",
            )
        )
    return span


def _own_range(rows: Sequence[SanitiserRow]) -> Strength | None:
    """The code's own range, of a sanitiser that has one: iodine."""
    for row in rows:
        if row.strength_from is not None and row.strength_most is not None:
            return Strength(row.strength_from, row.strength_most)
    return None


_NAMES = {
    "chlorine": "a chlorine solution",
    "iodine": "an iodine solution",
    "quat": "a quaternary ammonium solution",
    "other": "such a sanitiser",
}


def _row(
    house: House, check: Check, rows: Sequence[SanitiserRow], span: Strength, found: Found
) -> SanitiserRow | None:
    """The row of its strength and pH: of a pH that isn't stated the column that asks for the most
    warmth. None where the code has no temperature for it."""
    warm = [r for r in rows if r.value is not None]
    strong = [r for r in warm if _holds(r, span.least)]
    if warm and not strong:
        found.faults.append(_too_weak(house, check, warm, span))
        return None
    if check.ph is None:
        return max(strong, key=_warm, default=None)
    sour = [r for r in strong if check.ph <= _highest_ph(check, r)]
    if strong and not sour:
        found.faults.append(_too_alkaline(house, check, strong, check.ph))
    return min(sour, key=_warm, default=None)


def _too_alkaline(house: House, check: Check, rows: Sequence[SanitiserRow], ph: Fraction) -> Fault:
    most = max(_highest_ph(check, row) for row in rows)
    return Fault(
        "sanitiser-ph-too-high",
        f"pH {plain(ph)}: {_NAMES[str(check.of)]} works up to pH {plain(most)}.",
        "Use less of what makes it alkaline, or another sanitiser.",
        "ph",
        source=cited_row(house, rows[0]),
    )


def _too_weak(house: House, check: Check, rows: Sequence[SanitiserRow], span: Strength) -> Fault:
    least = min((r.strength_from for r in rows if r.strength_from is not None), default=span.least)
    return Fault(
        "strength-too-weak",
        f"{ppm(span.least)} is too weak. {_NAMES[str(check.of)].capitalize()} has at least "
        f"{ppm(least)}.",
        f"Write {ppm(least)} or more.",
        "strength",
        source=cited_row(house, rows[0]),
    )


def _highest_ph(check: Check, row: SanitiserRow) -> Fraction:
    """The highest pH that will do: for iodine the label's own may be above the code's
    (4-501.114(B)(2)); for the others a label can only ask for less."""
    label = check.label.ph if check.label is not None else None
    if row.ph_most is None:
        return label if label is not None else Fraction(14)
    if label is None:
        return row.ph_most
    return label if check.of == "iodine" else min(label, row.ph_most)


def _warm(row: SanitiserRow) -> Temperature:
    assert row.value is not None
    return row.value


def _holds(row: SanitiserRow, strength: Fraction) -> bool:
    """Whether a strength is one of a row's."""
    if row.strength_from is not None and strength < row.strength_from:
        return False
    return row.strength_below is None or strength < row.strength_below


def _strength(
    house: House,
    check: Check,
    rows: Sequence[SanitiserRow],
    row: SanitiserRow | None,
    span: Strength,
    found: Found,
) -> None:
    """Its strength, between what the code, the label and the chef say; too strong is an error. The
    code's least is that of its ``row``: a weaker solution would have to be warmer."""
    law: list[tuple[str, Source]] = []
    weakest = _least_of(rows, row)
    if weakest is not None:
        law.append((f"at least {ppm(_from(weakest))}", source_of(house, weakest)))
    tops = [span.most] if span.most is not None else []
    for cap in _capped(house, check):
        most = cap.strength_most or Fraction(0)
        if max([span.least, *tops]) > most:
            found.faults.append(_too_strong(house, check, cap, max([span.least, *tops])))
        tops.append(most)
        law.append((f"at most {ppm(most)}", source_of(house, cap)))
    said = _said(check)
    if check.label is not None and said is not None:
        if not _within(span, said):
            found.faults.append(_off_label(span, said))
        tops += [said.most] if said.most is not None else []
        law.append((str(said), label_source(check.label)))
    top = min(tops, default=None)
    found.readings.append(Reading("Strength", "strength", "ppm", span.least, top, tuple(law)))


def _least_of(rows: Sequence[SanitiserRow], row: SanitiserRow | None) -> SanitiserRow | None:
    """The row that says how strong it is at least: its own, else the weakest of all."""
    if row is not None and row.strength_from is not None:
        return row
    return min((r for r in rows if r.strength_from is not None), key=_from, default=None)


def _within(span: Strength, said: Strength) -> bool:
    """Whether a strength is within the label's; a label with one figure names its least."""
    if span.least < said.least:
        return False
    return said.most is None or (span.most or span.least) <= said.most


def _from(row: SanitiserRow) -> Fraction:
    return row.strength_from or Fraction(0)


def _capped(house: House, check: Check) -> list[SanitiserRow]:
    """The rows that cap its strength."""
    return [
        row
        for _, row in house.pack.rows_of(SanitiserRow)
        if row.applies in (check.of, f"{check.of}-most") and row.strength_most is not None
    ]


def _off_label(span: Strength, said: Strength) -> Fault:
    return Fault(
        "strength-off-label",
        f"{span} is not what the label says: {said}.",
        "A sanitiser is used as its label says. Write a strength within it.",
        "strength",
        write=(breakable(str(said)),),
    )


def _too_strong(house: House, check: Check, row: SanitiserRow, typed: Fraction) -> Fault:
    assert row.strength_most is not None
    key = "strength" if check.strength is not None else "label"
    return Fault(
        "strength-too-strong",
        f"{ppm(typed)} is too strong. {_NAMES[str(check.of)].capitalize()} on what food touches "
        f"has at most {ppm(row.strength_most)}.",
        _TOXIC,
        key,
        source=cited_row(house, row),
    )


def _warmth(house: House, check: Check, row: SanitiserRow | None, found: Found) -> None:
    """How warm it must be: the row's figure or the label's, the higher; nothing where neither has
    one."""
    held = warmths(house, row) if row is not None else []
    if check.label is not None and check.label.at is not None:
        held.append(Warmth(check.label.at, None, "min", label_source(check.label)))
    if held or check.at is not None:
        found.readings.append(temperature(house, "Temperature", held, check, found.faults))


def _sourness(house: House, check: Check, row: SanitiserRow | None, found: Found) -> None:
    """The highest pH."""
    label = check.label.ph if check.label is not None else None
    law: list[tuple[str, Source]] = []
    if row is not None and row.ph_most is not None:
        law.append((f"pH {plain(row.ph_most)} or less", source_of(house, row)))
    if check.label is not None and label is not None:
        law.append((f"pH {plain(label)} or less", label_source(check.label)))
    most = _highest_ph(check, row) if row is not None else label
    if law:
        found.readings.append(Reading("pH", "ph", "", None, most, tuple(law)))


def _hardness(house: House, check: Check, row: SanitiserRow | None, found: Found) -> None:
    """The hardest water: the label's own where it says so (4-501.114(C)(3))."""
    label = check.label.hardness if check.label is not None else None
    law: list[tuple[str, Source]] = []
    most = None
    if row is not None and row.hardness_most is not None:
        most = row.hardness_most
        law.append((f"at most {ppm(most)}", source_of(house, row)))
    if check.label is not None and label is not None:
        most = label.most or label.least
        law.append((f"at most {ppm(most)}", label_source(check.label)))
    if most is not None:
        name = "Hardness of the water"
        found.readings.append(Reading(name, "hardness", "ppm", None, most, tuple(law)))


def _contact(house: House, check: Check, found: Found) -> None:
    """How long it stays on: the code's time or the label's, the longer."""
    applies = "chlorine-contact" if check.of == "chlorine" else "other-contact"
    held = house.pack.row_for(SanitiserRow, applies)
    law: list[tuple[str, Source]] = []
    seconds = Fraction(0)
    if held is not None and held[1].contact is not None:
        seconds = held[1].contact.seconds
        law.append((lasting_law(seconds), source_of(house, held[1])))
    label = check.label
    if label is not None and label.contact is not None:
        seconds = max(seconds, label.contact.seconds)
        law.append((lasting_law(label.contact.seconds), label_source(label)))
    if law:
        found.readings.append(lasting("Stays on", seconds, tuple(law)))

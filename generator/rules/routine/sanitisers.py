"""A sanitising solution: how strong, how warm, how sour, how long it stays on.

Food Code 4-501.114 and 4-703.11(C), the tolerance exemptions of 40 CFR 180.940 for the most, and
the maker's label: the stricter applies. What isn't stated counts as the strictest column.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from generator.measures.strengths import Strength
from generator.measures.temperature import Temperature
from generator.measures.words import NARROW, listed, plain
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

_Law = tuple[tuple[str, Source], ...]
_TOXIC = "More than that leaves on the surface what food must not take up."


def sanitiser(house: House, check: Check) -> Found:
    """What a sanitiser is held to, and what is wrong with it as it was typed."""
    found = Found()
    agent = check.of
    if agent is None:
        found.faults.append(
            Fault(
                "sanitiser-unnamed",
                "Which sanitiser is it? Each has limits of its own.",
                f"Write `of:` {listed(list(OF['sanitiser']), 'or')}.",
            )
        )
        return found
    rows = [r for _, r in house.pack.rows_of(SanitiserRow) if r.applies == agent]
    if not rows and (check.label is None or check.label.strength is None):
        found.why = f"No row for it is held in {house.pack.facts.name}."
        return found
    span = _span(house, check, rows, found)
    if span is None:
        return found
    row = _row(house, check, rows, span, found)
    _strength(house, check, rows, span, found)
    if found.faults and any(f.severity == "error" for f in found.faults):
        return found
    if row is not None or (check.label is not None and check.label.at is not None):
        found.readings.append(_warmth(house, check, row, found))
    _sourness(house, check, row, found)
    _contact(house, check, found)
    return found


def _span(
    house: House, check: Check, rows: Sequence[SanitiserRow], found: Found
) -> Strength | None:
    """How strong it is made: as the chef says, as the label says, or the code's own range."""
    label = check.label
    if check.of in ("quat", "other") and (label is None or label.strength is None):
        source = cited_row(house, rows[0]) if rows else ""
        found.faults.append(
            Fault(
                "label-missing",
                f"The code leaves the strength of {_NAMES[check.of]} to its maker's label.",
                "Write `label:` with its `document` and `strength`.",
                "label" if label is not None else "",
                source=source,
            )
        )
        return None
    if check.strength is not None:
        return check.strength
    if label is not None and label.strength is not None:
        return label.strength
    own = [r for r in rows if r.strength_from is not None and r.strength_most is not None]
    if check.of == "iodine" and own:
        assert own[0].strength_from is not None
        return Strength(own[0].strength_from, own[0].strength_most)
    found.faults.append(
        Fault(
            "strength-missing",
            "How strong is it? Its least temperature follows from that.",
            "Write what the strip must show, as in strength: 50 to 100 ppm.",
        )
    )
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
        least = min(r.strength_from for r in warm if r.strength_from is not None)
        found.faults.append(
            Fault(
                "strength-too-weak",
                f"{ppm(span.least)} is too weak. {_NAMES[str(check.of)].capitalize()} has at least "
                f"{ppm(least)}.",
                f"Write {ppm(least)} or more.",
                "strength",
                source=cited_row(house, warm[0]),
            )
        )
        return None
    if check.ph is None:
        return max(strong, key=_warm, default=None)
    sour = [r for r in strong if check.ph <= _highest_ph(check, r)]
    if strong and not sour:
        most = max(_highest_ph(check, r) for r in strong)
        found.faults.append(
            Fault(
                "sanitiser-ph-too-high",
                f"pH {plain(check.ph)}: {_NAMES[str(check.of)]} works up to pH {plain(most)}.",
                "Use less of what makes it alkaline, or another sanitiser.",
                "ph",
                source=cited_row(house, strong[0]),
            )
        )
        return None
    return min(sour, key=_warm, default=None)


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
    house: House, check: Check, rows: Sequence[SanitiserRow], span: Strength, found: Found
) -> None:
    """Its strength, between what the code, the label and the chef say; too strong is an error."""
    law: list[tuple[str, Source]] = []
    least, most = span.least, span.most
    weakest = [r for r in rows if r.strength_from is not None]
    if weakest:
        row = min(weakest, key=lambda r: r.strength_from or 0)
        assert row.strength_from is not None
        law.append((f"at least {ppm(row.strength_from)}", source_of(house, row)))
    capped = [
        r
        for _, r in house.pack.rows_of(SanitiserRow)
        if r.applies in (check.of, f"{check.of}-most") and r.strength_most is not None
    ]
    for row in capped:
        assert row.strength_most is not None
        if (most or least) > row.strength_most or least > row.strength_most:
            found.faults.append(_too_strong(house, check, row, most or least))
            return
        most = min(most, row.strength_most) if most is not None else row.strength_most
        law.append((f"at most {ppm(row.strength_most)}", source_of(house, row)))
    label = check.label
    if label is not None and label.strength is not None:
        said = label.strength
        top = said.most if said.most is not None else most
        if least < said.least or (most is not None and top is not None and (span.most or 0) > top):
            found.faults.append(
                Fault(
                    "strength-off-label",
                    f"{span} is not what the label says: {said}.",
                    "A sanitiser is used as its label says. Write a strength within it.",
                    "strength",
                    write=(str(said).replace(NARROW, " "),),
                )
            )
            return
        if top is not None:
            most = min(most, top) if most is not None else top
        law.append((str(said), label_source(label)))
    found.readings.append(Reading("Strength", "strength", "ppm", least, most, tuple(law)))


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


def _warmth(house: House, check: Check, row: SanitiserRow | None, found: Found) -> Reading:
    """How warm it must be: the row's figure or the label's, the higher."""
    held = warmths(house, row) if row is not None else []
    if check.label is not None and check.label.at is not None:
        held.append(Warmth(check.label.at, None, "min", label_source(check.label)))
    return temperature(house, "Temperature", held, check, found.faults)


def _sourness(house: House, check: Check, row: SanitiserRow | None, found: Found) -> None:
    """The highest pH, and the hardest water."""
    label = check.label
    ph = row.ph_most if row is not None else None
    law: _Law = ((f"pH {plain(ph)} or less", source_of(house, row)),) if row and ph else ()
    if label is not None and label.ph is not None:
        stricter = ph is None or label.ph < ph or check.of == "iodine"
        ph = label.ph if stricter else ph
        law = (*law, (f"pH {plain(label.ph)} or less", label_source(label)))
    if ph is not None:
        found.readings.append(Reading("pH", "ph", "", None, ph, law))
    hard = row.hardness_most if row is not None else None
    law = ((f"at most {ppm(hard)}", source_of(house, row)),) if row and hard else ()
    if label is not None and label.hardness is not None:
        hard = label.hardness.most or label.hardness.least
        law = (*law, (f"at most {ppm(hard)}", label_source(label)))
    if hard is not None:
        found.readings.append(Reading("Hardness of the water", "hardness", "ppm", None, hard, law))


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

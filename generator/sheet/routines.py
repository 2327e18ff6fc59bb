"""Every process spec that stands alone, worked out; and what is wrong with those that can't be."""

from __future__ import annotations

from generator.files.finding import Finding
from generator.intake.standards import Standards
from generator.resolve.joined import House
from generator.rules.routine.checks import CheckedRoutine, checked


def checked_routines(
    house: House, standards: Standards, findings: list[Finding]
) -> dict[str, CheckedRoutine]:
    """The routines by their id, without those that have an error of their own; what is wrong goes
    to ``findings``, which hold what is known of their names."""
    found: dict[str, CheckedRoutine] = {}
    for ident, routine in standards.routines.items():
        about = frozenset({f"process:{ident}"})
        one, faults = checked(house, ident, routine, standards.equipment)
        for index, fault in faults:
            check = routine.checks[index]
            place = check.place(fault.key) if fault.key else check.place()
            findings.append(
                Finding(
                    fault.code,
                    fault.severity,
                    fault.message,
                    place,
                    fault.help,
                    tuple(place.fixed(fix) for fix in fault.write),
                    source=fault.source,
                    about=about,
                )
            )
        if not any(f.is_error and f.about & about for f in findings):
            found[ident] = one
    return found

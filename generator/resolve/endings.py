"""An ending beside what it shares: the shared steps don't end the food's way before it."""

from __future__ import annotations

from collections.abc import Sequence

from generator.records.formula import Formula
from generator.resolve.joined import JoinedStep
from generator.resolve.names import Names

_ENDS = {
    "serves": "Write it in each ending, last.",
    "stores": "Write it in each ending. Food that waits cold for its ending is chilled; `stays` "
    "says how long.",
}
"""What ends a food's way, and where it belongs."""


def check_ending(names: Names, ident: str, formula: Formula, steps: Sequence[JoinedStep]) -> None:
    """No step that all endings share serves the food or puts it where it is kept."""
    ending = formula.ending
    if ending is None:
        return
    for step in steps[: len(steps) - ending.own_steps]:
        for effect, help in _ENDS.items():
            if effect in step.effects:
                names.error(
                    "ending-after-end",
                    step.step.place("do"),
                    f"{step.verb}: step {step.number} ends the food's way, and its endings follow.",
                    help,
                    ident,
                )

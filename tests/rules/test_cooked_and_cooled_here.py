"""Food cooked and cooled in the formula that heats it again is reheated there, whatever the verb."""

from __future__ import annotations

import itertools
import random
from fractions import Fraction
from pathlib import Path

import pytest
from conftest import compute, edit

from generator.rules.basics.limit import HeatingLimit
from generator.sheet.manual import Manual

BAKED = "processes/baked.yaml"
COLD = {
    "straight": "",
    "stored": "  - do: store\n    id: overnight\n    in: cold-room\n    time: 1 day\n",
    "cut": "  - do: slice\n    time: 10 min\n",
}
HEATS = ["do: roast", "do: boil", "do: warm", "do: wobble\n    does: heats"]
HEATS += ["do: wobble\n    does: cooks", "do: reheat"]
ENDS = {
    "held": "  - do: hold-hot\n    target: at 63 °C\n  - do: serve\n",
    "served": "  - do: serve\n",
}


def heated_again(kitchen: Path, cold: str, heat: str, core: str, end: str) -> Manual:
    """The baked pork, chilled, heated again and served."""
    target = f"    target: {core}\n" if core else ""
    steps = f"{COLD[cold]}  - {heat}\n    id: again\n{target}{ENDS[end]}"
    text = (kitchen / "standards" / BAKED).read_text(encoding="utf-8")
    chill = text[text.index("  - do: chill") :]
    edit(kitchen, BAKED, chill, f"{chill.rstrip()}\n{steps}")
    return compute(kitchen)


def reheating(manual: Manual) -> list[tuple[str, Fraction, Fraction | None]]:
    """The steps with a limit for reheating: which, its figure in °F, and how long."""
    limits = manual.walks["pork-bake"].limits if "pork-bake" in manual.walks else ()
    return [
        (x.step, x.figure.value.in_unit("°F"), x.hold.row_s if x.hold else None)
        for x in limits
        if isinstance(x, HeatingLimit) and x.hazard == "reheat"
    ]


CASES = list(itertools.product(COLD, HEATS, ["", "core 50 °C", "core 76 °C for 15 s"], ENDS))


@pytest.mark.parametrize("case", random.Random(311).sample(CASES, 24))
def test_every_heat_that_ends_in_service_is_reheating(
    case: tuple[str, str, str, str], kitchen: Path
) -> None:
    """Food Code 3-403.11(A): 165 °F for 15 seconds; 50 °C is none, whatever heats it there."""
    _, heat, core, end = case
    manual = heated_again(kitchen, *case)
    found = {f.code for f in manual.findings if f.severity == "error"}
    assert reheating(manual) == [("again", 165, 15)]
    assert ("target-below-limit" in found) == (core == "core 50 °C")
    only_warmed = not core and heat in ("do: warm", "do: wobble\n    does: heats")
    assert ("reheat-missing" in found) == (only_warmed and end == "held")


def test_a_heat_before_the_last_one_is_not_asked(kitchen: Path) -> None:
    steps = "  - do: warm\n  - do: reheat\n    target: core 75 °C for 15 s\n"
    text = (kitchen / "standards" / BAKED).read_text(encoding="utf-8")
    edit(
        kitchen,
        BAKED,
        text[text.index("  - do: chill") :],
        text[text.index("  - do: chill") :].rstrip() + "\n" + steps + ENDS["held"],
    )
    manual = compute(kitchen)
    assert [step for step, *_ in reheating(manual)] == ["reheat"] and not manual.errors

"""What a finding offers is taken as it is pasted: a chill's time after what the food stood, a core
target with what brings the food there; and a chill's own time counts whether or not `stays` is
beside it."""

from __future__ import annotations

import math
import random
import re
from pathlib import Path

import pytest
from conftest import compute, edit
from honest_kitchens import lay_out

from generator.files.finding import Finding

BAKED = "processes/baked.yaml"
CHILL = "  - do: chill\n    in: blast\n    target: to 4 °C\n"
BLAST, TO, FIRST, START = 1.0, 4.0, 70.0, 135.0
"""°C of the base kitchen's blast chiller and of the target; °F of Food Code 3-501.14(A)."""
TOO_LONG = {"chill-too-slow", "chill-begun-too-late"}


def missed(stood: int, time: int) -> bool:
    """By hand, in minutes: 120 to 70 °F and 360 in all; where it stood, the share of its time that
    Newton's law gives the first stage has to go into what is left."""
    start, first = (START - 32) / 1.8, (FIRST - 32) / 1.8
    share = math.log((start - BLAST) / (first - BLAST)) / math.log((start - BLAST) / (TO - BLAST))
    late = bool(stood) and stood + time * (math.floor(1000 * share) / 1000) > 120
    return stood >= 120 or stood + time > 360 or late


def chilled(project: Path, stood: int, time: int, stays: str) -> list[Finding]:
    """What is said of the base kitchen's bake that stood and was chilled so many minutes."""
    rest = f"  - do: rest\n    time: {stood} min\n" if stood else ""
    edit(project, BAKED, CHILL, f"{rest}{CHILL}    time: {time} min\n{stays}")
    return [f for f in compute(project).errors if f.code in TOO_LONG]


@pytest.mark.parametrize("stays", ["", "    stays: 10 h\n"])
@pytest.mark.parametrize("number", range(6))
def test_a_time_to_get_cold_counts_beside_stays_and_what_is_offered_holds(
    kitchen: Path, number: int, stays: str
) -> None:
    by = random.Random(number)
    stood, time = by.choice([0, 0, 20, 45, 60, 90, 119]), by.randint(30, 700)
    found = chilled(kitchen, stood, time, stays)
    assert bool(found) == missed(stood, time), (stood, time)
    for line in (line for f in found for line in f.write):
        key, _, value = line.partition(": ")
        text = (kitchen / "standards" / BAKED).read_text(encoding="utf-8")
        assert key == "time" or not stays, "a key that is there already isn't offered"
        edit(kitchen, BAKED, f"    time: {time} min\n", f"    {key}: {value}\n")
        assert not [f for f in compute(kitchen).errors if f.code in TOO_LONG], (stood, time, line)
        (kitchen / "standards" / BAKED).write_text(text, encoding="utf-8")


def test_stays_alone_says_nothing_of_how_long_it_takes(kitchen: Path) -> None:
    edit(kitchen, BAKED, CHILL, f"{CHILL}    stays: 10 h\n")
    assert not [f for f in compute(kitchen).findings if f.code in TOO_LONG]


@pytest.mark.parametrize("item", ["thigh", "pork-loin", "egg", "char"])
@pytest.mark.parametrize("degrees", [57, 63, 68, 74])
@pytest.mark.parametrize("before", [True, False])
def test_a_target_is_offered_with_what_brings_the_food_there(
    tmp_path: Path, item: str, degrees: int, before: bool
) -> None:
    """Sous vide: the bath is as warm as the core that is wanted, and no warmer."""
    said = f"at: {degrees} °C"
    keys = [said, f"target: core {degrees} °C"]
    line = f"{{do: poach, add: [food], {', '.join(keys if before else keys[::-1])}, time: 2 h}}"
    spec = {"parts": {"food": {item: "5 kg"}}, "process": f"  - {line}\n  - do: serve\n"}
    lay_out(tmp_path, spec)
    path = tmp_path / "standards/processes/work.yaml"
    typed = path.read_text(encoding="utf-8")
    of_it = ("target-below-limit", "target-within-probe-error", "core-out-of-reach")
    found = [f for f in compute(tmp_path).findings if f.code in of_it]
    for fix in (fix for f in found for fix in f.write):
        path.write_text(typed.replace(f"- {line}", fix), encoding="utf-8")
        assert not [f for f in compute(tmp_path).findings if f.code in of_it], fix
    assert all(f.write for f in found)
    assert bool(found) == (degrees < (75 if item == "thigh" else 64))


def test_where_the_setting_is_on_another_line_the_words_say_so(tmp_path: Path) -> None:
    steps = "  - do: poach\n    add: [food]\n    at: 60 °C\n    target: core 60 °C\n  - do: serve\n"
    lay_out(tmp_path, {"parts": {"food": {"thigh": "5 kg"}}, "process": steps})
    (found,) = [f for f in compute(tmp_path).errors if f.code == "target-below-limit"]
    assert not found.write
    assert re.search(r"set `at` to 75\s°C or hotter", found.help)

"""What was measured of a refrigerator with a warm load: figures that can be so, and its power."""

from __future__ import annotations

from fractions import Fraction

from generator.files.finding import Finding
from generator.measures.words import plain
from generator.records.equipment import Cold
from generator.records.pull_up import PullUp
from generator.resolve.names import Names

LONGEST = 24 * 3600
"""Seconds after which air that is still lifted is no answer to a load any more. Ours."""
_MOST_HEAT = Fraction(4200)
"""What food gives off at the most, J/(kg K): water's."""
TOO_STRONG = 4
"""So many times the heat of the whole load a machine may take away while its air is warm: walls,
a door and other food bring some, and no plate's figure holds in use. Ours."""


def check_pull_up(names: Names, item: Cold, about: str) -> None:
    """Each figure that can't be so, at its place; then its power beside it."""
    found = item.pull_up
    if found is None:
        return
    faults = list(_impossible(item, found))
    for key, words, help in faults:
        place = item.place("pull_up", key)
        names.error("pull-up-impossible", place, f"{item.name}: {words}", help, about)
    if not faults:
        _beside_power(names, item, found, about)


def _impossible(item: Cold, found: PullUp) -> list[tuple[str, str, str]]:
    """The key, what is wrong with it, what to do."""
    air = item.air.warmest
    faults = []
    if found.load.value <= 0:
        faults.append(("load", "a load of nothing lifts no air.", "Write what came in."))
    elif item.capacity is not None and found.load.value > item.capacity.value:
        words = f"a load of {found.load.text}, and it takes {item.capacity.text}."
        faults.append(("load", words, "Check `load` and `capacity`."))
    if found.at.celsius <= air.celsius:
        words = f"a load of {found.at} is no warmer than its air, {air}."
        faults.append(("at", words, "Write how warm the food came in."))
    elif found.at.celsius > 100:
        faults.append(("at", f"food of {found.at}.", "Check the figure and its scale."))
    elif found.lifted_to.celsius >= found.at.celsius:
        words = f"air of {found.lifted_to} is no colder than the load, {found.at}."
        faults.append(("lifted_to", words, "Write the air's temperature, not the food's."))
    if found.lifted_to.celsius <= air.celsius:
        words = f"{found.lifted_to} is no warmer than its air, {air}: nothing was lifted."
        faults.append(("lifted_to", words, "Measure a larger load, or leave `pull_up` out."))
    if not 0 < found.back.seconds <= LONGEST:
        words = f"back after {found.back}."
        help = "Write when the air was back, in a day at the most."
        faults.append(("back", words, help))
    return faults


def _beside_power(names: Names, item: Cold, found: PullUp, about: str) -> None:
    """A machine that could have taken all the heat of the load away many times while its air was
    warm: one of the two figures is wrong."""
    if item.power is None:
        return
    above = found.at.celsius - item.air.warmest.celsius
    heat = found.load.value / 1000 * _MOST_HEAT * above
    times = item.power.watts * found.back.seconds / heat
    if times <= TOO_STRONG:
        return
    words = (
        f"{item.name}: with its power it takes the heat of {found.load.text} at {found.at} away "
        f"{plain(Fraction(int(times)))} times in {found.back}."
    )
    help = "Check `power` and `pull_up`. A plate may show the electricity. `pull_up` is used."
    place = item.place("pull_up")
    names.findings.append(
        Finding("pull-up-and-power-differ", "warning", words, place, help, about=frozenset({about}))
    )

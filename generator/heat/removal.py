"""What becomes of food that is taken out: how much warmer its slowest point still gets, and where a
probe goes."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from generator.heat.case import AS_STATED, Case, Place
from generator.heat.prediction import slowest_after, solved


@dataclass(frozen=True)
class CarryOver:
    """How much the slowest point still changes once the food is out, °C, and after how many
    seconds it is at its peak."""

    degrees: float
    seconds: float


def carry_over(case: Case, target: float, after: Place) -> CarryOver:
    """What a case does in the place ``after``, once all of it has reached ``target``. Raises
    Impossible where it never does."""
    places = (replace(case.places[-1], seconds=None, until=target), after)
    moved = replace(case, places=(*case.places[:-1], *places), targets=())
    run = solved(moved, AS_STATED)
    lasting = min(run.solver.steady_time, 24 * 3600.0)
    times = run.began + np.concatenate(([0.0], np.geomspace(lasting / 400, 1.5 * lasting, 60)))
    course = slowest_after(run, times)
    peak = int(np.argmax(course))
    return CarryOver(float(course[peak] - target), float(times[peak] - run.began))

"""When food reaches its targets in a medium that a load itself has moved: the answer at the slowest
point to a medium that stays as it is, and what each change of it adds (Duhamel)."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from generator.heat.bodies import Course, Face, Stage
from generator.heat.case import AS_STATED, Case, Turn
from generator.heat.exchange import Moved, main_course
from generator.heat.prediction import Run, Target, banded, solved
from generator.heat.properties import Array
from generator.heat.ranges import Range
from generator.heat.series import At, Series

_SWING = 100.0


def reached_in(case: Case, found: Moved, targets: Sequence[Target]) -> tuple[Range, ...]:
    """When each target is reached at the point that is the last to get there in a medium that stays
    as it is, s with a band; infinite where it isn't by the end of the course."""
    turns = [turn for pair in case.turns() for turn in pair]
    likely = _crossings(case, AS_STATED, found, targets)
    edges = [(turn.name, _crossings(case, turn, found, targets)) for turn in turns]
    return tuple(
        banded(likely[n], [(name, times[n]) for name, times in edges]) for n in range(len(targets))
    )


def _crossings(case: Case, turn: Turn, found: Moved, targets: Sequence[Target]) -> list[float]:
    times = np.array(found.times)
    run = solved(case, turn)
    assert isinstance(run.solver, Series)
    answer = _answer_of(case, turn, run)
    crossed = []
    for target in targets:
        where: At = tuple(np.array([share]) for share in target.where)
        course = run.solver.at(times + run.came, where).reshape(-1)
        course = course + _added(found, case, answer.at(times, where).reshape(-1) / _SWING)
        crossed.append(_crossing(times, course, target.celsius))
    return crossed


def _answer_of(case: Case, turn: Turn, run: Run) -> Series:
    """The body, cold, where the medium that moves steps up at the start."""
    main, place = main_course(case), case.places[-1]
    faces = {
        face: Face(around.face(turn).h, Course.constant(_SWING if around.course == main else 0.0))
        for face, around in place.around.items()
    }
    assert isinstance(run.solver, Series)
    solid = run.solver.solid
    return Series(run.solver.body, [solid], [Stage(faces)], 0.0, run.first)


def _added(found: Moved, case: Case, answer: Array) -> Array:
    """What the changes of the medium add at each time, °C."""
    medium = np.array(found.medium)
    over = (answer[1:] + answer[:-1]) / 2
    added = (medium[0] - main_course(case).last) * answer
    added[1:] += np.convolve(np.diff(medium), over)[: len(over)]
    return np.asarray(added)


def _crossing(times: Array, course: Array, target: float) -> float:
    """When a course reaches a temperature, by a straight line between two of its points."""
    there = course >= target if course[0] < target else course <= target
    if not there.any():
        return math.inf
    at = int(np.argmax(there))
    if at == 0:
        return 0.0
    share = (target - course[at - 1]) / (course[at] - course[at - 1])
    return float(times[at - 1] + share * (times[at] - times[at - 1]))

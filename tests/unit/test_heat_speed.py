"""Timings of predictions, in one run: ``pytest -m benchmark -s``. Processor time, so that a busy
machine doesn't count."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

import numpy as np
import pytest

from generator.heat.bodies import Course, Face, Stage, brick, everywhere
from generator.heat.ice import Material
from generator.heat.series import Series, Solid
from generator.heat.volumes import Volumes

pytestmark = pytest.mark.benchmark
PAN = brick(0.325, 0.176, 0.060)
FOOD = Solid(0.53, 0.53 / (1080 * 3410))
TIMES = np.linspace(0, 150 * 60, 201)[1:]
CORE = (np.array([0.5]), np.array([0.5]), np.array([0.66]))


def median(call: Callable[[], object], count: int) -> float:
    taken = []
    for _ in range(count):
        start = time.process_time()
        call()
        taken.append(time.process_time() - start)
    return statistics.median(taken)


def bath(top: float) -> dict[str, Face]:
    return {**everywhere(PAN, 600, 92), "top": Face(20, Course.constant(top))}


def curve(top: float) -> np.ndarray:
    found = Series(PAN, [FOOD], [Stage(bath(top))], 5, float(TIMES[0]))
    return found.at(TIMES, CORE).ravel()


def mesh() -> np.ndarray:
    celsius = np.linspace(-60, 200, 50)
    food = Material(celsius, 3410 * celsius, np.full(50, 0.53), 1080.0, -200.0)
    return Volumes(PAN, food, [Stage(bath(92))], 5, 20.0, 16).at(TIMES, CORE).ravel()


def test_a_core_curve_of_200_points() -> None:
    curve(92), curve(140)
    alike, unlike = median(lambda: curve(92), 41), median(lambda: curve(140), 41)
    off = float(np.abs(mesh() - curve(92))[5:].max())
    by_mesh = median(mesh, 1)
    print(
        f"\n3-D core curve, 200 points: {1000 * alike:.2f} ms, unlike media {1000 * unlike:.2f} ms"
    )
    print(
        f"finite volumes within {off:.2f} °C of it: {1000 * by_mesh:.0f} ms, {by_mesh / alike:.0f} times"
    )
    assert alike <= 0.004
    assert off <= 0.2 and by_mesh / alike >= 100

"""The series beside an independent fine mesh: random bricks, unlike faces and media, changing
media, stages."""

from __future__ import annotations

import random

import numpy as np
import pytest
from fine_mesh import Mesh, MeshStage

from generator.heat.bodies import Course, Face, Stage, brick
from generator.heat.series import Series, Solid

FACES = ("left", "right", "front", "back", "bottom", "top")
CELLS = 61
EVERYDAY_CELLS = 41
"""As fine as 20 bricks need to be within 0.1 °C; the mesh's own share of that is the most of it."""
Points = tuple[tuple[float, float], ...]


def random_brick(seed: int) -> tuple[tuple[float, ...], float, float, float, list[MeshStage]]:
    """Sides m, conductivity, diffusivity, start, and one to three stages: Biot numbers of its
    faces from 0.05 to 500, some faces insulated, media of their own that may ramp."""
    dice = random.Random(seed)
    sides = tuple(dice.uniform(0.02, 0.25) for _ in range(3))
    k = dice.uniform(0.2, 0.7)
    alpha = dice.uniform(1.0e-7, 1.8e-7)
    least = min(sides)
    slow = least**2 / alpha
    stages = []
    for _ in range(dice.choice((1, 1, 2, 3))):
        h = tuple(
            0.0 if dice.random() < 0.1 else k / side * 10 ** dice.uniform(-1.3, 2.7)
            for side in sides
            for _ in range(2)
        )
        shared = dice.random() < 0.3
        media: list[Points] = []
        for _ in range(6):
            start, end = dice.uniform(-5, 150), dice.uniform(-5, 150)
            ramp: Points = ((0.0, start), (dice.uniform(0.02, 0.3) * slow, end))
            media.append(ramp if dice.random() < 0.4 else ((0.0, start),))
        chosen = tuple([media[0]] * 6 if shared else media)
        stages.append(MeshStage(h, chosen, dice.uniform(0.1, 0.5) * slow))
    return sides, k, alpha, dice.uniform(-5, 90), stages


def off(seed: int, cells: int = CELLS) -> float:
    """The most the series is off the mesh at points inside, °C, from a fiftieth of a stage on."""
    sides, k, alpha, start, stages = random_brick(seed)
    mesh = Mesh(sides, k, alpha, cells, start)
    body = brick(*sides)
    ours = [
        Stage(
            {
                name: Face(h, Course(points))
                for name, h, points in zip(FACES, one.h, one.media, strict=True)
            },
            one.seconds,
        )
        for one in stages
    ]
    first = min(one.seconds for one in stages) / 50
    series = Series(body, [Solid(k, alpha)] * len(ours), ours, start, first)
    inside = [cells // 5, cells // 2, 4 * cells // 5]
    at = mesh.middles()[inside]
    worst, began = 0.0, 0.0
    for one in stages:
        times = [one.seconds * share for share in (0.02, 0.1, 0.4, 0.999)]
        fields = mesh.go(one, times)
        found = series.at(np.array(times) + began, (at, at, at))
        for ours_then, field in zip(found, fields, strict=True):
            picked = field[np.ix_(inside, inside, inside)]
            worst = max(worst, float(np.abs(ours_then - picked).max()))
        began += one.seconds
    print(f"seed {seed}: {len(stages)} stages, {worst:.4f} °C")
    return worst


@pytest.mark.parametrize("seed", range(20))
def test_twenty_random_bricks(seed: int) -> None:
    assert off(seed, EVERYDAY_CELLS) <= 0.1


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(200))
def test_two_hundred_random_bricks(seed: int) -> None:
    assert off(seed) <= 0.1

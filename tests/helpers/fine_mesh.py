"""A second, independent solver of conduction in a brick: a fine mesh, exact in time.

Each axis is cut into cells; what goes between them makes a symmetric matrix, whose own vectors are
found numerically. In them each state dies away by itself, driven by its faces' media, which change
in straight lines. No eigenvalue equation, no steady lift and no projection: a stage begins with the
temperatures the last one left in the cells.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

Array = np.ndarray


@dataclass(frozen=True)
class MeshStage:
    """For each of the six faces (both ends of x, y, z): a coefficient W/(m² K) and its medium as
    points (s, °C) joined by straight lines, the last kept; and how long, s."""

    h: tuple[float, ...]
    media: tuple[tuple[tuple[float, float], ...], ...]
    seconds: float


class Mesh:
    """Temperatures at the middles of the cells of a brick, sides in m."""

    def __init__(
        self, sides: Sequence[float], k: float, alpha: float, cells: int, start: float
    ) -> None:
        self.sides, self.k, self.alpha, self.cells = sides, k, alpha, cells
        self.field = np.full((cells, cells, cells), start)

    def middles(self) -> Array:
        """Where the cells' middles lie, as shares of a side."""
        return (np.arange(self.cells) + 0.5) / self.cells

    def _axis(self, side: float, first: float, last: float) -> tuple[Array, Array, Array, Array]:
        """Rates and vectors of one axis, and what 1 °C at its first and last face drives."""
        n, step = self.cells, side / self.cells
        inner = self.alpha / step**2
        ends = [
            self.alpha / self.k / step / (1 / h + step / 2 / self.k) if h > 0 else 0.0
            for h in (first, last)
        ]
        matrix = np.zeros((n, n))
        for i in range(n - 1):
            matrix[i, i] += inner
            matrix[i + 1, i + 1] += inner
            matrix[i, i + 1] = matrix[i + 1, i] = -inner
        matrix[0, 0] += ends[0]
        matrix[-1, -1] += ends[1]
        rates, vectors = np.linalg.eigh(matrix)
        return rates, vectors, ends[0] * vectors[0], ends[1] * vectors[-1]

    def go(self, stage: MeshStage, every: Sequence[float]) -> list[Array]:
        """The temperatures of all cells at times of a stage, s; the mesh is then at its end."""
        axes = [self._axis(s, stage.h[2 * i], stage.h[2 * i + 1]) for i, s in enumerate(self.sides)]
        (rx, vx, *dx), (ry, vy, *dy), (rz, vz, *dz) = axes
        rates = np.maximum(rx[:, None, None] + ry[None, :, None] + rz[None, None, :], 1e-300)
        whole = [v.sum(axis=0) for _, v, *_ in axes]
        drives = []
        for number, pair in enumerate((dx, dy, dz)):
            for drive in pair:
                parts = [drive if i == number else whole[i] for i in range(3)]
                drives.append(np.einsum("i,j,k->ijk", *parts))
        state = np.einsum("abc,ai,bj,ck->ijk", self.field, vx, vy, vz, optimize=True)
        breaks = sorted({t for m in stage.media for t, _ in m if 0 < t < stage.seconds})
        stops = sorted({*breaks, *every, stage.seconds})
        found, now = [], 0.0
        for stop in stops:
            if stop > now:
                state = self._moved(state, rates, drives, stage, now, stop)
                now = stop
            if stop in every:
                found.append(np.einsum("ijk,ai,bj,ck->abc", state, vx, vy, vz, optimize=True))
        self.field = np.einsum("ijk,ai,bj,ck->abc", state, vx, vy, vz, optimize=True)
        return found

    @staticmethod
    def _moved(
        state: Array, rates: Array, drives: list[Array], stage: MeshStage, now: float, stop: float
    ) -> Array:
        """y' = -λ y + p + q t over a stretch in which the media are straight lines."""
        width = stop - now
        p, q = np.zeros_like(state), np.zeros_like(state)
        for drive, points in zip(drives, stage.media, strict=True):
            times, warm = zip(*points, strict=True)
            first = float(np.interp(now, times, warm))
            last = float(np.interp(stop, times, warm))
            p += drive * first
            q += drive * ((last - first) / width)
        gone = np.exp(-rates * width)
        steady = p / rates - q / rates**2
        return (state - steady) * gone + steady + q * width / rates

"""Conduction along one axis of a body: eigenvalues, eigenfunctions and what they are worth.

Positions run from 0 to 1 along the axis: through a slab from one face to the other, from the middle
of a cylinder or a sphere to its surface. A Biot number is h·L/k with the whole thickness of a slab
and the radius of the others; 0 is an insulated face, infinity one held at its medium's temperature.

H. S. Carslaw, J. C. Jaeger, Conduction of Heat in Solids (1959), chapters 3, 7 and 9.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from generator.heat.bodies import Dimension
from generator.heat.bodies import Kind as Kind
from generator.heat.properties import Array

_ROUNDS = 60


@dataclass(frozen=True)
class Modes:
    """The eigenfunctions of one axis.

    ``roots`` are the eigenvalues, dimensionless; ``shift`` turns a slab's cosine so that it fits
    its first face. ``ones`` are the coefficients of a body that is 1 everywhere, ``average`` the
    mean of each function over the axis, ``norm`` its square's integral. ``driven`` are the
    coefficients by which a medium of 1 at the first and at the last face drives each function.
    """

    kind: Kind
    length: float
    biot: tuple[float, float]
    roots: Array
    shift: Array
    norm: Array
    ones: Array
    average: Array
    driven: tuple[Array, Array]

    @property
    def rates(self) -> Array:
        """(root/length)², 1/m²: times the diffusivity the rate at which a function dies away."""
        return (self.roots / self.length) ** 2

    def at(self, positions: Array) -> Array:
        """The functions at positions from 0 to 1: one row a position, one column a function."""
        return _functions(self.kind, self.roots, self.shift, positions)


def _functions(kind: Kind, roots: Array, shift: Array, positions: Array) -> Array:
    angle = np.multiply.outer(np.asarray(positions, dtype=float), roots)
    if kind == "slab":
        return np.asarray(np.cos(angle - shift))
    if kind == "sphere":
        return np.asarray(np.sinc(angle / np.pi))
    from scipy.special import j0

    return np.asarray(j0(angle))


def slab_roots(first: float, last: float, count: int) -> Array:
    """The eigenvalues of a slab with Biot numbers ``first`` and ``last`` at its faces: roots of
    (b² - B0·B1)·sin b = b·(B0 + B1)·cos b, one in each (iπ, (i+1)π).

    Written as b = iπ + atan(B0/b) + atan(B1/b) the equation rises all the way and bends one way,
    so that Newton's steps, once left of the root, never pass it: any Biot numbers are safe.
    """
    order = np.arange(count)
    least = order * np.pi
    start = least + np.minimum(np.pi, np.sqrt(min(first + last, 1e300)) if count else 0.0)
    root = np.where(order == 0, start, least + np.pi / 2)
    for _ in range(_ROUNDS):
        off = root - least - np.arctan2(first, root) - np.arctan2(last, root)
        slope = 1 + _bend(first, root) + _bend(last, root)
        step = off / slope
        root = np.clip(root - step, least, least + np.pi)
        if np.all(np.abs(step) <= 1e-15 * (1 + root)):
            break
    return root


def _bend(biot: float, root: Array) -> Array:
    """-d/db atan(B/b) = B/(b² + B²); nothing for a face that is insulated or held."""
    if biot == 0 or np.isinf(biot):
        return np.zeros_like(root)
    return np.asarray(biot / (root**2 + biot**2))


def sphere_roots(biot: float, count: int) -> Array:
    """The eigenvalues of a sphere: roots of 1 - b·cot b = Biot, one in each (iπ, (i+1)π), as
    b = iπ + the angle of (1 - Biot, b)."""
    order = np.arange(count)
    least = order * np.pi
    low, high = least.copy(), least + np.pi
    root = np.where(order == 0, min(np.sqrt(3 * biot), np.pi * (1 - 1e-9)), least + np.pi / 2)
    off_biot = 1 - biot
    for _ in range(_ROUNDS):
        off = root - least - np.arctan2(root, off_biot)
        low, high = np.where(off < 0, root, low), np.where(off > 0, root, high)
        slope = 1 - _bend(off_biot, root)
        with np.errstate(divide="ignore", invalid="ignore"):
            new = root - off / slope
        inside = (new > low) & (new < high)
        new = np.where(inside, new, (low + high) / 2)
        done = np.abs(new - root) <= 1e-15 * (1 + root)
        root = np.where(off == 0, root, new)
        if np.all(done | (off == 0)):
            break
    return root


@lru_cache(maxsize=8)
def _bessel_zeros(count: int) -> tuple[Array, Array]:
    """The zeros of J1, 0 first, and of J0: a cylinder's roots lie one between each pair."""
    from scipy.special import jn_zeros

    return np.concatenate(([0.0], jn_zeros(1, count))), np.asarray(jn_zeros(0, count))


def cylinder_roots(biot: float, count: int) -> Array:
    """The eigenvalues of a long cylinder: roots of b·J1(b) = Biot·J0(b), each between a zero of J1
    and the next of J0."""
    from scipy.special import j0, j1

    size = 1 << max(count - 1, 7).bit_length()
    below, above = _bessel_zeros(size)
    low, high = below[:count].copy(), above[:count].copy()
    if np.isinf(biot):
        return high
    root = (low + high) / 2
    root[:1] = min(np.sqrt(2 * biot), high[0] * (1 - 1e-9)) if count else root[:1]
    for _ in range(_ROUNDS):
        zero, one = j0(root), j1(root)
        off = root * one - biot * zero
        sign = np.where(np.arange(count) % 2 == 0, 1.0, -1.0)
        low, high = np.where(off * sign < 0, root, low), np.where(off * sign > 0, root, high)
        with np.errstate(divide="ignore", invalid="ignore"):
            new = root - off / (root * zero + biot * one)
        new = np.where((new > low) & (new < high), new, (low + high) / 2)
        done = np.abs(new - root) <= 1e-15 * (1 + root)
        root = np.where(off == 0, root, new)
        if np.all(done | (off == 0)):
            break
    return root


def modes_of(kind: Kind, length: float, biot: tuple[float, float], count: int) -> Modes:
    """The first ``count`` eigenfunctions of an axis. ``length`` is a thickness or a radius, m;
    ``biot`` the Biot numbers of its first and last face (the first is 0 at an axis of symmetry, and
    unused in a cylinder and a sphere)."""
    if kind == "slab":
        return _slab(length, biot, count)
    return _round(kind, length, biot[1], count)


def _over(values: Array, roots: Array, at_zero: float) -> Array:
    """values/roots, and what it tends to where a root is 0."""
    safe = np.where(roots > 0, roots, 1.0)
    return np.where(roots > 0, values / safe, at_zero)


def _slab(length: float, biot: tuple[float, float], count: int) -> Modes:
    roots = slab_roots(*biot, count)
    shift = np.arctan2(biot[0], roots)
    end = roots - shift
    norm = 0.5 + _over(np.sin(2 * end) + np.sin(2 * shift), 4 * roots, 0.5)
    mean = _over(np.sin(end) + np.sin(shift), roots, 1.0)
    driven = (roots * np.sin(shift) / norm, roots * np.sin(end) / norm)
    return Modes("slab", length, biot, roots, shift, norm, mean / norm, mean, driven)


def _round(kind: Kind, length: float, biot: float, count: int) -> Modes:
    """A cylinder or a sphere; integrals are weighed by the radius, or by its square."""
    still = np.zeros(count)
    if kind == "cylinder":
        from scipy.special import j0, j1

        roots = cylinder_roots(biot, count)
        norm = (j0(roots) ** 2 + j1(roots) ** 2) / 2
        mean = _over(j1(roots), roots, 0.5)
        whole = 0.5
    else:
        roots = sphere_roots(biot, count)
        safe = np.where(roots > 0, roots, 1.0)
        norm = np.where(roots > 0, (0.5 - np.sin(2 * safe) / (4 * safe)) / safe**2, 1 / 3)
        mean = np.where(roots > 0, (np.sin(safe) / safe - np.cos(safe)) / safe**2, 1 / 3)
        whole = 1 / 3
    ones = mean / norm
    driven = (still, roots**2 * ones)
    return Modes(kind, length, (0.0, biot), roots, still, norm, ones, mean / whole, driven)


@lru_cache(maxsize=4)
def gauss(count: int) -> tuple[Array, Array]:
    """Gauss and Legendre's nodes and weights from 0 to 1."""
    nodes, weights = np.polynomial.legendre.leggauss(count)
    return (nodes + 1) / 2, weights / 2


def weight_of(kind: Kind, positions: Array) -> Array:
    """How much of the body lies at a position: alike in a slab, by the radius in a cylinder, by its
    square in a sphere."""
    power = {"slab": 0, "cylinder": 1, "sphere": 2}[kind]
    return np.asarray(positions**power, dtype=float)


def nodes_for(*modes: Modes) -> tuple[Array, Array]:
    """Nodes and weights that integrate products of these functions exactly enough."""
    most = max(float(m.roots[-1]) if len(m.roots) else 1.0 for m in modes)
    return gauss(1 << (max(64, int(most) + 32) - 1).bit_length())


def overlap(old: Modes, new: Modes) -> Array:
    """What each old function is worth in the new ones: one row a new function, one column an old.
    Both are of one axis of one length."""
    nodes, weights = nodes_for(old, new)
    weighed = (weights * weight_of(new.kind, nodes))[:, None] * new.at(nodes)
    return np.asarray((weighed.T @ old.at(nodes)) / new.norm[:, None])


def steady(modes: Modes, wave: Array, face: int, positions: Array) -> Array:
    """g(X) with g'' = (wave·length)²·g that has a medium of 1 at ``face`` (0 the first, 1 the last)
    and of 0 at the other: one row a position, one column a wave number, 1/m.

    Written with falling exponentials alone, so that no wave number overflows.
    """
    reach = np.maximum(wave * modes.length, 1e-5)
    first, last = _shape(modes, reach, face)
    x = np.asarray(positions, dtype=float)[:, None]
    return np.asarray(first * np.exp(-reach * x) + last * np.exp(-reach * (1 - x)))


def steady_average(modes: Modes, wave: Array, face: int) -> Array:
    """The mean of :func:`steady` along the axis."""
    reach = np.maximum(wave * modes.length, 1e-5)
    first, last = _shape(modes, reach, face)
    return np.asarray((first + last) * -np.expm1(-reach) / reach)


def _shape(modes: Modes, reach: Array, face: int) -> tuple[Array, Array]:
    """How much of it falls away from the first face, and how much from the last."""

    def share(biot: float) -> Array:
        if biot == 0:
            return np.zeros_like(reach)
        return 1 / (1 + reach / biot)

    at_first, at_last = share(modes.biot[0]), share(modes.biot[1])
    across = np.exp(-reach)
    by_first, by_last = (2 * at_first - 1) * across, (2 * at_last - 1) * across
    whole = 1 - by_first * by_last
    if face == 0:
        return at_first / whole, -by_last * at_first / whole
    return -by_first * at_last / whole, at_last / whole


def positions_in(axis: Dimension, even: bool, positions: Array) -> Array:
    """Positions along an axis as its eigenfunctions count them: from the middle if it is even."""
    return np.abs(2 * positions - 1) if even else positions

"""One coefficient, and when the course began, out of a logged course: by least squares."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from generator.heat.case import AS_STATED, Around, Case, Made, Place
from generator.heat.constituents import Impossible
from generator.heat.prediction import solved
from generator.heat.properties import Array
from generator.heat.quick import core_of, fits
from generator.heat.ranges import Range

LEAST_READINGS, LEAST_CHANGE = 6, 10.0
"""A course of fewer readings, or that changes by less, °C, says too little. Ours."""
_MOST_FACTOR = 8.0
_MOST_GAP = 0.4
"""A pause of more than this share of a log hides what happened in it. Ours."""
_BOILS, _PROBE_OFF = 105.0, 3.0
"""°C that no wet food passes, and how far a probe and a medium may be off together. Ours."""
_TOGETHER = 5
"""So many residuals in a row are averaged: noise goes, a wrong bend stays."""
_LEAST_OFF = 0.08
"""A fitted coefficient is taken to be off by so much at least: it stands for the conductivity, the
depth and the place as well. Ours."""
_COUNTED = 12
"""Readings close to each other are off together: no more than so many count as of their own."""
_NINETY = 1.645


@dataclass(frozen=True)
class Fit:
    """The coefficient W/(m² K) within bounds that hold it about nine times in ten; by how many
    seconds after the first reading the course began; each reading's residual, °C, and their root
    mean square."""

    h: Range
    delay: float
    residuals: tuple[float, ...]
    off: float


class NotThisStep(Impossible):
    """A log that isn't of the case; the message says why."""


def fit(case: Case, readings: Sequence[tuple[float, float]]) -> Fit:
    """Fit one factor on the coefficients of a case's main medium, and a delay, to readings (s, °C)
    at its slowest point, from its first one on. Raises NotThisStep for a log that isn't of this
    case."""
    from scipy.optimize import least_squares

    _check(case, readings)
    times = np.array([s for s, _ in readings])
    measured = np.array([c for _, c in readings])
    known = replace(case.exact(), start=Range.exact(float(measured[0])), targets=())

    def off(x: Array) -> Array:
        return np.asarray(_course(known, float(np.exp(x[0])), times - 600 * x[1]) - measured)

    lasting = float(times[-1] - times[0])
    most = math.log(_MOST_FACTOR)
    late = 0.5 * lasting / 600
    found = least_squares(off, [0.0, 0.0], bounds=([-most, -late], [most, late]), max_nfev=60)
    rms = float(np.sqrt(np.mean(found.fun**2)))
    _judge(found.x, np.asarray(found.fun), late, float(np.ptp(measured)))
    likely = _around(case).h.likely * math.exp(float(found.x[0]))
    _check_coefficient(case, likely)
    wide = math.exp(max(_LEAST_OFF, _NINETY * _uncertainty(found.jac, found.fun)))
    residuals = tuple(float(-r) for r in found.fun)
    return Fit(Range(likely / wide, likely, likely * wide), 600 * float(found.x[1]), residuals, rms)


def _check(case: Case, readings: Sequence[tuple[float, float]]) -> None:
    if len(readings) < LEAST_READINGS:
        raise NotThisStep(f"it has {len(readings)} readings, and {LEAST_READINGS} are needed")
    _check_times([s for s, _ in readings])
    _check_possible(case, [c for _, c in readings])
    first, last = readings[0][1], readings[-1][1]
    if abs(first - last) < LEAST_CHANGE:
        raise NotThisStep(f"it changes by less than {LEAST_CHANGE:.0f} °C")
    medium = case.places[-1].medium(case.body)
    if (first - last) * (first - medium) <= 0:
        way = "warmer" if last >= first else "colder"
        raise NotThisStep(f"the food gets {way}, and at {medium:.0f} °C it doesn't")
    _check_beyond(case, [c for _, c in readings])


def _check_times(times: Sequence[float]) -> None:
    """Time goes on, without a pause in which much may have happened."""
    gaps = [later - sooner for sooner, later in itertools.pairwise(times)]
    if not all(gap >= 0 for gap in gaps):
        raise NotThisStep("its times go back")
    if max(gaps) > _MOST_GAP * (times[-1] - times[0]):
        raise NotThisStep(f"nothing was read for {max(gaps) / 60:.0f} min of it")


def _check_possible(case: Case, celsius: Sequence[float]) -> None:
    """No food with water in it is hotter than boiling."""
    if not all(map(math.isfinite, celsius)):
        raise NotThisStep("a reading is no temperature")
    if max(celsius) > _BOILS and not (isinstance(case.stuff, Made) and case.stuff.dry):
        raise NotThisStep(f"it has {max(celsius):.0f} °C, hotter than wet food gets: is it in °F?")


def _check_beyond(case: Case, celsius: Sequence[float]) -> None:
    """No food gets beyond all that is round it."""
    media = [c for a in case.places[-1].around.values() for c in a.course.extremes]
    low, high = min(*media, celsius[0]), max(*media, celsius[0])
    if min(celsius) < low - _PROBE_OFF or max(celsius) > high + _PROBE_OFF:
        far = min(celsius) if min(celsius) < low - _PROBE_OFF else max(celsius)
        raise NotThisStep(f"it gets to {far:.0f} °C, and nothing round the food does")


def _judge(x: Array, residuals: Array, late: float, span: float) -> None:
    rms = float(np.sqrt(np.mean(residuals**2)))
    if rms > max(1.0, 0.04 * span):
        raise NotThisStep(f"no coefficient brings the course within {rms:.1f} °C of the log")
    smooth = np.convolve(residuals, np.full(_TOGETHER, 1 / _TOGETHER), mode="valid")
    bend = float(np.sqrt(np.mean(smooth**2)))
    if bend > max(0.7, 0.015 * span):
        raise NotThisStep(f"the log bends otherwise than food there does, by {bend:.1f} °C")
    if abs(x[1]) > 0.98 * late:
        raise NotThisStep("the course would begin at another time than the log")


def _check_coefficient(case: Case, found: float) -> None:
    """No further from what is known of such a place than a half or twice. Raises NotThisStep."""
    h = _around(case).h
    if not h.low / 2 <= found <= 2 * h.high:
        raise NotThisStep(
            f"it would take a coefficient of {found:.3g} W/(m² K), and {h.low:.3g} to "
            f"{h.high:.3g} are known of such a place"
        )


def _uncertainty(jacobian: Array, residuals: Array) -> float:
    """The standard error of the coefficient's logarithm."""
    count = len(residuals)
    variance = float(residuals @ residuals) / max(count - 2, 1)
    variance *= max(1.0, count / _COUNTED)
    try:
        covariance = np.linalg.inv(jacobian.T @ jacobian) * variance
    except np.linalg.LinAlgError:
        raise NotThisStep("the log says nothing of the coefficient") from None
    return math.sqrt(max(float(covariance[0, 0]), 0.0))


def _around(case: Case) -> Around:
    """What is at the largest faces."""
    areas, around = case.body.areas(), case.places[-1].around
    return around[max(around, key=lambda face: areas[face])]


def _scaled(case: Case, factor: float) -> Case:
    """With another coefficient wherever the same medium is as at the largest faces."""
    fitted = _around(case).course

    def more(a: Around) -> Around:
        return replace(a, h=Range.exact(a.h.likely * (factor if a.course == fitted else 1.0)))

    around = {face: more(a) for face, a in case.places[-1].around.items()}
    return replace(case, places=(Place(around),))


def _course(case: Case, factor: float, times: Array) -> Array:
    """The core at some times since the course began; before that as it starts."""
    scaled = _scaled(case, factor)
    after = np.maximum(times, 0.0)
    if fits(scaled):
        core = core_of(scaled)
        return np.array([core.at(float(t)) if t > 0 else core.start for t in after])
    solver = solved(scaled, AS_STATED).solver
    middle = tuple(np.array([0.5 if a.kind == "slab" else 0.0]) for a in case.body.axes)
    order = np.argsort(after)
    found = np.empty_like(after)
    found[order] = solver.at(after[order], middle).ravel()
    return np.where(times > 0, found, case.start.likely)

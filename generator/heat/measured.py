"""How a load lifts the air of a refrigerator of which that was measured once.

The air of a machine that keeps up answers heat in proportion: a load with twice the heat lifts it
twice as far, and isn't back sooner. The course is a straight line from the warmest, at once, to
when the air is back: in truth it is below that line. Ours.
"""

from __future__ import annotations

from dataclasses import dataclass

from generator.heat.constituents import Impossible
from generator.heat.exchange import STEPS, Moved

OTHER_VESSELS = 1.5
"""How much further a load of the same heat is taken to lift the air at the late edge: vessels that
are shallower than those measured give their heat off faster. Ours."""
BEYOND = 1.25
"""With so many times the heat that was measured a machine may no longer keep up: how late the food
gets there isn't known. Ours."""


@dataclass(frozen=True)
class Measured:
    """A load of so many kg at so many °C that lifted the air from where it is held to another
    temperature, °C, and after how many seconds it was back. Raises Impossible."""

    kilos: float
    celsius: float
    held_at: float
    lifted_to: float
    back: float

    def __post_init__(self) -> None:
        if not (self.kilos > 0 and self.back > 0):
            raise Impossible("a load of nothing, or a lift of no time")
        if not self.held_at < self.lifted_to < self.celsius:
            raise Impossible("air that a load lifted to where it can't")

    def heat_of(self, kilos: float, celsius: float) -> float:
        """The heat of another load beside that of the one measured; both foods taken alike."""
        whole = self.kilos * (self.celsius - self.held_at)
        return kilos * max(celsius - self.held_at, 0.0) / whole

    def moved(self, times_the_heat: float, celsius: float, seconds: float) -> Moved:
        """The air's course over so many seconds, with so many times the heat that was measured in
        a load of so many °C. Air gets no warmer than the load."""
        lift = (self.lifted_to - self.held_at) * times_the_heat
        lift = min(lift, max(celsius - self.held_at, 0.0))
        back = self.back * max(times_the_heat, 1.0)
        times = tuple(seconds * n / STEPS for n in range(STEPS + 1))
        medium = tuple(self.held_at + lift * max(1 - t / back, 0.0) for t in times)
        return Moved(times, medium)

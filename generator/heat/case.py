"""What a prediction is asked of: a body, what it is made of, where it is and what it has to
reach, each figure within bounds."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from generator.heat.bodies import Body, Course, Face, Stage
from generator.heat.constituents import Composition, Impossible, Solid, freezing_point, unfrozen
from generator.heat.ranges import Range

if TYPE_CHECKING:
    from generator.heat.ice import Material

CONDUCTIVITY_OFF, FROZEN_OFF = 0.07, 0.15
"""How far a conductivity by mixture rules may be off: heat.ice's parallel rule runs high when
frozen."""
H_OFF, H_OFF_HEATING, SIZE_OFF, DEGREES_OFF = 0.25, 0.20, 0.02, 1.0
"""How far a stated coefficient (of cooling, of heating), size and temperature are taken to be off
where nothing is said.

These are ours. A coefficient worked out of a cooling curve is within 30 % (ASHRAE research project
1123-RP)."""


@dataclass(frozen=True)
class Turn:
    """One way in which things may be otherwise than likely: factors on conductivity, heat capacity,
    latent heat and size, which edge of the coefficients, degrees on the media and the start, and
    how wet the surface is."""

    name: str = ""
    conductivity: float = 1.0
    capacity: float = 1.0
    size: float = 1.0
    edge: str = "likely"
    media: float = 0.0
    start: float = 0.0
    surface: str = "likely"
    share: tuple[str, float] | None = None
    freezes_at: float | None = None


AS_STATED = Turn()


@dataclass(frozen=True)
class Frozen:
    """A stated body below its freezing point: its conductivity W/(m K), specific heat J/(kg K),
    latent heat J/kg, and where it freezes, °C."""

    conductivity: float
    specific_heat: float
    latent: float
    freezes_at: float


@dataclass(frozen=True)
class Stated:
    """A body whose properties are stated: conductivity W/(m K), density kg/m³ and specific heat
    J/(kg K), or in place of the last two the diffusivity m²/s."""

    conductivity: Range
    capacity: Range
    density: float = 1000.0
    frozen: Frozen | None = None

    def solid(self, turn: Turn, celsius: float) -> Solid:
        """Constant properties; the temperature makes no difference."""
        k = self.conductivity.likely * turn.conductivity
        return Solid(k, k / (self.capacity.likely * turn.capacity))

    @property
    def freezes_at(self) -> Range | None:
        return None if self.frozen is None else Range.exact(self.frozen.freezes_at)

    def material(self, turn: Turn) -> Material:
        """Two states and a latent heat between them; Impossible without these."""
        from generator.heat.ice import material_by_phases

        if self.frozen is None:
            raise Impossible("its frozen properties are not stated")
        warm = self.capacity.likely * turn.capacity / self.density
        k = turn.conductivity
        return material_by_phases(
            self.frozen.freezes_at,
            self.frozen.latent * turn.capacity,
            self.density,
            (self.conductivity.likely * k, warm),
            (self.frozen.conductivity * k, self.frozen.specific_heat * turn.capacity),
        )

    def turns(self) -> Iterator[tuple[Turn, Turn]]:
        k, c = self.conductivity, self.capacity
        yield (
            Turn("conductivity", conductivity=k.low / k.likely),
            Turn("conductivity", conductivity=k.high / k.likely),
        )
        yield (
            Turn("heat capacity", capacity=c.low / c.likely),
            Turn("heat capacity", capacity=c.high / c.likely),
        )


_TOLD_BY = ("water", "fat")
"""The shares that a band is worked out by. What protein, carbohydrate, fibre and ash share of the
rest makes little difference: their properties are alike."""


MIXED = 500.0
"""A liquid that mixes by itself all the time has no colder and warmer parts: so many times its
conductivity leaves none that matter. No liquid that moves is faster than that."""


@dataclass(frozen=True)
class Made:
    """A body by what is in it. ``off`` is how far the conductivity may be off, as a share;
    ``point`` where it freezes, worked out if it isn't stated. Of a liquid that ``moves`` the early
    edge is as if it mixed all the time, the likely figure and the late edge as if it stood still.
    """

    composition: Composition
    point: Range | None = None
    off: float = CONDUCTIVITY_OFF
    moves: bool = False

    @property
    def freezes_at(self) -> Range | None:
        if self.composition.likely["water"] <= 0:
            return None
        return self.point or freezing_point(self.composition)

    @property
    def dry(self) -> bool:
        """Whether there is too little water in it to boil off: under a tenth."""
        return self.composition.likely["water"] < 0.10

    def _of(self, turn: Turn) -> Composition:
        if turn.share is None:
            return self.composition
        return self.composition.with_share(*turn.share)

    def solid(self, turn: Turn, celsius: float) -> Solid:
        """The properties at one temperature, used for the whole of a stage."""
        found = unfrozen(self._of(turn), celsius)
        k = found.conductivity * turn.conductivity
        capacity = found.density * found.specific_heat * turn.capacity
        return Solid(k, k / capacity)

    def material(self, turn: Turn) -> Material:
        from generator.heat.ice import material_of

        point = turn.freezes_at
        if point is None:
            known = self.freezes_at
            if known is None:
                raise Impossible("a food without water doesn't freeze")
            point = known.likely
        found = material_of(self._of(turn), point)
        return replace(found, conductivity=found.conductivity * turn.conductivity)

    def turns(self) -> Iterator[tuple[Turn, Turn]]:
        yield (
            Turn("conductivity", conductivity=1 - self.off),
            Turn("conductivity", conductivity=1 + self.off),
        )
        if self.moves:
            yield AS_STATED, Turn("a liquid that moves", conductivity=MIXED)
        for name in _TOLD_BY:
            share = self.composition.shares.get(name)
            if share is not None and not share.is_exact:
                yield (
                    Turn(f"share of {name}", share=(name, share.low)),
                    Turn(f"share of {name}", share=(name, share.high)),
                )


@dataclass(frozen=True)
class Around:
    """What is at a face: the coefficient W/(m² K) within bounds, the medium's course, and what
    people call it. ``wet`` is what takes their place where the surface stays wetter than
    likely."""

    h: Range
    course: Course
    name: str = ""
    wet: Around | None = None

    def face(self, turn: Turn) -> Face:
        if turn.surface == "wet" and self.wet is not None:
            return self.wet.face(AS_STATED)
        h = float(getattr(self.h, turn.edge))
        return Face(h, self.course.moved(turn.media) if turn.media else self.course)


@dataclass(frozen=True)
class Place:
    """Where a body is: what is at each face, and for how long, s, or until all of it has
    reached a temperature, °C; neither in the last place."""

    around: Mapping[str, Around]
    seconds: float | None = None
    until: float | None = None

    def stage(self, turn: Turn, seconds: float | None) -> Stage:
        return Stage({face: a.face(turn) for face, a in self.around.items()}, seconds)

    def medium(self, body: Body) -> float:
        """The media's last temperature, by the area they are at."""
        areas = body.areas()
        weights = {f: areas[f] * min(a.h.likely, 1e6) for f, a in self.around.items()}
        whole = sum(weights.values())
        if whole == 0:
            return math.nan
        return sum(weights[f] * a.course.last for f, a in self.around.items()) / whole


@dataclass(frozen=True)
class Case:
    """All a prediction rests on. ``start`` is the body's even temperature, °C; ``size`` the factor
    on its dimensions; ``degrees`` how far media's temperatures may be off. Where there is a
    ``clock``, °C, times count from when the slowest point has cooled to it: a body that came in
    hotter is colder outside by then."""

    body: Body
    stuff: Stated | Made
    start: Range
    places: tuple[Place, ...]
    targets: tuple[float, ...]
    size: Range = field(default_factory=lambda: Range.within(1.0, SIZE_OFF))
    degrees: float = DEGREES_OFF
    clock: float | None = None

    def __post_init__(self) -> None:
        if not self.places:
            raise Impossible("a prediction needs what is round the body")
        for place in self.places:
            missing = [f for f in self.body.faces if f not in place.around]
            if missing:
                raise Impossible(f"nothing is said of the face {missing[0]}")

    def turns(self) -> Iterator[tuple[Turn, Turn]]:
        """Each thing that may be otherwise, at both its edges."""
        yield from (pair for pair in self.stuff.turns() if pair[0] != pair[1])
        yield from self._turns_round()
        if not self.start.is_exact:
            low, high = self.start.low, self.start.high
            first, last = low - self.start.likely, high - self.start.likely
            yield Turn("start", start=first), Turn("start", start=last)
        point = self.stuff.freezes_at if self.freezes else None
        if point is not None and not point.is_exact:
            name = "freezing point"
            yield Turn(name, freezes_at=point.low), Turn(name, freezes_at=point.high)

    def _turns_round(self) -> Iterator[tuple[Turn, Turn]]:
        """The same of its size and of what is round it."""
        if any(not a.h.is_exact for p in self.places for a in p.around.values()):
            name = "heat transfer coefficient"
            yield Turn(name, edge="low"), Turn(name, edge="high")
        if any(a.wet is not None for p in self.places for a in p.around.values()):
            yield Turn("a wet surface", surface="wet"), Turn("a wet surface")
        if not self.size.is_exact:
            yield Turn("size", size=self.size.low), Turn("size", size=self.size.high)
        if self.degrees:
            name = "temperatures of the media"
            yield Turn(name, media=-self.degrees), Turn(name, media=self.degrees)

    @property
    def freezes(self) -> bool:
        """Whether any of it may hold ice: it starts below its freezing point, or is held there."""
        point = self.stuff.freezes_at
        if point is None:
            return False
        coldest = [self.start.likely] + [
            a.course.extremes[0] for p in self.places for a in p.around.values() if a.h.high > 0
        ]
        return min(coldest) < point.likely

    def exact(self) -> Case:
        """The same with every figure taken as it is stated."""
        stuff = self.stuff
        if isinstance(stuff, Made):
            shares = {n: Range.exact(s) for n, s in stuff.composition.likely.items()}
            point = stuff.freezes_at
            exact = None if point is None else Range.exact(point.likely)
            stuff = Made(Composition(shares, stuff.composition.air), exact, 0.0)
        else:
            k, c = stuff.conductivity.likely, stuff.capacity.likely
            stuff = replace(stuff, conductivity=Range.exact(k), capacity=Range.exact(c))
        places = tuple(
            replace(
                p,
                around={
                    f: replace(a, h=Range.exact(a.h.likely), wet=None) for f, a in p.around.items()
                },
            )
            for p in self.places
        )
        start = Range.exact(self.start.likely)
        return replace(
            self,
            stuff=stuff,
            places=places,
            start=start,
            size=Range.exact(1.0),
            degrees=0.0,
            clock=None,
        )

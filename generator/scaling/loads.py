"""Loads: equal shares of what one step takes, between what its machine needs and what it takes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

from generator.measures.kilos import kilos


@dataclass(frozen=True)
class Loads:
    """``count`` loads; ``grams`` is the largest of them.

    Where whole fills or pieces go in, ``pieces`` says how many in each load, and ``rest`` that
    the fill that isn't full is in the last of them, beside its whole ones, and ``called`` what one
    and more of them are called.
    """

    count: int
    grams: Fraction
    pieces: tuple[int, ...] = ()
    rest: bool = False
    called: tuple[str, str] = ("fill", "fills")

    @property
    def alike(self) -> bool:
        """Whether all loads are the same, so that what goes in can be weighed load by load."""
        return len(set(self.pieces)) < 2 and not (self.rest and self.count > 1)


@dataclass(frozen=True)
class Counted:
    """Whole fills or pieces at a step: how many ``whole`` ones, of ``each`` grams, and the grams of
    the ``rest`` that fills none."""

    whole: int
    each: Fraction
    rest: Fraction = Fraction(0)

    @property
    def places(self) -> int:
        """How many there are, the one that isn't full counted in."""
        return self.whole + (1 if self.rest else 0)


@dataclass(frozen=True)
class Unfit:
    """Why no loads do: what is wrong, and how much more or less would be right, in grams, or in
    whole fills where they are counted."""

    code: str
    message: str
    help: str = ""
    more: Fraction | None = None
    less: Fraction | None = None


def equal_loads(
    grams: Fraction, most: Fraction | None, least: Fraction | None, machine: str
) -> Loads | Unfit:
    """As few equal loads as the machine allows, or why none do. ``grams`` is all that goes through
    it."""
    count = max(1, math.ceil(grams / most)) if most else 1
    each = grams / count
    if least is None or each >= least:
        return Loads(count, each)
    return Unfit(
        "load-below-minimum",
        f"{machine}: {kilos(each)} a load is below the {kilos(least)} it needs.",
        more=count * least,
        less=(count - 1) * most if most and count > 1 else None,
    )


def whole_piece_loads(
    counted: Counted,
    most: Fraction | None,
    least: Fraction | None,
    places: int | None,
    machine: str,
    words: tuple[str, str, str] = ("fill", "fills", "it takes"),
) -> Loads | Unfit:
    """Loads of whole fills or pieces, as equal as they come, or why none do. The fill that isn't
    full goes into the last. ``words`` are what one is called, what more are, and what is said of
    the machine's most."""
    room = room_for(counted.each, most, places)
    if room == 0:
        return _none_fits(counted, most, machine, words)
    count = max(1, math.ceil(Fraction(counted.places, room))) if room is not None else 1
    shares = _shares(counted, count)
    if least is not None and _smallest(counted, shares) < least:
        return _too_small(counted, shares, least, room, machine, words)
    grams = max(shares[0] * counted.each, _last(counted, shares))
    return Loads(count, grams, tuple(shares), bool(counted.rest), words[:2])


def _none_fits(
    counted: Counted, most: Fraction | None, machine: str, words: tuple[str, str, str]
) -> Unfit:
    """Not even one of them goes in."""
    one, _, takes = words
    if most is None or counted.each <= most:
        return Unfit("load-above-maximum", f"{machine}: it has no place.", "Check `places`.")
    return Unfit(
        "load-above-maximum",
        f"{machine}: one {one} of {kilos(counted.each)} is above the {kilos(most)} {takes}.",
        f"Choose a smaller {one} or another machine.",
    )


def _too_small(
    counted: Counted,
    shares: list[int],
    least: Fraction,
    room: int | None,
    machine: str,
    words: tuple[str, str, str],
) -> Unfit:
    """A load is below what the machine needs: how many there would have to be."""
    count, need = len(shares), math.ceil(least / counted.each)
    within = room is None or need <= room
    smallest = kilos(_smallest(counted, shares))
    return Unfit(
        "load-below-minimum",
        f"{machine}: {smallest} a load is below the {kilos(least)} it needs.",
        ""
        if within
        else f"It needs {need} {words[1]}, and takes {room}: check `minimum` and `places`.",
        more=Fraction(count * need) if within else None,
        less=Fraction((count - 1) * room) if within and room is not None and count > 1 else None,
    )


def open_ended(
    count: int,
    each: Fraction | None,
    most: Fraction | None,
    least: Fraction | None,
    places: int | None,
) -> bool:
    """Whether a machine that makes so many loads makes loads of everything larger, too. ``each`` is
    what one of them weighs where whole ones go in."""
    if each is None:
        return most is None or least is None or (count + 1) * least <= count * most
    room = room_for(each, most, places)
    if room is None or least is None:
        return True
    return (count + 1) * math.ceil(least / each) <= count * room + 1


def room_for(each: Fraction, most: Fraction | None, places: int | None) -> int | None:
    """How many whole ones go in at a time: by weight, by places, or as many as there are (None)."""
    by_weight = math.floor(most / each) if most is not None and each else None
    bounds = [n for n in (by_weight, places) if n is not None]
    return min(bounds) if bounds else None


def _shares(counted: Counted, count: int) -> list[int]:
    """The whole ones of each load, the largest first; the last has the rest beside its own."""
    small, extra = divmod(counted.places, count)
    shares = [small + (1 if index < extra else 0) for index in range(count)]
    if counted.rest:
        shares[-1] -= 1
    return shares


def _last(counted: Counted, shares: list[int]) -> Fraction:
    return shares[-1] * counted.each + counted.rest


def _smallest(counted: Counted, shares: list[int]) -> Fraction:
    """The grams of the smallest load: the last, or one of those before it."""
    if len(shares) == 1:
        return _last(counted, shares)
    return min(_last(counted, shares), shares[-2] * counted.each)


def taken_on(
    counted: Counted | None,
    grams: Fraction,
    upstream: int,
    takes: tuple[Fraction | None, Fraction | None, int | None],
    called: tuple[str, str],
) -> Loads | None:
    """The loads of food that comes in so many ``upstream`` loads, each taken on as it comes out, so
    that none waits for another: each goes in whole, or in as many as it must. ``takes`` is the
    machine's most and least in grams, and its places. None where there are fewer whole ones than
    loads, none fits, or a load is below the least."""
    most, least, places = takes
    if counted is None:
        parts = _parts(grams / upstream, most)
        each = grams / upstream / parts
        return None if least is not None and each < least else Loads(upstream * parts, each)
    room = room_for(counted.each, most, places)
    if counted.whole < upstream or room == 0:
        return None
    pieces = [n for share in _shares(counted, upstream) for n in _split(share, room)]
    rest = 1 if counted.rest else 0
    last = pieces[-1] * counted.each + counted.rest
    smallest = min(last, min(pieces[:-1], default=pieces[-1] + rest) * counted.each)
    if _over(pieces[-1] + rest, room) or (least is not None and smallest < least):
        return None
    largest = max(max(pieces) * counted.each, last)
    return Loads(len(pieces), largest, tuple(pieces), bool(counted.rest), called)


def _over(many: int, room: int | None) -> bool:
    return room is not None and many > room


def _parts(grams: Fraction, most: Fraction | None) -> int:
    """In how many loads a weight goes in."""
    return max(1, math.ceil(grams / most)) if most else 1


def _split(share: int, room: int | None) -> list[int]:
    """Whole ones in as few loads as they go in, as equal as they come."""
    parts = _parts(Fraction(share), Fraction(room) if room is not None else None)
    small, extra = divmod(share, parts)
    return [small + (1 if index < extra else 0) for index in range(parts)]


def queued(upstream: int, each_up: Fraction, parts: int, each: Fraction) -> Fraction:
    """The seconds a load waits at most for its run, where one of ``upstream`` loads comes every
    ``each_up`` seconds and takes ``parts`` runs of ``each`` seconds."""
    free = longest = Fraction(0)
    for number in range(upstream):
        comes = number * each_up
        for _ in range(parts):
            start = max(comes, free)
            longest, free = max(longest, start - comes), start + each
    return longest

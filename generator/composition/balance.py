"""The balance of a mixture: grams in, grams out, each constituent from … to …

What goes in brings what it is made of. What is lost leaves in one of four ways: as ``water``
alone, as ``mixture`` in proportion, as ``unknown``, which may be any of it, or as ``juice``, which
may be any of it too, but of what is dissolved holds no more than the water that it is. Everything
is exact and in grams.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Literal

from generator.composition.contents import PHOSPHATE, REPORTED, Contents
from generator.measures.between import NOTHING, Between

Leaves = Literal["water", "mixture", "unknown", "juice"]
_ALL = (*REPORTED, PHOSPHATE)
_DISSOLVED = (PHOSPHATE,)
"""What leaves with the juice of meat as the water does, at the most."""


@dataclass(frozen=True)
class Balance:
    """So many ``grams`` of a mixture; ``parts`` are grams of each constituent, ``stated`` those
    that something in it states, ``open`` the names that leave a constituent open and by how many
    grams. ``dry_g`` is what was lost as water and can't have been: more than the water in it."""

    grams: Fraction = Fraction(0)
    parts: Mapping[str, Between] = field(default_factory=lambda: dict.fromkeys(_ALL, NOTHING))
    stated: frozenset[str] = frozenset()
    open: Mapping[str, Mapping[str, Fraction]] = field(default_factory=dict)
    dry_g: Fraction = Fraction(0)

    def joined(self, other: Balance) -> Balance:
        """Both together."""
        if not other.grams and not other.dry_g:
            return self  # nothing comes to it, as to most steps
        opened = {n: dict(names) for n, names in self.open.items()}
        for constituent, names in other.open.items():
            held = opened.setdefault(constituent, {})
            for name, width in names.items():
                held[name] = held.get(name, Fraction(0)) + width
        return Balance(
            self.grams + other.grams,
            {
                n: self.parts.get(n, NOTHING) + other.parts.get(n, NOTHING)
                for n in {**self.parts, **other.parts}
            },
            self.stated | other.stated,
            opened,
            self.dry_g + other.dry_g,
        )

    def times(self, factor: Fraction) -> Balance:
        """So many times as much of it; ``factor`` is not below 0."""
        if factor == 1:
            return self
        opened = {n: {k: w * factor for k, w in names.items()} for n, names in self.open.items()}
        parts = {n: one.times(factor) for n, one in self.parts.items()}
        return replace(
            self, grams=self.grams * factor, parts=parts, open=opened, dry_g=self.dry_g * factor
        )

    def minus(self, grams: Fraction, leaves: Leaves, step: str = "") -> Balance:
        """Without so many grams of it, at most all; ``step`` is named where it isn't known what
        leaves."""
        lost = min(grams, self.grams)
        if not lost:
            return self
        if leaves == "mixture":
            return self.times(1 - lost / self.grams)
        if leaves == "water":
            return self._without_water(lost)
        found = self._without(lost, step)
        return replace(found, parts=self._with_juice(found, lost)) if leaves == "juice" else found

    def _with_juice(self, left: Balance, lost: Fraction) -> dict[str, Between]:
        """What is ``left`` once so much juice is lost: of what is dissolved no more is gone than
        of the water, all of the juice being that."""
        parts, water = dict(left.parts), self.parts["water"].low
        gone = min(lost / water, Fraction(1)) if water else Fraction(1)
        for name in _DISSOLVED:
            one = parts[name]
            parts[name] = Between(max(one.low, self.parts[name].low * (1 - gone)), one.high)
        return parts

    def plus(self, grams: Fraction, water: bool, step: str = "") -> Balance:
        """With so many grams more: of water, or of nobody knows what, which ``step`` names."""
        parts = dict(self.parts)
        if water:
            parts["water"] = parts["water"] + Between(grams, grams)
            return replace(self, grams=self.grams + grams, parts=parts)
        opened = {n: dict(names) for n, names in self.open.items()}
        for name, one in self.parts.items():
            parts[name] = Between(one.low, one.high + grams)
            opened.setdefault(name, {})[step] = grams
        return replace(self, grams=self.grams + grams, parts=parts, open=opened)

    def _without_water(self, lost: Fraction) -> Balance:
        left, water = self.grams - lost, self.parts["water"]
        dry = max(lost - water.high, Fraction(0))
        kept = Between(max(water.low - lost, Fraction(0)), max(water.high - lost, Fraction(0)))
        parts = {n: one.within(Fraction(0), left) for n, one in self.parts.items()}
        parts["water"] = kept
        parts["solids"] = Between(left - kept.high, left - kept.low)
        return replace(self, grams=left, parts=parts, dry_g=self.dry_g + dry)

    def _without(self, lost: Fraction, step: str) -> Balance:
        left = self.grams - lost
        opened = {n: dict(names) for n, names in self.open.items()}
        parts: dict[str, Between] = {}
        for name, one in self.parts.items():
            parts[name] = Between(max(one.low - lost, Fraction(0)), min(one.high, left))
            widened = parts[name].width - one.width
            if widened > 0:
                opened.setdefault(name, {})[step] = widened
        water = parts["water"]
        parts["solids"] = Between(left - water.high, left - water.low)
        return replace(self, grams=left, parts=parts, open=opened)

    def share(self, name: str) -> Between:
        """A constituent as a share of the weight; 0 of nothing."""
        return self.parts[name].times(1 / self.grams) if self.grams else NOTHING

    def left_open_by(self, name: str) -> tuple[str, ...]:
        """What leaves a constituent open, the most first."""
        found = self.open.get(name, {})
        return tuple(sorted(found, key=lambda key: (-found[key], key)))

    @property
    def contents(self) -> Contents:
        """It as an ingredient of another formula."""
        return Contents({n: self.share(n) for n in self.parts}, self.stated)


def mixed(items: Iterable[tuple[str, Contents, Fraction]]) -> Balance:
    """A mixture of foods: the name of each, what it is made of, and its grams. Its constituents
    are those that the contents have, all the same."""
    held = [(name, contents, grams) for name, contents, grams in items if grams]
    parts: dict[str, Between] = {}
    opened: dict[str, dict[str, Fraction]] = {}
    for constituent in held[0][1].shares if held else REPORTED:
        low = width = Fraction(0)
        for name, contents, grams in held:
            share = contents.shares.get(constituent, NOTHING)
            if share.low:
                low += share.low * grams
            if share.high != share.low:
                wide = share.width * grams
                width += wide
                names = opened.setdefault(constituent, {})
                names[name] = names.get(name, Fraction(0)) + wide
        parts[constituent] = Between.wide(low, width)
    total = sum((grams for _, _, grams in held), Fraction(0))
    stated = frozenset[str]().union(*(contents.stated for _, contents, _ in held))
    return Balance(total, parts, stated, opened)

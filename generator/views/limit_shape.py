"""What a limit is shown as: its large figures, its chips, and the box they are in."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from generator.measures.words import NARROW

LABELS = {"guidance": "Guidance", "ours": "Our working rule"}
"""What is before a figure that is no code's."""


@dataclass(frozen=True)
class Chip:
    """A limit at a glance: its figure, the words behind it; ``other`` is the figure in the other
    temperature scale, empty for what has none."""

    figure: str
    words: str
    other: str = ""


@dataclass(frozen=True)
class FigureView:
    """One large figure: the number, its unit, the side it is kept on and what else is behind
    it; ``value`` is the number itself (of a time: its seconds), ``other`` are number and unit in
    the other temperature scale, empty for a time."""

    number: str
    unit: str
    side: str
    value: Fraction
    more: str = ""
    other: tuple[str, str] = ("", "")

    @property
    def words(self) -> str:
        """The words behind it: "or colder, in the air"."""
        return f"{self.side}{self.more}"

    @property
    def chip(self) -> Chip:
        other = f"{self.other[0]}{NARROW}{self.other[1]}" if self.other[0] else ""
        return Chip(f"{self.number}{NARROW}{self.unit}".strip(), self.words, other)


@dataclass(frozen=True)
class LimitView:
    """What a limit box shows, top to bottom; ``basis`` are the rows of the fold below it.

    ``done`` is what is done ("cook"), ``asks`` what the figure is ("probe must read").

    ``hold_s`` is the hold in whole seconds, for a timer, ``stand`` and ``stand_s`` the time to
    are; ``start_other`` is ``start`` in the other temperature scale, as ``missed_other`` of
    ``if_missed``; ``start_alone`` where it says no more than its clock's key does. ``house``
    says how a house limit compares with the code; ``code`` is the code's own figure all the
    same."""

    id: str
    covered: bool
    hazard: str
    done: str
    asks: str
    chips: tuple[Chip, ...]
    figures: tuple[FigureView, ...] = ()
    start: str = ""
    hold: str = ""
    hold_rest: str = ""
    check: str = ""
    if_missed: str = ""
    code: str = ""
    code_rest: str = ""
    document: str = ""
    clause: str = ""
    note: str = ""
    why: str = ""
    basis: tuple[tuple[str, str], ...] = ()
    target: str = ""
    dose: str = ""
    words: str = ""
    label: str = "Code"
    house: str = ""
    house_rest: str = ""
    hold_s: int = 0
    stand: str = ""
    stand_s: int = 0
    start_other: str = ""
    stricter: bool = True
    missed_other: str = ""
    start_alone: bool = False

    @property
    def head(self) -> str:
        """The head of its box: "cook: probe must read", or only what is done."""
        return f"{self.done}: {self.asks}" if self.asks else self.done

    @property
    def lead(self) -> str:
        """What the figure is, at the beginning of a line: "Probe must read"."""
        lead = self.asks or self.done
        return lead[:1].upper() + lead[1:]

"""A computed figure's working: what went in, by which rule, from which source."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Basis:
    """``inputs`` are (name, words) pairs in reading order; ``rule`` a sentence; ``source`` a
    title."""

    inputs: tuple[tuple[str, str], ...] = ()
    rule: str = ""
    source: str = ""

"""What a formula says of its dough, held against the formula: a dough, and temperatures that can be
meant."""

from __future__ import annotations

from fractions import Fraction

from generator.files.finding import Finding, Place
from generator.measures.words import breakable
from generator.records.dough import DoughFacts
from generator.records.formula import Formula
from generator.resolve.equipment import MOST_FRICTION
from generator.resolve.joined import JoinedLine
from generator.resolve.names import Names

COLDEST, WARMEST = Fraction(10), Fraction(40)
"""°C beyond which a dough's temperature is asked about: published doughs are wanted from 20 to
30 °C. A working rule of ours."""
_Base = frozenset[tuple[str, str]] | None


def check_dough(
    names: Names, ident: str, formula: Formula, lines: list[JoinedLine], base: _Base
) -> None:
    """A dough's temperature belongs to a dough, and can be meant."""
    dough = formula.dough
    if dough is None or base is None:
        return
    if not any(_is_flour(ln) and (ln.part, ln.item) in base for ln in lines):
        names.error(
            "dough-without-flour",
            formula.key_place("dough"),
            "A dough's temperature, and no flour in the base.",
            "Name the flour under `base`. An ingredient counts as flour by its `foodstuff`, or by "
            "`flour: yes`.",
            ident,
        )
    if dough.temperature is None and (dough.friction is not None or dough.tin_room is None):
        names.error(
            "dough-temperature-missing",
            formula.key_place("dough"),
            "How warm is the dough wanted?",
            "Write its `temperature`, as in 25 °C. Friction alone means nothing.",
            ident,
        )
    _can_be_meant(names, ident, dough)


def _is_flour(line: JoinedLine) -> bool:
    return line.ingredient is not None and bool(line.ingredient.flour)


def _can_be_meant(names: Names, ident: str, dough: DoughFacts) -> None:
    """Ask about a dough no baker wants, and a friction no mixer has."""
    typed, place = dough.temperature, dough.place("temperature")
    if typed is not None and not COLDEST <= typed.celsius <= WARMEST:
        other = typed.swapped()
        fits = COLDEST <= other.celsius <= WARMEST
        write = (place.fixed(breakable(str(other))),) if fits else ()
        _ask(names, ident, f"A dough of {typed}. Is that right?", place, write)
    if dough.friction is not None and dough.friction.celsius > MOST_FRICTION:
        words = f"A friction of {dough.friction}. Is that right?"
        _ask(names, ident, words, dough.place("friction"), ())


def _ask(names: Names, ident: str, words: str, place: Place, write: tuple[str, ...]) -> None:
    help = "Check the figure and its scale."
    about = frozenset({ident})
    names.findings.append(
        Finding("temperature-implausible", "warning", words, place, help, write, about=about)
    )

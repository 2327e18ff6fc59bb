"""The decimal mark in force: a point, or the comma of kitchens that write `1,5 kg`; and whether
sums of weight are reported in kilograms or in pounds.

Both are a setting of the kitchen that everything read and written for it follows, however deep
inside the text is made; so it is held as :mod:`decimal` holds its context. Each thread has its
own, and leaving ``written_with`` puts back the one before.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from fractions import Fraction
from typing import Literal, NamedTuple

from generator.files.finding import Refused

Mark = Literal["point", "comma"]
Weights = Literal["metric", "us"]
SIGN: dict[Mark, str] = {"point": ".", "comma": ","}
THIN = "\u2009"
_MARK: ContextVar[Mark] = ContextVar("decimal_mark", default="point")
_WEIGHTS: ContextVar[Weights] = ContextVar("weights", default="metric")
_BETWEEN = re.compile(r"(?<=\d)\.(?=\d)")
_POINTED = re.compile(r"\d*(?:\.\d+)+", re.ASCII)
_THOUSANDS = re.compile("([1-9][0-9]{0,2})((?:([., '’_])[0-9]{3})(?:\\3[0-9]{3})*)")
_GROUPS = re.compile("(?<=[0-9])[\u2009\u202f](?=[0-9]{3}(?![0-9]))")


class Writing(NamedTuple):
    """How a kitchen writes figures: its decimal mark, and the units its sums of weight are reported
    in."""

    mark: Mark = "point"
    weights: Weights = "metric"


@contextmanager
def written_with(how: Writing | Mark) -> Iterator[None]:
    """Within it, amounts are read and written so; a decimal mark alone leaves the weights
    metric."""
    writing = how if isinstance(how, Writing) else Writing(how)
    tokens = _MARK.set(writing.mark), _WEIGHTS.set(writing.weights)
    try:
        yield
    finally:
        _MARK.reset(tokens[0])
        _WEIGHTS.reset(tokens[1])


def weights_in_force() -> Weights:
    """The units sums of weight are reported in."""
    return _WEIGHTS.get()


def decimal_mark() -> Mark:
    """The decimal mark in force."""
    return _MARK.get()


def decimal_sign() -> str:
    """The decimal mark in force, as written: ``.`` or ``,``."""
    return SIGN[_MARK.get()]


def as_written(text: str) -> str:
    """Words of our own with a decimal point, as this kitchen writes them: 1.5 kg → 1,5 kg.

    For measures only: never for a clause, an edition or an address.
    """
    return text if _MARK.get() == "point" else _BETWEEN.sub(",", text)


def figure_of(digits: str) -> Fraction:
    """The figure of digits with a decimal mark that was accepted: ``1,5``, ``1.5``, ``.5``."""
    whole, _, part = digits.replace(",", ".").partition(".")
    if (whole + part).isdecimal():
        return Fraction(int(whole + part), 10 ** len(part))
    return Fraction(f"{whole or '0'}.{part or '0'}")


def typed_line(text: str) -> str:
    """A typed measure on one line, without the thin spaces between the thousands we print; a letter
    and its accent are one sign."""
    return unicodedata.normalize("NFC", " ".join(_GROUPS.sub("", text).split()))


def whole_figures(figure: str) -> tuple[str, ...]:
    """The whole figures, as digits alone, that a figure with marks between its thousands may mean:
    ``1,000`` and ``1 000`` are 1000; with the kitchen's own decimal mark it is 1000 or 1. None for
    any other text."""
    match = _THOUSANDS.fullmatch(figure.strip())
    if match is None:
        return ()
    whole, groups, mark = match.groups()
    large = whole + groups.replace(mark, "")
    return (large, whole) if groups == f"{decimal_sign()}000" else (large,)


def refuse_point(typed: str) -> None:
    """Under a decimal comma, refuse a measure with a point in its figure, with its fixes.

    Raises Refused for ``1.5 kg`` (1,5 kg is meant) and for ``1.500 kg`` (1500 or 1,5?).
    """
    found = _POINTED.search(typed) if _MARK.get() == "comma" else None
    if found is None or typed[: found.start()].endswith(","):
        return
    before, after = typed[: found.start()], typed[found.end() :]
    fixes = [before + figure + after for figure in _without_points(found.group(), after)]
    meant = f": did you mean {' or '.join(fixes)}?" if fixes else " has points in its figure."
    raise Refused(
        "decimal-mark",
        f"`{typed}`{meant}",
        "This kitchen writes decimals with a comma (`decimal` in kitchen.yaml). Write nothing "
        "between the thousands.",
        fixes,
    )


def _without_points(figure: str, after: str) -> list[str]:
    """What a figure with points, and ``after`` it the rest of the line, may mean: its points
    between thousands left out; its one point as a decimal comma."""
    whole, *parts = figure.split(".")
    thousands = whole.strip("0") and len(whole) <= 3 and all(len(p) == 3 for p in parts)
    found = [whole + "".join(parts)] if thousands else []
    if len(parts) == 1 and not after.startswith(","):
        trimmed = parts[0].rstrip("0") if thousands else parts[0]
        found.append(f"{whole or '0'},{trimmed}" if trimmed else whole)
    return found

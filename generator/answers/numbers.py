"""Exact figures as JSON numbers."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from generator.measures.basis import Basis


def number(value: Fraction | int | None) -> int | float | None:
    """A whole figure as an integer, any other as a float; None stays None."""
    if value is None:
        return None
    exact = Fraction(value)
    return int(exact) if exact.denominator == 1 else float(exact)


def basis_record(basis: Basis) -> dict[str, Any]:
    """A basis as an object: inputs by name, rule, source."""
    record: dict[str, Any] = {"inputs": dict(basis.inputs), "rule": basis.rule}
    if basis.source:
        record["source"] = basis.source
    return record


def without_none(record: dict[str, Any]) -> dict[str, Any]:
    """The record without what doesn't apply."""
    return {key: value for key, value in record.items() if value is not None and value != ""}

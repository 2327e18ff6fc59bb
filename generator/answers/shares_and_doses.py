"""Limits that no probe proves, as JSON and as text: doses, shares of what food is made of, pH."""

from __future__ import annotations

from typing import Any

from generator.answers.numbers import basis_record, number, without_none
from generator.answers.sources import source_record
from generator.measures.words import plain
from generator.rules.basics.limit import AcidityLimit, DoseLimit, ShareLimit, Verdict


def verdict_record(verdict: Verdict) -> dict[str, Any] | None:
    """What a limit says of the chef's target; None where it says nothing."""
    if verdict.status == "none":
        return None
    return {"status": verdict.status, "words": verdict.words, "mends": list(verdict.fixes)}


def dose_record(limit: DoseLimit) -> dict[str, Any]:
    """A dose, in ppm."""
    return without_none(
        {
            "value": number(limit.law_ppm),
            "unit": "ppm",
            "substance": limit.substance,
            "dosed_ppm": number(limit.ppm),
            "least_ppm": number(limit.least_ppm),
            "because": list(limit.because),
            "verdict": verdict_record(limit.verdict),
            "source": source_record(limit.source),
            "basis": basis_record(limit.basis),
        }
    )


def share_record(limit: ShareLimit) -> dict[str, Any]:
    """A bound on what food is made of, in percent."""
    return {
        "limit_pct": number(limit.percent),
        "of": limit.of,
        "found_pct": {"low": number(limit.found.low), "high": number(limit.found.high)},
        "verdict": verdict_record(limit.verdict),
        "source": source_record(limit.source),
        "basis": basis_record(limit.basis),
    }


def acidity_record(limit: AcidityLimit) -> dict[str, Any]:
    """A pH, by law and as the meter must read."""
    ph = limit.ph
    return without_none(
        {
            "value": number(ph.law),
            "unit": "pH",
            "below": ph.law_below,
            "read_at": number(ph.read),
            "read_below": ph.read_below,
            "verdict": verdict_record(limit.verdict),
            "group": limit.group,
            "note": limit.note or None,
            "source": source_record(limit.source),
            "basis": basis_record(limit.basis),
        }
    )


def unprobed_lines(limit: DoseLimit | ShareLimit | AcidityLimit, source: str) -> list[str]:
    """The lines of such a limit for the terminal; ``source`` is its source as a line."""
    if isinstance(limit, DoseLimit):
        word = "most" if limit.most_ppm is not None else "least"
        dosed = f"dosed {plain(limit.ppm, 2)} ppm"
        return [
            f"At {word} {plain(limit.law_ppm)} ppm of {limit.substance} on the meat block; {dosed}",
            f"Source: {limit.source.document}; read in {'; '.join(limit.source.read_in)}",
        ]
    if isinstance(limit, ShareLimit):
        side = "most" if limit.bound == "max" else "least"
        return [
            f"At {side} {plain(limit.percent)} % {limit.of}",
            f"{limit.verdict.words} {limit.source.clause}",
            source,
        ]
    return [
        f"Meter must read {limit.ph.read_words()}",
        f"Code {limit.ph.law_words()}; {limit.source.clause}",
        limit.note,
        source,
    ]

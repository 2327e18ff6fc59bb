"""Exact numbers: reading them leaves the process as it was."""

from __future__ import annotations

from generator.measures.exact import Fraction


def test_reading_a_number_leaves_the_bytes_of_the_process_alone() -> None:
    """A compiled class of fractions wrote the sign it read into the one object for a zero byte:
    archives were read wrong from then on."""
    read = [Fraction(sign) for sign in "0123456789"]
    assert read == list(range(10))
    assert [bytes([n])[0] for n in range(256)] == list(range(256))
    assert list(b"\0") == [0]

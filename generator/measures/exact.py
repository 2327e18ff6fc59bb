"""Exact numbers: every weight, share and temperature is a fraction until it is read out.

`Fraction` is the standard library's. No compiled one takes its place: `quicktions` 1.19 to 1.24,
asked to read a text of one sign (`Fraction("1")`), writes that sign into the interpreter's one
object for `b"\\0"`, and whoever looks for a zero byte from then on, as `tarfile` does, reads wrong.
`tests/unit/test_exact.py` holds that reading numbers leaves the bytes of the process alone.
"""

from __future__ import annotations

from fractions import Fraction

__all__ = ["Fraction"]

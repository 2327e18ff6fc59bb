"""Exact numbers: every weight, share and temperature is a fraction until it is read out.

`Fraction` is the standard library's, as `quicktions` (Stefan Behnel) has compiled it: the same
class, several times as fast. Where it has no wheel the library's own serves, a little slower. A
figure that was typed or written is read by `read_figure` alone.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fractions import Fraction
else:
    try:
        from quicktions import Fraction
    except ImportError:
        from fractions import Fraction

__all__ = ["Fraction", "read_figure"]


def read_figure(text: str) -> Fraction:
    """The figure a text is: `7`, `1.5`, `1/3`. Raises ValueError or ZeroDivisionError.

    The compiled class (all versions up to 1.24) reads a single digit in the very byte `b"\\0"` that
    the interpreter shares with all modules: from then on tar archives and PDFs are misread in this
    process, and modules compiled in it are wrong on the disk. So a digit goes in as a number.
    """
    return Fraction(int(text)) if len(text) == 1 and text.isdecimal() else Fraction(text)

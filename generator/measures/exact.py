"""Exact numbers: every weight, share and temperature is a fraction until it is read out.

`Fraction` is the standard library's, as `quicktions` (Stefan Behnel) has compiled it: the same
class, several times as fast. Where it has no wheel the library's own serves, a little slower.
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

__all__ = ["Fraction"]

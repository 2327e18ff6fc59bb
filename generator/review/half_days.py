"""Hours that go back where a clock doesn't: of a clock of twelve without AM or PM, or past midnight
under the day before. Both are seen by the order of the lines, and asked about."""

from __future__ import annotations

import datetime
import itertools
from collections.abc import Sequence

HALF_A_DAY = datetime.timedelta(hours=12)
DAY = 2 * HALF_A_DAY

Line = tuple[datetime.datetime, int]
"""An instant, and the line of the file it was read on."""


def gone_back(
    lines: Sequence[Line], period: datetime.timedelta = HALF_A_DAY
) -> tuple[Line, Line] | None:
    """Two neighbouring lines of a probe, as the file has them, of which the later goes back, and
    would follow the other sooner a ``period`` later: in the other half of the day, or on the next;
    None where none does.

    A file of three lines and more that begins with its newest is read from its end. For half days
    the stamps are such as may be of a clock of twelve hours: none has the hour 0 or one after 12.
    Of a whole day only two lines under one date count.
    """
    steps = [b[0] - a[0] for a, b in itertools.pairwise(lines)]
    none = datetime.timedelta(0)
    backs = sum(s < none for s in steps)
    newest_first = backs > 1 and backs > sum(s > none for s in steps)
    for one, other in itertools.pairwise(reversed(lines) if newest_first else lines):
        one_date = period < DAY or one[0].date() == other[0].date()
        if one_date and period / 2 < one[0] - other[0] < period:
            return one, other
    return None

"""What readings say of a critical limit: the verdict on each probe, and on the log."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from generator.rules.basics.limit import Probed, Stage

Word = Literal["pass", "fail", "cannot tell"]
GRAVITY: tuple[Word, ...] = ("fail", "cannot tell", "pass")


@dataclass(frozen=True)
class StageFound:
    """One stage of cooling: the seconds it took at least and at most; None where nobody can
    know."""

    stage: Stage
    verdict: Word
    least_s: Fraction | None
    most_s: Fraction | None


@dataclass(frozen=True)
class ReachFound:
    """The time from the cold to the limit: the seconds it took at least and at most; ``most_s`` is
    None where the readings begin with food that has left the cold already."""

    verdict: Word
    least_s: Fraction
    most_s: Fraction | None


@dataclass(frozen=True)
class ProbeFound:
    """The verdict on one probe.

    ``met_row`` is the row of law that was met. ``held_s`` is the time the food was surely at or
    beyond the row it came nearest to, ``held_most_s`` the longest it can have been. ``begun_s`` is
    the time from the last reading at the cooking temperature to the first below the clock's start,
    None where the log has none: chilling was surely begun within that. ``corrected`` says what
    failed and which reheating in the log met the limit's corrective action. ``notes`` say what else
    was made of its readings; ``doubted`` says that some may not be the food's.
    """

    probe: str
    verdict: Word
    why: str
    met_row: str = ""
    held_s: Fraction | None = None
    held_most_s: Fraction | None = None
    clock_started: datetime.datetime | None = None
    stages: tuple[StageFound, ...] = ()
    deviation: datetime.datetime | None = None
    reach: ReachFound | None = None
    begun_s: Fraction | None = None
    corrected: str = ""
    doubted: bool = False
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Judged:
    """The verdict on a log: the gravest of its probes. ``longest_gap_s`` is the longest pause
    between two readings through which the food still counts as watched."""

    limit: Probed
    verdict: Word
    why: str
    probes: tuple[ProbeFound, ...]
    gaps: tuple[tuple[str, datetime.datetime, datetime.datetime], ...]
    longest_gap_s: Fraction

    @property
    def deviation(self) -> datetime.datetime | None:
        found = [p.deviation for p in self.probes if p.deviation is not None]
        return min(found) if found else None

    @property
    def only_advised(self) -> bool:
        """Whether the one thing that isn't met is an advised time, surely gone by."""
        stages = [s for p in self.probes for s in p.stages if s.verdict != "pass"]
        return bool(stages) and all(
            s.stage.advised and s.least_s is not None and s.least_s >= s.stage.within_s
            for s in stages
        )

    @property
    def met_row(self) -> str:
        rows = {p.met_row for p in self.probes}
        return rows.pop() if len(rows) == 1 else ""

"""What to do about a log that doesn't pass, as its end leaves it."""

from __future__ import annotations

import datetime
from fractions import Fraction

from generator.resolve.joined import House
from generator.review.readings import ReadingLog
from generator.review.results import Judged, ProbeFound
from generator.rules.basics.limit import CoolingLimit
from generator.rules.basics.missed import missed_words
from generator.rules.store.shelf import Shelf
from generator.sheet.sheet import Sheet

TOO_LATE = "Too late to reheat it: throw it away."
REHEAT_WITHIN = datetime.timedelta(hours=1)
"""A missed stage is put right by a reheating then, not hours later: a working rule of this
manual."""


def action_for(house: House, subject: Sheet | Shelf, judged: Judged, log: ReadingLog) -> str:
    """The corrective action of a limit, as the verdict asks for it.

    A cooling that was in time and warmed afterwards is a miss of holding it cold. A stage that was
    missed longer ago than REHEAT_WITHIN when the log ends isn't reheated any more. A time of
    guidance that is missed isn't the law's: what the words of the law ask for is done, until our
    working rule is passed too.
    """
    limit = judged.limit
    words = house.library.hazards[limit.hazard]
    action = missed_words(house, limit, words, house.kitchen.temperature) or words.action
    if isinstance(limit, CoolingLimit) and limit.beside_law:
        action = _by_guidance(house, judged) or action
    if judged.only_advised:
        return words.action_advised or action
    if not isinstance(limit, CoolingLimit) or judged.verdict != "fail":
        return action
    return _after_a_cooling(house, subject, judged, log, action)


def _after_a_cooling(
    house: House, subject: Sheet | Shelf, judged: Judged, log: ReadingLog, action: str
) -> str:
    """The action of a cooling that failed: that of holding cold, where it was in time; too late,
    where a stage was missed too long ago; else its own ``action``."""
    limit, failed = judged.limit, [p for p in judged.probes if p.verdict == "fail"]
    if not any(map(_stage_missed, failed)):
        return _holding(house, subject) or action
    if isinstance(limit, CoolingLimit) and limit.beside_law:
        return action
    reheated = house.library.hazards[limit.hazard].if_missed_stage
    return TOO_LATE if reheated and _late(failed, log) else action


def _by_guidance(house: House, judged: Judged) -> str:
    """The action where a log is held against guidance on cooling."""
    failed = [p for p in judged.probes if p.verdict == "fail" and _stage_missed(p)]
    if _warm_longer(failed, house.library.preparation.most.seconds):
        return TOO_LATE
    return house.library.hazards[judged.limit.hazard].if_missed_in_words


def _warm_longer(failed: list[ProbeFound], most: Fraction) -> bool:
    """Whether food that missed a time of guidance surely took longer than ``most`` seconds: what
    our working rule allows between hot and cold."""
    stages = [s for p in failed for s in p.stages]
    return any(s.least_s is not None and s.least_s > most for s in stages)


def _late(failed: list[ProbeFound], log: ReadingLog) -> bool:
    return any(_too_late(found, log) for found in failed)


def _stage_missed(found: ProbeFound) -> bool:
    return any(s.verdict != "pass" for s in found.stages)


def _too_late(found: ProbeFound, log: ReadingLog) -> bool:
    """Whether the log of a probe goes on so long after its first missed stage, or its last stage
    is missed."""
    if found.deviation is None or not _stage_missed(found):
        return False
    if found.stages[-1].verdict == "fail":
        return True
    series = next(s for s in log.series if s.probe == found.probe)
    return series.readings[-1].at - found.deviation > REHEAT_WITHIN


def _holding(house: House, subject: Sheet | Shelf) -> str:
    """The action of holding cold: the formula's own, else the pack's in general."""
    words = house.library.hazards["cold_hold"]
    stored = [
        lm
        for lm in (subject.walk.store if isinstance(subject, Sheet) else ())
        if lm.hazard == "cold_hold"
    ]
    if stored:
        return missed_words(house, stored[0], words, house.kitchen.temperature) or words.action
    return words.action

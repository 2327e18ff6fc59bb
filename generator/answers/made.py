"""What was recorded of a batch, and what its readings say: as JSON and as text."""

from __future__ import annotations

import zoneinfo
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from generator.answers.around import around, probes_off
from generator.answers.cautions import governs
from generator.answers.numbers import without_none
from generator.answers.yields import yields_record
from generator.files.finding import Finding
from generator.measures.words import breakable, date, listed, plain
from generator.records.equipment import Equipment
from generator.records.ingredient import Ingredient
from generator.records.made import MadeBatch, in_order
from generator.resolve.made import JoinedBatch
from generator.review.near import Near, within_error
from generator.review.readings import ReadingLog, log_of
from generator.review.results import Judged, Word
from generator.review.verdicts import judge, provable
from generator.rules.basics.limit import CoolingLimit, Limit, Probed, held_against, of_guidance
from generator.sheet.history import YieldSeries
from generator.sheet.sheet import Sheet

_TAP_FOODSTUFF = "water-tap"
_TAP_NAMES = frozenset({"water", "tap water"})


@dataclass(frozen=True)
class StepVerdict:
    """What the readings of a step say of one of its limits; ``answered``: a deviation of that step
    says what was done; ``near`` are the probes that pass only if they are exact."""

    step: str
    verb: str
    judged: Judged
    answered: bool
    near: tuple[Near, ...] = ()

    @property
    def word(self) -> str:
        """``out`` of its limit, ``within`` it, or ``open``: nobody can tell by these readings."""
        return _OF_VERDICT[self.judged.verdict]

    @property
    def said(self) -> str:
        """The word as it is read; of a pass within the probe's error with its doubt."""
        words = _BY_GUIDANCE if of_guidance(self.judged.limit) else _WORDS
        return f"{words['within']} only if the probe is exact" if self.near else words[self.word]

    @property
    def why(self) -> str:
        """Why, with what each probe would have to read to be sure."""
        doubts = "".join(
            f" {near.asked[0].upper()}{near.asked[1:]}."
            if len(self.judged.probes) == 1
            else f" {near.words}"
            for near in self.near
        )
        guidance = f" {self.judged.limit.note}" if of_guidance(self.judged.limit) else ""
        return f"{self.judged.why}{doubts}{guidance}"


@dataclass(frozen=True)
class Recorded:
    """A batch that was recorded, in ``file``; its ``verdicts``; what of its formula has no lot
    (``no_lot``), what was made ahead and has no record (``no_record``), readings that no limit
    asks for (``unjudged``); ``doubts``: what in it can hardly be so. ``held`` is whether
    ``sheet`` is of the revision it was made by: by another's nothing is judged, nothing cleared."""

    batch: JoinedBatch
    sheet: Sheet
    file: str
    verdicts: tuple[StepVerdict, ...]
    no_lot: tuple[str, ...]
    no_record: tuple[str, ...]
    yields: tuple[YieldSeries, ...]
    written: bool
    doubts: tuple[Finding, ...] = ()
    held: bool = True
    unread: tuple[str, ...] = ()
    """The steps with a limit for a probe, and no reading."""

    @property
    def unanswered(self) -> tuple[StepVerdict, ...]:
        """What failed, of which the record doesn't say what was done."""
        return tuple(v for v in self.verdicts if v.word == "out" and not v.answered)


def recorded(
    batch: JoinedBatch,
    sheet: Sheet,
    equipment: Mapping[str, Equipment],
    file: str,
    yields: tuple[YieldSeries, ...],
    written: bool,
    doubts: tuple[Finding, ...] = (),
    held: bool = True,
) -> Recorded:
    """What is to be said of a batch that is recorded, by the limits of its ``sheet``; a
    probe that a reading names may be a thermometer of the ``equipment``. It isn't ``held`` to a
    sheet of another revision than it was made by."""
    no_record = {
        f"{p.used.item} {p.used.lot}"
        for p in batch.made_of
        if p.made_here and p.used.lot is not None and not p.batches
    }
    return Recorded(
        batch,
        sheet,
        file,
        tuple(_verdicts(batch.record, sheet, equipment)) if held else (),
        tuple(sorted(_without_lot(batch, sheet if held else None))),
        tuple(sorted(no_record, key=in_order)),
        yields,
        written,
        doubts,
        held,
        _unread(batch.record, sheet) if held else (),
    )


def _without_lot(batch: JoinedBatch, sheet: Sheet | None) -> set[str]:
    """What of a batch no lot is written of and one could be: by its own lines, and by those of its
    ``sheet``."""
    written = {p.used.item for p in batch.made_of if p.used.lot is not None}
    without = {p.used.item for p in batch.made_of if p.used.lot is None}
    lines = sheet.walk.lines if sheet is not None else ()
    tap = {line.joined.item for line in lines if _from_the_tap(line.joined.ingredient)}
    needed = {line.joined.item for line in lines if line.grams}
    return ((needed - written) | without) - tap


def _from_the_tap(facts: Ingredient | None) -> bool:
    """Whether an ingredient isn't bought, and so has no lot: by its own word, or as tap water is,
    of which no pack is written. Bottled water and ice have a name of their own."""
    if facts is None or isinstance(facts.packs, str):
        return facts is not None
    names = {name.casefold() for name in (facts.name, *facts.other_names)}
    return not facts.packs and (facts.foodstuff == _TAP_FOODSTUFF or bool(names & _TAP_NAMES))


def _verdicts(
    record: MadeBatch, sheet: Sheet, equipment: Mapping[str, Equipment]
) -> Iterator[StepVerdict]:
    """The verdict on each limit that readings can prove, where the record has readings of its
    step."""
    answered = {one.step for one in record.deviations}
    for limit in held_against(sheet.walk.limits):
        if not provable(limit) or limit.measured not in ("core", "surface"):
            continue
        log = _log(record, sheet, limit)
        if log is not None:
            beside = around(sheet.house, sheet, limit)
            gap = _longest_gap(sheet, limit)
            judged = judge(log, limit, gap, beside)
            near = within_error(log, judged, beside, probes_off(sheet.house, equipment, log))
            yield StepVerdict(limit.step, limit.verb, judged, limit.step in answered, near)


def _unread(record: MadeBatch, sheet: Sheet) -> tuple[str, ...]:
    """The steps whose limit a probe proves in the food, and of which there is no reading."""
    read = {one.step for one in record.readings}
    asked = (
        limit.step
        for limit in held_against(sheet.walk.limits)
        if provable(limit) and limit.measured in ("core", "surface")
    )
    return tuple(dict.fromkeys(step for step in asked if step and step not in read))


def _longest_gap(sheet: Sheet, limit: Probed) -> Fraction:
    """The longest pause through which the food counts as watched, in seconds."""
    stated = sheet.house.library.hazards[limit.hazard].longest_gap
    if stated is not None:
        return stated.seconds
    stages = limit.stages if isinstance(limit, CoolingLimit) else ()
    return max((s.within_s for s in stages), default=Fraction(0))


def _log(record: MadeBatch, sheet: Sheet, limit: Limit) -> ReadingLog | None:
    """The readings of a limit's step as a log; None for none."""
    zone = zoneinfo.ZoneInfo(sheet.house.kitchen.time_zone)
    rows = [
        (record.instant(r.at, zone), r.probe or "1", r.value)
        for r in record.readings
        if r.step == limit.step
    ]
    return log_of(record.lot, rows, zone) if rows else None


def recorded_record(found: Recorded) -> dict[str, Any]:
    """What was recorded, as one JSON object."""
    record = found.batch.record
    return {
        "record": found.batch.id,
        "file": found.file,
        "written": found.written,
        "formula": record.formula,
        "name": found.sheet.name,
        "lot": record.lot,
        "day": record.day.isoformat(),
        "revision": record.revision,
        "held_to_its_revision": found.held,
        "corrects": record.corrects,
        "verdicts": [
            without_none(
                {
                    "step": v.step,
                    "limit": v.judged.limit.id,
                    "verdict": v.judged.verdict,
                    "out_of_limit": v.word == "out",
                    "why": breakable(v.why),
                    "answered": v.answered,
                    "only_if_exact": [near.probe for near in v.near] or None,
                }
            )
            for v in found.verdicts
        ],
        "doubts": [
            {
                "code": f.code,
                "severity": f.severity,
                "words": breakable(f.message),
                "help": breakable(f.help),
            }
            for f in found.doubts
        ],
        "deviations": [
            without_none({"step": d.step, "what": d.what, "done": d.done})
            for d in record.deviations
        ],
        "not_read": list(found.unread),
        "lots_missing": list(found.no_lot),
        "made_ahead_without_record": list(found.no_record),
        "yields": yields_record(found.yields),
        "governs": breakable(governs(found.sheet)),
    }


_OF_VERDICT: dict[Word, str] = {"pass": "within", "cannot tell": "open", "fail": "out"}
_WORDS = {"out": "OUT OF LIMIT", "within": "within its limit", "open": "can't tell"}
_BY_GUIDANCE = {**_WORDS, "out": "OUT OF GUIDANCE", "within": "within what guidance advises"}


def recorded_text(found: Recorded) -> str:
    """What was recorded, as text: what failed first."""
    record = found.batch.record
    done = "Recorded" if found.written else "Would be recorded"
    lines = [
        f"{done}: {found.sheet.name}, batch {record.lot} of {date(record.day)}, in {found.file}."
    ]
    if record.corrects is not None:
        lines.append(f"  It replaces {record.corrects}, which stays as it is and counts no more.")
    if not found.held:
        current = found.sheet.formula.formula.revision
        lines.append(
            f"  NOT HELD: it was made by revision {record.revision}, and revision {current} is "
            "here. Its readings, lines and weights aren't judged. Look at the sheet of its day."
        )
    lines += [f"  {f.message} {f.help} [{f.code}]" for f in found.doubts]
    for one in sorted(found.verdicts, key=lambda v: v.word != "out"):
        lines.append(f"  {one.step}: {one.said}. {one.why}")
    for missed in found.unanswered:
        lines.append(
            f"  Nothing says what was done at {missed.step}. Hold the batch. Then write it under "
            "`deviations`, and record it again with --corrects."
        )
    if found.unread:
        lines.append(
            f"  Not read: {listed(found.unread)}. Without a reading nothing shows that a limit was "
            "met."
        )
    if found.no_lot:
        lines.append(f"  No lot is written of {listed(found.no_lot)}: `trace` can't rule it out.")
    if found.no_record:
        lines.append(f"  Made ahead, and not recorded: {listed(found.no_record)}.")
    for series in found.yields:
        lines.append(
            f"  Yield of {series.step or 'the whole batch'}: {_yield_words(series, found)}"
        )
    lines.append(governs(found.sheet))
    return breakable("\n".join(lines))


def _yield_words(series: YieldSeries, found: Recorded) -> str:
    """This batch's yield beside what is assumed and what was measured before."""
    mine = [p for p in series.points if p.record == found.batch.id]
    own = f"{plain(mine[-1].share * 100, 1)} %; " if mine else ""
    return f"{own}{series.words}."

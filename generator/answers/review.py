"""The verdict on a log of readings: as JSON, as text, and as a record to file."""

from __future__ import annotations

import datetime
import zoneinfo
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from generator.answers.numbers import number, without_none
from generator.answers.own_target import own_target, target_missed
from generator.answers.sources import house_record
from generator.measures.marks import as_written
from generator.measures.words import breakable, duration, plain
from generator.review.log_reduction import REFERENCE_C, Z_C, equivalent_minutes
from generator.review.near import Near
from generator.review.readings import ReadingLog
from generator.review.results import Judged, ProbeFound, StageFound
from generator.review.verdicts import judge, watched
from generator.rules.basics.context import both
from generator.rules.basics.in_words import limit_words
from generator.rules.basics.limit import (
    HeatingLimit,
    Law,
    Probed,
    Reach,
    of_guidance,
)
from generator.rules.heat.roast import GROUP as ROAST


@dataclass(frozen=True)
class Review:
    """One log judged by one limit of what was made by ``name``, or of an ingredient (``revision``
    is None). ``digest`` is the SHA-256 of the file. ``by_code`` is the verdict on the code's own
    limit, where the limit judged is the house's; ``near`` are the probes that pass only if they
    are exact."""

    id: str
    name: str
    revision: int | None
    log: ReadingLog
    judged: Judged
    action: str
    digest: str
    as_of: datetime.date
    by_code: Judged | None = None
    near: tuple[Near, ...] = ()

    @property
    def notes(self) -> tuple[str, ...]:
        notes = list(self.log.notes)
        if self.judged.limit.hazard == "reheat":
            notes.extend(_time_not_judged(self.judged))
        limit = self.judged.limit
        if isinstance(limit, HeatingLimit) and limit.stand is not None:
            stood = duration(limit.stand.row_s)
            notes.append(
                f"Not judged: that it was turned or stirred, and then waited covered for {stood}."
            )
        for found in self.judged.probes:
            notes.extend(f"{found.probe}: {note}" for note in found.notes)
        notes.extend(target_missed(self.log, self.judged))
        notes.extend(_not_by_the_chart(self))
        return (*notes, *(near.words for near in self.near))

    def lethality(self, probe: str) -> float | None:
        """Minutes at 70 °C, for a cook; None for anything else, and for readings in doubt."""
        found = next(p for p in self.judged.probes if p.probe == probe)
        if self.judged.limit.hazard != "cook" or found.doubted:
            return None
        series = next(s for s in self.log.series if s.probe == probe)
        return equivalent_minutes(series.lowest, self.judged.longest_gap_s)


def _time_not_judged(judged: Judged) -> list[str]:
    """That the law here sets no time to the limit, where it doesn't."""
    if _reach(judged) is None:
        return ["How long it took to get there is not judged."]
    return []


def _reach(judged: Judged) -> Reach | None:
    """How soon food must be there by the limit; None where it sets no time."""
    return judged.limit.reach if isinstance(judged.limit, HeatingLimit) else None


def _not_by_the_chart(review: Review) -> list[str]:
    """The probes of a roast that met a row, and none of the roast chart: it is no roast by the
    chart afterwards, for holding it hot or for reheating it."""
    judged, limit = review.judged, review.judged.limit
    if not isinstance(limit, HeatingLimit) or limit.hazard != "cook":
        return []
    chart = tuple(o for o in limit.options if o.group == ROAST)
    if not chart or judged.verdict != "pass":
        return []
    by_chart = judge(review.log, replace(limit, options=chart), judged.longest_gap_s)
    return [
        f"{p.probe}: it met no row of the roast chart. Hold it hot and reheat it like any other "
        f"food."
        for p in by_chart.probes
        if p.verdict != "pass"
    ]


def _acted(judged: Judged) -> bool:
    """Whether something was missed: it is to be put right, or a reheating in the log did so."""
    return judged.verdict != "pass" or judged.deviation is not None


def _local(at: datetime.datetime, zone: zoneinfo.ZoneInfo) -> str:
    return at.astimezone(zone).isoformat(timespec="seconds")


def review_record(review: Review) -> dict[str, Any]:
    """The verdict as JSON. Times carry the kitchen's zone."""
    judged, zone = review.judged, review.log.zone
    limit = judged.limit
    return without_none(
        {
            "ingredient" if review.revision is None else "formula": review.id,
            "revision": review.revision,
            "step": limit.step,
            "hazard": limit.hazard,
            "verdict": judged.verdict,
            "why": judged.why,
            "met_row": judged.met_row,
            "limit": _limit_words(limit),
            "guidance": limit.note if of_guidance(limit) else None,
            "target": limit.target if own_target(judged) is not None else None,
            "target_missed": target_missed(review.log, judged) or None,
            "house": house_record(limit.house) if limit.house is not None else None,
            "code": _by_code(review),
            "per_probe": [_probe(review, p) for p in judged.probes],
            "first_deviation_at": _local(judged.deviation, zone) if judged.deviation else None,
            "gaps": [
                {
                    "probe": probe,
                    "from": _local(start, zone),
                    "to": _local(end, zone),
                    "length_s": int((end - start).total_seconds()),
                }
                for probe, start, end in judged.gaps
            ],
            "longest_gap_s": number(judged.longest_gap_s) if watched(limit) else None,
            "clock_change": review.log.clock_change or None,
            "corrective_action": review.action if _acted(judged) else None,
            "notes": list(review.notes),
            "file": review.log.file,
            "file_sha256": review.digest,
            "source": {
                "document": limit.source.document,
                "edition": limit.source.edition,
                "clause": limit.source.clause,
                "read_in": list(limit.source.read_in),
            },
            "as_of": review.as_of.isoformat(),
        }
    )


def _by_code(review: Review) -> dict[str, Any] | None:
    """The code's own limit and the verdict on it, where the limit judged is the house's."""
    law = review.judged.limit.law
    if law is None:
        return None
    verdict = review.by_code.verdict if review.by_code is not None else None
    return without_none(
        {
            "limit": _limit_words(law),
            "verdict": verdict,
            "document": law.source.document,
            "clause": law.source.clause,
        }
    )


def _probe(review: Review, found: ProbeFound) -> dict[str, Any]:
    zone = review.log.zone
    series = next(s for s in review.log.series if s.probe == found.probe)
    unit = review.log.unit
    key = "_c" if unit == "°C" else "_f"
    figures = [r.temperature.in_unit(unit) for r in series.readings]
    record: dict[str, Any] = {
        "probe": found.probe,
        "verdict": found.verdict,
        "why": found.why,
        "readings": len(series.readings),
        "drop_outs": len(series.drop_outs) or None,
        "met_row": found.met_row,
        "held_s": number(found.held_s),
        "held_most_s": number(found.held_most_s),
        "clock_started_at": _local(found.clock_started, zone) if found.clock_started else None,
        "stages": [_stage(s, found) for s in found.stages] or None,
        "begun_within_s": number(found.begun_s),
        "first_deviation_at": _local(found.deviation, zone) if found.deviation else None,
        "corrected": found.corrected or None,
    }
    if figures:
        record["lowest" + key] = number(min(figures))
        record["highest" + key] = number(max(figures))
    reach = _reach(review.judged)
    if found.reach is not None:
        record["reach"] = without_none(
            {
                "within_s": number(reach.within_s) if reach is not None else None,
                "verdict": found.reach.verdict,
                "took_least_s": number(found.reach.least_s),
                "took_most_s": number(found.reach.most_s),
            }
        )
    killed = review.lethality(found.probe)
    if killed is not None:
        record["equivalent_min_at_70_c"] = round(killed, 2)
    return without_none(record)


def _stage(found: StageFound, of: ProbeFound) -> dict[str, Any]:
    """A stage; where nothing is known of the probe, nothing is of its stages."""
    value = found.stage.figure.value
    return without_none(
        {
            "to_c": number(value.in_unit("°C")),
            "to_f": number(value.in_unit("°F")),
            "within_s": number(found.stage.within_s),
            "advised": found.stage.advised or None,
            "verdict": "cannot tell" if of.verdict == "cannot tell" else found.verdict,
            "took_least_s": number(found.least_s),
            "took_most_s": number(found.most_s),
            "clause": found.stage.clause,
        }
    )


_AT = {"air": "the air at ", "surface": "the surface at "}
"""What is measured, where it isn't the core."""


def _limit_words(limit: Law) -> str:
    return _plain_spaces(limit_words(limit))


def _plain_spaces(text: str) -> str:
    return breakable(text).replace("\u2009", " ")


def review_text(review: Review) -> str:
    """The verdict for the terminal, and for the file of records."""
    judged, zone = review.judged, review.log.zone
    limit = judged.limit
    where = f"step {limit.number}, {limit.verb}" if limit.number else limit.verb
    revision = f", revision {review.revision}" if review.revision is not None else ""
    missed = target_missed(review.log, judged)
    also = " But it misses the kitchen's own target: see below." if missed else ""
    out = [
        f"{judged.verdict.capitalize()}. {judged.why}{also}",
        "",
        f"{review.name}{revision}: {where}",
        f"{_head(limit)}: {_AT.get(limit.measured, '')}{_limit_words(limit)}",
        *([limit.note] if of_guidance(limit) else []),
        f"Source: {limit.source.document}, {limit.source.clause}",
        *_house_lines(review),
        f"Readings: {review.log.file}, SHA-256 {review.digest}",
        f"Judged on {review.as_of.isoformat()}; times are of {zone.key}",
    ]
    if watched(limit):
        out.append(f"Readings count up to {duration(judged.longest_gap_s)} apart.")
    for found in judged.probes:
        out += ["", *_probe_lines(review, found)]
    out += [
        f"{probe}: no reading from {_local(a, zone)} to {_local(b, zone)}"
        for probe, a, b in judged.gaps
    ]
    if judged.deviation is not None:
        out += ["", f"First deviation: {_local(judged.deviation, zone)}"]
    if judged.verdict != "pass":
        out += ["", f"Do: {review.action}"]
    elif _acted(judged):
        out += ["", f"If missed: {review.action}"]
    if review.notes:
        out += ["", *review.notes]
    out += ["", "A record, not a permission: local code and your regulatory authority decide."]
    return _plain_spaces("\n".join(out))


def _head(limit: Probed) -> str:
    return "Guidance" if of_guidance(limit) else "Limit"


def _house_lines(review: Review) -> list[str]:
    """How a house limit compares with the code, and what the code alone would say."""
    limit = review.judged.limit
    if limit.house is None:
        return []
    lines = [limit.house.compared]
    if limit.law is not None:
        law = limit.law
        words = limit_words(law).removesuffix(".")
        lines.append(f"Code: {words}; {law.source.document}, {law.source.clause}")
    if review.by_code is not None:
        lines.append(f"By the code alone: {review.by_code.verdict}")
    return lines


def _probe_lines(review: Review, found: ProbeFound) -> list[str]:
    zone = review.log.zone
    lines = [f"{found.probe}: {found.verdict}. {found.why}"]
    if found.clock_started is not None:
        lines.append(f"  The clock starts at {_local(found.clock_started, zone)}")
    lines += [_stage_line(stage, found) for stage in found.stages]
    if found.begun_s is not None:
        lines.append(
            f"  Chilling begun: within {duration(found.begun_s)} of the cooking temperature"
        )
    if found.reach is not None and found.reach.most_s is not None:
        took = f"at most {duration(found.reach.most_s)}"
        if found.reach.least_s:
            took += f", at least {duration(found.reach.least_s)}"
        lines.append(f"  From the cold to the limit: {found.reach.verdict}; {took}")
    if found.held_s:
        most = f", at most {duration(found.held_most_s)}" if found.held_most_s else ""
        lines.append(f"  At the row: surely {duration(found.held_s)}{most}")
    return lines + _lethality_line(review, found)


def _stage_line(stage: StageFound, found: ProbeFound) -> str:
    """One stage: its time, and its verdict where the probe has one."""
    figure = stage.stage.figure
    words = both(figure.value, figure.shown_c, figure.shown_f)
    took = "not reached" if stage.most_s is None else f"at most {duration(stage.most_s)}"
    if stage.least_s:
        took += f", at least {duration(stage.least_s)}"
    advised = ", advised" if stage.stage.advised else ""
    verdict = "" if found.verdict == "cannot tell" else f"{stage.verdict}; "
    return f"  {words} within {duration(stage.stage.within_s)}{advised}: {verdict}{took}"


def _lethality_line(review: Review, found: ProbeFound) -> list[str]:
    killed = review.lethality(found.probe)
    if killed is None or round(killed, 2) == 0:
        return []
    figure = plain(Fraction(str(round(killed, 2))), 2)
    return [
        f"  Information only: as much heat as {figure} min at {REFERENCE_C:g} °C (z "
        f"{as_written(f'{Z_C:g}')} °C)"
    ]

"""Critical limits: as JSON and as text."""

from __future__ import annotations

from fractions import Fraction
from typing import Any, assert_never

from generator.answers.dates import (
    date_record,
    eaten_frozen_record,
    last_day_lines,
)
from generator.answers.numbers import basis_record, number, without_none
from generator.answers.shares_and_doses import (
    acidity_record,
    dose_record,
    share_record,
    unprobed_lines,
    verdict_record,
)
from generator.answers.sources import house_record, source_record
from generator.measures.temperature import Degree
from generator.measures.words import breakable, duration, plain
from generator.rules.basics.context import hold_words
from generator.rules.basics.in_words import limit_words, shown
from generator.rules.basics.limit import (
    AcidityLimit,
    CoolingLimit,
    DoseLimit,
    Figure,
    HeatingLimit,
    InWords,
    KeepingLimit,
    Law,
    Limit,
    NotCovered,
    Option,
    Probed,
    ShareLimit,
    Source,
    Stage,
    TimeLimit,
)
from generator.sheet.walk import Walk
from generator.views.limit_view import asked_at, other_scale, source_label


def limits_record(walk: Walk) -> dict[str, Any]:
    """All limits of a formula, one shape per hazard; what doesn't apply is absent."""
    limits = [limit_record(limit) for limit in walk.limits]
    if walk.dates is not None and walk.dates.day is not None and walk.dates.kind == "cold":
        limits.append(date_record(walk.formula.id, walk.dates))
    frozen = eaten_frozen_record(walk)
    record = {"formula": walk.formula.id, "limits": limits}
    return record if frozen is None else {**record, "eaten_frozen": frozen}


def _hold(seconds: Fraction | None) -> dict[str, Any]:
    if seconds is None:
        return {"hold": "none"}
    return {"hold": "timed", "hold_s": number(seconds)} if seconds else {"hold": "instant"}


def limit_record(limit: Limit) -> dict[str, Any]:
    """One limit as JSON: the enacted figure, both shown figures, and what the probe must read."""
    head = {"id": limit.id, "step": limit.step, "hazard": limit.hazard, "bound": limit.bound}
    match limit:
        case NotCovered():
            source = source_record(limit.source)
            return {**head, "covered": False, "note": limit.why, "source": source}
        case DoseLimit():
            return {**head, **dose_record(limit)}
        case ShareLimit():
            return {**head, **share_record(limit)}
        case AcidityLimit():
            return {**head, **acidity_record(limit)}
        case InWords():
            return {**head, **_in_words(limit)}
        case TimeLimit():
            return _measured(limit, {**head, "within_s": number(limit.lasts.most_s)})
        case CoolingLimit():
            return _measured(limit, {**head, **_cooling(limit)}, limit.target)
        case HeatingLimit():
            options = [_option(option) for option in limit.options] or None
            return _measured(limit, {**head, **_heating(limit)}, limit.target, options)
        case KeepingLimit():
            return _measured(limit, {**head, **_keeping(limit)}, limit.target)
        case _:
            assert_never(limit)


def _measured(
    limit: Probed | TimeLimit,
    record: dict[str, Any],
    target: str = "",
    options: list[dict[str, Any]] | None = None,
) -> dict[str, Any]:
    """``record``, which holds the figures, and what is said of all that is measured."""
    record = {
        **record,
        "target": target,
        "verdict": verdict_record(limit.verdict),
        "group": limit.group,
        "because": list(limit.because) or None,
        "options": options,
        "note": limit.note or None,
        "source": source_record(limit.source),
    }
    if limit.house is not None:
        record["house"] = house_record(limit.house)
        record["law"] = _law(limit.law) if limit.law is not None else None
    return without_none({**record, "basis": basis_record(limit.basis)})


def _reading(limit: Probed) -> dict[str, Any]:
    return {**_figure(limit.figure), "page_reads": number(limit.read)}


def _heating(limit: HeatingLimit) -> dict[str, Any]:
    record = {**_reading(limit), **_held(limit)}
    if limit.stand is not None:
        record["stand_s"] = number(limit.stand.row_s)
        if limit.stand.asked_s != limit.stand.row_s:
            record["target_stand_s"] = number(limit.stand.asked_s)
    if limit.reach is not None:
        record["reach"] = {
            "from": _figure(limit.reach.start),
            "within_s": number(limit.reach.within_s),
            "clause": limit.reach.source.clause,
        }
    if limit.measured != "core":
        record["measured"] = limit.measured
    return record


def _held(limit: HeatingLimit | KeepingLimit) -> dict[str, Any]:
    """The row's hold, and the target's where it is longer."""
    record = _hold(limit.row_hold_s)
    if limit.hold_s != limit.row_hold_s:
        record["target_hold_s"] = number(limit.hold_s)
    return record


def _keeping(limit: KeepingLimit) -> dict[str, Any]:
    record = _reading(limit)
    if limit.lasts is not None:
        record["within_s"] = number(limit.lasts.most_s)
    if limit.when:
        record["when"] = limit.when
    if limit.lasts is not None and limit.lasts.never_above is not None:
        record["stay"] = _figure(limit.lasts.never_above)
    if limit.stored is not None:
        record["store_at"] = _figure(limit.stored)
    if limit.hold is not None:
        record.update(_held(limit))
    if limit.measured != "core":
        record["measured"] = limit.measured
    return record


def _cooling(limit: CoolingLimit) -> dict[str, Any]:
    return {
        **_reading(limit),
        "stages": [_stage(stage, limit) for stage in limit.stages],
        "begins_within_s": number(limit.begin_s),
        "before_packed": _figure(limit.finish) if limit.finish is not None else None,
    }


def _law(law: Law) -> dict[str, Any]:
    """The code's own limit where a house limit is in force: its figures, its words and its
    source."""
    record: dict[str, Any] = {"limit": breakable(limit_words(law))}
    match law:
        case HeatingLimit():
            record.update(_figure(law.figure), **_hold(law.row_hold_s))
            if law.stand is not None:
                record["stand_s"] = number(law.stand.row_s)
        case CoolingLimit():
            record.update(_figure(law.figure), stages=[_stage(stage, law) for stage in law.stages])
        case KeepingLimit():
            record.update(_figure(law.figure))
        case InWords():
            record.update(_hold(None) if law.hazard in ("cook", "reheat") else {})
        case _:
            assert_never(law)
    return {**record, "source": source_record(law.source)}


def _in_words(limit: InWords) -> dict[str, Any]:
    """A rule that sets no figure: its words and no value."""
    return without_none(
        {
            "words": limit.words,
            "note": limit.note or None,
            "target": limit.target,
            "verdict": verdict_record(limit.verdict),
            "group": limit.group,
            "source": source_record(limit.source),
            "basis": basis_record(limit.basis),
        }
    )


def _figure(figure: Figure) -> dict[str, Any]:
    return {
        "value": number(figure.value.in_unit(figure.value.unit)),
        "unit": figure.value.unit,
        "shown_c": number(figure.shown_c),
        "shown_f": number(figure.shown_f),
        "read_at_c": number(figure.read_at_c),
        "read_at_f": number(figure.read_at_f),
    }


def _stage(stage: Stage, limit: CoolingLimit) -> dict[str, Any]:
    figure = stage.figure
    record: dict[str, Any] = {}
    if stage.start is not None:
        record["from_c"] = number(stage.start.in_unit("°C"))
        record["from_f"] = number(stage.start.in_unit("°F"))
    record["to_c"] = number(figure.value.in_unit("°C"))
    record["to_f"] = number(figure.value.in_unit("°F"))
    record["within_s"] = number(stage.within_s)
    if stage.after_stage:
        record["counts_from"] = "the stage before"
    if stage.advised:
        record["advised"] = True
    record.update({k: v for k, v in _figure(figure).items() if k not in ("value", "unit")})
    record["clock_from"] = (
        _figure(limit.clock) if limit.clock is not None else f"when {limit.since}"
    )
    record["clause"] = stage.clause
    return record


def _option(option: Option) -> dict[str, Any]:
    return {
        "row": option.row,
        **_figure(option.figure),
        **_hold(option.hold_s),
        "clause": option.clause,
        "group": option.group,
    }


def limits_text(walk: Walk, unit: Degree = "°C") -> str:
    """All limits for the terminal; ``unit`` is the scale the crew reads, reported first."""
    out = [walk.formula.formula.name]
    if not walk.limits:
        out.append("No critical limit applies.")
    for limit in walk.limits:
        out += ["", *limit_block(limit, unit)]
    out += last_day_lines(walk)
    return breakable("\n".join(out))


def limit_block(limit: Limit, unit: Degree) -> list[str]:
    """One limit for the terminal, its step and hazard first."""
    where = f"Step {limit.number}, {limit.verb}" if limit.number else limit.verb
    hazard = limit.hazard.replace("_", " ")
    head = where if hazard == where.lower() else f"{where}: {hazard}"
    return [head, *("  " + line for line in _limit_lines(limit, unit))]


def _in_both(own: Fraction, unit: Degree, other: Fraction) -> str:
    """A figure of the kitchen's scale with the other scale's behind it: "71 °C (160 °F)"."""
    return f"{plain(own)} {unit} ({plain(other)} {other_scale(unit)})"


def _on_the_probe(figure: Figure, unit: Degree) -> str:
    """What the probe must read, in the kitchen's scale first."""
    return _in_both(figure.read_at(unit), unit, figure.read_at(other_scale(unit)))


def _asked(limit: Probed, figure: Figure, unit: Degree) -> str:
    """The chef's figure where the page asks for it because it is stricter than the law on the
    probe, as its box has it in both scales, the kitchen's first; else nothing."""
    own, other = (asked_at(limit, figure, u, unit) for u in (unit, other_scale(unit)))
    least = min if limit.bound == "max" else max
    if least(own, figure.read_at(unit)) == figure.read_at(unit):
        return ""
    return _in_both(own, unit, other)


def _limit_lines(limit: Limit, scale: Degree) -> list[str]:
    match limit:
        case NotCovered():
            return [f"Not covered. {limit.why}"]
        case DoseLimit() | ShareLimit() | AcidityLimit():
            return unprobed_lines(limit, _source_line(limit.source))
        case InWords():
            lines = [limit.words, limit.note, limit.verdict.words]
            lines += [f"Write: {fix}" for fix in limit.verdict.fixes]
            return [*filter(None, lines), _source_line(limit.source)]
        case TimeLimit():
            lasts = limit.lasts
            reported = f"{duration(lasts.most_s, days=False)} at most {lasts.words}"
            more = filter(None, (limit.verdict.words, limit.note))
            return [reported, *more, _source_line(limit.source)]
        case CoolingLimit():
            return [*_cooling_lines(limit, scale), *_last_lines(limit)]
        case HeatingLimit():
            others = _other_rows(limit)
            return [*_reading_lines(limit, scale), *_last_lines(limit, others)]
        case KeepingLimit():
            return [*_reading_lines(limit, scale), *_last_lines(limit)]
        case _:
            assert_never(limit)


def _label(limit: Probed) -> str:
    """Whose the figure is: the code's, an authority's guidance, the kitchen's own."""
    return "house limit" if limit.source.standing == "house" else source_label(limit).lower()


def _sure(limit: Probed) -> str:
    return "To be sure of it" if limit.house is None else "To be sure of the house limit"


def _cooling_lines(limit: CoolingLimit, scale: Degree) -> list[str]:
    """When the clock starts, then each stage with what the probe must read."""
    lines, label = [], _label(limit)
    if limit.clock is None:
        lines.append(f"Clock starts when {limit.since}")
    else:
        if limit.begin_s is not None:
            lines.append(f"Begin chilling within {duration(limit.begin_s)} after cooking")
        reads = _on_the_probe(limit.clock, scale)
        lines.append(f"Clock starts at {shown(limit.clock)}; the probe reads {reads}")
    for stage in limit.stages:
        final = stage is limit.stages[-1] and limit.finish is None
        asked = _asked(limit, stage.figure, scale) if final else ""
        if asked:
            lines.append(f"Page asks for {asked} or colder within {duration(stage.within_s)}")
        lines.append(_stage_line(limit, stage, bool(asked), scale))
    if limit.finish is not None:
        end = limit.finish
        reads = _asked(limit, end, scale) or _on_the_probe(end, scale)
        lines.append(f"Probe must read {reads} or colder before it is packed; {label} {shown(end)}")
    return lines


def _stage_line(limit: CoolingLimit, stage: Stage, sure: bool, scale: Degree) -> str:
    """What the probe must read at the end of a stage; with ``sure`` it is below what the page
    asks for."""
    probe = f"{_sure(limit)} the probe" if sure else "Probe"
    since = " of that" if stage.after_stage else ""
    must, advised = ("should", ", advised") if stage.advised else ("must", "")
    return (
        f"{probe} {must} read {_on_the_probe(stage.figure, scale)} or colder "
        f"within {duration(stage.within_s)}{since}{advised}; "
        f"{_label(limit)} {shown(stage.figure)}, {stage.clause}"
    )


def _reading_lines(limit: HeatingLimit | KeepingLimit, scale: Degree) -> list[str]:
    """What the page asks for, what follows it, then the source's own figure, and what the probe
    must read to be sure of it."""
    word = "or hotter" if limit.bound == "min" else "or colder"
    hold, law = hold_words(limit.hold_s), hold_words(limit.row_hold_s)
    code = f"{shown(limit.figure)}{law}"
    if isinstance(limit, KeepingLimit) and limit.stored is not None:
        hold, law, code = " until solid", "", limit_words(limit)
    what = {"air": "The air", "surface": "The surface"}.get(limit.measured, "Probe")
    reads, asked = _on_the_probe(limit.figure, scale), _asked(limit, limit.figure, scale)
    sures: list[str] = []
    if asked:
        on = " on its surface" if limit.measured == "surface" else ""
        lines = [f"Page asks for {asked} {word}{hold}{on}"]
        the = what.lower() if on else "the probe"
        sures = [f"{_sure(limit)} {the} must read {reads} {word}{law}"]
    else:
        when = limit.when if isinstance(limit, KeepingLimit) else ""
        lines = [f"{what} must read {reads} {word}{hold}{f', {when}' if when else ''}"]
    lines += _then(limit, scale, word)
    return [*lines, f"{_label(limit).capitalize()} {code}; {limit.source.clause}", *sures]


def _then(limit: HeatingLimit | KeepingLimit, scale: Degree, word: str) -> list[str]:
    """What else is asked: how it is stored then, how long it is, how soon it is there, how long
    it lasts."""
    lines: list[str] = []
    match limit:
        case HeatingLimit():
            if limit.stand is not None:
                lines.append(f"Then let it stand, covered, {duration(limit.stand.asked_s)}")
            if limit.reach is not None:
                start, time = limit.reach.start, duration(limit.reach.within_s)
                lines.append(
                    f"From {_on_the_probe(start, scale)} on the probe, there within {time}; "
                    f"{limit.reach.source.clause}"
                )
        case KeepingLimit():
            if limit.stored is not None:
                kept = _on_the_probe(limit.stored, scale)
                lines.append(f"Then stored at {kept} {word}{hold_words(limit.hold_s)}")
            if limit.lasts is not None:
                lines.append(f"{duration(limit.lasts.most_s, days=False)} {limit.lasts.words}")
                lines += _meanwhile(limit.lasts.never_above, scale, _label(limit))
        case _:
            assert_never(limit)
    return lines


def _meanwhile(most: Figure | None, scale: Degree, label: str) -> list[str]:
    if most is None:
        return []
    return [
        f"Meanwhile the probe must never read above {_on_the_probe(most, scale)}; {label} "
        f"{shown(most)}"
    ]


def _other_rows(limit: HeatingLimit) -> str:
    """The other rows that would do; empty if there is none."""
    figure = limit.figure.value
    return "; ".join(
        f"{plain(o.figure.value.in_unit(figure.unit))} {figure.unit}{hold_words(o.hold_s)}"
        for o in limit.options
        if o.figure.value != figure
    )


def _last_lines(limit: Probed, others: str = "") -> list[str]:
    """Why it is asked, what it says of the target, and where it is."""
    lines: list[str] = []
    if limit.because:
        lines.append(f"Because of {', '.join(limit.because)}: {limit.group}")
    if limit.verdict.status != "none":
        lines.extend(filter(None, [limit.verdict.words]))
        lines.extend(f"Write: {fix}" for fix in limit.verdict.fixes)
    if others:
        lines.append(f"Other rows: {others}")
    if limit.note:
        lines.append(limit.note)
    if limit.house is None:
        return [*lines, _source_line(limit.source)]
    lines.append(limit.house.compared)
    if limit.law is not None:
        lines += [f"Code {limit_words(limit.law)}", _source_line(limit.law.source)]
    return lines


def _source_line(source: Source) -> str:
    read = f"; read in {'; '.join(source.read_in)}" if source.read_in else ""
    return f"Source: {source.document}, {source.clause}{read}"

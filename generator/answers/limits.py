"""Critical limits: as JSON and as text."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from generator.answers.dates import date_lines, date_record
from generator.answers.numbers import basis_record, number, without_none
from generator.answers.sources import house_record, source_record
from generator.measures.temperature import SIGN, Degree, Temperature
from generator.measures.words import duration, plain
from generator.rules.basics.context import both, hold_words
from generator.rules.basics.in_words import limit_words
from generator.rules.basics.limit import (
    STRICT_SIDE,
    Acidity,
    Figure,
    Limit,
    Option,
    Source,
    Stage,
    Verdict,
)
from generator.sheet.walk import Walk


def limits_record(walk: Walk) -> dict[str, Any]:
    """All limits of a formula, one shape per hazard; what doesn't apply is absent."""
    limits = [limit_record(limit) for limit in walk.limits]
    if walk.dates is not None and walk.dates.day is not None and walk.dates.kind == "refrigerated":
        limits.append(date_record(walk.formula.id, walk.dates))
    return {"formula": walk.formula.id, "limits": limits}


def _hold(seconds: Fraction | None) -> dict[str, Any]:
    if seconds is None:
        return {"hold": "none"}
    return {"hold": "timed", "hold_s": number(seconds)} if seconds else {"hold": "instant"}


def _verdict(verdict: Verdict) -> dict[str, Any] | None:
    if verdict.status == "none":
        return None
    return {"status": verdict.status, "words": verdict.words, "mends": list(verdict.mends)}


def limit_record(limit: Limit) -> dict[str, Any]:
    """One limit as JSON: the enacted figure, both shown figures, and what the probe must read."""
    record: dict[str, Any] = {
        "id": limit.id,
        "step": limit.step,
        "hazard": limit.hazard,
        "bound": limit.bound,
    }
    if not limit.covered:
        return {
            **record,
            "covered": False,
            "note": limit.note,
            "source": source_record(limit.source),
        }
    if limit.is_dose:
        return {**record, **_additive(limit)}
    if limit.ph is not None:
        return {**record, **_acidity(limit, limit.ph)}
    if limit.words:
        return {**record, **_in_words(limit)}
    if limit.figure is not None:
        record.update(_figure(limit.figure), page_reads=number(limit.read))
    if limit.within_s is not None:
        record["within_s"] = number(limit.within_s)
    if limit.when:
        record["when"] = limit.when
    if limit.stay is not None:
        record["stay"] = _figure(limit.stay)
    if limit.stored is not None:
        record["store_at"] = _figure(limit.stored)
    if limit.hazard in ("cook", "reheat", "parasites"):
        record.update(_hold(limit.row_hold_s))
        if limit.hold_s != limit.row_hold_s:
            record["target_hold_s"] = number(limit.hold_s)
    if limit.row_stand_s is not None:
        record["stand_s"] = number(limit.row_stand_s)
        if limit.stand_s != limit.row_stand_s:
            record["target_stand_s"] = number(limit.stand_s)
    if limit.reach is not None:
        reach = limit.reach
        record["reach"] = {
            "from": _figure(reach.start),
            "within_s": number(reach.within_s),
            "clause": reach.source.clause,
        }
    if limit.stages:
        record["stages"] = [_stage(stage, limit) for stage in limit.stages]
        record["begins_within_s"] = number(limit.begin_s)
        record["before_packed"] = _figure(limit.finish) if limit.finish is not None else None
    if limit.measured != "core":
        record["measured"] = limit.measured
    record["target"] = limit.target
    record["verdict"] = _verdict(limit.verdict)
    record["group"] = limit.group
    record["because"] = list(limit.because) or None
    record["options"] = [_option(option) for option in limit.options] or None
    record["note"] = limit.note or None
    record["source"] = source_record(limit.source)
    if limit.house is not None:
        record["house"] = house_record(limit.house)
        record["law"] = _law(limit.law) if limit.law is not None else None
    record["basis"] = basis_record(limit.basis)
    return without_none(record)


def _law(law: Limit) -> dict[str, Any]:
    """The code's own limit where a house limit is in force: its figures, its words and its source."""
    record: dict[str, Any] = {"limit": limit_words(law).replace("\u00a0", " ")}
    if law.figure is not None:
        record.update(_figure(law.figure))
    if law.hazard in ("cook", "reheat"):
        record.update(_hold(law.row_hold_s))
    if law.row_stand_s is not None:
        record["stand_s"] = number(law.row_stand_s)
    if law.stages:
        record["stages"] = [_stage(stage, law) for stage in law.stages]
    return {**record, "source": source_record(law.source)}


def _in_words(limit: Limit) -> dict[str, Any]:
    """A rule that sets no figure: its words and no value."""
    return without_none(
        {
            "words": limit.words,
            "note": limit.note or None,
            "target": limit.target,
            "verdict": _verdict(limit.verdict),
            "group": limit.group,
            "source": source_record(limit.source),
            "basis": basis_record(limit.basis),
        }
    )


def _additive(limit: Limit) -> dict[str, Any]:
    return without_none(
        {
            "value": number(limit.most_ppm if limit.most_ppm is not None else limit.least_ppm),
            "unit": "ppm",
            "substance": limit.substance,
            "dosed_ppm": number(limit.ppm),
            "least_ppm": number(limit.least_ppm),
            "because": list(limit.because),
            "verdict": _verdict(limit.verdict),
            "source": source_record(limit.source),
            "basis": basis_record(limit.basis),
        }
    )


def _acidity(limit: Limit, ph: Acidity) -> dict[str, Any]:
    return without_none(
        {
            "value": number(ph.law),
            "unit": "pH",
            "below": ph.law_below,
            "read_at": number(ph.read),
            "read_below": ph.read_below,
            "verdict": _verdict(limit.verdict),
            "group": limit.group,
            "note": limit.note or None,
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


def _stage(stage: Stage, limit: Limit) -> dict[str, Any]:
    figure = stage.figure
    record: dict[str, Any] = {}
    if stage.start is not None:
        record["from_c"] = number(stage.start.in_unit("degC"))
        record["from_f"] = number(stage.start.in_unit("degF"))
    record["to_c"] = number(figure.value.in_unit("degC"))
    record["to_f"] = number(figure.value.in_unit("degF"))
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


def limits_text(walk: Walk, unit: Degree = "degC") -> str:
    """All limits for the terminal; ``unit`` is the scale the crew reads, told first."""
    out = [walk.formula.formula.name]
    if not walk.limits:
        out.append("No critical limit applies.")
    for limit in walk.limits:
        out += ["", *limit_block(limit, unit)]
    if walk.dates is not None and walk.dates.day is not None:
        out += [
            "",
            f"Use by: {walk.dates.words}"
            if walk.dates.kind == "refrigerated"
            else f"Keeps {walk.dates.day} days. {walk.dates.words}",
        ]
        out += [f"  {line}" for line in date_lines(walk.dates)]
    return "\n".join(out).replace("\u00a0", " ")


def limit_block(limit: Limit, unit: Degree) -> list[str]:
    """One limit for the terminal, its step and hazard first."""
    where = f"Step {limit.number}, {limit.verb}" if limit.number else limit.verb
    hazard = limit.hazard.replace("_", " ")
    head = where if hazard == where.lower() else f"{where}: {hazard}"
    if not limit.covered:
        return [head, f"  Not covered. {limit.note}"]
    return [head, *("  " + line for line in _limit_lines(limit, unit))]


def _on_the_probe(figure: Figure, unit: Degree) -> str:
    """What the probe must read, in the kitchen's scale first: "71 °C (160 °F)"."""
    other: Degree = "degF" if unit == "degC" else "degC"
    return (
        f"{plain(figure.read_at(unit))} {SIGN[unit]} ({plain(figure.read_at(other))} {SIGN[other]})"
    )


def _asked(limit: Limit, figure: Figure, unit: Degree) -> str:
    """The chef's figure where the page asks for it because it is stricter than the law on the probe,
    the kitchen's scale first; else nothing. The other scale is rounded to the strict side."""
    least = min if limit.bound == "max" else max
    if limit.read is None or least(limit.read, figure.read_at(unit)) == figure.read_at(unit):
        return ""
    other: Degree = "degF" if unit == "degC" else "degC"
    in_other = Temperature.of(limit.read, unit).rounded(other, STRICT_SIDE[limit.bound])
    return f"{plain(limit.read)} {SIGN[unit]} ({plain(in_other)} {SIGN[other]})"


def _limit_lines(limit: Limit, scale: Degree) -> list[str]:
    if limit.ppm is not None:
        bound = limit.most_ppm if limit.most_ppm is not None else limit.least_ppm
        assert bound is not None
        word = "most" if limit.most_ppm is not None else "least"
        return [
            f"At {word} {plain(bound)} ppm of {limit.substance} on the meat block; dosed {plain(limit.ppm, 2)} ppm",
            f"Source: {limit.source.document}; read in {'; '.join(limit.source.read_in)}",
        ]
    if limit.ph is not None:
        return [
            f"Meter must read {limit.ph.read_words()}",
            f"Code {limit.ph.law_words()}; {limit.source.clause}",
            limit.note,
            _source_line(limit.source),
        ]
    if limit.words:
        lines = [limit.words, limit.note, limit.verdict.words]
        lines += [f"Write: {mend}" for mend in limit.verdict.mends]
        return [*filter(None, lines), _source_line(limit.source)]
    figure = limit.figure
    if figure is None:
        assert limit.within_s is not None
        told = f"{duration(limit.within_s, days=False)} at most {limit.within_words}"
        return [told, *filter(None, (limit.verdict.words, limit.note)), _source_line(limit.source)]
    lines = []
    sures: list[str] = []  # behind what the law says: what the probe must read to be sure of it
    word = "or hotter" if limit.bound == "min" else "or colder"
    label = {"guidance": "guidance", "house": "house limit", "ours": "our working rule"}.get(
        limit.source.standing, "code"
    )
    code = both(figure.value, figure.shown_c, figure.shown_f)
    sure = "To be sure of it" if limit.house is None else "To be sure of the house limit"
    if limit.stages:
        if limit.clock is not None:
            clock = limit.clock
            if limit.begin_s is not None:
                lines.append(f"Begin chilling within {duration(limit.begin_s)} after cooking")
            lines.append(
                f"Clock starts at {both(clock.value, clock.shown_c, clock.shown_f)}; the probe reads "
                f"{_on_the_probe(clock, scale)}"
            )
        else:
            lines.append(f"Clock starts when {limit.since}")
        for stage in limit.stages:
            shown = both(stage.figure.value, stage.figure.shown_c, stage.figure.shown_f)
            final = stage is limit.stages[-1] and limit.finish is None
            asked = _asked(limit, stage.figure, scale) if final else ""
            if asked:
                lines.append(f"Page asks for {asked} or colder within {duration(stage.within_s)}")
            lines.append(
                f"{f'{sure} the probe' if asked else 'Probe'} {'should' if stage.advised else 'must'} read "
                f"{_on_the_probe(stage.figure, scale)} or colder "
                f"within {duration(stage.within_s)}{' of that' if stage.after_stage else ''}"
                f"{', advised' if stage.advised else ''}; {label} {shown}, {stage.clause}"
            )
        if limit.finish is not None:
            end = limit.finish
            reads = _asked(limit, end, scale) or _on_the_probe(end, scale)
            shown = both(end.value, end.shown_c, end.shown_f)
            lines.append(f"Probe must read {reads} or colder before it is packed; {label} {shown}")
    else:
        hold = hold_words(limit.hold_s) if limit.stored is None else " until solid"
        asked = _asked(limit, figure, scale)
        what = {"air": "The air", "surface": "The surface"}.get(limit.measured, "Probe")
        if asked:
            on = " on its surface" if limit.measured == "surface" else ""
            lines.append(f"Page asks for {asked} {word}{hold}{on}")
            law = hold_words(limit.row_hold_s) if limit.stored is None else ""
            the = what.lower() if on else "the probe"
            sures.append(f"{sure} {the} must read {_on_the_probe(figure, scale)} {word}{law}")
        else:
            when = f", {limit.when}" if limit.when else ""
            lines.append(f"{what} must read {_on_the_probe(figure, scale)} {word}{hold}{when}")
        if limit.stored is not None:
            kept = _on_the_probe(limit.stored, scale)
            lines.append(f"Then stored at {kept} {word}{hold_words(limit.hold_s)}")
        if limit.stand_s is not None:
            lines.append(f"Then let it stand, covered, {duration(limit.stand_s)}")
        if limit.reach is not None:
            start = _on_the_probe(limit.reach.start, scale)
            lines.append(
                f"From {start} on the probe, there within {duration(limit.reach.within_s)}; "
                f"{limit.reach.source.clause}"
            )
        if limit.within_s is not None:
            lines.append(f"{duration(limit.within_s, days=False)} {limit.within_words}")
        if limit.stay is not None:
            stay = limit.stay
            lines.append(
                f"Meanwhile the probe must never read above {_on_the_probe(stay, scale)}; "
                f"{label} {both(stay.value, stay.shown_c, stay.shown_f)}"
            )
        lines.append(
            f"{label.capitalize()} {code if limit.stored is None else limit_words(limit)}"
            f"{hold_words(limit.row_hold_s) if limit.stored is None else ''}; {limit.source.clause}"
        )
        lines += sures
    if limit.because:
        lines.append(f"Because of {', '.join(limit.because)}: {limit.group}")
    if limit.verdict.status != "none":
        lines.extend(filter(None, [limit.verdict.words]))
        lines.extend(f"Write: {mend}" for mend in limit.verdict.mends)
    others = [o for o in limit.options if o.figure.value != figure.value]
    if others:
        unit = figure.value.unit
        rows = "; ".join(
            f"{plain(o.figure.value.in_unit(unit))} {SIGN[unit]}{hold_words(o.hold_s)}"
            for o in others
        )
        lines.append(f"Other rows: {rows}")
    if limit.note:
        lines.append(limit.note)
    if limit.house is not None:
        lines.append(limit.house.told)
        if limit.law is not None:
            lines.append(f"Code {limit_words(limit.law)}")
            lines.append(_source_line(limit.law.source))
        return lines
    lines.append(_source_line(limit.source))
    return lines


def _source_line(source: Source) -> str:
    read = f"; read in {'; '.join(source.read_in)}" if source.read_in else ""
    return f"Source: {source.document}, {source.clause}{read}"

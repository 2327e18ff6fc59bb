"""The whole sheet as one JSON document."""

from __future__ import annotations

from typing import Any

from generator.answers.batch import batch_data
from generator.answers.cautions import cautions_record
from generator.answers.dates import eaten_frozen_record
from generator.answers.ingredient import confirmed_record
from generator.answers.limits import limits_record
from generator.answers.numbers import number, without_none
from generator.answers.sources import house_record
from generator.files.finding import as_record
from generator.rules.basics.fate import raw_dough
from generator.rules.cures.salting import salting_rows
from generator.sheet.sheet import Batch, Sheet
from generator.sheet.walk import Walk, WalkedStep


def sheet_record(
    sheet: Sheet, batches: tuple[Batch, ...], walks: dict[str, Walk]
) -> dict[str, Any]:
    """A formula's sheet: identity, allergens, batches, steps, limits, dates, each with its
    basis."""
    formula = sheet.formula.formula
    dates = sheet.walk.dates
    return {
        "formula": sheet.id,
        "name": sheet.name,
        "revision": formula.revision,
        "effective": formula.effective.isoformat(),
        "approved": formula.approved or None,
        "status": sheet.status,
        "as_of": sheet.as_of.isoformat(),
        "station": formula.home,
        "stations": list(formula.station),
        "allergens": [str(a) for a in sheet.allergens],
        "confirmed": [confirmed_record(one) for one in sheet.confirmed],
        "tcs": sheet.walk.tcs,
        "ready_to_eat": sheet.walk.end.ready_to_eat
        and not raw_dough(sheet.walk.formula, sheet.walk.end),
        "batches": [batch_data(sheet, batch, walks) for batch in batches],
        "steps": [_step(walked) for walked in sheet.walk.steps],
        "limits": limits_record(sheet.walk)["limits"],
        "dates": without_none(
            {
                "kind": dates.kind,
                "use_by_day": dates.day,
                "law_days": dates.law_day,
                "marked_after_s": number(dates.marked_after_s),
                "house_days": dates.house_day,
                "house": house_record(dates.house) if dates.house is not None else None,
                "chef_days": dates.chef_day,
                "frozen_days": dates.frozen_days,
                "moved_days": dates.moved_days,
                "dated_by_parts": list(dates.parts_to_date) or None,
                "eaten_frozen": eaten_frozen_record(sheet.walk),
                "words": dates.words,
            }
        )
        if dates
        else {},
        "salting": _salting(sheet),
        "findings": [as_record(f) for f in sheet.findings],
        **cautions_record(sheet),
    }


def _step(walked: WalkedStep) -> dict[str, Any]:
    """One step: what comes to it, where it is done, its limits."""
    return without_none(
        {
            "number": walked.step.number,
            "id": walked.step.id,
            "verb": walked.step.verb,
            "takes": list(walked.step.parts),
            **_streams(walked),
            "with": walked.step.step.with_,
            "in": walked.step.step.in_,
            "every_s": number(walked.step.step.every.seconds) if walked.step.step.every else None,
            "humidity": _humidity(walked),
            "temperature": _temperature(walked),
            "limits": [limit.id for limit in walked.limits],
        }
    )


def _streams(walked: WalkedStep) -> dict[str, Any]:
    """What comes from earlier steps and what goes on, in grams at factor 1; what its weight
    becomes, and what stays behind."""
    step, found = walked.step, walked.step.yields
    return {
        "from_steps": [come.number for come in step.comes] or None,
        "gives": step.step.gives,
        "mass_before_g": number(walked.before.mass),
        "mass_after_g": number(walked.after.mass),
        "yield": without_none(
            {
                "mean_pct": number(found.mean * 100),
                "low_pct": number(found.low * 100) if found.varies else None,
                "high_pct": number(found.high * 100) if found.varies else None,
                "tests": found.tests or None,
                "sample_standard_deviation_pct": number(found.spread * 100)
                if found.spread is not None
                else None,
            }
        )
        if found is not None
        else None,
        "leaves": [
            {"name": one.name, "then": one.then, "mass_g": number(one.product.mass)}
            for one in walked.left
        ]
        or None,
    }


def _humidity(walked: WalkedStep) -> str | None:
    """The humidity of a step's air, in words."""
    stated = walked.step.step.humidity
    return str(stated) if stated is not None else None


def _temperature(walked: WalkedStep) -> dict[str, Any] | None:
    """How warm the food is while a step lasts and after it, how that is known, and the seconds it
    has been between cold and hot; None where nothing in it needs the cold."""
    course, stay = walked.course, walked.stay
    if course.state == "none":
        return None
    between = stay.during == "between"
    return without_none(
        {
            "during": stay.during,
            "after": course.state,
            "known": stay.known,
            "between_s": number(course.so_far) if course.spell is not None else None,
            "between_in_all_s": number(course.in_all) if course.in_all else None,
            "not_timed": True if between and stay.seconds is None else None,
        }
    )


def _salting(sheet: Sheet) -> dict[str, Any]:
    """How salty a brined or cured food comes out; empty for any other."""
    salt = sheet.walk.salting
    if salt is None:
        return {}
    low, high = salt.in_water if salt.in_water is not None else (None, None)
    return without_none(
        {
            "step": salt.number,
            "at_balance_pct": number(salt.at_balance * 100)
            if salt.at_balance is not None
            else None,
            "water_phase_low_pct": number(low * 100) if low is not None else None,
            "water_phase_high_pct": number(high * 100) if high is not None else None,
            "salt_g": number(salt.salt_g),
            "water_unknown": list(salt.unknown) or None,
            "salt_not_counted": list(salt.uncounted) or None,
            "basis": dict(salting_rows(sheet.house, salt)),
        }
    )

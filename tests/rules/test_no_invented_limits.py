"""Every figure of law on every sheet is a row of the pack, and nothing else is."""

from __future__ import annotations

import pytest

from generator.reference.row_kinds import (
    CookRow,
    CoolRow,
    DateRow,
    HoldRow,
    ParasitesRow,
    ReceiveRow,
    ReducedOxygenRow,
    ReheatRow,
    ThawRow,
    TimeControlRow,
)
from generator.rules.basics.limit import (
    CoolingLimit,
    DoseLimit,
    HeatingLimit,
    InWords,
    KeepingLimit,
    Limit,
    Probed,
    TimeLimit,
)
from generator.sheet.manual import Manual

ROAST_F = {
    130,
    131,
    133,
    135,
    136,
    138,
    140,
    142,
    144,
    145,
    147,
    149,
    151,
    153,
    155,
    157,
    158,
}
PRINTED_F = {
    "cook": {135, 145, 150, 155, 158, 165} | ROAST_F,
    "cool": {41, 70},
    "hot_hold": {135},
    "cold_hold": {34, 41},
    "reheat": {165},
    "thaw": {41},
    "reduced_oxygen": {34, 41, 135},
    "time_control": {41, 70, 135},
    "parasites": {-31, -4},
}
"""Food Code 2022, 3-401.11 to 3-401.13 with the roast chart of 3-401.11(B), 3-402.11, 3-403.11,
3-501.13, 3-501.14, 3-501.16, 3-501.19, 3-502.12."""


def all_limits(manual: Manual) -> list[Limit]:
    return [limit for walk in manual.walks.values() for limit in walk.limits]


@pytest.fixture(params=["clean", "demo"])
def manual(request: pytest.FixtureRequest) -> Manual:
    return request.getfixturevalue(request.param)  # type: ignore[no-any-return]


def test_every_limit_is_a_row(manual: Manual) -> None:
    """Property: temperatures, holds, stages and days are in the pack as enacted."""
    assert manual.house is not None
    pack = manual.house.pack
    heated = [r for kind in (CookRow, ReheatRow) for _, r in pack.rows_of(kind)]
    frozen = [r for _, r in pack.rows_of(ParasitesRow)]
    packed = [r for _, r in pack.rows_of(ReducedOxygenRow)]
    kept = [r for kind in (HoldRow, ReceiveRow, ThawRow) for _, r in pack.rows_of(kind)]
    values = {(r.hazard, r.value.celsius) for r in (*heated, *frozen, *packed, *kept) if r.value}
    air = [t for r in packed for t in (r.at, r.store_at) if t]
    values |= {(h, t.celsius) for t in air for h in ("reduced_oxygen", "cold_hold")}
    timed = [r for _, r in pack.rows_of(TimeControlRow)]
    values |= {(r.hazard, s.value.celsius) for r in timed for s in (r.start_max, r.start_min) if s}
    values |= {(r.hazard, r.store_at.celsius) for r in frozen if r.store_at}
    holds = {(r.value.celsius, r.hold.seconds) for r in (*heated, *frozen) if r.value and r.hold}
    holds |= {(r.store_at.celsius, r.hold.seconds) for r in frozen if r.store_at and r.hold}
    stages = {(s.to.celsius, s.within.seconds) for _, r in pack.rows_of(CoolRow) for s in r.stages}
    days = {r.days for r in (*packed, *(r for _, r in pack.rows_of(DateRow))) if r.days}
    assert all_limits(manual)
    for limit in all_limits(manual):
        if isinstance(limit, CoolingLimit):
            for stage in limit.stages:
                assert (stage.figure.value.celsius, stage.within_s) in stages, limit.id
        if not isinstance(limit, HeatingLimit | KeepingLimit):
            continue
        assert (limit.hazard, limit.figure.value.celsius) in values, limit.id
        if limit.row_hold_s is not None:
            assert (limit.figure.value.celsius, limit.row_hold_s) in holds, limit.id
    for walk in manual.walks.values():
        if walk.dates is not None and walk.dates.law_day is not None:
            assert walk.dates.law_day in days


def test_no_fahrenheit_limit_the_code_does_not_print(manual: Manual) -> None:
    for limit in all_limits(manual):
        figures = [limit.figure] if isinstance(limit, HeatingLimit | KeepingLimit) else []
        if isinstance(limit, CoolingLimit):
            figures = [stage.figure for stage in limit.stages]
        for figure in figures:
            assert figure.value.unit == "°F"
            assert figure.shown_f in PRINTED_F[limit.hazard], limit.id


def test_what_is_read_is_never_laxer_than_the_law(manual: Manual) -> None:
    """Property: with the probe off by all its accuracy the food still meets the row."""
    assert manual.house is not None
    kitchen = manual.house.kitchen
    off = manual.house.probe.accuracy.in_unit(kitchen.temperature)
    for limit in all_limits(manual):
        if not isinstance(limit, Probed):
            continue
        law = limit.figure.value.in_unit(kitchen.temperature)
        if limit.bound == "min":
            assert limit.read - off >= law, limit.id
        else:
            assert limit.read + off <= law, limit.id
        assert limit.read.denominator == 1, "a probe is read in whole degrees"


def test_a_limit_is_never_called_covered_without_a_figure(manual: Manual) -> None:
    for limit in all_limits(manual):
        match limit:
            case TimeLimit():  # part-cooking by the code; between cold and hot by us, and marked so
                assert limit.source.standing == "ours" or limit.hazard == "part_cook", limit.id
            case DoseLimit():
                assert limit.most_ppm is not None or limit.least_ppm is not None, limit.id
            case InWords():
                assert limit.words, limit.id

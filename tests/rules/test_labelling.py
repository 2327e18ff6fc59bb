"""Date marks of one batch: the earliest day governs, freezing pauses, the unknown is refused."""

from __future__ import annotations

import datetime
import re
from pathlib import Path

import pytest
from conftest import AS_OF, KITCHENS, compute, edit, lay
from hypothesis import given
from hypothesis import strategies as st

from generator.sheet.labelling import (
    Asked,
    DateMark,
    Frozen,
    NoDate,
    PartDay,
    date_mark,
    days_until,
    last_day,
)
from generator.sheet.manual import Manual
from generator.sheet.sheet import Sheet

DAY = datetime.timedelta(days=1)
OFFSETS = st.integers(min_value=0, max_value=40)


def ago(days: int) -> datetime.date:
    return AS_OF - days * DAY


def refused(sheet: Sheet, asked: Asked) -> dict[str, str]:
    """The codes of every reason, with their words."""
    with pytest.raises(NoDate) as found:
        date_mark(sheet, asked, AS_OF)
    reasons = found.value.reasons
    assert all(re.fullmatch(r"label-[a-z-]+", r.code) and r.help for r in reasons)
    return {r.code: f"{r.message} {' '.join(r.write)}".replace("\u00a0", " ") for r in reasons}


def salad(clean: Manual, made: int, rice: int, cream: int) -> DateMark:
    parts = {"cooked-rice": PartDay(ago(rice)), "cream": PartDay(ago(cream))}
    return date_mark(clean.sheets["rice-salad"], Asked(ago(made), parts), AS_OF)


def test_day_one_is_the_day_it_is_made(clean: Manual) -> None:
    """Food Code 3-501.17(A): the day of preparation is day 1; the chef's 5 days are under the law's
    7."""
    mark = date_mark(clean.sheets["pork-bake"], Asked(ago(0)), AS_OF)
    assert (mark.use_by, mark.days, mark.governed_by) == (AS_OF + 4 * DAY, 5, "")
    assert dict(mark.basis.inputs)["Chef"].replace("\u00a0", " ") == "5 days"


def test_the_law_caps_the_chef(tmp_path: Path) -> None:
    kitchen = lay("base", tmp_path / "k")
    edit(kitchen, "formulas/pork-bake.yaml", "keeps: {cold: 5 days}\n", "")
    mark = date_mark(compute(kitchen).sheets["pork-bake"], Asked(AS_OF), AS_OF)
    assert mark.use_by == AS_OF + 6 * DAY


def test_the_earliest_part_governs(clean: Manual) -> None:
    """3-501.17(C): food made with earlier dated food keeps the earliest date. The cream's 7 days end
    tomorrow, the salad's own 3 a day later; of younger cream they end first."""
    mark = salad(clean, made=0, rice=1, cream=5)
    assert (mark.use_by, mark.governed_by, mark.day_one) == (AS_OF + DAY, "Cream", ago(5))
    own = salad(clean, made=0, rice=1, cream=2)
    assert (own.use_by, own.governed_by, own.day_one) == (AS_OF + 2 * DAY, "", ago(0))
    assert salad(clean, made=0, rice=0, cream=0).governed_by == "", "its own day, if all are alike"


def packed(tmp_path: Path) -> Path:
    """The clean kitchen with the rice, too, made and packed by a plant."""
    kitchen = lay("base", tmp_path / "packed")
    edit(
        kitchen,
        "ingredients/all.yaml",
        "cooked-rice:\n",
        "cooked-rice:\n  commercially_packed: yes\n",
    )
    return kitchen


def test_opened_stands_for_every_part_a_plant_packed(tmp_path: Path) -> None:
    sheet = compute(packed(tmp_path)).sheets["rice-salad"]
    whole = date_mark(sheet, Asked(ago(0), opened=ago(5)), AS_OF)
    assert whole.use_by == AS_OF + 1 * DAY
    named = Asked(ago(0), {"cream": PartDay(ago(0))}, opened=ago(5))
    assert date_mark(sheet, named, AS_OF).governed_by == "Cooked rice"


def test_what_no_plant_packed_counts_from_its_preparation(clean: Manual) -> None:
    """3-501.17(A) and (B): the opening counts for a plant's container only; not stated, it isn't
    one."""
    sheet = clean.sheets["rice-salad"]
    found = refused(sheet, Asked(ago(0), opened=ago(1)))
    assert found.keys() == {"label-part-undated"}
    assert "Cooked rice: on which day was it prepared" in found["label-part-undated"]
    mark = date_mark(sheet, Asked(ago(0), {"cooked-rice": PartDay(ago(6))}, opened=ago(1)), AS_OF)
    assert (mark.use_by, mark.governed_by) == (AS_OF, "Cooked rice")


def test_a_made_ahead_part_is_asked_for_by_its_name(demo: Manual) -> None:
    sheet = demo.sheets["barley-soup"]
    words = refused(sheet, Asked(AS_OF))
    assert "Brown turkey stock: on which day was it made?" in words["label-part-undated"]
    assert "--parts-dated brown-turkey-stock=YYYY-MM-DD" in words["label-part-undated"]
    assert "label-part-undated" in refused(sheet, Asked(AS_OF, opened=AS_OF)), (
        "made here, not opened"
    )
    mark = date_mark(sheet, Asked(AS_OF, {"brown-turkey-stock": PartDay(ago(2))}), AS_OF)
    assert (mark.use_by, mark.governed_by) == (AS_OF + 1 * DAY, "Brown turkey stock"), "its 4 days"


def test_every_reason_is_reported_at_once(clean: Manual) -> None:
    parts = {"salt": PartDay(AS_OF), "cream": PartDay(AS_OF + DAY)}
    stay = Frozen(AS_OF, ago(1))
    found = refused(clean.sheets["rice-salad"], Asked(ago(0), parts, frozen=stay))
    assert set(found) == {
        "label-part-unknown",
        "label-part-undated",
        "label-date-future",
        "label-dates-order",
    }
    assert "salt" in found["label-part-unknown"] and "Cooked rice" in found["label-part-undated"]


def test_a_part_is_never_said_to_be_past_by_the_food_s_own_figure(clean: Manual) -> None:
    """The salad keeps 3 days by its chef from the day it is made, its rice 7 by the code: on day 4 of
    the rice neither is past, on day 8 the rice is."""
    sheet = clean.sheets["rice-salad"]
    parts = {"cooked-rice": PartDay(ago(3)), "cream": PartDay(AS_OF)}
    assert date_mark(sheet, Asked(AS_OF, parts), AS_OF).use_by == AS_OF + 2 * DAY
    parts["cooked-rice"] = PartDay(ago(7))
    reported = refused(sheet, Asked(AS_OF, parts))["label-past"]
    assert "Cooked rice" in reported and "24 Nov 2026" in reported


@pytest.mark.parametrize(
    ("asked", "code", "words"),
    [
        (Asked(AS_OF + DAY), "label-date-future", "26 Nov 2026, is in the future"),
        (
            Asked(ago(2), frozen=Frozen(ago(3), ago(1))),
            "label-dates-order",
            "22 Nov 2026, is before day 1",
        ),
        (
            Asked(ago(3), frozen=Frozen(ago(1), ago(2))),
            "label-dates-order",
            "the day it was thawed",
        ),
        (Asked(ago(5)), "label-past", "had to be used by 24 Nov 2026"),
        (
            Asked(ago(30), frozen=Frozen(ago(26), ago(1))),
            "label-past",
            "had to be used by 30 Oct 2026",
        ),
        (Asked(ago(4), frozen=Frozen(ago(0))), "label-past", "no day is left once it is thawed"),
        (Asked(AS_OF, maker_use_by=ago(1)), "label-past", "by its maker"),
        (Asked(AS_OF, {"pork-shoulder": PartDay(AS_OF)}), "label-part-unknown", "pork-shoulder"),
        (Asked(AS_OF, opened=AS_OF), "label-part-unknown", "no bought part"),
    ],
)
def test_days_that_cannot_be_are_refused(
    clean: Manual, asked: Asked, code: str, words: str
) -> None:
    assert words in refused(clean.sheets["pork-bake"], asked)[code]


def test_a_day_before_the_formula_was_in_force_is_refused(tmp_path: Path) -> None:
    kitchen = lay("base", tmp_path / "k")
    edit(kitchen, "formulas/pork-bake.yaml", "effective: ", "effective: 2026-11-24 # ")
    edit(kitchen, "formulas/rice-salad.yaml", "effective: ", "effective: 2026-11-24 # ")
    sheets = compute(kitchen).sheets
    reported = refused(sheets["pork-bake"], Asked(ago(2)))
    assert reported == {
        "label-before-in-force": "Pork bake: made on 23 Nov 2026, and its formula is in force "
        "from 24 Nov 2026. "
    }
    assert date_mark(sheets["pork-bake"], Asked(ago(1)), AS_OF).use_by == ago(1) + 4 * DAY


def test_a_part_made_ahead_is_of_a_formula_in_force(demo: Manual) -> None:
    """Its own formula's first day counts, not that of the food made with it."""
    parts = {s.id: s.walk.dates.dated_parts for s in demo.sheets.values() if s.walk.dates}
    sheet = demo.sheets[
        next(i for i, dated in parts.items() if any(p.how == "made" for p in dated))
    ]
    days = {part.item: PartDay(ago(1)) for part in parts[sheet.id]}
    since = {part.item: AS_OF for part in parts[sheet.id] if part.how == "made"}
    with pytest.raises(NoDate) as found:
        date_mark(sheet, Asked(AS_OF, days), AS_OF, since)
    assert {r.code for r in found.value.reasons} == {"label-before-in-force"}


def test_a_part_after_the_food_is_refused(clean: Manual) -> None:
    parts = {"cooked-rice": PartDay(AS_OF), "cream": PartDay(ago(3), Frozen(ago(2)))}
    found = refused(clean.sheets["rice-salad"], Asked(ago(1), parts))
    assert "Cream: on which day was it thawed?" in found["label-dates-order"]
    parts["cream"] = PartDay(ago(3))
    found = refused(clean.sheets["rice-salad"], Asked(ago(1), parts))
    assert "is after the food was made with it" in found["label-dates-order"]


def test_a_frozen_label_says_what_is_left(demo: Manual) -> None:
    """Two of three days are used: the day it was made and the day it went into the freezer."""
    stock = {"brown-turkey-stock": PartDay(ago(1))}
    mark = date_mark(demo.sheets["barley-soup"], Asked(ago(1), stock, frozen=Frozen(AS_OF)), AS_OF)
    assert (mark.use_by, mark.used, mark.left) == (None, 2, 1)
    assert mark.thaw_by == AS_OF + 60 * DAY, "the chef's 60 days in the freezer"
    asked = Asked(ago(80), {"brown-turkey-stock": PartDay(ago(80))}, frozen=Frozen(ago(79), ago(1)))
    assert (
        "78 days; the chef's figure is 60"
        in refused(demo.sheets["barley-soup"], asked)["label-freezing"]
    )


def test_a_part_that_was_frozen_itself(demo: Manual) -> None:
    """Stock of 10 Nov, frozen that day, thawed yesterday: today is its third counted day of four."""
    stock = PartDay(ago(15), Frozen(ago(15), ago(1)))
    mark = date_mark(demo.sheets["barley-soup"], Asked(AS_OF, {"brown-turkey-stock": stock}), AS_OF)
    assert (mark.use_by, mark.governed_by) == (AS_OF + DAY, "Brown turkey stock")


def test_a_stay_in_the_freezer_is_reported_with_its_clause_whoever_was_frozen(demo: Manual) -> None:
    """3-501.18(A)(1): the time that the product is frozen doesn't count; reported only where it
    counts."""
    soup, stock = demo.sheets["barley-soup"], "brown-turkey-stock"
    for part, own, reported in (
        (Frozen(ago(15), ago(1)), None, True),
        (None, Frozen(ago(4), ago(1)), True),
        (None, None, False),
    ):
        first = ago(15) if part else ago(4) if own else AS_OF
        asked = Asked(AS_OF if own is None else ago(4), {stock: PartDay(first, part)}, frozen=own)
        rule = date_mark(soup, asked, AS_OF).basis.rule
        assert ("wholly in the freezer" in rule, "3-501.18" in rule) == (reported, reported)


def test_the_days_before_the_freezer_and_in_it_are_counted_to_the_last(demo: Manual) -> None:
    """Three days, sixty frozen: frozen on day 2 one is left, on day 3 none; in the freezer on the
    60th day it may still be thawed, on the 61st no more. Both days of a stay count, those between
    don't."""
    soup = demo.sheets["barley-soup"]

    def asked(made: int, since: int, thawed: int | None = None) -> Asked:
        stay = Frozen(ago(since), ago(thawed) if thawed is not None else None)
        return Asked(ago(made), {"brown-turkey-stock": PartDay(ago(made))}, frozen=stay)

    mark = date_mark(soup, asked(61, 60), AS_OF)
    assert (mark.used, mark.left, mark.thaw_by, mark.use_by) == (2, 1, AS_OF, None)
    assert "had to be thawed by" in refused(soup, asked(62, 61))["label-past"]
    assert "no day is left" in refused(soup, asked(2, 0))["label-past"]
    assert date_mark(soup, asked(61, 60, 0), AS_OF).use_by == AS_OF  # 60 days there, day 3 today
    assert "61 days" in refused(soup, asked(62, 61, 0))["label-freezing"]
    mark = date_mark(soup, asked(50, 50, 1), AS_OF)
    assert (mark.use_by, mark.used, mark.left) == (AS_OF, 1, 2)
    assert "label-past" in refused(soup, asked(50, 50, 2))
    assert "label-date-future" in refused(soup, asked(1, -1))
    assert "label-dates-order" in refused(soup, asked(1, 2))
    assert "label-dates-order" in refused(soup, asked(5, 2, 3))


def test_days_counted_by_hand() -> None:
    """The first and the last day count, and each a stay in the freezer begins or ends on."""
    first = datetime.date(2026, 3, 1)
    assert days_until(first, first, ()) == 1 and days_until(first, first + 6 * DAY, ()) == 7
    stay = Frozen(first + 2 * DAY, first + 10 * DAY)
    counted = {0: 1, 2: 3, 3: 3, 9: 3, 10: 4, 11: 5}
    for after, days in counted.items():
        assert days_until(first, first + after * DAY, (stay,)) == days
    assert days_until(first, first + 30 * DAY, (Frozen(first + DAY),)) == 2  # there still
    overnight = Frozen(first, first + DAY)
    assert days_until(first, first + DAY, (overnight,)) == 2  # never wholly there
    early = Frozen(first - 5 * DAY, first + 2 * DAY)
    assert days_until(first, first + 2 * DAY, (early,)) == 1
    assert last_day(first, 7, ()) == first + 6 * DAY
    assert last_day(first, 4, (stay,)) == first + 10 * DAY
    assert last_day(first, 3, (stay,)) == first + 2 * DAY


def test_what_is_not_kept_has_no_label(demo: Manual) -> None:
    assert "label-not-kept" in refused(demo.sheets["roast-chicken"], Asked(AS_OF))
    assert "label-not-kept" in refused(demo.sheets["raw-yolk-dressing"], Asked(AS_OF))


def test_a_dry_formula_keeps_the_chefs_days(demo: Manual) -> None:
    mark = date_mark(demo.sheets["flume-pepper"], Asked(AS_OF), AS_OF)
    assert (mark.kind, mark.use_by) == ("dry", AS_OF + 59 * DAY)


def test_england_has_no_number_of_its_own() -> None:
    """The shelf life is the business's own figure: the chef's days, and nothing of ours."""
    manual = compute(KITCHENS / "second_kitchen")
    sheets = [
        s
        for s in manual.sheets.values()
        if s.walk.dates is not None and s.walk.dates.kind == "cold"
    ]
    assert sheets and all(s.walk.dates is not None and s.walk.dates.law_day is None for s in sheets)
    for sheet in sheets:
        dates = sheet.walk.dates
        assert dates is not None and dates.chef_day is not None
        parts = {p.item: PartDay(AS_OF) for p in dates.dated_parts}
        mark = date_mark(sheet, Asked(AS_OF, parts), AS_OF)
        assert mark.use_by == AS_OF + (dates.chef_day - 1) * DAY
        assert "Code" not in dict(mark.basis.inputs)
        if dates.frozen_days is None:
            frozen = Asked(ago(1), {i: PartDay(ago(1)) for i in parts}, frozen=Frozen(AS_OF))
            assert "label-freezing" in refused(sheet, frozen)


@given(OFFSETS, OFFSETS, OFFSETS)
def test_an_older_part_never_makes_it_later(
    clean: Manual, made: int, rice: int, older: int
) -> None:
    """Whatever the days: making a part older never moves the last day back, nor un-refuses it."""
    rice, made = rice + made, made

    def use_by(rice_age: int) -> datetime.date | None:
        try:
            return salad(clean, made, rice_age, made).use_by
        except NoDate:
            return None

    before, after = use_by(rice), use_by(rice + older)
    assert after is None or (before is not None and after <= before)


@given(st.integers(1, 30), OFFSETS, st.integers(0, 400))
def test_freezing_only_pauses(days: int, before: int, frozen: int) -> None:
    """The days out of the freezer are never more than allowed, and none is lost to it."""
    start = datetime.date(2026, 1, 1)
    stay = Frozen(start + before * DAY, start + (before + frozen) * DAY)
    last = last_day(start, days, (stay,))
    unfrozen = [
        d
        for d in (start + i * DAY for i in range((last - start).days + 1))
        if not stay.since < d < (stay.thawed or d)
    ]
    assert len(unfrozen) == days == days_until(start, last, (stay,))
    assert last == unfrozen[-1]
    assert last >= last_day(start, days, ()), "it never shortens"

"""What is made with a part made ahead keeps no longer than the part does, by the law or by the
chef's own shorter figure."""

from __future__ import annotations

import datetime
import itertools
from pathlib import Path

import pytest
from conftest import compute
from honest_kitchens import lay_out

from generator.sheet.labelling import Asked, Frozen, NoDate, PartDay, date_mark
from generator.sheet.manual import Manual
from generator.views.store_view import why_rows

CUSTARD = """\
  - do: simmer
    add: [b]
    target: core 85 °C
  - do: chill
    in: blast
    target: to 4 °C
  - do: store
    in: walk-in
"""
MIXED = "  - do: mix\n    add: [a, b]\n    time: 10 min\n  - do: store\n    in: walk-in\n"


def trifle(project: Path, custard: str, dish: str, process: str = MIXED) -> Manual:
    parts = {"a": {"cream": "5 kg"}, "b": {"custard": "60 %"}}
    made = {
        "parts": {"b": {"milk": "1 kg", "egg": "30 %"}},
        "formula": f"keeps: {{cold: {custard}}}\n" if custard else "",
        "process": CUSTARD,
    }
    kept = f"keeps: {{cold: {dish}}}\n" if dish else ""
    spec = {"also": {"custard": made}, "parts": parts, "formula": kept, "process": process}
    found = compute(lay_out(project, spec))
    assert isinstance(found, Manual)
    return found


@pytest.mark.parametrize(
    ("custard", "dish", "day", "code"),
    [
        ("2 days", "5 days", 2, "keeps-beyond-part"),
        ("2 days", "", 2, ""),  # the law's seven days, cut by the part's
        ("2 days", "2 days", 2, ""),
        ("5 days", "2 days", 2, ""),
        ("", "3 days", 3, ""),
        ("1 day", "7 days", 1, "keeps-beyond-part"),
    ],
)
def test_the_shortest_figure_of_all_governs(
    custard: str, dish: str, day: int, code: str, tmp_path: Path
) -> None:
    found = trifle(tmp_path, custard, dish)
    assert [f.code for f in found.findings] == ([code] if code else [])
    dates = found.walks["dish"].dates
    assert dates is not None and dates.day == day
    if code:
        assert "as long as Custard in it keeps" in dates.words
        keeps = "1\u00a0day" if day == 1 else "2\u00a0days"
        assert ("Part", f"Custard keeps {keeps}") in [
            (head, words.replace("\u202f", "\u00a0")) for head, words in why_rows(dates)
        ]


def test_beyond_the_law_is_said_once(tmp_path: Path) -> None:
    assert [f.code for f in trifle(tmp_path, "2 days", "9 days").findings] == ["keeps-beyond-law"]


def test_it_goes_on_through_two_formulas(tmp_path: Path) -> None:
    """Of a part in a part, whose own formula says nothing."""
    parts = {"a": {"cream": "5 kg"}, "b": {"layer": "60 %"}}
    custard = {
        "parts": {"b": {"milk": "1 kg", "egg": "30 %"}},
        "formula": "keeps: {cold: 3 days}\n",
        "process": CUSTARD,
    }
    layer = {
        "parts": {"a": {"cream": "1 kg"}, "b": {"custard": "1 kg"}},
        "formula": "",
        "process": MIXED,
    }
    spec = {
        "also": {"custard": custard, "layer": layer},
        "parts": parts,
        "formula": "",
        "process": MIXED,
    }
    found = compute(lay_out(tmp_path, spec))
    dates = found.walks["dish"].dates
    assert dates is not None and dates.day == 3


def test_cooked_again_it_keeps_no_longer(tmp_path: Path) -> None:
    again = MIXED.replace(
        "  - do: store\n",
        "  - do: simmer\n    target: core 85 °C\n  - do: chill\n    in: blast\n"
        "    target: to 4 °C\n  - do: store\n",
    )
    dates = trifle(tmp_path, "2 days", "", again).walks["dish"].dates
    assert dates is not None and dates.day == 2


def test_a_label_counts_each_part_from_its_own_day(tmp_path: Path) -> None:
    """Custard of 2 days made yesterday: today is its last. Cream opened earlier has the law's seven
    days, not the dish's five: those count from the day the dish is made."""
    sheet = trifle(tmp_path, "2 days", "5 days").sheets["dish"]
    today = datetime.date(2026, 11, 30)

    def last(custard: int, cream: int) -> tuple[datetime.date | None, str, int]:
        parts = {
            "custard": PartDay(today - datetime.timedelta(days=custard)),
            "cream": PartDay(today - datetime.timedelta(days=cream)),
        }
        mark = date_mark(sheet, Asked(today, parts=parts), today)
        return mark.use_by, mark.governed_by, mark.days

    assert last(1, 0) == (today, "Custard", 2)
    assert last(0, 0) == (today + datetime.timedelta(days=1), "Custard", 2)
    assert last(0, 4) == (today + datetime.timedelta(days=1), "Custard", 2)
    assert last(0, 6) == (today, "Cream", 7)


def test_the_days_of_a_dish_count_from_its_own_day(tmp_path: Path) -> None:
    """Every custard and trifle of 1 to 7 days, the custard and the cream up to six days older, one of
    them frozen on the way: the label's last day is that on which the first of the three marks is
    over, each looked for day by day. Food Code 3-501.17(A), (C), 3-501.18(A)(1)."""
    today = datetime.date(2026, 11, 30)
    for custard_days, dish_days in ((7, 2), (3, 5), (5, 3), (2, 2), (7, 7)):
        kitchen = tmp_path / f"{custard_days}-{dish_days}"
        kitchen.mkdir()
        dish = trifle(kitchen, f"{custard_days} days", f"{dish_days} days").sheets["dish"]
        for custard, cream, frozen in itertools.product(range(7), range(7), (False, True)):
            stay = {today - n * ONE for n in range(1, custard)} if frozen and custard > 1 else set()
            asked = Asked(
                today,
                parts={
                    "custard": PartDay(
                        today - custard * ONE,
                        Frozen(today - custard * ONE, today) if stay else None,
                    ),
                    "cream": PartDay(today - cream * ONE),
                },
            )
            marks = [
                (today, dish_days, set()),
                (today - custard * ONE, custard_days, stay),
                (today - cream * ONE, 7, set()),
            ]
            expected = min(last_by_hand(*mark) for mark in marks)
            try:
                found = date_mark(dish, asked, today).use_by
            except NoDate:
                found = None
            assert found == (expected if expected >= today else None), (asked, dish_days)


ONE = datetime.timedelta(days=1)


def last_by_hand(
    first: datetime.date, days: int, in_the_freezer: set[datetime.date]
) -> datetime.date:
    """The last day of a mark, looked for day by day."""
    day, used = first, 1
    while used < days:
        day += ONE
        used += day not in in_the_freezer
    return day

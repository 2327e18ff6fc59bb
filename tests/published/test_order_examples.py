"""Published examples of net requirements and of par stock, made as kitchens and ordered."""

from __future__ import annotations

import datetime
from fractions import Fraction
from pathlib import Path

import pytest
from planned_kitchens import formula, manual_for, ordered, planned_kitchen

DUE = datetime.datetime(2026, 12, 14, 8, 0)
POUND = Fraction(45359237, 100000)

# A product structure with lead times and stock, as set in textbooks of operations management and asked at
# tutorsglobe.com/question/material-requirements-plan-using-on-hand-inventory-51864835.aspx (read 2026-11-30):
# 100 S are needed in week 7; S is 1 T and 2 U; T is 1 V, 2 W, 1 X; U is 2 Y and 3 Z. The page gives no
# solution: the net requirements and releases below are worked by hand, level by level. A unit of V to Z is
# 10 g here, so T weighs 40 g, U 50 g and S 140 g; a week is a day.
STRUCTURE = {
    "s": formula({"t": "40 g", "u": "100 g"}, "[1 portion]", "{portion: 140 g}", "2 days"),
    "t": formula(
        {"v": "10 g", "w": "20 g", "x": "10 g"}, "[1 portion]", "{portion: 40 g}", "1 day"
    ),
    "u": formula({"y": "20 g", "z": "30 g"}, "[1 portion]", "{portion: 50 g}", "2 days"),
}
ON_HAND = {"s": 20, "t": 20, "u": 40, "v": 30, "w": 30, "x": 25, "y": 240, "z": 40}
NET = {"s": 80, "t": 60, "u": 120, "v": 30, "w": 90, "x": 35, "y": 0, "z": 320}
RELEASED = {"s": 2, "t": 3, "u": 4}
"""How many weeks before it is due the making of each is released."""


def test_net_requirements_of_a_textbook_structure(tmp_path: Path) -> None:
    shelf = "".join(
        f"  - {{item: {item}, amount: {many} portions, made: 2026-11-28}}\n"
        if item in STRUCTURE
        else f"  - {{item: {item}, amount: {many * 10} g}}\n"
        for item, many in ON_HAND.items()
    )
    plan = (
        f"name: Week 7\nday: {DUE.date()}\nat: 8:00\ndishes:\n"
        f"  - {{dish: s, amount: 100 portions}}\non_shelf:\n{shelf}"
    )
    packs = dict.fromkeys("vwxyz", "10 g")
    manual = manual_for(planned_kitchen(tmp_path / "k", STRUCTURE, {"week": plan}, packs))
    order = ordered(manual, "week")
    made = {run.sheet.id: sum(n for _, n in run.made) for run in order.runs}
    bought = {one.item: sum(n for _, n in one.packs or ()) for one in order.shopping}
    assert made | bought == NET
    assert all(one.left == 0 for one in order.shopping)
    assert {run.sheet.id: (DUE - run.start).days for run in order.runs} == RELEASED
    assert not order.problems
    print("net requirements", made | bought)


# sodexhoinfo-usa.com/foodprocess/Htm/Lesson3/2400Pop3.htm (read 2026-11-30): product A is ordered 2 days in
# advance, 3 days lie between deliveries, 10 lb are used a day, 28 lb are on hand. The par is what is used until
# the next delivery, and what is on hand is deducted: 10 × (2 + 3) − 28 = 22 lb.
@pytest.mark.parametrize(
    ("on_hand", "missing", "packs"), [(28, 22, 5), (50, 0, 0), (80, 0, 0), (1, 49, 10)]
)
def test_par_stock_of_a_caterers_course(
    tmp_path: Path, on_hand: int, missing: int, packs: int
) -> None:
    used = {"a": formula({"v": "10 lb"}, "[10 lb yield]")}
    days = [datetime.date(2026, 12, 7) + datetime.timedelta(n) for n in range(5)]
    dishes = "".join(f"  - {{dish: a, amount: 10 lb yield, day: {day}}}\n" for day in days)
    plan = (
        f"name: Par\nat: 18:00\ndishes:\n{dishes}on_shelf:\n  - {{item: v, amount: {on_hand} lb}}\n"
    )
    manual = manual_for(planned_kitchen(tmp_path / "k", used, {"par": plan}, {"v": "5 lb"}))
    order = ordered(manual, "par")
    (bought,) = order.shopping
    assert bought.needs == 50 * POUND
    assert bought.missing == missing * POUND
    assert sum(n for _, n in bought.packs or ()) == packs
    (shelf,) = order.shelf
    assert shelf.left == (on_hand - (50 - missing)) * POUND

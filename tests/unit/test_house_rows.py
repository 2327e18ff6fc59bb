"""House limits ordered against the code's rows, and two of them joined: by hand, at every edge."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from each_row import each_row

from generator.measures.temperature import Temperature
from generator.measures.times import read_time
from generator.records.house_limit import HouseFigure, read_house_figure
from generator.reference.row_kinds import CookRow
from generator.rules.house.house_rows import (
    LawRows,
    Order,
    _needless,
    in_words,
    joined_figures,
    order,
    pruned,
)

BASE = CookRow.model_construct(clause="the clause")
HOUR = Fraction(3600)


def f(value: int) -> Temperature:
    return Temperature.of(value, "°F")


def figures(*texts: str) -> tuple[HouseFigure, ...]:
    return tuple(read_house_figure(text) for text in texts)


CORE = LawRows(
    BASE,
    (),
    "min",
    pairs=((f(155), Fraction(17)), (f(150), Fraction(60)), (f(145), Fraction(180))),
)
"""Food Code 3-401.11(A)(2)."""
HOT = LawRows(BASE, (), "min", value=f(135))
COLD = LawRows(BASE, (), "max", value=f(41))
COOL = LawRows(BASE, (), clock=f(135), stages=((f(70), 2 * HOUR, False), (f(41), 6 * HOUR, False)))
DAYS = LawRows(BASE, (), days=7)


@each_row(
    ("texts", "law", "expected"),
    [
        (("core 155 °F for 17 s", "core 150 °F for 1 min", "core 145 °F for 3 min"), CORE, "same"),
        (("core 155 °F for 17 s",), CORE, "stricter"),  # one of three ways is left
        (("core 156 °F for 16 s",), CORE, "looser"),  # hotter but shorter can't be ordered
        (("core 154 °F for 60 s",), CORE, "stricter"),
        (("core 154 °F for 59 s",), CORE, "looser"),
        (("core 145 °F for 180 s",), CORE, "stricter"),
        (("core 145 °F for 179 s",), CORE, "looser"),
        (("core 144 °F for 1 h",), CORE, "looser"),
        (("core 155 °F for 17 s", "core 144 °F for 1 h"), CORE, "looser"),  # every way must do
        (("at 135 °F",), HOT, "same"),
        (("at 136 °F",), HOT, "stricter"),
        (("at 134 °F",), HOT, "looser"),
        (("at 41 °F",), COLD, "same"),
        (("at 40 °F",), COLD, "stricter"),
        (("at 42 °F",), COLD, "looser"),
        (("at 40 °F", "at 42 °F"), COLD, "looser"),
        (("at 40 °F", "at 41 °F"), COLD, "same"),
        (("7 days",), DAYS, "same"),
        (("6 days",), DAYS, "stricter"),
        (("8 days",), DAYS, "looser"),
        (("8 days", "6 days"), DAYS, "stricter"),  # the fewest count
        (("90 days",), replace(DAYS, days=None), "stricter"),  # where the code has no figure any is
        (("from 135 °F to 70 °F within 2 h", "to 41 °F within 6 h"), COOL, "same"),
        (("to 70 °F within 2 h", "to 41 °F within 6 h"), COOL, "same"),
        (("from 140 °F to 70 °F within 2 h", "to 41 °F within 6 h"), COOL, "stricter"),
        (("from 134 °F to 70 °F within 2 h", "to 41 °F within 6 h"), COOL, "looser"),
        (("to 41 °F within 2 h",), COOL, "stricter"),
        (("to 41 °F within 2.01 h",), COOL, "looser"),
        (("to 70 °F within 2 h",), COOL, "looser"),
        (("to 71 °F within 2 h", "to 41 °F within 6 h"), COOL, "looser"),
        (("to 70 °F within 2 h", "to 41 °F within 361 min"), COOL, "looser"),
        (("to 70 °F within 2 h", "to 42 °F within 6 h"), COOL, "looser"),
        (("from 60 °F to 41 °F within 2 h",), replace(COOL, clock=None), "stricter"),
    ],
)
def test_a_house_limit_is_stricter_the_same_or_looser(
    texts: tuple[str, ...], law: LawRows, expected: Order
) -> None:
    assert order(figures(*texts), law) == expected


def test_a_stage_with_a_time_of_its_own_is_never_called_the_same() -> None:
    """The same figures from the start are stricter than from the stage before."""
    own = replace(COOL, stages=((f(70), 2 * HOUR, False), (f(41), 6 * HOUR, True)))
    assert order(figures("to 70 °F within 2 h", "to 41 °F within 6 h"), own) == "stricter"


@each_row(
    ("one", "other", "joined"),
    [
        (("core 155 °F for 17 s",), ("core 150 °F for 1 min",), ("core 155 °F for 60 s",)),
        (("core 155 °F for 17 s",), ("core 160 °F for 0 s",), ("core 160 °F for 17 s",)),
        (
            ("core 155 °F for 17 s", "core 145 °F for 3 min"),
            ("core 150 °F for 1 min",),
            ("core 150 °F for 180 s", "core 155 °F for 60 s"),
        ),
        (("at 40 °F",), ("at 39 °F",), ("at 39 °F",)),
        (("at 39 °F",), ("at 40 °F",), ("at 39 °F",)),
        (("6 days",), ("5 days",), ("5 days",)),
        (("5 days",), ("6 days",), ("5 days",)),
        (("to 41 °F within 4 h",), ("to 41 °F within 3 h",), ("to 41 °F within 3 h",)),
        (("to 41 °F within 3 h",), ("to 41 °F within 4 h",), ("to 41 °F within 3 h",)),
        (("to 41 °F within 3 h",), ("to 40 °F within 4 h",), None),  # neither is the stricter
    ],
)
def test_two_house_limits_are_met_at_once(
    one: tuple[str, ...], other: tuple[str, ...], joined: tuple[str, ...] | None
) -> None:
    law = {"core": CORE, "at": COLD, "days": DAYS, "cool": COOL}[figures(*one)[0].kind]
    found = joined_figures(figures(*one), figures(*other), law)
    reported = (
        None
        if found is None
        else {
            (f.kind, f.temperature and f.temperature.celsius, f.hold_s, f.within_s, f.days)
            for f in found
        }
    )
    asked = (
        None
        if joined is None
        else {
            (f.kind, f.temperature and f.temperature.celsius, f.hold_s, f.within_s, f.days)
            for f in figures(*joined)
        }
    )
    assert reported == asked


def test_a_core_figure_another_makes_needless_is_left_out() -> None:
    kept = pruned(figures("core 160 °F for 17 s", "core 155 °F for 17 s", "core 150 °F for 60 s"))
    assert [(f.temperature and f.temperature.in_unit("°F"), f.hold_s) for f in kept] == [
        (150, 60),
        (155, 17),
    ]


@each_row(
    ("house", "needless"),
    [
        ("core 155 °F for 17 s", True),  # the same: the code's row says no more
        ("core 155 °F for 16 s", True),
        ("core 155 °F for 18 s", False),
        ("core 154 °F for 17 s", True),
        ("core 156 °F for 17 s", False),
    ],
)
def test_a_row_of_the_code_is_needless_beside_what_is_met_with_it(
    house: str, needless: bool
) -> None:
    """155 °F for 17 s meets a limit that is neither hotter nor longer."""
    row = CookRow.model_construct(value=f(155), hold=read_time("17 s"))
    assert _needless(row, figures(house)) is needless


def test_the_codes_rows_in_words() -> None:
    said = {
        in_words(law).replace("\u00a0", " ")
        for law in (CORE, HOT, COLD, DAYS, replace(DAYS, days=None))
    }
    assert "7 days; the clause" in said and "no figure; the clause" in said
    assert any(s.startswith("135 °F") and "or hotter" in s for s in said)
    assert any(s.startswith("41 °F") and "or colder" in s for s in said)

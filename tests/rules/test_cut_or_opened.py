"""Food that needs control only since it was cut or opened, held by time: Food Code 3-501.19(B)
since 2017 (read in Georgia 511-6-1-.04(6)(i)2(ii)). Each fact that fails leaves the start at 41
°F."""

from __future__ import annotations

from pathlib import Path

import pytest
from conftest import compute, edit

from generator.answers.limits import limits_text
from generator.rules.basics.limit import KeepingLimit
from generator.views.limit_view import limit_view

ALL, TOSS, SALAD = "ingredients/all.yaml", "processes/toss.yaml", "formulas/rice-salad.yaml"
HOLD = "  - do: hold-by-time\n    procedure: Board 1\n    at: 20 °C\n    time: {time}\n"


def laid(kitchen: Path, items: str, parts: str, steps: str, time: str = "3 h") -> Path:
    edit(kitchen, ALL, "cooked-rice:\n", items + "cooked-rice:\n")
    edit(
        kitchen,
        TOSS,
        "  - do: toss\n    add: [rice, dressing]\n  - do: chill\n    in: cold-room\n"
        "    target: to 4 °C\n",
        steps + HOLD.format(time=time),
    )
    edit(kitchen, SALAD, "    cooked-rice: 2 kg\n", parts)
    edit(kitchen, SALAD, "    cream: 200 ml\n", "")
    edit(kitchen, SALAD, "keeps: {cold: 3 days}\n", "")
    return kitchen


def item(ident: str, more: str = "  tcs: no\n", species: str = "none") -> str:
    return (
        f"{ident}:\n  name: {ident.capitalize()}\n  species: {species}\n  allergens: none\n{more}"
    )


CAN = "  state: ready-to-eat\n  arrives: ambient\n  sealed: yes\n"
CUT = "  - do: cut\n    add: [rice, dressing]\n    time: 15 min\n"
MIX = "  - do: mix\n    add: [rice, dressing]\n    time: 15 min\n"
CUT_FOR_AN_HOUR, MIX_FOR_AN_HOUR = (step.replace("15 min", "1 h") for step in (CUT, MIX))
UNTIMED = "  - do: mix\n    add: [rice, dressing]\n"


@pytest.mark.parametrize(
    ("items", "parts", "steps", "time", "start"),
    [
        (item("melon"), "    melon: 2 kg\n", CUT, "3 h 45 min", 70),
        (item("melon"), "    melon: 2 kg\n", CUT, "3 h 46 min", 41),
        (item("melon"), "    melon: {amount: 2 kg, prepare: diced}\n", MIX, "3 h 45 min", 70),
        (item("beans", CAN), "    beans: 2 kg\n", MIX, "3 h 45 min", 70),
        (
            item("beans", CAN) + item("tomato"),
            "    beans: 1 kg\n    tomato: 1 kg\n",
            CUT,
            "3 h",
            70,
        ),
        # an hour before the cutting doesn't count, one after it does
        (
            item("melon"),
            "    melon: 2 kg\n",
            f"{MIX_FOR_AN_HOUR}  - do: cut\n    time: 15 min\n",
            "3 h 45 min",
            70,
        ),
        (item("melon"), "    melon: 2 kg\n", CUT_FOR_AN_HOUR, "3 h 30 min", 41),
        (item("beans", CAN), "    beans: 2 kg\n", MIX_FOR_AN_HOUR, "3 h 30 min", 41),
        # nobody says how long it was cut or open; before the cutting nobody asks
        (
            item("melon"),
            "    melon: 2 kg\n",
            "  - do: cut\n    add: [rice, dressing]\n",
            "1 h",
            41,
        ),
        (item("beans", CAN), "    beans: 2 kg\n", UNTIMED, "1 h", 41),
        (item("melon"), "    melon: 2 kg\n", f"{CUT}  - do: toss\n", "1 h", 41),
        (
            item("melon"),
            "    melon: 2 kg\n",
            f"{UNTIMED}  - do: cut\n    time: 15 min\n",
            "1 h",
            70,
        ),
        # bought cut; sprouts need the cold as they come; rice was cooked; cream comes cold
        (item("melon", ""), "    melon: 2 kg\n", CUT, "3 h", 41),
        (item("melon") + item("sprouts"), "    melon: 1 kg\n    sprouts: 1 kg\n", CUT, "3 h", 41),
        (item("melon"), "    melon: 1 kg\n    cooked-rice: 1 kg\n", CUT, "3 h", 41),
        # chilled, frozen or thawed on the way; longer than four hours, it is the six of cold food
        (
            item("melon"),
            "    melon: 2 kg\n",
            f"{CUT}  - do: chill\n    in: cold-room\n    target: to 4 °C\n",
            "3 h",
            41,
        ),
        (item("melon"), "    melon: 2 kg\n", f"{CUT}    in: cold-room\n", "3 h", 41),
        (item("melon"), "    melon: 2 kg\n", CUT, "5 h", 41),
    ],
)
def test_where_it_starts(
    kitchen: Path, items: str, parts: str, steps: str, time: str, start: int
) -> None:
    manual = compute(laid(kitchen, items, parts, steps, time))
    assert [f.code for f in manual.errors] == []
    (limit,) = [x for x in manual.sheets["rice-salad"].walk.limits if x.hazard == "time_control"]
    assert isinstance(limit, KeepingLimit) and limit.figure.shown_f == start
    assert limit.lasts is not None and limit.lasts.never_above is not None
    assert limit.lasts.never_above.shown_f == 70


def test_made_ahead_nobody_knows_since_when(kitchen: Path) -> None:
    """A formula of cut melon, in another formula that holds it by time: it starts at 41 °F."""
    laid(kitchen, item("melon"), "    cut-melon: 2 kg\n", MIX)
    folder = kitchen / "standards"
    (folder / "processes/cut.yaml").write_text("name: Cut\nsteps:\n  - do: cut\n    add: [all]\n")
    (folder / "formulas/cut-melon.yaml").write_text(
        "name: Cut melon\nrevision: 1\neffective: 2026-06-01\napproved: R. Osei\n"
        "station: pass\nbase: all\n"
        "parts:\n  all:\n    melon: 1 kg\nprocess: cut\nkeeps: {cold: 2 days}\n"
        "batches: [1 kg base]\n"
    )
    limits = compute(kitchen).sheets["rice-salad"].walk.limits
    (limit,) = [x for x in limits if x.hazard == "time_control"]
    assert limit.figure is not None and limit.figure.shown_f == 41


def test_both_figures_stand_in_the_box_and_in_the_answer(kitchen: Path) -> None:
    """On a probe off by 1 °C, 70 °F (21 °C) is read at 20 °C; the code's own figures beneath."""
    manual = compute(laid(kitchen, item("melon"), "    melon: 2 kg\n", CUT.replace("15", "20")))
    assert manual.house is not None
    sheet = manual.sheets["rice-salad"]
    (limit,) = [x for x in sheet.walk.limits if x.hazard == "time_control"]
    view = limit_view(manual.house, limit)
    assert (view.figures[0].number, view.figures[0].unit) == ("4", "h")
    assert view.figures[0].words == "from cutting or opening it"
    assert (
        view.start
        == "Starts at 20\u00a0°C or colder on the probe. Never above 20\u00a0°C while the time "
        "runs."
    )
    assert (
        view.code + view.code_rest
        == "70\u00a0°F (21\u00a0°C), 4\u00a0h at most, never above 70\u00a0°F (21\u00a0°C)"
    )
    assert ("Before this step", "20\u00a0min since it was cut or opened") in view.basis
    reported = limits_text(sheet.walk)
    assert "Meanwhile the probe must never read above 20 °C (68 °F); code 70 °F (21 °C)" in reported


def test_no_cold_is_asked_for_at_the_door(kitchen: Path) -> None:
    """A sealed can needs no cold as it comes: nothing is measured at the door, and its page says
    since when it does."""
    from generator.pages import make_pages

    manual = compute(laid(kitchen, item("beans", CAN), "    beans: 2 kg\n", MIX))
    pages = {p.uri: p.html for p in make_pages(manual)}
    page = pages["ingredients/beans.md"]
    assert "sealed, needs no cold until it is opened" in page
    assert "<span>receive" not in page.casefold()
    assert "<span>receive" in pages["ingredients/cream.md"].casefold()
    assert "It needs the cold once it is opened, not before." in page


def test_an_edition_not_held_has_it_only_if_every_edition_does(kitchen: Path) -> None:
    """The row came with 2017; the edition of 2013 has none, so a kitchen between them goes by 41
    °F."""
    laid(kitchen, item("melon"), "    melon: 2 kg\n", CUT)
    edit(kitchen, "kitchen.yaml", "edition: 2022", "edition: 2015")
    walk = compute(kitchen).walks["rice-salad"]
    (limit,) = [lm for lm in walk.limits if lm.hazard == "time_control"]
    assert limit.figure is not None and limit.figure.value.in_unit("°F") == 41

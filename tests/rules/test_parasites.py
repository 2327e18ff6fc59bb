"""Raw fish frozen at one step and stored at the next: Food Code 3-402.11(A), read in Virginia
12VAC5-421-730, Minnesota
4626.0350 and Washington WAC 246-215-03425. The time of (2) and (3) counts once the fish is frozen
solid."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from conftest import compute, edit

from generator.answers.limits import limit_record, limits_text
from generator.binder.limit_box import limit_block
from generator.pages import make_pages
from generator.rules.basics.in_words import limit_words
from generator.rules.basics.limit import Limit
from generator.sheet.manual import Manual
from generator.views.limit_view import limit_view
from generator.views.uris import REGISTER

HOUR = Fraction(3600)
COLD = (
    "deep: {kind: freezer, name: Deep freezer, air: -38 °C}\n"
    "chest: {kind: freezer, name: Chest freezer, air: -22 °C}\n"
)


def served(kitchen: Path, steps: str, toss: str = "add: [dressing]") -> Manual:
    """Bream served raw on request after ``steps``, the first of which takes it in."""
    edit(kitchen, "equipment/house.yaml", "dish: {kind", f"{COLD}dish: {{kind")
    edit(
        kitchen,
        "ingredients/all.yaml",
        "name: Cooked rice\n  species: none\n  state: ready-to-eat\n  allergens: none",
        "name: Bream\n  species: fish\n  state: raw\n  form: intact\n  allergens: [fish (bream)]",
    )
    edit(
        kitchen,
        "formulas/rice-salad.yaml",
        "keeps: {cold: 3 days}",
        "undercooked: On request, with the advisory on the menu.",
    )
    edit(
        kitchen,
        "processes/toss.yaml",
        "  - do: toss\n    add: [rice, dressing]\n  - do: chill\n    in: cold-room\n"
        "    target: to 4 °C\n",
        steps.replace("do: freeze\n", "do: freeze\n    add: [rice]\n", 1)
        + f"  - do: toss\n    {toss}\n  - do: serve\n",
    )
    return compute(kitchen)


def limits(manual: Manual) -> dict[str, Limit]:
    found = manual.sheets["rice-salad"].walk.limits
    return {x.step: x for x in found if x.hazard == "parasites"}


FREEZE, STORE = "  - do: freeze\n", "  - do: store\n"
SOLID = f"{FREEZE}    in: deep\n    solid: yes\n"


@pytest.mark.parametrize(
    ("steps", "clause"),
    [
        (f"{SOLID}{STORE}    in: chest\n    time: 24 h\n", "(A)(3)"),
        (f"{SOLID}    time: 5 h\n{STORE}    in: chest\n    time: 24 h\n", "(A)(3)"),
        (f"{SOLID}  - do: pack\n  - do: label\n{STORE}    in: chest\n    time: 24 h\n", "(A)(3)"),
        (f"{SOLID}{STORE}    in: deep\n    time: 15 h\n", "(A)(2)"),
        (f"{FREEZE}    in: deep\n    time: 15 h\n", "(A)(2)"),
        (
            f"{FREEZE}    in: chest\n    time: 24 h\n{STORE}    in: chest\n    time: 144 h\n",
            "(A)(1)",
        ),
        (f"{FREEZE}    in: chest\n{STORE}    in: chest\n    time: 7 days\n", "(A)(1)"),
        (f"{FREEZE}    in: chest\n    time: 7 days\n", "(A)(1)"),
        # the freezing isn't counted once it says that it lasts until solid; solid isn't said; both
        # too warm or short
        (f"{SOLID}    time: 15 h\n", ""),
        (f"{SOLID}    time: 4 h\n{STORE}    in: deep\n    time: 14 h\n", ""),
        (f"{FREEZE}    in: deep\n    time: 5 h\n{STORE}    in: chest\n    time: 24 h\n", ""),
        (f"{SOLID}{STORE}    in: chest\n    time: 23 h 59 min\n", ""),
        (f"{SOLID}{STORE}    in: chest\n", ""),
        (f"{SOLID}{STORE}    in: cold-room\n    time: 7 days\n", ""),
        (
            f"{SOLID}{STORE}    in: cold-room\n    at: -25 °C\n    time: 24 h\n",
            "",
        ),  # the warmer of the two
        (
            f"{FREEZE}    in: chest\n    at: -38 °C\n    solid: yes\n{STORE}    in: chest\n"
            "    time: 24 h\n",
            "",
        ),
        (f"{FREEZE}    in: chest\n    time: 24 h\n{STORE}    in: chest\n    time: 143 h\n", ""),
        # something else is between: thawed, left out, or in another place for a while
        (f"{SOLID}  - do: thaw\n    in: cold-room\n{STORE}    in: chest\n    time: 24 h\n", ""),
        (f"{SOLID}  - do: rest\n    time: 1 h\n{STORE}    in: chest\n    time: 24 h\n", ""),
        (f"{SOLID}  - do: rest\n{STORE}    in: chest\n    time: 24 h\n", ""),
        (f"{SOLID}  - do: pack\n    time: 1 h\n{STORE}    in: chest\n    time: 24 h\n", ""),
    ],
)
def test_which_row_the_steps_meet(kitchen: Path, steps: str, clause: str) -> None:
    manual = served(kitchen, steps)
    codes = [f.code for f in manual.errors]
    if not clause:
        assert "parasites-not-frozen" in codes
        return
    assert codes == []
    found = limits(manual)
    assert {x.source.clause for x in found.values()} == {f"3-402.11{clause}"}
    assert all(x.verdict.status == "meets" for x in found.values())


def test_until_solid_and_then_stored_is_reported_everywhere(kitchen: Path) -> None:
    """-31 °F (-35 °C) and -4 °F (-20 °C) on a thermometer off by 1 °C: -36 and -21, and the chef's
    own -38."""
    manual = served(kitchen, f"{SOLID}{STORE}    in: chest\n    time: 2 days\n")
    assert manual.house is not None
    freeze, store = limits(manual)["freeze"], limits(manual)["store"]
    assert freeze.stored is not None and store.stored is None
    view = limit_view(manual.house, freeze)
    assert (view.figures[0].number, view.hold, view.hold_s) == ("-38", "", 0)
    assert (
        view.hold_rest
        == "Until it is frozen solid. Then store it at -21\u00a0°C (-6\u00a0°F) or colder for "
        "24\u00a0h."
    )
    assert (
        view.code + view.code_rest
        == "-31\u00a0°F (-35\u00a0°C) until solid, then -4\u00a0°F (-20\u00a0°C) for 24\u00a0h"
    )
    other = limit_view(manual.house, store)
    assert (other.figures[0].number, other.hold_s) == ("-22", 2 * 86400)
    block = limit_block(manual.house, freeze, "1", "Freeze")
    assert block["start"] == view.hold_rest and block["hold"] is None
    assert "in one reading" not in str(block["figure"])
    record = limit_record(freeze)
    assert (record["value"], record["store_at"]["value"], record["hold_s"]) == (-31, -4, 86400)
    assert limit_words(freeze).startswith(
        "-31\u00a0°F (-35\u00a0°C) or colder until solid, then stored at -4"
    )
    reported = limits_text(manual.sheets["rice-salad"].walk)
    assert "Then stored at -21 °C (-6 °F) or colder for 24 h" in reported
    register = next(p for p in make_pages(manual) if p.uri == REGISTER).html
    assert "or colder, until frozen solid" in register


def test_freezing_and_storing_count_together(kitchen: Path) -> None:
    manual = served(
        kitchen, f"{FREEZE}    in: chest\n    time: 24 h\n{STORE}    in: chest\n    time: 6 days\n"
    )
    assert [x.row_hold_s for x in limits(manual).values()] == [168 * HOUR, 168 * HOUR]
    for limit in limits(manual).values():
        assert limit.note.startswith("The times of freezing and storing count together.")


def test_a_freezer_kept_at_the_figure_is_asked_about(kitchen: Path) -> None:
    manual = served(kitchen, f"{SOLID}{STORE}    at: -20 °C\n    time: 24 h\n")
    assert [f.code for f in manual.findings if f.severity != "note"] == [
        "target-within-probe-error"
    ]
    assert limits(manual)["store"].verdict.status == "close"


def test_the_message_names_every_way(kitchen: Path) -> None:
    (found,) = served(kitchen, f"{FREEZE}    in: chest\n    time: 1 h\n").errors
    assert "-4\u00a0°F (-20\u00a0°C) for 7\u00a0days" in found.help
    assert "-31\u00a0°F (-35\u00a0°C) for 15\u00a0h" in found.help
    assert "until solid (`solid: yes`) and then a step that stores it at -4\u00a0°F" in found.help


def test_fish_that_needs_no_freezing_is_reported_none(kitchen: Path) -> None:
    """3-402.11(B) lets farmed fish through; frozen for another reason, it has no figure to meet."""
    edit(
        kitchen,
        "ingredients/all.yaml",
        "cooked-rice:\n",
        "cooked-rice:\n  parasites: {freed_by: farmed, record: Letter 4}\n",
    )
    manual = served(kitchen, f"{FREEZE}    in: chest\n    time: 4 h\n")
    assert manual.errors == () and limits(manual) == {}


def test_a_freezer_is_no_heat(kitchen: Path) -> None:
    manual = served(kitchen, f"{FREEZE}    in: deep\n    at: -36 °C\n    time: 15 h\n")
    for uri in ("pass/rice-salad.md", "processes/toss.md"):
        page = next(p.html for p in make_pages(manual) if p.uri == uri)
        assert "Kept" in page and "<dt>Heat" not in page


def test_what_is_frozen_beside_the_fish_is_no_freezing_of_it(kitchen: Path) -> None:
    """The rice of the base kitchen is bream here; the dressing is frozen beside it."""
    beside = "  - {do: freeze, work_on: [dressing], gives: ice, at: -21 °C, time: 3 days}\n"
    errors = served(
        kitchen,
        f"  - {{do: weigh, add: [rice], gives: fish}}\n{beside}",
        "work_on: [fish, ice]",
    ).errors
    said = [f.message for f in errors if f.code == "parasites-not-frozen"]
    assert len(said) == 1 and "but nothing does" in said[0], [f.message for f in errors]

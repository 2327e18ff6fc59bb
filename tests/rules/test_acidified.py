"""Acidified food: a variance, a pH that is measured, and limits lifted from that step on."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from conftest import compute, edit

from generator.answers.limits import limit_record, limits_text
from generator.binder.limit_box import limit_block
from generator.pages import make_pages
from generator.rules.basics.limit import Limit
from generator.sheet.manual import Manual
from generator.views.limit_view import limit_view

VARIANCE = (
    "authorisations:\n  - {for: acidify, authority: County, document: Variance 8, "
    "from: 2026-02-01, until: 2027-02-01}\n"
)
STEPS = (
    "  - do: simmer\n    add: [rice]\n  - do: acidify\n    add: [dressing]\n"
    "  - do: pack\n  - do: store\n"
)


def pickled(
    kitchen: Path,
    *,
    ph: str = "4.0",
    meter: str = "0.1",
    water: str = "",
    packed: bool = False,
    variance: str = VARIANCE,
    steps: str = STEPS,
    facts: str = "",
    keeps: str = "keeps: {dry: 2 days}",
) -> Manual:
    """Rice simmered, and made sour with vinegar."""
    standards = kitchen / "standards"
    with (standards / "kitchen.yaml").open("a") as file:
        file.write(variance)
    (standards / "ingredients/sour.yaml").write_text(
        "rice: {name: Rice, species: none, state: raw, allergens: none, tcs: no}\n"
        "vinegar: {name: Vinegar, species: none, state: ready-to-eat, form: liquid, allergens: "
        "none, tcs: no}\n"
        "shrimp: {name: Shrimp, species: crustacean, state: raw, form: intact, allergens: "
        "[crustacean shellfish (shrimp)]}\n"
    )
    more = f", water_activity: {water}" if water else ""
    more += ", packed_after_heating: yes" if packed else ""
    sour = facts or f"acidified: {{ph: {ph}, meter: {meter}{more}, record: pH log}}"
    (standards / "processes/sour.yaml").write_text(f"name: Sour\nsteps:\n{steps}")
    (standards / "formulas/sour-rice.yaml").write_text(
        "name: Sour rice\nrevision: 1\neffective: 2026-01-01\napproved: R. Osei\n"
        "station: range\nbase: rice\n"
        "parts:\n  rice:\n    rice: 4 kg\n  dressing:\n    vinegar: 20 %\nprocess: sour\n"
        f"{sour}\n{keeps}\n"
        "batches: [4 kg base]\n"
    )
    return compute(kitchen)


def limits(manual: Manual) -> list[Limit]:
    return list(manual.walks["sour-rice"].limits)


def test_the_meter_reads_the_limit(kitchen: Path) -> None:
    """1-201.10(B), table B: below pH 4.2 unpacked food needs no control, whatever its water
    activity;
    4.2 less the meter's 0.1 is 4.1, and the chef asks for 4.0."""
    manual = pickled(kitchen)
    assert [f.code for f in manual.findings] == ["not-used"]
    (limit,) = limits(manual)
    assert limit.ph is not None
    assert (limit.ph.law, limit.ph.law_below, limit.ph.read, limit.ph.read_below) == (
        Fraction("4.2"),
        True,
        4,
        False,
    )
    assert limit_record(limit)["value"] == 4.2 and limit_record(limit)["unit"] == "pH"
    assert "Meter must read pH 4 or less" in limits_text(manual.walks["sour-rice"])
    assert manual.house is not None
    view = limit_view(manual.house, limit)
    words = manual.house.library.hazards["acidity"]
    assert (view.figures[0].number, view.figures[0].unit) == ("4", "pH")
    assert view.check == words.check
    assert view.if_missed.startswith("Above pH 4? Add more of the acid")
    assert "never calculated" in dict(view.basis)["Source"]


def test_from_there_on_nothing_needs_the_cold(kitchen: Path) -> None:
    """Neither cooling, cold holding nor a date: it isn't TCS food any more. Without it all
    three."""
    manual = pickled(kitchen)
    assert [lm.hazard for lm in limits(manual)] == ["acidity"]
    dates = manual.walks["sour-rice"].dates
    assert dates is not None and dates.kind == "dry" and "Acidified" in dates.words
    edit(kitchen, "processes/sour.yaml", "do: acidify", "do: mix")
    edit(
        kitchen, "formulas/sour-rice.yaml", "acidified: {ph: 4.0, meter: 0.1, record: pH log}\n", ""
    )
    codes = [f.code for f in compute(kitchen).errors]
    assert "keeps-dry" in codes


@pytest.mark.parametrize(
    ("variance", "words"),
    [
        ("", "None is on file"),
        (VARIANCE.replace("2027-02-01", "2026-11-24"), "isn't in force"),
        (VARIANCE.replace("acidify", "cure"), "None is on file"),
    ],
)
def test_no_variance_no_acid(kitchen: Path, variance: str, words: str) -> None:
    """Food Code 3-502.11(C)(2)."""
    found = pickled(kitchen, variance=variance).errors
    assert found[0].code == "acidified-without-variance" and words in found[0].message


@pytest.mark.parametrize(
    ("ph", "meter", "more", "found"),
    [
        ("4.1", "0.1", {}, ["ph-within-meter-error"]),  # a meter 0.1 low has 4.2, which is too much
        ("4.09", "0.1", {}, []),
        ("4.2", "0.01", {}, ["ph-above-limit"]),
        ("4.59", "0.01", {"packed": True}, []),
        ("4.6", "0.1", {"packed": True}, ["ph-within-meter-error"]),
        ("4.61", "0.01", {"packed": True}, ["ph-above-limit"]),
        ("4.5", "0.1", {"water": "0.92"}, []),
        ("4.5", "0.1", {"water": "0.921"}, ["ph-above-limit"]),
    ],
)
def test_the_meter_may_be_off(
    kitchen: Path, ph: str, meter: str, more: dict[str, object], found: list[str]
) -> None:
    manual = pickled(kitchen, ph=ph, meter=meter, **more)  # type: ignore[arg-type]
    assert [f.code for f in manual.findings if f.code.startswith("ph-")] == found


def test_packed_after_heating_needs_the_heating(kitchen: Path) -> None:
    """Table A is for food heat-treated first: what was never heated is held to table B."""
    steps = "  - do: mix\n    add: [rice]\n  - do: acidify\n    add: [dressing]\n  - do: pack\n"
    manual = pickled(kitchen, ph="4.6", meter="0.01", packed=True, steps=steps)
    assert [f.code for f in manual.errors] == ["ph-above-limit"]


def test_packed_after_heating_needs_the_packing(kitchen: Path) -> None:
    """Table A is for food packed once it was heated: packed before, or never, it is held to table
    B."""
    heated = "  - do: simmer\n    add: [rice]\n  - do: acidify\n    add: [dressing]\n"
    before = heated.replace("  - do: simmer", "  - do: pack\n    add: [rice]\n  - do: simmer", 1)
    before = before.replace("  - do: simmer\n    add: [rice]\n", "  - do: simmer\n")
    for variance, steps in ((VARIANCE, heated), ("", before)):
        manual = pickled(
            kitchen, ph="4.6", meter="0.01", packed=True, variance=variance, steps=steps, keeps=""
        )
        above = [f for f in manual.errors if f.code == "ph-above-limit"]
        assert "only if a step packs or fills it" in above[0].help
        # not soured by the rules, it is hot food that nothing chills or serves
        assert {f.code for f in manual.errors} <= {"ph-above-limit", "chill-missing"}
    assert not pickled(
        kitchen, ph="4.6", meter="0.01", packed=True, variance="", steps=f"{heated}  - do: pack\n"
    ).errors


def test_an_acidifying_step_says_its_ph_and_the_other_way_round(kitchen: Path) -> None:
    manual = pickled(kitchen, facts="note: Sour.")
    assert "not-covered" in [f.code for f in manual.errors]
    edit(kitchen, "processes/sour.yaml", "do: acidify", "do: mix")
    edit(
        kitchen,
        "formulas/sour-rice.yaml",
        "note: Sour.",
        "acidified: {ph: 4.0, meter: 0.1, record: pH log}",
    )
    assert "acidify-missing" in [f.code for f in compute(kitchen).errors]


def test_raw_food_of_an_animal_stays_under_control(kitchen: Path) -> None:
    pickled(kitchen, steps=STEPS.replace("do: simmer", "do: mix"))
    edit(kitchen, "formulas/sour-rice.yaml", "    rice: 4 kg", "    rice: 4 kg\n    shrimp: 1 kg")
    found = [f for f in compute(kitchen).errors if f.code == "not-covered"]
    assert len(found) == 1 and "Shrimp" in found[0].message


def test_more_food_ends_it(kitchen: Path) -> None:
    """What is taken in later brings its own pH: food that needs control puts all of it back under
    it."""
    steps = STEPS.replace("  - do: pack\n", "  - do: mix\n    add: [more]\n  - do: pack\n")
    manual = pickled(kitchen, steps=steps, keeps="")
    edit(
        kitchen,
        "formulas/sour-rice.yaml",
        "process: sour",
        "  more:\n    cream: 200 g\nprocess: sour",
    )
    manual = compute(kitchen)
    assert "cold_hold" in [lm.hazard for lm in manual.walks["sour-rice"].limits] or manual.errors


def test_the_register_has_its_row(kitchen: Path) -> None:
    manual = pickled(kitchen)
    (register,) = (p for p in make_pages(manual) if p.uri == "control/limits.md")
    assert "what the pH meter must read" in register.text
    (page,) = (p for p in make_pages(manual) if p.uri == "range/sour-rice.md")
    assert "pH below" in page.text and "Write it in the pH log" in page.text


@pytest.mark.parametrize("typed", ["sour", "140", "-4", "4.0 pH"])
def test_a_ph_is_a_plain_figure(kitchen: Path, typed: str) -> None:
    assert pickled(kitchen, ph=f'"{typed}"').errors


def test_on_paper_the_reading_is_a_ph(kitchen: Path) -> None:
    manual = pickled(kitchen)
    assert manual.house is not None
    block = limit_block(manual.house, limits(manual)[0], "2", "Acidify")
    assert [head["words"] for head in block["blanks"]["heads"]] == ["Sample", "pH", "At", "By"]
    assert (block["lead"], block["figure"]["unit"]) == ("Meter must read", "pH")

"""Cook-chill food kept at 34 °F and then at 41 °F: Food Code 3-502.12(D)(2)(e)(iii), read in
Florida's violation 03G-29-5.

Cooled to 34 °F within 48 hours of reaching 41 °F, taken out of that refrigerator, held at 41 °F or
less for no more than 7 days, and never beyond 30 days from its date of packaging.
"""

from __future__ import annotations

import datetime
import html
from pathlib import Path

import pytest
from commands import run
from conftest import AS_OF, compute, edit, lay
from hypothesis import given
from hypothesis import strategies as st

from generator.answers.limits import limits_record, limits_text
from generator.binder.labels import label_record
from generator.pages import make_pages
from generator.sheet.labelling import Asked, DateMark, Frozen, NoDate, date_mark
from generator.sheet.manual import Manual
from generator.sheet.sheet import Sheet

DAY = datetime.timedelta(days=1)
PLAN = (
    "authorisations:\n  - {for: pack-without-air, authority: County, document: HACCP 7, from: "
    "2026-02-01, until: 2028-02-01}\n"
)
BAKED, BAKE, HOUSE = "processes/baked.yaml", "formulas/pork-bake.yaml", "equipment/house.yaml"
ICY = "icy: {kind: refrigerator, name: Pack fridge, air: 0 °C, watched: yes}\n"
COLD = "air: 3 °C, watched: yes}"
IN_ICY = "  - do: store\n    id: pack-fridge\n    in: icy\n"
IN_COLD = "  - do: store\n    id: cold-room\n    in: cold-room\n"


def kept(
    kitchen: Path,
    places: str = IN_ICY + IN_COLD,
    *,
    icy: str = ICY,
    cold: str = COLD,
    keeps: str = "",
) -> Manual:
    with (kitchen / "standards/kitchen.yaml").open("a") as file:
        file.write(PLAN)
    edit(kitchen, HOUSE, "air: 3 °C}", cold)
    edit(kitchen, HOUSE, "blast: {kind", f"{icy}blast: {{kind")
    edit(kitchen, BAKED, "  - do: chill", "  - do: vacuum-pack\n  - do: chill")
    edit(kitchen, BAKED, "  - do: store\n    in: cold-room\n", places)
    facts = "without_air: {criterion: cook-chill, kept: near-freezing-then-cold, sold: no, record: HACCP 7}"
    edit(kitchen, BAKE, "keeps: {cold: 5 days}\n", f"{keeps}{facts}\n")
    return compute(kitchen)


@pytest.fixture
def sheet(kitchen: Path) -> Sheet:
    return kept(kitchen).sheets["pork-bake"]


def test_both_places_with_their_figures(kitchen: Path) -> None:
    """34 °F is read at 0 °C and 41 °F at 4 °C on a probe off by 1 °C."""
    manual = kept(kitchen)
    assert [f.code for f in manual.errors] == []
    walk = manual.sheets["pork-bake"].walk
    first, second = [x for x in walk.limits if x.hazard == "reduced_oxygen"][1:]
    assert (first.read, second.read) == (0, 4)
    assert {first.source.clause, second.source.clause} == {"3-502.12(D)(2)(e)(iii)"}
    assert [(x.step, x.read) for x in walk.store] == [("store", 0), ("moved", 4)]
    dates = walk.dates
    assert dates is not None and (dates.law_day, dates.day, dates.moved_days) == (30, 30, 7)
    reported = (
        "day 30, the code's, from the day it is packed without air, or 7\u00a0days out "
        "of the colder place, whichever is first"
    )
    assert dates.words == reported
    assert "7 days out of the colder place, whichever is first" in limits_text(walk)


def test_the_page_and_the_register_say_both(kitchen: Path) -> None:
    manual = kept(kitchen)
    pages = {p.uri: html.unescape(p.html) for p in make_pages(manual)}
    page = pages["range/pork-bake.md"].replace("\u00a0", " ")
    assert "Keep at 0 °C or colder. Taken out: 4 °C or colder." in page
    assert "is the first of 7 days. The code allows day 30 at most." in page
    assert "or colder, until it is taken out" in page and "or colder, once it is taken out" in page
    assert "Out of the colder place it has 7 days. The day you take it out counts." in page


@pytest.mark.parametrize(
    ("places", "change", "words"),
    [
        (IN_ICY, {}, "has one step that stores it"),
        ("  - do: label\n", {}, "Its refrigerator isn't stated"),
        (
            IN_COLD + IN_ICY,
            {},
            "Cold room is kept at 3\u00a0°C. The food must be at 34\u00a0°F or colder",
        ),
        (
            IN_ICY + IN_COLD,
            {"icy": ICY.replace("0 °C", "2 °C")},
            "Pack fridge is kept at 2\u00a0°C",
        ),
        (
            IN_ICY + IN_COLD,
            {"icy": ICY.replace(", watched: yes", "")},
            "Pack fridge isn't stated to be watched",
        ),
        (IN_ICY + IN_COLD, {"cold": "air: 3 °C}"}, "Cold room isn't stated to be watched"),
        (IN_ICY + IN_COLD + "    time: 8 days\n", {}, "It is stored last for 8\u00a0days"),
        (
            IN_ICY + IN_COLD,
            {"keeps": "keeps: {cold: 20 days, frozen: 60 days}\n"},
            "and frozen too",
        ),
    ],
)
def test_each_fact_that_fails_refuses_it(
    kitchen: Path, places: str, change: dict[str, str], words: str
) -> None:
    errors = kept(kitchen, places, **change).errors
    assert "not-covered" in {f.code for f in errors}
    assert any(words in f.message for f in errors), [f.message for f in errors]


def test_a_house_limit_stands_where_it_is_the_stricter(kitchen: Path) -> None:
    """4 °C for all that is held cold is stricter than 41 °F, and not than 34 °F."""
    with (kitchen / "standards/kitchen.yaml").open("a") as file:
        file.write("house_limits:\n  - {for: hold-cold, limit: at 4 °C}\n")
    manual = kept(kitchen)
    assert [f.code for f in manual.errors] == []
    first, second = manual.sheets["pork-bake"].walk.store
    assert (first.house, first.read, first.source.standing) == (None, 0, "law")
    assert second.house is not None and second.read == 3 and second.law is not None


def test_the_edition_of_2013_has_no_such_paragraph(kitchen: Path) -> None:
    edit(kitchen, "kitchen.yaml", "edition: 2022", "edition: 2013")
    assert any("kept near freezing then cold" in f.message for f in kept(kitchen).errors)


@pytest.mark.parametrize(
    ("packed", "taken_out", "last"),
    [
        (10, 0, 6),  # seven days from today, today counted
        (10, 3, 3),
        (27, 0, 2),  # the thirty days from packing end first: day 30 is the day after tomorrow
        (29, 0, 0),
        (0, 0, 6),
    ],
)
def test_the_earlier_end_counts(sheet: Sheet, packed: int, taken_out: int, last: int) -> None:
    asked = Asked(AS_OF - packed * DAY, moved=AS_OF - taken_out * DAY)
    mark = date_mark(sheet, asked, AS_OF)
    assert mark.use_by == AS_OF + last * DAY
    assert "7\u00a0days from the day it was taken out" in mark.basis.rule
    assert dict(mark.basis.inputs)["Taken out"]


@pytest.fixture(scope="module")
def two(tmp_path_factory: pytest.TempPathFactory) -> Sheet:
    return kept(lay("base", tmp_path_factory.mktemp("two") / "k")).sheets["pork-bake"]


@given(st.integers(0, 29), st.integers(0, 29))
def test_never_beyond_either(two: Sheet, packed: int, out: int) -> None:
    """Property: on no day after the thirtieth of packing, and after the seventh of taking out, both
    counted."""
    made, moved = AS_OF - packed * DAY, AS_OF - min(out, packed) * DAY
    last = min(made + 29 * DAY, moved + 6 * DAY)
    asked = Asked(made, moved=moved)
    if last < AS_OF:
        assert set(refused(two, asked)) == {"label-past"}
    else:
        assert date_mark(two, asked, AS_OF).use_by == last


def refused(sheet: Sheet, asked: Asked) -> dict[str, str]:
    with pytest.raises(NoDate) as found:
        date_mark(sheet, asked, AS_OF)
    return {r.code: r.message for r in found.value.reasons}


def test_no_label_without_the_day_it_was_taken_out(sheet: Sheet, clean: Manual) -> None:
    assert set(refused(sheet, Asked(AS_OF))) == {"label-moved-missing"}
    assert set(refused(sheet, Asked(AS_OF, moved=AS_OF + DAY))) == {"label-date-future"}
    assert set(refused(sheet, Asked(AS_OF, moved=AS_OF - DAY))) == {"label-dates-order"}
    assert set(refused(sheet, Asked(AS_OF - 9 * DAY, moved=AS_OF - 7 * DAY))) == {"label-past"}
    assert set(refused(sheet, Asked(AS_OF - 31 * DAY, moved=AS_OF))) == {"label-past"}
    stay = Frozen(AS_OF - 2 * DAY, AS_OF)
    frozen = Asked(AS_OF - 5 * DAY, frozen=stay, moved=AS_OF)
    assert "label-freezing" in refused(sheet, frozen)
    other = Asked(AS_OF, moved=AS_OF)
    assert set(refused(clean.sheets["pork-bake"], other)) == {"label-moved-needless"}


def test_the_chefs_fewer_days_stand(kitchen: Path) -> None:
    sheet = kept(kitchen, keeps="keeps: {cold: 12 days}\n").sheets["pork-bake"]
    mark: DateMark = date_mark(sheet, Asked(AS_OF - 9 * DAY, moved=AS_OF), AS_OF)
    assert mark.use_by == AS_OF + 2 * DAY


def test_the_label_says_when_it_was_taken_out_and_how_cold_it_is_kept_then(sheet: Sheet) -> None:
    mark = date_mark(sheet, Asked(AS_OF - 10 * DAY, moved=AS_OF), AS_OF)
    record = label_record(sheet, mark, "261115-1", "")
    words = [
        " ".join(w if isinstance(w, str) else str(w["b"]) for w in line)
        if isinstance(line, list)
        else line
        for line in record["lines"]
    ]
    reported = " | ".join(words).replace("\xa0", " ")
    assert record["big"].replace("\xa0", " ") == "Tue 1 Dec"
    assert (
        "Taken out" in reported
        and "Wed 25 Nov" in reported
        and "Keep at 4 °C or colder." in reported
    )


def test_labels_from_the_command_line(kitchen: Path, tmp_path: Path) -> None:
    kept(kitchen)
    pdf = tmp_path / "labels.pdf"
    asked = ("labels", "pork-bake", "--made", "2026-11-15", "--out", str(pdf))
    done = run(kitchen, *asked)
    assert done.returncode == 2 and "--moved YYYY-MM-DD" in done.stderr and not pdf.exists()
    done = run(kitchen, *asked, "--moved", "2026-11-24")
    assert done.returncode == 0 and "use by Mon 30 Nov 2026" in done.stdout and pdf.exists()


def test_at_the_sealing_the_food_is_probed_not_the_refrigerator(kitchen: Path) -> None:
    """3-502.12(D)(2)(d): sealed before it falls below 135 °F."""
    sealing = next(
        x
        for x in kept(kitchen).sheets["pork-bake"].walk.limits
        if x.bound == "min" and x.hazard == "reduced_oxygen"
    )
    assert "Probe the food" in sealing.probe and "Don't seal it" in sealing.if_missed


def test_a_date_mark_of_the_house_is_none_for_what_is_dated_from_its_packing(kitchen: Path) -> None:
    """30 days are those of 3-502.12(D)(2)(e)(iii), which a variance from 3-501.17 doesn't touch."""
    kept(kitchen)
    edit(
        kitchen,
        "kitchen.yaml",
        "authorisations:\n",
        "house_limits: [{for: date, limit: 40 days, allowed_by: V-2}]\nauthorisations:\n"
        "  - {for: date, authority: County, document: V-2, from: 2026-02-01, "
        "until: 2028-02-01}\n",
    )
    dates = compute(kitchen).sheets["pork-bake"].walk.dates
    assert dates is not None and (dates.day, dates.house) == (30, None)
    assert dates.words.startswith("day 30, the code's, from the day it is packed")
    edit(kitchen, BAKE, "without_air:", "keeps: {cold: 40 days}\nwithout_air:")
    (found,) = compute(kitchen).errors
    assert found.code == "keeps-beyond-law" and "the code allows 30" in found.message


def test_day_1_is_the_day_it_is_packed_wherever_it_shows(kitchen: Path) -> None:
    manual = kept(kitchen)
    record = next(
        r for r in limits_record(manual.sheets["pork-bake"].walk)["limits"] if r["hazard"] == "date"
    )
    assert (record["value"], record["day_one"]) == (30, "packed")
    pages = {p.uri: html.unescape(p.html) for p in make_pages(manual)}
    assert "the day it is packed is day 1" in pages["range/pork-bake.md"]
    assert "from the day it is packed" in pages["control/limits.md"]

"""Whose law may be chosen, and the rules that read any pack: thawing, parasites, time, packing."""

from __future__ import annotations

import datetime
import html
import shutil
from fractions import Fraction
from pathlib import Path

import pytest
from conftest import ROOT, compute, edit, lay
from hypothesis import given
from hypothesis import strategies as st

from generator.answers.limits import limits_record, limits_text
from generator.measures.temperature import Temperature, TemperatureDifference
from generator.pages import make_pages
from generator.records.process import read_target
from generator.reference.library import read_reference
from generator.reference.packs import Pack, strictest
from generator.reference.row_kinds import BoundedRow, CookRow, OvenRow, ThawRow
from generator.review.readings import Reading, ReadingLog, Series
from generator.review.verdicts import judge
from generator.rules.basics.grouping import group_of, highest
from generator.rules.basics.limit import KeepingLimit, Limit, figure_of
from generator.rules.basics.product import Component, Product
from generator.sheet.edited import suppose
from generator.sheet.manual import Broken, Manual
from generator.views.limit_view import limit_view
from generator.views.uris import REGISTER

LIBRARY = read_reference(ROOT / "shared")
PACKS = LIBRARY.packs
BAKED, TOSS = "processes/baked.yaml", "processes/toss.yaml"
CODE = "code: {model: us-food-code, edition: 2022"


def codes(manual: Manual) -> list[str]:
    return [f.code for f in manual.findings]


def limit_of(manual: Manual, formula: str, hazard: str) -> Limit:
    return next(lm for lm in manual.walks[formula].limits if lm.hazard == hazard)


# --- which pack may be chosen


def own_shared(kitchen: Path) -> Path:
    shutil.copytree(ROOT / "shared", kitchen / "shared")
    return kitchen / "shared" / "limits"


def rewrite(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


@pytest.mark.parametrize(
    ("file", "old", "new"),
    [
        ("pack.yaml", 'complete: "yes"', 'complete: "no"'),
        ("pack.yaml", "topics: [cooking", "topics: [fermenting, cooking"),
        (
            "pack.yaml",
            "model: us-food-code\n",
            "model: us-food-code\nshares: {us-fsis: [beef-131-and-a-half]}\n",
        ),
        (
            "pack.yaml",
            "model: us-food-code\n",
            "model: us-food-code\nshares: {us-nowhere: [cooking]}\n",
        ),
        ("pack.yaml", "model: us-food-code\n", "model: us-food-code\ndefinitions_of: us-nowhere\n"),
    ],
)
def test_an_incomplete_pack_cannot_be_chosen(kitchen: Path, file: str, old: str, new: str) -> None:
    limits = own_shared(kitchen)
    shutil.rmtree(limits / "us-food-code-2013")
    shutil.rmtree(limits / "us-fsis") if "us-fsis" not in new else None
    shutil.rmtree(limits / "uk-england")
    rewrite(limits / "us-food-code-2022" / file, old, new)
    manual = compute(kitchen)
    assert "code-unknown" in codes(manual) and "pack-incomplete" in codes(manual)
    assert isinstance(manual, Broken)


COUNTY = (
    "name: Larch County\nmodel: larch-county\nedition: 2024\n"
    "document: Larch County Health Code\nunit: °F\n"
    'source: us-food-code-2022\nchecked_on: 2026-11-29\ncomplete: "yes"\n'
    "definitions_of: us-food-code-2022\n"
    "topics: [dating]\nshares:\n  us-food-code-2022: [{shared}]\nnot_covered:\n"
    "  - {{what: all else, why: not read}}\n"
)
DATING = (
    "topic: dating\n{groups}rows:\n  county-days:\n    hazard: date\n"
    "    food: ready-to-eat TCS food\n    days: 5\n"
    "    day_one: preparation\n    at: 41 °F\n    after: 24 h\n    clause: section 7\n"
    "    read_in: [us-food-code-2022]\n{more}"
)
ALL_OF_IT = "cooking, cooling, holding, reheating, thawing, probe, receiving, temperature-control"
OWN_GROUP = "groups:\n  county-duck: {name: duck, clause: section 9, takes: [duck]}\n"


def county(kitchen: Path, shared: str = ALL_OF_IT, groups: str = "", more: str = "") -> Manual:
    """The clean kitchen under a county's pack that shares the model code's topics."""
    folder = own_shared(kitchen) / "larch-county"
    folder.mkdir()
    (folder / "pack.yaml").write_text(COUNTY.format(shared=shared))
    (folder / "dating.yaml").write_text(DATING.format(groups=groups, more=more))
    edit(kitchen, "kitchen.yaml", CODE, "code: {model: larch-county, edition: 2024")
    return compute(kitchen)


def test_a_shared_topic_brings_its_groups(kitchen: Path, clean: Manual) -> None:
    """In their rank: the same rows count for the same food, and name the document they are in."""
    manual = county(kitchen)
    assert codes(manual) == []
    mine, theirs = (limit_of(m, "pork-bake", "cook") for m in (manual, clean))
    assert mine.options == theirs.options and mine.source.document == "Food Code 2022"
    assert manual.house is not None and clean.house is not None
    assert manual.house.pack.ranking == clean.house.pack.ranking == ("a1", "a2", "a3")
    dates = manual.walks["pork-bake"].dates
    assert dates is not None and dates.law_day == 5


def test_a_shared_row_brings_the_group_that_has_no_rank(kitchen: Path) -> None:
    """Holding has a row for roasts: their group comes with it."""
    manual = county(kitchen, "cooling, holding, reheating, thawing, probe")
    assert "group-unknown" not in codes(manual)
    assert manual.house is not None and "roast" in manual.house.pack.groups


ROW = (
    "  county-duck-170:\n    hazard: cook\n    group: {group}\n    food: duck\n"
    "    bound: min\n    value: 170 °F\n    hold: instant\n    clause: section 9\n"
    "    read_in: [us-food-code-2022]\n"
)


@pytest.mark.parametrize(
    ("shared", "groups", "more", "found"),
    [
        ("cooking, cooling", "", ROW.format(group="ducks"), "group-unknown"),
        (
            "cook-a2-155, cooling",
            "",
            "",
            "group-unknown",
        ),  # a ranked group isn't taken by one of its rows
        ("cooling", OWN_GROUP.replace("]}", "], rows_of: [goose]}"), "", "group-unknown"),
        ("cooling", OWN_GROUP.replace("]}", "], asks_row: no-such-row}"), "", "group-unknown"),
        ("cooking, cooling", OWN_GROUP, ROW.format(group="county-duck"), "group-ranked-twice"),
    ],
)
def test_every_group_a_pack_names_is_one_it_holds(
    kitchen: Path, shared: str, groups: str, more: str, found: str
) -> None:
    """An unknown group is reported with its place as the pack is loaded, never met while a formula is
    walked."""
    manual = county(kitchen, shared, groups, more)
    assert found in codes(manual) and "code-unknown" in codes(manual)
    assert isinstance(manual, Broken)
    reported = next(f for f in manual.findings if f.code == found)
    assert reported.place.file.startswith("shared/limits/")


def test_every_pack_says_what_it_does_not_cover() -> None:
    assert len(PACKS) >= 5
    for pack in PACKS.values():
        assert pack.facts.not_covered, pack.id
        assert datetime.date.fromisoformat(pack.facts.checked_on)
        assert pack.facts.source in LIBRARY.sources


def test_the_tables_for_plants_are_not_for_a_restaurant(kitchen: Path) -> None:
    edit(kitchen, "kitchen.yaml", CODE, "code: {model: us-fsis, edition: 1999")
    manual = compute(kitchen)
    assert codes(manual) == ["code-not-for-here"]
    assert isinstance(manual, Broken)


@pytest.mark.parametrize(("until", "chosen"), [("2027-01-31", True), ("2026-11-24", False)])
def test_a_variance_in_force_opens_them(kitchen: Path, until: str, chosen: bool) -> None:
    edit(kitchen, "kitchen.yaml", CODE, "code: {model: us-fsis, edition: 1999")
    path = kitchen / "standards" / "kitchen.yaml"
    variance = (
        "authorisations:\n  - {for: cook, authority: County, document: V-12, "
        f"from: 2026-02-01, until: {until}}}\n"
    )
    path.write_text(path.read_text(encoding="utf-8") + variance, encoding="utf-8")
    found = codes(compute(kitchen))
    assert ("code-not-for-here" not in found) == chosen
    assert ("code-superseded" in found) == chosen


@pytest.mark.parametrize("which", ["clean", "demo"])
def test_no_retail_sheet_shows_a_row_of_the_plants(
    which: str, request: pytest.FixtureRequest
) -> None:
    manual: Manual = request.getfixturevalue(which)
    foreign = {i for i, r in PACKS["us-fsis"].rows.items() if "FSIS" in r.document}
    shown = [
        o.row
        for walk in manual.walks.values()
        for lm in walk.limits
        for o in getattr(lm, "options", ())
    ]
    assert shown and not foreign & set(shown)
    for walk in manual.walks.values():
        assert "FSIS" not in limits_text(walk)


def test_an_edition_not_held_takes_the_longest_of_each_time(kitchen: Path) -> None:
    """17 s at 155 °F from the newer text, 15 s at 165 °F from the older one."""
    edit(kitchen, "kitchen.yaml", "edition: 2022", "edition: 2017")
    manual = compute(kitchen)
    assert codes(manual) == ["edition-not-held"]
    assert manual.house is not None
    holds = {
        (r.group, r.value.in_unit("°F")): r.hold.seconds
        for _, r in manual.house.pack.rows_of(CookRow)
        if r.value and r.hold and r.bound == "min"
    }
    assert holds["a2", 155] == 17 and holds["a3", 165] == 15
    rows = manual.house.pack.rows
    assert rows["cook-a3-165"].document == "Food Code 2013"
    assert rows["cook-a2-155"].document == "Food Code 2022"


def test_the_strictest_is_never_laxer_than_any() -> None:
    editions = [p for p in PACKS.values() if p.facts.model == "us-food-code"]
    assert len(editions) >= 2
    both = strictest(editions)
    for ident, row in both.rows.items():
        for pack in editions:
            other = pack.rows.get(ident)
            if isinstance(row, CookRow) and other is None:
                continue  # looked for by its figures: the test above
            if (
                isinstance(row, ThawRow) and row.how == "opened-package"
            ):  # a duty, which permits nothing
                continue
            assert other is not None, f"{ident} isn't in {pack.id}: nothing relies on it"
            if isinstance(row, CookRow) and isinstance(other, CookRow) and row.hold and other.hold:
                assert row.hold.seconds >= other.hold.seconds, ident
            # nothing else differs yet; if it does, strictest() must learn which side is strict
            else:
                blank = {"note": "", "document": ""}
                assert row.model_copy(update=blank) == other.model_copy(update=blank)


# --- groups


components = st.builds(
    lambda species, form, state: Component("x", "X", Fraction(1), species, state, form, True, ()),
    st.sampled_from([None, "none", "unicorn", *sorted(PACKS["us-food-code-2022"].definitions)]),
    st.sampled_from([None, "intact", "comminuted", "tenderised", "injected", "liquid", "dry"]),
    st.sampled_from([None, "raw", "pasteurised", "ready-to-eat"]),
)


@given(st.sampled_from(sorted(PACKS)), st.lists(components, max_size=6), st.booleans())
def test_no_mixture_falls_below_anything_in_it(
    name: str, parts: list[Component], stuffed: bool
) -> None:
    pack = PACKS[name]
    found = highest(Product(tuple(parts), stuffed=stuffed), pack)
    raw = [c for c in parts if c.raw_animal]
    if found is None:
        assert not raw
        return
    groups = [group_of(c, pack, stuffed) for c in raw]
    if found[0] is None:
        assert None in groups
    else:
        rank = pack.ranking.index(found[0])
        assert all(g is not None and pack.ranking.index(g) <= rank for g in groups)


@pytest.mark.parametrize("name", ["us-food-code-2022", "us-food-code-2013", "uk-england"])
@given(part=components, stuffed=st.booleans())
def test_nothing_raw_is_left_without_a_group(name: str, part: Component, stuffed: bool) -> None:
    if part.raw_animal:
        assert group_of(part, PACKS[name], stuffed) is not None


# --- strict rounding, whatever the unit of record


BOUNDED = [
    (p.id, i)
    for p in PACKS.values()
    for i, r in p.rows.items()
    if isinstance(r, BoundedRow | CookRow | OvenRow) and r.value and r.bound
]
assert len(BOUNDED) > 200


@given(
    st.sampled_from(BOUNDED),
    st.fractions(min_value=0, max_value=3, max_denominator=20),
)
def test_every_row_is_shown_and_read_on_its_strict_side(
    key: tuple[str, str], off: Fraction
) -> None:
    row = PACKS[key[0]].rows[key[1]]
    assert isinstance(row, BoundedRow | CookRow | OvenRow)
    assert row.value is not None and row.bound is not None
    found = figure_of(row.value, row.printed, row.bound, TemperatureDifference(off))
    assert found.shown(row.value.unit) == row.value.in_unit(row.value.unit), "untouched"
    for unit in ("°C", "°F"):
        exact = row.value.in_unit(unit)  # type: ignore[arg-type]
        margin = TemperatureDifference(off).in_unit(unit)  # type: ignore[arg-type]
        shown, read = found.shown(unit), found.read_at(unit)  # type: ignore[arg-type]
        if row.bound == "min":
            assert shown >= exact and read >= exact + margin
        else:
            assert shown <= exact and read <= exact - margin


# --- the probe


@pytest.mark.parametrize(
    ("reads", "accuracy", "refused"),
    [
        ("[°C, °F]", "1 °C", False),
        ("[°C, °F]", "2 °F", True),
        ("°C", "1.1 °C", True),
        ("°F", "2 °F", False),
        ("°F", "2.1 °F", True),
    ],
)
def test_how_far_a_probe_may_be_off(
    kitchen: Path, reads: str, accuracy: str, refused: bool
) -> None:
    """Food Code 4-203.11: 1 °C for °C or dual scale, 2 °F (1.11 °C) for °F only."""
    edit(
        kitchen,
        "equipment/house.yaml",
        "reads: [°C, °F], accuracy: 1 °C",
        f"reads: {reads}, accuracy: {accuracy}",
    )
    if reads == "°F":
        edit(kitchen, "kitchen.yaml", "temperature: °C", "temperature: °F")
    assert ("probe-too-inaccurate" in codes(compute(kitchen))) == refused


def test_another_countrys_probe_rule_is_not_borrowed(tmp_path: Path) -> None:
    shutil.copytree(ROOT / "tests/kitchens/england" / "standards", tmp_path / "standards")
    edit(tmp_path, "equipment/stove.yaml", "accuracy: 0.5 °C", "accuracy: 1.5 °C")
    manual = compute(tmp_path)
    assert "probe-too-inaccurate" not in codes(manual)
    hot = limit_of(manual, "lamb-stew", "hot_hold")
    assert hot.figure is not None and hot.figure.read_at_c == 65, "63 and 1.5, rounded up"


# --- England: no days in law, nothing undercooked, no figure for cooling


def test_england_keeps_the_chefs_figure(tmp_path: Path) -> None:
    shutil.copytree(ROOT / "tests/kitchens/england" / "standards", tmp_path / "standards")
    manual = compute(tmp_path)
    dates = manual.walks["beef-filling"].dates
    assert dates is not None
    assert (dates.day, dates.law_day, dates.chef_day) == (3, None, 3)
    assert "no number of days" in dates.law_words
    edit(tmp_path, "formulas/beef-filling.yaml", "keeps: {cold: 3 days}\n", "")
    assert codes(compute(tmp_path)) == ["keeps-missing"]


def test_england_chills_to_eight_at_most(tmp_path: Path) -> None:
    shutil.copytree(ROOT / "tests/kitchens/england" / "standards", tmp_path / "standards")
    edit(tmp_path, "processes/filling.yaml", "target: to 5 °C", "target: to 10 °C")
    assert codes(compute(tmp_path)) == ["target-above-limit"]


def test_undercooking_needs_a_row_that_allows_it(tmp_path: Path) -> None:
    shutil.copytree(ROOT / "tests/kitchens/england" / "standards", tmp_path / "standards")
    edit(
        tmp_path,
        "formulas/lamb-stew.yaml",
        "targets: {simmer: core 76 °C for 30 s}",
        "targets: {simmer: core 50 °C}\nundercooked: Asked for at the table.",
    )
    assert "not-covered" in codes(compute(tmp_path))


def test_words_reach_every_medium_and_no_figure_does(tmp_path: Path) -> None:
    shutil.copytree(ROOT / "tests/kitchens/england" / "standards", tmp_path / "standards")
    manual = compute(tmp_path)
    assert manual.house is not None
    limit = limit_of(manual, "beef-filling", "cool")
    view = limit_view(manual.house, limit)
    assert view.words == limit.words and view.figures == () and view.code == ""
    assert view.label == "Code" and "90 minutes" in view.note
    cook = limit_view(manual.house, limit_of(manual, "beef-filling", "cook"))
    assert cook.label == "Guidance"
    record = next(
        r for r in limits_record(manual.walks["beef-filling"])["limits"] if r["hazard"] == "cool"
    )
    assert record["words"] == limit.words
    assert not {"value", "shown_c", "stages", "read_at_c"} & set(record)


# --- thawing by method


THAW = "  - do: grind\n    add: [meat]\n"


def thawed(kitchen: Path, facts: str) -> Manual:
    edit(kitchen, BAKED, THAW, f"  - do: thaw\n    add: [meat]\n{facts}  - do: grind\n")
    return compute(kitchen)


@pytest.mark.parametrize(
    ("facts", "found"),
    [
        ("    in: cold-room\n", []),
        ("    at: 18 °C\n    time: 2 h\n", []),
        ("    at: 70 °F\n    time: 4 h\n", []),
        ("    at: 22 °C\n    time: 2 h\n", ["thaw-water-too-warm"]),
        ("    at: 18 °C\n    time: 4 h 1 min\n", ["thaw-too-long"]),
        ("    at: 18 °C\n", ["thaw-time-missing"]),
        ("    time: 2 h\n", ["not-covered"]),
        ("", ["not-covered"]),
    ],
)
def test_thawing(kitchen: Path, facts: str, found: list[str]) -> None:
    """Food Code 3-501.13(A): at 41 °F or below; (B): in water of 70 °F or below, raw food above 41
    °F for four hours at most. On the counter is no method."""
    assert codes(thawed(kitchen, facts)) == found


def test_what_comes_after_the_water_counts_too(kitchen: Path) -> None:
    """3-501.13(B)(4): the time to prepare it for cooking is in the four hours."""
    edit(kitchen, BAKED, "  - do: fill\n", "  - do: rest\n    time: 2 h\n  - do: fill\n")
    assert codes(thawed(kitchen, "    at: 18 °C\n    time: 2 h 30 min\n")) == [
        "thaw-too-long",
        "between-noted",
    ]


def test_the_limits_of_running_water(kitchen: Path) -> None:
    manual = thawed(kitchen, "    at: 18 °C\n    time: 2 h\n")
    assert manual.house is not None
    water, food = (lm for lm in manual.walks["pork-bake"].limits if lm.hazard == "thaw")
    assert isinstance(water, KeepingLimit) and isinstance(food, KeepingLimit)
    assert water.measured == "water"
    assert (water.figure.shown_f, water.read) == (70, 20)
    assert food.lasts is not None and food.lasts.most_s == 4 * 3600
    view = limit_view(manual.house, food)
    assert [f.number for f in view.figures] == ["4"]
    assert "above 4\u00a0°C, in all" in view.figures[0].words
    assert view.head.endswith("no longer than")


def test_thawed_ready_to_eat_food_has_no_time_above_the_limit(kitchen: Path) -> None:
    """3-501.13(B)(3): thawed parts of ready-to-eat food stay at 41 °F or below."""
    edit(
        kitchen,
        TOSS,
        "  - do: toss\n    add: [rice, dressing]\n",
        "  - do: thaw\n    add: [rice]\n    at: 15 °C\n    time: 1 h\n"
        "  - do: toss\n    add: [dressing]\n",
    )
    manual = compute(kitchen)
    assert codes(manual) == []
    food = [lm for lm in manual.walks["rice-salad"].limits if lm.hazard == "thaw"][1]
    assert isinstance(food, KeepingLimit)
    assert food.lasts is None and food.figure.shown_f == 41


# --- fish served raw


def raw_fish(kitchen: Path, freeze: str = "", fact: str = "", species: str = "fish") -> Manual:
    """The rice salad made of raw fish, served on request."""
    kind = "tuna" if "tuna" in fact else "bream"
    edit(
        kitchen,
        "ingredients/all.yaml",
        "name: Cooked rice\n  species: none\n  state: ready-to-eat\n  allergens: none",
        f"name: {'Yellowfin tuna' if 'tuna' in fact else 'Sea fish'}\n  species: {species}\n"
        "  state: raw\n  form: intact\n  arrives: cold\n  allergens: "
        f"[{f'fish ({kind})' if species == 'fish' else 'crustacean shellfish (x)'}]{fact}",
    )
    edit(
        kitchen,
        "formulas/rice-salad.yaml",
        "keeps: {cold: 3 days}",
        "undercooked: On request, with the advisory on the menu.",
    )
    edit(
        kitchen,
        TOSS,
        "  - do: toss\n    add: [rice, dressing]\n  - do: chill\n    in: cold-room\n"
        "    target: to 4 °C\n",
        f"{freeze or '  - do: weigh'}\n    add: [rice]\n  - do: toss\n    add: [dressing]\n"
        "  - do: serve\n",
    )
    return compute(kitchen)


@pytest.mark.parametrize(
    ("freeze", "found"),
    [
        ("", ["parasites-not-frozen"]),
        ("  - do: freeze", ["parasites-not-frozen"]),
        ("  - do: freeze\n    at: -21 °C\n    time: 7 days", []),
        ("  - do: freeze\n    at: -20 °C\n    time: 7 days", ["target-within-probe-error"]),
        ("  - do: freeze\n    at: -21 °C\n    time: 167 h", ["parasites-not-frozen"]),
        ("  - do: freeze\n    at: -18 °C\n    time: 30 days", ["parasites-not-frozen"]),
        ("  - do: freeze\n    at: -36 °C\n    time: 15 h", []),
        ("  - do: freeze\n    at: -36 °C\n    time: 14 h", ["parasites-not-frozen"]),
    ],
)
def test_raw_fish_is_frozen_first(kitchen: Path, freeze: str, found: list[str]) -> None:
    """Food Code 3-402.11(A): -4 °F for 168 h, or -31 °F for 15 h."""
    assert sorted(codes(raw_fish(kitchen, freeze))) == found


@pytest.mark.parametrize(
    ("by", "found"),
    [
        ("supplier-freezing", []),
        ("tuna", []),
        ("farmed", []),
        ("molluscan-shellfish", ["parasites-not-frozen"]),
    ],
)
def test_a_supplier_or_a_kind_that_needs_none(kitchen: Path, by: str, found: list[str]) -> None:
    """3-402.11(B); shellfish's exemption is no finfish's."""
    fact = f"\n  parasites: {{freed_by: {by}, record: Letter of 3 March}}"
    assert codes(raw_fish(kitchen, "", fact)) == found


def test_the_freezing_limit_on_the_page(kitchen: Path) -> None:
    manual = raw_fish(kitchen, "  - do: freeze\n    at: -21 °C\n    time: 8 days")
    assert manual.house is not None
    limit = limit_of(manual, "rice-salad", "parasites")
    assert limit.figure is not None
    assert (limit.figure.shown_f, limit.figure.shown_c, limit.read) == (-4, -20, -21)
    assert (limit.row_hold_s, limit.hold_s) == (7 * 86400, 8 * 86400)
    assert limit_view(manual.house, limit).hold_rest == "without rising above"
    assert "90 calendar days" in limit.note, "3-402.12(A)"
    (register,) = (p for p in make_pages(manual) if p.uri == REGISTER)
    reported = html.unescape(register.text)
    record = (
        reported.split('id="monitor-parasites"')[1].split("<dt>Record</dt>")[1].split("</dl>")[0]
    )
    assert "90 calendar days" in record and "(3-402.12(A))" in record


# --- time as the control


def held(kitchen: Path, facts: str, after: str = "  - do: serve\n") -> Manual:
    edit(
        kitchen,
        TOSS,
        "  - do: chill\n    in: cold-room\n    target: to 4 °C\n",
        "  - do: chill\n    in: cold-room\n    target: to 4 °C\n  - do: hold-by-time\n"
        f"{facts}{after}",
    )
    return compute(kitchen)


@pytest.mark.parametrize(
    ("facts", "after", "found"),
    [
        ("    procedure: Salad bar 1\n    time: 4 h\n", "  - do: serve\n", []),
        (
            "    procedure: Salad bar 1\n    time: 4 h 1 min\n",
            "  - do: serve\n",
            ["time-control-time"],
        ),
        ("    procedure: Salad bar 1\n    at: 20 °C\n    time: 6 h\n", "  - do: serve\n", []),
        (
            "    procedure: Salad bar 1\n    at: 22 °C\n    time: 6 h\n",
            "  - do: serve\n",
            ["time-control-time"],
        ),
        ("    procedure: Salad bar 1\n", "  - do: serve\n", ["time-control-time"]),
        ("    time: 3 h\n", "  - do: serve\n", ["time-control-unwritten"]),
        (
            "    procedure: Salad bar 1\n    time: 3 h\n",
            "  - do: freeze\n",
            ["time-control-then-kept"],
        ),
    ],
)
def test_time_as_the_control(kitchen: Path, facts: str, after: str, found: list[str]) -> None:
    """Food Code 3-501.19(B): four hours; (C): six, if it is never above 70 °F; by a written
    procedure."""
    assert codes(held(kitchen, facts, after)) == found


def test_food_held_by_time_and_kept_by_no_formula_is_never_stored(kitchen: Path) -> None:
    """3-501.19: what is held by time is served or discarded, so no cold store and no date is reported.
    A formula that keeps some of it, before it is put out, keeps both."""
    edit(kitchen, "formulas/rice-salad.yaml", "keeps: {cold: 3 days}\n", "")
    walk = held(kitchen, "    procedure: Salad bar 1\n    time: 4 h\n").walks["rice-salad"]
    assert [limit.hazard for limit in walk.limits] == ["cool", "time_control"]
    assert walk.dates is not None and walk.dates.day is None and walk.dates.kind == "by-time"


def test_food_kept_before_it_is_held_by_time_is_dated(kitchen: Path) -> None:
    walk = held(kitchen, "    procedure: Salad bar 1\n    time: 4 h\n").walks["rice-salad"]
    assert [limit.hazard for limit in walk.limits] == ["cool", "time_control", "cold_hold"]
    assert walk.dates is not None and walk.dates.day == 3


def test_hot_food_starts_hot(kitchen: Path) -> None:
    edit(
        kitchen,
        BAKED,
        "  - do: chill\n    in: blast\n    target: to 4 °C\n  - do: store\n    in: cold-room\n",
        "  - do: hold-by-time\n    procedure: Buffet 2\n    time: 3 h\n",
    )
    edit(kitchen, "formulas/pork-bake.yaml", "keeps: {cold: 5 days}\n", "")
    manual = compute(kitchen)
    assert codes(manual) == [] and manual.house is not None
    limit = limit_of(manual, "pork-bake", "time_control")
    assert isinstance(limit, KeepingLimit) and limit.lasts is not None
    assert limit.lasts.most_s == 4 * 3600 and limit.figure.shown_f == 135
    view = limit_view(manual.house, limit)
    assert (
        view.figures[0].number == "4"
        and view.start == "Starts at 59\u00a0°C or hotter on the probe."
    )


# --- packing without air


PLAN = (
    "authorisations:\n  - {for: pack-without-air, authority: County, document: HACCP 7, from: "
    "2026-02-01, until: 2027-02-01}\n"
)


def packed(kitchen: Path, facts: str, plan: str = PLAN, keeps: str = "30 days") -> Manual:
    """Raw pork, packed without air and kept cold."""
    path = kitchen / "standards" / "kitchen.yaml"
    path.write_text(path.read_text(encoding="utf-8") + plan, encoding="utf-8")
    for line in ("    whole-egg: 6 each\n    cream: 1 cup\n",):
        edit(kitchen, "formulas/pork-bake.yaml", line, "    salt: 1.6 %\n")
    edit(kitchen, "formulas/pork-bake.yaml", "    salt: 1.6 %\n    house-spice", "    house-spice")
    edit(
        kitchen,
        "formulas/pork-bake.yaml",
        "targets: {bake: core 72 °C}\nkeeps: {cold: 5 days}",
        f"keeps: {{cold: {keeps}}}\ncooked_later: Sold raw; the label says cook it.\n{facts}",
    )
    text = (kitchen / "standards" / BAKED).read_text(encoding="utf-8")
    start = text.index("  - do: fill")
    (kitchen / "standards" / BAKED).write_text(
        text[:start] + "  - do: vacuum-pack\n  - do: store\n    in: cold-room\n", encoding="utf-8"
    )
    edit(
        kitchen, "formulas/pork-bake.yaml", "batches: [4 dishes, 8 dishes]", "batches: [4 kg total]"
    )
    return compute(kitchen)


RAW = "without_air: {criterion: competing-organisms, record: Receiving log}"


@pytest.mark.parametrize(
    ("facts", "plan", "keeps", "found"),
    [
        (RAW, PLAN, "30 days", []),
        (RAW, PLAN, "31 days", ["keeps-beyond-law"]),
        (RAW, "", "10 days", ["not-covered"]),
        (RAW, PLAN.replace("2027-02-01", "2026-11-24"), "10 days", ["not-covered"]),
        ("", PLAN, "10 days", ["not-covered"]),
        ("without_air: {criterion: acidity, measured: 4.6, record: pH log 8}", PLAN, "10 days", []),
        (
            "without_air: {criterion: acidity, measured: 4.61, record: pH log 8}",
            PLAN,
            "10 days",
            ["not-covered"],
        ),
        ("without_air: {criterion: acidity, record: pH log 8}", PLAN, "10 days", ["not-covered"]),
        (
            "without_air: {criterion: water-activity, measured: 0.91, record: aw 3}",
            PLAN,
            "10 days",
            [],
        ),
        (
            "without_air: {criterion: water-activity, measured: 0.92, record: aw 3}",
            PLAN,
            "10 days",
            ["not-covered"],
        ),
        (
            "without_air: {criterion: cured-at-a-plant, record: Label}",
            PLAN,
            "10 days",
            ["not-covered"],
        ),
    ],
)
def test_packing_without_air(
    kitchen: Path, facts: str, plan: str, keeps: str, found: list[str]
) -> None:
    """Food Code 3-502.12(B): a HACCP plan, one of four criteria, 41 °F, 30 days from packing."""
    assert [f.code for f in packed(kitchen, facts, plan, keeps).errors] == found


def test_fish_is_never_packed_without_air(kitchen: Path) -> None:
    """3-502.12(C) holds fish to rules of its own."""
    edit(
        kitchen,
        "ingredients/all.yaml",
        "name: Pork shoulder\n  species: pork\n  state: raw\n  form: intact\n  allergens: none",
        "name: Hake\n  species: fish\n  state: raw\n  form: intact\n  allergens: [fish (hake)]",
    )
    assert [f.code for f in packed(kitchen, RAW, keeps="3 days").errors] == ["not-covered"]


def test_cooked_food_is_not_raw_and_keeps_from_packing(kitchen: Path) -> None:
    """3-501.17(A): the seven days don't count for food packed by 3-502.12; its thirty from packing
    do."""
    path = kitchen / "standards" / "kitchen.yaml"
    path.write_text(path.read_text(encoding="utf-8") + PLAN, encoding="utf-8")
    edit(kitchen, BAKED, "  - do: store", "  - do: vacuum-pack\n  - do: store")
    edit(
        kitchen,
        "formulas/pork-bake.yaml",
        "keeps: {cold: 5 days}",
        f"keeps: {{cold: 8 days}}\n{RAW}",
    )
    assert [f.code for f in compute(kitchen).errors] == ["keeps-beyond-law", "not-covered"]
    edit(
        kitchen,
        "formulas/pork-bake.yaml",
        RAW,
        "without_air: {criterion: acidity, measured: 4.2, record: pH log 8}",
    )
    assert [f.code for f in compute(kitchen).errors] == []
    edit(kitchen, "formulas/pork-bake.yaml", "cold: 8 days", "cold: 31 days")
    assert [f.code for f in compute(kitchen).errors] == ["keeps-beyond-law"]


# --- a stage with a time of its own


def stabilised(tmp_path: Path) -> Limit:
    project = lay("base", tmp_path / "plant")
    edit(
        project,
        "kitchen.yaml",
        CODE,
        "operation: inspected-establishment\ncode: {model: us-fsis, edition: 1999",
    )
    edit(
        project,
        "ingredients/all.yaml",
        "name: Pork shoulder\n  species: pork",
        "name: Shoulder\n  species: chicken",
    )
    edit(project, "formulas/pork-bake.yaml", "    whole-egg: 6 each\n", "")
    manual = compute(project)
    assert manual.errors == () and "code-superseded" in codes(manual)
    walk = suppose(manual, "pork-bake", "bake", read_target("core 76 °C"))
    limit = next(lm for lm in walk.limits if lm.hazard == "cool")
    assert manual.house is not None
    view = limit_view(manual.house, limit)
    assert [f.words for f in view.figures] == [
        "within 1\u00a0h 30\u00a0min",
        "within 5\u00a0h of that",
    ]
    assert view.label == "Guidance"
    return limit


@pytest.mark.parametrize(
    ("course", "verdict"),
    [
        # °F by minutes: 130 to 80 in 30 min, then 5 h to 40: fine although 5.5 h from the start
        ([(0, 130), (1, 129), (29, 81), (30, 80), (329, 40)], "pass"),
        # 6.5 h in all would allow it; the second stage by itself took 5 h 40 min
        ([(0, 130), (1, 129), (29, 81), (30, 80), (370, 41), (371, 40)], "fail"),
        ([(0, 130), (1, 129), (95, 81), (96, 80), (200, 40)], "fail"),
    ],
)
def test_each_stage_is_judged_by_its_own_clock(
    tmp_path: Path, course: list[tuple[int, int]], verdict: str
) -> None:
    """FSIS Appendix B, option 1: 1.5 h from 130 to 80 °F, then 5 h to 40 °F."""
    limit = stabilised(tmp_path)
    start = datetime.datetime(2026, 11, 25, 8, tzinfo=datetime.UTC)
    readings = tuple(
        Reading(start + datetime.timedelta(minutes=m), Temperature.of(f, "°F"), line)
        for line, (m, f) in enumerate(course, 2)
    )
    log = ReadingLog("log.csv", "°F", (Series("P1", readings),), (), False, datetime.UTC)  # type: ignore[arg-type]
    assert judge(log, limit, Fraction(300)).verdict == verdict


def test_a_pack_is_data_alone() -> None:
    """No rule names a place: the words of a model or a country are in shared/ only."""
    names = {p.facts.model for p in PACKS.values()}
    for path in (ROOT / "generator").rglob("*.py"):
        text = path.read_text(encoding="utf-8").replace('examples=["us-food-code"]', "")
        assert not [n for n in names if f'"{n}"' in text], path


def test_sharing_keeps_the_other_documents_name() -> None:
    shared = PACKS["us-fsis"].rows["hot-135"]
    assert shared.document == "Food Code 2022"
    same_model: Pack = PACKS["us-food-code-2013"]
    assert same_model.rows["hot-135"].document == ""


def test_nothing_raw_is_served_by_silence(kitchen: Path) -> None:
    """Food Code 3-401.11: raw animal food is cooked, or served raw on request by the formula's
    word."""
    text = (kitchen / "standards" / BAKED).read_text(encoding="utf-8")
    start = text.index("  - do: bake")
    (kitchen / "standards" / BAKED).write_text(text[:start] + "  - do: serve\n", encoding="utf-8")
    edit(
        kitchen,
        "formulas/pork-bake.yaml",
        "targets: {bake: core 72 °C}\nkeeps: {cold: 5 days}\n",
        "",
    )
    found = compute(kitchen)
    assert [f.code for f in found.errors] == ["raw-not-cooked"]
    assert "Pork shoulder and Whole egg" in found.errors[0].message

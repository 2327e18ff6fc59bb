"""A plant under inspection: the lethality table and the cooling schedule its plan goes by; and
smoking."""

from __future__ import annotations

import html
import json
import shutil
from pathlib import Path

import pytest
from commands import run
from conftest import AS_OF, ROOT, compute, edit, lay
from hypothesis import given, settings
from hypothesis import strategies as st

from generator.answers.limits import limit_record, limits_text
from generator.binder.documents import station_binder
from generator.binder.limit_box import limit_block
from generator.pages import make_pages
from generator.reference.library import read_reference
from generator.reference.row_kinds import WordsRow
from generator.rules.basics.limit import HeatingLimit, Limit
from generator.sheet.manual import Manual
from generator.views.limit_view import limit_view

FSIS = read_reference(ROOT / "shared").packs["us-fsis"]
BAKE, BAKED = "formulas/pork-bake.yaml", "processes/baked.yaml"
BEEF = "name: Beef\n  species: beef\n  state: raw\n  form: intact\n  allergens: none"
EGG = "name: Whole egg\n  species: egg\n  state: raw\n  form: liquid\n  allergens: [eggs]"
CURE = (
    "pink-cure: {name: Curing salt, species: none, state: ready-to-eat, allergens: none, tcs: no, "
    "function: cure, nitrite: 6.25 %}\n"
)
PLAN = "  - {for: cure, authority: FSIS, document: Plan 7, from: 2026-02-01, until: 2028-02-01}\n"


def plant(
    path: Path,
    *,
    species: str = "chicken",
    lethality: str = "",
    by: str = "",
    target: str = "core 76 °C for 2 h",
    cure: str = "",
    smoke: str = "",
    more: str = "",
    second: str = "",
) -> Manual:
    """The clean kitchen as a plant: one whole meat baked and chilled, cured by so much, smoked
    ``before`` or ``after`` the oven, with a ``second`` raw meat in it."""
    project = lay("base", path / "plant")
    edit(
        project,
        "kitchen.yaml",
        "code: {model: us-food-code, edition: 2022",
        "operation: inspected-establishment\ncode: {model: us-fsis, edition: 1999",
    )
    edit(
        project,
        "ingredients/all.yaml",
        "name: Pork shoulder\n  species: pork",
        f"name: Shoulder\n  species: {species}",
    )
    edit(project, BAKED, "  - do: grind\n    add: [meat]\n", "  - do: season\n    add: [meat]\n")
    if second:
        edit(
            project,
            "ingredients/all.yaml",
            EGG,
            BEEF.replace("beef", second).replace("Beef", second.title()),
        )
    else:
        edit(project, BAKE, "    whole-egg: 6 each\n", "")
    edit(project, BAKE, "bake: core 72 °C", f"bake: {target}")
    keys = f"lethality: {lethality}\n" if lethality else ""
    keys += "smoked_for: flavour\n" if smoke else ""
    keys += "cured_as: dry\n" if cure else ""
    edit(project, BAKE, "process: baked\n", f"process: baked\n{keys}{more}")
    if by:
        edit(project, BAKED, "  - do: chill\n", f"  - do: chill\n    schedule: {by}\n")
    if smoke:
        at = "bake" if smoke == "before" else "chill"
        edit(project, BAKED, f"  - do: {at}\n", f"  - do: smoke\n    time: 1 h\n  - do: {at}\n")
    if cure:
        edit(project, BAKE, "    salt: 1.6 %\n", f"    salt: 1.6 %\n    pink-cure: {cure}\n")
        edit(project, "kitchen.yaml", "probe: probe\n", f"probe: probe\nauthorisations:\n{PLAN}")
        edit(project, "ingredients/all.yaml", "cooked-rice:\n", f"{CURE}cooked-rice:\n")
        edit(
            project,
            "equipment/house.yaml",
            "division: 0.1 g, accuracy: 0.1 g, capacity: 500 g",
            "division: 0.01 g, accuracy: 0.01 g, capacity: 500 g",
        )
    return compute(project)


def limit_of(manual: Manual, hazard: str) -> Limit:
    return next(lm for lm in manual.walks["pork-bake"].limits if lm.hazard == hazard)


def errors(manual: Manual) -> list[str]:
    return [f.code for f in manual.errors]


def table_of(limit: Limit) -> dict[str, float]:
    options = limit.options if isinstance(limit, HeatingLimit) else ()
    return {str(o.figure.value.in_unit("°F")): float(o.hold_s or 0) for o in options}


# --- which table


def test_nothing_stated_is_the_packs_own_table(tmp_path: Path) -> None:
    """6.5 logs for beef, 7 for poultry with a time at 160 °F
    (tests/published/lethality_fsis.csv)."""
    beef = table_of(limit_of(plant(tmp_path / "a", species="beef"), "cook"))
    assert beef["130"] == 112 * 60
    chicken = table_of(limit_of(plant(tmp_path / "b"), "cook"))
    assert chicken["160"] == 16.9 and "130" not in chicken


def test_seven_logs_are_never_shorter_than_six_and_a_half(tmp_path: Path) -> None:
    """Property over the whole column: what the plan asks for on top is at least as long at every
    temperature."""
    own = table_of(limit_of(plant(tmp_path / "a", species="beef"), "cook"))
    seven = table_of(limit_of(plant(tmp_path / "b", species="beef", lethality="7-log"), "cook"))
    assert own.keys() == seven.keys() and len(own) == 31
    assert all(seven[at] >= hold for at, hold in own.items()) and seven["130"] == 121 * 60


@pytest.mark.parametrize(
    ("facts", "found"),
    [
        ({"species": "chicken", "lethality": "6.5-log"}, ["lethality-not-for-this"]),
        ({"species": "beef", "lethality": "single-temperature"}, ["lethality-not-for-this"]),
        (
            {"species": "chicken", "second": "beef", "lethality": "single-temperature"},
            ["lethality-not-for-this"],
        ),
        ({"species": "beef", "lethality": "6.5-log"}, []),
        ({"species": "chicken", "lethality": "7-log"}, []),
        ({"species": "turkey", "second": "chicken", "lethality": "single-temperature"}, []),
        # 7 logs of a mixture with poultry are the poultry's, never the column for meat
        ({"species": "chicken", "second": "beef", "lethality": "7-log"}, []),
    ],
)
def test_a_table_is_for_its_own_food(
    tmp_path: Path, facts: dict[str, str], found: list[str]
) -> None:
    manual = plant(tmp_path, **facts)  # type: ignore[arg-type]
    assert errors(manual) == found
    limit = limit_of(manual, "cook")
    groups = {o.group for o in limit.options}
    if "chicken" in facts.values():
        assert not groups & {"beef", "beef-7"}
    if found:
        assert groups == {"chicken"} or groups == {"beef"}, "its own table stands"


def test_the_column_for_meat_undercooks_poultry(tmp_path: Path) -> None:
    """FSIS-NOTMEAT: 150 °F for 72 s, the 7-log row for meat, is short for chicken whatever the
    formula says."""
    manual = plant(tmp_path, lethality="7-log", target="core 150 °F for 72 s")
    assert errors(manual) == ["target-below-limit"]


@pytest.mark.parametrize(
    ("facts", "figure"),
    [
        ({}, 160),
        ({"cure": "0.24 %"}, 160),
        ({"smoke": "before"}, 160),
        ({"cure": "0.24 %", "smoke": "after"}, 160),
        ({"cure": "0.24 %", "smoke": "before"}, 155),
    ],
)
def test_155_is_for_poultry_cured_and_smoked(
    tmp_path: Path, facts: dict[str, str], figure: int
) -> None:
    """FSIS-1999-UNCURED and -CURED: both facts, and the smoke before or while it cooks; else 160
    °F."""
    manual = plant(tmp_path, lethality="single-temperature", target="core 73 °C", **facts)  # type: ignore[arg-type]
    assert errors(manual) == []
    limit = limit_of(manual, "cook")
    assert table_of(limit) == {str(figure): 0.0} and limit.row_hold_s == 0
    short = plant(
        tmp_path / "short", lethality="single-temperature", target=f"core {figure - 1} °F", **facts
    )  # type: ignore[arg-type]
    assert errors(short) == ["target-below-limit"]


@settings(max_examples=20)
@given(
    species=st.sampled_from(["beef", "chicken", "turkey", "duck", "pork"]),
    cure=st.sampled_from(["", "0.24 %"]),
    smoke=st.sampled_from(["", "before", "after"]),
    asked=st.sampled_from(["6.5-log", "7-log", "single-temperature"]),
)
def test_no_fact_alone_opens_a_laxer_table(
    tmp_path_factory: pytest.TempPathFactory, species: str, cure: str, smoke: str, asked: str
) -> None:
    """Property: without `lethality` cure and smoke change no row; with it the rows differ only
    where no error says that the table isn't for this food."""
    folder = tmp_path_factory.mktemp("plant")
    bare = plant(folder / "a", species=species)
    facts = plant(folder / "b", species=species, cure=cure, smoke=smoke)
    named = plant(folder / "c", species=species, cure=cure, smoke=smoke, lethality=asked)

    def rows(manual: Manual) -> dict[str, float]:
        return table_of(limit_of(manual, "cook"))

    assert rows(bare) == rows(facts)
    if "lethality-not-for-this" in errors(named) or "not-covered" in errors(named):
        assert rows(named) == rows(bare)


def test_a_formula_that_cooks_nothing_names_no_table(kitchen: Path) -> None:
    edit(kitchen, "formulas/rice-salad.yaml", "process: toss", "process: toss\nlethality: 7-log")
    found = compute(kitchen).errors
    assert [f.code for f in found] == ["lethality-not-held"] and "none to choose" in found[
        0
    ].message


def test_the_words_on_humidity_stand_on_every_limit_of_the_tables(tmp_path: Path) -> None:
    """Guideline of 2021, table 1: 90 % for a quarter of the time and an hour; steam or a sealed
    oven from 145 °F."""
    row = FSIS.rows["humidity"]
    own = {
        i: g for i, g in FSIS.groups.items() if i != "roast"
    }  # that one came with a row of the Food Code's
    assert own and all(g.asks_row == "humidity" for g in own.values())
    manual = plant(tmp_path, lethality="single-temperature", target="core 73 °C")
    limit = limit_of(manual, "cook")
    assert row.words in limit.note and "90 % relative humidity" in row.words
    assert "December 2021" in dict(limit.basis.inputs)["Humidity"]
    assert dict(limit.basis.inputs)["Table"] == "single-temperature, by the formula"


# --- which schedule


def test_option_2_is_reported_everywhere(tmp_path: Path) -> None:
    """STAB-2a to -2c on a probe of ±1 °C: 120 °F is 48.9 °C, read at 50; 80, 55 and 40 °F at 25, 11
    and 3."""
    manual = plant(tmp_path, species="beef", by="option-2")
    assert errors(manual) == [] and manual.house is not None
    limit = limit_of(manual, "cool")
    view = limit_view(manual.house, limit)
    assert [(f.number, f.words.replace("\u00a0", " ")) for f in view.figures] == [
        ("25", "within 1 h, advised"),
        ("11", "within 6 h"),
        ("3", "before it is packed"),
    ]
    assert view.start.replace("\u00a0", " ").startswith(
        "Begin chilling within 1 h 30 min after cooking."
    )
    assert "falls to 50" in view.start and "not a miss" in view.note
    box = limit_block(manual.house, limit, "5", "Chill")
    heads = [json.dumps(s["words"], ensure_ascii=False) for s in box["stages"]]
    assert len(heads) == 5 and "Begin within" in heads[0] and "advised" in heads[2]
    assert heads[4] == '"Before it is packed"' and box["stages"][4]["number"] == "3"
    record = limit_record(limit)
    assert record["begins_within_s"] == 5400 and record["before_packed"]["read_at_c"] == 3
    assert [s.get("advised", False) for s in record["stages"]] == [True, False]
    text = limits_text(manual.walks["pork-bake"])
    assert "should read 25 °C (78 °F) or colder within 1 h, advised" in text
    assert "must read 3 °C (38 °F) or colder before it is packed" in text
    pages = {p.uri: html.unescape(p.html) for p in make_pages(manual)}
    for uri in ("range/pork-bake.md", "control/limits.md"):
        assert "before it is packed" in pages[uri] and "advised" in pages[uri], uri


def test_the_cooling_log_has_a_line_for_the_beginning_and_for_packing(tmp_path: Path) -> None:
    """By hand from the example's 12:50 cooked and 14:10 start: 90 min is 14:20, 1 h 15:10, 6 h
    20:10."""
    manual = plant(tmp_path, species="beef", by="option-2")
    log = next(s for s in station_binder(manual, "range", {}, "") if s["key"].endswith("/log-cool"))
    reported = json.dumps(log, ensure_ascii=False).replace("\u00a0", " ")
    assert '"fixed": ["begun", "+ 1 h", "+ 6 h", "packing"]' in reported
    assert (
        "Begin chilling within 1 h 30 min after cooking" in reported
        and "Before it is packed" in reported
    )
    at = [reported.index(f'"deadline": "{clock}"') for clock in ("14:20", "15:10", "20:10")]
    assert at == sorted(at)


def test_a_schedule_goes_to_its_end_and_no_target_stops_before(tmp_path: Path) -> None:
    """Not packed above 40 °F: a target that meets the 55 °F alone is refused."""
    manual = plant(tmp_path, species="beef", by="option-2")
    project = tmp_path / "plant"
    assert errors(manual) == []
    edit(project, BAKED, "target: to 4 °C", "target: to 10 °C")
    assert errors(compute(project)) == ["target-above-limit"]


@pytest.mark.parametrize(
    ("waits", "found"),
    [("90 min", []), ("91 min", ["chill-begun-too-late", "schedule-not-for-this"])],
)
def test_a_schedule_isn_t_for_what_stands_longer_before_it_is_begun(
    tmp_path: Path, waits: str, found: list[str]
) -> None:
    """Appendix B, option 2: chilling begins within 90 minutes of the end of cooking."""
    plant(tmp_path, species="beef", by="option-2")
    project = tmp_path / "plant"
    edit(project, BAKED, "  - do: chill\n", f"  - do: rest\n    time: {waits}\n  - do: chill\n")
    manual = compute(project)
    assert errors(manual) == found
    assert (limit_of(manual, "cool").begin_s is None) == bool(found)


def test_without_a_schedule_the_first_counts(tmp_path: Path) -> None:
    named = limit_of(plant(tmp_path / "a", by="option-1"), "cool")
    bare = limit_of(plant(tmp_path / "b"), "cool")
    assert named == bare and bare.begin_s is None and bare.finish is None
    assert [s.advised for s in bare.stages] == [False, False]


@pytest.mark.parametrize(
    ("cure", "found"),
    [
        ("", ["schedule-not-for-this"]),
        ("0.24 %", []),
        ("0.15 %", ["dose-below-minimum", "schedule-not-for-this"]),
    ],
)
def test_option_3_is_for_cured_food(tmp_path: Path, cure: str, found: list[str]) -> None:
    """Appendix B, option 3, as the Canadian agency says it: cured with at least 100 ppm of ingoing
    nitrite. 0.15 % of a 6.25 % cure are 93.75 ppm, 0.24 % are 150 ppm."""
    manual = plant(tmp_path, cure=cure, by="option-3")
    assert sorted(errors(manual)) == found
    limit = limit_of(manual, "cool")
    clause = "option 1" if found else "option 3"
    assert limit.source.clause == clause, "refused, it cools by the first"
    if not found:
        assert [float(s.within_s) / 3600 for s in limit.stages] == [5, 10]
        assert limit.stages[1].after_stage and "45 or 40" in limit.note
        assert float(limit.stages[1].figure.value.in_unit("°F")) == 40


def test_uncured_meat_beside_cured_meat_is_not_cured(tmp_path: Path) -> None:
    """The cure of a formula made ahead counts for its own meat: ham in a dish of raw chicken cures
    no chicken."""
    manual = plant(tmp_path, cure="0.24 %", by="option-3")
    project = tmp_path / "plant"
    assert errors(manual) == []
    edit(
        project,
        "formulas/rice-salad.yaml",
        "cooked-rice: 2 kg",
        "pork-bake: 1 kg\n    pork-shoulder: 1 kg",
    )
    edit(
        project,
        "processes/toss.yaml",
        "  - do: toss\n    add: [rice, dressing]\n  - do: chill\n",
        "  - do: boil\n    add: [rice, dressing]\n    target: core 76 °C for 2 h\n"
        "  - do: chill\n    schedule: option-3\n",
    )
    assert "schedule-not-for-this" in errors(compute(project))
    edit(project, "formulas/rice-salad.yaml", "    pork-shoulder: 1 kg\n", "")
    assert "schedule-not-for-this" not in errors(compute(project)), "all of its meat is"


def test_a_house_limit_stands_in_for_the_schedule_that_was_chosen(tmp_path: Path) -> None:
    """Stricter than option 2 where it reaches 55 °F sooner; its advised hour and its beginning
    stay."""
    plant(tmp_path, species="beef", by="option-2")
    project = tmp_path / "plant"
    with (project / "standards/kitchen.yaml").open("a") as file:
        file.write(
            "house_limits:\n  - {for: cool, limit: [to 12 °C within 4 h, to 3 °C within 8 h]}\n"
        )
    edit(project, BAKED, "target: to 4 °C", "target: to 2 °C")
    manual = compute(project)
    assert errors(manual) == []
    limit = limit_of(manual, "cool")
    assert limit.house is not None and limit.house.standing == "stricter"
    assert [s.advised for s in limit.stages] == [True, False, False] and limit.begin_s == 5400
    edit(
        project,
        "kitchen.yaml",
        "to 12 °C within 4 h, to 3 °C within 8 h",
        "to 13 °C within 4 h, to 3 °C within 8 h",
    )
    assert errors(compute(project)) == ["house-limit-looser"]


def test_a_log_by_option_2(tmp_path: Path) -> None:
    """`review`: the verdict, when chilling was begun, and the hour that settles nothing."""
    plant(tmp_path, species="beef", by="option-2", target="core 71 °C")
    project = tmp_path / "plant"
    log = tmp_path / "log.csv"

    def reported(*readings: tuple[str, int]) -> dict[str, object]:
        rows = "".join(f"2026-11-25 {at},A,{t}\n" for at, t in readings)
        log.write_text(f"time,probe,temp_f\n{rows}", encoding="utf-8")
        words = (
            "review",
            str(log),
            "--formula",
            "pork-bake",
            "--step",
            "chill",
            "--format",
            "json",
        )
        done = run(project, *words, "--as-of", str(AS_OF))
        found: dict[str, object] = json.loads(done.stdout)
        return found

    end = (("13:30", 52), ("16:00", 38))
    good = reported(("08:00", 162), ("09:00", 123), ("09:05", 118), ("09:50", 77), *end)
    assert good["verdict"] == "pass" and good["notes"] == []
    assert good["per_probe"][0]["begun_within_s"] == 3900  # type: ignore[index]
    late = reported(
        ("08:00", 162), ("09:00", 121), ("09:05", 119), ("10:10", 81), ("10:20", 79), *end
    )
    assert late["verdict"] == "cannot tell" and "miss" in str(late["why"])
    assert str(late["corrective_action"]).startswith("Set it aside")
    unknown = reported(("09:00", 121), ("09:05", 119), ("09:50", 79), *end)
    assert unknown["verdict"] == "cannot tell"  # the log begins below the cooking temperature
    assert "whether chilling began" in str(unknown["why"])
    open_end = reported(("08:00", 162), ("09:00", 121), ("09:05", 119), ("09:50", 79), end[0])
    assert open_end["verdict"] == "cannot tell" and "before it is packed" in str(open_end["why"])


# --- smoking

VARIANCE = (
    "authorisations:\n  - {for: smoke, authority: County, document: V-3, from: "
    "2026-02-01, until: %s}\n"
)


def smoked(kitchen: Path, said: str, until: str = "") -> Manual:
    edit(kitchen, BAKED, "  - do: bake\n", "  - do: smoke\n    time: 1 h\n  - do: bake\n")
    if said:
        edit(kitchen, BAKE, "process: baked", f"process: baked\nsmoked_for: {said}")
    if until:
        edit(kitchen, "kitchen.yaml", "probe: probe\n", f"probe: probe\n{VARIANCE % until}")
    return compute(kitchen)


@pytest.mark.parametrize(
    ("said", "until", "found"),
    [
        ("", "", ["smoked-without-variance"]),
        ("keeping", "", ["smoked-without-variance"]),
        ("keeping", "2026-11-24", ["smoked-without-variance"]),
        ("keeping", "2026-11-25", []),
        ("", "2027-11-25", []),
        ("flavour", "", []),
    ],
)
def test_smoking_to_keep_needs_a_variance(
    kitchen: Path, said: str, until: str, found: list[str]
) -> None:
    """Food Code 3-502.11(A): before smoking food as a method of preservation rather than of flavour
    enhancement."""
    manual = smoked(kitchen, said, until)
    assert errors(manual) == found
    if found:
        assert manual.errors[0].source == "Food Code 2022, 3-502.11(A)"


def enacted(limit: Limit) -> tuple[object, ...]:
    figures = (getattr(limit, key, None) for key in ("figure", "options", "stages"))
    return limit.hazard, type(limit), *figures


def test_smoke_changes_no_limit(kitchen: Path) -> None:
    before = compute(kitchen).walks["pork-bake"]
    after = smoked(kitchen, "flavour").walks["pork-bake"]
    assert list(map(enacted, after.limits)) == list(map(enacted, before.limits))


def test_a_smoke_that_cooks_has_a_core_target(kitchen: Path) -> None:
    """`do: smoke, does: cooks` is cooking: pork and egg mixed go by 3-401.11(A)(2)."""
    edit(
        kitchen,
        BAKED,
        "  - do: bake\n    with: range-oven\n    at: 180 °C\n",
        "  - do: smoke\n    does: cooks\n    id: bake\n    at: 110 °C\n",
    )
    edit(kitchen, BAKE, "process: baked", "process: baked\nsmoked_for: flavour")
    manual = compute(kitchen)
    assert errors(manual) == []
    limit = limit_of(manual, "cook")
    assert (limit.verb, limit.verdict.status) == ("Smoke", "meets")
    edit(kitchen, BAKE, "bake: core 72 °C", "bake: core 60 °C")
    assert errors(compute(kitchen)) == ["target-below-limit"]


@pytest.mark.parametrize(("said", "found"), [("keeping", ["not-covered"]), ("flavour", [])])
def test_england_says_nothing_of_smoking_to_keep(
    tmp_path: Path, said: str, found: list[str]
) -> None:
    """No row, so it isn't allowed by silence."""
    shutil.copytree(ROOT / "tests/kitchens/england" / "standards", tmp_path / "standards")
    edit(
        tmp_path,
        "processes/stew.yaml",
        "  - do: simmer\n    add: [meat, broth]\n",
        "  - do: smoke\n    add: [meat]\n    time: 1 h\n  - do: simmer\n    add: [broth]\n",
    )
    edit(tmp_path, "formulas/lamb-stew.yaml", "process: stew", f"process: stew\nsmoked_for: {said}")
    assert errors(compute(tmp_path)) == found
    packs = read_reference(ROOT / "shared").packs
    assert packs["uk-england"].row_for(WordsRow, "keeping", "smoking") is None
    assert any("smoking food to keep it" in g.what for g in packs["uk-england"].facts.not_covered)
    for name in ("us-food-code-2022", "us-food-code-2013", "us-fsis"):
        found = packs[name].row_for(WordsRow, "keeping", "smoking")
        assert found is not None and found[1].clause == "3-502.11(A)"

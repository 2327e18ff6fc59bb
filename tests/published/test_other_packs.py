"""The packs beside the Food Code of 2022, and what was added to it, against a second reading.

Rows of law and guidance are compared as they are in the data and as the limits of a kitchen show
them. Sources of each row: the keys in its `source` column, titles in sources.csv.
"""

from __future__ import annotations

import csv
from fractions import Fraction
from pathlib import Path

import pytest
from conftest import ROOT, compute, edit, lay
from each_row import each_row

from generator.measures.amounts import Amount
from generator.measures.temperature import Temperature, read_temperature
from generator.measures.times import read_time
from generator.measures.words import NARROW
from generator.records.process import read_target
from generator.reference.library import read_reference
from generator.reference.row_kinds import (
    BoundedRow,
    CookRow,
    CoolRow,
    ParasitesRow,
    ProbeRow,
    ReceiveRow,
    ReducedOxygenRow,
    ReheatRow,
    Row,
    WordsRow,
)
from generator.rules.basics.check_points import check_readings
from generator.rules.basics.limit import InWords, Limit, Probed
from generator.sheet.edited import suppose
from generator.sheet.manual import Manual
from generator.views.limit_view import limit_view

HERE = Path(__file__).parent
LIBRARY = read_reference(ROOT / "shared")
OLD, NEW = LIBRARY.packs["us-food-code-2013"], LIBRARY.packs["us-food-code-2022"]
FSIS, ENGLAND = LIBRARY.packs["us-fsis"], LIBRARY.packs["uk-england"]


def table(name: str) -> dict[str, dict[str, str]]:
    with (HERE / name).open(encoding="utf-8", newline="") as lines:
        return {row["id"]: row for row in csv.DictReader(lines)}


COOKING, COOLING = table("cooking_food_code.csv"), table("cooling_holding.csv")
LETHALITY, UK = table("lethality_fsis.csv"), table("lethality_uk.csv")
PLACES, MORE = table("cooling_other_places.csv"), table("food_code_more.csv")
BOILING = table("boiling_points.csv")
ROUND = table("fsis_more.csv")


def fahrenheit(text: str) -> Temperature:
    return Temperature.of(text, "°F")


def celsius(text: str) -> Temperature:
    return Temperature.of(text, "°C")


# --- Food Code 2013 ---

OLD_ROWS = {"FC-OLD-A2": "cook-a2-155", "FC-OLD-A3": "cook-a3-165"}


@pytest.mark.parametrize("key", OLD_ROWS)
def test_the_older_edition_holds_what_it_held(key: str) -> None:
    """15 s at 155 and 165 °F before 2017; 17 s and any one reading since."""
    published, row = COOKING[key], OLD.rows[OLD_ROWS[key]]
    assert published["use"] == "superseded"
    assert row.value is not None and row.value.celsius == fahrenheit(published["temp_F"]).celsius
    assert row.printed == celsius(published["temp_C_printed"])
    assert row.hold is not None and row.hold.seconds == Fraction(published["hold_seconds"])
    newer = NEW.rows[OLD_ROWS[key]].hold
    now = COOKING[key.replace("OLD-", "")]
    assert newer is not None and newer.seconds == Fraction(now["hold_seconds"])
    assert newer.seconds != row.hold.seconds


def test_what_the_older_edition_shares_was_read_for_it() -> None:
    """A shared row's own `editions` reach back to 2013, or the row says in words what was read."""
    own = {
        "cook-a1-egg-145",
        "cook-a1-145",
        "cook-a2-155",
        "cook-a2-145",
        "cook-a2-150",
        "cook-a2-158",
        "cook-a3-165",
    }
    for ident, row in OLD.rows.items():
        if ident in own:
            assert "before 2017" in row.editions
            continue
        assert row == NEW.rows[ident], ident
        years = [
            int(word)
            for word in row.editions.replace("-", " ").replace(",", " ").split()
            if word.isdigit()
        ]
        assert (years and years[0] <= 2013) or row.note, ident
    missing = set(NEW.rows) - set(OLD.rows)
    assert {i for i in missing if NEW.rows[i].hazard != "receive"} == {
        "time-4h-cut-or-opened",
        "thaw-packed-fish",
        "thaw-packed-fish-water",
        "rop-within-48-hours",
        "cook-chill-near-freezing-then-cold",
    }


# --- Food Code 2022: what was added ---

ADDED = {
    "PAR-1": "freeze-4-7-days",
    "PAR-2": "freeze-31-15-hours",
    "PAR-3": "freeze-31-store-4-24-hours",
    "REC-1": "receive-cold-41",
    "REC-2": "receive-eggs-45",
    "REC-3": "receive-hot-135",
}


MILK = {
    "MILK-1": "receive-milk",
    "MILK-2": "receive-frozen-milk",
    "MILK-3": "receive-cheese",
    "SEALED-1": "receive-sealed",
}


@pytest.mark.parametrize("key", MILK)
def test_what_comes_from_a_plant_alone(key: str) -> None:
    published, row = MORE[key], NEW.rows[MILK[key]]
    assert (row.clause, row.editions) == (published["clause"], published["edition"])
    assert row == OLD.rows[MILK[key]]
    assert isinstance(row, ReceiveRow) and row.words and row.value is None


BIRDS = {
    "BIRD-1": ("poultry", ("pheasant", "partridge", "quail", "grouse", "pigeon", "game-bird")),
    "BIRD-2": ("ratite", ("emu", "ostrich", "rhea")),
}


@pytest.mark.parametrize("key", BIRDS)
def test_birds_are_of_the_class_the_definitions_give(key: str) -> None:
    kind, species = BIRDS[key]
    for one in species:
        assert one.replace("-", " ") in MORE[key]["condition"]
        assert NEW.definitions[one].group_as == kind
        assert OLD.definitions[one] == ENGLAND.definitions[one] == NEW.definitions[one]


TO_A_GUEST = {
    "STEAK-1": "steak-surface-145",
    "ORDER-1": "reheat-to-order",
    "ORDER-2": "thaw-to-order",
    "EGG-1": "susceptible-eggs-one-serving",
    "EGG-2": "susceptible-eggs-baked",
    "EGG-3": "susceptible-one-egg",
    "JUICE-1": "susceptible-juice",
    "FROZEN-1": "kept-frozen",
    "SLACK-1": "slack-refrigerator",
    "SLACK-2": "slack-frozen",
    "SOURCE-1": "source-wild-mushrooms",
    "SOURCE-2": "source-shellfish-picked",
}
"""Rows of food that goes to the guest at once, of what is kept frozen, and of where food may come
from."""


@each_row("key", TO_A_GUEST)
def test_what_goes_to_the_guest_at_once(key: str) -> None:
    published, row = MORE[key], NEW.rows[TO_A_GUEST[key]]
    assert row.clause == published["clause"] and row == OLD.rows[TO_A_GUEST[key]]
    assert isinstance(row, BoundedRow | CookRow | WordsRow)
    assert bool(published["to_F"]) == (not isinstance(row, WordsRow) and row.value is not None)
    if not isinstance(row, WordsRow) and row.value is not None:
        assert row.value == fahrenheit(published["to_F"])
        assert row.printed == celsius(published["to_C"])
        assert row.bound == {"<=": "max", ">=": "min"}[published["comparator"]]
    else:
        assert row.words
    assert row.editions == published["edition"]


def test_every_added_row_is_published() -> None:
    kinds = (*NEW.rows_of(ParasitesRow), *NEW.rows_of(ReceiveRow))
    held = {i for i, r in kinds if r.value}
    assert held == set(ADDED.values())
    assert set(MORE) == {*ADDED, *MILK, *TO_A_GUEST, *BIRDS, "PAR-REC", "PLANT-1", "SHELL-1"}


def test_the_records_of_freezing_are_kept() -> None:
    """Food Code 3-402.12(A): 90 calendar days beyond the time of service or sale."""
    published, row = MORE["PAR-REC"], NEW.rows["parasites-records"]
    days = Fraction(published["limit_hours"]) / 24
    assert f"for {days} calendar days after" in row.words
    assert row.clause == published["clause"]


def test_raw_fish_in_england_is_frozen_through() -> None:
    """Its one row, and none of kinds that need no freezing: their conditions weren't read."""
    published = PLACES["UK-PAR-24"]
    ((_, row),) = ENGLAND.rows_of(ParasitesRow)
    assert row.value is not None and row.value.celsius == Fraction(published["to_C"])
    assert row.hold is not None
    assert row.hold.seconds == Fraction(published["limit_hours"]) * 3600
    assert (row.bound, row.how, row.applies) == ("max", "until-solid", "freeze")
    assert row.clause == published["clause"]
    assert list(row.read_in) == published["source"].split(";")


@each_row("key", ADDED)
def test_parasites_and_receiving(key: str) -> None:
    published, row = MORE[key], NEW.rows[ADDED[key]]
    assert row.clause == published["clause"]
    assert isinstance(row, ParasitesRow | ReceiveRow)
    assert row.bound == {"<=": "max", ">=": "min"}[published["comparator"]]
    where, printed = "to", row.printed
    assert isinstance(row, ParasitesRow | ReceiveRow)
    if published["from_F"]:
        assert isinstance(row, ParasitesRow)
        assert row.store_at == fahrenheit(published["to_F"])
        assert row.store_printed == celsius(published["to_C"])
        where = "from"
    assert row.value == fahrenheit(published[f"{where}_F"])
    assert printed == celsius(published[f"{where}_C"])
    if published["limit_hours"]:
        assert isinstance(row, ParasitesRow) and row.hold is not None
        assert row.hold.seconds == Fraction(published["limit_hours"]) * 3600
    read = row.measured if isinstance(row, ReceiveRow) else "core"
    assert read == ("air" if "air" in published["condition"] else "core")


ROP = {
    "ROP-AW": ("rop-water-activity", "0.91"),
    "ROP-PH": ("rop-acidity", "4.6"),
    "ROP-CURED": ("rop-cured", None),
    "ROP-RAW": ("rop-raw", None),
    "ROP-CHEESE": ("rop-cheese", None),
    "ROP-CC-30": ("cook-chill-near-freezing", None),
    "ROP-CC-7": ("cook-chill-cold", None),
}
ROP_IN_WORDS = {
    "ROP-FISH": "rop-fish",
    "ROP-CC-FRZ": "cook-chill-frozen",
    "ROP-CC-HERE": "cook-chill-here",
    "ROP-CC-REC": "cook-chill-records",
}
ROP_HOURS = {"ROP-CC-48": "cook-chill-near-freezing", "ROP-48": "rop-within-48-hours"}
ROP_THEN = {"ROP-CC-7B": "cook-chill-near-freezing-then-cold"}


def test_reduced_oxygen() -> None:
    held = {ident for ident, _ in NEW.rows_of(ReducedOxygenRow)}
    named = {name for name, _ in ROP.values()} | {
        *ROP_IN_WORDS.values(),
        *ROP_HOURS.values(),
        *ROP_THEN.values(),
    }
    assert held == named | {"cook-chill-sealed", "cook-chill-watched"}
    law = {k for k, r in COOLING.items() if r["topic"] == "rop" and r["use"] == "law"}
    assert law == {*ROP, *ROP_IN_WORDS, *ROP_HOURS, *ROP_THEN, "ROP-CC-SEAL"}
    for key, (name, most) in ROP.items():
        published, row = COOLING[key], NEW.rows[name]
        assert row.at == fahrenheit(published["to_F"]) and row.printed == celsius(published["to_C"])
        assert row.days == int(published["limit_value"])
        assert row.clause.split(",")[0] == published["clause"].split(",")[0]
        assert row.most == (Fraction(most) if most else None)
        assert most is None or most in published["condition"]
    old = COOLING["ROP-2009"]
    assert old["limit_value"] == "14" and old["use"] == "superseded"


def test_reduced_oxygen_in_words_hours_and_a_seal() -> None:
    for key, name in ROP_IN_WORDS.items():
        row = NEW.rows[name]
        assert row.words and row.at is None and row.days is None
        assert row.clause == COOLING[key]["clause"]
    for key, name in ROP_HOURS.items():
        within = NEW.rows[name].within
        assert within is not None
        assert within.seconds == Fraction(COOLING[key]["limit_hours"]) * 3600
        assert NEW.rows[name].clause == COOLING[key]["clause"]
    for key, name in ROP_THEN.items():
        row, published, cap = NEW.rows[name], COOLING[key], NEW.rows["cook-chill-near-freezing"]
        assert row.store_at == fahrenheit(published["to_F"]) and row.then_days == int(
            published["limit_value"]
        )
        assert row.store_printed == celsius(published["to_C"]) and row.clause == published["clause"]
        assert (
            "never over 30 days from packaging" in published["condition"]
            and row.days == 30 == cap.days
        )
        assert (row.at, row.printed, row.within) == (cap.at, cap.printed, cap.within)
        assert row.editions == "2017 on" and published["edition"].startswith("2017 onward")
    seal = NEW.rows["cook-chill-sealed"]
    assert seal.value == fahrenheit(COOLING["ROP-CC-SEAL"]["to_F"]) and seal.bound == "min"
    assert "six months" in NEW.rows["cook-chill-records"].words
    assert COOLING["ROP-CC-REC"]["limit_value"] == "6"


@pytest.mark.parametrize("key", ["ROP-CC-72", "ROP-CC-38"])
def test_cook_chill_of_2009_is_not_held(key: str) -> None:
    """72 hours at 41 °F, and 38 °F within 24 hours: both fell in 2013."""
    published = COOLING[key]
    assert published["use"] == "superseded"
    for pack in (OLD, NEW):
        for ident, row in pack.rows_of(ReducedOxygenRow):
            assert row.at != fahrenheit("38") and row.days != 3, ident


def test_ten_days_in_england() -> None:
    """Guidance of the Food Standards Agency: 10 days at 3 to 8 °C without another control
    (S125)."""
    ((_, row),) = ENGLAND.rows_of(ReducedOxygenRow)
    published = PLACES["UK-ROP-10"]
    assert row.days == int(published["limit_value"]) and row.at == celsius(published["to_C"])
    assert row.standing == published["use"]


def test_the_probe_of_4_203_11() -> None:
    """1 °C for a probe that reads °C or both, 2 °F for one that reads °F only; they aren't the
    same."""
    accuracy = table("thermometer_accuracy.csv")
    rows = {(row.applies, row.scale): row for _, row in NEW.rows_of(ProbeRow)}
    keys = (
        ("TH-FC-C", None, "°C", "tolerance_C"),
        ("TH-FC-F", None, "°F", "tolerance_F"),
        ("TH-AIR-C", "air-or-water", "°C", "tolerance_C"),
        ("TH-AIR-F", "air-or-water", "°F", "tolerance_F"),
    )
    assert len(rows) == len(keys) == len(accuracy)
    for key, applies, scale, unit in keys:
        off = rows[applies, scale].off  # type: ignore[index]
        assert off is not None
        assert off.in_unit(scale) == Fraction(accuracy[key][unit])  # type: ignore[arg-type]
        assert rows[applies, scale].clause == accuracy[key]["clause"]  # type: ignore[index]


@pytest.mark.parametrize("key", ["TH-FC-C", "TH-FC-F", "TH-AIR-C", "TH-AIR-F"])
def test_a_thermometer_is_held_to_its_row(kitchen: Path, key: str) -> None:
    """At the figure it passes, a tenth beyond it is reported; not stated to be for air or water, it
    counts as for food."""
    row = table("thermometer_accuracy.csv")[key]
    unit = "°C" if row["tolerance_C"] else "°F"
    most = Fraction(row["tolerance_C"] or row["tolerance_F"])
    house = "equipment/house.yaml"

    def reported(off: Fraction, measures: str) -> list[str]:
        text = (
            f"dial: {{kind: thermometer, name: Dial, reads: {unit}, accuracy: {float(off)} "
            f"{'°C' if unit == '°C' else '°F'}{measures}}}\n"
        )
        edit(kitchen, house, "probe: {kind", f"{text}probe: {{kind")
        found = [f for f in compute(kitchen).findings if f.code == "thermometer-too-inaccurate"]
        edit(kitchen, house, text, "")
        return [f.source for f in found]

    of_air = "AIR" in key
    for measures in (
        (", measures: air", ", measures: water") if of_air else ("", ", measures: food")
    ):
        assert reported(most, measures) == []
        assert reported(most + Fraction(1, 10), measures) == [f"Food Code 2022, {row['clause']}"]
    if of_air:
        assert reported(most, "") != [], "not stated: food"


def test_the_kitchens_probe_is_one_for_food(kitchen: Path) -> None:
    edit(kitchen, "equipment/house.yaml", "accuracy: 1 °C}", "accuracy: 1.2 °C, measures: water}")
    found = {f.code for f in compute(kitchen).errors}
    assert found == {"probe-not-for-food", "probe-too-inaccurate"}


# --- USDA FSIS ---


def fsis_row(key: str) -> tuple[str, Row]:
    _, kind, level, degrees = key.split("-")
    name = {"MEAT": "beef" if level == "6.5" else "beef-7"}.get(kind, kind.lower())
    return f"{name}-{degrees}", FSIS.rows[f"{name}-{degrees}"]


TABLE = [key for key in LETHALITY if key != "FSIS-CHK-150-12-MAX"]


def seconds_of(published: dict[str, str]) -> Fraction:
    """The time a row holds: `<10 s` counts as 10 s, the strict side of what is printed."""
    return Fraction(published["time_seconds"])


@each_row("key", TABLE)
def test_fsis_tables(key: str) -> None:
    published, (_, row) = LETHALITY[key], fsis_row(key)
    assert row.standing == published["use"] == "guidance"
    assert row.value == fahrenheit(published["temp_F"])
    if published["temp_C_printed"]:
        assert row.printed == celsius(published["temp_C_printed"])
    assert row.hold is not None and row.hold.seconds == seconds_of(published)


def test_the_fsis_pack_holds_the_tables_and_nothing_else() -> None:
    held = {ident for ident, row in FSIS.rows.items() if row.hazard == "cook"}
    single = {f"poultry-{ROUND[key]['temp_F']}" for key in ("FSIS-1999-UNCURED", "FSIS-1999-CURED")}
    assert held == {fsis_row(key)[0] for key in TABLE} | single
    for ident in single:
        row = FSIS.rows[ident]
        assert row.hold is not None and row.hold.seconds == 0 and row.group is not None
        group = FSIS.groups[row.group]
        assert not group.ranked and group.instead_of and not group.takes, "only by name"


def test_stabilization() -> None:
    """Each stage of options 1 and 3 has its own allowance; of option 3's two ends the stricter is
    held."""
    one = FSIS.rows["stabilization-1"]
    assert one.clock_from is not None
    for key, stage in zip(("STAB-1a", "STAB-1b"), one.stages, strict=True):
        published = PLACES[key]
        assert stage.to == fahrenheit(published["to_F"])
        assert stage.within.seconds == Fraction(published["limit_hours"]) * 3600
        assert published["use"] == "guidance"
    assert one.clock_from.value == fahrenheit(PLACES["STAB-1a"]["from_F"])
    assert [s.counts_from for s in one.stages] == ["start", "stage-before"]
    assert "separate" in PLACES["STAB-1b"]["condition"]
    two = FSIS.rows["stabilization-2"]
    assert two.clock_from is not None
    assert two.clock_from.value == fahrenheit(PLACES["STAB-2b"]["from_F"])
    for key, stage in zip(("STAB-2c", "STAB-2b"), two.stages, strict=True):
        assert stage.to == fahrenheit(PLACES[key]["to_F"])
        assert stage.within.seconds == Fraction(PLACES[key]["limit_hours"]) * 3600
        assert stage.advised == ("less certain" in PLACES[key]["condition"])
    assert two.begins_within is not None
    assert two.begins_within.seconds == Fraction(PLACES["STAB-2a"]["limit_hours"]) * 3600
    three = FSIS.rows["stabilization-3"]
    for key, stage in zip(("STAB-3a", "STAB-3b-OSU"), three.stages, strict=True):
        assert stage.to == fahrenheit(PLACES[key]["to_F"])
        assert stage.within.seconds == Fraction(PLACES[key]["limit_hours"]) * 3600
    assert [s.counts_from for s in three.stages] == ["start", "stage-before"]
    ends = {s.to.in_unit("°F") for _, r in FSIS.rows_of(CoolRow) for s in r.stages}
    assert 45 not in ends and PLACES["STAB-3b-OSU"]["use"] == "variant"


def test_the_schedules_do_not_nest() -> None:
    """130 °F here, 135 °F in the Food Code, 140 °F in Maine, 60 °C in Australia."""
    starts = {FSIS.rows["stabilization-1"].clock_from, NEW.rows["cool-cooked"].clock_from}
    assert {c.value.in_unit("°F") for c in starts if c} == {130, 135}
    assert PLACES["COOL-ME"]["from_F"] == "140" and PLACES["AU-COOL-1"]["from_C"] == "60"


@pytest.fixture(scope="module")
def plant(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("plant")


def fsis_kitchen(folder: Path, species: str, form: str = "intact", more: str = "") -> Manual:
    """The clean kitchen as a plant under inspection that bakes one meat, plain."""
    project = lay("base", folder / f"{species}-{form}{'-more' if more else ''}")
    edit(
        project,
        "kitchen.yaml",
        "code: {model: us-food-code, edition: 2022",
        "operation: inspected-establishment\ncode: {model: us-fsis, edition: 1999",
    )
    edit(
        project,
        "ingredients/all.yaml",
        "species: pork\n  state: raw\n  form: intact",
        f"species: {species}\n  state: raw\n  form: {form}",
    )
    if more:
        edit(
            project,
            "ingredients/all.yaml",
            "species: egg\n  state: raw\n  form: liquid\n  allergens: [eggs]",
            f"species: {more}\n  state: raw\n  form: intact\n  allergens: none",
        )
    else:
        edit(project, "formulas/pork-bake.yaml", "    whole-egg: 6 each\n", "")
    edit(
        project,
        "processes/baked.yaml",
        "  - do: grind\n    add: [meat]\n",
        "  - do: season\n    add: [meat]\n",
    )
    return compute(project)


@pytest.fixture(scope="module")
def plants(plant: Path) -> dict[str, Manual]:
    return {species: fsis_kitchen(plant, species) for species in ("beef", "chicken", "turkey")}


def baked(manual: Manual, target: str) -> Limit:
    walk = suppose(manual, "pork-bake", "bake", read_target(target))
    return next(lm for lm in walk.limits if lm.hazard == "cook")


@pytest.mark.parametrize("key", [k for k in TABLE if "MEAT-7.0" not in k])
def test_limits_show_every_fsis_row(plants: dict[str, Manual], key: str) -> None:
    """Each row, asked for with the probe's ±1 °C on top and its own time, is the row shown, and the
    time on the page is never shorter than the row's."""
    _, kind, _, degrees = key.split("-")
    manual = plants[{"MEAT": "beef"}.get(kind, kind.lower())]
    published = LETHALITY[key]
    celsius_up = (Fraction(degrees) - 32) / Fraction(9, 5) + 1
    hold = seconds_of(published)
    held = f" for {float(hold)} s" if hold else ""
    limit = baked(manual, f"core {round(float(celsius_up) + 0.00005, 4)} °C{held}")
    assert limit.verdict.status == "meets", limit.verdict.words
    assert limit.source.standing == "guidance"
    assert limit.figure is not None
    if hold:
        assert limit.figure.value == fahrenheit(degrees)
        assert limit.row_hold_s == hold
        assert manual.house is not None
        reported = limit_view(manual.house, limit).hold.replace(NARROW, " ")
        assert read_time(reported).seconds >= hold


def test_chicken_and_turkey_together_take_the_longer_time(plant: Path) -> None:
    """The two curves cross between 141 and 142 °F; 4.9 min at 150 °F for either (12 % fat)."""
    manual = fsis_kitchen(plant, "chicken", more="turkey")
    limit = baked(manual, "core 70 °C for 2 h")
    for option in limit.options:
        degrees = option.figure.value.in_unit("°F")
        both = [
            Fraction(LETHALITY[f"FSIS-{s}-12-{degrees}"]["time_seconds"])
            for s in ("CHICKEN", "TURKEY")
        ]
        assert option.hold_s == max(both)
    at_150 = next(o for o in limit.options if o.figure.value.in_unit("°F") == 150)
    assert at_150.hold_s == Fraction(LETHALITY["FSIS-CHK-150-12-MAX"]["time_seconds"])
    assert limit.because == ("Pork shoulder", "Whole egg"), (
        "the names of the two, by the clean kitchen"
    )


@pytest.mark.parametrize(
    ("species", "form"), [("beef", "comminuted"), ("pork", "intact"), ("duck", "intact")]
)
def test_what_the_fsis_tables_do_not_list_is_refused(plant: Path, species: str, form: str) -> None:
    manual = fsis_kitchen(plant, species, form)
    wrong = [f.code for f in manual.errors]  # the meat keeps the clean kitchen's name
    assert [code for code in wrong if code != "fact-contradicted"] == ["not-covered"]
    assert "pork-bake" in manual.stopped


def test_the_meat_column_is_never_used_for_poultry(plants: dict[str, Manual]) -> None:
    """MSU on the FSIS tables: the 7.0-log column for meat undercooks poultry."""
    beef_row = LETHALITY["FSIS-MEAT-7.0-150"]
    limit = baked(plants["chicken"], f"core 66.7 °C for {beef_row['time_seconds']} s")
    assert limit.verdict.status == "fails"
    assert min(o.figure.value.in_unit("°F") for o in limit.options) == 136


# --- England ---


@pytest.fixture(scope="module")
def england() -> Manual:
    return compute(ROOT / "tests/kitchens/england")


def test_a_kitchen_in_england_checks_clean(england: Manual) -> None:
    assert england.findings == ()
    hazards = {lm.hazard for walk in england.walks.values() for lm in walk.limits}
    assert hazards == {"cook", "cool", "hot_hold", "cold_hold", "thaw", "reheat"}


@each_row("key", ["UK-60", "UK-65", "UK-70", "UK-75", "UK-80"])
def test_limits_show_every_combination(england: Manual, key: str) -> None:
    """The five combinations of guidance, read on a ±0.5 °C probe with that half degree on top."""
    published = UK[key]
    target = f"core {float(published['temp_C']) + 0.5} °C for {published['time_seconds']} s"
    walk = suppose(england, "lamb-stew", "simmer", read_target(target))
    limit = walk.limits[0]
    assert limit.verdict.status == "meets"
    assert limit.figure is not None
    assert limit.figure.value == celsius(published["temp_C"])
    assert limit.row_hold_s == Fraction(published["time_seconds"])
    assert limit.source.standing == "guidance"
    assert "Regulations" not in limit.source.document


def test_minced_meat_takes_the_longer_time(england: Manual) -> None:
    """65 °C: 10 min in general, 13.6 min for burgers; 60 °C: 45 and 93 min."""
    walk = suppose(england, "beef-filling", "simmer", read_target("core 60.5 °C for 3 h"))
    options = {o.figure.value.celsius: o.hold_s for o in walk.limits[0].options}
    for general, burger in (
        ("UK-60", "UK-BURGER-60"),
        ("UK-65", "UK-BURGER-65"),
        ("UK-65", "UK-BURGER-65b"),
        ("UK-70", "UK-BURGER-70"),
        ("UK-75", "UK-BURGER-75"),
    ):
        hold = options[Fraction(UK[general]["temp_C"])]
        longest = max(Fraction(UK[general]["time_seconds"]), Fraction(UK[burger]["time_seconds"]))
        assert hold is not None and hold >= longest
    short = suppose(england, "beef-filling", "simmer", read_target("core 65.5 °C for 10 min"))
    assert short.limits[0].verdict.status == "fails"


def test_the_combinations_are_never_laxer_than_their_z_value() -> None:
    """Computed: 2 min at 70 °C with z = 7.5 °C (general) and 6.0 °C (burgers)."""
    for ident, row in ENGLAND.rows_of(CookRow):
        assert row.value is not None and row.hold is not None
        z = "Z60" if row.group == "minced" else "Z75"
        computed = UK[f"UK-{z}-{row.value.celsius}"]
        # 14 min printed for 13.63 computed; 93 for 92.83; a printed figure is the rounded one
        assert row.hold.seconds >= Fraction(computed["time_seconds"]) - 1, ident


def test_english_holding_and_no_figure_for_cooling(england: Manual) -> None:
    hot, cold = ENGLAND.rows["hot-63"], ENGLAND.rows["chill-8"]
    assert hot.value == celsius(PLACES["UK-HOT"]["to_C"]) and hot.bound == "min"
    assert cold.value == celsius(PLACES["UK-CHILL"]["to_C"]) and cold.bound == "max"
    cool = next(lm for lm in england.walks["beef-filling"].limits if lm.hazard == "cool")
    assert isinstance(cool, InWords) and cool.words
    guidance = PLACES["UK-COOL-90"]
    assert guidance["use"] == "guidance" and "90 minutes" in cool.note
    assert cool.note.startswith("Guidance, not law")


ENGLISH_PLANTS = table("plants_england.csv")


@pytest.mark.parametrize("key", [key for key, row in ENGLISH_PLANTS.items() if row["kind"]])
def test_plant_food_that_english_law_keeps_cold(key: str) -> None:
    """The law names none; the guidance names some, and the row says which, and where it was
    read."""
    published = ENGLISH_PLANTS[key]
    found = ENGLAND.row_for(WordsRow, f"{published['kind']}-{published['done']}", "tcs")
    assert found is not None
    row = found[1]
    assert row.clause == published["clause"].removesuffix("(1)") == "Sch. 4 para. 2"
    named = bool(published["named_as"])
    assert len(row.read_in) == len(published["source"].split(";")) == (2 if named else 1)
    assert ("Food Code pack" in row.note) is not named


def test_english_law_keeps_no_other_plants_cold() -> None:
    kinds = {f"{p['kind']}-{p['done']}" for p in ENGLISH_PLANTS.values() if p["kind"]}
    assert {r.applies for _, r in ENGLAND.rows_of(WordsRow, "tcs")} == kinds
    assert ENGLISH_PLANTS["UK-PLANT-LAW"]["named_as"].endswith("above 8 C commits an offence")


def test_the_other_scale_is_on_the_strict_side(england: Manual) -> None:
    """63 °C is 145.4 °F and shown as 146; 8 °C is 46.4 °F and shown as 46; 75 °C is 167 °F
    exactly."""
    found = {
        lm.hazard: lm.figure
        for walk in england.walks.values()
        for lm in walk.limits
        if isinstance(lm, Probed)
    }
    assert found["hot_hold"].shown_f == 146 and found["hot_hold"].shown_c == 63
    assert found["cold_hold"].shown_f == 46 and found["cold_hold"].shown_c == 8
    assert found["reheat"].shown_f == 167


def test_scottish_law_is_not_english(england: Manual) -> None:
    """82 °C on reheating is Scotland's; Scotland's refrigerator has no 8 °C."""
    temperatures = {r.value.celsius for _, r in ENGLAND.rows_of(ReheatRow) if r.value}
    assert Fraction(UK["SCO-RH"]["temp_C"]) not in temperatures
    assert not PLACES["SCO-COLD"]["to_C"]


# --- Check points ---


def boils(feet: str) -> Fraction:
    text = f"{feet} ft"
    readings = check_readings(
        LIBRARY, Amount(Fraction(feet) * Fraction("304.8"), "length", "mm", text)
    )
    boiling = [r for r in readings if r.name == "Boiling water"]
    assert len(boiling) == 1
    return boiling[0].reads.in_unit("°F")


@each_row("key", [k for k in BOILING if k.startswith(("BP-N", "BP-A", "BP-C-", "BP-M"))])
def test_boiling_points(key: str) -> None:
    """Three published tables, and the standard atmosphere with the IAPWS saturation line: at the
    rows of the table held exact, elsewhere within 0.7 °F to 10,000 ft (published tables differ by
    as much)."""
    row = BOILING[key]
    feet = Fraction(row["altitude_ft"])
    if feet > 10_000:
        return
    found = boils(row["altitude_ft"])
    close = Fraction(0) if key.startswith("BP-N") else Fraction("0.7")
    assert abs(found - Fraction(row["temp_F"])) <= close


def test_the_ice_point_knows_no_altitude() -> None:
    for altitude in (None, Amount(Fraction(2_000_000), "length", "mm", "2000 m")):
        ice = check_readings(LIBRARY, altitude)[0]
        assert ice.reads.celsius == 0 and ice.basis.source
    assert len(check_readings(LIBRARY, None)) == 1
    beyond = Amount(Fraction(6_000_000), "length", "mm", "6000 m")
    assert len(check_readings(LIBRARY, beyond)) == 1, "no figure beyond the table"
    assert read_temperature("0 °C").in_unit("°F") == 32

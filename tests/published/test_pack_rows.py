"""The US Food Code pack against a second reading of the same rows."""

from __future__ import annotations

import csv
import re
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from each_row import each_row

from generator.files.source_text import Mapping, read_file
from generator.measures.temperature import read_temperature
from generator.measures.times import read_time

HERE = Path(__file__).parent
SHARED = HERE.parents[1] / "shared"
PACK = SHARED / "limits" / "us-food-code-2022"
TOPICS = ("cooking", "cooling", "holding", "dating", "reheating", "thawing", "time-control")


def load(path: Path) -> Mapping:
    document = read_file(path, path.name)
    assert not document.findings, document.findings
    assert isinstance(document.tree, Mapping)
    return document.tree


def table(name: str) -> dict[str, dict[str, str]]:
    with (HERE / name).open(encoding="utf-8", newline="") as lines:
        return {row["id"]: row for row in csv.DictReader(lines)}


FILES = {topic: load(PACK / f"{topic}.yaml") for topic in TOPICS}
ROWS = {(topic, name): row for topic in TOPICS for name, row in FILES[topic]["rows"].items()}
HEAD = load(PACK / "pack.yaml")
SOURCES = load(SHARED / "sources.yaml")
COOKING = table("cooking_food_code.csv")
COOLING = table("cooling_holding.csv")

# Which row of the pack a published row is.
COOK_ROWS: dict[str, tuple[str, str]] = {
    "FC-A1a": ("cooking", "cook-a1-egg-145"),
    "FC-A1b": ("cooking", "cook-a1-145"),
    "FC-A2": ("cooking", "cook-a2-155"),
    "FC-A2-145": ("cooking", "cook-a2-145"),
    "FC-A2-150": ("cooking", "cook-a2-150"),
    "FC-A2-158": ("cooking", "cook-a2-158"),
    "FC-A3": ("cooking", "cook-a3-165"),
    "FC-OVEN-STILL-LT10": ("cooking", "oven-still-light"),
    "FC-OVEN-STILL-GE10": ("cooking", "oven-still-heavy"),
    "FC-OVEN-CONV-LT10": ("cooking", "oven-convection-light"),
    "FC-OVEN-CONV-GE10": ("cooking", "oven-convection-heavy"),
    "FC-OVEN-HUMID-LT10": ("cooking", "oven-humid-light"),
    "FC-OVEN-HUMID-GE10": ("cooking", "oven-humid-heavy"),
    "FC-MW": ("cooking", "microwave-165"),
    "FC-PLANT": ("cooking", "plant-135"),
    "FC-NCC-INIT": ("cooking", "non-continuous-first-heating"),
    "FC-RH-A": ("reheating", "reheat-165"),
    "FC-RH-B": ("reheating", "reheat-microwave-165"),
    "FC-RH-C": ("reheating", "reheat-commercial-135"),
    "FC-RH-D": ("reheating", "reheat-within-2h"),
    "FC-RH-E": ("reheating", "reheat-roast"),
    **{
        key: ("cooking", key.removeprefix("FC-").lower())
        for key in COOKING
        if key.startswith("FC-ROAST-")
    },
}
HAZARD = {
    "raw_animal": "cook",
    "whole_meat_roast": "cook",
    "roast_oven": "oven",
    "microwave": "cook",
    "plant": "cook",
    "non_continuous": "part_cook",
    "reheat_hot_hold": "reheat",
}
# Published row → row of the pack and where each of its figures is there.
_STAY = {"to": "stay_max.value", "to_C": "stay_max.printed", "limit": "within"}
_ONE = {"to": "value", "to_C": "printed"}


def _stage(number: int, clock: bool) -> dict[str, str]:
    at = f"stages.{number}."
    places = {"to": at + "to", "to_C": at + "printed", "limit": at + "within"}
    places["clause"] = at + "clause"
    if clock:
        places |= {"from": "clock_from.value", "from_C": "clock_from.printed"}
    return places


COOL_ROWS: dict[str, tuple[str, str, dict[str, str]]] = {
    "COOL-1": ("cooling", "cool-cooked", _stage(0, True)),
    "COOL-2": ("cooling", "cool-cooked", _stage(1, True)),
    "COOL-3": ("cooling", "cool-ambient", _stage(0, False)),
    "COOL-4": ("cooling", "cool-received-warm", _stage(0, False)),
    "COOL-5": ("cooling", "egg-cooling-air-45", _ONE),
    "HOT-1": ("holding", "hot-135", _ONE),
    "HOT-2": ("holding", "hot-roast-130", _ONE),
    "COLD-1": ("holding", "cold-41", _ONE),
    "COLD-EGG": ("holding", "egg-air-45", _ONE),
    "TPHC-1": (
        "time-control",
        "time-4h",
        {"to": "start_max.value", "to_C": "start_max.printed", "limit": "within"},
    ),
    "TPHC-2": ("time-control", "time-4h-cut-or-opened", _STAY),
    "TPHC-3": ("time-control", "time-6h", _STAY),
    "THAW-1": ("thawing", "thaw-refrigerator", _ONE),
    "THAW-2": ("thawing", "thaw-running-water", _ONE),
    "THAW-3": ("thawing", "thaw-water-ready-to-eat", {**_ONE, "limit": "above_for"}),
    "THAW-4": ("thawing", "thaw-water-raw", {**_ONE, "limit": "above_for"}),
    "THAW-5": ("thawing", "thaw-cooking", {}),
    "THAW-6": ("thawing", "thaw-packed-fish", {}),
    "DATE-1": ("dating", "date-seven-days", {"to": "at", "to_C": "printed", "limit": "days"}),
    "DATE-2": ("dating", "date-seven-days", {"limit": "after"}),
    "DATE-3": ("dating", "date-opened", {}),
    "DATE-4": ("dating", "date-combined", {}),
    "DATE-5": ("dating", "date-frozen", {}),
    "DATE-6": ("dating", "date-without-air", {}),
    "DATE-G1": ("dating", "date-undated-deli-salad", {}),
    "DATE-G2": ("dating", "date-undated-hard-cheese", {}),
    "DATE-G3": ("dating", "date-undated-semisoft-cheese", {}),
    "DATE-G4": ("dating", "date-undated-cultured-dairy", {}),
    "DATE-G5": ("dating", "date-undated-preserved-fish", {}),
    "DATE-G6": ("dating", "date-undated-dry-sausage", {}),
    "DATE-G7": ("dating", "date-undated-salt-cured", {}),
}
HALVES = {
    "THAW-5": ("thawing", "thaw-microwave"),
    "THAW-6": ("thawing", "thaw-packed-fish-water"),
}
"""A published row that speaks of two ways is as two rows: the first above, the second here."""
TOPIC_HAZARD = {
    "cooling": {"cool", "cold_hold"},
    "holding": {"hot_hold", "cold_hold"},
    "time_control": {"time_control"},
    "thawing": {"thaw"},
    "date_marking": {"date"},
}
# The key in sources.yaml of each copy a published row names.
COPIES = {
    "S01": {"va-12vac5-421-700"},
    "S02": {"food-code-annex-charts"},
    "S04": {"in-410-iac-7-24-182"},
    "S05": {"md-comar-10-15-03-10"},
    "S06": {"ny-1-nycrr-271-2-10"},
    "S09": {"wi-atcp-75-3-403-11"},
    "S10": {"mn-4626-0360"},
    "S11": {"wi-atcp-75-3-401-14"},
    "S13": {"cfp-2016-iii-020"},
    "S14": {"navy-p-5010-1"},
    "S35": {"de-3-501-14"},
    "S36": {"ok-310-257-5-57"},
    "S38": {"wi-atcp-75-3-501-16"},
    "S39": {"wa-246-215-03525"},
    "S40": {"wa-246-215-03510", "wi-atcp-75-3-501-13"},
    "S41": {"va-12vac5-421-830"},
    "S42": {"wi-atcp-75-3-501-19"},
    "S43": {"ga-511-6-1-04", "va-2vac5-585-850"},
    "S108": {"mn-cold-holding-leaflet"},
    "S120": {"ok-310-257-5-60"},
    "S121": {"mn-4626-0400"},
    "S146": {"food-code-2022-chapter-3"},
    "S150": {"ga-290-5-14-04"},
    "S151": {"tn-date-marking-remark"},
}
COOK_LAW = [key for key, row in COOKING.items() if row["use"] == "law"]
COOL_LAW = [key for key, row in COOLING.items() if row["use"] == "law" and row["topic"] != "rop"]


def at(row: Any, path: str) -> Any:
    for step in path.split("."):
        row = row[int(step)] if step.isdigit() else row[step]
    return row


def fahrenheit(text: str) -> Fraction:
    temperature = read_temperature(text)
    assert temperature.unit == "°F", text
    return temperature.in_unit("°F")


def celsius(text: str) -> Fraction:
    temperature = read_temperature(text)
    assert temperature.unit == "°C", text
    return temperature.celsius


def seconds(text: str) -> Fraction:
    return read_time(text).seconds


def years(text: str) -> list[str]:
    return re.findall(r"\b20\d\d\b", text)


def same_copies(row: Mapping, published: dict[str, str]) -> None:
    for key in published["source"].split(";"):
        assert COPIES[key] & set(row["read_in"]), (key, list(row["read_in"]))


def test_every_law_row_is_in_the_pack_and_nothing_else() -> None:
    assert sorted(COOK_ROWS) == sorted(COOK_LAW)
    assert sorted(COOL_ROWS) == sorted(COOL_LAW)
    held = set(COOK_ROWS.values()) | {(topic, name) for topic, name, _ in COOL_ROWS.values()}
    assert held | set(HALVES.values()) == set(ROWS)
    stages = {name: len(row["stages"]) for (_, name), row in ROWS.items() if "stages" in row}
    assert stages == {"cool-cooked": 2, "cool-ambient": 1, "cool-received-warm": 1}


@each_row("key", COOK_LAW)
def test_cooking_and_reheating(key: str) -> None:
    published, row = COOKING[key], ROWS[COOK_ROWS[key]]
    assert row["hazard"] == HAZARD[published["rule_group"]]
    assert row["clause"] == published["clause"]
    same_copies(row, published)
    if published["temp_F"]:
        assert fahrenheit(row["value"]) == Fraction(published["temp_F"])
    else:
        assert "value" not in row
    if published["temp_C_printed"]:
        assert celsius(row["printed"]) == Fraction(published["temp_C_printed"])
    else:
        assert "printed" not in row
    bound = {">=": "min", "instant": "min", "<=": "max", "": None}[published["hold_comparator"]]
    assert row.get("bound") == bound
    time, printed = published["hold_seconds"], published["hold_printed"]
    if published["hold_comparator"] == "instant":
        assert row["hold"] == "instant"
    elif "stand" in printed:
        assert row["hold"] == "none"
        assert seconds(row["stand"]) == Fraction(time)
    elif bound == "max" and time:
        assert seconds(row["within"]) == Fraction(time)
        assert "hold" not in row
    elif time:
        assert seconds(row["hold"]) == Fraction(time)
        assert row["hold"] == printed
    else:
        assert row.get("hold", "none") == "none"
    if "editions" in row:
        assert years(row["editions"])[0] == years(published["edition"])[0]
        if "wording" not in row["editions"]:
            assert years(row["editions"]) == years(published["edition"])


@each_row("key", [key for key in COOK_LAW if "-OVEN-" in key])
def test_oven_chart(key: str) -> None:
    row = ROWS[COOK_ROWS[key]]
    _, _, oven, weight = key.split("-")
    kinds = {"STILL": "still", "CONV": "convection", "HUMID": "high-humidity"}
    assert row["oven"] == kinds[oven]
    given, other = ("weight_under", "weight_from")[:: 1 if weight == "LT10" else -1]
    assert row[given] == "10 lb"
    assert other not in row
    assert row["weight_printed"] == "4.5 kg"


@each_row("key", COOL_LAW)
def test_cooling_holding_thawing_dates(key: str) -> None:
    published = COOLING[key]
    topic, name, places = COOL_ROWS[key]
    row = ROWS[topic, name]
    assert row["hazard"] in TOPIC_HAZARD[published["topic"]]
    assert ("stages" in row) == (row["hazard"] == "cool")
    assert at(row, places.get("clause", "clause")) == published["clause"]
    assert published["clause"].startswith(row["clause"])
    same_copies(row, published)
    for column in ("from_F", "to_F"):
        if published[column]:
            where = places[column.removesuffix("_F")]
            assert fahrenheit(at(row, where)) == Fraction(published[column])
    for column in ("from_C", "to_C"):
        if published[column]:
            assert celsius(at(row, places[column])) == Fraction(published[column])
    if published["limit_value"]:
        typed = at(row, places["limit"])
        if published["limit_unit"] == "day":
            assert typed == published["limit_value"]
        else:
            assert seconds(typed) == Fraction(published["limit_hours"]) * 3600
    if "bound" in row:
        assert row["bound"] == {">=": "min", "<=": "max"}[published["comparator"]]
    assert years(row["editions"]) == years(published["edition"])


@pytest.mark.parametrize("key", sorted(HALVES))
def test_the_second_half_of_a_published_row(key: str) -> None:
    topic, name, _ = COOL_ROWS[key]
    first, second = ROWS[topic, name], ROWS[HALVES[key]]
    for reported in ("hazard", "clause", "editions"):
        assert first[reported] == second[reported]
    same_copies(second, COOLING[key])
    assert first["words"] != second["words"] and "value" not in second
    assert {"THAW-5": "microwave", "THAW-6": "running water"}[key] in str(second["food"])


def test_figures_that_stand_in_words_of_a_published_row() -> None:
    four = ROWS["time-control", "time-4h"]
    assert "135 F or above" in COOLING["TPHC-1"]["condition"]
    assert fahrenheit(four["start_min"]["value"]) == 135
    assert celsius(four["start_min"]["printed"]) == Fraction(COOLING["HOT-1"]["to_C"])
    six = ROWS["time-control", "time-6h"]
    assert "start at 41 F or below and never above 70 F" in COOLING["TPHC-3"]["condition"]
    assert fahrenheit(six["start_max"]["value"]) == 41
    cut = ROWS["time-control", "time-4h-cut-or-opened"]
    assert "start at 70 F or below" in COOLING["TPHC-2"]["condition"]
    assert fahrenheit(cut["start_max"]["value"]) == 70
    prints = {41: COOLING["COLD-1"]["to_C"], 70: COOLING["TPHC-3"]["to_C"]}
    for row in (four, six, cut):
        start = row["start_max"]
        assert celsius(start["printed"]) == Fraction(prints[int(fahrenheit(start["value"]))])
    reheat = ROWS["reheating", "reheat-within-2h"]
    assert "between 41 F and the target" in COOKING["FC-RH-D"]["food"]
    assert fahrenheit(reheat["clock_from"]["value"]) == 41


def test_every_read_in_key_is_a_source() -> None:
    named = [("definitions", word, row) for word, row in FILES["cooking"]["definitions"].items()]
    for topic, name, row in [*((*key, row) for key, row in ROWS.items()), *named]:
        assert row["read_in"], (topic, name)
        assert len(set(row["read_in"])) == len(row["read_in"])
        for key in row["read_in"]:
            assert key in SOURCES, (topic, name, key)
    assert HEAD["source"] in SOURCES
    assert all(key in SOURCES for key in HEAD["issue_read_in"])
    units = load(SHARED / "units.yaml")
    tables = [*units["units"].values(), *(one["units"] for one in units["household_sets"].values())]
    for rows in tables:
        for row in rows.values():
            assert row.get("source", "gnu-units") in SOURCES


def test_sources_are_complete() -> None:
    kinds = {"law", "model-code", "guidance", "standard", "data", "paper", "trade"}
    known = {"title", "publisher", "year", "url", "kind", "read_as", "read_on", "note"}
    for key, source in SOURCES.items():
        assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", key)
        assert source["title"]
        assert source["kind"] in kinds
        assert set(source) <= known, key
        assert "read_on" in source or "note" in source, key


# In degrees Fahrenheit; wide enough for any true row, too narrow for a slip of unit or digit.
BANDS = {
    ("cook", "min"): (122, 212),
    ("oven", "min"): (212, 500),
    ("oven", "max"): (212, 300),
    ("reheat", "min"): (122, 212),
    ("hot_hold", "min"): (122, 165),
    ("cold_hold", "max"): (32, 46),
    ("thaw", "max"): (32, 75),
}


@each_row("key", sorted(ROWS), ids="/".join)
def test_plausible(key: tuple[str, str]) -> None:
    row = ROWS[key]
    if "value" in row:
        low, high = BANDS[row["hazard"], row["bound"]]
        assert low <= fahrenheit(row["value"]) <= high
        # A printed figure is rounded by at most one degree Celsius.
        assert abs(celsius(row["printed"]) - read_temperature(row["value"]).celsius) < 1
    for name in ("hold", "stand", "within", "above_for", "after"):
        if row.get(name, "none") not in ("none", "instant"):
            assert 0 <= seconds(row[name]) <= 24 * 3600
    for stage in row.get("stages", ()):
        assert 32 <= fahrenheit(stage["to"]) <= 80
        assert 3600 <= seconds(stage["within"]) <= 6 * 3600
    for start in ("clock_from", "start_max", "start_min", "stay_max"):
        if start in row:
            assert 32 <= fahrenheit(row[start]["value"]) <= 140


@pytest.mark.parametrize("group", ["a2", "roast"])
def test_hotter_is_shorter(group: str) -> None:
    rows = [row for row in ROWS.values() if row.get("group") == group and row["hazard"] == "cook"]
    pairs = sorted(
        (
            fahrenheit(row["value"]),
            Fraction(0) if row["hold"] == "instant" else seconds(row["hold"]),
        )
        for row in rows
    )
    assert len({degrees for degrees, _ in pairs}) == len(pairs)
    times = [time for _, time in pairs]
    assert times == sorted(times, reverse=True)
    assert len(set(times)) == len(times)


def test_the_roast_chart_has_its_seventeen_rows() -> None:
    chart = [row for (_, name), row in ROWS.items() if name.startswith("roast-")]
    assert len(chart) == 17
    assert all(row["group"] == "roast" for row in chart)


def test_older_and_other_wordings_are_not_in_the_pack() -> None:
    groups = {"FC-OLD-A2": "a2", "FC-OLD-A3": "a3", "FC-IND-158": "a2", "NAVY-ROAST-145": "roast"}
    groups |= {key: "roast" for key in COOKING if key.startswith("NY-ROAST-")}
    held = {
        (row["group"], fahrenheit(row["value"]), seconds(row["hold"]))
        for row in ROWS.values()
        if row["hazard"] == "cook" and row.get("hold", "none") not in ("none", "instant")
    }
    # Where New York's column and the model code's print the same time.
    agree = {"NY-ROAST-140", "NY-ROAST-145"}
    others = {key for key, row in COOKING.items() if row["use"] in ("superseded", "variant")}
    assert set(groups) | {"SD-RH"} == others
    for key, group in groups.items():
        row = COOKING[key]
        found = (group, Fraction(row["temp_F"]), Fraction(row["hold_seconds"])) in held
        assert found == (key in agree), key


def test_groups() -> None:
    groups = FILES["cooking"]["groups"]
    assert [name for name, group in groups.items() if group.get("ranked") != "no"] == [
        "a1",
        "a2",
        "a3",
    ]
    for row in ROWS.values():
        if row["hazard"] == "cook":
            assert row["clause"].startswith(groups[row["group"]]["clause"])
        for name in ("group", "rows_of"):
            assert row.get(name, "a1") in groups
    assert all(group["name"] and group["covers"] for group in groups.values())


def test_definitions() -> None:
    words = FILES["cooking"]["definitions"]
    assert set(words) == set(
        [
            "beef",
            "veal",
            "pork",
            "lamb",
            "goat",
            "bison",
            "rabbit",
            "chicken",
            "turkey",
            "duck",
            "goose",
            "guinea-fowl",
            "squab",
            "pigeon",
            "quail",
            "pheasant",
            "partridge",
            "grouse",
            "game-bird",
            "farmed-venison",
            "wild-game",
            "ostrich",
            "emu",
            "rhea",
            "fish",
            "crustacean",
            "mollusc",
            "egg",
        ]
    )
    for row in words.values():
        assert row["group_as"] in {"meat", "poultry", "fish", "egg", "game", "ratite", "wild-game"}
    groups = FILES["cooking"]["groups"]
    assert words["wild-game"]["clause"] == groups["a3"]["clause"]
    assert words["ostrich"]["clause"] == words["emu"]["clause"] == groups["a2"]["clause"]
    assert {row["clause"] for row in words.values()} == {
        "1-201.10",
        "3-201.17",
        "3-401.11(A)(2)",
        "3-401.11(A)(3)",
        "3-401.11(B)",
        "9 CFR 301.2",
        "21 CFR 123.3",
    }


def test_head() -> None:
    # The topics of test_other_packs.py are behind those of this file.
    added = (
        "receiving",
        "cleaning",
        "parasites",
        "reduced-oxygen",
        "acidity",
        "probe",
        "undercooking",
        "temperature-control",
        "smoking",
        "to-order",
        "frozen",
        "milk",
        "warewashing",
        "power-cut",
        "sources",
    )
    assert tuple(HEAD["topics"]) == TOPICS + added
    assert {path.stem for path in PACK.glob("*.yaml")} == {*TOPICS, *added, "pack"}
    assert all(FILES[topic]["topic"] == topic for topic in TOPICS)
    assert HEAD["unit"] == "°F"
    assert HEAD["edition"] == "2022"
    assert all(set(gap) == {"what", "why"} for gap in HEAD["not_covered"])


def test_no_row_is_recalled() -> None:
    for path in HERE.glob("*.csv"):
        with path.open(encoding="utf-8", newline="") as lines:
            rows = list(csv.DictReader(lines))
        assert rows
        assert all(row.get("basis", "seen") in ("seen", "computed") for row in rows), path.name


def test_every_copy_is_listed_once() -> None:
    with (HERE / "sources.csv").open(encoding="utf-8", newline="") as lines:
        listed = [row["source"] for row in csv.DictReader(lines)]
    assert len(set(listed)) == len(listed)
    used: set[str] = set()
    for path in HERE.glob("*.csv"):
        if path.name != "sources.csv":
            with path.open(encoding="utf-8", newline="") as lines:
                for row in csv.DictReader(lines):
                    used |= set(filter(None, row["source"].split(";")))
    for path in HERE.parent.rglob("test_*.py"):  # or beside a check
        used |= set(re.findall(r"\bS\d{2,3}\b", path.read_text(encoding="utf-8")))
    assert used >= set(listed)

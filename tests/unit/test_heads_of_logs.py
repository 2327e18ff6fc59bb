"""Heads and codings of logs that kitchens have: what can be read for sure is read, and said."""

from __future__ import annotations

import zoneinfo
from pathlib import Path

import pytest

from generator.files.finding import BrokenData
from generator.review.readings import ReadingLog, read_log

ZONE = zoneinfo.ZoneInfo("Europe/Berlin")
ROWS = (("2026-11-25 14:00", "64.5"), ("2026-11-25 14:10", "65.5"), ("2026-11-25 14:20", "66.5"))


def read(path: Path, time: str, degrees: str, coding: str = "utf-8", sign: str = ",") -> ReadingLog:
    lines = [f"{time}{sign}{degrees}", *(f"{at}{sign}{t}" for at, t in ROWS)]
    file = path / "log.csv"
    file.write_bytes("\n".join([*lines, ""]).encode(coding))
    return read_log(file, ZONE)


def values(log: ReadingLog) -> list[float]:
    return [float(r.temperature.in_unit(log.unit)) for r in log.series[0].readings]


TIMES = ("Clock", "Datum/Uhrzeit", "Uhrzeit", "Zeit", "Date/heure", "Heure", "Fecha y hora", "Hora")
DEGREES = (
    "Pan 1 (°C)",
    "Tray 2 °C",
    "Kerntemperatur (°C)",
    "Temperatur (°C)",
    "Température (°C)",
    "Température à cœur (°C)",
    "Temperatura (°C)",
    "Temperatura interna (°C)",
    "Fühler 1 (°C)",
    "Sonde 1 (°C)",
    "Sonda 2 [°C]",
)


@pytest.mark.parametrize("time", [*TIMES, "Data/Ora", "Data e ora"])
@pytest.mark.parametrize("degrees", ["Temp (°C)", "Pan 1 (°C)", "Kerntemperatur (°C)"])
def test_a_head_of_times_in_other_words(tmp_path: Path, time: str, degrees: str) -> None:
    log = read(tmp_path, time, degrees)
    assert values(log) == [64.5, 65.5, 66.5]
    assert any(f"`{time}` as the time" in note for note in log.notes), log.notes


@pytest.mark.parametrize("degrees", DEGREES)
def test_a_head_of_temperatures_in_other_words(tmp_path: Path, degrees: str) -> None:
    log = read(tmp_path, "Time", degrees, sign=";")
    assert values(log) == [64.5, 65.5, 66.5]


def test_the_note_names_a_vessel(tmp_path: Path) -> None:
    (note,) = read(tmp_path, "Time", "Pan 1 (°C)").notes
    assert note == "Read `Pan 1 (°C)` as the food's own temperature."


@pytest.mark.parametrize(
    "degrees",
    [
        "Ambient (°C)",
        "Air temp (°C)",
        "Set point (°C)",
        "Dew point (°C)",
        "Umgebungstemperatur (°C)",
        "Lufttemperatur (°C)",
        "Température ambiante (°C)",
        "Temperatura ambiente (°C)",
        "Room (°C)",
        "Oven (°C)",
        "Pan 1",
        "Sollwert (°C)",
    ],
)
def test_what_is_not_surely_the_foods_is_refused(tmp_path: Path, degrees: str) -> None:
    with pytest.raises(BrokenData) as caught:
        read(tmp_path, "Time", degrees)
    assert [f.code for f in caught.value.findings] == ["readings-header"]


def test_how_long_it_ran_is_no_clock(tmp_path: Path) -> None:
    for time in ("Elapsed", "Laufzeit", "Durée", "Minutes"):
        with pytest.raises(BrokenData):
            read(tmp_path, time, "Temp (°C)")


@pytest.mark.parametrize(
    ("coding", "noted"),
    [
        ("utf-8", ""),
        ("utf-8-sig", ""),
        ("utf-16", ""),
        ("utf-16-le", "UTF-16 without its mark"),
        ("utf-16-be", "UTF-16 without its mark"),
        ("cp1252", "Windows-1252 (Latin-1)"),
        ("latin-1", "Windows-1252 (Latin-1)"),
    ],
)
def test_each_coding_is_read_alike(tmp_path: Path, coding: str, noted: str) -> None:
    log = read(tmp_path, "Time", "Température (°C)", coding)
    assert values(log) == [64.5, 65.5, 66.5]
    said = [note for note in log.notes if "isn't UTF-8" in note]
    assert (said == [f"The file isn't UTF-8. It was read as {noted}."]) == bool(noted), log.notes


@pytest.mark.parametrize("coding", ["cp437", "mac_roman", "cp850", "shift_jis"])
def test_no_other_coding_is_guessed(tmp_path: Path, coding: str) -> None:
    with pytest.raises(BrokenData):
        read(tmp_path, "Time", "Temp (°C)", coding)

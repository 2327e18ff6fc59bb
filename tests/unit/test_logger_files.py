"""What loggers write: dates of both orders, preambles, heads, UTF-16, spreadsheets; how fast, and
what is refused."""

from __future__ import annotations

import datetime
import io
import time
import zipfile
import zoneinfo
from pathlib import Path

import openpyxl
import pytest

from generator.files.finding import BrokenData
from generator.review.logger_files import _cell
from generator.review.readings import ReadingLog, read_log
from generator.review.stamps import Order

ZONE = zoneinfo.ZoneInfo("America/Chicago")


def read(tmp_path: Path, text: str, dates: Order | None = None) -> ReadingLog:
    path = tmp_path / "log.csv"
    path.write_text(text, encoding="utf-8")
    return read_log(path, ZONE, dates)


def refused(tmp_path: Path, text: str, dates: Order | None = None) -> list[tuple[str, int, str]]:
    with pytest.raises(BrokenData) as caught:
        read(tmp_path, text, dates)
    return [(f.code, f.place.line, f.message) for f in caught.value.findings]


def local(log: ReadingLog, index: int = 0) -> str:
    return log.series[0].readings[index].at.astimezone(ZONE).isoformat(" ", "minutes")[:16]


@pytest.mark.parametrize(
    ("stamp", "dates", "local_time"),
    [
        ("11/20/2026 3:05 PM", None, "2026-11-20 15:05"),
        ("11/20/2026 12:05 am", None, "2026-11-20 00:05"),
        ("11/20/2026 12:05 p.m.", None, "2026-11-20 12:05"),
        ("20.11.2026 15:05", None, "2026-11-20 15:05"),
        ("20/11/2026, 15:05:30", "day-first", "2026-11-20 15:05"),
        ("05/11/2026 15:05", "day-first", "2026-11-05 15:05"),
        ("05/11/2026 15:05", "month-first", "2026-05-11 15:05"),
        ("5.11.2026 15:05", "day-first", "2026-11-05 15:05"),
        ("11/11/2026 15:05", None, "2026-11-11 15:05"),
        ("2026/11/20 15:05", None, "2026-11-20 15:05"),
        ("2026-11-20 15:05", "month-first", "2026-11-20 15:05"),
        ("20.11.26 15:05", "day-first", "2026-11-20 15:05"),
        ("11/20/26 3:05 PM", None, "2026-11-20 15:05"),
        ("11/20/26 3:05 PM", "month-first", "2026-11-20 15:05"),
        ("5/11/26 15:05", "day-first", "2026-11-05 15:05"),
        ("26.11.20 15:05", "day-first", "2020-11-26 15:05"),
        ("26-Nov-2026 14:00", None, "2026-11-26 14:00"),
        ("5 may 2026 2:00 PM", None, "2026-05-05 14:00"),
        ("Nov 26, 2026 14:00:30", None, "2026-11-26 14:00"),
        ("September 1, 2026, 14:00", None, "2026-09-01 14:00"),
        ("20.11.2026 15.05", None, "2026-11-20 15:05"),  # Germany, Italy, the North
        ("20.11.2026 9.05.30", None, "2026-11-20 09:05"),
        ("20/11/2026 15h05", "day-first", "2026-11-20 15:05"),  # France
        ("11/20/2026 3.05 PM", None, "2026-11-20 15:05"),
    ],
)
def test_a_date_is_read_as_it_was_written(
    tmp_path: Path, stamp: str, dates: Order | None, local_time: str
) -> None:
    assert local(read(tmp_path, f"time;temp_c\n{stamp};4\n", dates)) == local_time


def test_a_date_of_two_readings_is_asked_about_once(tmp_path: Path) -> None:
    rows = "".join(f"05/11/2026 15:{m:02},4\n" for m in range(30))
    ((code, line, words),) = refused(tmp_path, "time,temp_c\n" + rows)
    assert (code, line) == ("reading-dates", 2) and "day or the month first" in words


@pytest.mark.parametrize(
    ("stamps", "dates", "code"),
    [
        (["11/20/2026 15:05", "20/11/2026 15:10"], None, "reading-dates"),
        (["2026-11-20 3:05 PM", "2026-11-20 15:10"], None, "reading-dates"),
        (["20.11.2026 15:05"], "month-first", "reading-time"),
        (["11/20/2026 13:05 PM"], None, "reading-time"),
        (["11/20/2026 0:05 AM"], None, "reading-time"),
        (["20.11.26 15:05"], None, "reading-dates"),
        (["05.11.26 15:05"], None, "reading-dates"),
        (["11.11.11 15:05"], None, "reading-dates"),
        (["26-11-20 15:05"], None, "reading-dates"),
        (["20.11.26 15:05"], "month-first", "reading-time"),
        (["11/20/26 15:05", "26/11/40 15:10"], None, "reading-dates"),
        (["12/11/2026 15:05"], None, "reading-dates"),
        (["11/12/2026 15:05"], None, "reading-dates"),
        (["11/20/260 15:05"], None, "reading-time"),
        (["11-20/2026 15:05"], None, "reading-time"),
        (["20.11.2026"], None, "reading-time"),
        (["31.11.2026 15:05"], None, "reading-time"),
        (["20.11.2026 15.5"], None, "reading-time"),
        (["20.11.2026 15.60"], None, "reading-time"),
        (["20.11.2026 15"], None, "reading-time"),
    ],
)
def test_a_date_at_odds_with_itself_or_the_log_is_refused(
    tmp_path: Path, stamps: list[str], dates: Order | None, code: str
) -> None:
    text = "time;temp_c\n" + "".join(f"{s};4\n" for s in stamps)
    assert [c for c, _, _ in refused(tmp_path, text, dates)] == [code]


@pytest.mark.parametrize(
    ("head", "unit"),
    [
        ("Temp (°F)", "°F"),
        ("Temperature (°C)", "°C"),
        ("temp_f", "°F"),
        ("Temp [C]", "°C"),
        ("°F", "°F"),
        ("Temp, °C", "°C"),
        ("Reading (deg F)", "°F"),
        ("Temperature Celsius", "°C"),
        ("Probe 1 (°C)", "°C"),
        ("Core temp 1 [°F]", "°F"),
        ("T1/°C", "°C"),
        ("Ch2 °F", "°F"),
        ("probe_a_c", "°C"),
        ("Ch1 Temp(°C)", "°C"),
        ("Channel 2 temperature (°F)", "°F"),
        ("Sensor No. 3, deg F", "°F"),
        ("Celsius(°C)", "°C"),
        ("Fahrenheit (°F)", "°F"),
        ("Temp, °F (LGR S/N: 2098, SEN S/N: 2098)", "°F"),
    ],
)
def test_heads_of_temperatures(tmp_path: Path, head: str, unit: str) -> None:
    log = read(tmp_path, f"Date/Time;{head}\n2026-11-20 15:05;40\n")
    assert log.unit == unit


@pytest.mark.parametrize(
    "head",
    [
        "Temp",
        "Reading",
        "Temp (K)",
        "C",
        "f",
        "humidity",
        "TC",
        "Set temp (°C)",
        "Oven (°C)",
        "T1",
        "Celsius(°F)",
    ],
)
def test_a_head_without_its_scale_is_refused(tmp_path: Path, head: str) -> None:
    ((code, _, _),) = refused(tmp_path, f"Time,{head}\n2026-11-20 15:05,40\n")
    assert code == "readings-header"


def test_a_head_that_is_not_the_foods_is_named(tmp_path: Path) -> None:
    ((_, line, words),) = refused(tmp_path, "Model 7\nTime,Oven temp (°C)\n2026-11-20 15:05,40\n")
    assert line == 2 and "`Oven temp (°C)` isn't known as the food's temperature" in words


def test_a_head_of_times_says_their_zone(tmp_path: Path) -> None:
    for head, hour in (("GMT-06:00", 14), ("UTC+01:00", 7), ("GMT", 8), ("UTC-0430", 12)):
        text = f'Plot Title: 12\n#,"Date Time, {head}","Temp, °C"\n1,2026-11-20 14:05:00,4\n'
        assert local(read(tmp_path, text)) == f"2026-11-20 {hour:02}:{35 if hour == 12 else 5:02}"
    own = 'Time (UTC),"Temp, °C"\n2026-11-20 14:05:00-06:00,4\n'
    assert local(read(tmp_path, own)) == "2026-11-20 14:05"  # a stamp's own zone goes first
    ((code, _, words),) = refused(tmp_path, text.replace("UTC-0430", "UTC-99:00"))
    assert code == "readings-header" and "no such zone" in words
    # an hour has 59 minutes and the next is the hour itself: 14:05 at +05:59 is 8:06 UTC
    assert local(read(tmp_path, text.replace("UTC-0430", "UTC+05:59"))) == "2026-11-20 02:06"
    ((code, _, words),) = refused(tmp_path, text.replace("UTC-0430", "UTC+05:60"))
    assert code == "readings-header" and "no such zone" in words


def test_a_fault_of_the_heads_underlines_their_whole_line(tmp_path: Path) -> None:
    heads = "Time,Warmth °C inside"
    with pytest.raises(BrokenData) as caught:
        read(tmp_path, f"{heads}\n2026-11-20 15:05,4\n")
    (finding,) = caught.value.findings
    assert (finding.place.column, finding.place.length) == (1, len(heads))


def test_no_month_by_a_name_that_is_none(tmp_path: Path) -> None:
    for stamp in ("26-Nom-2026 14:00", "31-Feb-2026 14:00", "26-Nov-26 14:00", "32 May 2026 9:00"):
        ((code, _, _),) = refused(tmp_path, f"time,temp_c\n{stamp},4\n")
        assert code == "reading-time"


def helps(tmp_path: Path, text: str) -> tuple[str, str]:
    with pytest.raises(BrokenData) as caught:
        read(tmp_path, text)
    (finding,) = caught.value.findings
    return finding.message, finding.help


def test_a_column_that_is_not_known_is_named_with_what_to_call_it(tmp_path: Path) -> None:
    words, help = helps(tmp_path, "Time,Warmth °C inside\n2026-11-20 15:05,4\n")
    assert "`Warmth °C inside`" in words and "rename this column temp_c" in help
    words, help = helps(tmp_path, "When (date),Temp (°C)\n2026-11-20 15:05,4\n")
    assert "`When (date)`" in words and "rename this column time" in help
    for head in ("Elapsed", "Time (min)", "Elapsed time [s]", "Hours"):
        words, help = helps(tmp_path, f"{head},Temp (°C)\n00:15:00,4\n")
        assert f"`{head}` is not a time of day" in words and "Write clock times" in help
    words, help = helps(tmp_path, "Kiedy;Godzina;Temp (°C)\n20.11.2026;15:05;4\n")
    assert "`Kiedy`, `Godzina`" in help


def test_columns_that_are_left_out_are_named(tmp_path: Path) -> None:
    text = (
        "Time,Core (°C),Setpoint (°C),Air (°C),Dew Point(°C),Ambient,Humidity\n"
        "2026-11-20 15:05,60,-5,-4,9,20,40\n"
    )
    log = read(tmp_path, text)
    assert [s.probe for s in log.series] == ["probe"]
    (note,) = log.notes
    for name in ("Setpoint (°C)", "Air (°C)", "Dew Point(°C)", "Ambient", "Humidity"):
        assert f"`{name}`" in note
    assert "Core" not in note


SOUP = ("fish-soup", "Fish soup")


@pytest.mark.parametrize("head", ["Product", "food item", "Recipe"])
def test_another_product_than_the_one_judged_is_asked_about(tmp_path: Path, head: str) -> None:
    """A log of chili was judged as fish soup in silence; two products in one log, too."""
    path = tmp_path / "log.csv"
    row = "2026-11-20 14:0{},{},70"
    for names, asked in (
        (["Fish soup", "FISH-SOUP", "", "fish_soup"], []),
        (["1", "2", "3"], []),  # lines that are numbered
        (["Chili", "Chili"], [(2, "`Chili` (2\u00a0lines)")]),
        (["Fish soup", "Chili", "Fish soup, spiced"], [(3, "`Chili`"), (4, "`Fish soup, spiced`")]),
    ):
        # in quotes, since a name may hold a comma
        rows = [row.format(minute, f'"{name}"') for minute, name in enumerate(names)]
        path.write_text("\n".join([f"time,{head},temp_c", *rows]) + "\n", encoding="utf-8")
        found = []
        try:
            log = read_log(path, ZONE, None, SOUP)
        except BrokenData as broken:
            found = broken.findings
        else:
            assert log.notes == ()
        said = [(f.place.line, f.message) for f in found]
        assert said == [(n, f"The log is of {name}. Is that Fish soup?") for n, name in asked]
        assert all(f.code == "reading-product" and "`fish-soup`" in f.help for f in found)
        assert read_log(path, ZONE).series  # where nobody said what it is of


def test_a_fault_of_every_line_is_reported_once_with_a_count(tmp_path: Path) -> None:
    for count in (8, 300):
        rows = "".join(f"{1795701600 + n},4\n" for n in range(count))
        ((code, line, words),) = refused(tmp_path, f"time,temp_c\n{rows}")
        assert (code, line) == ("reading-time", 2) and f"on all {count} lines" in words
    some = "time,temp_c\n2026-11-20 15:05,4\n1795701600,4\n1795701601,4\n2026-11-20 15:06,x\n"
    assert [line for _, line, _ in refused(tmp_path, some)] == [3, 4, 5]


def test_a_column_for_each_probe(tmp_path: Path) -> None:
    text = (
        "Time,Probe 1 (°C),Humidity,Probe 2 (°C)\n"
        "2026-11-20 15:05,60,40,61\n2026-11-20 15:06,61,40,\n"
    )
    log = read(tmp_path, text)
    assert [(s.probe, len(s.readings), len(s.drop_outs)) for s in log.series] == [
        ("Probe 1", 2, 0),
        ("Probe 2", 1, 1),
    ]
    assert [str(s.readings[0].temperature) for s in log.series] == ["60\u00a0°C", "61\u00a0°C"]
    both = [(c, n) for c, n, _ in refused(tmp_path, text.replace("15:06,61", "15:06,6I"))]
    assert both == [("reading-temperature", 3)]


@pytest.mark.parametrize(
    ("head", "words"),
    [
        ("Probe 1 (°C),Probe 1 (°F)", "in °C and in °F"),
        ("Probe 1 (°C),Probe 1 (°C)", "have the same name"),
        ("Probe 1 (°C),Probe 2 (°C),probe", "one that names the probe"),
    ],
)
def test_columns_that_contradict_each_other_are_refused(
    tmp_path: Path, head: str, words: str
) -> None:
    cells = "40," * (head.count(",")) + "40"
    ((code, _, said),) = refused(tmp_path, f"Time,{head}\n2026-11-20 15:05,{cells}\n")
    assert code == "readings-header" and words in said


def test_a_form_with_its_hours_side_by_side_says_how_to_write_it(tmp_path: Path) -> None:
    """The paper log most kitchens fill in: a row a batch, a column an hour."""
    head = "Date,Food,Start time,Start temp (°F),2 hr temp,6 hr temp,Initials"
    ((code, line, said),) = refused(tmp_path, f"{head}\n11/20/2026,Soup,2:00 PM,140,69,40,AB\n")
    assert (code, line) == ("readings-header", 1) and "side by side" in said


PAIRS = "Date,Food item,Time,Temp (°F),Time,Temp,Time,Temp,Initials"


def readings_of(path: Path, text: str) -> list[tuple[str, str, str]]:
    path.write_text(text, encoding="utf-8")
    log = read_log(path, ZONE)
    return [
        (s.probe, f"{r.at.astimezone(ZONE):%d %H:%M}", str(r.temperature))
        for s in log.series
        for r in s.readings
    ]


@pytest.mark.parametrize(
    ("day", "times", "expected"),
    [
        ("2026-11-20", ("14:00", "16:00", "20:00"), ("20 14:00", "20 16:00", "20 20:00")),
        ("2026-11-20", ("21:30", "23:30", "03:30"), ("20 21:30", "20 23:30", "21 03:30")),
        ("11/20/2026", ("9:30 PM", "11:30 PM", "3:30 AM"), ("20 21:30", "20 23:30", "21 03:30")),
        ("30.11.2026", ("22:00", "00:00", "02:00"), ("30 22:00", "01 00:00", "01 02:00")),
    ],
)
def test_a_form_with_a_time_beside_each_temperature_is_read(
    tmp_path: Path, day: str, times: tuple[str, ...], expected: tuple[str, ...]
) -> None:
    """As health departments print it: Date, food, then time and temperature as often as it is read.
    The same readings, a line each, come to the same log."""
    cells = ",".join(f"{t},{d}" for t, d in zip(times, (140, 69, 40), strict=True))
    found = readings_of(tmp_path / "form.csv", f"{PAIRS}\n{day},Soup,{cells},AB\n")
    assert [at for _, at, _ in found] == list(expected)
    assert [t.replace("\u00a0", " ") for _, _, t in found] == ["140 °F", "69 °F", "40 °F"]
    assert {probe for probe, _, _ in found} == {"Soup (line 2)"}


def test_each_row_of_a_form_is_a_batch(tmp_path: Path) -> None:
    rows = (
        "2026-11-20,Soup,14:00,140,16:00,69,20:00,40,AB\n2026-11-21,Soup,14:00,140,16:00,70,,,AB\n"
    )
    found = readings_of(tmp_path / "form.csv", f"{PAIRS}\n{rows}")
    assert [probe for probe, _, _ in found] == ["Soup (line 2)"] * 3 + ["Soup (line 3)"] * 2


@pytest.mark.parametrize(
    "row",
    [
        "2026-11-20,Soup,10:00,140,12:00,69,4:00,40,AB",  # past noon, or past midnight
        "10/11/2026,Soup,21:00,140,23:00,69,03:00,40,AB",  # October or November
        "2026-11-20,Soup,14:00,140,,69,20:00,40,AB",
        "2026-11-20,Soup,14:00,140",
    ],
)
def test_what_a_form_leaves_unclear_is_asked(tmp_path: Path, row: str) -> None:
    assert refused(tmp_path, f"{PAIRS}\n{row}\n")


# --- clocks of twelve hours


@pytest.mark.parametrize(
    ("hours", "lines"),
    [
        (["11:50", "12:10", "1:05", "1:20"], "Line 3 is of 12:10, and the next, line 4"),
        (["10:00", "2:00"], "Line 2 is of 10:00, and the next, line 3, of 2:00"),
        # the newest first
        (["1:20", "1:05", "12:10", "11:50"], "Line 4 is of 12:10, and the next, line 3"),
    ],
)
def test_hours_that_go_back_as_on_a_clock_of_twelve_are_asked_about(
    tmp_path: Path, hours: list[str], lines: str
) -> None:
    for day in ("2026-11-20 ", "11/20/2026 "):
        text = "time,temp_c\n" + "".join(f"{day}{h:0>5},4\n" for h in hours)
        ((code, _, words),) = refused(tmp_path, text)
        assert code == "reading-hours" and lines in words
    with_zone = "time,temp_c\n" + "".join(f"2026-11-20 {h:0>5}Z,4\n" for h in hours)
    read(tmp_path, with_zone)


def test_after_midnight_and_of_the_second_probe_they_are_asked_about_too(tmp_path: Path) -> None:
    rows = ["11/20/2026 11:50", "11/21/2026 12:10", "11/21/2026 1:05"]
    text = "time,probe,temp_c\n" + "".join(f"11/20/2026 {m}:00,A,4\n" for m in (9, 10, 11))
    text += "".join(f"{r},B,4\n" for r in rows)
    ((code, line, _),) = refused(tmp_path, text)
    assert (code, line) == ("reading-hours", 7)


MIDNIGHT = [
    ["23:00", "00:10"],
    ["13:30", "23:00", "00:10", "00:40"],
    ["0:40", "00:10", "23:00", "22:30"],
]


@pytest.mark.parametrize("hours", MIDNIGHT)
@pytest.mark.parametrize("two", [True, False])
def test_hours_past_midnight_under_the_date_before_are_asked_about(
    tmp_path: Path, hours: list[str], two: bool
) -> None:
    """They were sorted: half an hour's cooling became a rise over 23 hours."""
    head, between = ("Date,Time", ",") if two else ("time", " ")
    text = "\n".join([f"{head},temp_c", *(f"2026-11-20{between}{h},4" for h in hours)]) + "\n"
    ((code, _, words),) = refused(tmp_path, text)
    assert code == "reading-hours" and "of 00:10 on the same date. Is 00:10 the next day?" in words
    late = hours.index("23:00")
    newest_first = hours[0] == "0:40"
    for n, hour in enumerate(hours):  # the fix: the next day's date where it was asked for
        next_day = n < late if newest_first else n > late
        text = text.replace(
            f"2026-11-20{between}{hour}", f"2026-11-2{int(next_day)}{between}{hour}"
        )
    log = read(tmp_path, text)
    first, last = (log.series[0].readings[i].at for i in (0, -1))
    assert last - first < datetime.timedelta(hours=12)


def test_other_days_out_of_order_and_half_a_day_back_are_put_in_order(tmp_path: Path) -> None:
    for stamps in (
        ["2026-11-21 23:00", "2026-11-20 10:00", "2026-11-20 11:00"],
        ["2026-11-20 23:00", "2026-11-20 11:00", "2026-11-20 11:05"],
        ["2026-11-20 23:00", "2026-11-21 00:10"],
    ):
        read(tmp_path, "time,temp_c\n" + "".join(f"{at},4\n" for at in stamps))


@pytest.mark.parametrize(
    "hours",
    [
        ["11:50", "12:10", "13:05", "1:20"],  # a clock of 24 hours, out of order
        ["0:10", "12:10", "1:05"],
        ["9:10", "9:05", "9:15"],
        ["9:15", "9:10", "9:05"],
        ["8:00", "12:00", "8:00"],
    ],
)
def test_lines_out_of_order_are_put_in_order_and_named(tmp_path: Path, hours: list[str]) -> None:
    text = "time,temp_c\n" + "".join(f"2026-11-20 {h:0>5},4\n" for h in hours)
    assert any("out of order" in note for note in read(tmp_path, text).notes)


def test_a_preamble_and_a_date_beside_its_time(tmp_path: Path) -> None:
    text = (
        'Serial,"10,452"\nStarted,2026-11-20\n\nDate,Time,Channel,Temp (°F),\n'
        "11/20/2026,3:05 PM,A,165.2,\n11/20/2026,3:06 PM,A,164,\n"
    )
    log = read(tmp_path, text)
    assert local(log) == "2026-11-20 15:05"
    assert [(s.probe, len(s.readings)) for s in log.series] == [("A", 2)]
    assert [r.line for r in log.series[0].readings] == [5, 6]


@pytest.mark.parametrize("coding", ["utf-16", "utf-16-le", "utf-16-be"])
def test_utf_16(tmp_path: Path, coding: str) -> None:
    path = tmp_path / "log.csv"
    mark = "" if coding == "utf-16" else "\ufeff"
    path.write_bytes((mark + "time\ttemp (°C)\r\n2026-11-20 15:05\t4,5\r\n").encode(coding))
    assert str(read_log(path, ZONE).series[0].readings[0].temperature) == "4.5\u00a0°C"


# --- spreadsheets


def book(tmp_path: Path, *sheets: list[list[object]]) -> Path:
    made = openpyxl.Workbook()
    made.remove(made.active)  # type: ignore[arg-type]
    for number, rows in enumerate(sheets):
        sheet = made.create_sheet(f"S{number}")
        for row in rows:
            sheet.append(row)
    path = tmp_path / "log.xlsx"
    made.save(path)
    return path


AT = datetime.datetime(2026, 11, 20, 15, 5)


def test_a_spreadsheet_with_days_texts_and_figures(tmp_path: Path) -> None:
    rows: list[list[object]] = [
        ["Logger 7"],
        [],
        ["Time", "Probe", "Temp (°C)"],
        [AT, "A", 74.2],
        ["2026-11-20 15:06", "A", "73,9"],
        [AT + datetime.timedelta(minutes=2), "A", None],
    ]
    (series,) = read_log(book(tmp_path, rows, []), ZONE).series
    assert [str(r.temperature) for r in series.readings] == ["74.2\u00a0°C", "73.9\u00a0°C"]
    assert [r.line for r in series.readings] == [4, 5] and len(series.drop_outs) == 1
    apart: list[list[object]] = [["Date", "Time", "temp_f"], [AT.date(), AT.time(), 165]]
    assert local(read_log(book(tmp_path, apart), ZONE)) == "2026-11-20 15:05"


def test_a_time_kept_as_a_share_of_a_day_is_the_nearest_second(tmp_path: Path) -> None:
    """Half a second goes up, as everywhere: 15:05:59.5 is the minute after."""
    stamps = [AT.replace(second=59, microsecond=part) for part in (499_999, 500_000)]
    assert [_cell(stamp) for stamp in stamps] == ["2026-11-20 15:05:59", "2026-11-20 15:06:00"]


def test_an_empty_row_of_a_spreadsheet_is_no_reading(tmp_path: Path) -> None:
    later = AT + datetime.timedelta(minutes=1)
    rows: list[list[object]] = [["time", "temp_c", None], [AT, 4], [None, None], [later, 3.5]]
    (series,) = read_log(book(tmp_path, rows), ZONE).series
    assert [r.line for r in series.readings] == [2, 4] and not series.drop_outs


def test_a_formula_without_its_value_is_a_drop_out(tmp_path: Path) -> None:
    path = book(tmp_path, [["time", "temp_c"], [AT, "=1+73"], [AT, 4]])
    (series,) = read_log(path, ZONE).series
    assert len(series.drop_outs) == 1 and len(series.readings) == 1


def bad(path: Path) -> str:
    with pytest.raises(BrokenData) as caught:
        read_log(path, ZONE)
    (finding,) = caught.value.findings
    return f"{finding.code}: {finding.message}"


def test_what_is_no_plain_spreadsheet_is_refused(tmp_path: Path) -> None:
    two = [["time", "temp_c"], [AT, 4]]
    assert "2 filled sheets" in bad(book(tmp_path, two, two))  # type: ignore[arg-type]
    path = book(tmp_path, two)  # type: ignore[arg-type]
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) // 2])
    assert "can't be unpacked" in bad(path)
    path.write_bytes(b"\xd0\xcf\x11\xe0" + b"\0" * 600)
    assert "old kind" in bad(path)
    with zipfile.ZipFile(path, "w") as packed:
        packed.writestr("hello.txt", "hello")
    assert "not a spreadsheet" in bad(path)


def changed(whole: bytes, name: str, new: bytes) -> bytes:
    out = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(whole)) as before,
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as after,
    ):
        for member in before.infolist():
            after.writestr(member, new if member.filename == name else before.read(member))
    return out.getvalue()


def test_a_packed_bomb_and_entities_are_refused_before_they_are_read(tmp_path: Path) -> None:
    path = book(tmp_path, [["time", "temp_c"], [AT, 4]])
    whole = path.read_bytes()
    sheet = "xl/worksheets/sheet1.xml"
    path.write_bytes(changed(whole, sheet, b"<x>" + b" " * (200 * 1024 * 1024)))
    started = time.process_time()
    assert "128 MiB" in bad(path)
    assert time.process_time() - started < 1
    path.write_bytes(
        changed(whole, sheet, b'<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "b">]><x>&a;</x>')
    )
    assert "not a plain spreadsheet" in bad(path)


def test_a_hundred_thousand_rows_are_read_in_little_time(tmp_path: Path) -> None:
    start = datetime.datetime(2026, 11, 10)
    rows = [
        f"{start + datetime.timedelta(seconds=10 * i)},{'AB'[i % 2]},{30 + i % 19 / 10}\n"
        for i in range(100_000)
    ]
    best = 9.0
    for _ in range(2):
        started = time.process_time()
        log = read(tmp_path, "time,probe,temp_f\n" + "".join(rows))
        best = min(best, time.process_time() - started)
    assert sum(len(s.readings) for s in log.series) == 100_000
    print(f"100,000 rows: {best:.2f} s of CPU")
    assert best <= 1.5


_AT_TWO = "2026-11-20 14:00"


@pytest.mark.parametrize(
    ("head", "cells", "celsius"),
    [
        ("temp", ["64C", "40 °C", "4.5C"], [64, 40, 4.5]),
        ("Temperature", ["50F", "-- ", "41 °F"], [10, 5]),
        ("Core temp", ["147.2 F", "68F", ""], [64, 20]),
        ("reading", ["4,5 C", "4 c", "n/a"], [4.5, 4]),
    ],
)
def test_a_scale_that_every_cell_says_is_the_columns(
    tmp_path: Path, head: str, cells: list[str], celsius: list[float]
) -> None:
    rows = "".join(f"2026-11-20 1{n}:00;{cell}\n" for n, cell in enumerate(cells))
    (series,) = read(tmp_path, f"time;{head}\n{rows}").series
    found = [r.temperature.celsius for r in series.readings if r.temperature]
    assert found == celsius


@pytest.mark.parametrize(
    ("head", "rows"),
    [
        ("temp", ["64C", "40", "4C"]),  # one says none
        ("temp", ["64C", "104F", "4C"]),
        ("temp", ["64", "40", "4"]),
        ("Core temp", ["64C", "hot", "4C"]),
        ("Room", ["20C", "20C", "20C"]),  # no food's
        ("Food", ["20C", "20C", "20C"]),  # a food's name
        ("temp", ["-", "-", "-"]),
    ],
)
def test_a_scale_that_a_cell_leaves_out_is_no_columns(
    tmp_path: Path, head: str, rows: list[str]
) -> None:
    text = "".join(f"2026-11-20 1{n}:00,{cell}\n" for n, cell in enumerate(rows))
    ((code, line, _),) = refused(tmp_path, f"time,{head}\n{text}")
    assert (code, line) == ("readings-header", 1)


def test_each_probe_says_its_scale_in_its_cells(tmp_path: Path) -> None:
    log = read(tmp_path, f"time,Probe 1,Probe 2\n{_AT_TWO},64C,60C\n2026-11-20 15:00,21C,20C\n")
    assert {
        s.probe: [r.temperature.celsius for r in s.readings if r.temperature] for s in log.series
    } == {
        "Probe 1": [64, 21],
        "Probe 2": [60, 20],
    }
    both = f"time,Probe 1,Probe 2\n{_AT_TWO},64C,140F\n2026-11-20 15:00,21C,68F\n"
    ((code, _, words),) = refused(tmp_path, both)
    assert code == "readings-header" and "in °C and in °F" in words
    # a head that says its scale is believed, and the others are left alone
    known = read(tmp_path, f"time,temp_c,Core temp\n{_AT_TWO},64,140F\n")
    assert [
        s.readings[0].temperature.celsius for s in known.series if s.readings[0].temperature
    ] == [64]

"""A formula made at two stations: in the list and the binder of each, once, with one page."""

from __future__ import annotations

from pathlib import Path

from conftest import compute, edit

from generator.binder.documents import station_sheets
from generator.cli.asked import asked_stations
from generator.pages import make_pages
from generator.sheet.manual import Manual


def test_both_stations_list_and_print_it(kitchen: Path) -> None:
    edit(kitchen, "formulas/rice-salad.yaml", "station: pass", "station: [pass, range]")
    manual = compute(kitchen)
    assert isinstance(manual, Manual) and not manual.errors, manual.errors
    sheet = manual.sheets["rice-salad"]
    assert sheet.stations == "Pass and Range"
    assert sheet.formula.station.name == "Pass"
    pages = {page.uri: str(page.html) for page in make_pages(manual)}
    own = [uri for uri in pages if uri.endswith("/rice-salad.md")]
    assert own == ["pass/rice-salad.md"]
    for station in ("pass", "range"):
        (listed,) = [html for uri, html in pages.items() if uri == f"{station}/index.md"]
        assert listed.count(">Rice salad<") == 1, station
        keys = [record["key"] for record in station_sheets(manual, station)]
        assert len(keys) == len(set(keys))
        assert sum(key.endswith("/rice-salad/batch") for key in keys) == 1, station
    head = pages["pass/rice-salad.md"].split("ks-where", 1)[1][:300]
    assert ">Pass</a>" in head and ">Range</a>" in head


def test_a_station_that_makes_nothing_else_is_printed(kitchen: Path) -> None:
    edit(kitchen, "formulas/pork-bake.yaml", "station: range", "station: pass")
    alone = compute(kitchen)
    assert isinstance(alone, Manual)
    assert asked_stations(alone, ()) == ["pass"]
    edit(kitchen, "formulas/rice-salad.yaml", "station: pass", "station: [pass, range]")
    manual = compute(kitchen)
    assert isinstance(manual, Manual)
    assert sorted(asked_stations(manual, ())) == ["pass", "range"]

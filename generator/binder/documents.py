"""Binders: the sheets of stations, numbered, hashed, with the way to their pages."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from pathlib import Path

from generator.binder.batch_sheet import batch_sheets
from generator.binder.cover import cover_sheet
from generator.binder.equipment_sheet import equipment_sheet
from generator.binder.log_sheets import log_names, log_sheets
from generator.binder.numbering import numbered
from generator.binder.process_sheet import process_sheets
from generator.binder.qr import TooLong, qr_svg
from generator.binder.routine_sheet import routine_sheets
from generator.binder.sheets import Record, hash_of
from generator.binder.station_sheets import allergen_sheet, conversion_sheet, sign_off_sheet
from generator.files.progress import counted_off
from generator.measures.marks import written_with
from generator.sheet.manual import Manual
from generator.views.uris import address, formula_uri, process_uri, station_uri

_SITE_URL = re.compile(r"^site_url:\s*[\"']?([^\"'#\s]+)[\"']?\s*(?:#.*)?$", re.MULTILINE)


def site_url(project: Path) -> str:
    """Where the manual's site lies: ``site_url`` of mkdocs.yml with a slash at its end, or
    empty."""
    try:
        text = (project / "mkdocs.yml").read_text(encoding="utf-8", errors="replace")
    except OSError:
        return ""
    match = _SITE_URL.search(text)
    return match[1].rstrip("/") + "/" if match and "://" in match[1] else ""


WITH = ("processes", "conversions", "equipment")
"""What a binder holds only on request."""


def station_sheets(manual: Manual, station: str, more: Collection[str] = ()) -> list[Record]:
    """The sheets of a station but its cover, in the order of a new binder, not numbered yet;
    ``more`` are those of WITH that are asked for."""
    with written_with(manual.writing):
        mine = [s for s in manual.sheets.values() if station in s.formula.formula.station]
        found = [allergen_sheet(manual, station, mine)] if mine else []
        conversions = conversion_sheet(manual, station, mine) if "conversions" in more else None
        if conversions is not None:
            found.append(conversions)
        names = log_names(manual, mine)
        for sheet in mine:
            found += batch_sheets(manual, sheet, names)
        if "processes" in more:
            found += process_sheets(manual, station, mine)
        logs = log_sheets(manual, station, mine)
        found += logs
        kinds = {sheet["key"].rpartition("/")[2] for sheet in logs}
        found += routine_sheets(manual, station, kinds)
        if "equipment" in more:
            found.append(equipment_sheet(manual, station, mine))
        found.append(sign_off_sheet(manual, station))
        return found


def station_binder(
    manual: Manual,
    station: str,
    taken: Mapping[str, int],
    site: str,
    more: Collection[str] | None = None,
) -> list[Record]:
    """A station's sheets, cover first, each with number, hash and QR code. ``more`` are those of
    WITH that are asked for; not said, those that ``taken`` has a number of.

    ``taken`` are the numbers given already, ``site`` the site's address (empty: no QR codes).
    """
    sheets = station_sheets(manual, station, held_of(taken, station) if more is None else more)
    numbers = numbered((s["key"] for s in sheets), taken)
    sheets = sorted(
        (finished(s, str(numbers[s["key"]]), site) for s in sheets), key=lambda s: int(s["number"])
    )
    with written_with(manual.writing):
        cover = cover_sheet(manual, station, sheets)
    return [finished(cover, "", site), *sheets]


def held_of(taken: Mapping[str, int], station: str) -> tuple[str, ...]:
    """Which of WITH a binder holds whose sheets have the numbers ``taken``."""
    keys = [key for key in taken if key.startswith(f"{station}/")]
    kinds = {"processes": "/process", "conversions": "/conversions", "equipment": "/equipment"}
    return tuple(w for w in WITH if any(key.endswith(kinds[w]) for key in keys))


ON_REQUEST = "r"
"""What is in a QR code in place of the number, on a sheet that is in no binder."""


def finished(sheet: Record, number: str, site: str) -> Record:
    """A sheet with its number, its hash and its QR code; without ``site`` there is no code."""
    control = {**sheet["control"], "hash": hash_of(sheet)}
    code = None
    if site:
        place = number or ("0" if sheet["key"].endswith("/cover") else ON_REQUEST)
        where = code_address(site, sheet["key"], place, control["revision"], control["hash"])
        try:
            code = {"svg": qr_svg(where), "address": where}
        except TooLong:
            code = None
    return {**sheet, "number": number, "control": control, "qr": code}


def code_address(site: str, key: str, number: str, revision: str, hash: str) -> str:
    """What a sheet's QR code says: its page, and s, r and h for the page to compare."""
    return f"{site}{address(page_of(key))}?s={number}&r={revision}&h={hash}"


def page_of(key: str) -> str:
    """The page of the site a sheet belongs to, by its key: the formula's, the process's, the
    station's."""
    station, _, rest = key.partition("/")
    ident, _, kind = rest.partition("/")
    if kind == "batch" or kind.startswith("batch/"):
        return formula_uri(station, ident)
    if kind in ("process", "routine"):
        return process_uri(ident)
    return station_uri(station)


def title_of(manual: Manual, stations: Sequence[str], what: str) -> str:
    """The title of a document of one or more station binders."""
    names = [manual.house.stations[s].name for s in stations]
    return f"{manual.house.kitchen.name}: {', '.join(names)}, {what}"


def binder_document(
    manual: Manual,
    stations: Sequence[str],
    taken: Mapping[str, int],
    site: str,
    more: Collection[str] | None = None,
) -> Record:
    """The document of one or more station binders, one after the other."""
    sheets = [
        sheet
        for s in counted_off("Making sheets of paper", stations)
        for sheet in station_binder(manual, s, taken, site, more)
    ]
    return {"title": title_of(manual, stations, "station binder"), "sheets": sheets}

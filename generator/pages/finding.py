"""Findings in the page: in place of a formula that can't be computed, and all of them together."""

from __future__ import annotations

from dataclasses import dataclass, replace

from generator.files.finding import Finding, quoted_line, texts, total_words, visible
from generator.pages.navigation import CONTROL
from generator.pages.page import Page, make_page
from generator.sheet.manual import Broken, Manual, Stopped
from generator.views.uris import FINDINGS, HOME, formula_uri

_SEVERITY = {"error": "Error", "warning": "To look at", "note": "To look at"}


@dataclass(frozen=True)
class QuotedLine:
    """A line of the file with its fault set apart."""

    number: int
    before: str
    fault: str
    after: str


@dataclass(frozen=True)
class FindingView:
    """One finding as the page says it."""

    message: str
    help: str
    lines: tuple[QuotedLine, ...]
    write: tuple[str, ...]
    severity: str
    where: str
    code: str
    source: str


def finding_view(finding: Finding, own_file: str) -> FindingView:
    """A finding for a page about ``own_file``: another file is named, its own only by line."""
    place = finding.place
    lines: tuple[QuotedLine, ...] = ()
    if place.line and place.text:
        lines = (QuotedLine(place.line, *quoted_line(place)),)
    where = f"line {place.line}" if place.line else "the file"
    if place.file != own_file:
        where = f"{visible(place.file)}, {where}"
    if finding.more:
        where += f" · and {finding.more:,} more in this file"
    return FindingView(
        finding.message,
        finding.help,
        lines,
        finding.write,
        _SEVERITY[finding.severity],
        where,
        finding.code,
        finding.source,
    )


def _views(findings: tuple[Finding, ...], own_file: str) -> list[FindingView]:
    """As many findings as are printed in one run."""
    return [finding_view(f, own_file) for f, _ in texts(findings) if f is not None]


def in_place(manual: Manual | Broken, stations: dict[str, str]) -> Manual | Broken:
    """The manual with each formula that can't even be read left at the station it was last seen
    at, so that its findings are where its page was. ``stations`` is kept up to date."""
    if isinstance(manual, Manual):
        stations.update((i, s.formula.formula.home) for i, s in manual.sheets.items())
    stopped = {
        ident: replace(one, station=one.station or stations.get(ident, ""))
        for ident, one in manual.stopped.items()
    }
    return replace(manual, stopped=stopped)


def stopped_pages(manual: Manual | Broken) -> list[Page]:
    """A page in place of each formula that can't be computed."""
    return [stopped_page(stopped) for stopped in manual.stopped.values()]


def stopped_page(stopped: Stopped) -> Page:
    """The page in place of a formula that can't be computed."""
    count = total_words(stopped.findings)
    return make_page(
        formula_uri(stopped.station, stopped.id),
        stopped.name,
        stopped.station or CONTROL,
        "finding.html",
        edit=stopped.file,
        file=stopped.file,
        status="Not computed",
        counted=f"{count} to fix",
        explain="No weight and no limit is shown until this is fixed. Cooks still see the "
        "last published manual.",
        findings=_views(stopped.findings, stopped.file),
    )


def finding_pages(manual: Manual | Broken) -> list[Page]:
    """All findings on one page, while there are any."""
    if not manual.findings:
        return []
    places = [FINDINGS] if isinstance(manual, Manual) else [HOME, FINDINGS]
    return [
        make_page(
            uri,
            "Findings",
            CONTROL,
            "finding.html",
            file="",
            counted=total_words(manual.findings),
            status="Not all is computed" if manual.errors else "",
            explain="Everything this check found, in the order of the files.",
            findings=_views(manual.findings, ""),
        )
        for uri in places
    ]

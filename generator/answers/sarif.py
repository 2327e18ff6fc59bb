"""Findings as a SARIF log, which editors and code hosts show beside the lines."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any
from urllib.parse import quote

from generator.files.finding import Finding, as_record, visible

SCHEMA = (
    "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
)
_PROJECT = "PROJECT"


def sarif_log(
    findings: Iterable[Finding], known: Mapping[str, Mapping[str, str]], version: str
) -> dict[str, Any]:
    """A log of one run, with a rule for each code found and each fix as a change of its line.

    ``known`` is what each code means, as in ``shared/findings.yaml``; ``version`` the program's.
    Files are relative to the project, which is named ``PROJECT`` and not where it lies. Lines and
    columns count from 1, columns in characters.
    Source: OASIS, Static Analysis Results Interchange Format (SARIF) Version 2.1.0, 3.13 to 3.57.
    """
    found = list(findings)
    codes = sorted({finding.code for finding in found})
    driver = {
        "name": "kitchen-manual",
        "version": version,
        "rules": [_rule(code, known.get(code, {})) for code in codes],
    }
    about = {"text": "The project's folder, which holds `standards`."}
    run = {
        "tool": {"driver": driver},
        "columnKind": "unicodeCodePoints",
        "originalUriBaseIds": {_PROJECT: {"description": about}},
        "results": [_result(finding, codes.index(finding.code)) for finding in found],
    }
    return {"$schema": SCHEMA, "version": "2.1.0", "runs": [run]}


def _rule(code: str, words: Mapping[str, str]) -> dict[str, Any]:
    rule: dict[str, Any] = {"id": code}
    if means := words.get("means"):
        rule["fullDescription"] = {"text": str(means)}
    if source := words.get("source"):
        rule["help"] = {"text": f"Source: {source}"}
    return rule


def _result(finding: Finding, index: int) -> dict[str, Any]:
    record = as_record(finding)
    more = f"And {finding.more:,} more in this file." if finding.more else ""
    source = f"Source: {record['source']}" if "source" in record else ""
    words = [record["message"], record["help"], source, more]
    result: dict[str, Any] = {
        "ruleId": finding.code,
        "ruleIndex": index,
        "level": finding.severity,
        "message": {"text": " ".join(filter(None, words))},
        "locations": [{"physicalLocation": _location(finding)}],
    }
    fixes = [_fix(finding, line) for line in finding.write if line == visible(line)]
    if finding.place.line and fixes:
        result["fixes"] = fixes
    return result


def _file(finding: Finding) -> dict[str, str]:
    return {"uri": quote(finding.place.file, errors="surrogateescape"), "uriBaseId": _PROJECT}


def _location(finding: Finding) -> dict[str, Any]:
    place = finding.place
    found: dict[str, Any] = {"artifactLocation": _file(finding)}
    if place.line:
        start = max(1, place.column)
        region = {"startLine": place.line, "startColumn": start, "endColumn": start + place.length}
        found["region"] = region
    return found


def _fix(finding: Finding, line: str) -> dict[str, Any]:
    """The whole line, its indent kept, as the finding says to write it."""
    place = finding.place
    indent = place.text[: len(place.text) - len(place.text.lstrip())]
    whole = {"startLine": place.line, "startColumn": 1, "endColumn": len(place.text) + 1}
    change = {"deletedRegion": whole, "insertedContent": {"text": indent + line}}
    return {
        "description": {"text": f"Write: {line}"},
        "artifactChanges": [{"artifactLocation": _file(finding), "replacements": [change]}],
    }

"""Findings as SARIF, read back by a reader made from the standard's own schema."""

from __future__ import annotations

import json
from pathlib import Path
from urllib.parse import unquote

import pytest
from broken_kitchens import KITCHENS
from commands import run
from conftest import compute, edit, lay
from pydantic_sarif.model import StaticAnalysisResultsFormatSarifVersion210JsonSchema as Log
from test_broken_kitchens import CASES

from generator.answers.sarif import sarif_log
from generator.cli.explain import known_findings

SAMPLE = [case for case in CASES[::12] if KITCHENS[case].expected.strip()]


@pytest.mark.parametrize("case", SAMPLE)
def test_each_finding_is_where_it_is_and_its_fix_is_its_line(case: str, tmp_path: Path) -> None:
    project = lay(case, tmp_path / "kitchen")
    manual = compute(project)
    known = known_findings()
    data = json.loads(json.dumps(sarif_log(manual.findings, known, "1")))
    log = Log.model_validate(data)
    (one,) = log.runs
    results = one.results
    assert results is not None and len(results) == len(manual.findings) > 0
    for found, result in zip(manual.findings, results, strict=True):
        rules = one.tool.driver.rules
        assert rules is not None and result.ruleIndex is not None and result.level is not None
        rule = rules[result.ruleIndex]
        assert rule.id == result.ruleId == found.code and result.level.value == found.severity
        assert rule.fullDescription is not None
        assert rule.fullDescription.text == known[found.code]["means"]
        place = data["runs"][0]["results"][results.index(result)]["locations"][0]
        file = place["physicalLocation"]["artifactLocation"]
        assert file == {"uri": found.place.file, "uriBaseId": "PROJECT"}
        region = place["physicalLocation"].get("region")
        if not found.place.line:
            assert region is None and not result.fixes
            continue
        lines = (project / unquote(file["uri"])).read_text(encoding="utf-8").split("\n")
        line = lines[region["startLine"] - 1]
        meant = line[region["startColumn"] - 1 : region["endColumn"] - 1]
        assert meant == found.place.text[found.place.column - 1 :][: found.place.length]
        for fix, write in zip(result.fixes or [], found.write, strict=True):
            (change,) = fix.artifactChanges[0].replacements
            gone = change.deletedRegion
            assert gone.startColumn is not None and gone.endColumn is not None
            assert (gone.startLine, gone.startColumn, gone.endColumn) == (
                found.place.line,
                1,
                len(line) + 1,
            )
            assert change.insertedContent is not None
            written = change.insertedContent.text or ""
            assert written.lstrip() == write and line.startswith(written[: -len(write)])


def test_the_command_prints_one_log_and_names_no_folder(kitchen: Path) -> None:
    edit(kitchen, "formulas/pork-bake.yaml", "salt: 1.6 %", "salt: 1.6")
    done = run(kitchen, "check", "--format", "sarif")
    assert done.returncode == 1 and str(kitchen) not in done.stdout
    log = Log.model_validate(json.loads(done.stdout))
    assert log.version.value == "2.1.0" and log.runs[0].tool.driver.name == "kitchen-manual"
    (result,) = log.runs[0].results or []
    assert result.ruleId == "amount-without-unit" and len(result.fixes or []) == 2
    edit(kitchen, "formulas/pork-bake.yaml", "salt: 1.6", "salt: 1.6 %")
    clean = run(kitchen, "check", "--format", "sarif")
    assert clean.returncode == 0 and json.loads(clean.stdout)["runs"][0]["results"] == []

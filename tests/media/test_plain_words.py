"""Plain English: the words a cook of nineteen with English as a second language doesn't know, or that
are one author's dialect, are nowhere where somebody reads: pages, sheets, findings, help, guide."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click
import yaml
from commands import every_command
from conftest import ROOT, TESTS
from each_row import each_row

from generator.binder.documents import station_binder
from generator.sheet.manual import Manual

INSTEAD = {
    r"(?<!can't )(?<!cannot )(?:tells?|told|telling)": "say, report, ask",
    r"mends?|mended|mending": "fix",
    r"(?<!left to )stands?(?! covered\b)(?!-)": "is, applies, belongs; food waits or is left out",
    r"whereof|thereof|hereby|lest|shall|hither|forthwith|whosoever": "everyday words",
    r"discard(?:ed|s)?(?!, commit)": "throw away",
    r"nobody knows": "you don't know",
    r"is meant\?": "did you mean …?",
    r"gone through again": "reviewed",
    r"what else is watched": "the plan lists other checks",
    r"(?<!-)misfit": "problem",
}
"""Words by pattern, and what to write instead."""
BARRED = [
    (re.compile(rf"\b(?:{words})\b", re.IGNORECASE), instead) for words, instead in INSTEAD.items()
]
QUOTED = re.compile(r"“[^”]*”|\"[^\"]*\"|`[^`]*`|\[[a-z-]+\]")
LONGEST = 34
"""Words in a sentence at most, on the pages and sheets of the demo's formulas."""


def barred_in(text: str) -> list[str]:
    """What of a text is written otherwise, with a few words round it."""
    plain = QUOTED.sub("…", text)
    return [
        f"…{plain[max(0, m.start() - 40) : m.end() + 30]}… ({instead})"
        for words, instead in BARRED
        for m in words.finditer(plain)
    ]


def texts_of(found: Any) -> Iterator[str]:
    """Every text in a record of mappings and lists."""
    if isinstance(found, str):
        yield found
    elif isinstance(found, dict):
        for value in found.values():
            yield from texts_of(value)
    elif isinstance(found, list | tuple):
        for value in found:
            yield from texts_of(value)


def page_text(path: Path) -> str:
    """The text of a page's main content."""
    text = path.read_text(encoding="utf-8")
    text = re.sub(
        r"(?s)<(script|style|template)\b.*?</\1>|<code>.*?</code>|<pre.*?</pre>", " … ", text
    )
    main = text[text.index("<main") : text.index("</main>")] if "<main" in text else text
    return html.unescape(
        re.sub(
            r"<[^>]+>",
            " ",
            re.sub(
                r"</(?:p|li|h\d|td|th|div|dd|dt|option|button|label|summary|span|a|strong)>",
                ".\n",
                main,
            ),
        )
    )


def test_the_list_finds_what_it_bars() -> None:
    assert barred_in("A limit stands here.") and barred_in("Found so, discard it.")
    assert not barred_in("The key `stands` is old. It stands covered for 2 minutes.")


def test_findings_are_in_plain_words() -> None:
    explained = yaml.safe_load((ROOT / "shared/findings.yaml").read_text(encoding="utf-8"))
    assert [w for one in explained["findings"].values() for w in barred_in(one["means"])] == []


def test_every_finding_of_a_broken_kitchen_is_in_plain_words() -> None:
    """What the tests' broken kitchens are reported, more than 300 of them; what was typed is left out."""
    found: list[str] = []
    for table in sorted((TESTS / "kitchens/broken").glob("*.yaml")):
        for case in yaml.safe_load(table.read_text(encoding="utf-8")):
            lines = str(case.get("expected", "")).splitlines()
            said = [li for li in lines if not re.match(r"\s*\d* \|", li) and "Write:" not in li]
            found += [f"{case['name']}: {w}" for li in said for w in barred_in(li)]
    assert found == []


@each_row("name", sorted(every_command()))
def test_help_is_in_plain_words(name: str) -> None:
    command = every_command()[name]
    assert barred_in(command.get_help(click.Context(command))) == []


def test_shared_words_are_plain() -> None:
    """What the reference data says on pages; the words of a law's row are its authority's."""
    found = []
    for path in sorted((ROOT / "shared").glob("*.yaml")) + sorted(
        (ROOT / "shared/cautions").glob("*.yaml")
    ):
        if path.name in ("known-names.yaml", "sources.yaml", "verbs.yaml", "findings.yaml"):
            continue
        tree = yaml.safe_load(path.read_text(encoding="utf-8"))
        found += [f"{path.name}: {w}" for text in texts_of(tree) for w in barred_in(text)]
    assert found == []


def test_pages_of_the_kitchen_are_in_plain_words(demo_site: Path) -> None:
    """Every page but those that quote law: the packs, the sources, the changelog."""
    found = []
    for path in sorted(demo_site.rglob("index.html")):
        uri = path.parent.relative_to(demo_site).as_posix()
        if uri.startswith(("reference/law", "reference/sources", "guide/look-up/findings")):
            continue
        found += [f"{uri}: {w}" for w in barred_in(page_text(path))]
    assert found == []


def test_the_guide_is_in_plain_words() -> None:
    found = []
    for path in sorted((ROOT / "site_demo").rglob("*.md")):
        text = re.sub(r"(?s)```.*?```", "", path.read_text(encoding="utf-8"))
        found += [f"{path.name}: {w}" for w in barred_in(text)]
    assert found == []


def test_sheets_are_in_plain_words(demo: Manual) -> None:
    found = [
        f"{station}: {w}"
        for station in demo.house.stations
        for record in station_binder(demo, station, {}, "https://manual.example/")
        for text in texts_of(record)
        for w in barred_in(text)
    ]
    assert found == []


def test_a_formulas_page_has_short_sentences(demo: Manual, demo_site: Path) -> None:
    found = []
    for ident in demo.sheets:
        path = next(demo_site.glob(f"*/{ident}/index.html"))
        for sentence in re.split(r"(?<=[.!?:;])\s+|\n", page_text(path)):
            if len(sentence.split()) > LONGEST:
                found.append(f"{ident}: {' '.join(sentence.split())}")
    assert found == []


_READS_BOTH = re.compile(r"['\"\\’]’|’['\"\]]")
"""Where what somebody typed is read: the signs beside each other, in quotes or brackets."""


def test_the_apostrophe_is_one_sign_in_all_that_we_write() -> None:
    """As the terminal, JSON and CSV have it. What the kitchen types stays as it is typed."""
    found = []
    for folder, suffixes in (("generator", ("py", "html", "js", "typ")), ("shared", ("yaml",))):
        for suffix in suffixes:
            for path in sorted((ROOT / folder).rglob(f"*.{suffix}")):
                if path.name in ("minisearch.js", "qr.js"):
                    continue
                for number, line in enumerate(path.read_text().splitlines(), 1):
                    if "’" in line and not _READS_BOTH.search(line):
                        found.append(f"{path.relative_to(ROOT)}:{number}: {line.strip()[:80]}")
    assert found == []

"""What every row was read in, and that a secondary copy is marked wherever it is named."""

from __future__ import annotations

import re
from collections import Counter

from conftest import ROOT
from each_row import each_row
from test_shared_pages import shown

from generator.reference.library import read_reference
from generator.reference.rows import MARKS, READ_AS
from generator.rules.basics.limit import DoseLimit
from generator.sheet.manual import Manual
from generator.views.uris import pack_uri

LIBRARY = read_reference(ROOT / "shared")
ROWS = [
    (pack.id, ident, row)
    for pack in LIBRARY.packs.values()
    for ident, row in pack.rows.items()
    if not any(ident in other.rows for other in LIBRARY.packs.values() if other.id < pack.id)
]
FORUMS_AND_SHARING = re.compile(
    r"forum|threads/|viewtopic|scribd|docstoc|yumpu|docslib|docest|pdf4pro|1library|paperzz|tpub|blogspot"
    r"|dirtyfl|cleankitchens|inspections|annandalefree|legalfix|self-law|cloudfront|survivalmonkey|github"
)


def test_every_row_has_a_class_and_it_is_printed() -> None:
    counts: Counter[tuple[str, str]] = Counter()
    for pack, ident, row in ROWS:
        best = LIBRARY.read_as(row.read_in)
        counts[pack, best] += 1
        print(f"{pack} {ident}: {best} ({', '.join(row.read_in)})")
        assert row.read_in, f"{ident} was read nowhere"
    for (pack, best), number in sorted(counts.items()):
        print(f"{pack}: {number} rows {best}")
    assert sum(counts.values()) == len(ROWS)


def test_every_source_states_its_class() -> None:
    """Left out it would count as secondary; in the data it is."""
    text = (ROOT / "shared" / "sources.yaml").read_text(encoding="utf-8")
    assert len(re.findall(r"^[^#\n][^\n]*\bread_as: [a-z]", text, re.M)) == len(LIBRARY.sources)
    assert {s.read_as for s in LIBRARY.sources.values()} == set(READ_AS)


@each_row("key", LIBRARY.sources)
def test_a_forum_a_sharing_site_or_a_collection_is_secondary(key: str) -> None:
    source = LIBRARY.sources[key]
    if FORUMS_AND_SHARING.search(source.url):
        assert source.read_as in ("secondary", "none"), source.url
    if source.read_as in ("code", "agency", "adopting-state"):
        assert source.url, f"{key} has no address to check it at"


def test_a_secondary_copy_is_marked_on_its_page(demo: Manual) -> None:
    words = shown(demo, "reference/sources.md")
    listed = 0
    for key, source in LIBRARY.sources.items():
        if f'id="{key}"' not in words and source.title not in words:
            continue
        mark = MARKS.get(source.read_as)
        if mark:
            listed += 1
            assert f"{source.title} ({mark})" in words, key
    assert listed > 10


def test_a_row_of_secondary_copies_only_is_marked_on_its_pack(demo: Manual) -> None:
    assert demo.house is not None and demo.house.additives is not None
    for pack in (demo.house.pack, demo.house.additives):
        words = shown(demo, pack_uri(pack.id))
        weak = [r for r in pack.rows.values() if LIBRARY.read_as(r.read_in) in MARKS]
        assert words.count("Read in secondary copies only") == len(weak)
    assert any(LIBRARY.read_as(r.read_in) in MARKS for r in demo.house.additives.rows.values())


def test_a_limit_that_rests_on_a_secondary_copy_says_so_in_its_basis(demo: Manual) -> None:
    doses = [lm for s in demo.sheets.values() for lm in s.walk.limits if isinstance(lm, DoseLimit)]
    assert doses
    for limit in doses:
        assert "secondary copy" in limit.source.words


def test_no_premises_inspection_record_and_no_brand_is_named() -> None:
    """An address of a premises' record names whom it inspected."""
    for file in [*(ROOT / "shared").rglob("*.yaml"), *(ROOT / "standards").rglob("*.yaml")]:
        text = file.read_text(encoding="utf-8")
        assert not re.search(r"/establishment/|-inspections/|burger-king|kosherdosher", text), file

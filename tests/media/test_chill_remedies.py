"""What is named for a chill that likely misses: what this kitchen owns, least trouble first, each
worked out anew; in `check` and on the formula's page."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from commands import run
from conftest import AS_OF

from generator.pages import make_pages
from generator.sheet.manual import Manual, make_manual

HOUSE, BAKED = "standards/equipment/house.yaml", "standards/processes/baked.yaml"
SMALL = "inside: {length: 80 mm, width: 80 mm, depth: 160 mm}"
SINK = "sink: {kind: ice-bath, name: Ice sink, air: 0 °C}\n"
CASING = "casing, inside: {diameter: 80 mm, length: 400 mm}"


def change(kitchen: Path, file: str, old: str, new: str) -> None:
    path = kitchen / file
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")


@pytest.fixture
def slow(kitchen: Path) -> Path:
    """A deep, narrow vessel in a refrigerator; an ice bath and a blast chiller stand by."""
    change(kitchen, BAKED, "in: blast", "in: cold-room")
    change(kitchen, HOUSE, "inside: {length: 300 mm, width: 200 mm, depth: 60 mm}", SMALL)
    (kitchen / HOUSE).write_text(
        (kitchen / HOUSE).read_text(encoding="utf-8") + SINK, encoding="utf-8"
    )
    return kitchen


def remedies(kitchen: Path) -> list[str]:
    """The words of each, in order."""
    done = run(kitchen, "check", "--format", "json")
    found = json.loads(done.stdout)["findings"]
    (one,) = [f for f in found if f["code"] == "chill-likely-too-slow"]
    said = re.fullmatch(r"What likely passes here: (.*)\. Probe it\.", one["help"])
    assert said is not None, one["help"]
    return [
        re.sub("[\u00a0\u202f]", " ", words.rsplit(": ", 1)[0]) for words in said[1].split("; ")
    ]


def depth_in(words: str) -> str:
    found = re.search(r"(\d+) mm", words)
    assert found is not None
    return found[1]


def stages(kitchen: Path, *words: str) -> set[str]:
    done = run(kitchen, "predict", "pork-bake", *words, "--format", "json")
    assert done.returncode == 0, done.stderr
    return {stage["verdict"] for stage in json.loads(done.stdout)["stages"]}


def test_they_go_by_what_the_kitchen_owns_and_each_is_true(slow: Path) -> None:
    """The same vessel, then ice, then the blast chiller; `predict` says the same of each."""
    less, ice, blast = remedies(slow)
    assert re.fullmatch(r"\d+ mm deep, one fill in \d vessels", less)
    assert ice.startswith("Ice sink") and blast.startswith("Blast chiller")
    assert stages(slow, "--depth", f"{depth_in(less)} mm") == {"likely passes"}
    deep = ["--depth", f"{depth_in(blast)} mm"] if "mm" in blast else []
    assert stages(slow, "--in", "blast", *deep) == {"likely passes"}
    change(slow, HOUSE, SINK, "")
    assert remedies(slow) == [less, blast]


def test_no_more_vessels_are_asked_for_than_there_are(slow: Path) -> None:
    change(
        slow, HOUSE, "kind: vessel, name: Deep dish,", "kind: vessel, name: Deep dish, count: 8,"
    )
    assert not remedies(slow)[0].endswith("vessels") or not remedies(slow)[0][0].isdigit()
    change(slow, HOUSE, "count: 8,", "count: 80,")
    assert "one fill in" in remedies(slow)[0]


def test_ice_that_is_not_stirred_is_said_to_be_stirred(slow: Path) -> None:
    """A thick casing passes in ice water that moves; where it isn't said to, that is said."""
    change(slow, HOUSE, f"box, {SMALL}", CASING.replace("80 mm", "105 mm"))
    change(slow, HOUSE, "air: 0 °C}", "air: 0 °C, stirred: yes}")
    assert [words for words in remedies(slow) if "sink" in words] == ["Ice sink"]
    assert stages(slow, "--in", "sink") == {"likely passes"}
    for said, instead in ((", stirred: yes}", ", stirred: no}"), (", stirred: no}", "}")):
        change(slow, HOUSE, said, instead)
        assert [w for w in remedies(slow) if "sink" in w] == ["Ice sink, stirred all the time"]
        assert stages(slow, "--in", "sink") != {"likely passes"}


def test_a_casing_is_cut_and_never_filled_less_deep(slow: Path) -> None:
    change(slow, HOUSE, f"box, {SMALL}", CASING)
    said = remedies(slow)
    assert not any("deep" in words for words in said)
    (cut,) = [words for words in said if words.startswith("cut across")]
    longest = int(depth_in(cut))
    piece = "piece: {kind: vessel, name: Piece, shape: casing, inside: {diameter: 80 mm, length: %s mm}}\n"
    house = (slow / HOUSE).read_text(encoding="utf-8")
    for length, passes in ((longest, True), (longest + 10, False)):
        (slow / HOUSE).write_text(house + piece % length, encoding="utf-8")
        assert (stages(slow, "--vessel", "piece") == {"likely passes"}) is passes


def test_the_page_shows_them(slow: Path) -> None:
    manual = make_manual(slow, AS_OF)
    assert isinstance(manual, Manual)
    html = next(p.html for p in make_pages(manual) if p.uri.endswith("pork-bake.md"))
    shown = re.sub("&#160;|&#8239;|[\u00a0\u202f]", " ", html)
    assert "What likely passes here" in shown
    for words in remedies(slow):
        assert f'<th scope="row">{words}</th>' in shown
    assert shown.count("What likely passes here") == 1

"""One card with several endings: each is the formula it would be, were it written out."""

from __future__ import annotations

import html
import json
import random
import shutil
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml
from commands import run
from conftest import AS_OF, ROOT, compute, edit, lay
from translating import texts_of, translator

from generator.answers.sheet import sheet_record
from generator.authoring.schemas import schemas
from generator.binder.documents import station_sheets
from generator.framing.searching import INDEX, search_scripts
from generator.pages import make_pages
from generator.pages.wording import own_words
from generator.reference.catalogue import read_catalogues
from generator.sheet.manual import Manual, make_manual
from generator.views import sheet_facts

HEAD = """name: Pork pot
revision: 3
effective: 2026-05-04
approved: R. Osei
review_by: 2027-01-01
station: range
base: meat
parts:
  meat:
    pork-shoulder: 3 kg
  seasoning:
    salt: 1.6 %
    house-spice: 1 %
"""
SHARED = """steps:
  - do: grind
    add: [meat]
  - do: mix
    add: [seasoning]
    with: bowl-mixer
  - do: bake
    with: range-oven
    at: 180 °C
    target: core 72 °C
    loses: 10 %
"""
CARD = (
    HEAD.replace("    house-spice: 1 %\n", "    house-spice: 1 %\n  finish:\n    cream: 100 ml\n")
    + SHARED
    + """endings:
  hot:
    batches: [3 kg base]
    steps:
      - {do: hold-hot, time: 1 h}
      - {do: serve}
  cold:
    name: Pork, potted
    station: pass
    keeps: {cold: 5 days}
    makes: {portion: 100 g}
    batches: [20 portions, 6 kg base]
    steps:
      - do: chill
        in: blast
        target: to 4 °C
      - {do: toss, add: finish, time: 5 min}
      - do: store
        in: cold-room
"""
)
HOT = (
    HEAD.replace("Pork pot", "Pork pot, hot")
    + "batches: [3 kg base]\n"
    + SHARED
    + "  - {do: hold-hot, time: 1 h}\n  - {do: serve}\n"
)
COLD = (
    HEAD.replace("Pork pot", "Pork, potted").replace("station: range", "station: pass")
    + "  finish:\n    cream: 100 ml\n"
    + "keeps: {cold: 5 days}\nmakes: {portion: 100 g}\nbatches: [20 portions, 6 kg base]\n"
    + SHARED
    + "  - {do: chill, in: blast, target: to 4 °C}\n"
    + "  - {do: toss, add: finish, time: 5 min}\n  - {do: store, in: cold-room}\n"
)


def _card(project: Path, text: str = CARD) -> Path:
    lay("base", project)
    (project / "standards/formulas/pot.yaml").write_text(text, encoding="utf-8")
    return project


def _manual(project: Path) -> Manual:
    manual = compute(project)
    assert isinstance(manual, Manual)
    return manual


def _figures(manual: Manual, ident: str) -> tuple[Any, Any]:
    """All that is said of a formula, figures and words: its record, and its facts as they print."""
    sheet = manual.sheets[ident]
    record = sheet_record(sheet, sheet.batches, manual.walks)
    return json.loads(json.dumps(record)), sheet_facts.facts_in(manual, sheet)


def _without_places(node: Any) -> Any:
    if isinstance(node, dict):
        places = ("file", "line", "column", "text", "length")
        return {k: _without_places(v) for k, v in node.items() if k not in places}
    return [_without_places(v) for v in node] if isinstance(node, list) else node


def _said(manual: Manual) -> list[tuple[str, str, str, str]]:
    """Findings, places apart."""
    return sorted((f.code, f.severity, f.message, f.help) for f in manual.findings)


def test_each_ending_is_the_formula_written_out(tmp_path: Path) -> None:
    manual = _manual(_card(tmp_path / "card"))
    apart = lay("base", tmp_path / "apart")
    for ident, text in (("pot-hot", HOT), ("pot-cold", COLD)):
        (apart / f"standards/formulas/{ident}.yaml").write_text(text, encoding="utf-8")
    by_hand = _manual(apart)
    assert not by_hand.errors and set(manual.sheets) == set(by_hand.sheets)
    assert _said(manual) == _said(by_hand)
    for ident in ("pot-hot", "pot-cold"):
        (record, facts), (wanted, printed) = _figures(manual, ident), _figures(by_hand, ident)
        assert _without_places(record) == _without_places(wanted)
        assert facts == printed
        sheet, whole = manual.sheets[ident], by_hand.sheets[ident]
        assert sheet.approval == whole.approval
        assert sheet.walk.dates == whole.walk.dates
    cold = manual.sheets["pot-cold"]
    assert [line.joined.item for line in cold.walk.lines][-1] == "cream"
    assert "cream" not in [line.joined.item for line in manual.sheets["pot-hot"].walk.lines]


def _typed(path: Path) -> Any:
    """A file as typed: every scalar a text."""
    return yaml.load(path.read_text(encoding="utf-8"), Loader=yaml.BaseLoader)


def _write(path: Path, tree: Any) -> None:
    text = yaml.dump(tree, Dumper=_Apart, allow_unicode=True, sort_keys=False)
    path.write_text(text, encoding="utf-8")


class _Apart(yaml.SafeDumper):
    """Whatever is written twice stands there twice."""

    def ignore_aliases(self, data: Any) -> bool:
        return True


_ENDING = ("keeps", "makes", "batches", "station", "without_air", "to_order", "looks_right")


def _cut(folder: Path, ident: str, rng: random.Random, at: int) -> str | None:
    """Part a formula behind step ``at`` into a card with two endings that are alike; its first is
    as the whole was. Returns the card's id, or None where it can't be cut there."""
    path = folder / f"formulas/{ident}.yaml"
    tree = _typed(path)
    process = folder / f"processes/{tree.get('process')}.yaml"
    whole = _typed(process) if "process" in tree else tree
    steps = whole["steps"]
    ends = any(step["do"] in ("store", "serve") for step in steps[:at])
    if at >= len(steps) or ends or ("process" in tree and not at):
        return None
    ending: dict[str, Any] = {"name": tree["name"], "steps": steps[at:]}
    ending |= {key: tree.pop(key) for key in _ENDING if key in tree and rng.random() < 0.5}
    if "process" in tree:
        shared = f"cut-{ident}"
        _write(folder / f"processes/{shared}.yaml", {**whole, "steps": steps[:at]})
        tree["process"] = shared
    else:
        tree["steps"] = steps[:at]
        if not at:
            del tree["steps"]
    other = {**ending, "name": f"{tree['name']}, again"}
    _write(path, {**tree, "endings": {"one": ending, "two": other}})
    return ident


def _named_anew(folder: Path, cards: set[str]) -> None:
    """Write the first ending wherever a card was a line."""
    for path in sorted((folder / "formulas").glob("*.yaml")):
        tree = _typed(path)
        for part, lines in tree["parts"].items():
            tree["parts"][part] = {f"{i}-one" if i in cards else i: v for i, v in lines.items()}
        if "base" in tree:
            base = tree["base"] if isinstance(tree["base"], list) else [tree["base"]]
            tree["base"] = [f"{b}-one" if b in cards else b for b in base]
        _write(path, tree)


def _in_old_words(node: Any, cards: set[str]) -> Any:
    """What is said of the parted formulas, with the ids they had before."""
    text = json.dumps(node, ensure_ascii=False)
    for ident in sorted(cards, key=len, reverse=True):
        text = text.replace(f"{ident}-one", ident)
    return json.loads(text)


def _cut_everywhere(before: Manual, folder: Path, seed: int) -> None:
    """Cut every formula of a kitchen at a random place; each says what it said before."""
    source = before.project
    rng = random.Random(seed)
    shutil.copytree(source / "standards", folder / "standards")
    if (source / "site_demo").exists():
        shutil.copytree(source / "site_demo", folder / "site_demo")
        shutil.copyfile(source / "mkdocs.yml", folder / "mkdocs.yml")
    standards = folder / "standards"
    shutil.rmtree(standards / "plans", ignore_errors=True)  # a plan names a formula, not an ending
    cards = set()
    for ident, sheet in before.sheets.items():
        at = rng.randrange(len(sheet.formula.steps))
        cards.add(_cut(standards, ident, rng, at))
    cut = {ident for ident in cards if ident is not None}
    _named_anew(standards, cut)
    after = make_manual(folder, AS_OF)
    assert isinstance(after, Manual) and cut
    alone = {f"{ident}-two" for ident in cut}  # goes into no other formula
    assert all(f.about <= alone for f in after.errors), after.errors
    said = [tuple(_in_old_words(one, cut)) for one in _said(after)]
    assert set(_said(before)) <= set(said)
    make_pages(after)
    for station in after.house.stations:
        station_sheets(after, station)
    for ident in before.sheets:
        record, facts = _figures(after, f"{ident}-one" if ident in cut else ident)
        wanted, printed = _figures(before, ident)
        assert _without_places(_in_old_words(record, cut)) == _without_places(wanted), ident
        kept = {k: v for k, v in facts.items() if "Process" not in str(k)}
        assert kept == {k: v for k, v in printed.items() if "Process" not in str(k)}, ident


@pytest.mark.parametrize("seed", range(2))
def test_a_formula_cut_anywhere_says_what_it_said(clean: Manual, tmp_path: Path, seed: int) -> None:
    _cut_everywhere(clean, tmp_path / "base", seed)


def test_the_demo_cut_anywhere_says_what_it_said(demo: Manual, tmp_path: Path) -> None:
    _cut_everywhere(demo, tmp_path / "demo", 17)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(40))
def test_the_demo_cut_forty_ways_says_what_it_said(demo: Manual, tmp_path: Path, seed: int) -> None:
    _cut_everywhere(demo, tmp_path / "demo", 100 + seed)


def _codes(manual: Manual) -> list[str]:
    return [f.code for f in manual.findings]


def test_a_slip_in_the_shared_steps_is_reported_once_at_its_place(tmp_path: Path) -> None:
    manual = _manual(_card(tmp_path, CARD.replace("target: core 72 °C", "target: core 52 °C")))
    (finding,) = [f for f in manual.findings if f.code == "target-below-limit"]
    assert finding.place.file == "standards/formulas/pot.yaml"
    assert finding.place.text.strip() == "target: core 52 °C"
    assert finding.about == {"pot-hot", "pot-cold"}
    assert set(manual.stopped) == {"pot-hot", "pot-cold"}


def test_a_finding_at_a_place_of_the_card_says_of_which_ending_it_is(tmp_path: Path) -> None:
    manual = _manual(_card(tmp_path, CARD.replace("    batches: [3 kg base]\n", "")))
    (finding,) = manual.errors
    assert finding.code == "key-missing" and finding.message.startswith("Ending `hot`: ")
    assert finding.about == {"pot-hot"}
    assert set(manual.stopped) == {"pot-hot"} and "pot-cold" in manual.sheets


def test_a_card_that_cant_be_read_stops_its_endings_and_what_is_made_of_them(
    tmp_path: Path,
) -> None:
    for slip in ("revision: 3", "revision: three"), ("name: Pork pot", "name: [Pork pot"):
        project = tmp_path / slip[1][:4]
        _card(project, CARD.replace(*slip))
        edit(project, "formulas/rice-salad.yaml", "salt: 1 %", "salt: 1 %\n    pot-cold: 10 %")
        manual = _manual(project)
        assert len(manual.errors) == 1, manual.errors
        assert "rice-salad" in manual.stopped and not {"pot-hot", "pot-cold"} & set(manual.sheets)


def test_each_ending_has_a_page_that_names_the_others(tmp_path: Path) -> None:
    made = make_pages(_manual(_card(tmp_path)))
    pages = {page.uri: html.unescape(str(page.html)) for page in made}
    hot, cold = pages["range/pot-hot.md"], pages["pass/pot-cold.md"]
    assert "Other ending: " in hot and ">Pork, potted</a>" in hot.split("ks-allergens")[0]
    assert ">Pork pot, hot</a>" in cold.split("ks-allergens")[0]
    assert "pass/pot-cold" in hot.split("ks-allergens")[0]
    assert "range/pot-hot" in cold.split("ks-allergens")[0]
    assert "Other ending" not in pages["range/pork-bake.md"]
    assert ">Pork pot, hot<" in pages["range/index.md"]
    assert ">Pork, potted<" in pages["pass/index.md"]


def test_the_line_of_other_endings_has_words_in_every_language(tmp_path: Path) -> None:
    manual = _manual(_card(tmp_path))
    for code, catalogue in read_catalogues(ROOT / "shared").items():
        told = translator(catalogue, own_words(manual))
        texts = {t for page in make_pages(manual) for t in texts_of(page.html) if "nding" in t}
        assert any("Other ending" in t for t in texts)
        assert all(told(t) for t in texts if "Other ending" in t), code


def test_search_finds_an_ending_by_its_cards_name(tmp_path: Path) -> None:
    manual = _manual(_card(tmp_path))
    script = search_scripts(manual, make_pages(manual), [])[INDEX]
    assert '["Pork, potted",' in script and '"Pork pot"' in script


def test_a_card_asked_for_answers_with_commands_that_work(tmp_path: Path) -> None:
    project = _card(tmp_path)
    for command in ("batch", "limits", "data", "binder --out pot.pdf"):
        word, *rest = command.split()
        refused = run(project, word, "pot", *rest, "--as-of", AS_OF.isoformat())
        assert refused.returncode == 2 and "pot is a card" in refused.stderr
        offered = [ln.split("kitchen-manual ")[1] for ln in refused.stderr.splitlines()[2:]]
        assert [one.split()[1] for one in offered] == ["pot-hot", "pot-cold"], refused.stderr
        for one in offered:
            assert run(project, *one.split()).returncode == 0, one


def test_a_card_can_change_to_endings_and_changes_says_so(tmp_path: Path) -> None:
    before, after = (
        _manual(_card(tmp_path / "a")),
        _manual(_card(tmp_path / "b", CARD.replace("time: 1 h", "time: 2 h"))),
    )
    old, new = sheet_facts.facts_of_all(before), sheet_facts.facts_of_all(after)
    assert [ident for ident in new if new[ident] != old[ident]] == ["pot-hot"]


def test_both_endings_are_printed_at_their_stations(tmp_path: Path) -> None:
    manual = _manual(_card(tmp_path))
    for station, ident in (("range", "pot-hot"), ("pass", "pot-cold")):
        records = station_sheets(manual, station)
        (sheet,) = (record for record in records if record["key"].endswith(f"/{ident}/batch"))
        other = "Pork, potted" if ident == "pot-hot" else "Pork pot, hot"
        words = [b["words"] for b in sheet["blocks"] if b["form"] == "prose"]
        assert any("Other ending:" in str(w) and other in str(w) for w in words)


def test_the_schema_takes_a_card_whose_endings_say_where_and_how_much(tmp_path: Path) -> None:
    card = CARD.replace("station: range\n", "").replace(
        "  hot:\n", "  hot:\n    station: [range, pass]\n"
    )
    path = _card(tmp_path, card) / "standards/formulas/pot.yaml"
    manual = _manual(tmp_path)
    assert not manual.errors
    assert manual.sheets["pot-hot"].formula.formula.station == ("range", "pass")
    validator = jsonschema.Draft202012Validator(schemas()["formula"])
    tree = _typed(path)
    assert not list(validator.iter_errors(tree))
    del tree["endings"]
    assert list(validator.iter_errors(tree))


def test_an_old_key_in_an_ending_is_renamed(tmp_path: Path) -> None:
    project = _card(tmp_path, CARD.replace("add: finish", "take: finish"))
    assert "key-renamed" in _codes(_manual(project))
    assert run(project, "upgrade").returncode == 0
    assert (project / "standards/formulas/pot.yaml").read_text(encoding="utf-8") == CARD


def test_a_picture_of_an_endings_step_is_looked_for(tmp_path: Path) -> None:
    text = CARD.replace("{do: serve}", "{do: serve, picture: plate.jpg}")
    (finding,) = _manual(_card(tmp_path, text)).errors
    assert finding.about == {"pot-hot"} and "plate.jpg" in finding.message


def test_of_three_endings_a_finding_names_the_two_it_is_of(tmp_path: Path) -> None:
    warm = "  warm:\n    steps: [{do: hold-hot, time: 2 h}, {do: serve}]\n"
    text = CARD.replace("    batches: [3 kg base]\n", "").replace("  cold:\n", f"{warm}  cold:\n")
    (finding,) = _manual(_card(tmp_path, text)).errors
    assert finding.message.startswith("Endings `hot` and `warm`: `batches` is missing")
    assert finding.about == {"pot-hot", "pot-warm"}


def test_an_ending_called_as_a_formula_stops_both_and_an_id_too_long_is_refused(
    tmp_path: Path,
) -> None:
    project = _card(tmp_path / "twice")
    (project / "standards/formulas/pot-hot.yaml").write_text(HOT, encoding="utf-8")
    manual = _manual(project)
    assert _codes(manual) == ["id-twice"] and "pot-hot" in manual.stopped
    long = _manual(_card(tmp_path / "long", CARD.replace("  hot:", f"  {'h' * 58}:")))
    assert _codes(long) == ["id-form"] and not long.sheets.keys() & {"pot-hot"}


def test_nothing_of_a_card_vanishes_with_a_key_taken_out(tmp_path: Path) -> None:
    """Each line of the card left out, one at a time: an ending is computed, or has an error."""
    lines = CARD.splitlines(keepends=True)
    project = _card(tmp_path)
    for number in range(len(lines)):
        text = "".join([*lines[:number], *lines[number + 1 :]])
        (project / "standards/formulas/pot.yaml").write_text(text, encoding="utf-8")
        manual = _manual(project)
        named = {i for i in manual.standards.formula_files if i.startswith("pot")}
        assert named and named <= manual.sheets.keys() | manual.stopped.keys(), text
        assert all(manual.stopped[i].findings for i in named & manual.stopped.keys()), text
        if "endings" in text and named & manual.sheets.keys():
            assert manual.sheets.keys() & named <= {"pot-hot", "pot-cold"}, text

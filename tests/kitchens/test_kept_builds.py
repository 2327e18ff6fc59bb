"""What is kept of earlier runs never lies: after any edits the pages, the sheets of paper and the
findings are those of a run that kept nothing."""

from __future__ import annotations

import datetime
import logging
import random
import re
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import markdown
import pytest
from commands import run
from conftest import AS_OF, BASE, ROOT
from test_by_products import CHEESE, MILK, RICOTTA
from test_endings import CARD

from generator.binder.plan_sheets import plan_sheets
from generator.files.finding import texts
from generator.files.kept import ASKED, NOTHING, Kept
from generator.framing.searching import search_scripts
from generator.measures.marks import written_with
from generator.pages import formula as formula_page
from generator.pages import (
    home_pages,
    ingredient_pages,
    make_pages,
    plan_pages,
    process_pages,
    register_pages,
)
from generator.sheet import inputs
from generator.sheet import manual as pipeline
from generator.sheet.manual import Broken, Manual, make_manual
from generator.site.papers import current_sheets, make_site_pages
from generator.site.publish import build_site
from generator.site.seen import seen_files

pytestmark = pytest.mark.usefixtures("made_anew")

SPICES = ("white-pepper", "nutmeg")
WORDS = """\
name: Stew
revision: 1
effective: 2026-06-01
approved: R. Osei
station: range
base: rice
parts:
  rice: {cooked-rice: 1 kg}
  dressing: {cream: 100 ml, house-spice: 12 g}
process: toss
keeps: {cold: 2 days}
batches: [1 kg base]
"""


def laid(project: Path) -> Path:
    """The clean kitchen with made-ahead formulas two deep, a by-product, a card with two endings, and
    its ingredients in three files."""
    shutil.copytree(BASE / "standards", project / "standards")
    standards = project / "standards"
    text = (standards / "ingredients/all.yaml").read_text(encoding="utf-8")
    entries = re.split(r"(?m)^(?=\S)", text)
    spices = [one for one in entries if one.split(":")[0] in SPICES]
    rest = [one for one in entries if one not in spices]
    (standards / "ingredients/all.yaml").write_text("".join(rest), encoding="utf-8")
    (standards / "ingredients/spices.yaml").write_text("".join(spices), encoding="utf-8")
    (standards / "ingredients/dairy.yaml").write_text(MILK, encoding="utf-8")
    formulas = {"fresh-cheese": CHEESE, "ricotta": RICOTTA, "pot": CARD, "stew": WORDS}
    for name, text in formulas.items():
        (standards / f"formulas/{name}.yaml").write_text(text, encoding="utf-8")
    return project


@dataclass
class Kitchen:
    """A kitchen that is edited, the day it is computed for, and what broke it last."""

    project: Path
    rng: random.Random
    day: datetime.date = AS_OF
    sound: dict[str, str] = field(default_factory=dict)
    """The text of each file before it was broken."""
    serial: int = 0

    def file(self, *folders: str) -> Path:
        """A file of the standards, of some folders or of any."""
        found = sorted((self.project / "standards").rglob("*.yaml"))
        return self.rng.choice([p for p in found if not folders or p.parent.name in folders])

    def rewritten(self, path: Path, change: Callable[[str], str]) -> None:
        text = path.read_text(encoding="utf-8")
        self.sound.setdefault(str(path), text)
        path.write_text(change(text), encoding="utf-8")


def change(k: Kitchen) -> None:
    """A figure somewhere becomes another."""

    def other(text: str) -> str:
        figures = list(
            re.finditer(r"(?<=[ {:])\d+(?:\.\d+)?(?= (?:g|kg|%|°C|days|h|min|ml)\b)", text)
        )
        if not figures:
            return text + "# no figure here\n"
        at = k.rng.choice(figures)
        new = str(
            max(1, round(float(at.group()) * k.rng.choice((0.9, 1.1, 1.5))) + k.rng.randint(0, 1))
        )
        return text[: at.start()] + new + text[at.end() :]

    k.rewritten(k.file(), other)


def renamed_words(k: Kitchen) -> None:
    """What is called something is called something else."""
    k.serial += 1
    k.rewritten(
        k.file(),
        lambda t: re.sub(r"(?m)\bname: (.*?)(?=[,}]|$)", rf"name: \1 {k.serial}", t, count=1),
    )


def moved_down(k: Kitchen) -> None:
    """A comment at the top: only places change."""
    k.rewritten(k.file(), lambda t: f"# moved\n{t}")


def add(k: Kitchen) -> None:
    """One more formula, like one that is there."""
    source = k.file("formulas")
    k.serial += 1
    text = source.read_text(encoding="utf-8").replace("name: ", f"name: New {k.serial} ", 1)
    source.with_name(f"{source.stem[:30]}-n{k.serial}.yaml").write_text(text, encoding="utf-8")


def rename(k: Kitchen) -> None:
    """A file gets another name, and what names it doesn't know."""
    source = k.file("formulas", "processes", "ingredients", "stations")
    k.serial += 1
    source.rename(source.with_name(f"{source.stem[:30]}-r{k.serial}.yaml"))


def rename_whole(k: Kitchen) -> None:
    """A formula's file gets another name, and all that name it follow."""
    source = k.file("formulas")
    k.serial += 1
    new = f"{source.stem[:30]}-w{k.serial}"
    source.rename(source.with_name(f"{new}.yaml"))
    for path in (k.project / "standards/formulas").glob("*.yaml"):
        text = path.read_text(encoding="utf-8")
        path.write_text(re.sub(rf"(?<![\w-]){source.stem}(?=[:-])", new, text), encoding="utf-8")


def delete(k: Kitchen) -> None:
    source = k.file("formulas", "processes", "ingredients")
    k.sound.setdefault(str(source), source.read_text(encoding="utf-8"))
    source.unlink()


def spoil(k: Kitchen) -> None:
    """A file breaks: a word nobody knows, a line cut short, a colon lost."""

    def broken(text: str) -> str:
        lines = text.splitlines()
        at = k.rng.randrange(len(lines))
        way = k.rng.randrange(4)
        if way == 0:
            lines[at] = lines[at].replace(":", "", 1)
        elif way == 1:
            lines[at] = lines[at][: len(lines[at]) // 2]
        elif way == 2:
            lines[at] = re.sub(r"[a-z]{4}", "zzzz", lines[at], count=1)
        else:
            del lines[at]
        return "\n".join(lines) + "\n"

    k.rewritten(k.file(), broken)


def fix(k: Kitchen) -> None:
    """What was changed last is as it was."""
    if k.sound:
        path, text = k.sound.popitem()
        Path(path).write_text(text, encoding="utf-8")


def vary(k: Kitchen) -> None:
    """A formula says that it is a variant of another, or no more."""
    base = k.file("formulas").stem

    def varied(text: str) -> str:
        plain = re.sub(r"(?m)^variant_of: .*\n", "", text)
        return plain if plain != text else f"{text.rstrip()}\nvariant_of: {base}\n"

    k.rewritten(k.file("formulas"), varied)


def stand_in(k: Kitchen) -> None:
    """A line may be something else, an ingredient or a formula."""
    other = k.rng.choice(["cream", "house-spice", "pork-shoulder", k.file("formulas").stem])
    amount = r"(?m)^(  +[a-z-]+|[^\n]*[{ ,][a-z-]+): (\d+(?:\.\d+)? (?:g|kg))(?=[,}]|$)"
    one = rf"\1: {{amount: \2, may_be: {other}}}"
    k.rewritten(k.file("formulas"), lambda t: re.sub(amount, one, t, count=1))


def record(k: Kitchen) -> None:
    """A batch of some formula was made, with more or less than it should give; or one more record
    of the same, which isn't right."""
    made = k.file("formulas")
    k.serial += k.rng.choice((1, 1, 0))
    folder = k.project / "standards/records"
    folder.mkdir(exist_ok=True)
    kilos = 1 + k.rng.randint(0, 9) / 10
    text = (
        f"formula: {made.stem}\nrevision: 1\nlot: L-{k.serial}\nday: {k.day}\nwho: Ana\n"
        f"made: {kilos} kg\n{'weights: [{step: bake, before: 5 kg, after: 4.2 kg}]' if '-bake' in made.stem else ''}\n"
    )
    (folder / f"{made.stem}-{k.serial}.yaml").write_text(text, encoding="utf-8")


def planned(k: Kitchen) -> None:
    """A plan serves some formulas in the days to come, so much of each as it may be; some of one is
    on the shelf."""
    folder = k.project / "standards/plans"
    folder.mkdir(exist_ok=True)
    dishes = ""
    for _ in range(k.rng.randint(1, 3)):
        day = k.day + datetime.timedelta(days=k.rng.randint(0, 20))
        amount = k.rng.choice(("1 batch", "2 batches", f"{k.rng.randint(1, 9)} kg yield"))
        dish = k.file("formulas").stem
        dishes += f"  - {{dish: {dish}, amount: {amount}, day: {day}}}\n"
    shelf = f"on_shelf:\n  - {{item: {k.file('formulas').stem}, amount: 700 g, made: {k.day}}}\n"
    text = f"name: Week\nat: 11:30\ndishes:\n{dishes}{k.rng.choice(('', shelf))}"
    (folder / f"week-{k.rng.randint(1, 2)}.yaml").write_text(text, encoding="utf-8")


def share_equipment(k: Kitchen) -> None:
    """A process uses another machine, so that other formulas share it."""
    machines = ["bowl-mixer", "range-oven", "blast", "cold-room"]
    way = r"\b(with|in): [a-z-]+"
    one = k.rng.choice(machines)
    k.rewritten(k.file("processes"), lambda t: re.sub(way, rf"\1: {one}", t, count=1))


def midnight(k: Kitchen) -> None:
    k.day += datetime.timedelta(days=k.rng.choice((1, 1, 1, 30, 400)))


def nothing(k: Kitchen) -> None:
    """The same once more."""


EDITS: tuple[Callable[[Kitchen], None], ...] = (
    change,
    change,
    change,
    renamed_words,
    moved_down,
    add,
    rename,
    rename_whole,
    delete,
    spoil,
    fix,
    fix,
    midnight,
    vary,
    stand_in,
    record,
    planned,
    share_equipment,
    nothing,
)


def drawn(manual: Manual | Broken, whole: bool) -> Iterator[tuple[str, Any]]:
    """All that is published of a manual, part by part; without ``whole`` what hangs on formulas alone."""
    yield "findings", [words for _, words in texts(manual.findings)]
    yield "places", [(f.code, f.place, f.write, f.about) for f in manual.findings]
    yield "stopped", manual.stopped
    if whole:
        yield "pages", (pages := make_site_pages(manual))
        yield "search", search_scripts(manual, pages, [])
    if isinstance(manual, Broken):
        return
    with written_with(manual.writing):
        yield "formulas", formula_page.formula_pages(manual)
        if not whole:
            yield "register", register_pages(manual)
            yield "home", home_pages(manual)
            yield "ingredients", ingredient_pages(manual)
            yield "processes", process_pages(manual)
            yield "plans", plan_pages(manual)
    if not manual.errors:
        yield "paper", current_sheets(manual)
        yield "plans on paper", [plan_sheets(manual, one, "") for one in manual.orders]
    yield "facts", seen_files(manual)


def same(one: Manual | Broken, other: Manual | Broken, whole: bool, about: str) -> None:
    for (part, mine), (_, theirs) in zip(drawn(one, whole), drawn(other, whole), strict=True):
        assert mine == theirs, f"{about}: {part} differ"


def run_of_edits(project: Path, cache: Path, seed: int, turns: int, whole: bool) -> int:
    """A run of random edits, computed with what was kept and without, by turns. Returns how many
    results came from an earlier run.

    What was kept on disk and what a server remembers are tried both where all is drawn, else one of
    them.
    """
    rng = random.Random(seed)
    k = Kitchen(project, rng)
    kept, serving = Kept(cache), Kept(remembers=True)
    ways = (kept, serving) if whole else (rng.choice((kept, serving)),)
    for one in ways:
        made = make_manual(project, k.day, kept=one)
        if isinstance(made, Manual):
            for _ in drawn(made, whole):
                pass
    done: list[str] = []
    for _ in range(turns):
        for _ in range(rng.choice((1, 1, 2, 3))):
            edit = rng.choice(EDITS)
            edit(k)
            done.append(edit.__name__)
        clean = make_manual(project, k.day)
        serving.turned()
        for one in ways:
            same(make_manual(project, k.day, kept=one), clean, whole, f"seed {seed}: {done}")
        kept.tidied()
    return serving.used + kept.used


def test_a_run_of_edits_gives_what_a_clean_one_gives(tmp_path: Path) -> None:
    used = 0
    for seed in range(6):  # each kind of edit is among them
        project = laid(tmp_path / str(seed))
        used += run_of_edits(project, tmp_path / "cache", seed, 4, whole=False)
    assert used > 400, "something must have been kept for this to hold anything"


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(1000, 1300, 10))
def test_more_runs_of_edits(tmp_path: Path, seed: int) -> None:
    for one in range(seed, seed + 10):
        project = laid(tmp_path / str(one))
        run_of_edits(project, tmp_path / "cache", one, 6, whole=True)


def made_anew(project: Path, cache: Path, day: datetime.date = AS_OF) -> set[str]:
    """The formulas whose sheet is made anew, and not taken from the cache."""
    found: set[str] = set()
    true = pipeline.make_sheet

    def counted(house: Any, walk: Any, *rest: Any) -> Any:
        found.add(walk.formula.id)
        return true(house, walk, *rest)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(pipeline, "make_sheet", counted)
        make_manual(project, day, kept=Kept(cache))
    return found


ALL = {
    "house-spice",
    "pork-bake",
    "rice-salad",
    "stew",
    "fresh-cheese",
    "fresh-cheese-whey",
    "ricotta",
    "pot-hot",
    "pot-cold",
}
CHANGES = [
    ("formulas/rice-salad.yaml", "2 kg", "2.5 kg", {"rice-salad"}),
    (
        "formulas/house-spice.yaml",
        "500 g base",
        "600 g base",
        {"house-spice", "pork-bake", "stew", "pot-hot", "pot-cold"},
    ),
    (
        "formulas/fresh-cheese.yaml",
        "10 kg base, 20",
        "10 kg base, 30",
        {"fresh-cheese", "fresh-cheese-whey", "ricotta"},
    ),
    (
        "processes/blend.yaml",
        "name: Dry",
        "name: The dry",
        {"house-spice", "pork-bake", "stew", "pot-hot", "pot-cold"},
    ),
    ("processes/toss.yaml", "to 4 °C", "to 3 °C", {"rice-salad", "stew"}),
    (
        "ingredients/dairy.yaml",
        "Whole milk",
        "Fresh milk",
        {"fresh-cheese", "fresh-cheese-whey", "ricotta"},
    ),
    ("kitchen.yaml", "Harbour Room", "Harbor Room", ALL),
    ("stations/pass.yaml", "Pass", "The pass", ALL),
    ("equipment/house.yaml", "Bench scale", "Small scale", ALL),
]


def test_what_an_edit_makes_anew(tmp_path: Path) -> None:
    """Just what depends on the file; all of it where the file is every formula's."""
    project, cache = laid(tmp_path / "k"), tmp_path / "cache"
    assert made_anew(project, cache) == ALL
    for file, old, new, expected in CHANGES:
        path = project / "standards" / file
        text = path.read_text(encoding="utf-8")
        assert old in text
        path.write_text(text.replace(old, new, 1), encoding="utf-8")
        assert made_anew(project, cache) == expected, file
        path.write_text(text, encoding="utf-8")
    assert made_anew(project, cache) == set(), "all files are as they were"
    assert made_anew(project, cache, AS_OF + datetime.timedelta(days=1)) == ALL
    assert made_anew(project, cache) == set(), "yesterday's are still there"


def test_the_reference_data_and_the_program_count(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    project, cache = laid(tmp_path / "k"), tmp_path / "cache"
    shutil.copytree(ROOT / "shared", project / "shared")
    assert made_anew(project, cache) == ALL
    caution = project / "shared/cautions/hot-oven.yaml"
    caution = caution if caution.is_file() else sorted(caution.parent.glob("*.yaml"))[0]
    caution.write_text(caution.read_text(encoding="utf-8") + "# touched\n", encoding="utf-8")
    assert made_anew(project, cache) == ALL
    assert made_anew(project, cache) == set()
    monkeypatch.setattr(inputs, "program_hash", lambda: "another program")
    assert made_anew(project, cache) == ALL


def test_another_file_with_an_endings_name(tmp_path: Path) -> None:
    """It takes the ending away from its card, whose own bytes are as they were."""
    project, cache = laid(tmp_path / "k"), tmp_path / "cache"
    formula_page.formula_pages(_manual(project, Kept(cache)))
    salad = (project / "standards/formulas/rice-salad.yaml").read_text(encoding="utf-8")
    (project / "standards/formulas/pot-cold.yaml").write_text(salad, encoding="utf-8")
    same(
        make_manual(project, AS_OF, kept=Kept(cache)), make_manual(project, AS_OF), True, "pot-cold"
    )


def with_a_site(folder: Path) -> Path:
    """The base kitchen with a site and a page written by hand."""
    project = laid(folder)
    shutil.copy(BASE / "mkdocs.yml", project)
    (project / "pages").mkdir()
    (project / "pages/about.md").write_text("# About\n\nWords.\n", encoding="utf-8")
    config = (project / "mkdocs.yml").read_text(encoding="utf-8")
    config = re.sub(r"(?m)^docs_dir:.*$", "docs_dir: pages", config)
    (project / "mkdocs.yml").write_text(config, encoding="utf-8")
    return project


def test_a_built_site_is_a_clean_builds_byte_for_byte(tmp_path: Path) -> None:
    """Pages as they are laid out too, where the way through the manual and the search change."""
    project = with_a_site(tmp_path / "k")
    kept = Kept(tmp_path / "cache")
    build_site(_manual(project, kept), tmp_path / "first", strict=False)
    salad = project / "standards/formulas/rice-salad.yaml"
    text = salad.read_text(encoding="utf-8")
    salad.write_text(text.replace("Rice salad", "Rice & herbs"), encoding="utf-8")
    used = kept.used
    build_site(_manual(project, kept), tmp_path / "kept", strict=False)
    build_site(_manual(project), tmp_path / "clean", strict=False)
    assert kept.used - used > 3 * len(ALL), "pages, sheets of paper, facts and layouts were kept"
    assert _bytes_in(tmp_path / "kept") == _bytes_in(tmp_path / "clean")
    first, now = _bytes_in(tmp_path / "first"), _bytes_in(tmp_path / "kept")
    others = {n for n, data in now.items() if n.endswith(".html") and data != first.get(n)}
    unnamed = {n for n in others if b"Rice &amp; herbs" not in now[n] and b"rice" not in now[n]}
    assert others and unnamed <= {"index.html"}, "a phone fetches no page that says what it said"


class Counting(Kept):
    """What is kept, with the pages that had to be laid out."""

    laid = 0

    def of(self, key: str, make: Callable[[], Any], written: Any, read: Any) -> Any:
        def counted() -> Any:
            made = make()
            self.laid += isinstance(made, str) and made.lstrip().startswith("<!doctype html>")
            return made

        return super().of(key, counted, written, read)


def test_an_edit_lays_out_the_pages_that_change_and_no_other(tmp_path: Path) -> None:
    """Not all of them because the search, the words of another language or a name in another section
    did. What any page shows is compared without the stamps of the files round it."""
    project = with_a_site(tmp_path / "k")
    kitchen = project / "standards/kitchen.yaml"
    kitchen.write_text(kitchen.read_text("utf-8") + "languages: [en, es]\n", encoding="utf-8")
    kept = Counting(tmp_path / "cache")
    salad = project / "standards/formulas/rice-salad.yaml"
    site = tmp_path / "site"
    build_site(_manual(project, kept), site, strict=False)
    assert kept.laid == len(before := _said(site))
    for old, new in (("2 kg", "2.5 kg"), ("name: Rice salad", "name: Salad of rice")):
        salad.write_text(salad.read_text("utf-8").replace(old, new, 1), encoding="utf-8")
        kept.laid = 0
        build_site(_manual(project, kept), site, strict=False)
        after = _said(site)
        assert 1 < sum(after[p] != before[p] for p in after) == kept.laid < len(after), old
        before = after


def _said(site: Path) -> dict[str, str]:
    """Each page of a site, 404 apart, without stamps and the size of the saved copy."""
    found = {}
    for path in site.rglob("index.html"):
        html = re.sub(r"\?[0-9a-f]{10}\b", "", path.read_text(encoding="utf-8"))
        found[path.relative_to(site).as_posix()] = re.sub(r"\(\d+ kB\)", "", html)
    return found


def _manual(project: Path, kept: Kept = NOTHING) -> Manual:
    manual = make_manual(project, AS_OF, kept=kept)
    assert isinstance(manual, Manual) and not manual.errors
    return manual


def _bytes_in(folder: Path) -> dict[str, bytes]:
    return {
        p.relative_to(folder).as_posix(): p.read_bytes()
        for p in sorted(folder.rglob("*"))
        if p.is_file()
    }


def test_a_sheet_made_a_draft_is_drawn_anew(tmp_path: Path) -> None:
    """What git says of a formula isn't in its files: what is drawn of such a sheet isn't kept."""
    project, kept = laid(tmp_path / "k"), Kept(tmp_path / "cache")
    manual = _manual(project, kept)
    before = {p.uri: p for p in formula_page.formula_pages(manual)}
    sheet = manual.sheets["rice-salad"]
    assert manual.keeping.key_of(sheet)
    draft = replace(sheet, approval=sheet.approval.with_other_figures())
    assert not manual.keeping.key_of(draft)
    drafts = replace(manual, sheets={**manual.sheets, "rice-salad": draft})
    after = {p.uri: p for p in formula_page.formula_pages(drafts)}
    differ = [uri for uri in before if before[uri] != after[uri]]
    assert differ == ["pass/rice-salad.md"]


def test_a_command_keeps_and_is_told_not_to(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    project = laid(tmp_path / "k")
    monkeypatch.setenv(ASKED, str(tmp_path / "cache"))
    plain = run(project, "check", "--no-cache")
    assert not (tmp_path / "cache").exists()
    first, second = run(project, "check"), run(project, "check")
    assert plain.stdout == first.stdout == second.stdout
    assert plain.returncode == first.returncode == second.returncode
    (mine,) = (tmp_path / "cache").iterdir()
    files = len(list((project / "standards").rglob("*.yaml")))  # and the reference data
    assert len(list(mine.iterdir())) == 2 * len(ALL) + files + 1
    mine.chmod(0o777)
    warned = run(project, "check")
    assert warned.stdout == plain.stdout
    assert "may be written by others. Nothing is kept there." in warned.stderr


def test_a_plans_page_follows_its_plan_and_its_formulas(tmp_path: Path) -> None:
    """Another amount in the plan makes no sheet anew and changes its page; another weight of what is
    made ahead for its dish changes it too."""
    project, cache = laid(tmp_path / "kitchen"), tmp_path / "cache"
    plan = project / "standards/plans/week.yaml"
    plan.parent.mkdir()
    words = "name: Week\nday: 2026-12-07\nat: 11:30\ndishes:\n  - {dish: stew, amount: 1 batch}\n"
    plan.write_text(words, encoding="utf-8")

    def page() -> str:
        kept = Kept(cache)
        manual = make_manual(project, AS_OF, kept=kept)
        clean = make_manual(project, AS_OF)
        assert isinstance(manual, Manual) and isinstance(clean, Manual)
        assert not manual.errors, [f.message for f in manual.errors]
        found = [p.html for p in plan_pages(manual)]
        assert found == [p.html for p in plan_pages(clean)]
        return found[1]

    first = page()
    made_anew(project, cache)
    plan.write_text(words.replace("1 batch", "2 batches"), encoding="utf-8")
    assert made_anew(project, cache) == set()
    second = page()
    assert second != first and "2 × 1" in second
    spice = project / "standards/formulas/house-spice.yaml"
    text = spice.read_text(encoding="utf-8")
    spice.write_text(re.sub(r"batches: .*", "batches: [3 kg base]", text), encoding="utf-8")
    assert page() != second


def test_a_page_by_hand_is_converted_once_and_its_faults_said_each_time(
    tmp_path: Path, caplog: pytest.LogCaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    project = with_a_site(tmp_path / "k")
    about = project / "pages/about.md"
    about.write_text(
        "# About *us*\n\n## One\n\n[salad](pass/rice-salad.md#method)\n\n### Two\n\nA | B\n--|--\n1 | 2\n",
        encoding="utf-8",
    )
    (project / "pages/other.md").write_text("# Other\n\n[gone](nowhere.md)\n", encoding="utf-8")
    converted: list[str] = []
    true = markdown.Markdown.convert

    def counted(self: markdown.Markdown, text: str) -> str:
        converted.append(text.splitlines()[0])
        return true(self, text)

    monkeypatch.setattr(markdown.Markdown, "convert", counted)
    caplog.set_level(logging.WARNING, "mkdocs")
    sites, said = [], []
    for kept in (Kept(tmp_path / "cache"), Kept(tmp_path / "cache"), NOTHING):
        caplog.clear()
        build_site(_manual(project, kept), tmp_path / "site", strict=False)
        kept.tidied()
        said.append([one.getMessage() for one in caplog.records if "nowhere" in one.getMessage()])
        sites.append(_bytes_in(tmp_path / "site"))
    assert converted == ["# About *us*", "# Other", "# Other", "# About *us*", "# Other"]
    assert sites[0] == sites[1] == sites[2]
    assert said[0] == said[1] == said[2] and len(said[0]) == 1
    (project / "pages/new.md").write_text("# New\n", encoding="utf-8")
    build_site(_manual(project, Kept(tmp_path / "cache")), tmp_path / "site", strict=False)
    assert converted[5:] == ["# About *us*", "# New", "# Other"], "there is more to link to"


def test_a_file_of_ingredients_with_another_name_is_another_file(tmp_path: Path) -> None:
    """Its bytes are the same; pages lead to it by its name, and findings name it."""
    project, cache = laid(tmp_path), tmp_path / "cache"
    make_pages(make_manual(project, AS_OF, kept=Kept(cache)))
    file = project / "standards/ingredients/all.yaml"
    file.rename(file.with_name("larder.yaml"))
    kept, clean = (make_manual(project, AS_OF, kept=one) for one in (Kept(cache), NOTHING))
    assert kept.findings == clean.findings
    pages = make_pages(kept)
    assert pages == make_pages(clean) and any("larder" in (page.edit or "") for page in pages)

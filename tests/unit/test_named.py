"""A text that has to name a paper, a log or a person: what names nothing is refused, wherever a rule
rests on it, and what names something is not."""

from __future__ import annotations

import itertools
from pathlib import Path

import pytest
from conftest import compute, edit, lay

from generator.records.named import names_nothing

NOTHING = (
    "none",
    "None.",
    "NONE",
    "no",
    "No!",
    "not yet",
    "not yet on file",
    "n/a",
    "N.A.",
    "na",
    "?",
    "-",
    "---",
    "tbd",
    "TBA",
    "pending",
    "Pending.",
    "variance pending",
    "applied for",
    "we have applied for it",
    "to follow",
    "will follow later",
    "unknown",
    "nobody",
    "not approved",
    "no paper",
    "no record",
    "not needed",
    "yes",
    "OK",
    "not cooked",
    "x",
    "pendiente",
    "ninguno",
)
SOMETHING = (
    "Variance 2026-118",
    "No. 14",
    "HACCP plan",
    "letter",
    "pH log",
    "Nobu, chef",
    "R. Osei",
    "head chef",
    "Letter 14",
    "plan 9 on file",
    "3",
    "Nil Yalter",
    "Yes Fisheries, invoice 3",
    "Notice 7",
    "The menu.",
    "On request.",
    "None such Farms, letter 2",
    "Log of the walk-in",
)


@pytest.mark.parametrize("text", NOTHING)
def test_it_names_nothing(text: str) -> None:
    assert names_nothing(text)


@pytest.mark.parametrize("text", SOMETHING)
def test_it_names_something(text: str) -> None:
    assert not names_nothing(text)


_AUTHORISED = (
    "authorisations:\n  - {for: ferment, authority: %s, document: %s, from: 2026-01-01, "
    "until: 2028-01-01}\n"
)
_FISH = "trout: {name: Trout, species: fish, state: raw, allergens: fish (trout), "
PLACES = {
    "authority": ("kitchen.yaml", _AUTHORISED.replace("%s, document: %s", "WORD, document: V 1")),
    "document": ("kitchen.yaml", _AUTHORISED.replace("%s, document: %s", "County, document: WORD")),
    "parasites": (
        "ingredients/all.yaml",
        _FISH + "parasites: {freed_by: farmed, record: WORD}}\n",
    ),
    "source": ("ingredients/all.yaml", _FISH + "approved_source: WORD}\n"),
    "law": ("ingredients/all.yaml", _FISH + "own_law: WORD}\n"),
    "confirmed": (
        "ingredients/all.yaml",
        _FISH + "confirmed: {tcs: {reason: Dried hard., document: WORD}}}\n",
    ),
    "reason": (
        "ingredients/all.yaml",
        _FISH + "confirmed: {tcs: {reason: WORD, document: Report 3}}}\n",
    ),
    "not-tcs": ("formulas/pork-bake.yaml", "not_tcs: {reason: Baked dry., document: WORD}\n"),
    "cooked later": ("formulas/pork-bake.yaml", "cooked_later: WORD\n"),
    "undercooked": ("formulas/pork-bake.yaml", "undercooked: WORD\n"),
    "acid": ("formulas/pork-bake.yaml", "acidified: {ph: 4.0, meter: 0.1, record: WORD}\n"),
    "air": (
        "formulas/pork-bake.yaml",
        "without_air: {criterion: acidity, measured: 4.0, record: WORD}\n",
    ),
    "house limit": (
        "formulas/pork-bake.yaml",
        "house_limits: {bake: {limit: core 80 °C, allowed_by: WORD}}\n",
    ),
    "approved": ("processes/baked.yaml", "approved: WORD\n"),
    "station": ("stations/pass.yaml", "approved: WORD\n"),
}


@pytest.mark.parametrize("where", PLACES)
def test_it_is_refused_wherever_a_rule_rests_on_it(tmp_path: Path, where: str) -> None:
    """With a word that names nothing, the finding at it; with a name, no such finding."""
    file, lines = PLACES[where]
    for number, (word, refused) in enumerate((("pending", True), ("Report 26-114", False))):
        project = lay("base", tmp_path / str(number))
        path = project / "standards" / file
        text = path.read_text(encoding="utf-8")
        kept = [ln for ln in text.splitlines() if not ln.startswith(lines.split(":")[0] + ":")]
        path.write_text("\n".join(kept) + "\n" + lines.replace("WORD", word), encoding="utf-8")
        found = [f for f in compute(project).findings if f.code == "nothing-named"]
        assert [f.place.file.endswith(file) for f in found if f.place] == (
            [True] if refused else []
        )


def test_the_folder_s_approval_names_somebody(tmp_path: Path) -> None:
    """Refused at the folder's own line, and at no file of the folder."""
    project = lay("base", tmp_path / "k")
    lines = "approval: {stations: {revision: 1, effective: 2026-01-01, approved: %s}}\n"
    edit(project, "kitchen.yaml", "serves:", lines % "not yet approved" + "serves:")
    codes = [(f.code, f.place.file) for f in compute(project).findings if f.place]
    assert codes.count(("nothing-named", "standards/kitchen.yaml")) == 1
    assert len([c for c, _ in codes if c == "nothing-named"]) == 1


def test_every_pair_of_empty_words_is_empty() -> None:
    empty = ("none", "pending", "not yet", "n/a")
    assert all(names_nothing(f"{a}, {b}") for a, b in itertools.product(empty, empty))

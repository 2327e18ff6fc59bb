"""The kinds of row: each hazard is of one, holds its own keys and no other's, and is never empty."""

from __future__ import annotations

import ast
import re
import typing

import pytest
from conftest import ROOT
from each_row import each_row
from pydantic import ValidationError
from test_kinds_of_limit import matches

from generator.files.finding import Finding
from generator.files.source_text import read_bytes
from generator.intake.faults import findings_of, keys_of
from generator.intake.reading import top_of
from generator.reference.library import read_reference
from generator.reference.row_kinds import CookRow, FoodRow, HoldRow, OneOf, Row, RowHead, WordsRow
from generator.reference.rows import Topic

KINDS: tuple[type[RowHead], ...] = typing.get_args(Row)
OF = {h: k for k in KINDS for h in typing.get_args(k.model_fields["hazard"].annotation)}
KEYS = {key for kind in KINDS for key in keys_of(kind)}
PACKS = read_reference(ROOT / "shared").packs


def read(*lines: str, ident: str = "one") -> list[Finding]:
    """What is found in a topic with one row of these lines, from line 4 of the file on."""
    text = f"topic: some\nrows:\n  {ident}:\n" + "".join(f"    {line}\n" for line in lines)
    tree = read_bytes(text.encode(), "some.yaml").tree
    try:
        Topic.model_validate(tree, context={"units": None})
    except ValidationError as error:
        return findings_of(error, Topic, tree, top_of(tree, "some.yaml"), "some")
    return []


WHOLE = {
    "hold": (
        "hazard: cold_hold",
        "food: any",
        "bound: max",
        "value: 5 °C",
        "clause: 1",
        "read_in: [x]",
    ),
    "words": ("hazard: clean", "food: any", "words: Do it.", "clause: 1", "read_in: [x]"),
    "rop": (
        "hazard: reduced_oxygen",
        "applies: x",
        "food: any",
        "bound: max",
        "at: 3 °C",
        "days: 5",
        "day_one: packing",
        "store_at: 5 °C",
        "then_days: 2",
        "clause: 1",
        "read_in: [x]",
    ),
}


def without(name: str, *keys: str) -> tuple[str, ...]:
    return tuple(line for line in WHOLE[name] if line.partition(":")[0] not in keys)


@pytest.mark.parametrize("name", WHOLE)
def test_a_whole_row_is_taken(name: str) -> None:
    assert read(*WHOLE[name]) == []


def test_every_hazard_is_of_one_kind() -> None:
    assert sum(len(typing.get_args(k.model_fields["hazard"].annotation)) for k in KINDS) == len(OF)
    for pack in PACKS.values():
        for ident, row in pack.rows.items():
            assert type(row) is OF[row.hazard], ident
    several = {h for h, k in OF.items() if sum(other is k for other in OF.values()) > 1}
    reported = {h for part in typing.get_args(OneOf) for h in typing.get_args(part) or (part,)}
    assert reported == several
    used = {row.hazard for pack in PACKS.values() for row in pack.rows.values()}
    assert set(OF) - used == {"preparation"}  # an authority's own figure goes before ours


@pytest.mark.parametrize("hazard", OF)
def test_a_key_of_another_hazard_is_refused(hazard: str) -> None:
    others = KEYS - set(keys_of(OF[hazard]))
    assert others
    for key in sorted(others):
        (found,) = [f for f in read(f"hazard: {hazard}", f"{key}: 5") if f.code == "key-unknown"]
        assert found.message == f"`{key}` is not a key here, where `hazard` is {hazard}."
        assert (found.place.line, found.place.column) == (5, 5)


@each_row("hazard", OF)
def test_a_key_every_row_of_the_hazard_has_is_missed(hazard: str) -> None:
    """By the data: what all its rows state is either asked for or states what goes without
    saying."""
    rows = [r for p in PACKS.values() for r in p.rows.values() if r.hazard == hazard]
    stated = {k for k in keys_of(OF[hazard]) if rows and all(r.states(k) for r in rows)}
    asked = {k for k, f in OF[hazard].model_fields.items() if f.is_required()}
    assert asked <= stated or not rows
    free = {"editions", "note", "standing", "words", "applies", "how", "group", "document"}
    assert stated - asked <= free | {"value", "bound", "printed", "days", "within"}, hazard
    missed = {f.message for f in read(f"hazard: {hazard}", "note: x")}
    assert {f"`{key}` is missing here." for key in sorted(asked - {"hazard"})[:3]} & missed


@pytest.mark.parametrize(
    ("line", "code", "words"),
    [
        ("note: x", "key-missing", "`hazard` is missing here."),
        ("hazard: cooks", "word-unknown", "`cooks` is not a word known here."),
        ("hazard:", "value-missing", "There is nothing after the colon."),
        ("hazard: [cook]", "text-expected", "Write a single value here, not a list or"),
    ],
)
def test_a_row_of_no_known_hazard_is_reported_once(line: str, code: str, words: str) -> None:
    (found,) = read(line, "days: 5")
    assert found.code == code and found.message.startswith(words)
    assert found.place.line == (3 if line == "note: x" else 4)


@each_row("ident", ["cook", "cold_hold", "date", "rows", "hazard", "value"])
def test_an_id_that_is_a_word_of_the_records_is_only_an_id(ident: str) -> None:
    """The validator names a kind behind a row's id; neither is taken for the other."""
    found = read(*without("hold", "bound"), "stages: []", ident=ident.replace("_", "-"))
    assert {f.message for f in found} == {
        "`stages` is not a key here, where `hazard` is cold_hold."
    }


def test_what_is_no_group_of_keys_is_no_row() -> None:
    text = "topic: some\nrows:\n  one: hazard\n"
    tree = read_bytes(text.encode(), "some.yaml").tree
    with pytest.raises(ValidationError) as raised:
        Topic.model_validate(tree, context={"units": None})
    (found,) = findings_of(raised.value, Topic, tree, top_of(tree, "some.yaml"), "some")
    assert (found.code, found.place.line) == ("group-expected", 3)


@each_row(
    ("name", "gone", "words"),
    [
        ("hold", ("bound",), "`bound` is missing here, because `value` is given."),
        ("hold", ("value",), "`value` or `words` is missing here. A row needs them."),
        ("hold", ("value", "bound"), "`value` or `words` is missing here. A row needs them."),
        ("words", ("words",), "`within` or `words` is missing here. A row needs them."),
        ("rop", ("then_days",), "`then_days` is missing here, because `store_at` is given."),
        ("rop", ("at",), "`at` is missing here, because `store_at` is given."),
        ("rop", ("day_one",), "`day_one` is missing here, because `days` is given."),
    ],
)
def test_half_a_figure_is_refused(name: str, gone: tuple[str, ...], words: str) -> None:
    (found,) = read(*without(name, *gone))
    assert found.code == "key-missing" and found.message.startswith(words)


def test_what_goes_with_what_names_keys_of_the_kind() -> None:
    for kind in KINDS:
        named = {key for pair in kind.beside for key in pair} | set(kind.says)
        assert named <= set(keys_of(kind)), kind


def test_the_table_of_kinds_for_maintainers_is_this_one() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    table = next(t for t in re.split(r"\n\n+", text) if t.startswith("| in `row_kinds` |"))
    assert table.splitlines()[2:] == [line_of(kind) for kind in KINDS]


def line_of(kind: type[RowHead]) -> str:
    """The line of a kind: its hazards, the keys it must have, and those it may."""
    head = FoodRow if issubclass(kind, FoodRow) else RowHead
    own = [(k, f) for k, f in kind.model_fields.items() if f is not head.model_fields.get(k)]
    own = [
        (k, f) for k, f in own if k != "hazard" and (k not in head.model_fields or f.is_required())
    ]
    hazards = typing.get_args(kind.model_fields["hazard"].annotation)
    common = {k for k, f in head.model_fields.items() if f.is_required()}
    must = [f"`{k}`" for k, f in own if f.is_required() and k not in common]
    may = [f"`{k}`" for k, f in own if not f.is_required()]
    reported = [", ".join(f"`{h}`" for h in hazards), ", ".join(must), ", ".join(may)]
    return f"| `{kind.__name__}` | {' | '.join(reported)} |".replace("|  |", "| |").replace(
        "|  |", "| |"
    )


def test_a_pack_gives_rows_by_their_kind() -> None:
    pack = PACKS["us-food-code-2022"]
    assert {i for i, _ in pack.rows_of(RowHead)} == set(pack.rows)
    by_kind = [ident for kind in KINDS for ident, _ in pack.rows_of(kind)]
    assert sorted(by_kind) == sorted(pack.rows)
    hot, cold = (pack.rows_of(HoldRow, hazard) for hazard in ("hot_hold", "cold_hold"))
    assert hot and cold and {**dict(hot), **dict(cold)} == dict(pack.rows_of(HoldRow))
    assert pack.row_for(WordsRow, "eggs", "susceptible") is not None
    assert pack.row_for(WordsRow, "eggs", "tcs") is None
    assert pack.row(CookRow, "cook-a3-165").hazard == "cook"
    with pytest.raises(AssertionError, match="cook-a3-165 is no HoldRow"):
        pack.row(HoldRow, "cook-a3-165")


def test_a_match_on_rows_ends_where_no_kind_is_left() -> None:
    """`assert_never` at the end makes the type checker name a kind without a case."""
    found = list(matches({kind.__name__ for kind in KINDS}))
    assert len(found) >= 4
    for place, node in found:
        last = node.cases[-1]
        assert isinstance(last.pattern, ast.MatchAs) and last.pattern.pattern is None, place
        assert ast.unparse(last.body[0]).startswith("assert_never("), place

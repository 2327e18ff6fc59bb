"""YAML as typed: nothing guessed, every place kept, everything doubtful a finding."""

from __future__ import annotations

import os
import string
import time
from pathlib import Path

import pytest
from each_row import each_row
from hypothesis import given
from hypothesis import strategies as st

from generator.files.finding import Finding, clipped
from generator.files.source_text import Mapping, Sequence, Text, read_bytes, read_file


def read(text: str) -> Mapping:
    document = read_bytes(text.encode(), "a.yaml")
    assert document.findings == ()
    assert isinstance(document.tree, Mapping)
    return document.tree


def fault(text: str | bytes) -> Finding:
    """The one finding of a text that can't be read."""
    document = read_bytes(text if isinstance(text, bytes) else text.encode(), "a.yaml")
    assert len(document.findings) == 1, document.findings
    return document.findings[0]


def test_a_file_that_cannot_be_opened_says_why(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.yaml")
    for path, why in (
        (tmp_path / "gone.yaml", "No such file or directory"),
        (tmp_path / "pipe.yaml", "it is not a plain file"),
    ):
        (found,) = read_file(path, "a.yaml").findings
        assert found.message == f"This file can't be opened: {why}."


@each_row(
    "typed",
    [
        "no",
        "off",
        "Yes",
        "on",
        "y",
        "null",
        "~",
        "1:30",
        "2:00",
        "012",
        "010",
        "0o14",
        "0x1F",
        "1.10",
        "1e3",
        "1_000",
        ".nan",
        ".inf",
        "2026-09-14",
        "12:30:45.5",
        "+1",
        "1.0",
        "1,500 kg",
        "½",
        "=",
        "<<",
    ],
)
def test_a_scalar_never_changes_its_meaning(typed: str) -> None:
    """YAML 1.1 (yaml.org/type): bool, null, int (octal, sexagesimal), float, timestamp, merge and
    value are what a plain scalar would resolve to."""
    tree = read(f"key: {typed}\n")
    assert tree == {"key": typed}
    assert type(tree["key"]) is Text


def test_a_key_never_changes_its_meaning() -> None:
    assert list(read("no: a\n012: b\n1.10: c\n2026-01-01: d\n")) == [
        "no",
        "012",
        "1.10",
        "2026-01-01",
    ]


def test_quotes_are_reported_from_plain_text() -> None:
    tree = read("a: 1\nb: '1'\nc: \"1\"\nd: |\n  1\n")
    assert [tree[k].plain for k in "abcd"] == [True, False, False, False]


def test_places_count_from_one_in_characters() -> None:
    tree = read("name: Café\nparts:\n  – crème: 2 kg\n  list: [a, 'b c']\n")
    inner = tree["parts"]
    amount = inner["– crème"]
    assert (amount.place.line, amount.place.column, amount.place.length) == (3, 12, 4)
    assert amount.place.text == "  – crème: 2 kg"
    assert (inner.keys_at["list"].line, inner.keys_at["list"].column) == (4, 3)
    second = inner["list"][1]
    assert (second.place.column, second.place.length) == (13, 5)
    assert isinstance(inner["list"], Sequence)
    assert (inner["list"].place.column, inner["list"].place.length) == (9, 10)


def test_a_byte_order_mark_and_windows_line_ends_are_read() -> None:
    tree = read("\ufeffname: a\r\nnote: b\r\n")
    assert dict(tree) == {"name": "a", "note": "b"}
    assert tree.keys_at["note"].line == 2
    assert tree["note"].place.text == "note: b"


@each_row(
    ("text", "code", "line", "column"),
    [
        ("a: 1\nb: x: y\n", "yaml-syntax", 2, 5),
        ("a: 1\n b: 2\n", "yaml-syntax", 2, 3),
        ("a: 1\nb\nc: 2\n", "yaml-syntax", 2, 1),
        ("a: [1, 2\nb: 3\n", "yaml-syntax", 1, 4),
        ("a: 'open\nb: 3\n", "yaml-syntax", 1, 4),
        ("a: @x\n", "yaml-syntax", 1, 4),
        ("a: %x\n", "yaml-syntax", 1, 4),
        ("a:\n\tb: 1\n", "tab-indent", 2, 1),
        ("a:\tb\n", "tab-indent", 1, 3),
        ("- \tb\n", "tab-indent", 1, 3),
        ("a: 1\na: 2\n", "duplicate-key", 2, 1),
        ("a: {b: 1, b: 2}\n", "duplicate-key", 1, 11),
        ("a: &x 1\n", "alias-refused", 1, 4),
        ("a: *x\n", "alias-refused", 1, 4),
        ("<<: *x\n", "alias-refused", 1, 5),
        ("a: !!python/object/apply:os.system [x]\n", "tag-refused", 1, 4),
        ("a: !include x.yaml\n", "tag-refused", 1, 4),
        ("a: 1\n---\nb: 2\n", "second-document", 2, 1),
        ("[a, b]: 1\n", "key-not-text", 1, 1),
        ("{a: 1}: 1\n", "key-not-text", 1, 1),
        ("a: b\u200ec\n", "unprintable-character", 1, 5),
        ("a: b\u202ec\n", "unprintable-character", 1, 5),
        ("a: b\x00c\n", "unprintable-character", 1, 5),
        ("a: b\x85c\n", "unprintable-character", 1, 5),
    ],
)
def test_what_is_refused_and_where(text: str, code: str, line: int, column: int) -> None:
    found = fault(text)
    assert (found.code, found.place.line, found.place.column) == (code, line, column)
    assert found.severity == "error"
    assert found.help, "a refusal says how to mend it"


@each_row(
    ("text", "place", "message", "write"),
    [
        (
            "x: 1\nsalt:1.6 %\ny: 2\n",
            "2:5",
            "There is no space after the colon.",
            ("salt: 1.6 %",),
        ),
        ("salt:1.6 %\ny: 2\n", "1:5", "There is no space after the colon.", ("salt: 1.6 %",)),
        (
            "a:\n  - salt:1 g\n    add: x\n",
            "2:9",
            "There is no space after the colon.",
            ("- salt: 1 g",),
        ),
        ("x: 1\nsalt\ny: 2\n", "2:1", "This key has no colon.", ()),
        (
            "name: it: b\n",
            "1:9",
            "There is a second colon on this line, or the line starts too far right.",
            (),
        ),
        ("name: 'it's'\n", "1:11", "There is something after a closing quote or bracket.", ()),
        ("base: [a], b\n", "1:10", "There is something after a closing quote or bracket.", ()),
        ("a: [b\nc: 1\n", "1:4", "A bracket or a quote is opened here but not closed.", ()),
        ('a: "b\nc: 1\n', "1:4", "A bracket or a quote is opened here but not closed.", ()),
        ("a: b]\nc: ]\n", "2:4", "This closing bracket has no opening bracket.", ()),
        ("a: - b\n", "1:4", "A list can't start after a colon on the same line.", ()),
        ("a:\n  - b\n c: 1\n", "3:2", "This line doesn't line up with the lines above it.", ()),
        ("- a\nb: c\n", "2:1", "This line doesn't line up with the lines above it.", ()),
        ("a: `b`\n", "1:4", "A text can't start with this character.", ()),
    ],
)
def test_syntax_faults_stand_where_they_were_made(
    text: str, place: str, message: str, write: tuple[str, ...]
) -> None:
    found = fault(text)
    assert (str(found.place), found.message, found.write) == (f"a.yaml:{place}", message, write)


@pytest.mark.parametrize(
    "raw", [b"a: caf\xe9\n", b"\xff\xfea\x00:\x00", "a: b\n".encode("utf-16"), b"a: \xed\xa0\x80\n"]
)
def test_other_encodings_are_refused(raw: bytes) -> None:
    assert fault(raw).code == "not-utf-8"


def test_a_duplicate_keeps_the_first_and_reads_on() -> None:
    """So that the faults below it are reported in the same run."""
    document = read_bytes(b"a: 1\na: 2\nb: 3\nb: 4\n", "a.yaml")
    assert document.tree == {"a": "1", "b": "3"}
    assert [f.place.line for f in document.findings] == [2, 4]


def test_a_file_of_a_mebibyte_is_read_and_no_more(tmp_path: Path) -> None:
    path = tmp_path / "a.yaml"
    path.write_bytes(b"a: " + b"x" * ((1 << 20) - 4) + b"\n")
    assert read_file(path, "a.yaml").findings == ()
    path.write_bytes(b"a: " + b"x" * ((1 << 20) - 3) + b"\n")
    assert [f.code for f in read_file(path, "a.yaml").findings] == ["file-too-large"]


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    assert [f.code for f in read_file(tmp_path / "no.yaml", "no.yaml").findings] == [
        "file-unreadable"
    ]


def test_nesting() -> None:
    assert read_bytes(b"a: " + b"[" * 19 + b"]" * 19 + b"\n", "a.yaml").findings == ()
    assert fault("a: " + "[" * 20 + "]" * 20 + "\n").code == "nested-too-deep"
    start = time.perf_counter()
    assert fault("a: " + "[" * 200_000 + "]" * 200_000).code == "nested-too-deep"
    assert fault("{a: " * 200_000).code == "nested-too-deep"
    assert time.perf_counter() - start < 2, "refused at the twentieth level, not at the last"


@pytest.mark.parametrize("deep", [20, 5000])
def test_what_is_nested_too_deep_is_shown_on_its_own_line(deep: int) -> None:
    """Whether it is found while it is read or while its tree is made."""
    found = fault("x: 1\na: " + "[" * deep + "]" * deep + "\ny: 2\n")
    assert (found.code, found.place.line) == ("nested-too-deep", 2)
    assert found.place.text.startswith("a: [[[")


def test_a_comma_that_splits_a_figure_leaves_its_neighbours() -> None:
    document = read_bytes(b"a: [salt, 1,5 kg, sugar]\n", "a.yaml")
    assert [f.code for f in document.findings] == ["comma-splits"]
    assert isinstance(document.tree, Mapping)
    assert list(document.tree["a"]) == ["salt", "1,5 kg", "sugar"]


def test_a_bracketed_list_over_two_lines_is_shown_by_its_bracket() -> None:
    place = read("a: [salt,\n    black pepper]\n")["a"].place
    assert (place.line, place.column, place.length) == (1, 4, 1)


def test_the_sides_of_a_conflict_are_named_by_their_lines() -> None:
    sides = "<<<<<<< HEAD\nb: 2\nc: 3\nd: 4\n=======\nb: 5\n>>>>>>> other\n"
    found = fault(f"a: 1\n{sides}")
    assert "Lines 2 to 8 are" in found.message
    assert "HEAD, lines 3 to 5:" in found.help and "other, line 7:" in found.help


@pytest.mark.parametrize(
    ("typed", "quoted"),
    [("x" * 60, "x" * 60), ("x" * 61, "x" * 59 + "…"), ("a\n b", "a b")],
)
def test_a_finding_quotes_sixty_letters_at_the_most(typed: str, quoted: str) -> None:
    assert clipped(typed) == quoted


def test_an_empty_file_has_no_tree() -> None:
    for raw in (b"", b"\n\n", b"# only a remark\n", b"---\n...\n", b"\xef\xbb\xbf"):
        document = read_bytes(raw, "a.yaml")
        assert not document.tree and document.findings == ()


YAMLISH = st.text(
    alphabet=st.one_of(
        st.sampled_from(" \n:-[]{}&*!|>'\"#%@`,?\t"),
        st.sampled_from(string.ascii_letters + string.digits + "é½°"),
    ),
    max_size=200,
)


@given(st.one_of(YAMLISH, st.text(max_size=80)))
def test_any_text_gives_a_tree_or_findings_inside_it(text: str) -> None:
    """Property: nothing is raised, and every finding quotes the line it is on."""
    try:
        raw = text.encode()
    except UnicodeEncodeError:
        raw = text.encode("utf-8", "surrogatepass")
    document = read_bytes(raw, "a.yaml")
    lines = raw.decode("utf-8", "replace").replace("\r\n", "\n").replace("\r", "\n").split("\n")
    for found in document.findings:
        assert found.help and found.message.endswith(".")
        assert 0 <= found.place.line <= len(lines)
        if found.place.line and found.code != "not-utf-8":
            assert found.place.text == lines[found.place.line - 1].removeprefix("\ufeff")
            assert 1 <= found.place.column <= len(found.place.text) + 1


@given(st.binary(max_size=200))
def test_any_bytes_give_a_tree_or_findings(raw: bytes) -> None:
    """Property: nothing is raised."""
    document = read_bytes(raw, "a.yaml")
    assert all(f.is_error for f in document.findings)


@given(
    st.dictionaries(
        st.from_regex(r"[a-z]{1,8}", fullmatch=True),
        st.text(
            st.characters(
                min_codepoint=32,
                max_codepoint=0x2FF,
                exclude_characters="\x7f",
                exclude_categories=["Cc", "Cs", "Cf"],
            ),
            min_size=1,
            max_size=30,
        ),
        min_size=1,
        max_size=6,
    )
)
def test_quoted_text_comes_back_as_typed(pairs: dict[str, str]) -> None:
    """Property: what is in single quotes is what the record gets."""
    text = "".join(f"{k}: '{v.replace(chr(39), chr(39) * 2)}'\n" for k, v in pairs.items())
    assert read(text) == pairs

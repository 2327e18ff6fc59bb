"""A batch's record, from the JSON file that a phone wrote."""

from __future__ import annotations

from pathlib import Path

from pydantic import ValidationError

from generator.files.finding import BrokenData, Finding, Place
from generator.files.source_text import Mapping, read_file
from generator.intake.faults import findings_of
from generator.intake.reading import top_of, validated
from generator.records.batch import KIND, BatchRecord


def is_batch_file(path: Path) -> bool:
    """Whether a file is JSON, as a batch's record is, and no log: its first sign is a brace."""
    try:
        with path.open("rb") as file:
            return file.read(64).lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"{")
    except OSError:
        return False  # whoever reads it says why


def read_batch_file(path: Path) -> BatchRecord:
    """The record in a file. JSON is read as the YAML it is, so that a fault has its place. Raises
    BrokenData with every fault found."""
    name = path.name
    document = read_file(path, name)
    if document.findings:
        raise BrokenData(list(document.findings))
    tree = document.tree
    if not isinstance(tree, Mapping) or tree.get("kind") != KIND:
        message = f"{name} is not a batch's record."
        help = "Name the file that the phone wrote, or a log with its columns."
        raise BrokenData([Finding("batch-file", "error", message, Place(name), help)])
    try:
        return validated(BatchRecord, tree, None)
    except ValidationError as error:
        start = top_of(tree, name)
        raise BrokenData(findings_of(error, BatchRecord, tree, start, name)) from None

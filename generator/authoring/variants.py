"""A variant of a formula as a file of its own: the base's file as typed, its weights replaced, with
an id, a revision and a day of its own, and approved by nobody."""

from __future__ import annotations

import datetime
import re
import shutil
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from generator.authoring.skeletons import identity, quoted
from generator.files.disk import not_written, write_new
from generator.files.finding import Refused
from generator.files.source_text import Text, copied, read_file
from generator.intake.standards import FOLDER, Standards
from generator.measures.words import date

_PLAIN = re.compile(r"[A-Za-z0-9½¼¾°](?:[A-Za-z0-9½¼¾°%_.,;()'’/+–\- ]*[A-Za-z0-9½¼¾°%.)’])?")
"""What YAML takes without quotes in a block; within brackets a comma needs them."""
_OF_THE_BASE = (
    "approved",
    "review_by",
    "superseded",
    "other_names",
    "picture",
    "yield_tests",
    "acidified",
    "without_air",
)
"""What was said, shown, measured or put on file of the base alone."""


@dataclass(frozen=True)
class VariantLine:
    """A line of the variant: ``amount`` as it is typed, None where it stays; ``like`` is the item
    of the base's line whose other words it has; ``usual`` for what is taken as needed."""

    part: str
    item: str
    like: str
    amount: str | None = None
    usual: str | None = None


@dataclass(frozen=True)
class Variant:
    """What is written of a variant: its id, the base's, its day and lines, the batch's size, the
    base's ids if they are typed anew, and the bounds that fall away with a line."""

    ident: str
    base: str
    day: datetime.date
    lines: tuple[VariantLine, ...]
    size: str
    base_ids: tuple[str, ...] = ()
    gone: frozenset[str] = field(default_factory=frozenset)
    made_of: str = ""


def base_file(project: Path, standards: Standards, base: str) -> Any:
    """The base's file as typed. Raises Refused for what has none of its own: an ending of a card, a
    by-product."""
    formula = standards.formulas[base]
    of = formula.ending or formula.by_product
    if of is not None:
        whose = formula.ending.card if formula.ending is not None else ""
        whose = formula.by_product.formula if formula.by_product is not None else whose
        kind = "an ending of" if formula.ending is not None else "what is left of"
        raise Refused(
            "variant-without-file",
            f"{base} has no file of its own: it is {kind} {whose}.",
            "A variant is a file of its own. Write this formula as one first.",
        )
    file = standards.formula_files[base]
    return read_file(project / file, file).tree


def left_out(tree: Mapping[str, Any]) -> tuple[str, ...]:
    """The keys of a base that its variant leaves out, in their order."""
    return tuple(key for key in tree if key in (*_OF_THE_BASE, *_on_file(tree)))


def _on_file(tree: Mapping[str, Any]) -> Iterator[str]:
    """Where a document or a study says something of the base: it says nothing of the variant."""
    not_tcs = tree.get("not_tcs")
    if isinstance(not_tcs, Mapping) and {"document", "water_activity"} & set(not_tcs):
        yield "not_tcs"


def free_id(standards: Standards, ident: str) -> str:
    """An id that nothing has. Raises Refused for one that is none, or is taken."""
    if ident != identity(ident):
        raise Refused("id-form", f"`{ident}` is not an id.", "", [f"--write {identity(ident)}"])
    held = standards
    taken = {*held.ingredients, *held.formulas, *held.formula_files, *held.cards, *held.processes}
    if ident in taken:
        raise Refused("id-taken", f"`{ident}` is there already.", "Choose another id.")
    return ident


def variant_text(tree: Mapping[str, Any], variant: Variant) -> str:
    """The variant's file."""
    made = copied(tree)
    typed: dict[str, Any] = {"name": _named(made.get("name"), variant.day)}
    typed |= {"revision": "1", "effective": variant.day.isoformat(), "variant_of": variant.base}
    leave = {*left_out(made), *typed, "parts", "batches", "base"}
    for key, value in made.items():
        if key == "parts":
            if variant.base_ids or "base" in made:
                typed["base"] = list(variant.base_ids) or made["base"]
            typed["parts"] = _parts(made["parts"], variant)
        elif key not in leave:
            typed[key] = _bounds(value, variant.gone) if key == "bounds" else value
    typed["batches"] = [variant.size]
    if isinstance(typed.get("keeps"), Mapping):
        typed["keeps"] = {k: v for k, v in typed["keeps"].items() if k != "study"}
    head = f"# A variant of {variant.base}, made on {variant.day.isoformat()}"
    head += f" of what was on hand: {variant.made_of}." if variant.made_of else "."
    return head + "\n" + "".join(_lines(typed, 0))


def _named(name: Any, day: datetime.date) -> Any:
    """The base's name, in each language, with the day."""
    if isinstance(name, Mapping):
        return {code: _named(one, day) for code, one in name.items()}
    return f"{name}, {date(day)}"


def _bounds(bounds: Any, gone: frozenset[str]) -> Any:
    """The bounds without those of lines that are gone."""
    if not isinstance(bounds, Mapping):
        return bounds
    found = dict(bounds)
    if isinstance(found.get("shares"), Mapping):
        found["shares"] = {k: v for k, v in found["shares"].items() if k not in gone}
        if not found["shares"]:
            del found["shares"]
    return found


def _parts(parts: Any, variant: Variant) -> dict[str, dict[str, Any]]:
    found: dict[str, dict[str, Any]] = {}
    for line in variant.lines:
        typed = parts[line.part][line.like]
        found.setdefault(line.part, {})[line.item] = _line(typed, line)
    return found


def _line(typed: Any, line: VariantLine) -> Any:
    """A line as typed, with what it now weighs."""
    if not isinstance(typed, Mapping):
        return typed if line.amount is None else line.amount
    kept = dict(typed)
    if line.item != line.like:
        kept = {key: value for key, value in kept.items() if key == "prepare"}
    if line.amount is not None:
        kept = {"amount": line.amount, **{k: v for k, v in kept.items() if k != "amount"}}
    if line.usual is not None:
        kept["usual"] = line.usual
    return kept


def _lines(value: Mapping[str, Any], depth: int) -> Iterator[str]:
    """Keys and values in blocks, each two spaces further in."""
    for key, inner in value.items():
        head = "  " * depth + _scalar(key) + ":"
        if isinstance(inner, Mapping) and inner and depth < 2:
            yield head + "\n"
            yield from _lines(inner, depth + 1)
        elif isinstance(inner, list) and any(isinstance(one, (Mapping, list)) for one in inner):
            yield head + "\n"
            for one in inner:
                yield "  " * (depth + 1) + "- " + _flow(one) + "\n"
        else:
            nested = isinstance(inner, (Mapping, list))
            yield f"{head} {_flow(inner) if nested else _scalar(inner, block=True)}\n"


def _flow(value: Any) -> str:
    """A value on one line."""
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{_scalar(k)}: {_flow(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_flow, value)) + "]"
    return _scalar(value)


def _scalar(value: Any, block: bool = False) -> str:
    text = str(value)
    plain = not isinstance(value, Text) or value.plain
    simple = _PLAIN.fullmatch(text) is not None and (block or not re.search(r"[,;]", text))
    return text if plain and simple else quoted(text.replace("\n", " ").strip())


@contextmanager
def tried(project: Path, ident: str, text: str) -> Iterator[Path]:
    """A folder with the project's standards and the variant among them, to be computed like any
    other. Reference data and pictures are the project's own. Raises Refused where the disk doesn't
    take it."""
    try:
        with tempfile.TemporaryDirectory(prefix="variant-") as name:
            folder = Path(name).resolve()
            for one in project.iterdir():
                if one.name == FOLDER:
                    office = shutil.ignore_patterns("office")
                    shutil.copytree(one, folder / FOLDER, ignore=office, symlinks=True)
                elif not one.name.startswith("."):
                    (folder / one.name).symlink_to(one.resolve())
            path = folder / FOLDER / "formulas" / f"{ident}.yaml"
            path.parent.mkdir(exist_ok=True)
            path.write_text(text, encoding="utf-8")
            yield folder
    except OSError as error:
        raise not_written("a copy of the standards", error) from None


def write_variant(project: Path, ident: str, text: str) -> Path:
    """The variant's file, written whole where none was. Raises Refused."""
    path = project / FOLDER / "formulas" / f"{ident}.yaml"
    if path.exists():
        raise Refused("id-taken", f"{path.name} is there already.", "Choose another id.")
    return write_new(path, text)

"""A document record drawn as PDF by Typst: nothing is fetched, the same record gives the same
bytes."""

from __future__ import annotations

import importlib.metadata
import json
import re
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import Literal

from generator.binder.page_labels import Leaves, labelled
from generator.binder.sheets import Record
from generator.files.finding import Refused
from generator.measures.words import true_minus

Paper = Literal["a4", "letter"]
TEMPLATES = Path(__file__).resolve().parent / "templates"
FONT_PACKAGE = "font-source-sans-pro"
FACES = ("Regular", "Semibold", "Bold", "It")
"""Source Sans Pro, SIL Open Font License 1.1; the licence lies in the package of the fonts."""


@lru_cache(maxsize=1)
def font_files() -> tuple[Path, ...]:
    """The four faces, out of the files of their package. Raises Refused if one isn't there."""
    try:
        files = importlib.metadata.files(FONT_PACKAGE) or []
    except importlib.metadata.PackageNotFoundError:
        files = []
    found = {Path(str(f)).name: Path(str(f.locate())) for f in files}
    wanted = [f"SourceSansPro-{face}.otf" for face in FACES]
    missing = [name for name in wanted if name not in found or not found[name].is_file()]
    if missing:
        raise Refused(
            "font-missing",
            f"The font of the sheets isn't installed: {', '.join(missing)}.",
            f"Install it with pip install {FONT_PACKAGE}.",
        )
    return tuple(found[name] for name in wanted)


def render(
    document: Record, paper: Paper, template: str = "binder.typ", duplex: bool = False
) -> bytes:
    """A document record as PDF/UA-1 on A4 or US Letter; with ``duplex`` for printing on both sides,
    the punch margin at the inside of each page.

    ``template`` is a file of TEMPLATES that reads the record from ``sys.inputs.document`` and the
    paper's name from ``sys.inputs.paper``. Raises Refused for a sign the font doesn't have and for
    a block no page holds.
    """
    import typst  # only here: no other command draws

    shown = json.dumps(document, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    text = true_minus(shown)  # a number of JSON follows a colon, and keeps its sign
    fonts = typst.Fonts(
        include_system_fonts=False,
        include_embedded_fonts=False,
        font_paths=sorted({str(path.parent) for path in font_files()}),
    )
    compiler = typst.Compiler(
        str(TEMPLATES / template),
        root=str(TEMPLATES),
        font_paths=fonts,
        ignore_system_fonts=True,
        sys_inputs={"document": text, "paper": paper, "duplex": "yes" if duplex else "no"},
    )
    try:
        made = compiler.compile(format="pdf", pdf_standards=["ua-1"])
        pages = json.loads(compiler.query("<sheet>", field="value"))
    except typst.TypstError as error:
        raise _refused(error.message, error.diagnostic) from error
    assert isinstance(made, bytes)
    return labelled(made, _leaves(document, pages), duplex) if pages else made


def _leaves(document: Record, pages: list[Record]) -> Iterator[Leaves]:
    """The sheets of a document with their pages: by number, of several stations by station too."""
    several = len({sheet["key"].partition("/")[0] for sheet in document["sheets"]}) > 1
    for sheet, one in zip(document["sheets"], pages, strict=True):
        name = sheet["number"] or sheet["kind"]
        if several:
            name = f"{sheet['key'].partition('/')[0]} {name}"
        yield Leaves(name, one["pages"])


def _refused(message: str, diagnostic: str) -> Refused:
    """What a person can fix of what the typesetter says; anything else is a fault of ours."""
    glyph = re.search(r'text `?["“](.+?)["”]`? could not be displayed', message)
    if glyph:
        return Refused(
            "sign-not-printable",
            f"The font of the sheets has no character for “{glyph[1]}”.",
            "Write it in letters, figures and the usual signs.",
        )
    block = re.search(r"too tall: ([^\n\"]+)", message)
    if block:
        return Refused(
            "block-too-tall",
            f"A part of this sheet is longer than a page: {block[1]}.",
            "Write its words shorter, or divide the step.",
        )
    label = re.search(r"label too small: (\d+): ([^\n]+)", message)
    if label:
        name = label[2].rstrip("”\"'")
        return Refused(
            "label-too-small",
            f"{name}: its words don't fit on this label, in the smallest type either.",
            f"At this width it needs {label[1]} mm of height. Print on larger labels, or shorten "
            "its name.",
        )
    raise RuntimeError(f"the sheets could not be drawn: {diagnostic}")

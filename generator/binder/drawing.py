"""A document record drawn as PDF by Typst: nothing is fetched, the same record gives the same
bytes."""

from __future__ import annotations

import importlib.metadata
import json
import re
from collections.abc import Iterator, Sequence
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from generator.binder.layout import laid_out
from generator.binder.page_labels import Leaves, begins, labels
from generator.binder.sheets import Record
from generator.files.finding import Refused
from generator.measures.words import true_minus

if TYPE_CHECKING:
    import typst

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
    paper's name from ``sys.inputs.paper``. A document with sheets is measured and laid out first.
    Raises Refused for a sign the font doesn't have and for a block no page holds.
    """
    drawer = _Drawer(paper, duplex)
    if "sheets" not in document:
        return drawer.pdf(template, document)
    shown = laid_out(document, drawer.measure)
    leaves = list(_leaves(shown))
    starts = begins(leaves, duplex)
    places = {s["key"]: at for s, at in zip(shown["sheets"], starts, strict=True)}
    parts = []
    for part in _parts(shown, leaves, duplex):
        parts.append(drawer.pdf(template, {**part, "begins": places}))
        drawer.forget()
    from generator.binder.joining import joined  # only here: no other command joins

    return joined(parts, starts[-1] + leaves[-1].pages - 1, labels(leaves, duplex))


class _Drawer:
    """The typesetter with our fonts and no others."""

    def __init__(self, paper: Paper, duplex: bool) -> None:
        import typst  # only here: no other command draws

        self.typst = typst
        self.fonts = typst.Fonts(
            include_system_fonts=False,
            include_embedded_fonts=False,
            font_paths=sorted({str(path.parent) for path in font_files()}),
        )
        self.form = {"paper": paper, "duplex": "yes" if duplex else "no"}

    def _compiler(self, template: str, record: object) -> typst.Compiler:
        shown = json.dumps(record, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
        text = true_minus(shown)  # a number of JSON follows a colon, and keeps its sign
        return self.typst.Compiler(
            str(TEMPLATES / template),
            root=str(TEMPLATES),
            font_paths=self.fonts,
            ignore_system_fonts=True,
            sys_inputs={"document": text, **self.form},
        )

    def pdf(self, template: str, record: Record) -> bytes:
        """What a template draws of a record, as PDF/UA-1."""
        try:
            made = self._compiler(template, record).compile(format="pdf", pdf_standards=["ua-1"])
        except self.typst.TypstError as error:
            raise _refused(error.message, error.diagnostic) from error
        assert isinstance(made, bytes)
        return made

    def measure(self, asked: Sequence[Record]) -> list[Any]:
        """The answers of ``measuring.typ``, some at a time: what the typesetter keeps of a text it
        has measured is more than the sheet it is on."""
        found: list[Any] = []
        for at in range(0, len(asked), _AT_ONCE):
            compiler = self._compiler("measuring.typ", asked[at : at + _AT_ONCE])
            answers = json.loads(compiler.query("<measured>", field="value"))
            found += [answer for some in answers for answer in some]
            self.forget()
        return found

    def forget(self) -> None:
        """Have the typesetter drop what it keeps for another compilation: it does with what no
        compilation has used for _KEPT of them."""
        nothing = self.typst.Compiler(font_paths=self.fonts, ignore_system_fonts=True)
        for _ in range(_KEPT + 1):
            nothing.compile(input=b" ", format="svg")


_AT_ONCE = 250
_KEPT = 10
_TOGETHER = 40
"""Pages drawn together: what the typesetter keeps of a page is a megabyte, until it forgets it.
Fewer take longer; of more, joining finds less memory given back in one piece."""


def _parts(document: Record, leaves: Sequence[Leaves], duplex: bool) -> Iterator[Record]:
    """A laid out document's sheets, some at a time: at most _TOGETHER pages, or one sheet. With
    ``duplex`` each but the last ends on a back, so that the next begins on a front."""
    some: list[Record] = []
    pages = 0
    for sheet, one in zip(document["sheets"], leaves, strict=True):
        if some and pages + one.pages > _TOGETHER:
            yield {**document, "sheets": some, "blank": duplex and pages % 2 == 1}
            some, pages = [], 0
        pages += one.pages + (pages % 2 if duplex else 0)
        some.append(sheet)
    yield {**document, "sheets": some}


def _leaves(document: Record) -> Iterator[Leaves]:
    """The sheets of a laid out document with their sheets of paper: by number, of several stations
    by station too."""
    several = len({sheet["key"].partition("/")[0] for sheet in document["sheets"]}) > 1
    for sheet in document["sheets"]:
        name = sheet["number"] or sheet["kind"]
        if several:
            name = f"{sheet['key'].partition('/')[0]} {name}"
        yield Leaves(name, len(sheet["leaves"]))


def _refused(message: str, diagnostic: str) -> Refused:
    """What a person can fix of what the typesetter says; anything else is a fault of ours."""
    glyph = re.search(r'text `?["“](.+?)["”]`? could not be displayed', message)
    if glyph:
        return Refused(
            "sign-not-printable",
            f"The font of the sheets has no character for “{glyph[1]}”.",
            "Write it in letters, figures and the usual signs.",
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

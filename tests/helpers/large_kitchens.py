"""The demo's formulas over and over under other names, until a manual is as large as is asked."""

from __future__ import annotations

import random
import re
import shutil
from pathlib import Path

from conftest import ROOT

_ONCE = frozenset({"race-sausage", "rye-sponge"})
"""What a formula that is cooked uses raw: a copy would be sold, or eaten, raw."""
_NAME = re.compile(r"^name: (.*)$", re.MULTILINE)
_PROCESS = re.compile(r"^process: (.*)$", re.MULTILINE)
_STARTS = [
    "b",
    "c",
    "d",
    "f",
    "g",
    "h",
    "l",
    "m",
    "n",
    "p",
    "r",
    "s",
    "t",
    "v",
    "w",
    "br",
    "cl",
    "dr",
    "fl",
    "gr",
    "pl",
    "sl",
    "st",
    "tr",
]
_MIDDLES = ["a", "e", "i", "o", "u", "ai", "ee", "oa", "ou"]
_ENDS = [
    "b",
    "d",
    "g",
    "k",
    "l",
    "m",
    "n",
    "p",
    "r",
    "s",
    "t",
    "ck",
    "ll",
    "nd",
    "ng",
    "rd",
    "rk",
    "st",
]


def _word(rng: random.Random) -> str:
    return (
        rng.choice(_STARTS)
        + rng.choice(_MIDDLES)
        + rng.choice(_ENDS)
        + rng.choice(("", "er", "ey", "ow"))
    )


def large_kitchen(folder: Path, formulas: int, seed: int = 7) -> Path:
    """A project of so many formulas, each with two invented words before its name, and nearly as
    many process specs: the demo's, copied."""
    rng = random.Random(seed)
    shutil.copytree(ROOT / "standards", folder / "standards")
    shutil.copytree(ROOT / "shared", folder / "shared")
    (folder / "pages").mkdir()
    (folder / "pages/about.md").write_text("# About\n\nWritten by hand.\n")
    (folder / "mkdocs.yml").write_text(
        "site_name: Large\ndocs_dir: pages\ntheme: {name: material, font: false}\n"
        "plugins: [kitchen-manual]\n"
    )
    shutil.rmtree(folder / "standards/records")
    own = [p for p in sorted((ROOT / "standards/formulas").glob("*.yaml")) if p.stem not in _ONCE]
    specs = {path.stem for path in (ROOT / "standards/processes").glob("*.yaml")}
    made, turn = len(own) + len(_ONCE), 0
    while made < formulas:
        turn += 1
        for path in own[: formulas - made]:
            words = f"{_word(rng)} {_word(rng)}".capitalize()
            text = _renamed(path.read_text(encoding="utf-8"), words)
            found = _PROCESS.search(text)
            if found and found[1] in specs:
                text = _PROCESS.sub(rf"process: \1-c{turn}", text)
                _copied_spec(folder, found[1], turn, words)
            (folder / f"standards/formulas/{path.stem}-c{turn}.yaml").write_text(
                text, encoding="utf-8"
            )
            made += 1
    return folder


def _renamed(text: str, words: str) -> str:
    return _NAME.sub(
        lambda found: f"name: {words} {found[1][0].lower()}{found[1][1:]}", text, count=1
    )


def _copied_spec(folder: Path, spec: str, turn: int, words: str) -> None:
    target = folder / f"standards/processes/{spec}-c{turn}.yaml"
    if not target.exists():
        source = folder / f"standards/processes/{spec}.yaml"
        target.write_text(_renamed(source.read_text(encoding="utf-8"), words), encoding="utf-8")

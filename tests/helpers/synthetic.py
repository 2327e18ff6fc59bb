"""A seeded generator of large kitchens, for timings."""

from __future__ import annotations

import random
import shutil
from pathlib import Path

from conftest import BASE, ROOT

SITE = """site_name: Synthetic
docs_dir: pages
theme:
  name: material
  font: false
  features: [navigation.indexes]
plugins: [search, kitchen-manual]
"""


def synthetic_kitchen(folder: Path, formulas: int, seed: int = 7) -> Path:
    """A project of so many formulas over ten stations, all clean."""
    rng = random.Random(seed)
    shutil.copytree(BASE / "standards", folder / "standards")
    (folder / "pages").mkdir()
    (folder / "mkdocs.yml").write_text(SITE)
    shutil.copytree(ROOT / "shared", folder / "shared")
    bake = (folder / "standards/formulas/pork-bake.yaml").read_text()
    salad = (folder / "standards/formulas/rice-salad.yaml").read_text()
    for station in range(10):
        (folder / f"standards/stations/station-{station}.yaml").write_text(
            f"name: Station {station}\n"
        )
    for number in range(formulas):
        text = bake if rng.random() < 0.6 else salad
        name = text.splitlines()[0].removeprefix("name: ")
        station = text.split("station: ")[1].split("\n")[0]
        text = text.replace(f"name: {name}", f"name: {name} number {number}")
        text = text.replace(f"station: {station}", f"station: station-{rng.randrange(10)}")
        text = text.replace(
            "pork-shoulder: 3 kg", f"pork-shoulder: {rng.randrange(30, 60) / 10} kg"
        )
        text = text.replace("salt: 1.6 %", f"salt: {rng.randrange(12, 22) / 10} %")
        (folder / f"standards/formulas/made-{number}.yaml").write_text(text)
    return folder

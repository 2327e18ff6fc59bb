"""Starting points: a small working kitchen, and commented skeletons of single records."""

from __future__ import annotations

import datetime
import shutil
from pathlib import Path

from generator.files.disk import not_written, write_new
from generator.files.finding import Refused
from generator.files.replacing import healed, made_aside, swapped_in
from generator.intake.standards import Standards
from generator.measures.marks import as_written, written_with
from generator.records.fields import ID_PATTERN, MOST_ID, as_id

STARTER = Path(__file__).resolve().parent / "starter"
KINDS = ("formula", "process", "ingredient")


def identity(name: str) -> str:
    """An id from a name people read: "Beef Cheek, braised" → beef-cheek-braised. Raises Refused."""
    ident = as_id(name)
    if len(ident) > MOST_ID:
        raise Refused(
            "id-form",
            f"`{name[:40]}…` gives an id of {len(ident)} letters. At most {MOST_ID} fit.",
            "Use a shorter name now. You can make the name people read longer in the file.",
        )
    if not ID_PATTERN.fullmatch(ident):
        raise Refused(
            "id-form", f"`{name}` gives no id.", "Start with a letter; use letters and digits."
        )
    return ident


def new_kitchen(folder: Path) -> list[Path]:
    """Lay down the starter kitchen in an empty or new folder. Returns the files written.

    Raises Refused if the folder holds anything (nothing is ever overwritten), or the disk doesn't
    take it: the folder is then as it was, and the same command can be given again.
    """
    try:
        if folder.is_dir():
            healed(folder / _ASIDE)
        if folder.is_symlink() or folder.exists():
            if not folder.is_dir() or any(folder.iterdir()):
                raise Refused("folder-not-empty", f"{folder} is not empty.", "Name a new folder.")
            _lay_in(folder)
        else:
            with swapped_in(folder) as new:
                shutil.copytree(STARTER, new)
        return sorted(p for p in folder.rglob("*") if p.is_file())
    except OSError as error:
        raise not_written(folder, error) from None


_ASIDE = "kitchen"


def _lay_in(folder: Path) -> None:
    """Lay the starter into an empty folder, which may be somebody's working folder: made aside in
    it, then moved up, entry by entry."""
    moved: list[Path] = []
    with made_aside(folder / _ASIDE) as aside:
        shutil.copytree(STARTER, aside / "new")
        try:
            for entry in sorted((aside / "new").iterdir()):
                entry.rename(folder / entry.name)
                moved.append(folder / entry.name)
        except BaseException:
            for one in moved:
                one.rename(aside / "new" / one.name)
            raise


def add_record(
    project: Path, standards: Standards, kind: str, name: str, as_of: datetime.date
) -> Path:
    """Write a commented skeleton of a record and return its file. ``kind`` is one of KINDS.

    Raises Refused if the id is taken, the file exists or the disk doesn't take it.
    """
    ident, path = _new_file(project, standards, kind, name)
    with written_with(standards.writing):
        text = {"formula": _formula, "process": _process, "ingredient": _ingredient}[kind](
            standards, ident, quoted(name), as_of
        )
    return write_new(path, text)


def add_formula(
    project: Path, standards: Standards, name: str, as_of: datetime.date, parts: str
) -> Path:
    """Write a formula of the lines under ``parts``, what else it needs as a skeleton, and return
    its file. Raises Refused as :func:`add_record` does."""
    ident, path = _new_file(project, standards, "formula", name)
    with written_with(standards.writing):
        text = _formula(standards, ident, quoted(name), as_of, parts)
    return write_new(path, text)


def quoted(name: str) -> str:
    """A text as YAML takes it whatever is in it."""
    return '"' + name.replace("\\", "\\\\").replace('"', '\\"') + '"'


def _new_file(project: Path, standards: Standards, kind: str, name: str) -> tuple[str, Path]:
    """The id and the file of a record that isn't there yet. Raises Refused."""
    ident = identity(name)
    if (
        ident in standards.ingredients
        or ident in standards.formulas
        or ident in standards.processes
    ):
        raise Refused("id-taken", f"`{ident}` is there already.", "Choose another name.")
    folder = {"formula": "formulas", "process": "processes", "ingredient": "ingredients"}[kind]
    path = project / "standards" / folder / f"{ident}.yaml"
    if path.exists():
        raise Refused("id-taken", f"{path.name} is there already.", "Choose another name.")
    return ident, path


_FORMS = "meat and fish: intact, tenderised, injected, comminuted; liquid; dry"


def _formula(
    standards: Standards, ident: str, name: str, as_of: datetime.date, parts: str = ""
) -> str:
    station = next(iter(standards.stations), "your-station")
    head = (
        "# A formula. Replace every TODO. Delete what you don't need. `kitchen-manual check` "
        "reports the rest."
    )
    return f"""{head}
name: {name}
revision: 1
effective: {as_of.isoformat()}
# approved: Who approved it. Without this line the sheet is a draft.
station: {station}
# makes: {{fill_weight: 900 g, vessel: TODO, unit: dish, units: dishes, portion: 150 g}}
{_AS_IMPORTED + parts if parts else _parts()}
process: TODO                   # a process spec's id
# targets: {{bake: core 75 °C}}  # what the chef wants at a step
# keeps: {{cold: 4 days}}
# looks_right: What good looks like.
batches: [1 kg base]            # the first is the usual one
"""


_AS_IMPORTED = """# base: TODO                    # the part that is 100 %, if lines are percentages
parts:
"""


def _parts() -> str:
    return f"""base: main                      # the part that is 100 %
parts:
  main:
    TODO: 1 kg                  # an ingredient's or a made-ahead formula's id, and how much
  # seasoning:
  #   salt: {as_written("1.6 %")}               # percent of the base"""


def _process(standards: Standards, ident: str, name: str, as_of: datetime.date) -> str:
    head = (
        "# A process spec: the steps in doing order. "
        "Verbs: shared/verbs.yaml, or one of your own with `does`."
    )
    return f"""{head}
name: {name}
steps:
  - do: mix
    add: [main]                 # exactly one step adds each part
    # with: a machine's id
    # time: 4 min
    # until: How the cook sees that it is done.
    # how: [What to do, one sentence on each line.]
  # - do: bake
  #   at: 180 °C
  #   target: from the formula  # or: core 75 °C
  #   probe: The centre of the thickest piece.
  #   loses: 9 %
  # - do: chill
  #   in: a chiller's id
  #   target: to 4 °C
  - do: store
"""


def _ingredient(standards: Standards, ident: str, name: str, as_of: datetime.date) -> str:
    return f"""# An ingredient: facts only. A fact you leave out counts as the strictest.
{ident}:
  name: {name}
  species: TODO                 # the animal it comes from, or none
  state: TODO                   # raw, pasteurised or ready-to-eat
  # form: intact                # {_FORMS}
  allergens: TODO               # none, or a list: [milk, eggs]
  # arrives: cold               # how it comes in: cold, frozen, hot or ambient
  # commercially_packed: yes    # made and packed by a plant: then day 1 is the day it is opened
  # own_law: the law that sets the temperature it comes in at, as for milk and shellfish
  # tcs: no                     # only if it needs no time and temperature control
  # foodstuff: an entry of shared/foodstuffs.yaml that gives measured unit weights
  # weighs: {{each: 110 g, cup: 125 g}}
  # source: where the unit weights come from
  # trim: 6 %
"""

"""Random kitchens, and a model that knows no verbs: how warm the place is, and for how many
minutes.

The model is named each step only what a thermometer and a clock would say: ``room``, ``cold``,
``heat``, ``hot`` or ``chill``, minutes or none, and whether anybody is at work on the food. It
shares no code with the product.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import yaml
from honest_kitchens import FOLDER, HEAD, KITCHEN, LOADER, PANTRY, written

HOUR = 60
WORKING_RULE = 4 * HOUR
FIRST_STAGE, LAST_STAGE = 2 * HOUR, 6 * HOUR
HOT_NO_MORE = 2 * HOUR
"""Off the heat for so long, food isn't known to be hot: a working rule."""

WORK = (
    "mix",
    "knead",
    "whisk",
    "toss",
    "season",
    "fold",
    "whip",
    "cut",
    "portion",
    "label",
    "pack",
    "strain",
)
STAND = ("rest", "proof", "soak", "marinate", "set", "temper", "cool", "brine")
COOK = ("boil", "simmer", "poach", "steam", "bake", "roast", "fry", "braise", "grill")
OWN_WORK = (
    ("garnish", "handles"),
    ("crimp", "[fills, handles]"),
    ("dice", "cuts"),
    ("debone", "takes-off"),
)
OWN_STAND = (("put-aside", "none"), ("bench", "waits"), ("leave", "none"), ("bloom", "soaks"))
OWN_COOK = (("confit", "cooks"), ("scald", "[cooks, in-water]"))
OWN_CHILL = (("crash", "cools"), ("ice", "[cools, takes-off]"))


@dataclass
class Act:
    """One step as a clock and a thermometer see it."""

    place: str
    minutes: int | None
    works: bool = False
    serves: bool = False
    warmed_to_cold: bool = False
    yaml: dict[str, Any] = field(default_factory=dict)


@dataclass
class Kitchen:
    """A dish: its food, its acts, whether it starts in need of the cold; the first ``split`` acts
    are done in a formula made ahead."""

    item: str
    acts: list[Act]
    needs_cold: bool
    split: int = 0

    @property
    def ambient(self) -> bool:
        """Whether it is ready to eat and put together with food as warm as the room."""
        return self.item == "ham-in-oil"


FOODS = {
    "ham": ("ready", True),
    "ham-in-oil": ("ready", True),
    "milk": ("milk", True),
    "cream": ("milk", True),
    "pork-loin": ("raw", True),
    "beef-joint": ("raw", True),
    "rice": ("dry", False),
    "beans": ("dry", False),
}
_TIMES = (5, 10, 20, 30, 45, 60, 90, 110, 120, 130, 180, 230, 240, 250, 300, 480, 720)


def some_kitchen(rng: random.Random) -> Kitchen:
    """A dish whose only possible faults are of time and temperature."""
    item = rng.choice(list(FOODS))
    kind, needs = FOODS[item]
    acts: list[Act] = []
    raw, hot, cooked = kind in ("raw", "dry"), False, False
    for _ in range(rng.randint(1, 5)):
        roll = rng.random()
        if hot and roll < 0.30:
            acts.append(_chill(rng))
            hot = False
        elif hot and roll < 0.40:
            acts.append(_hold_hot(rng))
        elif roll < 0.30:
            acts.append(_heat(rng, kind, raw, cooked))
            raw, hot, cooked = False, True, True
        elif roll < 0.55:
            acts.append(_work(rng))
        elif roll < 0.85:
            acts.append(_stand(rng))
        else:
            acts.append(_in_the_cold(rng))
            hot = False
    if raw:
        acts.append(_heat(rng, kind, raw, cooked))
        hot = True
    if hot and rng.random() < 0.5:
        acts.append(_chill(rng))
        hot = False
    end = rng.random()
    if hot or end < 0.4:
        if end < 0.9:
            acts.append(Act("room", None, serves=True, yaml={"do": "serve"}))
    elif end < 0.8:
        acts.append(Act("cold", None, yaml={"do": "store", "in": "walk-in"}))
    if not acts:
        acts.append(_work(rng))
    return Kitchen(item, acts, needs, _split(rng, acts))


def _split(rng: random.Random, acts: list[Act]) -> int:
    """Where a formula made ahead ends: while the food isn't hot, or straight from the heat."""
    hot, places = False, []
    for number, act in enumerate(acts[:-1], 1):
        hot = act.place in ("heat", "hot") or (hot and act.place == "room")
        if not hot or act.place == "heat":
            places.append(number)
    return rng.choice(places) if places and rng.random() < 0.3 else 0


def _timed(rng: random.Random, step: dict[str, Any], never: float) -> int | None:
    if rng.random() < never:
        return None
    minutes = rng.choice(_TIMES)
    step["time"] = f"{minutes} min"
    return minutes


def _verb(
    rng: random.Random, known: tuple[str, ...], own: tuple[tuple[str, str], ...]
) -> dict[str, Any]:
    if rng.random() < 0.3:
        verb, does = rng.choice(own)
        return {"do": verb, "does": yaml.load(does, LOADER)}
    return {"do": rng.choice(known)}


def _work(rng: random.Random) -> Act:
    step = _verb(rng, WORK, OWN_WORK)
    return Act("room", _timed(rng, step, 0.5), works=True, yaml=step)


def _stand(rng: random.Random) -> Act:
    step = _verb(rng, STAND, OWN_STAND)
    minutes = _timed(rng, step, 0.08)
    if rng.random() < 0.2:
        step["at"] = "21 °C"
    return Act("room", minutes, yaml=step)


def _in_the_cold(rng: random.Random) -> Act:
    step = _verb(rng, (*STAND, "store"), OWN_STAND)
    stated = False
    way = rng.random()
    if way < 0.7:
        step["in"] = rng.choice(("walk-in", "blast"))
    else:
        step["at"] = "3 °C"
        stated = False
    if rng.random() < 0.2:
        step["target"] = "to 4 °C"
        stated = True
    return Act("cold", _timed(rng, step, 0.4), warmed_to_cold=stated, yaml=step)


def _heat(rng: random.Random, kind: str, raw: bool, cooked: bool) -> Act:
    if kind == "ready" or cooked or (kind == "milk" and not raw and cooked):
        step: dict[str, Any] = {
            "do": "reheat",
            "with": "pot",
            "target": "core 76 °C",
            "time": "30 min",
        }
    else:
        step = {
            **_verb(rng, COOK, OWN_COOK),
            "with": "oven",
            "at": "180 °C",
            "target": "core 76 °C",
        }
        if "in-water" in step.get("does", ()) or step["do"] in ("boil", "simmer", "poach", "steam"):
            step["at"] = "98 °C"
    return Act("heat", None, yaml=step)


def _hold_hot(rng: random.Random) -> Act:
    return Act(
        "hot",
        None,
        yaml={"do": "hold-hot", "target": "at 62 °C", "time": f"{rng.choice((30, 120))} min"},
    )


def _chill(rng: random.Random) -> Act:
    step = {**_verb(rng, ("chill",), OWN_CHILL), "in": "blast", "target": "to 4 °C"}
    return Act("chill", _timed(rng, step, 0.4), yaml=step)


# ---- the model


@dataclass(frozen=True)
class Fault:
    """What is wrong, and at which act."""

    kind: str
    at: int


CODES = {
    "too long": {"between-too-long"},
    "unknown": {"wait-unknown"},
    "chilled late": {"chill-begun-too-late", "chill-too-slow"},
    "never chilled": {"chill-missing"},
    "hot no more": {"reheat-missing"},
}
"""By which findings the product may report a fault."""
OF_TIME = frozenset().union(*CODES.values()) | {
    "display-uncontrolled",
    "time-control-time",
    "time-control-then-kept",
    "kept-by-change",
    "chill-time-unclear",
    "target-above-limit",
    "not-covered",
}


def faults_of(kitchen: Kitchen) -> tuple[list[Fault], list[int]]:
    """The faults of a dish, and the acts at which it is cooled: there has to be a limit there."""
    faults: list[Fault] = []
    cooled: list[int] = []
    needs = kitchen.needs_cold
    warm, hot, out, reported = False, False, 0, False
    ambient = kitchen.ambient
    if ambient:
        warm = True
    for number, act in enumerate(kitchen.acts):
        if act.place == "heat":
            needs, warm, hot, out, reported = True, False, True, 0, False
            ambient = False
            continue
        if not needs or act.serves:
            continue
        if act.place == "hot":
            if hot and out >= HOT_NO_MORE:
                faults.append(Fault("hot no more", number))
            hot, out, reported = True, 0, False
        elif act.place == "chill":
            if (
                (hot and not _in_time(out, act.minutes))
                or (hot and act.minutes is not None and out + act.minutes > LAST_STAGE)
                or (ambient and out >= WORKING_RULE)
                or (
                    not hot
                    and act.minutes is not None
                    and act.minutes + (out if ambient else 0) > 4 * HOUR
                )
            ):
                faults.append(Fault("chilled late", number))
            if hot or ambient:
                cooled.append(number)
            warm, hot, out, reported, ambient = False, False, 0, False, False
        elif act.place == "cold":
            later = _chilled_later(kitchen, number, only_chill=True)
            if hot and later:
                out += act.minutes or 0
                continue
            if hot:
                if not _in_time(out, None):
                    faults.append(Fault("chilled late", number))
                cooled.append(number)
                warm, hot, out, reported = False, False, 0, False
            elif ambient and later:
                out += act.minutes or 0
            elif ambient:
                if out >= WORKING_RULE:
                    faults.append(Fault("chilled late", number))
                cooled.append(number)
                warm, out, reported, ambient = False, 0, False, False
            elif not (warm and _a_moment(act, out)):
                warm, out, reported = False, 0, False
        elif act.minutes is None:
            warm = True
            if not act.works:
                faults.append(Fault("unknown", number))
        else:
            out, warm = out + act.minutes, True
            chilled = hot and _chilled_later(kitchen, number)
            if out > WORKING_RULE and not chilled and not reported:
                faults.append(Fault("too long", number))
                reported = True
    if hot and not kitchen.acts[-1].serves and kitchen.acts[-1].place != "hot":
        faults.append(Fault("never chilled", len(kitchen.acts) - 1))
    return faults, cooled


def _in_time(out: int, minutes: int | None) -> bool:
    """Whether hot food that stood for so long can be at 70 °F two hours after it was at 135 °F, in a
    chiller at 0 °C that takes so long to 4 °C: how warm it then is, if what is over 0 °C falls by
    the same share each minute. Where nobody says how long, half of the time has to be left."""
    left = FIRST_STAGE - out
    if left <= 0:
        return False
    if minutes is None:
        return 2 * out <= FIRST_STAGE
    start, stage, end = (135 - 32) / 1.8, (70 - 32) / 1.8, 4.0
    return not out or start * (end / start) ** (left / minutes) <= stage


def stands_again(kitchen: Kitchen) -> int | None:
    """The first act by whose end ready food has waited for more than the working rule in all, though
    each time for less, because heat came in between; None where that never happens. What
    is hot and is chilled is on its cooling clock."""
    ready = FOODS[kitchen.item][0] in ("ready", "milk")
    out = stood = 0
    hot, ambient = False, kitchen.ambient
    for number, act in enumerate(kitchen.acts):
        if act.place == "heat":
            stood, out, ready, hot = stood + (out if ready else 0), 0, True, True
            ambient = False
        elif act.place in ("hot", "chill"):
            out, hot, ambient = 0, act.place == "hot", False
        elif act.place == "cold" and (hot or ambient):
            later = _chilled_later(kitchen, number, only_chill=True)
            hot, ambient = hot and later, ambient and later
            out = out + (act.minutes or 0) if later else 0
        elif act.place == "cold":
            out = out if _a_moment(act, out) else 0
        elif not act.serves and act.minutes is not None:
            before, out = stood + out, out + act.minutes
            counts = stood and out <= WORKING_RULE and not (hot and _chilled_later(kitchen, number))
            if counts and before <= WORKING_RULE < stood + out:
                return number
    return None


def _a_moment(act: Act, out: int) -> bool:
    """Whether a stay in the cold makes nothing cold that was ``out`` for so many minutes: it is
    shorter, or says no time and isn't where food is put away."""
    if act.warmed_to_cold:
        return False
    if act.minutes is None:
        return out > 0 and act.yaml.get("do") != "store"
    return act.minutes < out


def _chilled_later(kitchen: Kitchen, number: int, only_chill: bool = False) -> bool:
    for act in kitchen.acts[number + 1 :]:
        if act.place == "chill" or (act.place == "cold" and not only_chill):
            return True
        if act.place in ("heat", "hot") or act.serves:
            return False
    return False


# ---- many at once


def lay_many(project: Path, kitchens: list[Kitchen]) -> dict[str, Kitchen]:
    """Write kitchens as formulas of one house; returns them by formula id."""
    used = {k.item for k in kitchens} - {"ham-in-oil"} | {"water", "ham", "oil"}
    files: dict[str, str] = {
        "kitchen.yaml": KITCHEN,
        "stations/bench.yaml": "name: Bench\n",
        "equipment/house.yaml": (FOLDER / "house.yaml").read_text(encoding="utf-8"),
    }
    pantry = written({i: PANTRY[i] for i in sorted(used)}, allow_unicode=True)
    files["ingredients/pantry.yaml"] = pantry.replace("'no'", "no").replace("'yes'", "yes")
    named: dict[str, Kitchen] = {}
    for number, kitchen in enumerate(kitchens):
        ident = f"dish-{number}"
        named[ident] = kitchen
        item = "ham" if kitchen.ambient else kitchen.item
        foods = {item: "10 kg"}
        if kitchen.ambient:
            foods["oil"] = "20 %"
        if FOODS[kitchen.item][0] == "dry":
            foods["water"] = "100 %"
        if kitchen.split:
            _write(
                files,
                f"base-{number}",
                f"base-{number}",
                foods,
                item,
                kitchen.acts[: kitchen.split],
            )
            foods, item = {f"base-{number}": "10 kg"}, f"base-{number}"
        _write(files, ident, f"work-{number}", foods, item, kitchen.acts[kitchen.split :])
    for name, text in files.items():
        path = project / "standards" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return named


def _write(
    files: dict[str, str],
    formula: str,
    process: str,
    foods: dict[str, str],
    base: str,
    acts: list[Act],
) -> None:
    """A formula and its process."""
    steps = [dict(act.yaml, id=f"s{n}") for n, act in enumerate(acts)]
    steps[0]["add"] = ["food"]
    head = (HEAD % formula).replace("process: work", f"process: {process}")
    body = {"parts": {"food": foods}, "base": [base]}
    files[f"formulas/{formula}.yaml"] = head + written(body, sort_keys=False)
    body = {"name": process, "steps": steps}
    files[f"processes/{process}.yaml"] = written(body, allow_unicode=True, sort_keys=False)

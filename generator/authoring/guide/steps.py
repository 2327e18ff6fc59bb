"""Made parts of the guide on steps: effects and verbs."""

from __future__ import annotations

from generator.authoring.guide.words import code
from generator.records.process import Effect
from generator.reference.library import Library

EFFECTS: dict[Effect, str] = {
    "handles": "Work on the food by hand, board or bowl. It may leave its `time` out, and then "
    "shows as not timed.",
    "soaks": "Lies in a liquid that goes into it. That time counts as waiting.",
    "brines": "The liquid has salt in it. That time counts as waiting.",
    "encloses": "Rolled, wrapped or folded round other food. Meat and fish count as stuffed "
    "unless the formula's `filling` says it is seasoning.",
    "joins": "One food put on or into another. Whole raw meat and fish with more than seasoning at "
    "it count as stuffed until the formula says `filling: nothing`.",
    "divides": "Divided, or turned out of its vessel. A run of heating ends here.",
    "heats": "Warmed, and not cooked by it. Moist plant food needs the cold afterwards; raw "
    "meat stays raw.",
    "in-water": "Cooked in water, which gets no hotter than it boils.",
    "boils": "In water at the boil. What only simmers or poaches may be cooler, and doesn't make "
    "kidney beans safe.",
    "bakes": "Baked through in an oven.",
    "waits": "Time passes and nothing is done to it. Food that needs the cold then says how long, "
    "or where.",
    "raises": "A dough rises. What is baked through afterwards isn't fermented to keep it. That "
    "time counts as waiting.",
    "ferments": "Left warm so that it sours or ripens. Food that needs the cold needs a "
    "variance for it.",
    "dries": "Loses water in the air, to keep it. Food that needs the cold needs a variance for "
    "it, unless it is kept cold while it dries.",
    "ages": "Ripens for days. At the limit for cold holding it is cold holding; warmer it "
    "needs a variance.",
    "sprouts": "Seeds or beans lie wet and warm until they sprout. It needs a variance, "
    "`for: sprout`. Soaked and left for 20 hours they are sprouts, whether or not a step says so.",
    "carries": "Carried to another place. The limit for holding it hot, or cold, is in force on "
    "the way; that time counts as waiting.",
    "displays": "Out for guests or for sale: held cold, hot, or by time.",
    "stores": "Put where it is kept. Hot food gets its cooling limit here if no other step "
    "cools it.",
    "packs": "Closed in its pack.",
    "labels": "Dated.",
    "serves": "Goes to the guest, and nothing of it is kept.",
    "cuts": "Cut in pieces. Cut leafy greens, tomato and melon need temperature control from "
    "here on.",
    "comminutes": "Ground, minced or chopped fine: no piece is whole any more. Raw meat and "
    "fish move to the higher limit.",
    "tenderises": "Pierced by a machine: no longer whole. Raw meat moves to the higher limit.",
    "injects": "Brine or marinade pumped in: no longer whole. Raw meat moves to the higher limit.",
    "pools": "Eggs broken together, never for one order. Raw eggs count so unless the formula "
    "is made `to_order`.",
    "stuffs": "One food inside another. Whatever is raw in it takes the highest limit.",
    "fills": "Divided into vessels or pieces. The first step that fills is where fills are "
    "weighed and counted.",
    "cooks": "Heated until it is safe. Raw animal food needs a core target here; afterwards it "
    "counts as cooked, hot and in need of temperature control.",
    "part-cooks": "Raw animal food heated in part, to be cooled at once and cooked through "
    "later. It stays raw; needs `time`, `procedure` and an approval on file.",
    "cools": "Brought to cold. Hot food gets the two-stage cooling limit, ready food made at "
    "room temperature four hours.",
    "slacks": "Frozen food let warm a little before it is cooked or fried. In a refrigerator "
    "it gets the limit of thawing there; anywhere else it stays frozen, and the step "
    "says `stays_frozen: yes`.",
    "holds-hot": "Kept hot for service. It gets the hot-holding limit.",
    "reheats": "Cooked and cooled food heated again for hot holding. It gets the reheating limit.",
    "freezes": "Frozen. The date mark pauses; at the end it is kept frozen, and no "
    "cold-holding figure applies.",
    "smokes": "Hung in smoke. For its flavour by `smoked_for: flavour` in the formula; else it "
    "counts as smoked to keep it, which needs a variance. A smoke that cooks the food "
    "says `does: cooks` as well and has a core target.",
    "thaws": "Thawed. It gets the thawing limit. Say how: `in` a refrigerator, `at` the "
    "temperature of running water for a `time`, or `using` a microwave oven. With "
    "`cooks`, cooked from frozen.",
    "acidifies": "Made sour enough to need no temperature control. Needs a variance and the pH "
    "stated under `acidified`.",
    "packs-without-air": "Packed without air. Refused without a plan on file and a criterion "
    "stated under `without_air`.",
    "slices": "Cut after it is ready. Ends are lost (`ends`); cautions on blades and hands.",
    "cleans": "Machine, tools or place are cleaned; nothing is done to the food.",
    "holds-by-time": "Held by time alone, then served or thrown away. It gets a limit of time; "
    "needs `time` and `procedure`.",
    "takes-off": "Bones, skin or rind leave. Say how much with `loses` or `leaves`.",
    "drains": "Liquid, fat or scum leaves; nothing is cut. Say how much with `loses` or `leaves`.",
}
"""What each effect means, in the order the guide lists them."""


def effects(library: Library) -> str:
    """Every effect, what it means, and the verbs that have it."""
    out: list[str] = []
    for effect, words in EFFECTS.items():
        verbs = [code(v) for v, verb in library.verbs.items() if effect in verb.does]
        out.append(f"- {code(effect)}: {words} Verbs: {', '.join(verbs)}.")
    return "\n".join(out)


def verbs(library: Library) -> str:
    """Every verb with its effects."""
    out: list[str] = []
    for ident, verb in library.verbs.items():
        does = f": {', '.join(verb.does)}" if verb.does else ""
        shown = verb.name if verb.name.lower() != ident.replace("-", " ") else ""
        out.append(f"- {code(ident)}{f' ({shown})' if shown else ''}{does}")
    return "\n".join(out)

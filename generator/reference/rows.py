"""Records of the reference data as the data has them, typed; the rows of a pack are
``reference.row_kinds``."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, PlainValidator

from generator.records.fields import (
    Duration,
    Id,
    IdList,
    PureNumber,
    WordList,
    Words,
    YesNo,
)
from generator.records.record import Record
from generator.reference.row_kinds import Row
from generator.reference.sources import MARKS as MARKS
from generator.reference.sources import READ_AS as READ_AS
from generator.reference.sources import ReadAs as ReadAs
from generator.reference.sources import named


class Group(Record):
    """A group of foods a cooking row speaks of.

    ``takes`` are the kinds of raw food that belong here (see ``rules.basics.grouping.kinds_of``).
    ``rows_of`` lends it the rows of other groups, the longer hold at each temperature;
    ``when_both`` puts a mixture of those groups here. ``note`` is on the limit.
    ``lethality`` names what the group's table gives where an authority offers several; one that a
    formula asks for replaces the groups it is ``instead_of``, ``only_if`` its food is so
    treated. ``asks_row`` is a row in words that belongs to every row of the group.
    """

    name: Words
    clause: Words
    covers: Words = ""
    ranked: YesNo = True
    takes: WordList = ()
    rows_of: IdList = ()
    when_both: IdList = ()
    lethality: Words = ""
    instead_of: IdList = ()
    only_if: tuple[Literal["cured", "smoked"], ...] = ()
    asks_row: Id | None = None
    note: Words = ""


class Definition(Record):
    """How the code classes a species."""

    group_as: Literal["meat", "poultry", "fish", "egg", "game", "ratite", "wild-game"]
    named: Words = ""
    clause: Words
    read_in: IdList


class NotCovered(Record):
    """What a pack holds no row for, and why."""

    what: Words
    why: Words


class PackFacts(Record):
    """pack.yaml: what the pack is and what it holds.

    ``shares`` names the topics or rows taken from other packs, where the same text is in both
    or this pack leaves the matter to the other. ``only_for`` names the operation that may choose
    it; any other needs a variance of the kind ``variance`` on file.
    """

    name: Words
    model: Id
    edition: Words
    document: Words
    publisher: Words = ""
    unit: Literal["°C", "°F"]
    issued: Words = ""
    issue_read_in: IdList = ()
    in_force_from: Words = ""
    source: Id
    checked_on: Words
    allergens: Id = "us"
    additives: Id | None = None
    only_for: Literal["inspected-establishment"] | None = None
    variance: Id | None = None
    superseded_by: Words = ""
    definitions_of: Id | None = None
    shares: dict[Id, IdList] = Field(default_factory=dict)
    complete: YesNo
    topics: IdList
    not_covered: tuple[NotCovered, ...] = ()
    note: Words = ""

    def same_model(self, other: PackFacts) -> bool:
        """Whether the two are editions of one document, so that a shared row needs no other
        name."""
        return self.model == other.model


class Topic(Record):
    """One topic file of a pack."""

    topic: Id
    groups: dict[Id, Group] = Field(default_factory=dict)
    definitions: dict[Id, Definition] = Field(default_factory=dict)
    rows: dict[Id, Annotated[Row, Field(discriminator="hazard")]]


class SourceRecord(Record):
    """One entry of sources.yaml. ``read_as`` says what the copy is that was read: what isn't stated
    counts as secondary."""

    title: Words
    publisher: Words = ""
    year: Words = ""
    url: Words = ""
    kind: Words = ""
    read_as: ReadAs = "secondary"
    read_on: Words = ""
    note: Words = ""

    @property
    def named(self) -> str:
        """Its title, marked where the copy is secondary or none was read."""
        return named(self.title, self.read_as)


class Verb(Record):
    """One verb of verbs.yaml. ``other_names`` are answered with it, and never taken for it;
    ``either`` are the verbs it may be meant for, each with what is done to the food then.

    ``says`` is the verb round its object, "Hold … hot"; ``joins`` how what is added goes with what
    is under way; ``called`` what that is called from then on.
    """

    name: Words
    does: WordList = ()
    done: Words = ""
    other_names: WordList = ()
    either: dict[Id, Words] = Field(default_factory=dict)
    says: Words = ""
    joins: Literal["with", "into", "in", "apart"] | None = None
    called: Words = ""


class WorkingRule(Record):
    """A figure of this manual's own where the law sets none: from when it is noted, the most, and
    why."""

    name: Words
    noted: Duration
    most: Duration
    why: Words


class UsualAmount(Record):
    """How much of a food is usually taken: at ``most`` so many percent of the flour, or of all that
    is weighed, by a source. It is known by words of its name."""

    name: Words
    known_by: WordList
    unless: WordList = ()
    of: Literal["flour", "all"]
    most: PureNumber
    source: Id


class NaturalPoison(Record):
    """A food with a poison of its own: the words it is known by, ``why`` it harms, what makes it
    safe: a step that cooks it through (``cooked``), boiling water or steam (``boiled_for``) that is
    ``drained``, a ``paper`` on where it comes from, or nothing. ``law`` is what a row of the pack
    ``applies`` to. ``severity`` is a warning where sources disagree; ``for_the_frail`` makes an
    error of it where a highly susceptible population is served; ``frail_only`` is asked there
    alone, and of what a plant packed ready to eat, too."""

    known_by: WordList
    also: WordList = ()
    unless: WordList = ()
    why: Words
    cooked: YesNo = False
    boiled_for: Duration | None = None
    drained: YesNo = False
    paper: YesNo = False
    severity: Literal["error", "warning"] = "error"
    for_the_frail: YesNo = False
    frail_only: YesNo = False
    law: Words = ""
    fix: Words
    source: Id


class Plant(Record):
    """A kind of plant food: the words it is known by where an ingredient doesn't state it.
    ``cut_by`` are effects of a step that cut it though they cut no other: a melon isn't portioned
    whole. Raw seeds ``become`` sprouts once they have been wet and warm for ``sprouts_after``. What
    ``soaks`` needs the cold once it was wet and warm for long and is eaten uncooked; the source of
    that is ``soaks_read_in``."""

    name: Words
    known_by: WordList
    unless: WordList = ()
    cut_by: WordList = ()
    sprouts_after: Duration | None = None
    becomes: Words = ""
    soaks: YesNo = False
    soaks_read_in: WordList = ()


class SaidEffect(Record):
    """An effect by the words that say it, and the effects that would do as well. Of one that
    ``binds`` the answer can't be left out."""

    words: WordList
    or_: WordList = Field((), alias="or")
    binds: YesNo = False


class HazardWords(Record):
    """The working words of one hazard: what may go wrong (``guards``), what is watched (``what``),
    and how, how often and by whom; what to do when a limit is missed, or an advised time of one
    that is (``action_advised``), ``if_missed_stage`` at a deadline before the last;
    verification; record. Figures are in braces (``rules.basics.missed``)."""

    name: Words
    guards: Words
    what: Words
    head: Words
    check: Words
    how_often: Words
    who: Words
    if_missed: Words
    if_missed_in_words: Words = ""
    if_missed_stage: Words = ""
    verify: Words
    record: Words
    action: Words
    action_advised: Words = ""
    longest_gap: Duration | None = None

    @property
    def headed(self) -> tuple[str, str]:
        """The head in its two halves: what is done, and what its box asks for, if it does:
        ("cook", "probe must read")."""
        done, _, asks = self.head.partition(": ")
        return done, asks


RawText = Annotated[
    str, PlainValidator(lambda value: str(value) if isinstance(value, str) else value)
]


class FindingWords(Record):
    """What a finding means, and an edit of a clean kitchen that raises it."""

    means: Words
    file: RawText = ""
    good: RawText = ""
    bad: RawText = ""
    source: Words = ""


class AllergenWord(Record):
    """One allergen on a list: its word, whether its kind must be named, the species that are one.

    ``kinds``: the kinds the list names, in small letters; empty: any. ``which``: how the kind is
    asked for. ``above``: the content from which the allergen is declared, for people.
    """

    name: Words
    kind_named: YesNo = False
    kinds: WordList = ()
    which: Words = ""
    example: Words = ""
    species: IdList = ()
    above: Words = ""
    clause: Words = ""


class AllergenList(Record):
    """A list of allergens in force somewhere.

    ``instead``: what an allergen of another list, with or without its kind, is called on this one.
    ``guidance``: the authority's word on how the list is applied; ``label_law``: the law of labels
    that goes with it, in ``labelling.yaml``.
    """

    name: Words
    none: Words
    source: Id
    guidance: Id | None = None
    label_law: Id = "us"
    words: dict[Id, AllergenWord]
    instead: dict[str, Words] = Field(default_factory=dict)

    def named(self) -> dict[str, AllergenWord]:
        """The list's allergens by the word a kitchen writes, in the order of the list."""
        return {word.name: word for word in self.words.values()}

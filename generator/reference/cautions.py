"""Cautions as data: a trigger, plain words, a severity, a source."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from generator.files.finding import Finding
from generator.intake.reading import EVERYTHING, Reader, top_of
from generator.records.effects import AtHand
from generator.records.fields import LISTED, Id, IdList, Length, WordList, Words, YesNo
from generator.records.process import Effect
from generator.records.record import Record

Severity = Literal["danger", "warning", "caution", "notice"]
RANK: tuple[Severity, ...] = ("danger", "warning", "caution", "notice")
"""The signal words of ANSI Z535.6 in their order of gravity."""

_ProductState = Literal[
    "raw",
    "ready-to-eat",
    "finished",
    "cooked",
    "hot",
    "tcs",
    "frozen",
    "comminuted",
    "raw-flour",
    "raw-juice",
    "raw-beans",
    "raw-soy",
    "raw-sprouts",
    "open",
]
_EndState = Literal["raw-animal", "ready-to-eat", "undercooked", "raw-milk"]


class When(Record):
    """A trigger: every key given must hold; a list means any of its words. What a step is called is
    no part of it.

    ``at_hand`` is what can hurt at the step, ``not_in`` the cold places where it doesn't hold;
    ``casing`` asks for a casing, or for no vessel named. ``finished`` food is not heated again,
    ``open`` food in no pack without air. ``end`` is of the finished food: ``raw-milk`` is in what
    is eaten as it is. ``named`` are words in the name of what is in it, ``called`` words in the
    formula's own names.
    """

    at_hand: Annotated[tuple[AtHand, ...], LISTED] = ()
    does: Annotated[tuple[Effect, ...], LISTED] = ()
    machine: IdList = ()
    in_: IdList = Field((), alias="in")
    not_in: IdList = ()
    raw: IdList = ()
    species: IdList = ()
    organ: IdList = ()
    state: Annotated[tuple[_ProductState, ...], LISTED] = ()
    function: IdList = ()
    deeper_than: Length | None = None
    casing: YesNo = False
    allergens: Literal["any"] | None = None
    shared_machine: YesNo = False
    end: Annotated[tuple[_EndState, ...], LISTED] = ()
    cured: YesNo | None = None
    scales: Literal["fine"] | None = None
    named: WordList = ()
    called: WordList = ()


class Caution(Record):
    """shared/cautions/<id>.yaml

    ``place`` says where it is whole: at its step, on the page, or before anything is weighed.
    ``each`` says that it is repeated, short, at every later step. ``against`` are words of a step
    that would contradict it. ``asked`` says that `check` warns as well: such food is not made.
    """

    name: Words
    severity: Severity
    words: Words
    stands: Literal["step", "page", "before"] = Field("step", alias="place")
    each: YesNo = False
    asked: YesNo = False
    against: WordList = ()
    when: When
    source: Id
    clause: Words = ""
    note: Words = ""


def read_cautions(reader: Reader) -> dict[str, Caution]:
    """Every caution under ``shared/cautions``; faults go to the reader's findings."""
    cautions: dict[str, Caution] = {}
    for path in reader.folder("cautions"):
        document = reader.document(path)
        tree = reader.take(document, EVERYTHING)
        if tree is None:
            continue
        start = top_of(tree, document.file)
        caution = reader.record(Caution, tree, start, EVERYTHING)
        if caution is None:
            continue
        if not caution.when.model_fields_set:
            reader.findings.append(
                Finding(
                    "caution-without-trigger",
                    "error",
                    f"{caution.name}: nothing raises it.",
                    start,
                    "Give at least one key under `when`.",
                    about=frozenset({EVERYTHING}),
                )
            )
        cautions[path.stem] = caution
    return cautions

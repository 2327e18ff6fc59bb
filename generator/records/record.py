"""The base of all records: unknown keys refused, values frozen, places kept."""

from __future__ import annotations

import typing
from typing import Any, ClassVar

from pydantic import BaseModel, ConfigDict, ModelWrapValidatorHandler, PrivateAttr, model_validator

from generator.files.finding import Place
from generator.files.source_text import Mapping, Sequence, Text, locate

NOWHERE = Place("?")


class Record(BaseModel):
    """A record read from YAML.

    ``short`` names the field a bare text fills, so that ``salt-fine: 1.7 %`` is a whole line;
    with ``short_list`` a bare list fills it as well.
    """

    model_config = ConfigDict(
        extra="forbid", frozen=True, arbitrary_types_allowed=True, defer_build=True
    )
    short: ClassVar[str] = ""
    short_list: ClassVar[bool] = False

    _at: Place = PrivateAttr(default_factory=lambda: NOWHERE)  # a default is copied deep, each time
    _typed: Mapping | None = PrivateAttr(default=None)

    @model_validator(mode="wrap")
    @classmethod
    def _keep_places(cls, data: Any, handler: ModelWrapValidatorHandler[Any]) -> Any:
        if cls.short and isinstance(data, (Text, Sequence) if cls.short_list else Text):
            whole = Mapping(data.place)
            whole[cls.short] = data
            data = whole
        record = handler(data)
        if isinstance(data, Mapping) and isinstance(record, Record):
            # put where they are kept: pydantic's own way there is felt, for each line of each file
            kept = record.__pydantic_private__
            assert kept is not None
            kept["_at"], kept["_typed"] = data.place, data
        return record

    def place(self, *keys: str | int) -> Place:
        """Where the value below ``keys`` is, as far as they exist; without any, the record."""
        typed, at = self._kept
        return locate(typed, keys, at, at)[1] if keys else at

    @property
    def _kept(self) -> tuple[Mapping | None, Place]:
        """What it was read from, and where: asked for so often that pydantic's look-up of a private
        attribute is felt."""
        kept: dict[str, Any] = self.__pydantic_private__ or {}
        return kept["_typed"], kept["_at"]

    def key_place(self, *keys: str | int) -> Place:
        """Where the last of ``keys`` is, as far as they exist; else the record itself."""
        typed, at = self._kept
        return locate(typed, keys, at, at)[2]

    def states(self, key: str) -> bool:
        """Whether ``key`` is written in the source, by its name there; False for what was filled in
        since."""
        return self._typed is not None and key in self._typed

    @property
    def as_typed(self) -> Mapping | None:
        """What it was read from; None of what was made since."""
        return self._typed

    def set_typed(self, typed: Mapping, place: Place) -> None:
        """Say what a record that is put together was read from, and where it is."""
        self._typed, self._at = typed, place

    def set_place(self, place: Place) -> None:
        """Say where the record is (its id, for one that is under its id)."""
        self._at = place


def field_of(model: type[Record], key: Any) -> Any:
    """The annotation of a record's field by its name in the source, or None."""
    for name, field in model.model_fields.items():
        if key in (field.alias, name):
            return field.annotation
    return None


def inner_record(annotation: Any) -> type[Record] | None:
    """The record class inside an annotation such as ``dict[str, Line] | None``."""
    if isinstance(annotation, type) and issubclass(annotation, Record):
        return annotation
    for argument in typing.get_args(annotation):
        found = inner_record(argument)
        if found:
            return found
    return None

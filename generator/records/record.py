"""The base of all records: unknown keys refused, values frozen, places kept."""

from __future__ import annotations

from typing import Any, ClassVar

from pydantic import BaseModel, ConfigDict, ModelWrapValidatorHandler, PrivateAttr, model_validator

from generator.finding import Place
from generator.source_text import Mapping, Text

NOWHERE = Place("?")


class Record(BaseModel):
    """A record read from YAML.

    ``short`` names the field a bare text fills, so that ``salt-fine: 1.7 %`` is a whole line.
    """

    model_config = ConfigDict(extra="forbid", frozen=True, arbitrary_types_allowed=True)
    short: ClassVar[str] = ""

    _at: Place = PrivateAttr(default=NOWHERE)
    _values_at: dict[str, Place] = PrivateAttr(default_factory=dict)
    _keys_at: dict[str, Place] = PrivateAttr(default_factory=dict)

    @model_validator(mode="wrap")
    @classmethod
    def _keep_places(cls, data: Any, handler: ModelWrapValidatorHandler[Any]) -> Any:
        if cls.short and isinstance(data, Text):
            whole = Mapping(data.place)
            whole[cls.short] = data
            data = whole
        record = handler(data)
        if isinstance(data, Mapping) and isinstance(record, Record):
            record._at = data.place
            record._keys_at = dict(data.keys_at)
            record._values_at = {
                key: value.place
                for key, value in data.items()
                if isinstance(getattr(value, "place", None), Place)
            }
        return record

    def place(self, key: str = "") -> Place:
        """Where the value of ``key`` stands, else the key, else the record itself."""
        return self._values_at.get(key) or self._keys_at.get(key) or self._at

    def key_place(self, key: str) -> Place:
        """Where the word ``key`` stands, else the record itself."""
        return self._keys_at.get(key) or self._at

    def set_place(self, place: Place) -> None:
        """Say where the record stands (its id, for one that stands under its id)."""
        self._at = place

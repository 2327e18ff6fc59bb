"""How a text is put into another language by a catalogue's messages: the rules of ``told.js`` once
more, for tests that look for a text without words. A change there is a change here.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from html import unescape

from generator.reference.catalogue import Catalogue

FIGURE = (
    r"(?:\d{1,2} (?:Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)\b(?: \d{4})?"
    r"|(?:[±−+]|(?<!\w)-)?\d+(?:[.,:/–-]\d+)*(?:\([A-Za-z0-9]{1,4}\))*(?: ?[½¼¾⅓⅔⅛⅜⅝⅞])?"
    r"|[½¼¾⅓⅔⅛⅜⅝⅞])"
)
"""A figure as pages write one: a number, a date, a fraction, the number of a clause."""
_FIGURE = re.compile(FIGURE)
_PLACE = re.compile(r"\{(\w*)\}")
_MONTH = re.compile(r"\b[A-Z][a-z]{2}\b")
_EDGE = re.compile(r"^([\s·.,;:()“”?!/→←–−×=+*-]*)(.*?)([\s·.,;:()“”?!/→←–−×=+*-]*)$", re.DOTALL)
_LETTER = re.compile(r"[^\W\d_]")
_SPACES = re.compile(r"\s+")
SEPARATORS = (r" · ", r"(?<=[.?!]) ", r"; ", r" - ", r": ", r" \(", r", ", r" and ", r" or ")
"""Where a text that is no message as a whole is parted, the coarsest first; both parts must then
be known."""
_SEPARATORS = tuple(map(re.compile, SEPARATORS))


def placed(text: str) -> str:
    """``text`` with a place for each figure: the key of a message."""
    return _FIGURE.sub("{}", text)


def _literal(message: str) -> str:
    return max(_PLACE.split(message)[::2], key=len)


@dataclass(frozen=True)
class Pattern:
    """A message with a place for a text: its expression, and its longest piece of plain words."""

    message: str
    expression: re.Pattern[str]
    names: tuple[str, ...]
    literal: str

    @classmethod
    def of(cls, message: str) -> Pattern:
        """The pattern of a message that has a place such as ``{x}``."""
        pieces = _PLACE.split(message)
        text = re.escape(pieces[0])
        for name, piece in zip(pieces[1::2], pieces[2::2], strict=True):
            text += (f"({FIGURE})" if name == "" else "(.+?)") + re.escape(piece)
        names = tuple(pieces[1::2])
        return cls(message, re.compile(f"^{text}$"), names, _literal(message))


def patterns_of(messages: Iterable[str]) -> tuple[Pattern, ...]:
    """The patterns among messages, those with the most words of their own first."""
    found = [Pattern.of(m) for m in messages if any(_PLACE.findall(m))]
    return tuple(sorted(found, key=lambda p: (-len(_PLACE.sub("", p.message)), p.message)))


@dataclass
class Translator:
    """Puts texts into another language. ``messages`` are the catalogue's, ``own`` the kitchen's
    words in small letters, with their translation where the kitchen gives one, else themselves;
    ``same`` are words and units written alike in both.

    ``used`` gathers the messages and the kitchen's words that were needed.
    """

    messages: Mapping[str, str]
    own: Mapping[str, str]
    joins: Mapping[str, str]
    same: frozenset[str]
    used: set[str] = field(default_factory=set)
    used_own: set[str] = field(default_factory=set)
    _known: dict[str, str | None] = field(default_factory=dict)
    _under_way: set[str] = field(default_factory=set)

    def __post_init__(self) -> None:
        self._patterns = patterns_of(self.messages)

    def __call__(self, text: str) -> str | None:
        """``text`` in the other language; None for one that isn't the frame's, nor wholly made of
        what is known."""
        plain = _SPACES.sub(" ", text).strip()
        if plain not in self._known:
            if plain in self._under_way:
                return None
            self._under_way.add(plain)
            self._known[plain] = self._found(plain)
            self._under_way.discard(plain)
        return self._known[plain]

    def _found(self, text: str) -> str | None:
        if self._is_neutral(text):
            return text
        for way in (self._translated, self._message, self._pattern, self._named, self._cased):
            if (found := way(text)) is not None:
                return found
        found = self._within(text)
        return self._parted(text) if found is None else found

    def _is_neutral(self, text: str) -> bool:
        """Whether there is nothing to translate: figures, signs, units."""
        words = re.split(r"[\s()/·,;:.×÷=%+\-–−±]+", _FIGURE.sub(" ", text))
        return all(w in self.same or not _LETTER.search(w) for w in words)

    def _translated(self, text: str) -> str | None:
        """The kitchen's own translation of it."""
        found = self.own.get(text.lower())
        if found is None or found.lower() == text.lower():
            return None
        self.used_own.add(text.lower())
        return found

    def _message(self, text: str) -> str | None:
        key = placed(text)
        found = self.messages.get(key)
        if found is None:
            return None
        self.used.add(key)
        return filled(found, _FIGURE.findall(text), {}, self.joins)

    def _pattern(self, text: str) -> str | None:
        for pattern in self._patterns:
            if pattern.literal not in text:
                continue
            match = pattern.expression.match(text)
            if match is None:
                continue
            pairs = list(zip(pattern.names, match.groups(), strict=True))
            inner = {name: self(value) for name, value in pairs if name}
            if None in inner.values():
                continue
            self.used.add(pattern.message)
            figures = [value for name, value in pairs if not name]
            texts = {name: str(value) for name, value in inner.items()}
            return filled(self.messages[pattern.message], figures, texts, self.joins)
        return None

    def _named(self, text: str) -> str | None:
        """A word of the kitchen's own, which stays as it is."""
        if text.lower() not in self.own:
            return None
        self.used_own.add(text.lower())
        return text

    def _cased(self, text: str) -> str | None:
        """The same message with a small or a large first letter."""
        first = text[0]
        other = (first.upper() if first.islower() else first.lower()) + text[1:]
        key = placed(other)
        if other == text or key not in self.messages:
            return None
        found = str(self._message(other))
        return (found[0].upper() if first.isupper() else found[0].lower()) + found[1:]

    def _within(self, text: str) -> str | None:
        """What stands between signs at both ends."""
        match = _EDGE.match(text)
        if match is None or not (match[1] or match[3]) or not match[2]:
            return None
        found = self(match[2])
        return None if found is None else f"{match[1]}{found}{match[3]}"

    def _parted(self, text: str) -> str | None:
        """Two texts with a sign or a word between them; a name may hold such a sign itself."""
        for separator in _SEPARATORS:
            for match in separator.finditer(text):
                before, after = text[: match.start()], text[match.end() :]
                if not before.strip() or not after.strip() or (first := self(before)) is None:
                    continue
                if (second := self(after)) is not None:
                    sign = match[0]
                    near = self.joins.get(f"{sign}{second[:1].lower()}")
                    return f"{first}{near or self.joins.get(sign, sign)}{second}"
        return None


def filled(
    message: str, figures: list[str], texts: Mapping[str, str], joins: Mapping[str, str]
) -> str:
    """A message with its figures, in their order or by their number, and its texts."""
    following = iter(figures)

    def value(match: re.Match[str]) -> str:
        name = match[1]
        if name in texts:
            return texts[name]
        figure = figures[int(name) - 1] if name else next(following)
        return _MONTH.sub(lambda m: joins.get(m[0], m[0]), figure)

    return _PLACE.sub(value, message)


_TEXT = re.compile(r">([^<]*[^\s<][^<]*)<")
_ATTRIBUTE = re.compile(
    r"""\s(?:aria-label|title|placeholder|alt|data-alt)=(?:"([^"]+)"|'([^']+)')"""
)
_LEFT_OUT = re.compile(r"<(script|style)\b.*?</\1>|<(code|td|span) data-kept>.*?</\2>", re.DOTALL)
_SVG = re.compile(r"<svg\b([^>]*)>.*?</svg>", re.DOTALL)  # of a drawing its name alone is read


def texts_of(html: str) -> Iterator[str]:
    """Every text of a page and every attribute that is read aloud, spaces made even."""
    plain = _LEFT_OUT.sub(" ", _SVG.sub(r"<svg\1></svg>", html))
    for match in (*_TEXT.finditer(plain), *_ATTRIBUTE.finditer(plain)):
        text = _SPACES.sub(" ", unescape(next(g for g in match.groups() if g))).strip()
        if text:
            yield text


def translator(found: Catalogue, own: Iterable[str]) -> Translator:
    """What puts texts into a language; ``own`` are the kitchen's words, which stay."""
    return Translator(found.all, {text.lower(): text for text in own}, found.joins, found.same)

"""A style sheet cut down to what the pages use.

The theme's sheet is written for every site; a phone on a weak signal waits for all of it before it
shows a word. A rule stays if each class and id its selector asks for is on some page; what
can't be read with certainty stays too.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from collections.abc import Set as AbstractSet
from functools import lru_cache, partial
from html import unescape
from sys import intern

from generator.pages.page import Body
from generator.sheet.keeping import Keeping

_NAME = re.compile(r"([.#])((?:[\w-]|\\.)+)")
_COMMENT = re.compile(r"/\*.*?\*/", re.DOTALL)
_VARIABLE = re.compile(r"--[\w-]+")
_USED = re.compile(r"var\(\s*(--[\w-]+)")
_VALUE = r"""=(?:"([^"]*)"|'([^']*)'|([^\s"'>]+))"""
# Each begins with plain letters, so that Python looks for those before it tries the rest; the
# sign before them is looked at behind that.
_ATTRIBUTES = tuple(re.compile(rf"{name}(?<!\w{name}){_VALUE}") for name in ("class", "id"))
_BETWEEN = re.compile(r"[\"';{]")  # signs that part rules; a sheet has 137,000, few of them these
_WITHIN = re.compile(r"[\"'{}]")
_NESTS = ("@media", "@supports", "@layer", "@container")


def names_in(bodies: Iterable[Body], keeping: Keeping | None = None) -> set[str]:
    """Every class and id in pieces of HTML, whatever signs of them are escaped; asked once of one
    that is remembered."""
    values: set[str] = set()
    keeping = keeping or Keeping()
    for body in bodies:
        values.update(keeping.tabled("names", body.digest, partial(_values_in, body)))
    return {name for value in values for name in unescape(value).split()}


def _values_in(body: Body) -> list[str]:
    """What the attributes that name classes and ids hold."""
    text = body.html
    found = (one for attribute in _ATTRIBUTES for one in attribute.findall(text))
    return sorted({intern(quoted or apart or bare) for quoted, apart, bare in found})


def trimmed(css: str, names: AbstractSet[str], also: str = "") -> str:
    """The sheet without rules for classes and ids outside ``names``, and without variables that
    neither it nor the sheet ``also`` reads."""
    rules = "".join(_kept(_COMMENT.sub("", css), names))
    while True:  # a variable may be read by another one alone
        used = set(_USED.findall(rules)) | set(_USED.findall(also))
        fewer = _without(rules, used)
        if fewer == rules:
            return rules
        rules = fewer


def _kept(css: str, names: AbstractSet[str]) -> Iterator[str]:
    for head, body in _blocks(css):
        if body is None:
            if head and not head.startswith("@charset"):
                yield f"{head};"
        elif head.startswith(_NESTS):
            inner = "".join(_kept(body, names))
            if inner:
                yield f"{head}{{{inner}}}"
        elif head.startswith("@"):
            yield f"{head}{{{body}}}"
        else:
            asked = [s for s in _parted(head, ",") if _asked(s) <= names]
            if asked and body.strip():
                yield f"{','.join(asked)}{{{body}}}"


def parted(css: str, elsewhere: AbstractSet[str]) -> tuple[str, str]:
    """The sheet in two, each in its order: the second has the rules that ask for a class or id of
    ``elsewhere``. A class that nothing names stays in the first: a script may put it together."""
    pairs = [_halves(head, body, elsewhere) for head, body in _blocks(css)]
    return "".join(kept for kept, _ in pairs), "".join(rest for _, rest in pairs)


def _halves(head: str, body: str | None, elsewhere: AbstractSet[str]) -> tuple[str, str]:
    """What of one rule, or of one group of rules, is in the first sheet and what in the second."""
    if body is None:
        return f"{head};", ""
    if head.startswith(_NESTS):
        kept, rest = parted(body, elsewhere)
        return f"{head}{{{kept}}}" if kept else "", f"{head}{{{rest}}}" if rest else ""
    if head.startswith("@"):
        return f"{head}{{{body}}}", ""
    away = [bool(_asked(s) & elsewhere) for s in _parted(head, ",")]
    groups = (_selected(head, away, False), _selected(head, away, True))
    first, second = (f"{group}{{{body}}}" if group else "" for group in groups)
    return first, second


def _selected(head: str, away: list[bool], wanted: bool) -> str:
    """Those selectors of a rule that go elsewhere, or those that don't."""
    pairs = zip(_parted(head, ","), away, strict=True)
    return ",".join(selector for selector, goes in pairs if goes is wanted)


@lru_cache(8192)
def _asked(selector: str) -> frozenset[str]:
    """The classes and ids a selector can't do without: those outside of :not() and :is()."""
    plain, depth = [], 0
    for sign in re.sub(r"\[[^\]]*\]", "", selector):
        depth += (sign == "(") - (sign == ")")
        if depth == 0:
            plain.append(sign)
    return frozenset(m[2].replace("\\", "") for m in _NAME.finditer("".join(plain)))


def _blocks(css: str) -> Iterator[tuple[str, str | None]]:
    """The rules one after another: what is before the brace, and in it; a statement has
    none."""
    at, start = 0, 0
    while match := _BETWEEN.search(css, at):
        at, sign = match.start(), match[0]
        if sign in "\"'":
            at = _closed(css, at)
        elif sign == ";":
            yield css[start:at].strip(), None
            start = at + 1
        else:
            end = _end(css, at)
            yield css[start:at].strip(), css[at + 1 : end]
            at, start = end, end + 1
        at += 1


def _end(css: str, at: int) -> int:
    """Where the brace that opens at ``at`` closes."""
    depth = 0
    while match := _WITHIN.search(css, at):
        at, sign = match.start(), match[0]
        if sign in "\"'":
            at = _closed(css, at)
        else:
            depth += (sign == "{") - (sign == "}")
            if depth == 0:
                return at
        at += 1
    raise ValueError("a style sheet that doesn't close its braces")


def _closed(css: str, at: int) -> int:
    """Where the quotation that opens at ``at`` closes."""
    end = at + 1
    while end < len(css) and css[end] != css[at]:
        end += 2 if css[end] == "\\" else 1
    return end


def _parted(text: str, sign: str) -> list[str]:
    """``text`` parted at ``sign`` outside of brackets and quotations."""
    parts, depth, start, at = [], 0, 0, 0
    while at < len(text):
        if text[at] in "\"'":
            at = _closed(text, at)
        elif text[at] in "([":
            depth += 1
        elif text[at] in ")]":
            depth -= 1
        elif text[at] == sign and depth == 0:
            parts.append(text[start:at])
            start = at + 1
        at += 1
    return [*parts, text[start:]]


def _without(css: str, used: set[str]) -> str:
    """The sheet without the variables nothing reads."""
    rules = []
    for head, body in _blocks(css):
        if body is None:
            rules.append(f"{head};")
            continue
        if head.startswith(_NESTS):
            kept = _without(body, used)
        elif head.startswith("@") or "--" not in body:
            rules.append(f"{head}{{{body}}}")
            continue
        else:
            kept = _without_variables(body, used)
        if kept:
            rules.append(f"{head}{{{kept}}}")
    return "".join(rules)


def _without_variables(body: str, used: set[str]) -> str:
    """A rule's lines but those of variables that are not ``used``."""
    lines = []
    for line in _parted(body, ";"):
        variable = _VARIABLE.match(line.strip())
        if line.strip() and (variable is None or variable[0] in used):
            lines.append(line)
    return ";".join(lines)

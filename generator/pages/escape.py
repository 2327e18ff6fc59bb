"""The one escaper: text from YAML stays text, in HTML, in Markdown and in any template.

Every ASCII sign that HTML, Markdown or a Markdown extension could act on becomes a numeric
reference, so that a browser shows exactly what the chef typed and no builder sees markup.
"""

from __future__ import annotations

import json
import re
from functools import lru_cache
from pathlib import Path
from typing import Any

import jinja2
from jinja2 import nodes
from jinja2.compiler import CodeGenerator, Frame
from markupsafe import Markup

from generator.measures.words import NARROW, true_minus

_ACTIVE = re.compile(r"[^\w .,;'%\u0080-\U0010ffff]|_", re.ASCII)
_SPACE = re.compile(r"\s*[\t\n\v\f\r\x1c-\x1f\x85\u2028\u2029]\s*")
# What no reader sees and some reader chokes on: controls (a YAML front matter may not hold them),
# marks that turn the writing direction of a whole line, halves of a character, non-characters.
_UNSEEN = re.compile(
    r"[\x00-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069\ufeff\ud800-\udfff\ufdd0-\ufdef]"
    r"|[\ufffe\uffff\U0001fffe\U0001ffff\U0010fffe\U0010ffff]"
)
_DEGREES = re.compile(r"(?<=\d) (?=°[CF]\b)")  # a figure and its scale never part at a line's end
# Filters that return markup escaped for HTML alone, or not at all.
_WEAKER = ("safe", "e", "escape", "forceescape", "tojson", "urlize", "xmlattr")
_TEMPLATES = Path(__file__).resolve().parent / "templates"


def escape(value: object) -> Markup:
    """``value`` as text that stays text, on one line, with a replacement sign for what can't
    be seen. Markup made by our own templates passes through."""
    return value if isinstance(value, Markup) else _escaped(str(value))


@lru_cache(8192)
def _escaped(plain: str) -> Markup:
    """The escaping itself; names, units and figures come up again on page after page."""
    text = _UNSEEN.sub("\N{REPLACEMENT CHARACTER}", _SPACE.sub(" ", plain))
    text = true_minus(_DEGREES.sub(NARROW, text))
    return Markup(_ACTIVE.sub(lambda m: f"&#{ord(m.group())};", text))


def as_data(value: object) -> Markup:
    """``value`` as JSON for an attribute in single quotes: a script reads it, nobody sees it, and
    no builder finds markup or a template's braces in it."""
    text = json.dumps(value, ensure_ascii=False, separators=(",", ":"))
    text = _UNSEEN.sub("\N{REPLACEMENT CHARACTER}", _SPACE.sub(" ", text))
    text = re.sub(r"[&<>']", lambda m: f"&#{ord(m.group())};", text)
    return Markup(re.sub(r"(?<=\{)[{%#]", lambda m: f"&#{ord(m.group())};", text))


class _Escaped(CodeGenerator):
    """Asks nothing more of what passed the escaper: Jinja's own would look over each value again,
    of which the demo's pages have 70,000."""

    def _output_child_pre(self, node: nodes.Expr, frame: Frame, finalize: Any) -> None:
        if finalize.src is None or frame.eval_ctx.volatile or not frame.eval_ctx.autoescape:
            super()._output_child_pre(node, frame, finalize)
        else:
            self.write(f"({finalize.src}")


class _Environment(jinja2.Environment):
    """Every expression of every template passes the escaper; nothing can forget it."""

    code_generator_class = _Escaped

    def __init__(self) -> None:
        super().__init__(
            loader=jinja2.FileSystemLoader(_TEMPLATES),
            autoescape=True,
            finalize=escape,
            undefined=jinja2.StrictUndefined,
            trim_blocks=True,
            lstrip_blocks=True,
            auto_reload=False,  # they are the program's own: none changes while it runs
        )
        for name in _WEAKER:
            del self.filters[name]


ENVIRONMENT = _Environment()


def render(template: str, **values: Any) -> str:
    """A template of ours with its values, as HTML without blank lines.

    A raw HTML block ends at a blank line in CommonMark, so there are none.
    """
    html = ENVIRONMENT.get_template(template).render(**values)
    return "\n".join(line.strip() for line in html.splitlines() if line.strip())

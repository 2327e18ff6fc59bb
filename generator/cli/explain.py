"""explain: what a finding means, from ``shared/findings.yaml`` alone."""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping

import click

from generator.cli.options import refuse
from generator.files.finding import BrokenData, Refused
from generator.files.source_text import read_file
from generator.reference.shared_data import installed

_FILE = "findings.yaml"


@click.command()
@click.argument("code")
def explain(code: str) -> None:
    """Explain a finding, with a bad and a good example."""
    known = known_findings()
    words = known.get(code)
    if words is None:
        near = difflib.get_close_matches(code, known, n=3)
        hint = f"Did you mean {' or '.join(near)}?" if near else f"Known: {', '.join(known)}."
        refuse(Refused("code-unknown", f"There is no finding {code}.", hint))
    click.echo(explanation(code, words))
    if re.search(r"[0-9]\.[0-9]", words.get("good", "") + words.get("bad", "")):
        click.echo("  Examples are written with a decimal point; see `decimal` in kitchen.yaml.")


def known_findings() -> Mapping[str, Mapping[str, str]]:
    """The words of every finding, as typed; what they must hold is asked when the whole reference
    data is read. Raises BrokenData."""
    document = read_file(installed() / _FILE, f"shared/{_FILE}")
    if document.tree is None or document.findings:
        raise BrokenData(document.findings)
    found: Mapping[str, Mapping[str, str]] = document.tree["findings"]
    return found


def explanation(code: str, words: Mapping[str, str]) -> str:
    """A finding's explanation as text. ``words`` are its entry of ``shared/findings.yaml``."""
    out = [code, f"  {words['means']}"]
    if words.get("file"):
        out.append(f"  In standards/{words['file']}")
        for title, text in (("Not", words.get("bad", "")), ("But", words.get("good", ""))):
            lines = text.rstrip("\n").split("\n") if text.strip() else ["(nothing)"]
            out.append(f"  {title}:")
            out.extend(f"      {line}" for line in lines)
    if words.get("source"):
        out.append(f"  Source: {words['source']}")
    return "\n".join(out)

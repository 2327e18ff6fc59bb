"""What the site's configuration has to say whatever ``mkdocs.yml`` says, and what its log is told."""

from __future__ import annotations

import logging
from typing import Any

from generator.finding import texts, total_words
from generator.framing import THEME
from generator.manual import Manual
from generator.pages import ASSETS

TAKEN = "the manual puts a page of its own there; rename yours."
"""What is told of a page written by hand at an address of ours."""


def settle(config: Any, log: logging.Logger) -> None:
    """Set it in a MkDocs configuration; what it said otherwise is told."""
    if not config.use_directory_urls:
        log.warning("mkdocs.yml: use_directory_urls: links need true; taken as true.")
        config.use_directory_urls = True
    if str(THEME) not in config.theme.dirs:
        config.theme.dirs.insert(0, str(THEME))
    for script in (f"assets/{name}" for name in ASSETS if name.endswith(".js")):
        if not any(str(known) == script for known in config.extra_javascript):
            config.extra_javascript.append(script)
    # Columns are aligned by an attribute: the policy refuses a style written into a page.
    config.mdx_configs.setdefault("tables", {})["use_align_attribute"] = True
    if (builders := config.plugins.get("material/search")) is not None:
        builders.config.enabled = False  # its index is large, and no misspelling finds anything


def report(manual: Manual, log: logging.Logger, *, strict: bool, serving: bool) -> str:
    """Findings to the log. Returns why a build has to stop before anything is written, if it has to:
    errors, no formula at all, and under ``strict`` warnings (which ``-q`` would hide from MkDocs' own count)."""
    told = [f for f in manual.findings if f.severity != "note"]
    if (manual.errors or manual.is_empty or (told and strict)) and not serving:
        for _, text in texts(manual.findings):
            log.error(text)
        return f"Nothing built: {total_words(manual.findings)}."
    for _, text in texts(told):
        log.log(logging.INFO if serving else logging.WARNING, text)
    return ""

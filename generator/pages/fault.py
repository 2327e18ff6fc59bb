"""The page shown while serving when the generator itself fails: a fault of ours, said as one."""

from __future__ import annotations

from generator.pages.finding import FindingView
from generator.pages.page import Page, make_page
from generator.views.uris import HOME


def fault_pages(error: Exception) -> list[Page]:
    """The home page in place of a manual that could not be made because of ``error``."""
    words = " ".join(str(error).split())[:300]
    name = type(error).__name__
    view = FindingView(
        f"{name}: {words}" if words else name,
        "This is a fault of the generator, not of your standards. The terminal shows more.",
        (),
        (),
        "Error",
        "the generator",
        name,
        "",
    )
    return [
        make_page(
            HOME,
            "Findings",
            "",
            "finding.html",
            file="",
            counted="the generator failed",
            status="Not computed",
            explain="Fix this first: no page can be made until then. Or undo the last edit.",
            findings=[view],
        )
    ]

"""What git answers about a project. Git is asked, and nothing of it is changed."""

from __future__ import annotations

import os
import subprocess
from pathlib import Path

from generator.files.finding import Refused, clipped


def git(project: Path, *words: str, given: str = "") -> bytes:
    """What git answers to ``words``, with ``given`` on its standard input. Raises Refused where git
    is missing or says no."""
    environment = {
        **os.environ,
        "GIT_OPTIONAL_LOCKS": "0",
        "LC_ALL": "C",
        "GIT_TERMINAL_PROMPT": "0",
    }
    try:
        done = subprocess.run(
            ["git", "-C", str(project), *words],
            input=given.encode(),
            capture_output=True,
            check=False,
            env=environment,
        )
    except OSError:
        raise Refused(
            "git-missing",
            "git isn't on this machine.",
            "Install it to compare with an earlier revision.",
        ) from None
    if done.returncode != 0:
        reason = done.stderr.decode("utf-8", "replace").strip().splitlines()
        raise Refused("git-failed", f"git says: {clipped(reason[-1]) if reason else 'no'}")
    return done.stdout

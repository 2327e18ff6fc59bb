"""Git's whole word about a project's standards, as one hash: while it is the same, whatever the
manual asks of git is answered the same."""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path

from generator.files.finding import Refused
from generator.files.git import git
from generator.files.kept import hash_of

_ASKED = (
    ("rev-parse", "HEAD", "--show-toplevel", "--git-common-dir", "--is-shallow-repository"),
    ("log", "-1", "--format=%cI", "HEAD", "--", "standards"),
    ("ls-files", "--eol", "--", "standards", "shared", "mkdocs.yml"),
    ("ls-files", "--others", "--exclude-standard", "--", "standards"),
    ("diff", "--name-only", "--no-renames", "HEAD", "--", "standards"),
    ("config", "--list", "-z"),
)


def git_word(project: Path, commits: Iterable[str] = ()) -> str:
    """The hash of what git says of a project now: its commit, which files differ from it, how their
    ends of lines are read, its settings; and which of some ``commits`` it has. Of a project that
    isn't in git it says so."""
    environment = (f"{k}={v}" for k, v in sorted(os.environ.items()) if k.startswith("GIT_"))
    said: list[str | bytes] = [*environment]
    for words in _ASKED:
        try:
            said.append(git(project, *words))
        except Refused as refused:
            said.append(f"{refused.code}: {refused.message}")
            break  # no git, no checkout or no commit yet
    named = sorted(set(commits))
    if named:
        try:
            asked = "".join(f"{commit}\n" for commit in named)
            said.append(git(project, "cat-file", "--batch-check", given=asked))
        except Refused as refused:
            said.append(refused.code)
    return hash_of(*said)

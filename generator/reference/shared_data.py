"""Where the reference data lies: the project's own ``shared/`` or the copy that is installed."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

_PACKAGE = Path(__file__).resolve().parents[1]


@lru_cache(maxsize=1)
def installed() -> Path:
    """The ``shared`` folder that comes with the package: inside it when installed as a wheel,
    beside it in a checkout. Raises FileNotFoundError if neither is there."""
    for folder in (_PACKAGE / "shared", _PACKAGE.parent / "shared"):
        if (folder / "units.yaml").is_file():
            return folder
    raise FileNotFoundError(
        "the reference data (shared/units.yaml) is missing from the installation"
    )


def folder_for(project: Path) -> Path:
    """The project's own ``shared/`` if it holds units and limits, else the installed copy."""
    own = project / "shared"
    if (own / "units.yaml").is_file() and (own / "limits").is_dir():
        return own.resolve() if own.is_symlink() else own  # read once under one name
    return installed()

"""Where the templates and the demo squad are, in a checkout and in an installed wheel."""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).parent.parent
_CHECKOUT = _PACKAGE.parent


def templates_dir() -> Path:
    """The templates: in the wheel beside the code, in a checkout beside the package."""
    installed = _PACKAGE / "_templates"
    return installed if installed.is_dir() else _CHECKOUT / "templates"


def demo_squad() -> Path | None:
    """The invented demo squad of a checkout; None when the program was installed."""
    folder = _CHECKOUT / "athletes"
    in_checkout = (_CHECKOUT / "pyproject.toml").is_file() and folder.is_dir()
    return folder if in_checkout else None

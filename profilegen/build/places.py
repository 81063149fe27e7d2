"""Where a checkout keeps what an installed wheel has not."""

from __future__ import annotations

from pathlib import Path

_CHECKOUT = Path(__file__).parent.parent.parent


def demo_squad() -> Path | None:
    """The invented demo squad of a checkout; None when the program was installed."""
    folder = _CHECKOUT / "athletes"
    in_checkout = (_CHECKOUT / "pyproject.toml").is_file() and folder.is_dir()
    return folder if in_checkout else None

"""What a page weighs, and whether it is valid: every page of the demo site."""

from __future__ import annotations

import gzip
from pathlib import Path

import html5lib

MOST_BYTES, MOST_PACKED = 95_000, 18_000
"""Of a report page without the library: raw, and as a server sends it (gzip, level 9)."""


MOST_PACKED_METHODS = 20_000
"""It is read once, and holds every number of the model with its source."""


def reports(site: Path) -> list[Path]:
    return sorted((site / "lifters").rglob("*.html"))


def test_every_page_of_every_report_is_light(demo_site: Path) -> None:
    """Also those of ten years of diary."""
    weights = {
        page.relative_to(demo_site).as_posix(): (len(raw), len(gzip.compress(raw, 9)))
        for page in reports(demo_site)
        if (raw := page.read_bytes())
    }
    assert len(weights) >= 15 * 5
    too_heavy = {
        name: weight
        for name, weight in weights.items()
        if weight[0] > MOST_BYTES or weight[1] > MOST_PACKED
    }
    assert too_heavy == {}


def test_the_squad_page_is_no_heavier_packed_and_the_methods_page_hardly(demo_site: Path) -> None:
    for name, most in (("index.html", MOST_PACKED), ("methods.html", MOST_PACKED_METHODS)):
        assert len(gzip.compress((demo_site / name).read_bytes(), 9)) <= most, name


def test_every_page_is_valid_html(demo_site: Path) -> None:
    """html5lib, which follows the WHATWG's algorithm, meets no parse error."""
    pages = [*demo_site.glob("*.html"), *reports(demo_site)]
    for page in pages:
        html5lib.HTMLParser(strict=True).parse(page.read_text(encoding="utf-8"))

"""How pages look, beside how they looked when somebody last agreed.

One picture for each kind of page: at a desk and on a phone in light colours, one in dark ones,
one on paper. Pictures are kept small: the first screens only, few colours. A difference is
measured after shrinking, so that edges of letters on another machine do not count; what moved,
vanished or changed its colour does. To accept a change, look at the picture that the failure
names, then run the command it names.
"""

from __future__ import annotations

import io
import os
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Browser

pytestmark = pytest.mark.browser

BASELINES = Path(__file__).parent / "baselines"
DESK, PHONE = (1280, 1400), (375, 1300)

PICTURES: dict[str, tuple[str, tuple[int, int], dict[str, Any]]] = {
    "report-desk": ("lifters/marit/index.html", DESK, {}),
    "report-phone": ("lifters/marit/index.html", PHONE, {}),
    "report-dark": ("lifters/marit/index.html", DESK, {"color_scheme": "dark"}),
    "report-paper": ("lifters/marit/index.html", (680, 1000), {"media": "print"}),
    "time-desk": ("lifters/marit/time.html", DESK, {}),
    "lifter-desk": ("lifters/kofi/lifter.html", DESK, {}),
    "lifter-phone": ("lifters/kofi/lifter.html", PHONE, {}),
    "squad-desk": ("index.html", DESK, {}),
    "squad-phone": ("index.html", PHONE, {}),
    "methods-desk": ("methods.html", DESK, {}),
    "methods-phone": ("methods.html", PHONE, {}),
}

CELL = 10
"""Pixels to a side of the squares whose mean colours are compared."""
FAR = 40
"""Levels of 255 by which a square's mean may differ before it counts as different."""
MOST_DIFFERENT = 0.04
"""Share of squares that may be different: text wraps a little otherwise with other fonts."""
ACCEPT = "ACCEPT=1 pytest tests/browser/test_baselines.py"


def picture(browser: Browser, site: Path, name: str) -> Image.Image:
    """A page as it looks now."""
    path, (width, height), options = PICTURES[name]
    context = browser.new_context(
        viewport={"width": width, "height": height}, reduced_motion="reduce"
    )
    page = context.new_page()
    page.emulate_media(**options)
    page.goto((site / path).as_uri())
    png = page.screenshot(animations="disabled", caret="hide")
    context.close()
    return Image.open(io.BytesIO(png)).convert("RGB")


def squares(image: Image.Image) -> np.ndarray[Any, np.dtype[np.float64]]:
    """Mean colours of squares: (rows, columns, 3)."""
    pixels = np.asarray(image, dtype=np.float64)
    rows, columns = pixels.shape[0] // CELL, pixels.shape[1] // CELL
    cut = pixels[: rows * CELL, : columns * CELL]
    return cut.reshape(rows, CELL, columns, CELL, 3).mean(axis=(1, 3))


def different(one: Image.Image, other: Image.Image) -> float:
    """The share of squares that differ; 1 when the sizes do."""
    if one.size != other.size:
        return 1.0
    return float((np.abs(squares(one) - squares(other)).max(axis=2) > FAR).mean())


@pytest.mark.parametrize("name", PICTURES)
def test_a_page_looks_as_it_was_accepted(
    chromium: Browser, demo_site: Path, tmp_path: Path, name: str
) -> None:
    now = picture(chromium, demo_site, name)
    file = BASELINES / f"{name}.png"
    if os.environ.get("ACCEPT"):
        BASELINES.mkdir(exist_ok=True)
        now.quantize(64, dither=Image.Dither.NONE).save(file, optimize=True)
    seen = tmp_path / file.name
    now.save(seen)
    accepted = Image.open(file).convert("RGB")
    share = different(accepted, now)
    assert share <= MOST_DIFFERENT, f"{share:.1%} differs; see {seen}; to accept: {ACCEPT}"


def test_a_page_that_lost_its_style_would_be_noticed(chromium: Browser, demo_site: Path) -> None:
    """The measure can fail: dark is not light, and a page pushed down by 60 px is another."""
    light, dark = (picture(chromium, demo_site, name) for name in ("report-desk", "report-dark"))
    assert different(light, dark) > 0.9
    pushed = Image.new("RGB", light.size, light.getpixel((2, 400)))
    pushed.paste(light, (0, 60))
    assert different(light, pushed) > MOST_DIFFERENT
    assert different(light, light.quantize(64, dither=Image.Dither.NONE).convert("RGB")) == 0


def test_the_pictures_stay_small() -> None:
    """A repository that is cloned often should not carry them for long."""
    sizes = {file.name: file.stat().st_size for file in BASELINES.glob("*.png")}
    assert {f"{name}.png" for name in PICTURES} == set(sizes)
    assert max(sizes.values()) < 120_000
    assert sum(sizes.values()) < 800_000

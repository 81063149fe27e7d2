"""Builds a little site again and again until killed; for the tests of the swap."""

from __future__ import annotations

import sys
from itertools import count
from pathlib import Path

from profilegen.build import swap
from profilegen.build.files import SiteWriter
from profilegen.build.manifest import MANIFEST_NAME, Manifest


def main(site: Path, way: str) -> None:
    if way == "two steps":
        swap._exchange = lambda one, other: False
    print("building", flush=True)
    for turn in count():
        with swap.open_workshop(site) as shop:
            writer = SiteWriter(shop.building)
            for page in range(5 + turn % 5):
                writer.write(f"lifters/{page}/index.html", f"turn {turn}".encode() * 1000)
            manifest = Manifest("0" * 64, "0" * 64, "0" * 64, "2026-10-12", files=writer.files)
            (shop.building / MANIFEST_NAME).write_bytes(manifest.to_bytes())
            swap.swap_in(shop)


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2])

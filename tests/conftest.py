"""What many tests need: the demo squad, its site, and a small squad that can be edited."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from tests.squads import DEMO, TODAY, SmallSquad, german_squad

# As the command line does, before NumPy is imported: one thread for the linear algebra.
for _name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")


@pytest.fixture
def squad(tmp_path: Path) -> SmallSquad:
    """Three lifters."""
    small = SmallSquad(tmp_path / "athletes")
    for lifter_id, snatch in (("ann", 78), ("bea", 84), ("cleo", 91)):
        small.add(lifter_id, snatch=snatch)
    return small


@pytest.fixture(scope="session")
def demo_site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo squad's site, built once."""
    from profilegen.build.site import build_site

    site = tmp_path_factory.mktemp("demo") / "site"
    build_site(DEMO, site, today=TODAY, jobs=1)
    return site


@pytest.fixture(scope="session")
def german_site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo squad's site in German, built once."""
    from profilegen.build.site import build_site

    folder = tmp_path_factory.mktemp("german")
    build_site(german_squad(folder / "athletes"), folder / "site", today=TODAY, jobs=1)
    return folder / "site"

"""The whole program, killed while it works: the site is whole, the next build mends all."""

from __future__ import annotations

import random
import signal
import subprocess
import sys
import time
from pathlib import Path

from profilegen.build.manifest import read_manifest, sha256
from profilegen.build.site import build_site
from tests.squads import TODAY, SmallSquad

KILLS = 6


def assert_whole(site: Path) -> None:
    manifest = read_manifest(site)
    assert manifest is not None
    for path, expected in manifest.files.items():
        assert sha256((site / path).read_bytes()) == expected, path


def test_the_command_killed_at_any_moment_leaves_a_whole_site(
    squad: SmallSquad, tmp_path: Path
) -> None:
    """SIGKILL at fixed-seed moments from start to after the swap; see also test_swap.py."""
    moments = random.Random(20261116)
    site = tmp_path / "site"
    command = [sys.executable, "-m", "profilegen", "build", str(squad.folder), "--out", str(site)]
    started = time.monotonic()
    subprocess.run(command, check=True, capture_output=True)
    whole_run = time.monotonic() - started
    for turn in range(KILLS):
        for lifter in ("ann", "bea", "cleo"):
            squad.add(lifter, snatch=80 + turn)
        with subprocess.Popen(
            command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        ) as process:
            time.sleep(moments.uniform(0.5, 1.05) * whole_run)
            process.send_signal(signal.SIGKILL)
        assert_whole(site)
    build_site(squad.folder, site, today=TODAY)
    build_site(squad.folder, tmp_path / "fresh", today=TODAY)
    assert_whole(site)
    after, fresh = read_manifest(site), read_manifest(tmp_path / "fresh")
    assert after == fresh
    assert not (tmp_path / ".site.profilegen" / "building").exists()

"""Five hundred builds killed at random moments: the site is whole every time.

    python -m tests.bench.kills [--kills 500] [--seed 1]

Kills the whole command (SIGKILL) between its start and some time after its end, with an edit
before each; reads every file of the site against its own manifest after each; at the end a
build must mend all and be the same bytes as a fresh one. Exit code 1 when it is not so.
"""

from __future__ import annotations

import argparse
import random
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from profilegen.build.manifest import read_manifest, sha256
from tests.squads import SmallSquad


def broken(site: Path) -> list[str]:
    """Files that are not what the site's own manifest says."""
    manifest = read_manifest(site)
    if manifest is None or not manifest.files:
        return ["the manifest"]
    return [
        path
        for path, expected in manifest.files.items()
        if not (site / path).is_file() or sha256((site / path).read_bytes()) != expected
    ]


def main() -> int:
    """Print how many were whole."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--kills", type=int, default=500)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    chance, failures, ended = random.Random(given.seed), [], 0
    with tempfile.TemporaryDirectory() as folder:
        squad, site = SmallSquad(Path(folder) / "athletes"), Path(folder) / "site"
        for lifter in ("ann", "bea", "cleo"):
            squad.add(lifter)
        command = [sys.executable, "-m", "profilegen", "build", str(squad.folder), "--out"]
        whole = 60.0
        for snatch in (70, 71, 72):  # the quickest of three: the machine may have been busy
            squad.add("ann", snatch=snatch)
            start = time.monotonic()
            subprocess.run([*command, str(site)], check=True, capture_output=True)
            whole = min(whole, time.monotonic() - start)
        for turn in range(given.kills):
            squad.add(chance.choice(("ann", "bea", "cleo")), snatch=70 + turn % 40)
            with subprocess.Popen(
                [*command, str(site)], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
            ) as process:
                time.sleep(chance.uniform(0.4, 1.1) * whole)
                ended += process.poll() is not None
                process.send_signal(signal.SIGKILL)
            failures += [f"after kill {turn}: {path}" for path in broken(site)]
        subprocess.run([*command, str(site)], check=True, capture_output=True)
        fresh = Path(folder) / "fresh"
        subprocess.run([*command, str(fresh)], check=True, capture_output=True)
        if read_manifest(site) != read_manifest(fresh) or broken(site):
            failures.append("the last build is not a fresh one's")
    print(f"{given.kills} kills ({ended} came after the end), {len(failures)} broken")
    print("\n".join(failures))
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())

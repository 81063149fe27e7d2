"""A build on a Dask cluster: the same bytes, also when a worker is killed at work."""

from __future__ import annotations

import os
import signal
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from distributed import Client, LocalCluster
from typer.testing import CliRunner

from profilegen import cli
from profilegen.build import cluster
from profilegen.build.cluster import cluster_executor
from profilegen.build.jobs import BATCH
from profilegen.build.site import build_site
from profilegen.errors import OutputError
from tests.squads import TODAY, SmallSquad
from tests.test_build import contents

# Sockets of a cluster that is being taken down; nothing of ours.
pytestmark = pytest.mark.filterwarnings("ignore")


@pytest.fixture(scope="module")
def running() -> Iterator[Any]:
    """A cluster of two workers on this machine, each watched by a nanny that replaces it."""
    with LocalCluster(
        n_workers=2, threads_per_worker=1, dashboard_address=None, silence_logs=50
    ) as one:
        yield one


@pytest.fixture
def larger(squad: SmallSquad) -> SmallSquad:
    """Enough lifters for every worker to have several batches."""
    for number in range(4 * BATCH):
        squad.add(f"lifter-{number}", snatch=70 + number % 40)
    return squad


def test_a_killed_worker_costs_time_and_not_a_byte(
    larger: SmallSquad, tmp_path: Path, running: Any
) -> None:
    """SIGKILL to a worker that is at work on lifters, in the middle of the build."""
    build_site(larger.folder, tmp_path / "here", today=TODAY, jobs=1)
    killed: list[int] = []

    with Client(running.scheduler_address, set_as_default=False) as watcher:
        pids = watcher.run(os.getpid)

        def kill_one(done: int, total: int) -> None:
            busy = [address for address, tasks in watcher.processing().items() if tasks]
            if not killed and 0 < done < total and busy:
                killed.append(pids[busy[0]])
                os.kill(killed[0], signal.SIGKILL)

        with cluster_executor(running.scheduler_address) as executor:
            result = build_site(
                larger.folder,
                tmp_path / "there",
                today=TODAY,
                executor=executor,
                jobs=executor.workers,
                progress=kill_one,
            )
        watcher.wait_for_workers(2, timeout=30)
        assert len(killed) == 1
        assert killed[0] not in watcher.run(os.getpid).values()
    assert result.computed == 4 * BATCH + 3
    assert contents(tmp_path / "there") == contents(tmp_path / "here")


def test_mistakes_found_on_the_cluster_are_told_as_always(
    larger: SmallSquad, tmp_path: Path, running: Any
) -> None:
    (larger.folder / "ann.yaml").write_text("name: Ann\nsex: X\nborn: 2000-05-17\n")
    (larger.folder / "bea.yaml").write_text("name: Bea\nsex: F\nborn: never\n")
    site = tmp_path / "site"
    arguments = ["build", str(larger.folder), "--out", str(site)]
    here = CliRunner().invoke(cli.app, arguments)
    there = CliRunner().invoke(cli.app, [*arguments, "--cluster", running.scheduler_address])
    assert (there.exit_code, there.stderr) == (here.exit_code, here.stderr)
    assert here.exit_code == 2
    assert not site.exists()


def test_the_command_starts_a_cluster_of_its_own(squad: SmallSquad, tmp_path: Path) -> None:
    """`--cluster local`: nothing to set up, the same bytes."""
    arguments = ["build", str(squad.folder), "--on", "2026-10-12", "--out"]
    here = CliRunner().invoke(cli.app, [*arguments, str(tmp_path / "here")])
    there = CliRunner().invoke(
        cli.app, [*arguments, str(tmp_path / "there"), "--cluster", "local", "--jobs", "1"]
    )
    assert (here.exit_code, there.exit_code) == (0, 0), there.stderr
    assert contents(tmp_path / "there") == contents(tmp_path / "here")


def test_a_worker_that_is_another_program_is_refused(
    squad: SmallSquad, tmp_path: Path, running: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Pages of two versions on one site would contradict each other."""
    monkeypatch.setattr(cluster, "same_program", lambda: "of another day")
    with (
        pytest.raises(OutputError, match="another version"),
        cluster_executor(running.scheduler_address) as executor,
    ):
        build_site(squad.folder, tmp_path / "site", today=TODAY, executor=executor)
    assert not (tmp_path / "site").exists()


def test_nobody_at_the_address(
    squad: SmallSquad, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(cluster, "PATIENCE_S", 1)
    for address in ("tcp://127.0.0.1:9", "nonsense://"):
        result = CliRunner().invoke(
            cli.app,
            ["build", str(squad.folder), "--out", str(tmp_path / "site"), "--cluster", address],
        )
        assert result.exit_code == 2
        assert result.stderr.startswith(f"--cluster {address}: cannot work with it")
        assert not (tmp_path / "site").exists()


def test_without_the_extra_it_says_what_to_install(
    squad: SmallSquad, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    result = CliRunner().invoke(
        cli.app,
        ["build", str(squad.folder), "--out", str(tmp_path / "site"), "--cluster", "local"],
    )
    assert result.exit_code == 2
    assert "pip install 'profilegen[cluster]'" in result.stderr

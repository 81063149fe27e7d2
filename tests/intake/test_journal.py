"""Several files are replaced all or none, however the program ends."""

from __future__ import annotations

import json
import os
import random
import signal
import stat
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from profilegen.errors import OutputError
from profilegen.intake import journal
from profilegen.intake.journal import JOURNAL, Replacement, recover, replace_all
from tests.intake.endless_replacing import FILES, content

KILLS = 20


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for number in range(FILES):
        (tmp_path / f"{number}.yaml").write_bytes(content(0, number))
    return tmp_path


def changes(turn: int) -> list[Replacement]:
    return [Replacement(f"{n}.yaml", content(turn, n), content(turn + 1, n)) for n in range(FILES)]


def turn_of(folder: Path) -> int:
    """The one turn that all files are of."""
    turns = {(folder / f"{n}.yaml").read_bytes().split(b"\n")[0] for n in range(FILES)}
    assert len(turns) == 1
    turn = int(turns.pop().split()[1])
    assert all((folder / f"{n}.yaml").read_bytes() == content(turn, n) for n in range(FILES))
    return turn


def names(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()}


def test_all_files_are_replaced_and_nothing_is_left(folder: Path) -> None:
    before = names(folder)
    replace_all(folder, changes(0))
    assert turn_of(folder) == 1
    assert names(folder) == before


def test_a_new_file_may_be_among_them(folder: Path) -> None:
    replace_all(folder, [*changes(0), Replacement(".intake.yaml", None, b"headings: {}\n")])
    assert turn_of(folder) == 1
    assert (folder / ".intake.yaml").read_bytes() == b"headings: {}\n"


def test_permissions_stay(folder: Path) -> None:
    (folder / "0.yaml").chmod(0o640)
    replace_all(folder, changes(0))
    assert stat.S_IMODE((folder / "0.yaml").stat().st_mode) == 0o640


def test_a_file_that_changed_since_it_was_read_stops_all(folder: Path) -> None:
    (folder / "2.yaml").write_text("typed in the meantime\n")
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    with pytest.raises(OutputError, match=r"2\.yaml was edited in the meantime"):
        replace_all(folder, changes(0))
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before


def test_a_link_is_not_replaced(folder: Path) -> None:
    (folder / "2.yaml").rename(folder / "elsewhere")
    (folder / "2.yaml").symlink_to("elsewhere")
    with pytest.raises(OutputError, match=r"2\.yaml is a link"):
        replace_all(folder, changes(0))
    assert (folder / "2.yaml").is_symlink()


def test_a_full_disk_leaves_all_as_it_was(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    written: list[Path] = []
    real = journal._write

    def full(path: Path, text: bytes, like: Path | None = None) -> None:
        written.append(path)
        if len(written) == 4:
            raise OSError(28, "No space left on device", str(path))
        real(path, text, like)

    monkeypatch.setattr(journal, "_write", full)
    with pytest.raises(OutputError, match="No space left on device"):
        replace_all(folder, changes(0))
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before


# --- killed ----------------------------------------------------------------------------


STEPS = ((Path, "replace"), (Path, "unlink"), (Path, "open"), (os, "fsync"), (Path, "chmod"))
"""What touches the disk in a replacement: before any of these a kill may come."""


class KilledError(BaseException):
    """Stands for a kill: nothing catches it."""


@pytest.mark.parametrize("moment", range(45))
def test_stopped_at_every_step_all_are_old_or_all_new(
    moment: int, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each call that touches the disk in turn is the last one before the end."""
    left = [moment]

    def counted(real: Any) -> Any:
        def step(*args: Any, **kwargs: Any) -> Any:
            if left[0] == 0:
                raise KilledError
            left[0] -= 1
            return real(*args, **kwargs)

        return step

    with monkeypatch.context() as patch:
        for owner, name in STEPS:
            patch.setattr(owner, name, counted(getattr(owner, name)))
        try:
            replace_all(folder, changes(0))
            ended = True
        except KilledError:
            ended = False
    planned = (folder / JOURNAL).exists()
    assert recover(folder) == ()
    assert turn_of(folder) == 1 or not (ended or planned)
    assert ended or moment < 44  # the moments cover every step
    assert not (folder / JOURNAL).exists()
    replace_all(folder, changes(turn_of(folder)))
    assert names(folder) == {f"{number}.yaml" for number in range(FILES)}


def test_killed_at_random_moments_all_are_old_or_all_new(folder: Path) -> None:
    rng = random.Random(20261125)
    turns = [0]
    for _ in range(KILLS):
        process = subprocess.Popen(
            [sys.executable, "-m", "tests.intake.endless_replacing", str(folder)],
            stdout=subprocess.PIPE,
            cwd=Path(__file__).parents[2],
        )
        assert process.stdout is not None
        assert process.stdout.readline() == b"replacing\n"
        time.sleep(rng.uniform(0, 0.25))
        process.send_signal(signal.SIGKILL)
        process.communicate()
        assert recover(folder) == ()
        turns.append(turn_of(folder))
    assert turns == sorted(turns)
    assert turns[-1] >= 5


def test_killed_while_mending_it_is_mended_the_next_time(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    interrupt(folder, monkeypatch, after=1)
    interrupt_recovery(folder, monkeypatch, after=1)
    assert recover(folder) == ()
    assert turn_of(folder) == 1


def test_what_a_coach_typed_after_the_kill_stays(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """That file is told of, so that the intake is run once more; the others are finished."""
    interrupt(folder, monkeypatch, after=1)
    (folder / "2.yaml").write_text("typed after the kill\n")
    assert recover(folder) == ("2.yaml",)
    assert (folder / "2.yaml").read_text() == "typed after the kill\n"
    assert all((folder / f"{n}.yaml").read_bytes() == content(1, n) for n in range(2))
    assert names(folder) == {f"{number}.yaml" for number in range(FILES)}


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{}",
        "[]",
        '{"files": [{"name": "../x", "old": "absent", "new": "absent"}]}',
        '{"files": [{"name": "..", "old": "absent", "new": "absent"}]}',
        '{"files": [{"name": "x", "old": 5, "new": "absent"}]}',
        json.dumps({"files": [{"name": "x", "old": "0" * 63, "new": "absent"}]}),
    ],
)
def test_a_journal_of_something_else_is_not_followed(text: str, folder: Path) -> None:
    (folder / JOURNAL).write_text(text)
    with pytest.raises(OutputError, match="is not what intake writes"):
        recover(folder)
    assert turn_of(folder) == 0


def interrupt(folder: Path, monkeypatch: pytest.MonkeyPatch, *, after: int) -> None:
    """A replacement that ends after so many renames of athlete files."""
    with monkeypatch.context() as patch:
        _end_after(patch, after + 1)  # one more for the journal
        with pytest.raises(KilledError):
            replace_all(folder, changes(0))


def interrupt_recovery(folder: Path, monkeypatch: pytest.MonkeyPatch, *, after: int) -> None:
    with monkeypatch.context() as patch:
        _end_after(patch, after)
        with pytest.raises(KilledError):
            recover(folder)


def _end_after(patch: pytest.MonkeyPatch, renames: int) -> None:
    real, left = Path.replace, [renames]

    def replace(self: Path, target: Path) -> Path:
        if left[0] == 0:
            raise KilledError
        left[0] -= 1
        return real(self, target)

    patch.setattr(Path, "replace", replace)

"""A coach's machine: the program works from a wheel, outside the source folder."""

from __future__ import annotations

import os
import subprocess
import sys
import venv
import zipfile
from pathlib import Path

import pytest

from tests.squads import SmallSquad

CHECKOUT = Path(__file__).parents[1]


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel, built as pip builds it; the build backend is already at hand."""
    folder = tmp_path_factory.mktemp("wheel")
    pip = [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "--no-build-isolation"]
    subprocess.run([*pip, "--wheel-dir", str(folder), str(CHECKOUT)], check=True)
    (file,) = folder.glob("*.whl")
    return file


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The scripts folder of an environment that holds the wheel and nothing of the checkout.

    The libraries come from the running environment, so that nothing has to be fetched; the
    checkout itself, which an editable install puts on the path there, is left out.
    """
    environment = tmp_path_factory.mktemp("installed")
    venv.create(environment, with_pip=False, symlinks=True)
    scripts = environment / "bin"
    pip = [sys.executable, "-m", "pip", f"--python={scripts / 'python'}", "install", "--quiet"]
    subprocess.run([*pip, "--no-deps", "--no-index", str(wheel)], check=True)
    (site_packages,) = environment.glob("lib/python*/site-packages")
    libraries = [path for path in sys.path if path.endswith("site-packages")]
    (site_packages / "libraries.pth").write_text("\n".join(libraries) + "\n")
    return scripts


def run(*command: str | Path, here: Path) -> subprocess.CompletedProcess[str]:
    environment = {key: value for key, value in os.environ.items() if key != "PYTHONPATH"}
    return subprocess.run(
        [str(part) for part in command], cwd=here, capture_output=True, text=True, env=environment
    )


def test_the_wheel_carries_everything_and_nothing_else(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as archive:
        files = {name for name in archive.namelist() if ".dist-info/" not in name}
    ours = {
        path.relative_to(CHECKOUT).as_posix()
        for path in (CHECKOUT / "profilegen").rglob("*")
        if path.is_file() and path.suffix != ".pyc"
    }
    templates = {
        "profilegen/_" + path.relative_to(CHECKOUT).as_posix()
        for path in (CHECKOUT / "templates").rglob("*")
        if path.is_file()
    }
    assert files == ours | templates


def test_the_command_builds_a_site(installed: Path, squad: SmallSquad, tmp_path: Path) -> None:
    done = run(installed / "profilegen", "build", here=tmp_path)
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("3 profiles in site (")
    assert (tmp_path / "site" / "lifters" / "ann" / "index.html").is_file()


def test_the_module_is_the_same_program_with_the_same_answer(
    installed: Path, squad: SmallSquad, tmp_path: Path
) -> None:
    """Two processes from the wheel write what one process from the checkout writes."""
    python, options = installed / "python", ("build", squad.folder, "--jobs", "2", "--out")
    done = run(python, "-m", "profilegen", *options, tmp_path / "wheel", here=tmp_path)
    assert done.returncode == 0, done.stderr
    run(sys.executable, "-m", "profilegen", *options, tmp_path / "checkout", here=CHECKOUT)
    for page in ("index.html", "methods.html", "lifters/ann/profile.json", ".profilegen.json"):
        wheel_page = (tmp_path / "wheel" / page).read_bytes()
        assert wheel_page == (tmp_path / "checkout" / page).read_bytes()


def test_without_a_squad_it_says_what_to_do(installed: Path, tmp_path: Path) -> None:
    """The demo squad stays in the checkout."""
    done = run(installed / "profilegen", "build", here=tmp_path)
    assert done.returncode == 2
    assert "name the folder that holds the athlete files" in done.stderr
    assert list(tmp_path.iterdir()) == []

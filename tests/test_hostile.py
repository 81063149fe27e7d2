"""Hostile folders, disks and names, through the command itself: a plain answer, nothing lost."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from profilegen import cli
from profilegen.build.swap import open_workshop
from tests.squads import SmallSquad
from tests.test_build import contents

COMMAND = (sys.executable, "-m", "profilegen")


def build(squad: SmallSquad, site: Path) -> Result:
    return CliRunner().invoke(cli.app, ["build", str(squad.folder), "--out", str(site)])


def assert_plainly_refused(result: Result, *said: str) -> None:
    """Exit code 2, nothing on standard output, no traceback, lines that can be printed."""
    assert result.exit_code == 2, result.output
    assert result.stdout == ""
    assert "Traceback" not in result.stderr
    assert all(line.isprintable() for line in result.stderr.splitlines())
    for part in said:
        assert part in result.stderr


# --- disks and folders -----------------------------------------------------------------

in_linux_only = pytest.mark.skipif(sys.platform != "linux", reason="mounts and drops rights")


@in_linux_only
def test_a_real_disk_that_fills_up_keeps_the_old_site(squad: SmallSquad, tmp_path: Path) -> None:
    """A disk of 8 MB: a first site fits, one with many more lifters does not."""
    disk = tmp_path / "disk"
    disk.mkdir()
    apart = ["unshare", "--mount", *([] if os.geteuid() == 0 else ["--map-root-user"])]
    if subprocess.run([*apart, "true"], capture_output=True).returncode != 0:
        pytest.fail("this machine lets nobody make a mount namespace; run on one that does")
    for number in range(40):
        squad.add(f"more-{number}")
    many = squad.folder.rename(tmp_path / "many")
    few = SmallSquad(tmp_path / "athletes")
    few.add("ann")
    inside = f"""
        set -e
        mount -t tmpfs -o size=8m none {disk}
        {sys.executable} -m profilegen build {few.folder} --out {disk}/site
        (cd {disk} && find site -type f -exec sha256sum {{}} + | sort -k2) > {tmp_path}/before
        code=0
        {sys.executable} -m profilegen build {many} --out {disk}/site 2> {tmp_path}/said || code=$?
        (cd {disk} && find site -type f -exec sha256sum {{}} + | sort -k2) > {tmp_path}/after
        ls -A {disk}/.site.profilegen > {tmp_path}/left
        exit $code
    """
    done = subprocess.run([*apart, "sh", "-c", inside], capture_output=True, text=True)
    said = (tmp_path / "said").read_text()
    assert done.returncode == 2, done.stderr + said
    assert "No space left on device" in said
    assert "Traceback" not in said
    assert (tmp_path / "before").read_text().count("\n") > 5
    assert (tmp_path / "after").read_text() == (tmp_path / "before").read_text()
    assert "building" not in (tmp_path / "left").read_text().split()


@pytest.fixture
def as_somebody(tmp_path: Path) -> Iterator[Callable[..., subprocess.CompletedProcess[str]]]:
    """Runs the command as a user to whom rights apply: root without leave to ignore them."""
    rights_apply = ["setpriv", "--bounding-set", "-dac_override,-dac_read_search", "--"]

    def run(*arguments: str | Path) -> subprocess.CompletedProcess[str]:
        prefix = rights_apply if os.geteuid() == 0 else []
        command = [*prefix, *COMMAND, *map(str, arguments)]
        return subprocess.run(command, capture_output=True, text=True, cwd="/")

    yield run
    for folder in tmp_path.iterdir():
        folder.chmod(0o755)


@in_linux_only
def test_a_folder_that_cannot_be_written(
    squad: SmallSquad, tmp_path: Path, as_somebody: Callable[..., subprocess.CompletedProcess[str]]
) -> None:
    """Beside which no workshop can be made; and one that exists, read-only."""
    closed = tmp_path / "closed"
    closed.mkdir()
    closed.chmod(0o555)
    done = as_somebody("build", squad.folder, "--out", closed / "site")
    assert done.returncode == 2, done.stderr
    assert "cannot write here: Permission denied" in done.stderr
    assert "Traceback" not in done.stderr
    assert list(closed.iterdir()) == []


@in_linux_only
def test_an_athlete_file_or_folder_that_cannot_be_read(
    squad: SmallSquad, tmp_path: Path, as_somebody: Callable[..., subprocess.CompletedProcess[str]]
) -> None:
    (squad.folder / "ann.yaml").chmod(0)
    done = as_somebody("build", squad.folder, "--out", tmp_path / "site")
    assert done.returncode == 2
    assert "ann.yaml: cannot be read: Permission denied" in done.stderr
    squad.folder.chmod(0o311)
    done = as_somebody("build", squad.folder, "--out", tmp_path / "site")
    assert done.returncode == 2
    assert "not readable" in done.stderr
    assert "Traceback" not in done.stderr
    assert not (tmp_path / "site").exists()


@in_linux_only
def test_a_logo_that_cannot_be_read(
    squad: SmallSquad, tmp_path: Path, as_somebody: Callable[..., subprocess.CompletedProcess[str]]
) -> None:
    (squad.folder / "club.yaml").write_text("name: Testford\nlook: {logo: a.png}\n")
    (squad.folder / "a.png").write_bytes(b"x")
    (squad.folder / "a.png").chmod(0)
    for command in (["check"], ["build", "--out", tmp_path / "site"]):
        done = as_somebody(*command, squad.folder)
        assert done.returncode == 2
        said = 'club.yaml:2:14: look.logo: "a.png" cannot be read: Permission denied'
        assert said in done.stderr
        assert "Traceback" not in done.stderr


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        (".png", "image/png"),
        ("a.PNG", "image/png"),
        ("club.v2.jpeg", "image/jpeg"),
        ("x/.svg", "image/svg+xml"),
    ],
)
def test_a_logo_of_any_name_that_is_let_in_is_shown(
    squad: SmallSquad, tmp_path: Path, name: str, kind: str
) -> None:
    """As what its ending says, by the names that the IANA keeps of media types."""
    (squad.folder / "club.yaml").write_text(f"name: Testford\nlook: {{logo: {name}}}\n")
    (squad.folder / "x").mkdir()
    (squad.folder / name).write_bytes(b"a picture")
    assert build(squad, tmp_path / "site").exit_code == 0
    (style,) = (tmp_path / "site" / "assets").glob("*.css")
    assert f'url("data:{kind};base64,YSBwaWN0dXJl")' in style.read_text()


def test_a_second_build_at_once_says_so_and_leaves(squad: SmallSquad, tmp_path: Path) -> None:
    site = tmp_path / "site"
    assert build(squad, site).exit_code == 0
    before = contents(site)
    squad.add("ann", snatch=79)
    with open_workshop(site):
        assert_plainly_refused(build(squad, site), "another build is writing this site")
        assert contents(site) == before
    assert build(squad, site).exit_code == 0
    assert contents(site) != before


def test_two_commands_at_once_leave_a_whole_site(squad: SmallSquad, tmp_path: Path) -> None:
    """Both end; one may be told to wait; the site is the one that either would build."""
    site = tmp_path / "site"
    command = [*COMMAND, "build", str(squad.folder), "--out", str(site)]
    running = [
        subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        for _ in range(2)
    ]
    ends = [(process.communicate(timeout=120), process.returncode) for process in running]
    codes = sorted(code for _, code in ends)
    assert codes in ([0, 0], [0, 2]), ends
    if codes == [0, 2]:
        assert any("another build is writing this site" in said[1] for said, _ in ends)
    assert build(squad, tmp_path / "fresh").exit_code == 0
    assert contents(site) == contents(tmp_path / "fresh")


@pytest.mark.parametrize("where", ["the site", "above the site", "the workshop"])
def test_broken_links_are_named_and_left(squad: SmallSquad, tmp_path: Path, where: str) -> None:
    names = {"the site": "site", "above the site": "up", "the workshop": ".site.profilegen"}
    link = tmp_path / names[where]
    link.symlink_to("nowhere")
    site = tmp_path / ("up/site" if where == "above the site" else "site")
    result = build(squad, site)
    if result.exit_code == 0:
        # A missing folder above may be made; what the link names then exists.
        assert where == "above the site"
        assert (tmp_path / "nowhere" / "site" / "index.html").is_file()
    else:
        assert_plainly_refused(result, str(link.name))
        assert not (tmp_path / "nowhere").exists()
    assert link.is_symlink()


LONG = "x" * 252
"""With an ending or a workshop's name more than the 255 bytes that Linux gives a name."""


@pytest.mark.parametrize(
    "command",
    [
        ["check", 4 * LONG],
        ["keys", 4 * LONG],
        ["preview", 4 * LONG],
        ["build", "athletes", "--out", LONG],
        ["build", "athletes", "--out", 2 * LONG],
        ["build", "athletes", "--out", "loop"],
        ["build", "athletes", "--out", "loop/site"],
        ["publish", "athletes", "--out", 2 * LONG],
        ["publish", "athletes", "--out", "loop/site"],
        ["sheet", "--athletes", "athletes", "--out", f"{LONG}.xlsx"],
        ["sheet", "--athletes", "athletes", "--out", "loop/a.xlsx"],
        ["sheet", "--athletes", 2 * LONG],
        ["intake", f"{LONG}.csv", "--athletes", "athletes"],
        ["intake", "loop/a.csv", "--athletes", "athletes"],
        ["schema", "--athletes", "athletes", "--out", 2 * LONG],
        ["schema", "--athletes", "athletes", "--out", "loop"],
        ["new", "Ann", "--athletes", 2 * LONG],
    ],
    ids=lambda command: " ".join(word[:12] for word in command),
)
def test_a_path_that_cannot_be_is_told_and_nothing_is_written(
    squad: SmallSquad, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, command: list[str]
) -> None:
    """Names that are too long, and a link that leads to itself."""
    (tmp_path / "loop").symlink_to("loop")
    monkeypatch.chdir(tmp_path)
    before = sorted(str(path) for path in tmp_path.rglob("*"))
    result = CliRunner().invoke(cli.app, command)
    (path,) = [word for word in command if word.startswith(("x", "loop"))]
    assert_plainly_refused(result, path.split("/")[0])
    assert sorted(str(path) for path in tmp_path.rglob("*")) == before


@in_linux_only
def test_a_squads_folder_that_lets_nobody_in(
    squad: SmallSquad, as_somebody: Callable[..., subprocess.CompletedProcess[str]]
) -> None:
    squad.folder.chmod(0o600)
    done = as_somebody("check", squad.folder)
    assert done.returncode == 2
    assert "cannot be read: Permission denied" in done.stderr
    assert "Traceback" not in done.stderr


def test_a_site_that_is_a_link_stays_one(squad: SmallSquad, tmp_path: Path) -> None:
    """The folder behind it is replaced, not the link."""
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "site").symlink_to("elsewhere")
    assert build(squad, tmp_path / "site").exit_code == 0
    assert (tmp_path / "site").is_symlink()
    assert (tmp_path / "elsewhere" / "index.html").is_file()


def test_files_of_the_coach_in_the_site_survive_every_build(
    squad: SmallSquad, tmp_path: Path
) -> None:
    """Also under names that are hard to handle, and in a lifter's folder when the lifter goes."""
    site = tmp_path / "site"
    assert build(squad, site).exit_code == 0
    mine = ["CNAME", "-rf", "a\nb", "\u202egpj.exe", "lifters/ann/photo 😀.jpg", "x" * 250]
    for name in mine:
        (site / name).write_text(f"mine: {name!r}")
    (squad.folder / "ann.yaml").unlink()
    squad.add("bea", snatch=70)
    assert build(squad, site).exit_code == 0
    for name in mine:
        assert (site / name).read_text() == f"mine: {name!r}"
    assert not (site / "lifters/ann/index.html").exists()


# --- names -----------------------------------------------------------------------------

BAD_FILE_NAMES = {
    "a space": "ann lee", "a dot": "ann.lee", "an accent": "zoë",
    "an emoji": "ann😀", "right to left": "\u202eann", "no width": "a\u200bnn",
    "a new line": "a\nnn", "a dash that looks like one": "ann‐lee", "a quote": "o'hara",
    "markup": "<b>ann", "a percent sign": "ann%2e%2e", "a backslash": "\\ann",
    "a colon": "C:ann", "a shell's": "$(ann)", "250 letters": "a" * 240,
    "Windows' own": "CON", "Windows' own, small": "lpt1", "the club's own": "keys",
}  # fmt: skip


@pytest.mark.parametrize("stem", BAD_FILE_NAMES.values(), ids=BAD_FILE_NAMES.keys())
def test_a_file_name_that_is_no_safe_folder_name_is_refused(
    squad: SmallSquad, tmp_path: Path, stem: str
) -> None:
    """Told with the file; the other lifters' files stay as they are, nothing is written."""
    text = (squad.folder / "ann.yaml").read_text()
    name = f"{stem}.yaml" if stem != "keys" else "Keys.yaml"
    (squad.folder / name).write_text(text)
    assert_plainly_refused(build(squad, tmp_path / "site"), "rename it")
    assert sorted(file.name for file in tmp_path.iterdir()) == ["athletes"]
    assert (squad.folder / name).read_text() == text


@pytest.mark.parametrize("other", ["ANN.yaml", "Ann.yaml", "ann.yml", "ann.YAML"])
def test_names_that_some_disks_cannot_tell_apart_are_refused(
    squad: SmallSquad, tmp_path: Path, other: str
) -> None:
    (squad.folder / other).write_text((squad.folder / "ann.yaml").read_text())
    if len(list(squad.folder.glob("[aA][nN][nN].*"))) == 1:
        return  # this very disk cannot: there is one file
    assert_plainly_refused(build(squad, tmp_path / "site"), "two files for one lifter", other)
    assert not (tmp_path / "site").exists()


GOOD_NAMES = {
    "slashes": "Ann/../../etc/passwd", "dots": "..", "emoji": "Ann 🏋️‍♀️ 😀",
    "right to left": "Ann \u05d0\u05d1\u05d2 Lee", "Arabic": "آنا", "Windows": "CON",
    "markup": "<b>Ann</b> & \"Lee\" 'Jo'", "template": "{{ 7 * 7 }}{% raw %}",
    "percent": "%s %d {}",
    "long": "Ann " * 25,
}  # fmt: skip


def test_a_lifter_may_have_any_name(squad: SmallSquad, tmp_path: Path) -> None:
    """The page says it as it is written; the place of the page never depends on it."""
    for number, name in enumerate(GOOD_NAMES.values()):
        file = squad.add(f"lifter-{number}")
        lines = file.read_text().splitlines(keepends=True)
        file.write_text("".join([f"name: {json.dumps(name, ensure_ascii=False)}\n", *lines[1:]]))
    site = tmp_path / "site"
    result = build(squad, site)
    assert result.exit_code == 0, result.stderr
    folders = {path.name for path in (site / "lifters").iterdir()}
    assert folders == {"ann", "bea", "cleo", *(f"lifter-{n}" for n in range(len(GOOD_NAMES)))}
    from bs4 import BeautifulSoup

    for number, name in enumerate(GOOD_NAMES.values()):
        page = BeautifulSoup((site / f"lifters/lifter-{number}/index.html").read_text(), "html5lib")
        assert page.h1 is not None
        assert page.h1.get_text().split() == name.split()
    assert sorted(p.name for p in tmp_path.iterdir()) == [".site.profilegen", "athletes", "site"]


@pytest.mark.parametrize("name", ["Ann\u202eeeL", "A" * 300, "Ann\x07", "Ann\u2028Lee", " "])
def test_a_name_that_cannot_be_shown_is_refused_with_its_line(
    squad: SmallSquad, tmp_path: Path, name: str
) -> None:
    """Marks that turn the writing around, lines within a line, 300 characters."""
    file = squad.folder / "ann.yaml"
    rest = file.read_text().splitlines(keepends=True)[1:]
    written = "".join(f"\\u{ord(character):04x}" for character in name)
    file.write_text("".join([f'name: "{written}"\n', *rest]))
    assert_plainly_refused(build(squad, tmp_path / "site"), "ann.yaml:1:7: name")


# --- sizes -----------------------------------------------------------------------------


def too_large(folder: Path) -> str:
    with (folder / "ann.yaml").open("ab") as file:
        file.truncate(50_000_001)
    return "larger than 50 MB, the limit for one file"


def too_deep(folder: Path) -> str:
    (folder / "ann.yaml").write_text("name: " + "[" * 100_000)
    return "blocks within blocks: the limit is"


def too_many(folder: Path) -> str:
    (folder / "ann.yaml").write_text("name: [" + "a, " * 600_000 + "]")
    return "500"


def aliases(folder: Path) -> str:
    lines = ["a0: &a0 [x, x]", *(f"a{n}: &a{n} [*a{n - 1}, *a{n - 1}]" for n in range(1, 60))]
    (folder / "ann.yaml").write_text("\n".join(lines))
    return "anchor"


@pytest.mark.parametrize("harm", [too_large, too_deep, too_many, aliases])
def test_a_bomb_is_refused_with_the_limit_named_within_seconds(
    squad: SmallSquad, tmp_path: Path, harm: Callable[[Path], str]
) -> None:
    said = harm(squad.folder)
    start = time.process_time()
    assert_plainly_refused(build(squad, tmp_path / "site"), "ann.yaml", said)
    assert time.process_time() - start < 5

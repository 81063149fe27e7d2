"""The preview: for this machine alone, private, and not to be brought down by a file."""

from __future__ import annotations

import http.client
import json
import os
import signal
import socket
import stat
import subprocess
import sys
import threading
import time
import urllib.request
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from profilegen.build.site import build_site
from profilegen.errors import OutputError
from profilegen.preview import HOST, Preview, Server, listening, serve
from tests.squads import TODAY, SmallSquad


@pytest.fixture
def preview(squad: SmallSquad, tmp_path: Path) -> Preview:
    made = Preview(squad.folder, tmp_path / "private" / "site", lambda: TODAY)
    made.rebuild()
    return made


@pytest.fixture
def server(preview: Preview) -> Iterator[Server]:
    with Server(preview, 0) as server:
        thread = threading.Thread(target=server.serve_forever, daemon=True)
        thread.start()
        yield server
        server.shutdown()
        thread.join()


def ask(server: Server, path: str, **headers: str) -> tuple[int, str, http.client.HTTPMessage]:
    connection = http.client.HTTPConnection(HOST, server.server_port, timeout=10)
    connection.request("GET", path, headers=headers)
    answer = connection.getresponse()
    text = answer.read().decode()
    connection.close()
    return answer.status, text, answer.headers


def events(server: Server) -> tuple[socket.socket, Iterator[str]]:
    """The data of each event, as they come."""
    line = socket.create_connection((HOST, server.server_port), timeout=10)
    line.sendall(
        f"GET /.preview/events HTTP/1.1\r\nHost: {HOST}:{server.server_port}\r\n\r\n".encode()
    )

    def read() -> Iterator[str]:
        with line.makefile("r") as stream:
            for text in stream:
                if text.startswith("data: "):
                    yield text.removeprefix("data: ").strip()

    return line, read()


class TestOnThisMachineOnly:
    def test_it_listens_on_the_loopback_address_and_nowhere_else(self, server: Server) -> None:
        assert server.server_address[0] == "127.0.0.1"
        own = socket.gethostbyname(socket.gethostname())
        if own.startswith("127."):
            return
        with pytest.raises(OSError, match="refused"):
            socket.create_connection((own, server.server_port), timeout=2)

    @pytest.mark.parametrize("host", ["evil.example", "evil.example:80", "", "127.0.0.1"])
    def test_a_site_that_points_its_name_here_gets_nothing(self, server: Server, host: str) -> None:
        """DNS rebinding: the browser believes it is talking to that site and says so."""
        status, text, _ = ask(server, "/", Host=host)
        assert status == 403
        assert "Ann" not in text

    def test_its_own_names_are_fine(self, server: Server) -> None:
        for name in ("127.0.0.1", "localhost"):
            assert ask(server, "/", Host=f"{name}:{server.server_port}")[0] == 200

    def test_answers_may_be_neither_kept_nor_framed_nor_read_by_others(
        self, server: Server
    ) -> None:
        headers = ask(server, "/")[2]
        assert headers["Cache-Control"] == "no-store"
        assert headers["X-Frame-Options"] == "DENY"
        assert headers["Cross-Origin-Resource-Policy"] == "same-origin"
        assert headers["X-Content-Type-Options"] == "nosniff"
        assert headers["Access-Control-Allow-Origin"] is None

    @pytest.mark.parametrize(
        "path",
        [
            "/../../athletes/ann.yaml",
            "/..%2f..%2fathletes/ann.yaml",
            "//etc/passwd",
            "/%2e%2e/%2e%2e/athletes/club.yaml",
            "/lifters",
            "/assets/",
            "/lifters/ann",
            "/nothing.html",
            "/%00.html",
        ],
    )
    def test_nothing_but_files_of_the_site_and_no_list_of_them(
        self, server: Server, path: str
    ) -> None:
        status, text, _ = ask(server, path)
        assert status == 404
        assert "Ann" not in text
        assert "root:" not in text

    def test_a_link_out_of_the_site_is_not_followed(
        self, server: Server, preview: Preview, tmp_path: Path
    ) -> None:
        (tmp_path / "secret.json").write_text("{}")
        (preview.site / "out.json").symlink_to(tmp_path / "secret.json")
        assert ask(server, "/out.json")[0] == 404


class TestPages:
    def test_pages_are_as_built_with_two_additions(self, server: Server, preview: Preview) -> None:
        status, text, headers = ask(server, "/")
        built = (preview.site / "index.html").read_text()
        assert (status, headers["Content-Type"]) == (200, "text/html; charset=utf-8")
        version = preview.state.version
        script = f'<script src="/.preview/reload.js?of={version}" defer></script>\n'
        assert script in text
        policy = "connect-src &#39;self&#39;; "
        assert text.count(policy) == 1
        assert text.replace(script, "").replace(policy, "") == built

    def test_everything_a_page_needs_comes_as_what_it_is(self, server: Server) -> None:
        status, text, headers = ask(server, "/lifters/ann/profile.json")
        assert (status, headers["Content-Type"]) == (200, "application/json")
        assert json.loads(text)["athlete"]["name"] == "Ann"
        assert ask(server, "/.preview/reload.js")[2]["Content-Type"].startswith("text/javascript")

    def test_a_page_without_a_head_is_left_alone(self) -> None:
        assert listening(b"<p>x</p>", "1") == b"<p>x</p>"


class TestMistakes:
    def test_a_mistake_is_shown_with_file_and_line_on_every_page(
        self, squad: SmallSquad, server: Server, preview: Preview
    ) -> None:
        ann = squad.folder / "ann.yaml"
        ann.write_text(ann.read_text().replace("kg: 78", "kg: <b>78"))
        preview.rebuild()
        for page in ("/", "/lifters/bea/index.html", "/lifters/ann/time.html"):
            status, text, _ = ask(server, page)
            assert status == 200
            assert "ann.yaml:10:" in text
            assert "<b>" not in text
            assert "connect-src &#39;self&#39;" in text or "connect-src 'self'" in text

    def test_mended_the_pages_are_back(
        self, squad: SmallSquad, server: Server, preview: Preview
    ) -> None:
        ann = squad.folder / "ann.yaml"
        good = ann.read_text()
        ann.write_text("name: [")
        assert preview.rebuild().problems
        ann.write_text(good)
        assert not preview.rebuild().problems
        assert "Testford" in ask(server, "/")[1]

    def test_a_squad_that_is_broken_from_the_start_is_no_end(
        self, squad: SmallSquad, tmp_path: Path
    ) -> None:
        (squad.folder / "club.yaml").unlink()
        state = Preview(squad.folder, tmp_path / "new" / "site", lambda: TODAY).rebuild()
        assert "club.yaml" in state.problems[0]

    def test_a_bug_is_shown_and_no_end(
        self, squad: SmallSquad, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def broken(*_arguments: object, **_options: object) -> None:
            raise ZeroDivisionError("in a template")

        monkeypatch.setattr("profilegen.preview.build_site", broken)
        state = Preview(squad.folder, tmp_path / "new" / "site", lambda: TODAY).rebuild()
        assert state.bug
        assert "ZeroDivisionError: in a template" in state.problems[0]


class TestEvents:
    def test_every_build_is_told_at_once(self, server: Server, preview: Preview) -> None:
        line, told = events(server)
        with line:
            assert next(told) == preview.state.version
            before = time.perf_counter()
            version = preview.rebuild().version
            assert next(told) == version
            assert time.perf_counter() - before < 5

    def test_a_page_from_before_the_last_build_learns_so_when_it_connects(
        self, server: Server, preview: Preview
    ) -> None:
        """It compares its own version with the first one told."""
        page = ask(server, "/")[1]
        preview.rebuild()
        line, told = events(server)
        with line:
            assert f"of={next(told)}" not in page

    def test_versions_of_two_runs_differ(self, squad: SmallSquad, tmp_path: Path) -> None:
        """A page left open from yesterday's preview reloads."""
        one = Preview(squad.folder, tmp_path / "a" / "site", lambda: TODAY).rebuild()
        other = Preview(squad.folder, tmp_path / "b" / "site", lambda: TODAY).rebuild()
        assert one.version != other.version


class TestServing:
    def test_a_taken_port_is_said(self, squad: SmallSquad) -> None:
        with socket.socket() as taken:
            taken.bind((HOST, 0))
            taken.listen()
            port = taken.getsockname()[1]
            with pytest.raises(OutputError, match=f"port {port}: .*--port"):
                serve(squad.folder, port=port, today=lambda: TODAY, say=lambda text: None)

    def test_a_save_during_the_first_build_is_shown(
        self, squad: SmallSquad, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """Her file is read, and saved again before the build is done."""
        ann, built = squad.folder / "ann.yaml", threading.Event()

        def slow(*arguments: Any, **options: Any) -> object:
            result = build_site(*arguments, **options)
            if not built.is_set():
                ann.write_text(ann.read_text().replace("name: Ann", "name: Zora"))
                built.set()
            return result

        monkeypatch.setattr("profilegen.preview.build_site", slow)
        said: list[str] = []
        stop = threading.Event()
        options = {"port": 0, "today": lambda: TODAY, "say": said.append, "stop": stop}
        serving = threading.Thread(target=serve, args=(squad.folder,), kwargs=options)
        serving.start()
        try:
            deadline, shown = time.monotonic() + 20, False
            while not shown and time.monotonic() < deadline:
                time.sleep(0.05)
                shown = bool(said) and "Zora" in _page(said[0].split()[0])
            assert shown
        finally:
            stop.set()
            serving.join()

    def test_the_command_serves_and_leaves_nothing_behind(
        self, squad: SmallSquad, tmp_path: Path
    ) -> None:
        """Not even when its terminal is closed; and meanwhile only its owner can look."""
        temporary = tmp_path / "temporary"
        temporary.mkdir()
        command = [sys.executable, "-m", "profilegen", "preview", str(squad.folder), "--port", "0"]
        environment = {**os.environ, "TMPDIR": str(temporary), "PYTHONUNBUFFERED": "1"}
        with subprocess.Popen(
            command, stdout=subprocess.PIPE, text=True, env=environment
        ) as running:
            assert running.stdout is not None
            said = running.stdout.readline()
            assert said.startswith("http://127.0.0.1:")
            (folder,) = temporary.iterdir()
            assert stat.S_IMODE(folder.stat().st_mode) == 0o700
            port = int(said.split(":")[2].split("/")[0])
            connection = http.client.HTTPConnection(HOST, port, timeout=10)
            connection.request("GET", "/")
            assert connection.getresponse().status == 200
            connection.close()
            running.send_signal(signal.SIGHUP)
            assert running.wait(timeout=20) == 0
        assert list(temporary.iterdir()) == []


def _page(address: str) -> str:
    with urllib.request.urlopen(address) as answer:
        text: str = answer.read().decode()
    return text


def test_dates_are_asked_for_at_each_build(squad: SmallSquad, tmp_path: Path) -> None:
    """A preview that stays open over midnight lets the new day's session in."""
    today = [date(2026, 10, 11)]
    preview = Preview(squad.folder, tmp_path / "new" / "site", lambda: today[0])
    assert "2026-10-12" in " ".join(preview.rebuild().problems)
    today[0] = date(2026, 10, 12)
    assert not preview.rebuild().problems

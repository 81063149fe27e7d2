"""The site while it is being written: served on this machine, rebuilt and reloaded at a save.

A thread watches the athletes folder and the templates, and builds into a folder that only this
user can read and that is gone afterwards. The server answers from that folder, on 127.0.0.1
alone, and only to pages of its own: a request that names another host (a web site that points
its own name here) is refused, because what is served is private.

A page is served as it was built, with two additions: a script that listens for the next build
(server-sent events), and the words `connect-src 'self'` in the page's policy, which that
script needs. While the files have mistakes, every page shows them, with file and line.
"""

from __future__ import annotations

import html
import secrets
import signal
import tempfile
import threading
import traceback
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from urllib.parse import unquote, urlsplit

from watchfiles import watch

from profilegen.build.site import build_site
from profilegen.errors import InputError, OutputError
from profilegen.render import default_templates_dir

HOST = "127.0.0.1"
OWN = "/.preview/"
"""Addresses of the preview itself; no file of a site begins with a full stop."""
GROUP_MS, QUIET_MS = 60, 20
"""A save is often several changes (a new file, a rename): wait for this much quiet, but no
longer than that."""
AWAKE_MS = 50
"""How long the watcher waits for a change before it says that there is none."""
HEARTBEAT_S = 15.0
"""A line that keeps the connection open, and finds out whether the page is still there."""

KINDS = {
    ".html": "text/html; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".json": "application/json",
    ".svg": "image/svg+xml",
    ".png": "image/png",
}

_POLICY = b'<meta http-equiv="Content-Security-Policy" content="'
_RELOAD = """\
(() => {
  "use strict";
  const mine = new URL(document.currentScript.src).searchParams.get("of");
  const events = new EventSource("/.preview/events");
  events.onmessage = (event) => {
    if (event.data !== mine) location.reload();
  };
  addEventListener("pagehide", () => events.close());
})();
"""
_BROKEN = """\
<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; script-src 'self'; \
style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'">
<meta name="robots" content="noindex, nofollow">
<title>{title}</title>
<style>
:root {{ color-scheme: light dark; }}
body {{ max-width: 60rem; margin: 3rem auto; padding: 0 1rem; font: 1rem/1.5 sans-serif; }}
li {{ margin-block: 0.75rem; font-family: monospace; overflow-wrap: anywhere; }}
</style>
</head>
<body>
<h1>{title}</h1>
<ol>
{items}
</ol>
<p>{after}</p>
</body>
</html>
"""


@dataclass(frozen=True, slots=True)
class State:
    """What there is to show: a built site, or what is wrong."""

    version: str
    problems: tuple[str, ...] = ()
    bug: bool = False


class Preview:
    """One squad's site, built again and again. `state` is replaced, never changed."""

    def __init__(self, squad_dir: Path, site: Path, today: Callable[[], date]) -> None:
        self.site = site
        self._squad_dir = squad_dir
        self._today = today
        self._run = secrets.token_hex(4)
        self._builds = 0
        self._changed = threading.Condition()
        self.state = State("")

    def rebuild(self) -> State:
        """Build what changed, and tell every open page. Never raises for what a file holds."""
        self._builds += 1
        version = f"{self._run}-{self._builds}"
        try:
            build_site(self._squad_dir, self.site, today=self._today(), jobs=1, throwaway=True)
            state = State(version)
        except InputError as error:
            state = State(version, tuple(str(problem) for problem in error.problems))
        except OutputError as error:
            state = State(version, (str(error),))
        except Exception:
            # A mistake in a template being edited, or in the program: shown, and not the end.
            state = State(version, (traceback.format_exc(),), bug=True)
        with self._changed:
            self.state = state
            self._changed.notify_all()
        return state

    def wait_for_other(self, version: str, seconds: float) -> str:
        """The version to show as soon as it is not `version`, or after a while anyway."""
        with self._changed:
            self._changed.wait_for(lambda: self.state.version != version, seconds)
            return self.state.version


class Server(ThreadingHTTPServer):
    """Serves one preview on the loopback address."""

    daemon_threads = True

    def __init__(self, preview: Preview, port: int) -> None:
        self.preview = preview
        super().__init__((HOST, port), _Handler)

    @property
    def address(self) -> str:
        """What to open in a browser."""
        return f"http://{HOST}:{self.server_port}/"

    @property
    def own_hosts(self) -> tuple[str, ...]:
        """What a request may say it is for."""
        return tuple(f"{name}:{self.server_port}" for name in (HOST, "localhost"))

    def handle_error(self, request: object, client_address: object) -> None:
        """A page that was closed while it was answered is no news."""


class _Handler(BaseHTTPRequestHandler):
    server: Server
    server_version, sys_version = "preview", ""

    def do_GET(self) -> None:
        """Answer with a file of the site, an event, or what is wrong."""
        if self.headers.get("Host") not in self.server.own_hosts:
            self.send_error(HTTPStatus.FORBIDDEN, "Open this preview as 127.0.0.1")
            return
        path = unquote(urlsplit(self.path).path)
        if path == f"{OWN}events":
            self._events()
        elif path == f"{OWN}reload.js":
            self._answer(_RELOAD.encode(), ".js")
        elif path.endswith(("/", ".html")) and self.server.preview.state.problems:
            self._broken(self.server.preview.state)
        else:
            self._file(path)

    def _file(self, path: str) -> None:
        # The version before the file: a build in between makes the page reload once too often.
        version = self.server.preview.state.version
        root = self.server.preview.site.resolve()
        name = f"{path}index.html" if path.endswith("/") else path
        try:
            file = (root / name.lstrip("/")).resolve()
            if file.suffix not in KINDS or not file.is_relative_to(root):
                raise FileNotFoundError
            content = file.read_bytes()
        except (OSError, ValueError):
            self.send_error(HTTPStatus.NOT_FOUND)
            return
        self._answer(content, file.suffix, version)

    def _broken(self, state: State) -> None:
        page = _BROKEN.format(
            title="The program or a template has a bug" if state.bug else "Something to mend",
            items="\n".join(f"<li>{html.escape(problem)}</li>" for problem in state.problems),
            after="Mend it and save: this page comes back by itself.",
        )
        self._answer(page.encode(), ".html", state.version)

    def _answer(self, content: bytes, kind: str, version: str = "") -> None:
        if kind == ".html":
            content = listening(content, version)
        self.send_response(HTTPStatus.OK)
        self.send_header("Content-Type", KINDS[kind])
        self.send_header("Content-Length", str(len(content)))
        self._private_headers()
        self.end_headers()
        self.wfile.write(content)

    def _events(self) -> None:
        self.send_response(HTTPStatus.OK)
        self.send_header("Content-Type", "text/event-stream")
        self._private_headers()
        self.end_headers()
        self.close_connection = True
        said = ""
        while True:
            version = self.server.preview.wait_for_other(said, HEARTBEAT_S)
            line = f"retry: 300\ndata: {version}\n\n" if version != said else ": still here\n\n"
            said = version
            self.wfile.write(line.encode())
            self.wfile.flush()

    def _private_headers(self) -> None:
        for name, value in (
            ("Cache-Control", "no-store"),
            ("X-Content-Type-Options", "nosniff"),
            ("Cross-Origin-Resource-Policy", "same-origin"),
            ("X-Frame-Options", "DENY"),
        ):
            self.send_header(name, value)

    def log_message(self, format: str, *args: object) -> None:
        """Requests are nobody's business."""


def listening(page: bytes, version: str) -> bytes:
    """A built page with the script that waits for the next build, and leave to listen."""
    page = page.replace(_POLICY, _POLICY + b"connect-src &#39;self&#39;; ", 1)
    script = f'<script src="{OWN}reload.js?of={version}" defer></script>\n</head>'
    return page.replace(b"</head>", script.encode(), 1)


def serve(
    squad_dir: Path,
    *,
    port: int,
    today: Callable[[], date],
    say: Callable[[str], None],
    stop: threading.Event | None = None,
) -> None:
    """Serve and rebuild until Ctrl+C, or until `stop` is set.

    Raises:
        OutputError: the port cannot be had.
    """
    stop = stop or threading.Event()
    _stop_at_signals(stop)
    with tempfile.TemporaryDirectory(prefix="profilegen-preview-") as folder:
        preview = Preview(squad_dir, Path(folder) / "site", today)
        try:
            server = Server(preview, port)
        except OSError as error:
            reason = error.strerror or error
            raise OutputError(f"port {port}: {reason}; name another one with --port") from error
        with server:
            changes = watch(
                squad_dir,
                default_templates_dir(),
                debounce=GROUP_MS,
                step=QUIET_MS,
                rust_timeout=AWAKE_MS,
                yield_on_timeout=True,
                stop_event=stop,
                raise_interrupt=True,
            )
            next(changes, None)  # from here on it notes every save, whatever we do meanwhile
            _tell(say, preview.rebuild())
            threading.Thread(target=server.serve_forever, daemon=True).start()
            say(f"{server.address} shows {squad_dir} as you save. Ctrl+C ends it.")
            try:
                for saved in changes:
                    if saved:
                        _tell(say, preview.rebuild())
            except KeyboardInterrupt:
                pass
            finally:
                server.shutdown()


def _stop_at_signals(stop: threading.Event) -> None:
    """A closed terminal ends the preview as Ctrl+C does, so that its private folder goes too."""
    if threading.current_thread() is threading.main_thread():
        for name in ("SIGTERM", "SIGHUP"):
            if hasattr(signal, name):
                signal.signal(getattr(signal, name), lambda number, frame: stop.set())


def _tell(say: Callable[[str], None], state: State) -> None:
    for problem in state.problems:
        say(problem)

"""How plotly.js reaches the reader, and the policy that lets nothing else in.

The library's text is never kept in this project: it comes from the installed plotly
package (everything plotly can do), or on request from npm's plotly.js-basic-dist-min (bars
and points only, a quarter of the size, all that these charts need).
"""

from __future__ import annotations

import base64
import functools
import gzip
import hashlib
import importlib.util
import re
import shutil
import subprocess
import tarfile
import tempfile
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from profilegen.errors import OutputError

Bundle = Literal["full", "basic"]

BASIC_PACKAGE = "plotly.js-basic-dist-min"
BASIC_VERSION = "4.1.1"
"""Exact, so that the same build gives the same bytes next year."""
BASIC_FILE = "plotly-basic.min.js"
NPM_SECONDS = 60


@dataclass(frozen=True, slots=True)
class Library:
    """The text of plotly.js, and what a site needs to know about it."""

    name: str
    """File name with a hash of the content, e.g. `plotly-0123456789ab.min.js`."""
    text: str
    sha256: str
    """Of the UTF-8 text, hexadecimal."""
    licence: str
    """The comment at the top of the library: version, holder, licence. Part of `text`."""
    bundle: Bundle
    note: str = ""
    """For the closing line: why it is not the bundle that was asked for."""


def plotly_library(bundle: Bundle = "full", *, near: Path | None = None) -> Library:
    """The library, read once per process.

    `basic` is looked for in `node_modules` from `near` (the working folder) upwards, then
    fetched with npm if that is installed; without either the full bundle comes with a note.

    Raises:
        OutputError: the plotly package is not installed or has no bundle.
    """
    if bundle == "basic":
        return basic_library((near or Path.cwd()).resolve())
    return full_library()


@functools.cache
def full_library() -> Library:
    """The bundle inside the installed plotly package (found without importing it)."""
    spec = importlib.util.find_spec("plotly")
    for folder in (spec.submodule_search_locations or []) if spec else []:
        file = Path(folder) / "package_data" / "plotly.min.js"
        if file.is_file():
            return library_from(file.read_bytes(), "full")
    raise OutputError(
        "the plotly package has no plotly.min.js; install it with: pip install plotly"
    )


@functools.cache
def basic_library(near: Path) -> Library:
    """The basic bundle, or the full one with a note."""
    for folder in (near, *near.parents):
        file = folder / "node_modules" / BASIC_PACKAGE / BASIC_FILE
        if file.is_file():
            return library_from(file.read_bytes(), "basic")
    npm = shutil.which("npm")
    if npm is None:
        return noted(full_library(), "npm is not installed, so charts use the full plotly.js")
    try:
        return library_from(packed_by_npm(npm), "basic")
    except (OSError, subprocess.SubprocessError, tarfile.TarError, KeyError) as problem:
        reason = f"npm could not fetch {BASIC_PACKAGE} ({type(problem).__name__})"
        return noted(full_library(), f"{reason}, so charts use the full plotly.js")


def packed_by_npm(npm: str) -> bytes:
    """Fetch the package's archive (npm checks its digest) and read the one file out of it."""
    with tempfile.TemporaryDirectory(prefix="profilegen-") as folder:
        subprocess.run(
            [npm, "pack", "--silent", "--ignore-scripts", f"{BASIC_PACKAGE}@{BASIC_VERSION}"],
            cwd=folder,
            check=True,
            capture_output=True,
            stdin=subprocess.DEVNULL,
            timeout=NPM_SECONDS,
        )
        archive = next(iter(sorted(Path(folder).glob("*.tgz"))), None)
        if archive is None:
            raise FileNotFoundError("npm wrote no archive")
        with tarfile.open(archive) as files:
            member = files.extractfile(f"package/{BASIC_FILE}")
            if member is None:
                raise KeyError(BASIC_FILE)
            return member.read()


def library_from(content: bytes, bundle: Bundle) -> Library:
    """Name, digest and licence of a bundle's bytes."""
    digest = hashlib.sha256(content).hexdigest()
    text = content.decode("utf-8")
    comment = re.match(r"\s*/\*.*?\*/", text, flags=re.DOTALL)
    return Library(
        name=f"plotly-{digest[:12]}.min.js",
        text=text,
        sha256=digest,
        licence=comment.group().strip() if comment else "",
        bundle=bundle,
    )


def noted(library: Library, note: str) -> Library:
    """The same library with a note."""
    return Library(
        library.name, library.text, library.sha256, library.licence, library.bundle, note
    )


@functools.lru_cache(maxsize=4)
def packed_library(library: Library) -> str:
    """The library for a page of its own: base64 of gzip, the same bytes every time.

    Its place is `<script type="application/octet-stream" id="plotly-gz">`; charts.js
    inflates it there. The licence comes along inside and, readable, in `Library.licence`.
    """
    packed = gzip.compress(library.text.encode("utf-8"), compresslevel=9, mtime=0)
    return base64.b64encode(packed).decode("ascii")


def script_hash(text: str) -> str:
    """A script's source expression for a policy (CSP level 3, 2.3.1).

    >>> script_hash("alert('Hello, world.');")  # the example of the CSP specification
    "'sha256-qznLcsROx4GACP2dm0UCKCzCG+HiZ1guq6ZZDob/Tng='"
    """
    digest = hashlib.sha256(text.encode("utf-8")).digest()
    return f"'sha256-{base64.b64encode(digest).decode('ascii')}'"


def csp_site(inline_scripts: Iterable[str] = (), *, linked_styles: bool = True) -> str:
    """The policy of a page in a site: scripts from the site's own files and the given ones.

    Content for `<meta http-equiv="Content-Security-Policy">`. Styles may stand in elements
    because plotly sets them; `linked_styles` also lets in the site's own stylesheet.
    """
    scripts = " ".join(["'self'", *map(script_hash, inline_scripts)])
    return policy(scripts, "'self' 'unsafe-inline'" if linked_styles else "'unsafe-inline'")


def csp_single_file(inline_scripts: Iterable[str], library: Library | None) -> str:
    """The policy of a page that is one file: the given scripts and plotly.js, by hash."""
    hashes = [script_hash(text) for text in inline_scripts]
    if library is not None:
        hashes.append(script_hash(library.text))
    return policy(" ".join(hashes) or "'none'", "'unsafe-inline'")


def policy(scripts: str, styles: str) -> str:
    """Nothing from outside, no forms, no frames; images only from the page itself."""
    return (
        f"default-src 'none'; script-src {scripts}; style-src {styles}; "
        "img-src data: blob:; base-uri 'none'; form-action 'none'"
    )

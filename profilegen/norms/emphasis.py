"""What the trade usually emphasises for each quality: data with sources, and its loader.

The loader refuses an entry without a source, an unknown lift or quality, a quality left out,
advice that names a lift in its text (a lift to avoid could then not be left out), and any
word of maximal singles in what juniors read.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any, Literal

import yaml

from profilegen.errors import NormsError
from profilegen.norms.catalogue import COMPOSED, QUALITIES, Norms, Quality, load_norms
from profilegen.norms.checker import Checker

FILE = "emphasis.yaml"
Audience = Literal["everyone", "adults", "juniors"]
AUDIENCES: tuple[Audience, ...] = ("everyone", "adults", "juniors")
_MAXIMAL = re.compile(r"\b(max(imum|imal|imals|es)?|singles?|heavy|heaviest)\b", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Advice:
    """One thing to emphasise, or one sign that it works: the lifts and what they are for."""

    lifts: tuple[str, ...]
    text: str
    source: str
    audience: Audience = "everyone"


@dataclass(frozen=True, slots=True)
class Caution:
    """One thing to mind, in this work or in some lifts of it."""

    text: str
    source: str
    lifts: tuple[str, ...] = ()
    """Shown where one of them may be proposed; none: always."""


@dataclass(frozen=True, slots=True)
class Emphasis:
    """What goes with one quality."""

    quality: Quality
    emphasis: tuple[Advice, ...]
    shows: tuple[Advice, ...]
    cautions: tuple[Caution, ...]
    see: tuple[Caution, ...]

    def shown(self, *, junior: bool, avoided: Iterable[str]) -> Emphasis:
        """What one lifter may read: for their age, without any lift not to be proposed.

        avoided: with all that is much alike (norms/alike.py). An entry left without a lift is
        left out; where nothing is left to emphasise, so are its signs and what to mind in it.
        For juniors, cautions and signs that speak of heavy work are left out too.
        """
        gone = set(avoided)
        mine = "juniors" if junior else "adults"
        emphasis = _kept(self.emphasis, mine, gone)
        if not emphasis:
            return Emphasis(self.quality, (), (), (), self.see)
        return Emphasis(
            self.quality,
            emphasis,
            _kept(self.shows, mine, gone),
            tuple(
                one
                for one in self.cautions
                if not (junior and _MAXIMAL.search(one.text))
                and (not one.lifts or set(one.lifts) - gone)
            ),
            self.see,
        )


def _kept(entries: tuple[Advice, ...], mine: str, gone: set[str]) -> tuple[Advice, ...]:
    return tuple(
        Advice(lifts, one.text, one.source, one.audience)
        for one in entries
        if one.audience in ("everyone", mine)
        and (lifts := tuple(lift for lift in one.lifts if lift not in gone))
    )


@lru_cache(maxsize=1)
def load_emphasis() -> Mapping[Quality, Emphasis]:
    """What ships with the program, by quality."""
    return read_emphasis(files("profilegen.norms"), load_norms())


def read_emphasis(folder: Traversable | Path, norms: Norms) -> Mapping[Quality, Emphasis]:
    """Read and check emphasis.yaml. Raises NormsError naming every problem at once."""
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    try:
        raw = yaml.load(folder.joinpath(FILE).read_text(encoding="utf-8"), Loader=loader)
    except (OSError, yaml.YAMLError) as error:
        raise NormsError(f"{FILE}: cannot be read: {error}") from error
    check = Checker(norms.sources)
    names = _names(norms)
    found: dict[Quality, Emphasis] = {}
    for row in check.rows(raw, FILE, {"quality", "emphasis", "shows", "cautions", "see"}):
        quality = next((one for one in QUALITIES if one == row["quality"]), None)
        where = f"{FILE}: {row['quality']}"
        if quality is None or quality in found:
            check.complain(where, "unknown quality" if quality is None else "given twice")
            continue
        found[quality] = Emphasis(
            quality,
            _advice(check, row["emphasis"], f"{where}: emphasis", "intent", norms, names),
            _advice(check, row["shows"], f"{where}: shows", "sign", norms, names),
            _cautions(check, row["cautions"], f"{where}: cautions", norms, names),
            _cautions(check, row["see"], f"{where}: see", norms, names),
        )
    for quality in QUALITIES:
        if quality not in found:
            check.complain(FILE, f"{quality} is missing")
        elif not any(one.audience != "adults" for one in found[quality].emphasis):
            check.complain(f"{FILE}: {quality}", "nothing in it is for juniors")
    if check.problems:
        raise NormsError("\n".join(check.problems))
    return found


def _names(norms: Norms) -> re.Pattern[str]:
    """Every lift's name of more than one word: single words are also words of the trade."""
    long = sorted((lift.name for lift in norms.lifts.values() if " " in lift.name), key=len)
    return re.compile(rf"\b(?:{'|'.join(re.escape(name) for name in reversed(long))})", re.I)


def _advice(
    check: Checker, raw: Any, where: str, key: str, norms: Norms, names: re.Pattern[str]
) -> tuple[Advice, ...]:
    entries = []
    for number, row in enumerate(
        check.rows(raw, where, {"lifts", key, "for?", "source?", "note?"}), start=1
    ):
        at = f"{where}: {number}"
        lifts = _lifts(check, row["lifts"], at, norms)
        audience = next((one for one in AUDIENCES if one == row.get("for", "everyone")), None)
        if audience is None:
            check.complain(at, f"for: expected {' | '.join(AUDIENCES)}, got {row['for']}")
        text = _text(check, row[key], at, names)
        if audience != "adults" and _MAXIMAL.search(text):
            check.complain(at, "juniors would read of maximal work; write it for adults")
        entries.append(
            Advice(
                lifts,
                text,
                check.source(row.get("source"), at),
                audience or "adults",
            )
        )
    return tuple(entries)


def _lifts(check: Checker, raw: Any, where: str, norms: Norms) -> tuple[str, ...]:
    lifts = raw if isinstance(raw, list) else []
    if not lifts:
        check.complain(where, "expected a list of lifts")
    for lift in lifts:
        if lift not in norms.lifts and lift not in COMPOSED:
            check.complain(where, f"no lift called {lift}")
    return tuple(str(lift) for lift in lifts)


def _cautions(
    check: Checker, raw: Any, where: str, norms: Norms, names: re.Pattern[str]
) -> tuple[Caution, ...]:
    rows = check.rows(raw, where, {"text", "lifts?", "source?", "note?"})
    if isinstance(raw, Collection) and not rows:
        check.complain(where, "expected at least one")
    return tuple(
        Caution(
            _text(check, row["text"], f"{where}: {number}", names),
            check.source(row.get("source"), f"{where}: {number}"),
            _lifts(check, row["lifts"], f"{where}: {number}", norms) if "lifts" in row else (),
        )
        for number, row in enumerate(rows, start=1)
    )


def _text(check: Checker, raw: Any, where: str, names: re.Pattern[str]) -> str:
    text = check.text(raw, where)
    named = names.search(text)
    if named:
        check.complain(where, f"names a lift ({named[0]}); put it under lifts")
    return text

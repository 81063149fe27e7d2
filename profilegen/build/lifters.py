"""One lifter's whole way: Athlete -> Profile -> Page -> HTML. Runs in a worker process.

No file is written here: the answer is bytes, so that a worker may sit on another machine.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache, lru_cache
from pathlib import Path

from pydantic import TypeAdapter

from profilegen.build.cache import CachedProfile
from profilegen.build.inputs import unpack
from profilegen.engine.assess import profile_of
from profilegen.engine.profile import Profile
from profilegen.history.load import read_athlete
from profilegen.history.records import Club, OwnLift
from profilegen.norms.catalogue import Norms, load_norms, with_own_lifts
from profilegen.render import Renderer
from profilegen.report.alone import report_alone
from profilegen.report.chapters import report_parts
from profilegen.report.compose import report_page
from profilegen.report.contract import profile_json, squad_line
from profilegen.report.links import Reading, one_file_path, profile_path, report_path
from profilegen.report.squad_parts import entry_of
from profilegen.report.summary import summarise

READINGS: tuple[Reading, ...] = ("coach", "lifter")


@dataclass(frozen=True, slots=True)
class Setting:
    """What all lifters of one build share."""

    club: Club
    on: date
    today: date
    templates: Path | None
    """None: the program's own, wherever they lie on the machine that does the work."""
    templates_sha256: str
    one_file: bool = False
    """Each report also as one file that needs no other."""
    parquet: bool = False
    """The squad's numbers also as a table for analysis."""
    logo: str = ""
    """The club's, as a data: address."""


@dataclass(frozen=True, slots=True)
class LifterTask:
    """One lifter whose pages must be made."""

    id: str
    key: str
    """Of everything the profile depends on."""
    path: Path
    packed: bytes | None
    """The athlete, as `inputs.pack` packs it."""
    written: bytes | None
    """Else what is in the athlete's file, which is known to be good."""
    profile: bytes | None
    """The profile as an earlier build kept it; None: to be computed."""


@dataclass(frozen=True, slots=True)
class LifterPages:
    """What became of a task."""

    id: str
    key: str
    files: tuple[tuple[str, bytes], ...]
    """Path in the site and content."""
    computed: CachedProfile | None
    """To be kept for later builds; None when it came from there."""


def paths_of(lifter_id: str, *, one_file: bool = False) -> tuple[str, ...]:
    """The files that every lifter has in the site; a long diary fills more."""
    return (
        *(report_path(lifter_id, reading) for reading in READINGS),
        *(one_file_path(lifter_id, reading) for reading in READINGS if one_file),
        profile_path(lifter_id),
    )


def build_lifters(setting: Setting, tasks: Sequence[LifterTask]) -> list[LifterPages]:
    """Make the pages of some lifters."""
    return [_build_lifter(setting, task) for task in tasks]


def norms_for(club: Club) -> Norms:
    """The catalogue with the club's own lifts."""
    return _norms_with(club.own_lifts)


def renderer_for(setting: Setting) -> Renderer:
    """The setting's templates, compiled once per process and again when they change."""
    return _renderer(setting.templates, setting.templates_sha256, setting.logo)


def _build_lifter(setting: Setting, task: LifterTask) -> LifterPages:
    club, norms = setting.club, norms_for(setting.club)
    if task.packed is not None:
        athlete = unpack(task.packed)
    else:
        written, today = task.written, setting.today
        athlete = read_athlete(task.path, norms.lifts, today=today, written=written)
    if task.profile is None:
        profile = profile_of(athlete, norms, setting.on, club)
        summary = summarise(profile, athlete, club)
        computed = CachedProfile(
            entry=entry_of(task.id, summary, club, norms).to_json().encode(),
            line=squad_line(summary),
            summary=summary.to_json(),
            # Whole numbers where a float may stand are fine, and come back as floats.
            profile=_profiles().dump_json(profile, warnings=False),
        )
    else:
        profile, computed = _profiles().validate_json(task.profile), None
    renderer = renderer_for(setting)
    pages: list[tuple[str, bytes]] = []
    for reading in READINGS:
        page = report_page(profile, athlete, club, norms, reading=reading)
        parts = report_parts(page, task.id, reading)
        for path, part in parts.items():
            pages += renderer.files(part, path)
        if setting.one_file:
            first = report_alone(parts[report_path(task.id, reading)])
            alone = renderer.report(first, one_file=True).encode()
            pages.append((one_file_path(task.id, reading), alone))
    numbers = (profile_path(task.id), profile_json(profile))
    return LifterPages(task.id, task.key, (*pages, numbers), computed)


@cache
def _profiles() -> TypeAdapter[Profile]:
    """Profiles to and from JSON, every digit kept."""
    return TypeAdapter(Profile)


@lru_cache(maxsize=2)
def _norms_with(own_lifts: tuple[OwnLift, ...]) -> Norms:
    return with_own_lifts(load_norms(), own_lifts)


@lru_cache(maxsize=2)
def _renderer(templates: Path | None, templates_sha256: str, logo: str) -> Renderer:
    return Renderer(templates, logo=logo)

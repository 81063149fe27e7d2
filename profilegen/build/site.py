"""A folder of athlete files in, a site out: parallel, incremental, all or nothing.

The whole build on one screen is `build_site`. What is unchanged since the last build is
kept: a lifter's pages when neither the lifter's file nor anything else they depend on has
changed, a lifter's profile when only the templates have. The squad pages are made from
summaries, so nothing ever holds all profiles at once.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from datetime import date
from functools import partial
from pathlib import Path

from profilegen.build.cache import CachedProfile, KeptLifters, ProfileCache
from profilegen.build.files import SiteChanger, SiteWriter, Untouched, Writer
from profilegen.build.inputs import Inputs, Source, check_ages, read_inputs, reread
from profilegen.build.jobs import Crew
from profilegen.build.lifters import (
    LifterTask,
    Setting,
    build_lifters,
    norms_for,
    paths_of,
    renderer_for,
)
from profilegen.build.logo import logo_address
from profilegen.build.manifest import (
    MANIFEST_NAME,
    LifterEntry,
    Manifest,
    read_manifest,
    sha256_of_parts,
    sha256_of_tree,
)
from profilegen.build.squad import SharedPage, SquadSetting, shared_pages
from profilegen.build.swap import (
    Workshop,
    check_site,
    explained,
    open_workshop,
    refuse_mixing,
    swap_in,
)
from profilegen.build.table import check_can_write
from profilegen.errors import InputError, Problem
from profilegen.render import default_templates_dir
from profilegen.report.links import SQUAD, lifter_of, one_file_path

Progress = Callable[[int, int], None]
"""Called with lifters done and lifters in all."""


@dataclass(frozen=True, slots=True)
class BuildResult:
    """What a build did."""

    lifters: int
    computed: int
    """Lifters whose profile was computed."""
    rendered: int
    """Lifters whose pages were made anew from a kept profile."""
    on: date
    open_first: str = SQUAD
    """The page to look at, relative to the site."""

    @property
    def unchanged(self) -> int:
        """Lifters whose pages were kept."""
        return self.lifters - self.computed - self.rendered


def build_site(
    squad_dir: Path,
    out_dir: Path,
    *,
    today: date,
    on: date | None = None,
    jobs: int | None = None,
    executor: Executor | None = None,
    progress: Progress = lambda done, total: None,
    templates_dir: Path | None = None,
    one_file: bool = False,
    parquet: bool = False,
    throwaway: bool = False,
) -> BuildResult:
    """Build the site of a squad, or leave the old one exactly as it is.

    Args:
        squad_dir: athlete files and club.yaml.
        out_dir: the site; new, empty, or built by this program before.
        today: nothing but meets may be later. Decides what is a mistake, never what a page
            says.
        on: the day the profiles are for; the latest session when left out.
        jobs: processes to share the work; one per processor, if worth it, when left out.
        executor: a `concurrent.futures`-style executor to use instead of own processes.
        progress: told how far the work is.
        templates_dir: other templates than the program's own.
        one_file: write each report once more, as one file that needs no other.
        parquet: write the squad's numbers as a table for analysis, too.
        throwaway: the site is nobody's but this process's, as a preview's: files are changed
            where they lie, and nothing waits for the disk.

    Raises:
        InputError: the squad's files have mistakes; nothing was written.
        OutputError: the site cannot be written; the old one is untouched.
    """
    if parquet:
        check_can_write()
    check_site(out_dir)
    refuse_mixing(out_dir, public=False)
    with Crew(executor, jobs) as crew:
        before = read_manifest(out_dir)
        inputs = read_inputs(squad_dir, today=today, before=before, crew=crew)
        day = on or _latest_session(inputs, squad_dir)
        check_ages(inputs, inputs.sources, day, asked=on is not None, before=before)
        templates = templates_dir or default_templates_dir()
        setting = Setting(
            club=inputs.club,
            on=day,
            today=today,
            templates=templates_dir,
            templates_sha256=sha256_of_tree(templates),
            one_file=one_file,
            logo=logo_address(squad_dir, inputs.club),
            parquet=parquet,
        )
        with open_workshop(out_dir) as shop:
            return _build(shop, inputs, setting, crew, progress, throwaway)


def _build(
    shop: Workshop,
    inputs: Inputs,
    setting: Setting,
    crew: Crew,
    progress: Progress,
    throwaway: bool,
) -> BuildResult:
    cache = ProfileCache(shop.cache)
    before = read_manifest(shop.site) or Manifest("", "", "", "")
    untouched = Untouched(shop.site, before, cache.stamps())
    in_place = throwaway and bool(before.files)
    changer = SiteChanger(untouched)
    writer: Writer = changer if in_place else SiteWriter(shop.building, untouched)
    keys = {source.id: _profile_key(inputs, setting, source) for source in inputs.sources}
    same_pages = before.templates_sha256 == setting.templates_sha256
    own_files = files_by_lifter(before)

    def can_keep(source: Source) -> bool:
        entry, own = before.lifters.get(source.id), own_files.get(source.id, set())
        return (
            same_pages
            and entry is not None
            and entry.profile_key == keys[source.id]
            and cache.has(keys[source.id])
            and own >= set(paths_of(source.id, one_file=setting.one_file))
            and (one_file_path(source.id) in own) == setting.one_file
            and untouched.all(own)
        )

    kept = {source.id for source in inputs.sources if can_keep(source)}
    for lifter_id in sorted(kept):
        for path in sorted(own_files[lifter_id]):
            writer.keep(path)

    to_make = [source for source in inputs.sources if source.id not in kept]
    tasks = (_task(source, keys[source.id], cache) for source in to_make)
    total, done, computed = len(inputs.sources), len(kept), 0
    progress(done, total)
    for made in crew.stream(partial(build_lifters, setting), tasks, len(to_make)):
        for path, content in made.files:
            writer.write(path, content)
        if made.computed:
            cache.keep(made.key, made.computed)
            computed += 1
        done += 1
        progress(done, total)

    for path, content in renderer_for(setting).assets().items():
        if untouched.all([path]):
            writer.keep(path)
        else:
            writer.write(path, content)
    shared = _put_shared(_shared_pages(setting, inputs, cache, keys), writer, untouched)
    manifest = Manifest(
        program_sha256=inputs.program_sha256,
        club_sha256=inputs.club_sha256,
        templates_sha256=setting.templates_sha256,
        on=setting.on.isoformat(),
        lifters={source.id: _entry(source, keys[source.id]) for source in inputs.sources},
        files=writer.files,
        shared=shared,
    )
    if in_place:
        changer.finish(manifest)
    elif manifest != before or writer.changed:
        with explained(shop.building):
            (shop.building / MANIFEST_NAME).write_bytes(manifest.to_bytes())
        swap_in(shop, durable=not throwaway)
    cache.finish(keys.values(), writer.stamps)
    return BuildResult(total, computed, len(to_make) - computed, setting.on)


def files_by_lifter(manifest: Manifest) -> Mapping[str, set[str]]:
    """The files of each lifter: how many pages a report has depends on the lifter."""
    files: dict[str, set[str]] = {}
    for path in manifest.files:
        if lifter_id := lifter_of(path):
            files.setdefault(lifter_id, set()).add(path)
    return files


def _latest_session(inputs: Inputs, squad_dir: Path) -> date:
    if inputs.latest_session_on is None:
        said = "no session in any file, so there is no day to take; give one with --on"
        raise InputError([Problem(str(squad_dir), 0, 0, "", said)])
    return inputs.latest_session_on


def _profile_key(inputs: Inputs, setting: Setting, source: Source) -> str:
    """Hash of everything a profile and its summary depend on; the id is part of both."""
    return sha256_of_parts(
        [
            inputs.program_sha256,
            inputs.club_sha256,
            setting.on.isoformat(),
            source.id,
            source.sha256,
        ]
    )


def _task(source: Source, key: str, cache: ProfileCache | None) -> LifterTask:
    profile = cache.read(key, "profile") if cache and cache.has(key) else None
    written = None if source.packed is not None else reread(source)
    return LifterTask(source.id, key, source.path, source.packed, written, profile)


def _entry(source: Source, key: str) -> LifterEntry:
    day = source.last_session_on
    return LifterEntry(source.sha256, key, day.isoformat() if day else None)


def _shared_pages(
    setting: Setting, inputs: Inputs, cache: ProfileCache, keys: Mapping[str, str]
) -> Iterator[SharedPage]:
    """The pages that show more than one lifter, or none, each with a hash of all it is from."""
    common = (
        inputs.program_sha256,
        inputs.club_sha256,
        setting.templates_sha256,
        setting.on.isoformat(),
    )
    squad = SquadSetting(
        renderer_for(setting),
        setting.club,
        norms_for(setting.club),
        setting.on,
        table=setting.parquet,
    )

    sources = {source.id: source for source in inputs.sources}

    def make_again(lifter_id: str) -> CachedProfile:
        (made,) = build_lifters(setting, [_task(sources[lifter_id], keys[lifter_id], None)])
        if made.computed is None:
            raise TypeError("a profile that was not to be computed")
        return made.computed

    known = KeptLifters(cache, keys, make_again)
    for page in shared_pages(squad, dict(sorted(keys.items())), known):
        yield replace(page, key=sha256_of_parts([*common, page.path, page.key]))


def _put_shared(
    pages: Iterable[SharedPage],
    writer: Writer,
    untouched: Untouched,
) -> dict[str, str]:
    """Keep or make each page; the key of every file that there is now."""
    shared: dict[str, str] = {}
    for page in pages:
        paths = untouched.made_from(page.key)
        for path in paths:
            writer.keep(path)
        for path, content in () if paths else page.make():
            writer.write(path, content)
            paths.append(path)
        shared |= dict.fromkeys(paths, page.key)
    return shared

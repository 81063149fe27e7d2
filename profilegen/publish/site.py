"""The copy that may leave the house: a folder for any web host, all or nothing.

What may be shown is decided in sharing.py, before the engine sees anything. Here the pieces
are put together: who is on the copy, under which names the files lie, which reports are
locked, and the list of what was published and why the rest was not.

A publication keeps no profiles from one time to the next: that would be a second place for
data nobody agreed to share, beside a folder that is about to be uploaded. Every page is made
anew, and is the same bytes when nothing has changed.
"""

from __future__ import annotations

import errno
import os
import shutil
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Executor
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import date
from functools import partial
from pathlib import Path

from profilegen.build.files import SiteWriter, Untouched
from profilegen.build.inputs import Inputs, Source, check_ages, read_inputs
from profilegen.build.jobs import Crew
from profilegen.build.lifters import Setting, norms_for, renderer_for
from profilegen.build.logo import logo_address
from profilegen.build.manifest import MANIFEST_NAME, Manifest, read_manifest, sha256_of_tree
from profilegen.build.squad import SquadSetting, SummarisedLifters, shared_pages
from profilegen.build.swap import check_site, explained, open_workshop, refuse_mixing, swap_in
from profilegen.errors import InputError, OutputError, Problem
from profilegen.history.records import Athlete
from profilegen.history.words import shown_path
from profilegen.publish.keys import KEYS_FILE, KeyRing, read_keys
from profilegen.publish.lifters import PublicPages, PublicTask, publish_lifters
from profilegen.publish.record import RECORD_NAME, Entry, record_text
from profilegen.publish.sharing import Terms, shared_history, terms_of
from profilegen.render import default_templates_dir
from profilegen.report.summary import Summary


@dataclass(frozen=True, slots=True)
class PublishResult:
    """What a publication did."""

    on: date
    lifters: int
    open: int
    locked: int
    on_squad_page: int
    left_out: int
    record: Path
    """The list of what was published and why the rest was not; it names everyone."""


@dataclass(frozen=True, slots=True)
class _Lifter:
    """One lifter without the history, which is read again when its turn comes."""

    source: Source
    entry: Entry


def publish_site(
    squad_dir: Path,
    public_dir: Path,
    *,
    today: date,
    on: date | None = None,
    one_file: bool = False,
    jobs: int | None = None,
    executor: Executor | None = None,
    progress: Callable[[int, int], None] = lambda done, total: None,
    templates_dir: Path | None = None,
) -> PublishResult:
    """Write the public copy of a squad's site, or leave the old one exactly as it is.

    Args:
        squad_dir: athlete files, club.yaml and, for locked reports, keys.yaml.
        public_dir: the public copy; new, empty, or published by this program before.
        today: nothing but meets may be later; nobody counts as older than today.
        on: the day the profiles are for; the latest session of a lifter with something to
            show when left out, so that the copy says nothing of the others, not even that.
        one_file: write each report once more, as one file that needs no other.
        jobs, executor, progress, templates_dir: as for a build.

    Raises:
        InputError: the squad's files have mistakes, or a key is missing; nothing was written.
        OutputError: the copy cannot be written; the old one is untouched.
    """
    _check_place(squad_dir, public_dir)
    with Crew(executor, jobs) as crew:
        inputs = read_inputs(squad_dir, today=today, before=None, crew=crew)
        day = on or _latest_shared_session(inputs.athletes(), squad_dir)
        ring = read_keys(squad_dir)
        lifters = _lifters(inputs, min(day, today), ring, squad_dir)
        entries = [one.entry for one in lifters]
        templates = templates_dir or default_templates_dir()
        setting = Setting(
            inputs.club,
            day,
            today,
            templates,
            sha256_of_tree(templates),
            one_file=one_file,
            logo=logo_address(squad_dir, inputs.club),
        )
        shown = [one for one in lifters if one.entry.terms.anything]
        check_ages(inputs, (one.source for one in shown), day, asked=on is not None)
        tasks = (_task(one.entry, inputs.athlete(one.source), ring) for one in shown)
        with open_workshop(public_dir) as shop:
            writer = SiteWriter(shop.building)
            on_page = {one.public_id for one in entries if one.terms.on_squad_page}
            summaries: list[Summary] = []
            progress(0, len(shown))
            work = crew.stream(partial(publish_lifters, setting), tasks, len(shown))
            for done, pages in enumerate(work, start=1):
                _write(writer, pages)
                if pages.public_id in on_page:
                    summaries.append(pages.summary)
                progress(done, len(shown))
            for path, content in _shared_files(setting, summaries):
                writer.write(path, content)
            before = read_manifest(shop.site)
            manifest = Manifest("", "", "", day.isoformat(), files=writer.files, public=True)
            record = squad_dir / RECORD_NAME
            with _in_place_after(record, record_text(entries, day, writer.files).encode()):
                if manifest != before or not Untouched(shop.site, before, {}).all(writer.files):
                    with explained(shop.building):
                        (shop.building / MANIFEST_NAME).write_bytes(manifest.to_bytes())
                    swap_in(shop)
    reports = [one.terms.report for one in entries]
    return PublishResult(
        on=day,
        lifters=len(lifters),
        open=reports.count("open"),
        locked=reports.count("locked"),
        on_squad_page=len(on_page),
        left_out=len(entries) - len(shown),
        record=record,
    )


@contextmanager
def _in_place_after(target: Path, content: bytes) -> Iterator[None]:
    """Write a file beside its place, and put it there right after what is done meanwhile."""
    beside = target.with_name(f".{target.name}.new")
    try:
        with explained(target):
            if target.is_dir():
                raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(target))
            beside.unlink(missing_ok=True)
            with beside.open("xb") as stream:
                stream.write(content)
                stream.flush()
                os.fsync(stream.fileno())
            if target.exists():
                shutil.copymode(target, beside)
        yield
        with explained(target):
            beside.replace(target)
    finally:
        with suppress(OSError):
            beside.unlink(missing_ok=True)


def _check_place(squad_dir: Path, public_dir: Path) -> None:
    site = check_site(public_dir)
    refuse_mixing(public_dir, public=True)
    if site.is_relative_to(squad_dir.resolve()):
        raise OutputError(
            f"{public_dir}: lies in the athletes folder, and whoever uploads that by mistake "
            "uploads everything; name a folder elsewhere"
        )


def _latest_shared_session(athletes: Iterable[Athlete], squad_dir: Path) -> date:
    """The latest session of anyone of whom something could be shown on that very day."""
    days = [
        one.last_session_on
        for one in athletes
        if one.last_session_on and terms_of(one, one.last_session_on).anything
    ]
    if not days:
        said = "no session of a lifter who shares anything, so there is no day; give one with --on"
        raise InputError([Problem(shown_path(squad_dir), 0, 0, "", said)])
    return max(days)


def _lifters(inputs: Inputs, day: date, ring: KeyRing, squad_dir: Path) -> list[_Lifter]:
    """Everyone with their terms and public names; InputError when a key is missing."""
    lifters, problems = [], []
    for source, athlete in zip(inputs.sources, inputs.athletes(), strict=True):
        terms = terms_of(athlete, day)
        locked = terms.report == "locked"
        if (locked and athlete.id not in ring.lifters) or (_hidden(terms) and not ring.secret):
            place = shown_path(squad_dir / athlete.path)
            what = "a locked report" if locked else "a report that does not show the file's name"
            said = f"{what} needs a key in {KEYS_FILE}; run `profilegen keys` once"
            problems.append(Problem(place, 0, 0, "sharing", said))
        else:
            public_id = athlete.id if terms.keeps_id else ring.page_name(athlete.id)
            entry = Entry(athlete.name, athlete.path, terms, public_id)
            lifters.append(_Lifter(source, entry))
    if problems:
        raise InputError(problems)
    return lifters


def _hidden(terms: Terms) -> bool:
    """Whether there is a report whose place must not show the lifter's id."""
    return terms.report != "off" and not terms.keeps_id


def _task(entry: Entry, athlete: Athlete, ring: KeyRing) -> PublicTask:
    locked = entry.terms.report == "locked"
    return PublicTask(
        history=shared_history(athlete, entry.terms, entry.public_id),
        terms=entry.terms,
        key=ring.lifters[athlete.id] if locked else None,
    )


def _write(writer: SiteWriter, pages: PublicPages) -> None:
    for path, content in pages.files:
        writer.write(path, content)


def _shared_files(setting: Setting, summaries: list[Summary]) -> Iterator[tuple[str, bytes]]:
    """The squad page, its numbers, the methods page, styles and scripts.

    Lifters stand in the order of what is shown of them: any other order would say something.
    """
    renderer, club, norms = renderer_for(setting), setting.club, norms_for(setting.club)
    shown = sorted(summaries, key=lambda one: (one.name.casefold(), one.to_json()))
    squad = SquadSetting(renderer, club, norms, setting.on, private=False, indexed=club.indexed)
    place = {f"{number:06d}": one for number, one in enumerate(shown)}
    known = SummarisedLifters(club, norms, place)
    for page in shared_pages(squad, dict.fromkeys(place, ""), known):
        yield from page.make()
    yield from renderer.assets().items()

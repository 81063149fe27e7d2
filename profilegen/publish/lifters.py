"""One lifter's way onto the public copy. Runs in a worker process; writes no file."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, replace

from profilegen.build.lifters import Setting, norms_for, renderer_for
from profilegen.engine.assess import profile_of
from profilegen.engine.profile import Profile
from profilegen.history.records import Athlete
from profilegen.publish.keys import LifterKey
from profilegen.publish.lock import lock
from profilegen.publish.sharing import Terms, shared_person, shared_profile, shared_summary
from profilegen.report.alone import head_alone, report_alone
from profilegen.report.compose import report_page
from profilegen.report.contract import dump, profile_json
from profilegen.report.links import one_file_path, profile_path, report_path
from profilegen.report.locked import LockedPage, locked_page
from profilegen.report.page import ReportPage
from profilegen.report.summary import Summary, summarise

PUBLIC_KEYS = (
    "schema",
    "athlete",
    "on",
    "verdict",
    "lifts",
    "ratios",
    "qualities",
    "chance_even",
    "scaled",
    "change",
)
"""What of `profile.json` is public: what the public report shows, and no more."""


@dataclass(frozen=True, slots=True)
class PublicTask:
    """One lifter of whom something may be shown."""

    history: Athlete
    """Already a `shared_history`; its id is the public one."""
    terms: Terms
    key: LifterKey | None
    """For a locked report."""


@dataclass(frozen=True, slots=True)
class PublicPages:
    """What became of a task."""

    public_id: str
    summary: Summary
    files: tuple[tuple[str, bytes], ...]
    """Path in the public copy and content."""


def publish_lifters(setting: Setting, tasks: Sequence[PublicTask]) -> list[PublicPages]:
    """Make the public pages of some lifters."""
    return [_publish_lifter(setting, task) for task in tasks]


def _publish_lifter(setting: Setting, task: PublicTask) -> PublicPages:
    club, terms, public_id = setting.club, task.terms, task.history.id
    full = profile_of(task.history, norms_for(club), setting.on, club)
    profile = shared_profile(full, terms)
    person = shared_person(task.history, profile, terms)
    href = report_path(public_id) if terms.report != "off" else ""
    summary = shared_summary(summarise(profile, task.history, club), terms, href)
    if task.key is not None:
        files = _locked(setting, profile, person, terms, task.key)
    elif terms.report == "open":
        files = _open(setting, profile, person)
    else:
        files = []
    return PublicPages(public_id, summary, tuple(files))


def _open(setting: Setting, profile: Profile, person: Athlete) -> list[tuple[str, bytes]]:
    """The club's reading and its numbers."""
    renderer, club = renderer_for(setting), setting.club
    page = report_page(profile, person, club, norms_for(club), reading="club", private=False)
    # without the age nobody may tell by this either that it is a junior's
    adult = profile.athlete.age is not None and not profile.athlete.junior
    page = _indexed(page, club.indexed and adult)
    files = [
        *renderer.files(page, report_path(person.id)),
        (profile_path(person.id), public_profile_json(profile)),
    ]
    if setting.one_file:
        alone = renderer.report(report_alone(page), one_file=True)
        files.append((one_file_path(person.id, "club"), alone.encode()))
    return files


def _locked(
    setting: Setting, profile: Profile, person: Athlete, terms: Terms, key: LifterKey
) -> list[tuple[str, bytes]]:
    """The lifter's reading, locked. Outside stands no more of the name than on the squad page."""
    renderer, club, norms = renderer_for(setting), setting.club, norms_for(setting.club)
    report = report_page(profile, person, club, norms, reading="lifter", private=False)
    name = person.name if terms.on_squad_page else ""

    def page(content: str) -> LockedPage:
        locked = lock(content, key.passphrase, key.salt)
        return locked_page(club, norms, locked.for_page(), name)

    outer = page(renderer.report_content(report))
    files = [(report_path(person.id), renderer.locked(outer).encode())]
    if setting.one_file:
        outer = page(renderer.report_content(report_alone(report)))
        outer = replace(outer, head=head_alone(outer.head))
        alone = renderer.locked(outer, one_file=True)
        files.append((one_file_path(person.id, "club"), alone.encode()))
    return files


def public_profile_json(profile: Profile) -> bytes:
    """`profile.json` as far as it is public; `profile` is a `shared_profile`."""
    numbers = json.loads(profile_json(profile))
    for lift in numbers["lifts"].values():
        del lift["avoided"]
    return dump({key: numbers[key] for key in PUBLIC_KEYS if key in numbers})


def _indexed(page: ReportPage, indexed: bool) -> ReportPage:
    return replace(page, head=replace(page.head, indexed=indexed))

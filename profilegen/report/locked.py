"""The outside of a locked report: what a reader sees before the passphrase."""

from __future__ import annotations

from dataclasses import dataclass

from profilegen.history.records import Club
from profilegen.norms.catalogue import Norms
from profilegen.report.compose import REPORT_ROOT
from profilegen.report.head import page_head
from profilegen.report.page import Head
from profilegen.report.words import voice_for


@dataclass(frozen=True, slots=True)
class LockedLabels:
    """Words of the lock; the script shows one of the sentences when its time has come."""

    passphrase: str
    unlock: str
    show: str
    working: str
    wrong: str
    insecure: str
    too_old: str
    without_script: str


@dataclass(frozen=True, slots=True)
class Lock:
    """What the browser needs for unlocking, none of it secret; bytes in base64."""

    rounds: int
    salt: str
    nonce: str
    sealed: str


@dataclass(frozen=True, slots=True)
class LockedPage:
    """The outer page, with what is locked in it."""

    head: Head
    title: str
    lead: str
    how: str
    labels: LockedLabels
    lock: Lock


def locked_page(club: Club, norms: Norms, lock: Lock, name: str) -> LockedPage:
    """The outer page of one lifter, called `name`, or of nobody in particular without one."""
    voice = voice_for(club, norms)
    _ = voice.words._
    title = _("Locked report")
    if name:
        title = _("Locked report: {name}").format(name=name)
    return LockedPage(
        head=page_head(
            voice,
            club,
            "report",
            title=title,
            description=_("This report opens with a passphrase."),
            private=False,
            root=REPORT_ROOT,
        ),
        title=title,
        lead=_("This report opens with the passphrase that the lifter got from the coach."),
        how=_("What you type is sent nowhere: the page unlocks itself in this browser."),
        labels=LockedLabels(
            passphrase=_("Passphrase"),
            unlock=_("Unlock"),
            show=_("Show what I type"),
            working=_("Unlocking …"),
            wrong=_(
                "That passphrase does not open this report. Check every word; capitals do not "
                "matter. If it has changed, ask the coach."
            ),
            insecure=_(
                "This address begins with http://, where browsers cannot unlock anything. Open the "
                "same address with https:// in front. If that does not work, save this page and "
                "open the saved file, or ask whoever runs the site to turn on HTTPS."
            ),
            too_old=_("This browser is too old to unlock the report. Update it, or try another."),
            without_script=_("Unlocking needs JavaScript, which is switched off here."),
        ),
        lock=lock,
    )

"""What may leave the house: one lifter's `sharing`, their age, and what follows from both.

The rules, in the order in which they are applied to one lifter (`terms_of`):

1. Without a `sharing` block in the file, nothing is published.
2. Under 18 on the day of the copy, and no guardian's consent recorded up to that day: no open
   report (a locked one may be), initials at most, no body mass.
3. `report`: open to everyone, locked with the lifter's own passphrase, or off.
4. `squad`: on the squad page by name, by initials, or not at all. It also says what the lifter
   is called in the report: initials, unless it is `name`.
5. `body_mass: hidden`: no body mass, no class, no multiples of it, no points. The profile is
   computed as if nobody had ever weighed the lifter; a number computed with a body mass could
   give it away to anyone who runs this program on the published sets.
6. Without the name no age, not even whether it is under 18: everyone whose age is held back
   is computed and spoken of alike, as if nobody knew when they were born.

Three functions carry the rules out, each pure and each by naming what may pass, so that
anything a later version adds stays in the house until it is named here: `shared_history`
before the engine, `shared_profile` and `shared_summary` before anything is composed. What
never passes: the coach's notes, remarks on sets and days, videos, reasons to avoid a lift and
the list itself, the training group, meets' names and targets, questions, assumptions,
warnings, diagnostics, the date of birth, the day of consent and line numbers in the file. The
age passes only with the name. A locked report holds no more than an open one: the lock is a
second fence.
"""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass, replace
from datetime import date
from typing import Literal

from profilegen.engine.profile import Diagnostics, EvidenceReading, Person, Profile
from profilegen.history.records import Athlete, Avoid, Best, PlannedMeet, Session, Sharing
from profilegen.norms.catalogue import COMING_OF_AGE
from profilegen.report.summary import MAIN_LIFTS, Summary

UNKNOWN_AGE = 32
"""Years at the latest session of whoever's age is held back: where adults gain next to nothing
by age and do not lose yet (`yearly_gain` of the norms, ages 30 to 34)."""
NO_NAME = "N. N."
"""For a name of which no letter can be shown without showing a whole part of it."""


@dataclass(frozen=True, slots=True)
class Terms:
    """What may be shown of one lifter on one day, and why not more."""

    report: Literal["open", "locked", "off"] = "off"
    by_name: bool = False
    on_squad_page: bool = False
    body_mass: bool = False
    held_back: tuple[str, ...] = ()
    """Why each thing that is not shown is not shown, in plain words."""

    @property
    def anything(self) -> bool:
        """Whether the lifter is on the public copy at all."""
        return self.report != "off" or self.on_squad_page

    @property
    def keeps_id(self) -> bool:
        """Whether the file's name, often a first name, may name public pages."""
        return self.by_name and self.report == "open"


def terms_of(athlete: Athlete, day: date) -> Terms:
    """What may be shown of a lifter on a public copy made for `day`."""
    asked = athlete.sharing
    if not asked.stated:
        return Terms(held_back=("everything: the file has no `sharing` block",))
    consent = asked.guardian_consent_on
    minor = athlete.age_on(day) < COMING_OF_AGE and (consent is None or consent > day)
    report, name, mass = asked.report, asked.squad == "name", asked.body_mass == "shown"
    why: list[str] = []
    if report == "off":
        why.append("report: `report` is off")
    elif minor and report == "open":
        report = "off"
        why.append(f"report: open, but {_no_consent(consent)}")
    if asked.squad == "off":
        why.append("squad page: `squad` is off")
    elif asked.squad == "initials":
        why.append("name, age: `squad` is initials")
    elif minor:
        name = False
        why.append(f"name, age: {_no_consent(consent)}")
    if not mass:
        why.append("body mass: `body_mass` is hidden")
    elif minor:
        mass = False
        why.append(f"body mass: {_no_consent(consent)}")
    return Terms(report, name, asked.squad != "off", mass, tuple(why))


def _no_consent(consent: date | None) -> str:
    under = f"under {COMING_OF_AGE} and no `guardian_consent`"
    return under if consent is None else f"{under} up to the day of this copy"


def initials(name: str) -> str:
    """The first letters of the first and the last word.

    A sign that stands for a syllable or a whole word (Chinese, Korean) would give a whole part
    of the name away, and is left out.

    >>> initials("Yuki Hanamori"), initials("jean-luc van der Berg"), initials("Åsa")
    ('Y. H.', 'J. B.', 'Å.')
    >>> initials("王 伟")
    'N. N.'
    """
    words = unicodedata.normalize("NFC", name).split()
    letters = [_first_letter(word) for word in (words[:1] + words[1:][-1:])]
    return " ".join(f"{letter}." for letter in letters if letter) or NO_NAME


def _first_letter(word: str) -> str:
    letter = next((character for character in word if character.isalpha()), "")
    whole = unicodedata.east_asian_width(letter) in "WF" if letter else False
    return "" if whole or len(letter.upper()) > 1 else letter.upper()


def shared_history(athlete: Athlete, terms: Terms, public_id: str) -> Athlete:
    """The history as far as public numbers may rest on it: the engine is given no more."""
    return Athlete(
        id=public_id,
        name=athlete.name if terms.by_name else initials(athlete.name),
        sex=athlete.sex,
        born=athlete.born if terms.by_name else _anyones_birthday(athlete),
        units=athlete.units,
        build=athlete.build,
        # The lifts alone: whatever proposes lifts must never propose these.
        avoid=tuple(Avoid(one.lift) for one in athlete.avoid),
        # The days alone: a single made right before a meet was probably not all there was.
        meets=tuple(PlannedMeet(one.on, "") for one in athlete.meets),
        bests=tuple(
            Best(one.lift, one.load_kg, one.around, one.vague_days, one.source, one.line)
            for one in athlete.bests
        ),
        sessions=tuple(_shared_session(one, terms) for one in athlete.sessions),
    )


def _anyones_birthday(athlete: Athlete) -> date:
    """A birthday that says nothing: worked out from days that are published anyway."""
    latest = athlete.last_session_on or max((one.around for one in athlete.bests), default=None)
    return date((latest.year if latest else 2000) - UNKNOWN_AGE, 1, 1)


def _shared_session(session: Session, terms: Terms) -> Session:
    return Session(
        on=session.on,
        at=session.at,
        body_mass_kg=session.body_mass_kg if terms.body_mass else None,
        sets=tuple(replace(one, video=None, note=None) for one in session.sets),
        line=session.line,
    )


def shared_person(history: Athlete, profile: Profile, terms: Terms) -> Athlete:
    """What composing needs of the history: who, and the unit of the bar. Of the birthday no
    more than the age, and not that either without the name."""
    age = history.age_on(profile.on) if terms.by_name else 0
    return Athlete(
        id=history.id,
        name=history.name,
        sex=history.sex,
        born=date(profile.on.year - age, 1, 1),
        units=history.units,
    )


def shared_profile(profile: Profile, terms: Terms) -> Profile:
    """The profile of a `shared_history` without what is for the coach alone."""
    person = profile.athlete
    return Profile(
        athlete=Person(
            id=person.id,
            name=person.name,
            sex=person.sex,
            age=person.age if terms.by_name else None,
            body_mass_kg=person.body_mass_kg if terms.body_mass else None,
            group=None,
            junior=person.junior and terms.by_name,
        ),
        on=profile.on,
        lifts={key: replace(one, avoided=False) for key, one in profile.lifts.items()},
        ratios=profile.ratios,
        qualities=profile.qualities,
        chance_even=profile.chance_even,
        verdict=profile.verdict,
        evidence=tuple(
            _shared_row(row) for row in profile.evidence if row.used and row.lift in MAIN_LIFTS
        ),
        tracks={key: one for key, one in profile.tracks.items() if key in MAIN_LIFTS},
        assumptions=(),
        warnings=(),
        scaled=profile.scaled if terms.body_mass else (),
        diagnostics=Diagnostics(0, True, 0, 0, 0.0),
        change=profile.change,
    )


def _shared_row(row: EvidenceReading) -> EvidenceReading:
    return replace(row, surprise=None, note=None, video=None, line=0)


def shared_summary(summary: Summary, terms: Terms, href: str) -> Summary:
    """One lifter on the public squad page. `href` is empty where there is no report."""
    return Summary(
        id=summary.id if href else "",
        name=summary.name,
        sex=summary.sex,
        age=summary.age if terms.by_name else None,
        junior=summary.junior and terms.by_name,
        group=None,
        body_mass_kg=summary.body_mass_kg if terms.body_mass else None,
        category=summary.category if terms.body_mass else None,
        on=summary.on,
        limiter=summary.limiter,
        chance=summary.chance,
        confidence=summary.confidence,
        known=summary.known,
        kilos=summary.kilos,
        second=summary.second,
        second_chance=summary.second_chance,
        chance_even=summary.chance_even,
        lifts=summary.lifts,
        scaled=summary.scaled if terms.body_mass else (),
        qualities=summary.qualities,
        weeks=summary.weeks,
        since=summary.since,
        since_on=summary.since_on,
        changes=summary.changes,
        href=href,
        sharing=Sharing(),
    )

"""Profile -> ReportPage: what one lifter's report says, in which order."""

from __future__ import annotations

from profilegen.engine.profile import Profile, Verdict
from profilegen.history.records import Athlete, Club
from profilegen.norms.catalogue import Norms
from profilegen.report.cautions import short_caution
from profilegen.report.head import page_head
from profilegen.report.links import Reading
from profilegen.report.page import Answer, Link, MainFigure, ReportPage, Section
from profilegen.report.sections_about import (
    cautions_section,
    diagnostics_section,
    reading_section,
    scaled_section,
)
from profilegen.report.sections_company import company_section, marks_section
from profilegen.report.sections_emphasis import emphasis_section
from profilegen.report.sections_evidence import (
    assumptions_section,
    check_first_section,
    evidence_sections,
    notes_section,
)
from profilegen.report.sections_lifts import lifts_section, pointers_section, ratios_section
from profilegen.report.sections_meets import meet_sections
from profilegen.report.sections_qualities import kilos_section, why_section
from profilegen.report.sections_tests import next_tests_section
from profilegen.report.sections_time import change_section, others_section, time_section
from profilegen.report.sections_whatif import what_if_section
from profilegen.report.sections_why import question_sections
from profilegen.report.summary import MAIN_LIFTS
from profilegen.report.words import (
    Voice,
    age_text,
    basis_label,
    bests_sentence,
    confidence_sentence,
    second_sentence,
    sex_name,
    verdict_sentence,
    voice_for,
    worth_sentence,
)

REPORT_ROOT = "../../"
"""The way up from lifters/ID/ to the site's root."""


def report_page(
    profile: Profile,
    athlete: Athlete,
    club: Club,
    norms: Norms,
    *,
    reading: Reading = "coach",
    private: bool = True,
) -> ReportPage:
    """One lifter's report: everything for the coach, or a short reading for lifter or club."""
    voice = voice_for(
        club,
        norms,
        athlete.name,
        you=reading == "lifter",
        junior=profile.athlete.junior,
        age_told=profile.athlete.age is not None,
    )
    sentence = verdict_sentence(voice, profile.verdict)
    return ReportPage(
        head=page_head(
            voice,
            club,
            "report",
            title=athlete.name,
            description=sentence,
            private=private,
            root=REPORT_ROOT,
            more_links=_readings(voice, reading, private),
        ),
        name=athlete.name,
        facts=_facts(voice, profile),
        answer=answer(voice, profile),
        figures=_figures(voice, profile),
        caution=short_caution(voice),
        sections=_sections(voice, profile, athlete, norms, reading, private),
        bests=bests_sentence(voice, profile.lifts, MAIN_LIFTS, profile.on),
    )


def _readings(voice: Voice, reading: Reading, private: bool) -> tuple[Link, ...]:
    """The way to the other reading; a public copy of the short one does not lead to the long."""
    if reading == "coach":
        return (Link(voice.words._("In short"), "lifter.html"),)
    return (Link(voice.words._("In full"), "index.html"),) if private else ()


def answer(voice: Voice, profile: Profile) -> Answer:
    """The verdict: one sentence, how sure, what it would be worth."""
    verdict = profile.verdict
    tenths = plates(voice, verdict)
    return Answer(
        sentence=verdict_sentence(voice, verdict),
        sure=confidence_sentence(voice.words, verdict),
        plates=tenths,
        worth=worth_sentence(voice, verdict, profile.qualities),
        next=second_sentence(voice, verdict),
    )


def plates(voice: Voice, verdict: Verdict) -> tuple[bool, ...]:
    """Ten plates, as many filled as there are chances in ten; none where too little is known."""
    if verdict.known != "enough":
        return ()
    filled = voice.show.of_ten(verdict.chance)
    return tuple(i < filled for i in range(10))


def _facts(voice: Voice, profile: Profile) -> tuple[str, ...]:
    person = profile.athlete
    facts = [sex_name(voice.words, person.sex, person.junior)]
    if person.age is not None:
        facts.append(age_text(voice.words, person.age))
    if person.body_mass_kg is not None:
        facts.append(voice.show.body_mass(person.body_mass_kg))
    if person.group:
        facts.append(person.group)
    facts.append(voice.show.day(profile.on))
    return tuple(facts)


def _figures(voice: Voice, profile: Profile) -> tuple[MainFigure, ...]:
    show = voice.show
    if profile.verdict.known == "nothing":
        return ()
    return tuple(
        MainFigure(
            voice.lift(key),
            show.load(lift.estimate_kg),
            show.load_range(lift.low_kg, lift.high_kg),
            lift.basis,
            basis_label(voice.words, lift.basis),
        )
        for key in MAIN_LIFTS
        if (lift := profile.lifts.get(key)) is not None
    )


def _sections(
    voice: Voice,
    profile: Profile,
    athlete: Athlete,
    norms: Norms,
    reading: Reading,
    private: bool,
) -> tuple[Section, ...]:
    parts: list[Section | None]
    common: list[Section | None] = [
        # a public copy does not know which lifts to avoid, so it names none to train
        why_section(voice, profile, norms, training=private),
        kilos_section(voice, profile, training=private),
        lifts_section(voice, profile, in_numbers=reading == "coach", bests=private),
    ]
    if profile.verdict.known == "nothing":
        parts = _of_nobody(voice, profile, athlete, norms, reading, private)
    elif reading != "coach":
        parts = [
            *common,
            emphasis_section(voice, profile, norms) if private else None,
            time_section(voice, profile, athlete),
            change_section(voice, profile),
            cautions_section(voice),
            reading_section(voice, profile),
        ]
    else:
        parts = [
            check_first_section(voice, profile),
            *common,
            *question_sections(voice, profile, norms),
            emphasis_section(voice, profile, norms),
            next_tests_section(voice, profile),
            *meet_sections(voice, profile),
            # its answer is the verdict's
            what_if_section(voice, profile) if profile.verdict.known == "enough" else None,
            ratios_section(voice, profile, norms),
            pointers_section(voice, profile),
            company_section(voice, profile),
            marks_section(voice, profile),
            time_section(voice, profile, athlete),
            others_section(voice, profile, athlete),
            change_section(voice, profile),
            notes_section(voice, athlete),
            *evidence_sections(voice, profile, athlete),
            assumptions_section(voice, profile),
            scaled_section(voice, profile, norms),
            cautions_section(voice),
            reading_section(voice, profile),
            diagnostics_section(voice, profile),
        ]
    return tuple(part for part in parts if part is not None)


def _of_nobody(
    voice: Voice,
    profile: Profile,
    athlete: Athlete,
    norms: Norms,
    reading: Reading,
    private: bool,
) -> list[Section | None]:
    """What is left to say without a single row: every number would be that of anyone."""
    short = [
        why_section(voice, profile, norms, training=private),
        kilos_section(voice, profile, training=private),
    ]
    if reading != "coach":
        return [*short, cautions_section(voice), reading_section(voice, profile)]
    return [
        *short,
        *question_sections(voice, profile, norms),
        next_tests_section(voice, profile),
        *meet_sections(voice, profile),
        notes_section(voice, athlete),
        *evidence_sections(voice, profile, athlete),
        assumptions_section(voice, profile),
        cautions_section(voice),
        reading_section(voice, profile),
        diagnostics_section(voice, profile),
    ]

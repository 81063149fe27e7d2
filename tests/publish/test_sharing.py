"""Who may be shown how: the rules, written out once more as a table, and what passes them."""

from __future__ import annotations

import json
from dataclasses import fields, replace
from datetime import date
from itertools import product
from typing import Any

import pytest

from profilegen.engine.profile import EvidenceReading, LiftEstimate, Profile
from profilegen.history.records import Athlete, Session, SetRecord, Sharing
from profilegen.publish.lifters import public_profile_json
from profilegen.publish.sharing import (
    Terms,
    initials,
    shared_history,
    shared_person,
    shared_profile,
    shared_summary,
    terms_of,
)
from profilegen.report.summary import Summary, summarise
from tests.samples import ATHLETE, CLUB, profile, verdict

DAY = date(2026, 11, 21)
ADULT, MINOR = date(2000, 1, 1), date(2011, 1, 1)
ASKED = list(product(("open", "locked", "off"), ("name", "initials", "off"), ("shown", "hidden")))
BEFORE, AFTER = date(2026, 1, 10), date(2026, 11, 22)
EVERYTHING = Terms(report="open", by_name=True, on_squad_page=True, body_mass=True)


def lifter(born: date = ADULT, **sharing: Any) -> Athlete:
    return replace(ATHLETE, born=born, sharing=Sharing(stated=True, **sharing))


def shown(terms: Terms) -> tuple[str, str, bool]:
    squad = "off" if not terms.on_squad_page else "name" if terms.by_name else "initials"
    return terms.report, squad, terms.body_mass


class TestTerms:
    def test_without_a_sharing_block_nothing_leaves_the_house(self) -> None:
        terms = terms_of(replace(ATHLETE, sharing=Sharing()), DAY)
        assert not terms.anything
        assert terms.held_back == ("everything: the file has no `sharing` block",)

    def test_an_empty_block_shares_nothing_either(self) -> None:
        assert not terms_of(lifter(), DAY).anything

    @pytest.mark.parametrize(
        ("report", "squad", "mass"),
        ASKED,
    )
    def test_an_adult_gets_what_was_asked_for(self, report: Any, squad: Any, mass: Any) -> None:
        terms = terms_of(lifter(report=report, squad=squad, body_mass=mass), DAY)
        assert shown(terms) == (report, squad, mass == "shown")

    # Under 18 without consent: report never open, initials at most, body mass hidden.
    @pytest.mark.parametrize("consent", [None, AFTER])
    @pytest.mark.parametrize(
        ("report", "squad", "mass"),
        ASKED,
    )
    def test_a_minor_without_consent_gets_less(
        self, report: Any, squad: Any, mass: Any, consent: date | None
    ) -> None:
        asked = lifter(
            MINOR, report=report, squad=squad, body_mass=mass, guardian_consent_on=consent
        )
        expected = (
            {"open": "off"}.get(report, report),
            {"name": "initials"}.get(squad, squad),
            False,
        )
        assert shown(terms_of(asked, DAY)) == expected

    @pytest.mark.parametrize("consent", [BEFORE, DAY])
    def test_with_consent_recorded_by_that_day_a_minor_gets_what_was_asked_for(
        self, consent: date
    ) -> None:
        asked = lifter(
            MINOR, report="open", squad="name", body_mass="shown", guardian_consent_on=consent
        )
        assert shown(terms_of(asked, DAY)) == ("open", "name", True)

    def test_eighteen_begins_on_the_birthday(self) -> None:
        asked = lifter(date(2008, 11, 21), report="open", squad="name", body_mass="shown")
        assert terms_of(asked, DAY).report == "open"
        assert terms_of(asked, date(2026, 11, 20)).report == "off"

    def test_every_thing_held_back_has_a_reason(self) -> None:
        choices = product(
            ("open", "locked", "off"), ("name", "initials", "off"), ("shown", "hidden"),
            (ADULT, MINOR), (None, BEFORE, AFTER),
        )  # fmt: skip
        for report, squad, mass, born, consent in choices:
            asked: dict[str, Any] = {"report": report, "squad": squad, "body_mass": mass}
            terms = terms_of(lifter(born, guardian_consent_on=consent, **asked), DAY)
            reasons = " | ".join(terms.held_back)
            assert ("report:" in reasons) == (terms.report == "off")
            assert ("body mass:" in reasons) == (not terms.body_mass)
            assert ("squad page:" in reasons) == (not terms.on_squad_page)
            assert ("name, age:" in reasons) == (terms.on_squad_page and not terms.by_name)

    def test_a_file_name_names_pages_only_of_open_reports_by_name(self) -> None:
        for report, by_name in product(("open", "locked", "off"), (True, False)):
            terms = Terms(report=report, by_name=by_name)  # type: ignore[arg-type]
            assert terms.keeps_id == (report == "open" and by_name)


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("Yuki Hanamori", "Y. H."),
        ("jean-luc de la Tour", "J. T."),
        ("Åsa", "Å."),
        ("A\u030asa Öst", "Å. Ö."),
        ("  'Ötzi'  Ng ", "Ö. N."),
        ("Ольга Петрова", "О. П."),
        ("王 伟", "N. N."),
        ("김 Minsu", "M."),
        ("ßeta", "N. N."),
        ("42", "N. N."),
    ],
)
def test_initials_give_no_whole_part_of_a_name_away(name: str, expected: str) -> None:
    assert initials(name) == expected


class TestHistory:
    PRIVATE = replace(
        lifter(report="open", squad="name", body_mass="hidden"),
        group="rehab",
        notes="secret note",
        sessions=(
            Session(
                DAY,
                body_mass_kg=63.4,
                note="slept badly",
                sets=(SetRecord("snatch", 84, note="tired", video="https://example.org/v"),),
            ),
        ),
    )

    def test_remarks_videos_notes_and_group_stay_in_the_house(self) -> None:
        history = shared_history(self.PRIVATE, EVERYTHING, "id")
        text = repr(history)
        for word in ("secret", "slept", "tired", "example.org", "rehab", "mara"):
            assert word not in text
        assert history.sharing == Sharing()
        assert history.sessions[0].body_mass_kg == 63.4

    def test_hidden_body_mass_is_as_if_nobody_had_weighed_the_lifter(self) -> None:
        """A number computed with it could be traced back to it."""
        history = shared_history(self.PRIVATE, replace(EVERYTHING, body_mass=False), "id")
        assert [session.body_mass_kg for session in history.sessions] == [None]

    def test_sets_stay_as_they_were_lifted(self) -> None:
        one = shared_history(self.PRIVATE, EVERYTHING, "id").sessions[0].sets[0]
        assert one == SetRecord("snatch", 84)


class TestWhatIsComposed:
    def test_without_the_name_there_is_no_age(self) -> None:
        terms = replace(EVERYTHING, by_name=False)
        shared = shared_profile(profile(), terms)
        assert shared.athlete.age is None
        summary = shared_summary(summarise(profile(), ATHLETE, CLUB), terms, "x")
        assert summary.age is None
        assert shared_person(ATHLETE, shared, terms).born == date(shared.on.year, 1, 1)

    def test_of_the_birthday_the_age_is_all_that_is_left(self) -> None:
        full = profile()
        person = shared_person(ATHLETE, full, EVERYTHING)
        assert person.age_on(full.on) == ATHLETE.age_on(full.on)
        assert (person.born.month, person.born.day) == (1, 1)

    def test_the_list_of_lifts_to_avoid_stays_in_the_house(self) -> None:
        full = profile()
        lifts = {key: replace(one, avoided=True) for key, one in full.lifts.items()}
        shared = shared_profile(replace(full, lifts=lifts), EVERYTHING)
        assert not any(one.avoided for one in shared.lifts.values())

    def test_only_rows_that_the_public_charts_show_pass_and_without_remarks(self) -> None:
        full = profile()
        rows = [replace(row, note="n", video="v", line=7, surprise=0.01) for row in full.evidence]
        shared = shared_profile(replace(full, evidence=tuple(rows)), EVERYTHING)
        assert shared.evidence
        for row in shared.evidence:
            assert row.lift in {"snatch", "clean_and_jerk", "total"}
            assert (row.note, row.video, row.line, row.surprise) == (None, None, 0, None)

    def test_hidden_body_mass_takes_all_that_follows_from_it(self) -> None:
        terms = replace(EVERYTHING, body_mass=False)
        shared = shared_profile(profile(), terms)
        assert (shared.athlete.body_mass_kg, shared.scaled) == (None, ())
        summary = shared_summary(summarise(profile(), ATHLETE, CLUB), terms, "x")
        assert (summary.body_mass_kg, summary.category, summary.category_order) == (None, None, 0)
        assert summary.scaled == ()

    def test_the_coachs_parts_are_empty(self) -> None:
        shared = shared_profile(profile(), EVERYTHING)
        assert (shared.assumptions, shared.warnings, shared.pointers) == ((), (), ())

    def test_whether_enough_is_known_passes_and_what_is_not_proposed_stays(self) -> None:
        """Without the first a public page would sell a guess; the second tells of an injury."""
        early = verdict("even", 0.61, "open", known="little")
        full = profile(verdict=early, not_proposed=("jerk", "push_press"))
        shared = shared_profile(full, EVERYTHING)
        assert shared.verdict.known == "little"
        assert shared.not_proposed == ()
        summary = shared_summary(summarise(full, ATHLETE, CLUB), EVERYTHING, "x")
        assert summary.known == "little"
        numbers = json.loads(public_profile_json(replace(full, next_tests=None)))
        assert numbers["verdict"]["known"] == "little"
        assert "not_proposed" not in numbers

    # A new field of these values must not become public by accident: whoever adds one decides,
    # in sharing.py, and writes it down here.
    DECIDED: dict[type, str] = {  # noqa: RUF012
        Profile: (
            "athlete on lifts ratios qualities chance_even verdict evidence tracks assumptions "
            "warnings scaled diagnostics pointers change"
        ),
        Summary: (
            "id name sex age junior group body_mass_kg category category_order on limiter chance "
            "confidence known kilos second second_chance chance_even lifts scaled qualities weeks "
            "since changes href sharing"
        ),
        LiftEstimate: (
            "lift estimate_kg low_kg high_kg basis avoided best_made_kg best_made_on last_tested "
            "body_mass_multiple usual_kg relative relative_low relative_high"
        ),
        EvidenceReading: (
            "on at lift load_kg kind reps in_reserve missed speed_m_s share says_kg says_low_kg "
            "says_high_kg used surprise note line video vague_days drew_line"
        ),
        SetRecord: (
            "lift load_kg reps in_reserve missed effort_max looked share speed_m_s video note line"
        ),
    }

    @pytest.mark.parametrize("kind", [LiftEstimate, EvidenceReading, SetRecord])
    def test_values_that_pass_as_they_are_have_no_field_nobody_thought_of(self, kind: Any) -> None:
        assert {field.name for field in fields(kind)} == set(self.DECIDED[kind].split())

    def test_new_parts_of_a_profile_or_summary_are_left_out_until_named(self) -> None:
        """Every part that is not decided has a default, and the public copy gets just that."""
        summary = shared_summary(summarise(profile(), ATHLETE, CLUB), EVERYTHING, "x")
        for value in (shared_profile(profile(), EVERYTHING), summary):
            decided = set(self.DECIDED[type(value)].split())
            for field in fields(value):
                if field.name not in decided:
                    assert getattr(value, field.name) == field.default, field.name

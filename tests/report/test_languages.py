"""The language files are complete, and what they say is right in numbers, dates and manners.

Outside truth: the Unicode CLDR, as Babel carries it, for numbers, percents, dates and months.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from html.parser import HTMLParser
from pathlib import Path
from typing import get_args

import pytest
from babel.dates import format_date, get_month_names
from babel.messages.catalog import Catalog, Message
from babel.numbers import format_decimal, format_percent

from profilegen.engine.assess import profile_of
from profilegen.engine.profile import Confidence
from profilegen.errors import InputError
from profilegen.history.load import load_squad
from profilegen.history.records import Units
from profilegen.history.schema import ClubFile
from profilegen.norms.catalogue import QUALITIES, Limiter, load_norms, with_own_lifts
from profilegen.render import default_templates_dir
from profilegen.report.cautions import cautions, short_caution
from profilegen.report.compose import report_page
from profilegen.report.format import Format
from profilegen.report.glossary import glossary
from profilegen.report.language import words_in
from profilegen.report.words import (
    Voice,
    confidence_sentence,
    ratio_names,
    second_sentence,
    verdict_sentence,
    voice_for,
    worth_sentence,
)
from tests import languages
from tests.report.test_compose import outline
from tests.samples import CLUB, NORMS, qualities, verdict
from tests.squads import DEMO, TODAY, SmallSquad, german_squad

GOLDEN = Path(__file__).parents[1] / "golden"
KNOWN = languages.languages()
GERMAN = Format(words_in("de"))
PLACE = re.compile(r"\{\w*\}")

CLDR = {"en": "en_GB", "de": "de_DE"}
"""Whose customs each language follows."""


@pytest.fixture(scope="module", params=KNOWN)
def kept(request: pytest.FixtureRequest) -> Catalog:
    """A language's file as it is kept."""
    return languages.catalog_of(request.param)


@pytest.fixture(scope="module")
def german() -> dict[str, Message]:
    """German by its English."""
    return {str(message.id): message for message in languages.catalog_of("de") if message.id}


def pairs(catalog: Catalog) -> Iterator[tuple[str, str]]:
    """Every text with its translation, every plural form with its own."""
    for message in catalog:
        if not message.id:
            continue
        if isinstance(message.id, str):
            yield message.id, str(message.string)
        else:
            yield from ((message.id[-1], form) for form in message.string)


# The files


def test_every_text_has_a_translation(kept: Catalog) -> None:
    """A text that was added or changed shows up here; see DEVELOPERS.md."""
    now = languages.updated(str(kept.locale))
    assert languages.missing(now) == []
    assert not [message.id for message in kept if message.fuzzy and message.id]


def test_the_file_holds_todays_texts_and_no_others(kept: Catalog) -> None:
    """Brought up to date with: python -m tests.languages"""
    language = str(kept.locale)
    now = languages.po_bytes(languages.updated(language))
    assert languages.po_path(language).read_bytes() == now


def test_the_program_reads_what_people_edit(kept: Catalog) -> None:
    """The .mo file is made from the .po file."""
    language = str(kept.locale)
    assert languages.mo_path(language).read_bytes() == languages.mo_bytes(
        languages.updated(language)
    )


def test_a_translation_has_the_same_placeholders(kept: Catalog) -> None:
    """Each at least once, and no others."""
    assert [
        (text, said)
        for text, said in pairs(kept)
        if set(PLACE.findall(text)) != set(PLACE.findall(said))
    ] == []


def test_a_sentence_stays_a_sentence(kept: Catalog) -> None:
    """Full stops, questions and spaces at the ends are kept."""

    def ends(text: str) -> tuple[str, bool, bool]:
        last = text[-1] if text[-1] in ".?:…" and text[-4:] not in ("n.d.", "o. J.") else ""
        return last, text[0].isspace(), text[-1].isspace()

    marks = {".", ",", "n.d."}
    contexts = {"month", "short month", "decimal mark", "thousands mark"}
    odd = [
        (message.id, message.string)
        for message in kept
        if isinstance(message.id, str)
        and message.id
        and message.context not in contexts
        and message.id not in marks
        and ends(message.id) != ends(str(message.string))
    ]
    assert odd == []


def test_a_club_may_choose_every_language_there_is_a_file_for() -> None:
    """And no other: pages in a language without a file would be in English."""
    assert set(get_args(ClubFile.model_fields["language"].annotation)) == {"en", *KNOWN}


def test_an_unknown_language_is_a_mistake_that_names_the_known_ones(squad: SmallSquad) -> None:
    club = squad.folder / "club.yaml"
    club.write_text(club.read_text() + "language: fr\n")
    with pytest.raises(InputError) as raised:
        load_squad(squad.folder, load_norms().lifts, today=TODAY)
    (problem,) = raised.value.problems
    assert problem.line == 3
    for language in ("en", *KNOWN):
        assert re.search(rf"\b{language}\b", str(problem))


# What goes past the files


def modules() -> list[Path]:
    return sorted(
        path for folder in languages.SOURCES for path in (languages.ROOT / folder).rglob("*.py")
    )


def test_only_texts_of_the_norms_are_translated_without_standing_in_the_code() -> None:
    """`_(variable)` is found by no extractor, so its texts must come from the norms."""
    from_norms = {
        "report/words.py": {
            "lift.name",
            "usual.low_means if ratio.reading == 'below' else usual.high_means",
        },
        "report/methods_tables.py": {
            "one.low_means",
            "one.high_means",
            "note",
            "name.replace('_', ' ')",
            "source.status",
            "source.authors",
            "source.year",
        },
        "report/sections_emphasis.py": {"advice.text", "caution.text"},
        "report/sources.py": {"key", "source.authors", "source.year"},
    }
    found: dict[str, set[str]] = {}
    for path in modules():
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call) or not node.args:
                continue
            name = getattr(node.func, "attr", getattr(node.func, "id", ""))
            if name in languages.KEYWORDS and path.name != "language.py":
                literals = (
                    node.args[:2] if name in ("ngettext", "several", "pgettext") else node.args
                )
                for one in literals:
                    if not (isinstance(one, ast.Constant) and isinstance(one.value, str)):
                        where = path.relative_to(languages.ROOT / "profilegen").as_posix()
                        found.setdefault(where, set()).add(ast.unparse(one))
    assert found == from_norms


def test_templates_hold_no_words() -> None:
    """They place what report/ has written, in whatever language."""
    for path in sorted(default_templates_dir().rglob("*.html")):
        text = re.sub(r"\{#.*?#\}", "", path.read_text(encoding="utf-8"), flags=re.DOTALL)
        text = re.sub(r"<style>.*?</style>", "", text, flags=re.DOTALL)
        text = re.sub(r"\{\{.*?\}\}|\{%.*?%\}", "", text, flags=re.DOTALL)
        text = re.sub(r"<svg.*?</svg>", "", text, flags=re.DOTALL)
        # of formulas: single letters, and functions that are the same everywhere
        text = re.sub(r"<m[ion]>(\w|log|min|max|&#x2061;)</m[ion]>", "", text)
        said = re.findall(r">([^<>]*)<", text)
        said += re.findall(r'(?:aria-label|title|alt|placeholder)="([^"]*)"', text)
        words = [word for one in said for word in re.findall(r"(?<![&#\w])[A-Za-z]{2,}", one)]
        assert words == [], path.name


def test_scripts_hold_no_words() -> None:
    """What a script shows comes from the page: attributes, or data in an element."""
    for path in sorted((default_templates_dir() / "assets").glob("*.js")):
        code = re.sub(r"/\*.*?\*/|(?<![:\"'])//[^\n]*", "", path.read_text(), flags=re.DOTALL)
        code = re.sub(r"new Error\(.*?\)", "", code)  # never shown
        strings = re.findall(r"\"([^\"\n]*)\"|'([^'\n]*)'|`([^`]*)`", code)
        said = [text for one in strings for text in one if text]
        prose = [text for text in said if re.match(r"[A-Z][a-z]+( [a-z]+)+", text)]
        assert prose == [], path.name
        assert not re.search(r"\.(textContent|innerText) = \"[A-Za-z]{2}", code), path.name


# Numbers and dates, against the CLDR


@pytest.mark.parametrize("language", ["en", *KNOWN])
def test_numbers_are_written_as_the_language_writes_them(language: str) -> None:
    show = Format(words_in(language))
    for value in (0.5, 84.5, 1.25, 12_500.0, 1_234_567.0):
        assert show.number(value, 2) == format_decimal(value, locale=CLDR[language])


@pytest.mark.parametrize("language", ["en", *KNOWN])
def test_percents_are_written_as_the_language_writes_them(language: str) -> None:
    show = Format(words_in(language))
    for share in (0.07, 0.7, 1.04):
        assert show.percent(share) == format_percent(share, locale=CLDR[language])


@pytest.mark.parametrize("language", ["en", *KNOWN])
def test_dates_are_written_as_the_language_writes_them(language: str) -> None:
    show = Format(words_in(language))
    for month in range(1, 13):
        day = date(2026, month, 21)
        expected = format_date(day, "long", locale=CLDR[language])
        assert show.day(day).replace("\xa0", " ") == expected
        assert words_in(language).month(month) == get_month_names("wide", locale=language)[month]
    short = [words_in(language).short_month(month) for month in range(1, 13)]
    assert short == [get_month_names("abbreviated", locale=language)[m] for m in range(1, 13)]


def test_german_writes_kilos_and_ranges_its_own_way() -> None:
    """A space before the sign of the unit, and of percent: DIN 5008."""
    said = (
        GERMAN.load(84.26),
        GERMAN.load_range(82.2, 86.4),
        GERMAN.percent(0.7),
        GERMAN.day(date(2026, 11, 21)),
        GERMAN.short_day(date(2026, 9, 1)),
        GERMAN.usual_range(0.776, 0.846),
        GERMAN.signed(-0.84, 1),
        GERMAN.listed(["a", "b", "c"]),
    )
    assert tuple(text.replace("\xa0", " ") for text in said) == (
        "84,5 kg",
        "82 bis 87",
        "70 %",
        "21. November 2026",
        "1. Sept. 2026",
        "78 bis 85 %",
        "−0,8",
        "a, b und c",
    )
    assert "\xa0" in GERMAN.load(84)
    assert "\xa0" in GERMAN.percent(0.7)


def test_german_plurals() -> None:
    """One kilo and five are both "Kilo"; a person is not "Personen"."""
    words = words_in("de")
    assert [GERMAN.gain(kg) for kg in (1.2, 4.6)] == ["1 Kilo", "5 Kilo"]
    people = [words.ngettext("{number} lifter", "{number} lifters", n) for n in (0, 1, 2)]
    assert people == ["{number} Personen", "{number} Person", "{number} Personen"]
    chances = [GERMAN.chance(chance).replace("\xa0", " ") for chance in (0.1, 0.7, 0.01, 0.99)]
    assert chances == [
        "1 von 10 Chancen",
        "7 von 10 Chancen",
        "weniger als 1 von 10 Chancen",
        "mehr als 9 von 10 Chancen",
    ]


# Sentences


CHANCES: dict[Confidence, float] = {"clear": 0.91, "likely": 0.72, "leaning": 0.48, "open": 0.27}
LIMITERS: tuple[Limiter, ...] = (*QUALITIES, "even")
HEDGES = re.compile(
    r"\b(wahrscheinlich|vielleicht|möglicherweise|vermutlich|wohl|könnte|dürfte|scheint"
    r"|womöglich|Verdacht|Spur|Ziemlich)\b"
)


def german_voice(*, you: bool, units: Units = "kg") -> Voice:
    club = replace(CLUB, language="de", units=units)
    return voice_for(club, NORMS, "Mara", you=you)


def every_sentence(voice: Voice) -> list[str]:
    """All that is said about a verdict, for every limiter and degree of sureness."""
    said = []
    for limiter in LIMITERS:
        for confidence in get_args(Confidence):
            one = verdict(limiter, CHANCES[confidence], confidence)
            said += [
                verdict_sentence(voice, one),
                second_sentence(voice, one),
                worth_sentence(voice, one, qualities(limiter, one.chance)),
                confidence_sentence(voice.words, one),
            ]
    for known in ("nothing", "little"):
        one = verdict("even", 0.61, "open", known=known)
        said += [
            verdict_sentence(voice, one),
            worth_sentence(voice, one, qualities("even", 0.61)),
            confidence_sentence(voice.words, one),
        ]
    return [sentence for sentence in said if sentence]


@pytest.mark.parametrize("units", ["kg", "lb"])
@pytest.mark.parametrize("you", [True, False])
def test_no_german_sentence_hedges_twice_or_is_falsely_precise(you: bool, units: Units) -> None:
    for sentence in every_sentence(german_voice(you=you, units=units)):
        plain = sentence.replace("\xa0", " ")
        assert len(HEDGES.findall(plain)) <= 1, plain
        assert not re.search(r"\d[.,]\d", plain), plain
        assert not re.search(r"\b1 (Kilos|Personen)\b", plain), plain
        assert not re.search(r"−0(?![\d,])", plain), plain
        assert plain[0].isupper()
        assert plain.endswith("."), plain


@pytest.mark.parametrize("you", [True, False])
def test_the_lifter_is_du_and_the_coach_reads_a_name(you: bool) -> None:
    for sentence in every_sentence(german_voice(you=you)):
        assert not (you and "Mara" in sentence), sentence
        assert you or not re.search(r"\b([Dd]u|[Dd]ich|[Dd]ir|[Dd]eine?[mnrs]?)\b", sentence)
        assert not re.search(r"\b(Sie|Ihnen|Ihre?[mnrs]?)\b", sentence), sentence


def test_the_verdict_in_german() -> None:
    said = [
        verdict_sentence(german_voice(you=you), verdict("legs", CHANCES[sure], sure))
        for you in (True, False)
        for sure in get_args(Confidence)
    ]
    assert [text.replace("\xa0", " ") for text in said] == [
        "Die Beinkraft bremst dich: 9 von 10 Chancen.",
        "Die Beinkraft bremst dich wahrscheinlich: 7 von 10 Chancen.",
        "Die Beinkraft steht als Erstes im Verdacht, dich zu bremsen: 5 von 10 Chancen.",
        "Was dich bremst, ist noch offen: An erster Stelle steht die Beinkraft, mit 3 von 10 "
        "Chancen.",
        "Die Beinkraft bremst Mara: 9 von 10 Chancen.",
        "Die Beinkraft bremst Mara wahrscheinlich: 7 von 10 Chancen.",
        "Die Beinkraft steht als Erstes im Verdacht, Mara zu bremsen: 5 von 10 Chancen.",
        "Was Mara bremst, ist noch offen: An erster Stelle steht die Beinkraft, mit 3 von 10 "
        "Chancen.",
    ]


def test_lifts_have_the_names_of_the_trade_and_keep_their_capital() -> None:
    """German nouns; names of a club's own lifts are the club's."""
    voice = german_voice(you=False)
    assert voice.lift_within("snatch") == "Reißen"
    assert voice.lift_within("clean_and_jerk") == "Stoßen"
    assert voice.lift_within("total") == "Zweikampf"
    assert ratio_names(voice, "front_squat", "clean_and_jerk") == "Kniebeuge vorn zu Stoßen"
    assert voice.lift_within("pin_front_squat") == "Pin front squat"
    english = {lift.name for lift in load_norms().lifts.values()}
    names = [voice.lift(lift) for lift in load_norms().lifts]
    assert not english.intersection(names)
    assert len(set(names)) == len(names)


def test_german_cautions_say_what_the_english_ones_say() -> None:
    """As many, in the same order; pain, a professional and the federation are in both readings."""
    for junior in (True, False):
        voice = replace(german_voice(you=True), junior=junior)
        said = cautions(voice)
        assert len(said) == len(cautions(replace(voice_for(CLUB, NORMS), junior=junior)))
        joined = " ".join(said)
        for word in ("Schmerz", "medizinischen Fachperson", "Verbands", "kein ärztlicher Rat"):
            assert word in joined
        assert short_caution(voice)
        assert not (junior and re.search(r"Einer\b", joined))


def test_no_two_terms_of_the_glossary_are_the_same_word() -> None:
    """Each spelling leads to one meaning."""
    spellings = [
        spelling.casefold().replace("\xa0", " ")
        for term in glossary(words_in("de"))
        for spelling in {term.name.casefold(), *(one.casefold() for one in term.also)}
    ]
    doubles = {one for one in spellings if spellings.count(one) > 1}
    assert doubles <= {"von 10 chancen"}  # with and without its no-break space


# Whole pages


@pytest.mark.parametrize(
    ("lifter", "reading"), [("tomasz", "lifter"), ("bram", "coach"), ("kofi", "lifter")]
)
def test_the_german_report_reads_as_it_was_accepted(
    lifter: str, reading: str, tmp_path: Path
) -> None:
    """Words only: numbers are checked elsewhere and stand as # here, and which lifts are named
    as reasons is the engine's. The failure names the command that accepts what it says now."""
    folder = german_squad(tmp_path / "athletes")
    squad = load_squad(folder, load_norms().lifts, today=TODAY)
    norms = with_own_lifts(load_norms(), squad.club.own_lifts)
    athlete = next(one for one in squad.athletes if one.id == lifter)
    profile = profile_of(athlete, norms, squad.latest_session_on or TODAY, squad.club)
    page = report_page(profile, athlete, squad.club, norms, reading=reading)  # type: ignore[arg-type]
    sections = {"why", "kilos", "emphasis", "cautions", "reading"}
    page = replace(page, sections=tuple(one for one in page.sections if one.id in sections))
    said = re.sub(r"(weniger als |mehr als )?\d+ von 10 Chancen", "# von 10 Chancen", outline(page))
    said = re.sub(r"[+−]?\d+(,\d+)?", "#", said)
    reasons = re.compile(r"(\S.* zu .*: # %,|(Stark|Niedrig) für|D(afür|agegen) spricht).*\n")
    said = "".join(line for line in said.splitlines(keepends=True) if not reasons.match(line))
    golden = GOLDEN / f"german_{lifter}_{reading}.txt"
    now = tmp_path / golden.name
    now.write_text(said, encoding="utf-8")
    accepted = golden.read_text(encoding="utf-8") if golden.is_file() else ""
    assert said == accepted, f"cp {now} {golden}"


ENGLISH = frozenset(
    word
    for line in (
        "the and of with for from that this these those there is are were be been being to at by",
        "on not more less than as if it or lift lifts lifter lifters weight squat squats clean",
        "cleans jerk jerks snatch snatches pull pulls press presses bars made missed tested usual",
        "usually held back what which how why when where who whose your you yours their his its",
        "one two three every each first then now since show shows page pages table total totals",
        "week weeks day days year years about above below between would could should may might",
        "can cannot nothing something nobody only other others same such very much many most few",
        "here under over into up down until before after again against rep reps sets heavy slow",
        "strong weak strength speed quality qualities level share shares sources source reading",
        "coach coaches squad meet best women men woman girl boy",
    )
    for word in line.split()
)
"""Common words, and the trade's, that are no German words too."""


def own_words(folder: Path) -> list[str]:
    """What the club and its coach have written: names and notes stay as they are."""
    squad = load_squad(folder, load_norms().lifts, today=TODAY)
    club = squad.club
    texts = [club.name, *(one.name for one in club.own_lifts), *(one.called for one in club.marks)]
    texts += [week.called for week in club.testing_weeks]
    for athlete in squad.athletes:
        texts += [athlete.name, athlete.group or "", *(meet.called for meet in athlete.meets)]
        texts += [one.note or "" for session in athlete.sessions for one in session.sets]
    for source in load_norms().sources.values():
        texts += [source.key, "" if languages.DESCRIBED.search(source.authors) else source.authors]
    return sorted(filter(None, {*texts}), key=len, reverse=True)


class Shown(HTMLParser):
    """What a page shows or reads out, but for notes and quotations."""

    READ_OUT = ("title", "aria-label", "data-hint", "data-filtered", "data-nobody", "placeholder")
    VOID = ("br", "hr", "img", "input", "link", "meta", "mspace")

    def __init__(self) -> None:
        super().__init__()
        self.texts: list[str] = []
        self._passed_over = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        values = dict(attrs)
        skipped = tag in ("script", "style") or values.get("class") == "notes"
        if tag not in self.VOID and (self._passed_over or skipped or values.get("lang") == "en"):
            self._passed_over += 1
        if not self._passed_over:
            self.texts += [value for name in self.READ_OUT if (value := values.get(name))]

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """An empty element, as SVG has them."""

    def handle_endtag(self, tag: str) -> None:
        self._passed_over = max(0, self._passed_over - 1)

    def handle_data(self, data: str) -> None:
        if data.strip() and not self._passed_over:
            self.texts.append(data.strip())


@pytest.fixture(scope="module")
def shown(german_site: Path) -> dict[str, str]:
    """Every text of the German pages, and a page it stands on."""
    found: dict[str, str] = {}
    for page in sorted(german_site.rglob("*.html")):
        reader = Shown()
        reader.feed(page.read_text(encoding="utf-8"))
        found |= dict.fromkeys(reader.texts, page.relative_to(german_site).as_posix())
    return found


def test_no_german_page_says_anything_in_english(shown: dict[str, str]) -> None:
    """Names and notes are the club's, words of the file format are the program's."""
    own = re.compile("|".join(map(re.escape, own_words(DEMO))))
    format_words = re.compile(
        r"\b(missed|effort): \w+|easy, steady, grind|(profile|squad)\.json|[a-z]+\d{4}[a-z]*"
    )
    found = []
    for text, page in shown.items():
        rest = format_words.sub(" ", own.sub(" ", text))
        words = {word.lower() for word in re.findall(r"[^\W\d_]+", rest)}
        if english := words & ENGLISH:
            found.append(f"{page}: {sorted(english)} in {text[:120]}")
    assert found == []


def test_the_search_for_english_would_find_some(shown: dict[str, str]) -> None:
    """German words are looked at, in headings, tables, drawings and labels; none is English."""
    assert len(shown) > 2_000
    for text in (
        "So funktioniert es",
        "Kniebeuge vorn",
        "langsam und schwer",
        "Seiten dieser Website",
    ):
        assert any(text in one for one in shown), text
    assert {"the", "lift"} <= ENGLISH
    assert not ENGLISH & {"in", "an", "am", "die", "was", "so", "man", "fast", "her", "last", "bar"}


def test_german_pages_say_so(german_site: Path) -> None:
    """To screen readers, and to the browser that parts words at the ends of lines."""
    for page in german_site.rglob("*.html"):
        assert '<html lang="de">' in page.read_text(encoding="utf-8")


def test_numbers_on_german_pages_have_a_comma(shown: dict[str, str]) -> None:
    """No decimal point, no percent sign that touches its number, no nought with a sign."""
    chapter = "Kapitel 3.6"
    wrong = re.compile(r"\d\.\d|\d%|−0(?![\d,])|\b1 Kilos\b")
    assert [text for text in shown if wrong.search(text.replace(chapter, ""))] == []

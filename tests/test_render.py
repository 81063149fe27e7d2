"""Pages as HTML: valid, safe with hostile input, nothing from outside."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from itertools import pairwise
from typing import Any

import html5lib
import pytest
from bs4 import BeautifulSoup

from profilegen.render import Glosses, Renderer, default_templates_dir
from profilegen.report.compose import report_page
from profilegen.report.glossary import glossary
from profilegen.report.language import words_in
from profilegen.report.methods import methods_page
from profilegen.report.squad import squad_page
from profilegen.report.summary import summarise
from tests.samples import ATHLETE, CLUB, NORMS, TODAY, profile, row

HOSTILE = "<script>alert(1)</script>\"'><img src=x onerror=alert(2)>&{{7*7}}{% x %}"


@cache
def renderer() -> Renderer:
    return Renderer()


@cache
def pages() -> dict[str, str]:
    """One page of each kind."""
    other = replace(summarise(profile(), ATHLETE, CLUB), id="bea", name="Bea", group="morning")
    summaries = [summarise(profile(), ATHLETE, CLUB), other]
    return {
        "coach": renderer().report(report_page(profile(), ATHLETE, CLUB, NORMS)),
        "lifter": renderer().report(
            report_page(profile(), ATHLETE, CLUB, NORMS, reading="lifter", private=False)
        ),
        "squad": renderer().squad(squad_page(summaries, CLUB, NORMS, TODAY)),
        "methods": renderer().methods(methods_page(NORMS, CLUB)),
    }


KINDS = ("coach", "lifter", "squad", "methods")


def soup(kind: str) -> BeautifulSoup:
    return BeautifulSoup(pages()[kind], "html.parser")


@pytest.mark.parametrize("kind", KINDS)
def test_the_html_is_valid(kind: str):
    """html5lib (the WHATWG algorithm) finds no parse error."""
    parser = html5lib.HTMLParser(strict=True)
    parser.parse(pages()[kind])


@pytest.mark.parametrize("kind", KINDS)
def test_ids_are_unique_and_links_within_the_page_lead_somewhere(kind: str):
    page = soup(kind)
    ids = [tag["id"] for tag in page.select("[id]")]
    assert len(ids) == len(set(ids))
    for link in page.select("a[href^='#']"):
        assert link["href"][1:] in ids
    for name in ("aria-labelledby", "for"):
        for tag in page.select(f"[{name}]"):
            assert set(tag.get_attribute_list(name)[0].split()) <= set(ids)


@pytest.mark.parametrize("kind", KINDS)
def test_nothing_is_loaded_from_outside(kind: str):
    page = soup(kind)
    for tag in page.select("[src], link[href], [data-plotly]"):
        for name in ("src", "href", "data-plotly"):
            assert not re.match(r"(?!data:)[a-z]+:|//", tag.get(name, ""), re.I)
    outside = {a["href"] for a in page.select("a[href]") if re.match(r"[a-z]+:|//", a["href"])}
    expected = {"https://video.example/mara-front-squat"} if kind == "coach" else set()
    assert outside == expected
    for link in page.select("a[href^=http]"):
        assert {"noopener", "nofollow", "ugc"} <= set(link["rel"])


@pytest.mark.parametrize("kind", KINDS)
def test_every_file_a_page_links_to_is_among_the_assets(kind: str):
    assets = renderer().assets()
    page = soup(kind)
    script = page.select_one("script[src]")
    style = page.select_one("link[rel=stylesheet]")
    for path in (style["href"], script["src"], script["data-plotly"]):
        assert path.removeprefix("../../") in assets


@pytest.mark.parametrize("kind", KINDS)
def test_headings_come_in_order_and_there_is_one_title(kind: str):
    levels = [int(tag.name[1]) for tag in soup(kind).select("h1, h2, h3, h4")]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))


@pytest.mark.parametrize("kind", KINDS)
def test_tables_name_themselves_and_their_heads(kind: str):
    tables = soup(kind).select("table")
    assert tables
    for table in tables:
        region = table.find_parent(attrs={"role": "region"})
        assert table.caption or region["aria-label"]
        assert region["tabindex"] == "0"
        assert all(head.get("scope") for head in table.select("th"))


@pytest.mark.parametrize("kind", KINDS)
def test_pages_carry_language_policy_and_no_index(kind: str):
    page = soup(kind)
    assert page.html["lang"] == "en"
    policy = page.select_one("meta[http-equiv=Content-Security-Policy]")["content"]
    assert "default-src 'none'" in policy
    assert "unsafe-eval" not in policy
    assert "noindex" in page.select_one("meta[name=robots]")["content"]
    assert page.select_one("a.skip")["href"] == "#content"
    assert not page.select("[onclick], [onload], [onerror]")


def test_only_private_copies_are_marked_private():
    assert "Private copy" in pages()["coach"]
    assert "Private copy" not in pages()["lifter"]


def test_the_verdict_stands_before_everything_else():
    page = soup("coach")
    first = page.select_one("main").find("section")
    assert first.h1.text == "Mara Veldt"
    assert "most likely holds Mara Veldt back" in first.select_one(".sentence").text
    assert "6 kilos" in first.select_one(".worth").text


def test_every_chart_has_a_text_and_a_table():
    charts = soup("coach").select("figure.chart")
    assert len(charts) >= 6
    for figure in charts:
        assert figure.select_one(".chart-summary").text.strip()
        assert figure.select_one("table")


def test_the_same_page_gives_the_same_bytes():
    again = Renderer().report(report_page(profile(), ATHLETE, CLUB, NORMS))
    assert again == pages()["coach"]


# Hostile input


def hostile_report() -> str:
    made = profile(
        evidence=(row("max", 84, says_kg=84, note=HOSTILE),),
        change=replace(profile().change, called=HOSTILE),
    )
    made = replace(made, athlete=replace(made.athlete, name=HOSTILE, group=HOSTILE))
    athlete = replace(ATHLETE, name=HOSTILE, group=HOSTILE, notes=f"# {HOSTILE}\n\n{HOSTILE}")
    club = replace(CLUB, name=HOSTILE)
    return renderer().report(report_page(made, athlete, club, NORMS))


def hostile_squad() -> str:
    athlete = replace(ATHLETE, name=HOSTILE, group=HOSTILE, id="../x\" onclick='1'")
    summaries = [
        summarise(profile(), athlete, CLUB),
        replace(summarise(profile(), ATHLETE, CLUB), group="other"),
    ]
    return renderer().squad(squad_page(summaries, replace(CLUB, name=HOSTILE), NORMS, TODAY))


@pytest.mark.parametrize("page", [hostile_report, hostile_squad])
def test_what_a_coach_wrote_stays_text(page: Any):
    text = page()
    html5lib.HTMLParser(strict=True).parse(text)
    made = BeautifulSoup(text, "html.parser")
    assert not made.select("img")
    assert "alert" not in "".join(script.get_text() for script in made.select("head script"))
    for script in made.select("script:not([src])"):
        assert script.get("type") == "application/json" or "alert" not in script.get_text()
    for tag in made.find_all(True):
        assert not any(name.startswith("on") for name in tag.attrs), tag
    assert made.h1.get_text() == HOSTILE if page is hostile_report else True


# The machinery


def test_a_misspelt_value_in_a_template_is_an_error(tmp_path):
    folder = default_templates_dir()
    for file in folder.rglob("*"):
        if file.is_file():
            copy = tmp_path / file.relative_to(folder)
            copy.parent.mkdir(parents=True, exist_ok=True)
            copy.write_bytes(file.read_bytes())
    verdict = tmp_path / "sections" / "verdict.html"
    verdict.write_text(verdict.read_text().replace("page.answer.worth", "page.answer.wroth"))
    with pytest.raises(AttributeError, match="wroth"):
        Renderer(tmp_path).report(report_page(profile(), ATHLETE, CLUB, NORMS))


def test_asset_names_change_with_their_content():
    for name in renderer().assets():
        assert re.fullmatch(r"assets/[a-z]+-[0-9a-f]{12}(\.min)?\.(css|js)", name)


def test_a_term_is_explained_where_it_first_appears_and_only_there():
    gloss = Glosses(glossary(words_in("en")), "methods.html")
    made = str(gloss("The turnover and the <b>turnover</b>."))
    assert made.count('href="methods.html#term-turnover"') == 1
    assert "&lt;b&gt;turnover&lt;/b&gt;" in made
    assert "<a" not in str(gloss("Turnover again."))


def test_every_glossary_link_leads_to_a_term_of_the_methods_page():
    ids = {tag["id"] for tag in soup("methods").select("[id]")}
    for kind in ("coach", "squad"):
        links = soup(kind).select("a.term")
        assert links
        for link in links:
            assert link["href"].split("#")[1] in ids

"""Brings the language files up to date with the texts of the program.

    .venv/bin/python -m tests.languages            update every language, and say what is missing
    .venv/bin/python -m tests.languages nl         the same, and start one for Dutch

A text is marked in the code with `_`, `ngettext`, `pgettext` or `marked`; texts of the norms
are marked by being there. Each language has a .po file, which people edit, and a .mo file
made from it, which the program reads; both are kept in the repository, and a test holds them
to the code.
"""

from __future__ import annotations

import io
import re
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path

from babel import Locale
from babel.messages.catalog import Catalog
from babel.messages.extract import extract
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

from profilegen.norms.catalogue import Figure, load_norms
from profilegen.norms.emphasis import load_emphasis
from profilegen.report.language import DOMAIN, LOCALES

ROOT = Path(__file__).parent.parent
SOURCES = ("profilegen/report", "profilegen/publish", "profilegen/intake")
KEYWORDS = {
    "_": None,
    "gettext": None,
    "marked": None,
    "ngettext": (1, 2),
    "several": (1, 2),
    "pgettext": ((1, "c"), 2),
}
COMMENT = "for translators:"

DESCRIBED = re.compile(r"(?<![A-Za-z-])[a-z]{4,}|n\.d\.")
"""Words among the authors or in the year of a source: it has none, and is described."""

Message = tuple[str | tuple[str, str], str | None, str, list[str]]
"""The text (with its plural), its context, the file it stands in, comments."""


def messages() -> Iterator[Message]:
    """Every text that a page may show, file by file."""
    yield from code_messages()
    yield from norm_messages()


def code_messages() -> Iterator[Message]:
    """Texts marked in the code."""
    for folder in SOURCES:
        for path in sorted((ROOT / folder).rglob("*.py")):
            where = path.relative_to(ROOT).as_posix()
            with path.open("rb") as file:
                found = extract("python", file, KEYWORDS, (COMMENT,), strip_comment_tags=True)
                for _line, text, comments, context in found:
                    yield text, context, where, comments  # type: ignore[misc]


def norm_messages() -> Iterator[Message]:
    """Texts of the norms that reach a page."""
    norms = load_norms()
    folder = "profilegen/norms"

    def note(figure: Figure, file: str) -> Iterator[Message]:
        if figure.note:
            yield figure.note, None, f"{folder}/{file}", []

    for lift in norms.lifts.values():
        yield lift.name, None, f"{folder}/lifts.yaml", ["a lift, as a heading"]
        yield from note(lift.share, "lifts.yaml")
    for ratio in norms.usual_ratios:
        for text in (ratio.low_means, ratio.high_means, ratio.note):
            if text:
                yield text, None, f"{folder}/ratios_usual.yaml", []
    for figure in norms.rep_chart.values():
        yield from note(figure, "tables.yaml")
    for family, relation in norms.speed.items():
        yield readable(family), None, f"{folder}/tables.yaml", []
        for name, figure in relation.items():
            yield readable(name), None, f"{folder}/tables.yaml", []
            yield from note(figure, "tables.yaml")
    for name, figure in norms.constants.items():
        yield readable(name), None, f"{folder}/constants.yaml", ["a constant of the model"]
        yield from note(figure, "constants.yaml")
    for source in norms.sources.values():
        yield source.status, None, f"{folder}/sources.csv", ["how far a source was read"]
        for text in (source.authors, source.year):
            if DESCRIBED.search(text):
                yield text, None, f"{folder}/sources.csv", ["in the place of authors or year"]
    for one in load_emphasis().values():
        said = (*one.emphasis, *one.shows), (*one.cautions, *one.see)
        for text in (entry.text for entries in said for entry in entries):
            yield text, None, f"{folder}/emphasis.yaml", []


def readable(name: str) -> str:
    """A key of the norms as the methods page shows it."""
    return name.replace("_", " ")


class LanguageFile(Catalog):
    """A catalog whose head says only what a reader of it needs: no clock, no names, no tools."""

    @property
    def mime_headers(self) -> list[tuple[str, str]]:
        """The lines of the head."""
        return [
            ("Language", str(self.locale_identifier)),
            ("Plural-Forms", self.plural_forms),
            ("MIME-Version", "1.0"),
            ("Content-Type", "text/plain; charset=utf-8"),
            ("Content-Transfer-Encoding", "8bit"),
        ]


def languages() -> tuple[str, ...]:
    """The languages there are files for; English needs none."""
    return tuple(sorted(path.name for path in LOCALES.iterdir() if po_path(path.name).is_file()))


def po_path(language: str) -> Path:
    """The file that people edit."""
    return LOCALES / language / "LC_MESSAGES" / f"{DOMAIN}.po"


def mo_path(language: str) -> Path:
    """The file that the program reads."""
    return po_path(language).with_suffix(".mo")


def catalog_of(language: str) -> Catalog:
    """The catalog of one language, as it is kept."""
    with po_path(language).open("rb") as file:
        return read_po(file, locale=language, domain=DOMAIN)


def updated(language: str) -> Catalog:
    """The language's catalog with exactly the texts of today; translations are kept.

    A new text is left empty: a translation guessed from a similar text would be wrong in
    ways that nobody notices.
    """
    old = catalog_of(language) if po_path(language).is_file() else Catalog(locale=language)
    new = LanguageFile(locale=language, domain=DOMAIN, charset="utf-8", fuzzy=False)
    new.header_comment = f"# {Locale.parse(language).english_name} texts of profilegen."
    for text, context, where, comments in messages():
        kept = old.get(text, context)
        new.add(
            text,
            kept.string if kept else None,
            context=context,
            locations=[(where, 0)],
            auto_comments=comments,
            user_comments=kept.user_comments if kept else (),
            flags=kept.flags if kept else (),
        )
    return new


def po_bytes(catalog: Catalog) -> bytes:
    """The .po file, without line numbers, so that it changes only with its texts."""
    raw = io.BytesIO()
    write_po(raw, catalog, width=100, include_lineno=False, sort_by_file=True)
    return raw.getvalue()


def mo_bytes(catalog: Catalog) -> bytes:
    """The .mo file that belongs to it."""
    raw = io.BytesIO()
    write_mo(raw, catalog)
    return raw.getvalue()


def missing(catalog: Catalog) -> list[str]:
    """Texts without a translation."""
    return [
        str(message.id) for message in catalog if message.id and not all(_strings(message.string))
    ]


def _strings(string: str | Sequence[str] | None) -> tuple[str, ...]:
    return (string or "",) if isinstance(string, str | None) else tuple(string)


def main(wanted: list[str]) -> int:
    """Update the files of the languages there are, and of those named."""
    status = 0
    for language in sorted({*languages(), *wanted}):
        catalog = updated(language)
        po_path(language).parent.mkdir(parents=True, exist_ok=True)
        po_path(language).write_bytes(po_bytes(catalog))
        mo_path(language).write_bytes(mo_bytes(catalog))
        left = missing(catalog)
        print(f"{language}: {len(catalog)} texts, {len(left)} without a translation")
        for text in left:
            print(f"  {text}")
        status = status or int(bool(left))
    return status


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

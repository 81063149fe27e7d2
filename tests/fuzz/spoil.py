"""Files that are nearly right: good ones, spoiled in the ways that people and programs do.

Seeded: the same number makes the same file. Unlike the strategies in
tests/history/test_properties.py, which build values, these start from the demo squad's own
files, so most of a file is still good and every later stage gets something to chew on.
"""

from __future__ import annotations

import io
import random
import re
from collections.abc import Callable, Sequence

from openpyxl import Workbook

from tests.squads import DEMO

HOSTILE = (
    "<script>alert(1)</script>", "{{ 7*7 }}", "{% include 'x' %}", "javascript:alert(1)", "../../x",
    "/etc/passwd", "\x00", "\x1b[2J", "\u202e", "\u2028", "\ufeff", "😀", "é" * 300, "a" * 5000,
    "&a [*a, *a]", "!!python/object/apply:os.system [id]", "*x", "<<: {a: 1}", "? [a]", "---",
    "...", "0x1F", "1:30", "no", "~", "1e400", "-1e400", ".nan", "9" * 400, "1_000", "0o17", "'",
    '"', "#", "|", ">", "%TAG ! x", "@", "`", "[", "]", "{", "}", ",", ": ", "- ", "\t", "\r",
    "2026-02-30",
    "9999-12-31", "0001-01-01", "=1+1", "=cmd|' /C calc'!A0", "+1", "@SUM(A1)", "84,5", "84x3", "x",
    "80 82.5x 85xx", "NaN", "-0", "kg", "١٢٣", "½", "1e-320", "None", "null", "\\", "${x}", "$(x)",
)  # fmt: skip

Spoiler = Callable[[random.Random, str], str]


def athlete_file(number: int) -> bytes:
    """An athlete file after a demo lifter's, spoiled in one to four ways."""
    chance = random.Random(f"athlete {number}")
    return _spoiled(chance, chance.choice(_demo_files()))


def club_file(number: int) -> bytes:
    """The demo club's file, spoiled."""
    chance = random.Random(f"club {number}")
    return _spoiled(chance, (DEMO / "club.yaml").read_text("utf-8"))


def csv_sheet(number: int, lifters: Sequence[str]) -> bytes:
    """A sheet of results, spoiled."""
    chance = random.Random(f"csv {number}")
    mark = chance.choice([",", ",", ";", "\t"])
    rows = "\n".join(
        mark.join(_quoted(cell, mark) for cell in row) for row in _rows(chance, lifters)
    )
    return _spoiled(chance, rows + "\n") if chance.random() < 0.8 else rows.encode()


def xlsx_sheet(number: int, lifters: Sequence[str]) -> bytes:
    """A workbook of results with hostile cells; one in four is then spoiled as a file."""
    chance = random.Random(f"xlsx {number}")
    book = Workbook()
    page = book.active
    for row in _rows(chance, lifters):
        page.append([re.sub(r"[\x00-\x1f]", "", str(cell))[:32_000] for cell in row])
    stream = io.BytesIO()
    book.save(stream)
    raw = stream.getvalue()
    return _torn(chance, raw) if chance.random() < 0.25 else raw


def _demo_files() -> list[str]:
    files = sorted(DEMO.glob("*.yaml"), key=lambda file: file.name)
    texts = [file.read_text("utf-8") for file in files if file.name != "club.yaml"]
    return [text for text in texts if len(text) < 12_000]


def _rows(chance: random.Random, lifters: Sequence[str]) -> list[list[str]]:
    heads = ["lifter", "date", "body mass", "snatch", "clean and jerk", "front squat", "note"]
    heads += chance.sample(["back squat", "reps", "reserve", "video", "at", "units"], k=2)
    if chance.random() < 0.3:
        heads[chance.randrange(len(heads))] = chance.choice(HOSTILE)
    rows = [heads]
    for _ in range(chance.randrange(1, 6)):
        row = [chance.choice(lifters), f"2026-11-{chance.randint(1, 30)}", "71.5"]
        row += [chance.choice(["80 84 87x", "100x 100", "90x3", "", "84.5"]) for _ in heads[3:]]
        if chance.random() < 0.5:
            row[chance.randrange(len(row))] = chance.choice(HOSTILE)
        rows.append(row[: chance.randrange(1, len(row) + 2)])
    return rows


def _quoted(cell: str, mark: str) -> str:
    return f'"{cell.replace(chr(34), chr(34) * 2)}"' if mark in cell or "\n" in cell else cell


def _spoiled(chance: random.Random, text: str) -> bytes:
    for _ in range(chance.choice((1, 1, 1, 2, 4))):
        text = chance.choice(SPOILERS)(chance, text)
    raw = text.encode("utf-8", "surrogatepass")
    return _torn(chance, raw) if chance.random() < 0.1 else raw


def _torn(chance: random.Random, raw: bytes) -> bytes:
    """Bytes flipped, cut or written in another encoding."""
    kind = chance.randrange(4)
    if kind == 0:
        return raw[: chance.randrange(len(raw) + 1)]
    if kind == 1:
        return raw.decode("utf-8", "replace").encode("utf-16")
    changed = bytearray(raw)
    for _ in range(chance.randint(1, 8) if changed else 0):
        changed[chance.randrange(len(changed))] = chance.randrange(256)
    return bytes(changed)


def _word(chance: random.Random, text: str) -> str:
    """One word becomes something hostile, quoted or not."""
    words = list(re.finditer(r"[\w.'-]+", text))
    if not words:
        return chance.choice(HOSTILE)
    found, new = chance.choice(words), chance.choice(HOSTILE)
    if chance.random() < 0.5:
        new = '"' + new.replace("\\", "\\\\").replace('"', '\\"').replace("\x00", "\\0") + '"'
    return text[: found.start()] + new + text[found.end() :]


def _text_value(chance: random.Random, text: str) -> str:
    """A name, note or reason becomes hostile text that is good YAML."""
    places = list(re.finditer(r"(?m)(name|note|why|called|group|claim): ([^\n,}]+)", text))
    if not places:
        return text
    found = chance.choice(places)
    new = "".join(f"\\u{ord(c):04x}" if ord(c) < 0x10000 else c for c in chance.choice(HOSTILE))
    return text[: found.start(2)] + f'"{new[:400]}"' + text[found.end(2) :]


def _number(chance: random.Random, text: str) -> str:
    numbers = list(re.finditer(r"\d+(\.\d+)?", text))
    if not numbers:
        return text
    found = chance.choice(numbers)
    new = chance.choice(["0", "-1", "0.001", "999", "1000000", "84.123456789", "1e3", "100.5"])
    return text[: found.start()] + new + text[found.end() :]


def _line(chance: random.Random, text: str) -> str:
    """A line is lost, doubled, moved or indented."""
    lines = text.splitlines(keepends=True) or [""]
    at = chance.randrange(len(lines))
    kind = chance.randrange(4)
    if kind == 0:
        del lines[at]
    elif kind == 1:
        lines.insert(at, lines[at])
    elif kind == 2:
        lines.insert(chance.randrange(len(lines)), lines.pop(at))
    else:
        lines[at] = " " * chance.randint(1, 5) + lines[at]
    return "".join(lines)


def _letters(chance: random.Random, text: str) -> str:
    at = chance.randrange(len(text) + 1)
    new = "".join(chance.choices("abz 0:-#{}[]'\"\n,&*!|>%@`\\", k=chance.randint(1, 6)))
    return text[:at] + new + text[at + chance.randrange(3) :]


def _two_halves(chance: random.Random, text: str) -> str:
    """The beginning of one file and the end of another."""
    other = chance.choice(_demo_files())
    return text[: chance.randrange(len(text) + 1)] + other[chance.randrange(len(other)) :]


def _bomb(chance: random.Random, text: str) -> str:
    """Deep nesting, many values, aliases of aliases, a very long line."""
    deep = chance.choice([50, 3_000])
    many = chance.choice([2_000, 20_000])
    return text + chance.choice(
        [
            "x: " + "[" * deep + "]" * deep + "\n",
            "x: " + "{a: " * deep + "1" + "}" * deep + "\n",
            "notes: [" + "a, " * many + "]\n",
            "a: &a [x, x]\nb: &b [*a, *a]\nc: &c [*b, *b]\nd: [*c, *c]\n",
            "name: " + "a" * many + "\n",
            "".join(f"k{i}: {i}\n" for i in range(many // 20)),
        ]
    )


SPOILERS: tuple[Spoiler, ...] = (
    _word, _word, _text_value, _text_value, _number, _line, _letters, _two_halves, _bomb,
)  # fmt: skip

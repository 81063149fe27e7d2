"""The words on each page of a PDF that Chromium printed, as far as tests need them.

Its objects stand in the file in the open, streams apart: a page names its fonts and its content,
a font the table from its glyphs to letters (ISO 32000-1, sections 7.7.3, 9.4.3 and 9.10.3).
"""

from __future__ import annotations

import re
import unicodedata
import zlib


def words_by_page(pdf: bytes) -> list[str]:
    """All words of each page, in the order in which they were drawn, without spaces."""
    objects = {
        int(number): body
        for number, body in re.findall(rb"\n(\d+) 0 obj\s(.*?)\sendobj", pdf, re.DOTALL)
    }
    found = []
    for body in objects.values():
        if not re.search(rb"/Type\s*/Page\b", body):
            continue
        fonts = re.search(rb"/Font\s*<<(.*?)>>", body, re.DOTALL)
        names = re.findall(rb"/(\w+)\s+(\d+) 0 R", fonts[1]) if fonts else []
        letters = {name: _letters(objects, objects[int(number)]) for name, number in names}
        (content,) = re.findall(rb"/Contents\s+(\d+) 0 R", body)
        found.append(_words(_stream(objects[int(content)]), letters))
    return found


def _stream(body: bytes) -> bytes:
    head, _, rest = body.partition(b"stream")
    data = rest.lstrip(b"\r").removeprefix(b"\n").rpartition(b"endstream")[0]
    return zlib.decompressobj().decompress(data) if b"/FlateDecode" in head else data


def _letters(objects: dict[int, bytes], font: bytes) -> dict[int, str]:
    """From a font's glyphs to what they stand for."""
    table: dict[int, str] = {}
    found = re.search(rb"/ToUnicode\s+(\d+) 0 R", font)
    if not found:
        return table
    text = _stream(objects[int(found[1])])

    def read(code: bytes) -> str:
        return bytes.fromhex(code.decode()).decode("utf-16-be")

    for block in re.findall(rb"beginbfchar(.*?)endbfchar", text, re.DOTALL):
        for glyph, code in re.findall(rb"<(\w+)>\s*<(\w+)>", block):
            table[int(glyph, 16)] = read(code)
    for block in re.findall(rb"beginbfrange(.*?)endbfrange", text, re.DOTALL):
        for first, last, code in re.findall(rb"<(\w+)>\s*<(\w+)>\s*<(\w+)>", block):
            for i in range(int(last, 16) - int(first, 16) + 1):
                table[int(first, 16) + i] = chr(ord(read(code)) + i)
    return table


def _words(content: bytes, letters: dict[bytes, dict[int, str]]) -> str:
    font: dict[int, str] = {}
    said = []
    for name, shown in re.findall(rb"/(\w+)\s+[\d.]+\s+Tf|<([0-9A-Fa-f]+)>", content):
        if name:
            font = letters.get(name, {})
        else:
            glyphs = [int(shown[i : i + 4], 16) for i in range(0, len(shown), 4)]
            said += [font.get(glyph, "") for glyph in glyphs]
    # ligatures are two letters again
    return re.sub(r"\s", "", unicodedata.normalize("NFKC", "".join(said)))

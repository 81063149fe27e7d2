"""A coach's notes -> HTML: the only module that imports markdown and nh3.

Notes are hostile until they are cleaned: escaped first, then Markdown, then only tags that
cannot act. And they cannot keep a build waiting: what takes the library time that grows with the
square of a note's length is replaced or left out.
"""

from __future__ import annotations

import html
import re
from functools import lru_cache
from xml.etree.ElementTree import Element

import markdown
import nh3
from markdown.inlinepatterns import InlineProcessor
from markupsafe import Markup

_TAGS = {
    "a",
    "blockquote",
    "br",
    "code",
    "em",
    "h3",
    "hr",
    "li",
    "ol",
    "p",
    "pre",
    "strong",
    "ul",
}


class _Link(InlineProcessor):
    """[words](address) on one line; an address that is not of the web leaves its words alone."""

    PATTERN = r"\[([^\[\]\n]{1,300})\]\(((?:[^()<>\n]|\([^()<>\n]{0,200}\)){0,500})\)"

    def handleMatch(  # type: ignore[override]  # noqa: N802
        self, m: re.Match[str], data: str
    ) -> tuple[Element | str, int, int]:
        address = m[2].split(maxsplit=1)[0] if m[2].strip() else ""
        if not address.startswith(("http://", "https://")):
            return m[1], m.start(0), m.end(0)
        link = Element("a", {"href": address})
        link.text = m[1]
        return link, m.start(0), m.end(0)


_SLOW = ("reference", "link", "image_link", "image_reference", "short_reference", "short_image_ref")


@lru_cache(maxsize=1)
def _plain_markdown() -> markdown.Markdown:
    """Markdown without what is slow on a text that was made to be slow: links to elsewhere in
    the text, pictures (which would be taken out anyway), headings by underlining."""
    made = markdown.Markdown(extensions=["sane_lists"])
    for slow in _SLOW:
        made.inlinePatterns.deregister(slow)
    for slow in ("reference", "setextheader"):
        made.parser.blockprocessors.deregister(slow)
    made.inlinePatterns.register(_Link(_Link.PATTERN, made), "link", 160)
    return made


def notes_html(text: str) -> Markup:
    """A coach's Markdown as safe HTML: escaped first, then Markdown, then cleaned.

    >>> notes_html("Good *day*. <script>alert(1)</script>")
    Markup('<p>Good <em>day</em>. &lt;script&gt;alert(1)&lt;/script&gt;</p>')
    """
    words = html.escape(text, quote=False)
    try:
        raw = _plain_markdown().reset().convert(words)
    except RecursionError:
        # lists in lists, hundreds deep: nobody means that, and the words stay; what was left
        # half-way is not used again
        _plain_markdown.cache_clear()
        raw = "".join(f"<p>{part}</p>" for part in re.split(r"\n\s*\n", words))
    one_level = re.sub(r"(</?)h[1-6]\b", r"\1h3", raw)
    clean = nh3.clean(
        one_level,
        tags=_TAGS,
        attributes={"a": {"href", "title"}},
        url_schemes={"http", "https"},
        link_rel="noopener nofollow ugc",
    )
    return Markup(clean)

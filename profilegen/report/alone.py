"""A report made ready to stand alone, as one file in a mail: nothing that leads elsewhere."""

from __future__ import annotations

from dataclasses import replace

from profilegen.report.page import Block, Details, Head, Links, ReportPage


def report_alone(page: ReportPage) -> ReportPage:
    """The same report without links to other files."""
    return replace(
        page,
        head=head_alone(page.head),
        tabs=(),
        more=(),
        sections=tuple(
            replace(section, blocks=_without_links(section.blocks)) for section in page.sections
        ),
    )


def head_alone(head: Head) -> Head:
    """The same head without links, those of the glossary included."""
    return replace(head, links=(), glossary=(), glossary_href="")


def _without_links(blocks: tuple[Block, ...]) -> tuple[Block, ...]:
    kept = (block for block in blocks if not isinstance(block, Links))
    return tuple(
        replace(block, blocks=_without_links(block.blocks)) if isinstance(block, Details) else block
        for block in kept
    )

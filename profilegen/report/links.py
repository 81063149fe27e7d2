"""Where each page of the site lives, as paths relative to the site's root."""

from __future__ import annotations

from typing import Literal
from urllib.parse import quote

Reading = Literal["coach", "lifter", "club"]
"""Who a report is for. The coach's says everything; the lifter's is short and says "you";
the club's, on the public copy, says as much as the lifter's and names the lifter."""

SQUAD = "index.html"
METHODS = "methods.html"
SQUAD_DATA = "squad.json"
ASSETS = "assets"
ROSTER = "roster.js"
"""Everyone of a large squad, for the search of its first page."""


def report_path(athlete_id: str, reading: Reading = "coach") -> str:
    """The file of one lifter's report.

    >>> report_path("ada")
    'lifters/ada/index.html'
    >>> report_path("ada", "lifter")
    'lifters/ada/lifter.html'
    """
    name = "index.html" if reading == "coach" else "lifter.html"
    return f"lifters/{athlete_id}/{name}"


def one_file_path(athlete_id: str, reading: Reading = "coach") -> str:
    """The file of one lifter's report that stands alone, to be sent by mail.

    >>> one_file_path("ada"), one_file_path("ada", "lifter"), one_file_path("ada", "club")
    ('lifters/ada/ada-in-full.html', 'lifters/ada/ada-in-short.html', 'lifters/ada/ada.html')
    """
    ending = {"coach": "-in-full", "lifter": "-in-short", "club": ""}[reading]
    return f"lifters/{athlete_id}/{athlete_id}{ending}.html"


def lifter_of(path: str) -> str:
    """The lifter whose file this is; empty when it is nobody's own.

    >>> lifter_of("lifters/ada/time.html"), lifter_of("index.html")
    ('ada', '')
    """
    parts = path.split("/")
    return parts[1] if len(parts) == 3 and parts[0] == "lifters" else ""


def part_path(number: int) -> str:
    """One page of a squad that is too large for one.

    >>> part_path(7)
    'squad-7.html'
    """
    return f"squad-{number}.html"


def plots_path(page_path: str) -> str:
    """The script with a page's plots, beside the page.

    >>> plots_path("lifters/ada/index.html")
    'lifters/ada/index.js'
    """
    return page_path.removesuffix(".html") + ".js"


def profile_path(athlete_id: str) -> str:
    """The file of one lifter's numbers, beside the report."""
    return f"lifters/{athlete_id}/profile.json"


def href(path: str, root: str = "") -> str:
    """`path` as a link from a page whose way up to the site's root is `root`.

    >>> href(report_path("zoë #1"))
    'lifters/zo%C3%AB%20%231/index.html'
    """
    return root + quote(path)

"""Which lifts are never proposed to a lifter: those to avoid, and what is much alike.

Everything that proposes a lift asks here; norms/alike.yaml says what is alike, and why.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from profilegen.history.records import Athlete, Avoid, Club
from profilegen.norms.alike import load_alike


def avoided_lifts(athlete: Athlete, club: Club) -> frozenset[str]:
    """Lifts marked `avoid`, and those much alike; clean and jerk among them where it is."""
    return with_alike((one.lift for one in athlete.avoid), club)


def with_alike(lifts: Iterable[str], club: Club) -> frozenset[str]:
    """These lifts, and those much alike."""
    return load_alike().taken_along(lifts, parents_of(club))


def parents_of(club: Club) -> Mapping[str, str]:
    """By the club's own lift, the lift it behaves like."""
    return {own.id: own.parent for own in club.own_lifts}


def avoiding_alike(athlete: Athlete, club: Club) -> Athlete:
    """The lifter with every lift that is not to be proposed on the list."""
    listed = {one.lift for one in athlete.avoid}
    more = sorted(avoided_lifts(athlete, club) - listed)
    return replace(athlete, avoid=(*athlete.avoid, *map(Avoid, more)))

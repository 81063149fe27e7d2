"""Which lifts are never proposed to a lifter: those to avoid, and what is much alike.

Everything that proposes a lift asks here; norms/alike.yaml says what is alike, and why.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from profilegen.history.records import Athlete, Avoid, Club
from profilegen.norms.alike import Alike


def avoided_lifts(athlete: Athlete, club: Club, alike: Alike) -> frozenset[str]:
    """Lifts marked `avoid`, and those much alike; clean and jerk among them where it is."""
    return alike.taken_along((one.lift for one in athlete.avoid), parents_of(club))


def parents_of(club: Club) -> Mapping[str, str]:
    """By the club's own lift, the lift it behaves like."""
    return {own.id: own.parent for own in club.own_lifts}


def avoiding_alike(athlete: Athlete, club: Club, alike: Alike) -> Athlete:
    """The lifter with every lift that is not to be proposed on the list."""
    listed = {one.lift for one in athlete.avoid}
    more = sorted(avoided_lifts(athlete, club, alike) - listed)
    return replace(athlete, avoid=(*athlete.avoid, *map(Avoid, more)))

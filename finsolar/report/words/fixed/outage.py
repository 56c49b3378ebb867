"""What the section of the outage says whatever was found."""

from __future__ import annotations

from markupsafe import Markup


def other_ways(plan: str) -> Markup:
    """What unfolds how else an alternative bears an outage."""
    return Markup("“<bdi>{}</bdi>” in other ways").format(plan)

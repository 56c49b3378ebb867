"""What the page of a number that is moved says whatever was found."""

from __future__ import annotations

from markupsafe import Markup

HOW = "How it was made"


def about(inputs: str) -> Markup:
    """The line below the title, by what the inputs that move are called."""
    return Markup("The answer by <bdi>{}</bdi>").format(inputs)


def footer(scenario: str) -> Markup:
    """What the page was made from."""
    return Markup("Made with finsolar from the scenario “<bdi>{}</bdi>”. The page works without a network.").format(
        scenario
    )

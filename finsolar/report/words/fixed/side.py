"""What the page of several households says whatever was found."""

from __future__ import annotations

ANSWERS = "The short answers"
BESIDE = "Side by side"
ASSUMED = "What they assume"
FOOTER = (
    "Made with finsolar. The page works without a network; the whole study of each household stands in a page of its "
    "own."
)


def households(count: int) -> str:
    """The line below the title."""
    return f"{count} households side by side, each by the best of its own alternatives"

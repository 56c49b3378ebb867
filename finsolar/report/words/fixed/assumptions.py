"""What the section of assumptions says whatever was found."""

from __future__ import annotations

from markupsafe import Markup

LEFT_OUT = "What was left out, and what stands in its place"
LEFT_OUT_FOLDED = "What was assumed, and why"
LEFT_OUT_TABLE = "What was assumed"
LEFT_OUT_CAPTION = "What the scenario leaves out, and what stands in its place"
LEFT_OUT_HEAD = ("Input", "Assumed", "Why")

INPUTS = "Every input, and who says so"
INPUTS_FOUND = Markup(
    "Each has an id: its path in the study’s JSON, by which <code>finsolar vary</code> and the workbook know it too. "
    "Search the page for an id or a word; its group opens."
)
INPUTS_HEAD = ("Input and id", "Value, and its range", "Who says so")

SOURCES = "Sources"
SOURCES_CAPTION = "What else the study rests on"
SOURCES_HEAD = ("What", "Where it comes from", "How it is known")
OWN_RANGES = "The ends of every range are the household’s own; where it says nothing, a number has none."

REGISTER = "Register of figures"
REGISTER_FOUND = Markup(
    "Each figure of this page stands in the study’s JSON and, where formulas follow it, in the workbook. The years of "
    "a line stand below its id, year 0 first: <code>alternatives.0.cash_flow.net.3</code> is the net of year 3."
)
REGISTER_HEAD = ("Id", "Value")
STUDY = "The study"
"""The group of what belongs to no alternative."""


def inputs_folded(group: str, inputs: int) -> Markup:
    """What unfolds a group of so many inputs."""
    return Markup("<bdi>{}</bdi>: {} input{}").format(group, inputs, "" if inputs == 1 else "s")


def inputs_of(group: str) -> str:
    """The name of the table of a group of inputs."""
    return f"Inputs: {group}"


def register_folded(group: str, figures: int) -> Markup:
    """What unfolds a group of so many figures."""
    return Markup("<bdi>{}</bdi>: {} figures").format(group, figures)


def register_of(group: str) -> str:
    """The name of the table of a group of figures."""
    return f"Register of figures: {group}"


def register_caption(group: str) -> Markup:
    """The caption of a group of figures."""
    return Markup("<bdi>{}</bdi>, unrounded").format(group)

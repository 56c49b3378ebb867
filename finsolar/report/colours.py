"""The colours of the page, in one place.

Series take the eight hues that Okabe and Ito chose to be told apart by colour-blind readers (Color Universal
Design, 2002), in an order of our own; a dash and a marker go with each, so that colour is never alone.
"""

SERIES = ("#0072B2", "#D55E00", "#009E73", "#CC79A7", "#E69F00", "#56B4E9", "#8a8a00", "#7a7a7a")
"""One hue for each alternative, in the order of the scenario; readable on light and dark paper."""

DASHES = ("solid", "dash", "dot", "dashdot", "longdash", "longdashdot", "solid", "dash")
MARKERS = ("circle", "square", "diamond", "triangle-up", "cross", "x", "star", "hexagon")

STAY = "#7a7a7a"
"""Staying as you are."""

SUN, GRID, BURN = "#E69F00", "#7a7a7a", "#D55E00"
"""Where energy comes from: sun, grid, generator."""

STORE = "#009E73"
"""The battery."""

TAKEN_AND_GIVEN = (
    (0.0, "#0072B2"),
    (0.5, "rgba(0,114,178,0)"),
    (0.5, "rgba(213,94,0,0)"),
    (1.0, "#D55E00"),
)
"""A scale with two ends: given below zero, taken above it, and at zero the paper itself, be it light or dark."""

LOSS_TO_GAIN = ((0.0, "#D55E00"), (0.5, "#fdfcf9"), (1.0, "#0072B2"))
"""A scale of money around zero."""

SOON_TO_LATE = ((0.0, "#0072B2"), (1.0, "#fdfcf9"))
"""A scale of years."""

NEVER, INK = "#c9c4b8", "#1d2733"
"""Where a figure does not exist, and what is written on a map, which is light on dark paper too."""

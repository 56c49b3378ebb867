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

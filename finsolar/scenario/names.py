"""Names that a scenario may use and that later rooms give a meaning to.

The rooms that hold the data test that these lists are exact; they stand here so that reading a scenario
needs no weather file.
"""

STATIONS = ("greensboro", "miami", "sand-point")
"""Weather stations; the energy room knows their files."""

SHAPES = ("all-electric", "cabin", "evening", "home-all-day", "hot-climate", "bdew-h25")
"""Daily shapes of a load, invented but for the last, a published standard; the energy room knows their hours."""

NO_SYSTEM = "none"
"""What an alternative says of its system where it builds none, such as one that only brings a line to the house."""

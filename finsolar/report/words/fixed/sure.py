"""What the section of sureness says whatever was found."""

from __future__ import annotations

MEANS = (
    "A mean is that of the cases that have the figure, and the last column counts those without; a payback that never "
    "comes is later than any other."
)
OTHER_FIGURES = "The other figures over all cases"
DRAWN = "What was drawn"
SUNLIGHT = "Dull and bright years"
SUNLIGHT_TABLE = "The answer by the sunlight of the years"
SUNLIGHT_CAPTION = "If every year had this share of the sunlight of the weather’s year"
SUNLIGHT_HEAD = (
    "Alternative",
    "Sunlight",
    "Solar, year 1, kWh",
    "Saving, year 1",
    "NPV",
    "Simple payback, for good",
)

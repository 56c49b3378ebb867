"""Why a bill cannot be told by price period."""

NO_GRID = "the house draws nothing from a grid"
IN_MONEY = "energy is settled in money once a year, over all periods together"

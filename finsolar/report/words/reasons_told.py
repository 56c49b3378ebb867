"""Why a figure of the study does not exist, and what is moved where the study looks at several values."""

from __future__ import annotations

NO_OUTLAY = "staying lays out nothing that could come back"
NO_HOUR_WORTH = "own_hour_worth is not stated"
ONE_NUMBER = "the scenario states one number and no range"

SUNLIGHT = "sunlight of every year over that of the weather's year"
RISE = "yearly rise of the price of energy"

NO_ERROR = "some set of draws by itself lacks the figure, so that the sets cannot be compared"
TOO_FEW = "too few cases differ to tell how sure the shares are"

_NO_CASE = {
    "irr": "no case has an internal rate",
    "simple_payback": "no case is paid back within the study",
    "discounted_payback": "no case is paid back within the study",
    "lcoe": "no case has solar energy that is used or sold",
}

_LATE = {
    "p10": "nine cases in ten or more are never paid back",
    "p50": "half of the cases or more are never paid back",
    "p90": "one case in ten or more is never paid back",
}


def of_cases(name: str, key: str, none: float) -> str:
    """Why the ``key``, such as P10, of a figure over all cases does not exist; ``none`` : share of cases without it."""
    return _NO_CASE.get(name, "no case has this figure") if none == 1 else _LATE.get(key, NO_ERROR)

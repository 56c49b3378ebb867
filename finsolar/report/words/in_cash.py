"""Cash alone, told: where the household counts the worth of backup, what the figures are without it."""

from __future__ import annotations

from typing import Any

from finsolar.money.cashflow import WORTH_OF_BACKUP
from finsolar.report.words.amounts import joined, money, years_long
from finsolar.report.words.changes_told import best_of

Plain = dict[str, Any]

NPV_WITHOUT = "NPV without the worth of backup"
ROWS = {
    "metrics.npv": "NPV in cash alone",
    "metrics.irr": "IRR in cash alone",
    "metrics.simple_payback_lasting": "Simple payback in cash alone, for good",
}
"""What stands beside a figure that has worth in it, by where that stands within an alternative."""
PLACES = {
    "metrics.npv": "outage.backup.npv_without",
    "metrics.irr": "outage.backup.irr_without",
    "metrics.simple_payback_lasting": "outage.backup.payback_without",
}
"""Where that stands within the alternative."""

_LEFT_OUT = {"sir": "SIR", "airr": "AIRR", "lcoe": "LCOE", "backup_cost": "the cost of backup"}


def apart(plan: Plain) -> Plain | None:
    """The backup of an alternative with worth among its money; none where there is no such worth."""
    if plan["outage"] is None or not any(plan["cash_flow"]["lines"].get(WORTH_OF_BACKUP, [])):
        return None
    found: Plain = plan["outage"]["backup"]
    return found


def counted(plain: Plain) -> bool:
    """Whether worth stands among the money of an alternative, and its figures without it are known."""
    return any(apart(plan) is not None for plan in plain["alternatives"])


def place(plan: Plain, key: str) -> str:
    """Where a figure of `ROWS` stands in cash alone, within its alternative; where it is, if no worth is in it."""
    return key if apart(plan) is None else PLACES[key]


def sentence(plain: Plain) -> str:
    """What follows the first sentence: payback and NPV of the same alternative in cash alone; mostly nothing."""
    own = apart(best_of(plain))
    if own is None:
        return ""
    years = own["payback_without"]
    back = "not paid back within the study" if years is None else years_long(years) if years else "never out of pocket"
    return f" In cash alone: {back}, NPV {money(own['npv_without'], plain['settings']['currency'])}."


def left_out(plain: Plain, rows: list[tuple[str, str, str]]) -> str:
    """Which figures of a table have no worth in them; ``rows`` : those it shows, as `terms.metric_rows`."""
    names = [_LEFT_OUT[key] for key, _, _ in rows if key in _LEFT_OUT]
    return f"{joined(names)} leave{'s' * (len(names) == 1)} the worth of backup out." if counted(plain) else ""


def with_worth(plain: Plain) -> str:
    """What the title of running totals ends with where worth is in them; mostly nothing."""
    return ", with the worth of backup" if counted(plain) else ""

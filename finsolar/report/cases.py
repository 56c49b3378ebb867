"""Many cases of a study as plain values: how sure it is, and what would change it."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

import numpy as np

from finsolar.report.numbers import value, values
from finsolar.report.words import reasons_told
from finsolar.report.words.ranges_told import field_of, names_of, unit_of
from finsolar.scenario.stated import in_words

if TYPE_CHECKING:
    from finsolar.results import Study
    from finsolar.uncertainty.ranges import Ranged
    from finsolar.uncertainty.shares_of_variance import Indices
    from finsolar.uncertainty.simulation import Simulation
    from finsolar.uncertainty.summary import Summary
    from finsolar.uncertainty.sureness import Sureness
    from finsolar.uncertainty.what_matters import Swing


def uncertainty_as_plain(study: Study) -> dict[str, Any] | None:
    """Every figure over all cases; ``None`` where nothing was drawn that they depend on.

    ``draws`` : cases in all, in ``replicates`` sets; ``inputs`` : the ranges drawn, ``p10`` and ``p90`` theirs;
    ``years`` that differ by themselves, 0 where all share one value; ``recorded`` where the record of the country says
    them; ``apart`` where no money depends on them; ``hours`` : of the ranges that the hours depend on, ``null`` without
    any: how many exact ``studies`` the cases lie between, and how far off ``cases`` that were run alone are:
    ``npv_off`` money, ``bill_off`` a share of what staying as you are pays. Shares are 0 to 1; a figure that does not
    exist is ``null`` and its reason stands under ``reasons``.
    """
    found = study.simulation
    if found is None or all(_apart(study, each) for each in found.drawn):
        return None
    from finsolar.uncertainty.columns import count, values_of
    from finsolar.uncertainty.simulation import REPLICATES

    names = names_of(study.scenario, found.drawn)
    low, high = (values_of(found.drawn, np.full(count(found.drawn), share)) for share in (0.1, 0.9))
    return {
        "seed": found.seed,
        "draws": found.draws * REPLICATES,
        "replicates": REPLICATES,
        "inputs": [
            _input(study, each, names) | {"p10": value(low[k]), "p90": value(high[k])}
            for k, each in enumerate(found.drawn)
        ],
        "hours": _hours(found),
        "alternatives": [_sureness(one) for one in study.sureness],
    }


def _hours(found: Simulation) -> dict[str, Any] | None:
    if found.surface is None or found.checked is None:
        return None
    return {
        "ranges": [each.name for each in found.surface.ranges],
        "studies": len(found.surface.exact),
        "cases": found.checked.cases,
        "npv_off": value(found.checked.npv),
        "npv_off_middle": value(found.checked.npv_middle),
        "bill_off": value(found.checked.bill),
        "renewed_apart": found.checked.renewed_apart,
    }


def _input(study: Study, one: Ranged, names: dict[str, str]) -> dict[str, Any]:
    return {
        "name": one.name,
        "words": names[one.name],
        "unit": unit_of(study.scenario, one),
        "stated": in_words(one.range, field_of(study.scenario, one)),
        "recorded": _recorded(study, one),
        "years": one.years,
        "apart": _apart(study, one),
    }


def _apart(study: Study, one: Ranged) -> bool:
    """Whether a range is of outages and their worth alone, and the scenario keeps these out of its money."""
    if study.settled.study.count_backup:
        return False
    return all(path.startswith(("household.outage.", "household.backup_kwh")) for path in one.paths)


def _recorded(study: Study, one: Ranged) -> bool:
    """Whether the record of the country says a range, and not the household."""
    steps, outage = one.paths[0].split("."), study.scenario.household.outage
    return steps[:2] == ["household", "outage"] and bool(getattr(getattr(outage, steps[2]), "source", ""))


def _sureness(one: Sureness) -> dict[str, Any]:
    return {
        "name": one.name,
        "figures": {name: _summary(name, found) for name, found in one.figures.items()},
        "chances": {name: None if found is None else asdict(found) for name, found in one.chances.items()},
        "reasons": dict(one.reasons),
        "histogram": {
            "edges": values(one.npv.edges),
            "counts": [int(count) for count in one.npv.counts],
            "left_out": int(one.npv.left_out),
        },
        "running": {name: values(row) for name, row in asdict(one.running).items()},
        "enough": one.enough,
    }


def _summary(name: str, found: Summary) -> dict[str, Any]:
    plain: dict[str, Any] = {key: value(number) for key, number in asdict(found).items()}
    missing = [key for key, number in plain.items() if number is None]
    return plain | {"reasons": {key: reasons_told.of_cases(name, key, found.none) for key in missing}}


def what_matters_as_plain(study: Study) -> dict[str, Any] | None:
    """Each range by itself, from its P10 to its P90; ``None`` where nothing was drawn.

    ``npv_low`` and ``npv_high`` : money by alternative, all other ranges at their middle; ``leads`` : from the value
    ``since`` on ``leader`` has the highest NPV, the first from the P1 of the range; ``shares`` : of the variance of
    each NPV, the ranges taken for independent, ``null`` for the reason of that alternative under ``reasons``;
    ``years`` : the same of years that differ by themselves, moved together to the P10 and P90 of their mean, ``null``
    where none do.
    """
    found = study.what_matters
    if found is None or study.simulation is None or all(_apart(study, each) for each in study.simulation.drawn):
        return None
    plans = [result.name for result in study.results]
    drawn = {each.name: each for each in study.simulation.drawn}
    names = names_of(study.scenario, study.simulation.drawn)
    own = [each.name for each in study.simulation.drawn if each.years]
    return {
        "ranges": [
            {
                "name": swing.name,
                "words": names[swing.name],
                "unit": unit_of(study.scenario, drawn[swing.name]),
                **_ends(swing, plans),
                "leads": [asdict(lead) for lead in found.leads[swing.name]],
                "shares": {plan: _shares(found.shares[i], k) for i, plan in enumerate(plans)},
                "years": None
                if swing.name not in own
                else _ends(found.of_years[swing.name], plans)
                | {
                    "shares": {
                        plan: _shares(found.shares[i], len(found.swings) + own.index(swing.name))
                        for i, plan in enumerate(plans)
                    }
                },
            }
            for k, swing in enumerate(found.swings)
        ],
        "reasons": {plan: why for plan, one in zip(plans, found.shares, strict=True) if (why := _no_shares(one))},
    }


def _ends(swing: Swing, plans: list[str]) -> dict[str, Any]:
    return {
        "low": value(swing.low),
        "high": value(swing.high),
        "npv_low": dict(zip(plans, values(swing.npv_low), strict=True)),
        "npv_high": dict(zip(plans, values(swing.npv_high), strict=True)),
    }


def _no_shares(found: Indices) -> str | None:
    if found.why_not is None and np.isnan([found.first_error, found.total_error]).any():
        return reasons_told.TOO_FEW
    return found.why_not


def _shares(found: Indices, k: int) -> dict[str, float | None] | None:
    if found.why_not is not None:
        return None
    return {key: value(getattr(found, key)[k]) for key in ("first", "total", "first_error", "total_error")}

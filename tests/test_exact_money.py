"""The money of a study against exact fractions: whatever a household writes, no figure may be off by a billionth.

Source of every expected figure: `oracle_exact`, our own third reckoning, which rounds nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import Any

import oracle_exact
import pytest
from generated_money import PLACES, bare_house, money_scenarios, studied
from generated_scenarios import in_yaml
from hypothesis import HealthCheck, Phase, given, settings
from oracle_exact_numbers import NONE

from finsolar.incentives.facts import Award
from finsolar.results import Study

PART = Fraction(1, 10**9)
"""How far off a figure may be, of itself."""
TRACES = Fraction(1, 10**13)
"""What double precision may leave of all the money that moves, where a figure is the rest of larger ones."""


def given_by(study: Study, found: dict[str, Any]) -> oracle_exact.Given:
    """What the oracle does not reckon itself, as the study tells it."""
    [result] = study.results
    batterys = [i for i, line in enumerate(result.costs) if line.category == "battery"]

    def on_the_battery(award: Award) -> float | None:
        if award.spread is not None:
            return float(sum(award.spread[i] for i in batterys))
        return 0.0 if award.kind in ("performance payment", "metered certificates") else None  # for energy made

    none = [0.0] * (found["cash_flow"]["year"][-1] + 1)
    upfront, yearly = ([award for award in found["incentives"] if award["upfront"] is way] for way in (True, False))
    spared = [award["amounts"][0] for award in found["incentives"] if award["kind"] == "sales tax relief"]

    def together(awards: list[dict[str, Any]], name: str) -> list[float]:
        return [sum(amounts) for amounts in zip(none, *(award[name] for award in awards), strict=True)]

    energy = found["energy"]
    made = [sun - cut for sun, cut in zip(energy["solar"], energy["curtailed"], strict=True)]
    return oracle_exact.Given(
        before=found["bills"]["before"]["by_year"],
        after=found["bills"]["after"]["by_year"],
        useful=energy["useful"],
        made=made,
        sun=[max(made - idle, 0.0) for made, idle in zip(made, energy["idle"], strict=True)],
        worn_out=energy["battery_renewed_after"],
        awards=together(upfront, "amounts"),
        yearly_awards=together(yearly, "amounts"),
        award_tax=together(upfront + yearly, "tax"),
        spared=sum(spared),
        spread=[((award.amounts + award.tax).tolist(), on_the_battery(award)) for award in result.awards],
    )


def differences(wanted: Any, found: Any, traces: Fraction, path: str) -> Iterator[str]:
    """Say where a figure is not the exact one; what is not wanted may be there."""
    if isinstance(wanted, dict):
        for name, value in wanted.items():
            if name not in found:
                yield f"{path} has no {name!r}, only {sorted(found)}"
            else:
                yield from differences(value, found[name], traces, f"{path}.{name}")
    elif isinstance(wanted, list):
        if len(wanted) != len(found):
            yield f"{path} has {len(found)} entries, not {len(wanted)}"
        for i, (value, other) in enumerate(zip(wanted, found, strict=False)):
            yield from differences(value, other, traces, f"{path}[{i}]")
    elif wanted is None or found is None:
        if wanted is not found:
            yield f"{path} is {found!r}, not {wanted if wanted is None else float(wanted)!r}"
    elif abs(Fraction(found) - wanted) > PART * abs(wanted) + traces:
        yield f"{path} is {found!r}, not {float(wanted)!r}"


def slack(wanted: dict[str, Any], name: str, value: Fraction | None, traces: Fraction) -> Fraction:
    """How far off a figure may be beside a part of itself, being the rest of larger ones or a ratio to such a rest."""
    if "payback" in name:
        return PART
    if "npv" in name or "value" in name:
        return traces
    if "lcoe" in name:
        return TRACES
    outlay = wanted["outlays"].get(name, NONE)
    return abs(value) * traces / outlay if value is not None and outlay > 0 else NONE


def wrong(study: Study) -> Iterator[str]:
    """Say what of the study is not exact."""
    found = study.to_json()["alternatives"][0]
    scenario = study.scenario
    wanted = oracle_exact.worked_out(scenario, scenario.alternatives[0], given_by(study, found))
    years, traces = scenario.study.years, TRACES * wanted["moved"]
    rate, inflation = (
        Fraction(study.to_json()["settings"]["discount_rate"]),
        oracle_exact.exact(scenario.study.inflation),
    )
    for line in wanted["costs"]["lines"]:
        del line["left"], line["resold"]
    for part in ("costs", "cash_flow", "loan"):
        yield from differences(wanted[part], found[part], traces, part)
    shown = found["metrics"]
    for name, value in wanted["metrics"].items():
        yield from differences(value, shown[name], slack(wanted, name, value, traces), f"metrics.{name}")
    extra = set(found["cash_flow"]["lines"]) - set(wanted["cash_flow"]["lines"])
    if extra:
        yield f"the cash flow has {sorted(extra)} besides"
    for name, power in wanted["powers"].items():
        for figure, deflator in ((name, Fraction(1)), ("real_" + name, 1 + inflation)):
            grown = None if shown[figure] is None else ((1 + Fraction(shown[figure])) * deflator) ** years
            yield from differences(power, grown, slack(wanted, name, power, traces), f"the power of {figure}")
    if abs(rate - oracle_exact.rate_of(scenario)) > PART:
        yield f"the discount rate is {float(rate)}"


def check(text: str) -> None:
    """Work a drawn scenario out in doubles and in fractions, and compare."""
    problems = list(wrong(studied(text)))
    assert not problems, "\n".join([text, f"{len(problems)} differences, of which the first:", *problems[:20]])


def house_with(years: int = 4, **plan: Any) -> str:
    """The text of the house with another plan, where a credit is paid out over two years and interest is deducted."""
    found = bare_house(years)
    found["place"] = PLACES[1]
    found["household"] |= {"income_tax": 700, "owner_occupied": True, "marginal_tax": "22%", "itemises": True}
    found["household"] |= {"property_tax": {"rate": "1.1%", "added_value": "40%"}, "backup_kwh": 25}
    found["alternatives"] = [{"name": "only"} | plan]
    return in_yaml(found)


PANELS = [
    {"item": "modules", "category": "modules", "cost": 1203.4},
    {"item": "work", "category": "labour", "cost": 2406.8},
]


LOANS: dict[str, dict[str, Any]] = {
    "points and fee, borrowed": {"fee": "2.5%", "fixed_fee": 120, "fees": "borrowed", "share": "80%"},
    "points and fee, paid": {"fee": "2.5%", "fixed_fee": 120, "deductible": "60%", "amount": 2000},
    "more than the price": {"amount": 9000, "dealer_fee": "18%", "dealer_fee_of": "cash price"},
    "dealer fee": {"dealer_fee": "22%", "later_rates": ["7%", "2%", "2%", "9%"], "deductible": "100%"},
    "interest added": {"deferral_months": 19, "later_rates": ["3%", "8%"]},
    "interest paid": {
        "deferral_months": 19,
        "deferral_pays": "interest",
        "later_rates": ["3%", "8%"],
        "deductible": 0.5,
    },
    "lower payment": {"paydown": {"awards": "90%", "month": 24}, "later_rates": ["3%", "8%"]},
    "awards of one year": {"paydown": {"awards": "90%", "month": 23}},
    "sooner end": {"paydown": {"share": "30%", "month": 18, "then": "sooner end"}},
    "sooner end, then another rate": {
        "paydown": {"share": "30%", "month": 18, "then": "sooner end"},
        "later_rates": ["6%", "6%", "1%", "11%"],
    },
    "paid in before it is due": {"deferral_months": 14, "paydown": {"amount": 900, "month": 9, "then": "sooner end"}},
    "starter, met": {"starter_share": "30%", "paydown": {"share": "30%", "month": 18}, "later_rates": ["4%", "8%"]},
    "starter, not met": {"starter_share": "55%", "paydown": {"amount": 0, "month": 18}, "deferral_months": 5},
    "all of it paid in": {"paydown": {"amount": 50_000, "month": 30}},
}


@pytest.mark.parametrize("years", [11, 26])
@pytest.mark.parametrize("loan", LOANS.values(), ids=LOANS)
def test_a_loan_is_exact(loan: dict[str, Any], years: int) -> None:
    """Each feature of a loan where it moves money: over a decade, and over nearly all of a long study."""
    terms = {"rate": "6%", "years": 10 if years == 11 else 24} | loan
    check(house_with(years, costs=PANELS, payment={"loan": terms}))


def test_an_outlay_that_is_given_back_whole_has_no_ratio() -> None:
    """In doubles a trace of it is left, on which any saving would be a fortune."""
    prices = (932.46, 346.88, 328.13)
    assert sum(prices) > 1607.47
    costs = [{"item": f"part {i}", "category": "other", "cost": price} for i, price in enumerate(prices)]
    check(house_with(costs=costs, rebates=[{"item": "town", "amount": 1607.47}]))


@pytest.mark.parametrize(
    "loan",
    [
        {"rate": "4%", "years": 3, "share": "33.3%"},
        {"rate": "4%", "years": 3, "amount": 1500, "paydown": {"share": "33.333%", "month": 6}},
        {"rate": "4%", "years": 3, "amount": 1500, "paydown": {"amount": 410.5, "month": 6, "then": "sooner end"}},
    ],
    ids=["what is borrowed", "what is paid in", "all in cents"],
)
def test_a_loan_in_whole_cents_is_repaid_to_the_cent(loan: dict[str, Any]) -> None:
    check(house_with(costs=PANELS, payment={"loan": loan | {"whole_cents": True}}))


DRAWN = settings(
    deadline=None,
    derandomize=True,
    phases=[Phase.generate],
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)


@pytest.mark.parametrize("payment", ["cash", "contract"])
def test_money_without_a_loan_is_exact(payment: str) -> None:
    @settings(DRAWN, max_examples=16)
    @given(text=money_scenarios(payment))
    def drawn(text: str) -> None:
        check(text)

    drawn()


@settings(DRAWN, max_examples=30)
@given(text=money_scenarios("loan"))
def test_money_with_a_loan_is_exact(text: str) -> None:
    check(text)

"""What must hold of any study: the identities I1 to I8, I10 and I14, by their ids, on houses with money drawn by lot.

The kernels are asked the same in `test_identities`, `test_loan` and `test_borrowing`; here it is asked of the figures
that a study shows, beside its lines and the schedule of its loan. I9 is not asked: a study counts at the ends of years.
"""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterator
from functools import lru_cache
from typing import Any

import numpy as np
import pytest
from generated_money import bare_house, money_scenarios, studied
from generated_scenarios import in_yaml
from hypothesis import HealthCheck, Phase, given, settings
from pytest import approx

from finsolar.money.cashflow import INVESTMENT, RUNNING
from finsolar.money.lease import in_place
from finsolar.money.metrics import deflated, present_value
from finsolar.results import Study
from finsolar.scenario.schema import Borrowing

Plain = dict[str, Any]
HOW_MANY = 30


class Seen:
    """A study in plain values, with the few numbers that every identity asks for."""

    def __init__(self, study: Study) -> None:
        whole = study.to_json()
        self.study, self.plain = study, whole["alternatives"][0]
        self.rate, self.inflation = whole["settings"]["discount_rate"], whole["settings"]["inflation"]
        self.years = whole["settings"]["years"]
        self.net = np.array(self.plain["cash_flow"]["net"])
        self.lines = {name: np.array(line) for name, line in self.plain["cash_flow"]["lines"].items()}
        self.metrics, self.loan = self.plain["metrics"], self.plain["loan"]
        self.moved = sum(float(np.abs(line).sum()) for line in self.lines.values())

    def worth(self, flows: Any, rate: float | None = None) -> float:
        """What flows by year are worth, at the discount rate unless another is named."""
        return float(present_value(flows, self.rate if rate is None else rate))


@lru_cache
def drawn(free: bool) -> tuple[Seen, ...]:
    """Studies drawn by lot, the same ones in every run; ``free`` ones with a loan and without any interest."""
    found: list[Seen] = []

    @settings(
        max_examples=HOW_MANY // 2 if free else HOW_MANY,
        deadline=None,
        derandomize=True,
        phases=[Phase.generate],
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
    )
    @given(text=money_scenarios("loan" if free else None, free))
    def collect(text: str) -> None:
        found.append(Seen(studied(text)))

    collect()
    return tuple(found)


def i1_npv_is_zero_at_every_rate(seen: Seen) -> Iterator[bool]:
    for rate in seen.metrics["irrs"]:
        moved = seen.worth(np.abs(seen.net), min(rate, 0.0))
        yield abs(seen.worth(seen.net, rate)) <= 1e-9 * moved


def i3_ratio_and_adjusted_rate_take_the_side_of_net_savings(seen: Seen) -> Iterator[bool]:
    ratio, adjusted = seen.metrics["sir"], seen.metrics["airr"]
    net = seen.worth(seen.plain["cash_flow"]["before_loan"])
    if ratio is not None and abs(net) > 1e-9 * seen.moved:
        yield np.sign(ratio - 1) == np.sign(net)
        yield adjusted is None or np.sign(adjusted - seen.rate) == np.sign(net)


def i4_modified_rate_follows_from_npv(seen: Seen) -> Iterator[bool]:
    if seen.metrics["mirr"] is not None:
        spent = seen.worth(np.maximum(-seen.net, 0))
        grown = (1 + seen.metrics["npv"] / spent) ** (1 / seen.years)
        yield seen.metrics["mirr"] == approx((1 + seen.rate) * grown - 1, rel=1e-9, abs=1e-9)


def i5_principal_parts_are_the_loan(seen: Seen) -> Iterator[bool]:
    if seen.loan is None:
        return
    rows = {name: np.array(row) for name, row in seen.loan["schedule"].items()}
    bar = 1e-9 * max(seen.loan["principal"], 1.0)
    repaid = rows["principal"] + rows["paydown"]
    yield repaid.sum() == approx(seen.loan["principal"], abs=bar)
    yield rows["payment"] == approx(rows["interest"] + rows["principal"], abs=bar)
    yield rows["balance"] == approx(seen.loan["principal"] - repaid.cumsum(), abs=bar)
    by_year = np.pad(rows["payment"], (0, 12 * seen.years - len(rows["payment"]))).reshape(-1, 12).sum(axis=1)
    yield -seen.lines["loan payments"][1:] == approx(by_year, abs=bar)
    terms = _terms(seen)
    if terms.later_rates is None and not terms.whole_cents:
        paid = rows["payment"] + rows["paydown"]
        for month in range(0, len(paid), 7):
            to_come = np.concatenate([[0.0], paid[month + 1 :]])
            yield rows["balance"][month] == approx(seen.worth(to_come, float(terms.rate) / 12), abs=bar)


def i6_note_rate_is_the_rate_without_fees(seen: Seen) -> Iterator[bool]:
    if seen.loan is None or _terms(seen).later_rates is not None or _terms(seen).whole_cents:
        return
    rate, schedule = float(_terms(seen).rate), seen.loan["schedule"]
    paid = np.array(schedule["payment"]) + np.array(schedule["paydown"])
    yield seen.worth([seen.loan["principal"], *-paid], rate / 12) == approx(0, abs=1e-9 * seen.loan["principal"] + 1e-9)
    taken = seen.loan["fee"] + seen.loan["dealer_fee"]
    if seen.loan["apr"] is not None and seen.loan["principal"] > 1:
        if taken == 0:
            yield seen.loan["apr"] == approx(rate, abs=1e-9)
        elif taken > 1e-6 * seen.loan["principal"]:
            yield seen.loan["apr"] > rate


def i7_constant_and_current_money_agree(seen: Seen) -> Iterator[bool]:
    real = (1 + seen.rate) / (1 + seen.inflation) - 1
    yield seen.worth(deflated(seen.net, seen.inflation), real) == approx(seen.metrics["npv"], abs=1e-9 * seen.moved)
    for name in ("irr", "mirr", "airr"):
        nominal, constant = seen.metrics[name], seen.metrics["real_" + name]
        yield (nominal is None) == (constant is None)
        if nominal is not None:
            yield 1 + nominal == approx((1 + constant) * (1 + seen.inflation), rel=1e-12)


def i8_levelised_cost_is_the_price_that_pays(seen: Seen) -> Iterator[bool]:
    useful = np.array(seen.plain["energy"]["useful"]) * in_place(seen.study.results[0].plan.payment, seen.years)
    kwh = np.concatenate([[0.0], useful])
    kinds = seen.study.results[0].cash.kinds
    own = [name for name, kind in kinds.items() if kind == INVESTMENT and name != "investment avoided"]
    own += [name for name in RUNNING if name in seen.lines]
    costs = -sum(seen.lines[name] for name in own)
    bar = 1e-9 * (seen.moved + 1)
    yield seen.metrics["lcoe"] * seen.worth(kwh) == approx(seen.worth(costs), abs=bar)
    risen = seen.metrics["real_lcoe"] * (1 + seen.inflation) ** np.arange(seen.years + 1)
    yield seen.worth(risen * kwh - costs) == approx(0, abs=bar)


def i10_discounting_never_shortens_payback(seen: Seen) -> Iterator[bool]:
    """Below a rate of nothing, which falling prices may bring about, money to come counts for more: it shortens it."""
    simple, discounted = seen.metrics["simple_payback"], seen.metrics["discounted_payback"]
    if (seen.net[1:] >= 0).all():
        yield simple == seen.metrics["simple_payback_lasting"]
        sooner, later = (simple, discounted) if seen.rate >= 0 else (discounted, simple)
        yield later is None or (sooner is not None and later >= sooner - 1e-9)


IDENTITIES = (
    i1_npv_is_zero_at_every_rate,
    i3_ratio_and_adjusted_rate_take_the_side_of_net_savings,
    i4_modified_rate_follows_from_npv,
    i5_principal_parts_are_the_loan,
    i6_note_rate_is_the_rate_without_fees,
    i7_constant_and_current_money_agree,
    i8_levelised_cost_is_the_price_that_pays,
    i10_discounting_never_shortens_payback,
)


@pytest.mark.parametrize("identity", IDENTITIES, ids=lambda identity: identity.__name__)
def test_identity_holds_for_studies_drawn_by_lot(identity: Callable[[Seen], Iterator[bool]]) -> None:
    asked = 0
    for seen in drawn(False) + drawn(True):
        for number, holds in enumerate(identity(seen)):
            assert np.all(holds), f"part {number} of {identity.__name__} fails for\n{seen.study.scenario.alternatives}"
            asked += 1
    assert asked > 10


@pytest.mark.parametrize(("terms", "shortens"), [
    ({"real_discount_rate": "1%", "inflation": "-1.5%"}, True),
    ({"real_discount_rate": "1%", "inflation": "1.5%"}, False),
])  # fmt: skip
def test_i10_turns_where_falling_prices_make_the_rate_negative(terms: Plain, shortens: bool) -> None:
    house = bare_house(11)
    house["study"] = {"in_service": house["study"]["in_service"], "years": 11, **terms}
    house["alternatives"][0]["upkeep"] = []
    seen = Seen(studied(in_yaml(house)))
    assert (seen.rate < 0) == shortens == (seen.metrics["discounted_payback"] < seen.metrics["simple_payback"])
    assert list(i10_discounting_never_shortens_payback(seen)) == [True, True]


def test_i14_free_money_gives_plain_sums() -> None:
    lent = 0
    for seen in drawn(True):
        bar = 1e-9 * seen.moved
        kwh = np.array(seen.plain["energy"]["useful"]) * in_place(seen.study.results[0].plan.payment, seen.years)
        costs = seen.lines["investment avoided"] - seen.study.results[0].cash.of_kind(INVESTMENT)
        costs = costs - sum(seen.lines[name] for name in RUNNING if name in seen.lines)
        assert seen.metrics["npv"] == approx(seen.net.sum(), abs=bar)
        assert seen.metrics["annual_value"] == approx(seen.net.sum() / seen.years, abs=bar)
        assert seen.metrics["discounted_payback"] == seen.metrics["simple_payback"]
        assert seen.metrics["lcoe"] == approx(costs.sum() / kwh.sum(), rel=1e-9, abs=1e-9 * seen.moved / kwh.sum())
        if seen.loan is None:
            continue
        lent += seen.loan["principal"] > 0
        assert seen.loan["total_interest"] == approx(0, abs=1e-9 * seen.loan["principal"])
        assert not np.any(seen.loan["schedule"]["interest"])
        repaid = sum(seen.loan["schedule"]["payment"]) + sum(seen.loan["schedule"]["paydown"])
        assert repaid == approx(seen.loan["principal"], rel=1e-9)
        assert _terms(seen).rate == 0
    assert lent > 3


def _terms(seen: Seen) -> Any:
    payment = seen.study.results[0].plan.payment
    assert isinstance(payment, Borrowing)
    return payment.loan


def priced_at(scale: float) -> Plain:
    """The house with some of everything that money can be about, in a currency of which one is worth ``scale``."""
    found = copy.deepcopy(bare_house(11))
    found["tariff"] |= {"energy": 0.31 * scale, "monthly_charge": 9 * scale}
    found["tariff"]["export"]["price"] = 0.06 * scale
    found["stay"] = {"upkeep": [{"item": "boiler", "category": "other", "cost": 70 * scale, "every": 3}]}
    loan = {"rate": "5.5%", "years": 9, "amount": 3200 * scale}
    loan |= {"fee": "2%", "fixed_fee": 90 * scale, "fees": "borrowed"}
    loan["paydown"] = {"amount": 700 * scale, "month": 17, "then": "sooner end"}
    found["alternatives"] = [
        {
            "name": "only",
            "costs": [
                {"item": "modules", "category": "modules", "each": 120 * scale, "quantity": 8, "residual": "10%"},
                {"item": "work", "category": "labour", "cost": 2600 * scale},
            ],
            "purchase": {"sales_tax": "7%", "services_tax": "4%", "contingency": "5%"},
            "upkeep": [
                {"item": "cleaning", "category": "upkeep", "cost": 35 * scale},
                {"item": "inverter", "category": "inverter", "cost": 900 * scale, "every": 7, "rise": "-1%"},
            ],
            "rebates": [{"item": "town", "amount": 350 * scale}],
            "payment": {"loan": loan},
        }
    ]
    return found


@pytest.mark.parametrize("scale", [0.01, 7.0, 1500.0])
def test_i2_the_currency_does_not_matter(scale: float) -> None:
    one, other = (studied(in_yaml(priced_at(each))).to_json()["alternatives"][0] for each in (1.0, scale))
    figures, scaled = one["metrics"], other["metrics"]
    for name in ("irr", "mirr", "airr", "sir", "simple_payback", "simple_payback_lasting", "discounted_payback",
                 "real_irr", "real_mirr", "real_airr", "real_simple_payback", "irrs", "sign_changes"):  # fmt: skip
        assert figures[name] is not None, name
        assert scaled[name] == approx(figures[name], rel=1e-9, abs=1e-12), name
    for name in ("npv", "annual_value", "real_annual_value", "lcoe", "real_lcoe"):
        assert scaled[name] == approx(scale * figures[name], rel=1e-9), name
    for name, line in one["cash_flow"]["lines"].items():
        assert other["cash_flow"]["lines"][name] == approx(scale * np.array(line), rel=1e-9, abs=1e-9 * scale), name
    for name in ("apr", "effective_rate", "months"):
        assert other["loan"][name] == approx(one["loan"][name], rel=1e-8), name

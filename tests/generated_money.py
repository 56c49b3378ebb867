"""One small house, run once for a few lengths of study, and any money drawn on top of it: many studies, few hours.

What is drawn decides no hour, so that a study of it may take over those of the house.
"""

from __future__ import annotations

import datetime as dt
from functools import lru_cache

from generated_numbers import Block, amount, block, chance, percent, rise
from generated_scenarios import COSTS, cost_lines, in_yaml, loans, sizes_in, upkeep_lines
from hypothesis import strategies as st
from oracle_numbers import central

import finsolar
from finsolar.results import Study
from finsolar.scenario.reading import from_text

YEARS = (1, 4, 11, 26)
PLACES = (
    {"country": "NL", "latitude": 36.1, "longitude": -79.95, "timezone": "America/New_York"},
    {"country": "US", "region": "NC", "latitude": 36.1, "longitude": -79.95, "timezone": "America/New_York"},
    {"country": "US", "region": "NY", "latitude": 36.1, "longitude": -79.95, "timezone": "America/New_York"},
)
"""One sky, and three laws on what is given: none, a credit of the country, and one of the state besides."""


def bare_house(years: int) -> Block:
    """The house without any money of its own but the tariff."""
    return {
        "title": "A house for any money",
        "place": PLACES[0],
        "study": {"in_service": dt.date(2025, 4, 1), "years": years, "discount_rate": "5%"},
        "household": {"load": {"monthly_kwh": [460, 410, 380, 330, 310, 350, 420, 410, 340, 320, 370, 450],
                               "shape": "evening"}},
        "weather": "greensboro",
        "tariff": {"energy": 0.31, "monthly_charge": 9, "rise": "2.5%",
                   "export": {"scheme": "net billing", "price": 0.06}},
        "system": {"arrays": [{"kw": 3.2, "tilt": 30, "azimuth": 180}], "inverter": {"kw": 3},
                   "battery": {"kwh": 6.4, "kw": 3}},
        "alternatives": [{
            "name": "only",
            "costs": [{"item": "all of it", "category": "other", "cost": 5000}],
            "upkeep": [{"item": "next battery", "category": "battery", "cost": 1000, "below": "85%"}],
        }],
    }  # fmt: skip


@lru_cache
def run_once(years: int) -> Study:
    """The study of the bare house, whose hours serve for all that is drawn."""
    return finsolar.study(from_text(in_yaml(bare_house(years))))


def studied(text: str) -> Study:
    """The study of a drawn scenario, with the hours of the house."""
    scenario = from_text(text)
    # A chosen value, although it is the written one, leaves out what a page tells beside the figures.
    written = {"study.inflation": central(scenario.study.inflation)}
    return finsolar.study(scenario, written, reuse=run_once(scenario.study.years))


@st.composite
def lent(draw: st.DrawFn, years: int, free: bool) -> Block:
    """Draw a loan with any of its features, now and then in whole cents, or with years before it is paid back."""
    loan = draw(loans(years))
    if "paydown" in loan:
        lumps = ({"amount": amount(0, 9000, 0)}, {"share": percent(0, 100)}, {"awards": percent(0, 100)})
        after = draw(st.sampled_from(("starter", "lower payment", "sooner end")))
        loan["paydown"] = draw(st.sampled_from(lumps).flatmap(block)) | {"month": loan["paydown"]["month"]}
        if after != "starter":
            loan.pop("starter_share", None)
            loan["paydown"]["then"] = after
    if draw(st.sampled_from((False, False, False, True))):
        loan["whole_cents"] = True
    if "deferral_months" in loan and draw(st.booleans()):
        loan["deferral_months"] = draw(st.integers(1, min(12 * loan["years"] - 1, 40)))
    if loan.get("paydown", {}).get("month", 999) <= loan.get("deferral_months", 0):
        loan.pop("starter_share", None)
    if free:
        loan.pop("later_rates", None)
        loan["rate"] = 0
    return {"loan": loan}


@st.composite
def contracts(draw: st.DrawFn, years: int) -> Block:
    """Draw what is paid to the owner of a system."""
    terms = draw(block({"years": st.integers(1, years + 3)}, {"rise": rise(), "buyout": amount(0, 4000, 0)}))
    if draw(st.booleans()):
        return {"lease": terms | {"monthly": draw(amount(0, 120))}}
    return {"per_kwh": terms | {"price": draw(amount(0, 0.3))}}


@st.composite
def money_scenarios(draw: st.DrawFn, payment: str | None = None, free: bool = False) -> str:
    """Draw the text of the house with other money: of all ways to pay, or of one of loan, contract and cash.

    Where money is ``free`` neither time nor a lender asks for any.
    """
    years = draw(st.sampled_from(YEARS))
    found = bare_house(years)
    found["place"] = draw(st.sampled_from(PLACES))
    found["study"] = draw(
        block(
            {
                "in_service": st.sampled_from((dt.date(2025, 4, 1), dt.date(2025, 11, 20), dt.date(2027, 1, 1))),
                "years": st.just(years),
                draw(st.sampled_from(("discount_rate", "real_discount_rate"))): percent(0, 12),
            },
            {"inflation": percent(-2, 8)},
        )
    )
    found["household"] |= {"marginal_tax": draw(percent(0, 50)), "itemises": True, "main_home": True}
    found["household"] |= draw(
        block(
            {},
            {
                "income_tax": amount(0, 3000, 0),
                "state_income_tax": amount(0, 1500, 0),
                "owner_occupied": st.just(True),
                "backup_kwh": amount(0, 60, 0),
                "property_tax": block({"rate": percent(0, 3), "added_value": percent(0, 100)}),
            },
        )
    )
    if draw(chance(40)):
        found["stay"] = {"costs": draw(cost_lines(0)), "upkeep": draw(upkeep_lines())}
    rebate = block({"amount": amount(0, 1500)}, {"category": st.sampled_from(("battery", "modules"))})
    way = payment or draw(st.sampled_from(("loan", "loan", "contract", "cash")))
    paid = {
        "loan": lent(years, free),
        "contract": contracts(years),
        "cash": st.just("cash"),
    }
    if free:
        found["study"].pop("real_discount_rate", None)
        found["study"]["discount_rate"] = "0%"
    found["alternatives"] = [
        {
            "name": "only",
            "costs": draw(cost_lines(1, sizes_in(found["system"]))),
            "upkeep": draw(upkeep_lines()),
            "rebates": [{"item": f"rebate {i}"} | each for i, each in enumerate(draw(st.lists(rebate, max_size=2)))],
            "purchase": draw(
                block(
                    {},
                    {
                        "sales_tax": percent(0, 10),
                        "services_tax": percent(0, 25),
                        "contingency": percent(0, 15),
                        "contingency_by": st.dictionaries(st.sampled_from(COSTS), percent(0, 20), max_size=2),
                    },
                )
            ),
            "payment": draw(paid[way]),
        }
    ]
    return in_yaml(found)

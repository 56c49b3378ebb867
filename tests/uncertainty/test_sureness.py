"""How sure the answer is, on a house whose figures can be worked out by hand for every case."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from small_house import changed, house

import finsolar
from finsolar.results import Study
from finsolar.uncertainty.simulation import FIGURES, REPLICATES, simulate
from finsolar.uncertainty.summary import Chance, Summary
from finsolar.uncertainty.sureness import LATE, Sureness, with_simulation

Tree = dict[str, Any]
# Energy costs nothing; what is spared is an upkeep of 1000 in each of four years, for an outlay not known.
FIRST, LAST = 2000.0, 4500.0
OUTLAY = {"from": FIRST, "to": LAST}
LEDGER: Tree = {
    "study": {"years": 4, "discount_rate": "10%", "inflation": 0, "draws": 4096},
    "tariff": {"energy": [{"name": "all", "price": 0}], "export": {"price": 0}},
    "costs": [{"item": "Works", "category": "other", "cost": OUTLAY}],
    "stay": {"upkeep": [{"item": "Old boiler", "category": "other", "cost": 1000}]},
}
SPARED = 1000 * sum(1.1**-t for t in (1, 2, 3, 4))
SLICE = REPLICATES / 4096
"""Points that fill a range evenly tell a share to within one case of each replicate."""


def at(share: float) -> float:
    """The outlay below which a share of the cases lie."""
    return FIRST + share * (LAST - FIRST)


def below(outlay: float) -> float:
    """The share of the cases with a lower outlay."""
    return (outlay - FIRST) / (LAST - FIRST)


def sure(changes: Tree) -> Study:
    """The study of the ledger with some fields changed, with its cases."""
    return with_simulation(finsolar.study(house(changed(LEDGER, changes))))


@pytest.fixture(scope="module")
def ledger() -> Study:
    """The study with its cases, paid in cash."""
    return sure({})


@pytest.fixture(scope="module")
def found(ledger: Study) -> Sureness:
    """How sure its one alternative is."""
    [one] = ledger.sureness
    return one


def assert_chance(chance: Chance | None, share: float) -> None:
    """A chance that is answered, with this share."""
    assert chance is not None
    assert chance.share == pytest.approx(share, abs=SLICE)
    assert 0 <= chance.error < SLICE


def test_npv_has_the_mean_and_percentiles_worked_out(found: Sureness) -> None:
    """The NPV is what is spared less the outlay: P10 of the one comes of P90 of the other."""
    npv = found.figures["npv"]
    assert (npv.mean, npv.p10, npv.p50, npv.p90) == pytest.approx(
        tuple(SPARED - at(share) for share in (0.5, 0.9, 0.5, 0.1)), abs=2
    )
    assert npv.none == 0
    assert 0 < npv.error < 0.5 and 0 < npv.p90_error < 2


def test_chance_of_a_npv_above_zero(found: Sureness) -> None:
    assert_chance(found.chances["npv_above_zero"], below(SPARED))


def test_a_payback_that_never_comes_is_later_than_any(found: Sureness) -> None:
    """Above 4000 it is never paid back: a fifth of the cases, so that P90 is none, while P10 and P50 count them in."""
    payback = found.figures["simple_payback"]
    assert payback.none == pytest.approx(0.2, abs=SLICE)
    assert (payback.p10, payback.p50) == pytest.approx((at(0.1) / 1000, at(0.5) / 1000), abs=0.01)
    assert np.isnan(payback.p90) and np.isnan(payback.p90_error)
    assert payback.mean == pytest.approx((FIRST + 4000) / 2 / 1000, abs=0.01)
    assert_chance(found.chances["paid_back_within_study"], 0.8)
    later = found.figures["discounted_payback"]
    assert later.none == pytest.approx(1 - below(SPARED), abs=SLICE)
    assert np.isnan(later.p50) and later.p10 > payback.p10


def test_p90_stands_where_fewer_than_one_in_ten_never_come() -> None:
    """From 2000 to 4200, one case in eleven is never paid back."""
    costs = [{"item": "Works", "category": "other", "cost": {"from": 2000, "to": 4200}}]
    [one] = sure({"costs": costs}).sureness
    assert one.figures["simple_payback"].none == pytest.approx(1 / 11, abs=SLICE)
    assert one.figures["simple_payback"].p90 == pytest.approx(3.98, abs=0.01)


def test_a_payback_that_is_lost_again_does_not_count() -> None:
    """Paid back within two years, lost to a repair in the third, and for good within the fourth."""
    costs = [{"item": "Works", "category": "other", "cost": {"from": 1200, "to": 1800}}]
    repair = [{"item": "Repair", "category": "other", "cost": 2000, "in_years": [3]}]
    [one] = sure({"costs": costs, "upkeep": repair, "household": {"stays_years": 3}}).sureness
    assert one.figures["simple_payback"].p50 == pytest.approx(3.5, abs=0.01)
    assert one.chances["paid_back_while_they_stay"] == Chance(share=0.0, error=0.0)


def test_spans_a_household_asks_about() -> None:
    """By the end of the warranty, of the loan and of their stay, three years each: an outlay of 3000 or less."""
    warranted = {"battery": {"warranty": {"years": 3}}}
    loan = {"loan": {"rate": 0, "years": 3, "share": "50%"}}
    study = sure(
        {
            "system": warranted,
            "household": {"stays_years": 3},
            "alternatives": [{"name": "Cash"}, {"name": "Borrowed", "payment": loan}],
        }
    )
    cash, borrowed = study.sureness
    for one in (cash, borrowed):
        assert_chance(one.chances["paid_back_within_warranty"], below(3000))
        assert_chance(one.chances["paid_back_while_they_stay"], below(3000))
        assert_chance(one.chances["paid_back_within_study"], 0.8)
    assert_chance(borrowed.chances["paid_back_within_loan"], below(3000))
    assert borrowed.reasons == {}
    assert cash.chances["paid_back_within_loan"] is None
    assert cash.reasons == {"paid_back_within_loan": "nothing is borrowed"}


def test_what_cannot_be_asked_says_why(found: Sureness) -> None:
    missing = {name for name, chance in found.chances.items() if chance is None}
    assert missing == set(found.reasons)
    assert found.reasons == {
        "paid_back_within_warranty": "no end of a warranty is known",
        "paid_back_within_loan": "nothing is borrowed",
        "paid_back_while_they_stay": "household.stays_years is not stated",
    }


def test_every_figure_is_told_and_only_paybacks_come_late(found: Sureness) -> None:
    assert tuple(found.figures) == FIGURES
    assert set(FIGURES) > LATE == {"simple_payback", "discounted_payback"}
    assert all(isinstance(each, Summary) for each in found.figures.values())
    assert (found.figures["first_year_saving"].mean, found.figures["first_year_saving"].p90) == (0, 0)
    irr = found.figures["irr"]  # it exists in every case, above the discount rate as often as the NPV is above zero
    assert irr.none == 0
    assert irr.p50 == pytest.approx(rate_of(at(0.5)), abs=1e-3)


def rate_of(outlay: float) -> float:
    """The rate at which four times 1000 are worth an outlay, by halving."""
    low, high = -0.9, 1.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if sum(1000 * (1 + middle) ** -t for t in (1, 2, 3, 4)) > outlay else (low, middle)
    return low


def test_a_rate_that_no_case_has_is_none() -> None:
    """Nothing is laid out where the loan pays all of it."""
    [one] = sure({"payment": {"loan": {"rate": "5%", "years": 4}}}).sureness
    irr = one.figures["irr"]
    assert irr.none == 1 and np.isnan(irr.mean) and np.isnan(irr.p50)


def test_bars_and_band_follow_the_cases(ledger: Study, found: Sureness) -> None:
    """Every case stands in one bar, as many in each; the band of a year lies as far down as the outlay did."""
    assert ledger.simulation is not None
    cases = ledger.simulation.draws * REPLICATES
    assert found.npv.left_out == 0 and found.npv.counts.sum() == cases == 4096
    assert found.npv.counts.min() > 0.9 * cases / len(found.npv.counts)
    assert (found.npv.edges[0], found.npv.edges[-1]) == pytest.approx((SPARED - LAST, SPARED - FIRST), abs=2)
    years = np.arange(5)
    for band, share in ((found.running.p10, 0.9), (found.running.p50, 0.5), (found.running.p90, 0.1)):
        np.testing.assert_allclose(band, 1000 * years - at(share), atol=2)


def test_whether_the_draws_are_enough_is_told(found: Sureness) -> None:
    """4096 suffice for one even range; 64 do not, and the advice names more."""
    assert found.enough.endswith("more draws would change nothing you would notice")
    [few] = sure({"study": {"draws": 64}}).sureness
    told = re.search(r"known only to within ([\d.]+) % of the outlay; draw (\w+)", few.enough)
    assert told is not None
    assert float(told[1]) > 1
    errors = [getattr(few.figures["npv"], name) for name in ("error", "p10_error", "p50_error", "p90_error")]
    assert float(told[1]) == pytest.approx(100 * 2 * max(errors) / at(0.5), abs=0.1)


def test_equal_cases_need_no_more_draws() -> None:
    costs = [{"item": "Works", "category": "other", "cost": {"mean": 3000, "sd": 0}}]
    [one] = sure({"costs": costs, "study": {"draws": 64}}).sureness
    assert one.enough == "every set of draws gives the same figures; more draws would change nothing"
    npv = one.figures["npv"]
    assert npv.p10 == npv.p90 == npv.mean == pytest.approx(SPARED - 3000)
    assert npv.error == npv.p10_error == 0
    assert one.chances["npv_above_zero"] == Chance(share=1.0, error=0.0)


def test_the_study_itself_stays_what_it_was(ledger: Study) -> None:
    """Only the cases are added; a study without ranges is handed back as it came."""
    assert ledger.simulation is not None
    assert [one.name for one in ledger.sureness] == [result.name for result in ledger.results]
    assert float(ledger.results[0].appraisal.npv) == pytest.approx(SPARED - at(0.5))
    bare = replace(ledger, simulation=None, sureness=())
    again = with_simulation(bare)
    assert again.results is ledger.results
    assert again.sureness[0].figures["npv"] == ledger.sureness[0].figures["npv"]
    plain = finsolar.study(house({}))
    assert simulate(plain) is None
    assert with_simulation(plain) is plain

"""Rises of prices that others printed or that their series give, each with its source beside it; row ids G.

"Seen" means the number was read where it was printed or quoted; "from memory" that it was recalled.
"""

from dataclasses import replace

import numpy as np
import pytest
from pytest import approx

from finsolar.money.metrics import internal_rates
from finsolar.scenario.rises import growth
from finsolar.uncertainty.price_history import (
    changes_between,
    compound_rise,
    history_of,
    mean_and_spread,
    rise_between,
    window,
)

US = history_of("US")
assert US is not None

WINDOWS = [
    # G1: EIA average residential price, 8.95, 12.52 and 16.48 cents/kWh; 2004 seen, 2014 and 2024 from memory.
    pytest.param(US.price, 2004, 2014, 8.95, 12.52, 0.0341, 0.03414, 5e-5, id="G1-2004-2014"),
    pytest.param(US.price, 2014, 2024, 12.52, 16.48, 0.0279, 0.02786, 5e-5, id="G1-2014-2024"),
    pytest.param(US.price, 2004, 2024, 8.95, 16.48, 0.0310, 0.03100, 5e-5, id="G1-2004-2024"),
    # G2: BLS CUUR0000SA0, all items, annual averages (seen in the data of the package cpi 2.1.0).
    pytest.param(US.all_items, 2004, 2014, 188.9, 236.736, 0.02283, 0.02283, 1e-5, id="G2-2004-2014"),
    pytest.param(US.all_items, 2014, 2024, 236.736, 313.689, 0.02855, 0.02855, 1e-5, id="G2-2014-2024"),
    pytest.param(US.all_items, 2004, 2024, 188.9, 313.689, 0.02568, 0.02568, 1e-5, id="G2-2004-2024"),
    # G3: BLS CUUR0000SEHF01, electricity, annual averages (seen, as above).
    pytest.param(US.electricity, 2004, 2014, 142.1, 208.02, 0.03885, 0.03885, 1e-5, id="G3-2004-2014"),
    pytest.param(US.electricity, 2014, 2024, 208.02, 279.087, 0.02983, 0.02983, 1e-5, id="G3-2014-2024"),
    pytest.param(US.electricity, 2004, 2024, 142.1, 279.087, 0.03433, 0.03433, 1e-5, id="G3-2004-2024"),
]


@pytest.mark.parametrize(("series", "first", "last", "start", "end", "printed", "recomputed", "tolerance"), WINDOWS)
def test_compound_rise_of_ten_and_twenty_years(series, first, last, start, end, printed, recomputed, tolerance):
    assert (series.at(first), series.at(last)) == (start, end)
    rise = rise_between(series, first, last)
    assert rise == approx(printed, abs=tolerance)
    assert rise == approx(recomputed, abs=1e-5)
    # Two other ways to the same rate: the index of prices, and the rate of return of paying one price for the other.
    assert start * growth(rise, last - first + 1)[-1] == approx(end, rel=1e-12)
    flows = np.zeros(last - first + 1)
    flows[0], flows[-1] = -start, end
    assert float(internal_rates(flows).headline) == approx(rise, rel=1e-9)


def test_g3_real_rise_of_the_price_of_electricity():
    # The two BLS series of rows G2 and G3, 2004 to 2024, by the Fisher relation (series seen, result own).
    found = window(US, "twenty years", 2004, 2024)
    assert found.real == approx(0.00843, abs=1e-5)
    # To subtract one rate from the other is another answer.
    assert found.rises["electricity"] - found.rises["all_items"] == approx(0.00865, abs=1e-5)


def test_g4_mean_of_yearly_changes_is_no_compound_rate():
    # EIA residential prices 2013 to 2022 and the mean of 2.46 % printed from them (2.46 %, 13.66 and 15.04 seen on a
    # page of consumer statistics, the other years from memory).
    prices = [12.13, 12.52, 12.65, 12.55, 12.89, 12.87, 13.01, 13.15, 13.66, 15.04]
    assert [US.price.at(year) for year in range(2013, 2023)] == prices
    changes = changes_between(US.price, 2013, 2022)
    mean, spread = mean_and_spread(changes)
    assert mean == approx(0.0246, abs=5e-5)
    assert spread == approx(np.sqrt(np.sum((changes - mean) ** 2) / 8), rel=1e-12)
    assert rise_between(US.price, 2013, 2022) == approx(0.0242, abs=5e-5)
    # A path of the changes ends at the last price; their mean, compounded, overshoots it.
    assert prices[0] * growth(changes, 10) == approx(prices, rel=1e-12)
    assert prices[0] * growth(mean, 10)[-1] > prices[-1] + 0.05


def test_g5_long_calm():
    # EIA Electric Power Annual, table 7.4 (seen): 8.38 in 1994, 9.45 in 2005; 12.7 % in all, 12.77 to more digits, and
    # 1.1 % a year.
    assert US.price.at(2005) == 9.45
    rise = compound_rise(8.38, US.price.at(2005), 11)
    assert rise == approx(0.011, abs=5e-5)
    assert rise == approx(0.01098, abs=5e-6)
    assert growth(rise, 12)[-1] - 1 == approx(0.127, abs=1e-3)
    assert growth(rise, 12)[-1] - 1 == approx(0.1277, abs=5e-5)


def test_g6_a_hole_is_refused_and_never_filled():
    # BLS published averages of 2025 (321.943, 292.027) although October 2025 was never collected (seen in the data of
    # the package cpi 2.1.0): an average is a number of its own. The EIA average of 2025 was not known well enough.
    assert (US.all_items.at(2025), US.electricity.at(2025)) == (321.943, 292.027)
    for asked in (lambda: rise_between(US.price, 2015, 2025), lambda: changes_between(US.price, 2023, 2025)):
        with pytest.raises(ValueError, match="2025 is not known, and nothing is put in its place; its average was not"):
            asked()
    # A hole in the middle: no yearly change over it, while the rise between the years beside it needs no more.
    hole = replace(
        US.electricity,
        quotes=tuple(quote for quote in US.electricity.quotes if quote.year != 2010),
        missing={2010: "it was never collected"},
    )
    with pytest.raises(ValueError, match="2010 is not known, and nothing is put in its place; it was never collected"):
        changes_between(hole, 2004, 2014)
    assert rise_between(hole, 2004, 2014) == rise_between(US.electricity, 2004, 2014)


def test_g7_a_print_is_kept_with_its_number():
    # EIA Electric Power Monthly, table 5.3, September 2012: 8.43 for 2002 and 11.80 for 2011, later 11.72 (all seen):
    # 3.807 % a year on the first print, 3.729 % on the revised one.
    others = {(quote.year, quote.vintage): quote.value for quote in US.price.others}
    early, first_print = others[2002, "monthly survey"], others[2011, "monthly survey, first print"]
    assert (early, first_print, US.price.at(2011)) == (8.43, 11.80, 11.72)
    assert compound_rise(early, first_print, 9) == approx(0.03807, abs=5e-6)
    assert compound_rise(early, US.price.at(2011), 9) == approx(0.03729, abs=5e-6)
    # The series itself holds one print throughout, and says where a number is preliminary.
    assert US.price.at(2002) == 8.44
    assert {quote.vintage for quote in US.price.quotes if quote.year < 2024} == {"annual census"}
    assert US.price.quotes[-1].vintage == "preliminary"

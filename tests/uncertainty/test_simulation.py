"""Every case is the study of its own values; draws are the same for a seed, tied as stated, and as wide as written."""

from __future__ import annotations

import math
from itertools import combinations
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from small_house import changed, house

import finsolar
from finsolar.results import Result, Study
from finsolar.study import study
from finsolar.uncertainty import simulation
from finsolar.uncertainty.columns import chosen
from finsolar.uncertainty.simulation import (
    FIGURES,
    REPLICATES,
    Cases,
    Simulation,
    figures_of,
    simulate,
)
from finsolar.uncertainty.summary import summarise

Array = NDArray[np.float64]
Tree = dict[str, Any]
WORDS = ("from", "low", "mean", "characteristic")


def even(low: Any, high: Any) -> Tree:
    """Anything between two values."""
    return {"from": low, "to": high}


# Ranges on every side of the money: awards that bend, bills, loan, lease, renewals, staying as it is.
RICH: Tree = {
    "study": {
        "in_service": "2025-06-01",
        "installation_completed": "2025-06-01",
        "discount_rate": {"mean": "5%", "sd": "1%"},
        "inflation": {"low": "1%", "likely": "2%", "high": "4%"},
        "draws": 64,
        "seed": 3,
    },
    "weather": {"station": "greensboro", "brightness": "95%"},
    "household": {
        "load": {"growth": "0.5%"},
        "income_tax": even(400, 3000),
        "owner_occupied": True,
        "marginal_tax": even("15%", "30%"),
        "itemises": True,
        "property_tax": {"rate": "1%", "added_value": even("30%", "90%")},
    },
    "tariff": {
        "energy": [{"name": "peak", "price": even(0.25, 0.45), "hours": "16-21"}, {"name": "rest", "price": 0.12}],
        "export": {"scheme": "net billing", "price": even(0.02, 0.08)},
        "rise": {"mean": "2%", "sd": "1%"},
        "tiers": [{"steps": [{"up_to": 300}, {"adds": even(0.01, 0.05)}]}],
        "minimum_bill": even(5, 40),
    },
    "costs": [
        {"item": "Modules", "category": "modules", "per_kw": {"low": 700, "likely": 1000, "high": 1800}},
        {
            "item": "Battery",
            "category": "battery",
            "per_kwh": even(200, 500),
            "residual_by_age": {5: even("30%", "50%"), 15: "10%"},
        },
        {
            "item": "Crew",
            "category": "labour",
            "per_hour": even(40, 60),
            "hours": even(20, 60),
            "chance": even("50%", "70%"),
        },
    ],
    "purchase": {"contingency": even("0%", "10%")},
    "upkeep": [
        {
            "item": "New inverter",
            "category": "inverter",
            "cost": {"mean": 1500, "sd": 200},
            "life": {"characteristic": 6, "shape": 3},
        }
    ],
    "stay": {"costs": [{"item": "Panel", "category": "service panel", "cost": even(200, 1500)}]},
    "rebates": [{"item": "Town", "amount": even(200, 900)}],
    "alternatives": [
        {"name": "Roof"},
        {
            "name": "Borrowed",
            "payment": {
                "loan": {
                    "rate": even("4%", "8%"),
                    "years": 6,
                    "share": even("50%", "100%"),
                    "deductible": even("20%", "90%"),
                    "paydown": {"month": 18, "amount": even(100, 900)},
                }
            },
        },
        {
            "name": "Off grid",
            "system": {"operation": "off grid"},
            "generator": {"kw": 3, "fuel_price": even(1.2, 2.0), "rise": {"mean": "4%", "sd": "1%"}},
        },
        {
            "name": "Leased",
            "costs": [],
            "rebates": [],
            "payment": {"lease": {"monthly": even(40, 90), "years": 8, "buyout": even(100, 900)}},
        },
    ],
}
# A house whose energy costs nothing, so that its money is what its costs and upkeep say.
LEDGER: Tree = {
    "study": {"years": 4, "discount_rate": "10%", "inflation": 0, "draws": 1024},
    "tariff": {"energy": [{"name": "all", "price": 0}], "export": {"price": 0}},
}
TWO = {"from": 3000, "to": 4000}


def narrowed(tree: Any, to_range: bool) -> Any:
    """The tree with each range shrunk to one value, written as a number or as ranges of no width of all kinds."""
    if isinstance(tree, list):
        return [narrowed(entry, to_range) for entry in tree]
    word = next((word for word in WORDS if isinstance(tree, dict) and word in tree), None)
    if word is None:
        return {name: narrowed(entry, to_range) for name, entry in tree.items()} if isinstance(tree, dict) else tree
    value = tree.get("likely", tree[word])
    if not to_range:
        return value
    spread: Tree = {"low": {"low": value, "likely": value, "high": value}, "mean": {"mean": value, "sd": 0}}
    return spread.get(word, {"from": value, "to": value})


def simulated(base: Study) -> Simulation:
    """The cases of a study that has some."""
    found = simulate(base)
    assert found is not None
    return found


def of_ledger(changes: Tree) -> Simulation:
    """The cases of the house without a bill."""
    return simulated(finsolar.study(house(changed(LEDGER, changes))))


def assert_same(cases: Cases, others: Cases) -> None:
    """Every figure bit by bit, but for the internal rate: its search ends in steps that go by the batch."""
    for name in FIGURES:
        if name == "irr":
            np.testing.assert_allclose(cases.figures[name], others.figures[name], rtol=0, atol=1e-12)
        else:
            np.testing.assert_array_equal(cases.figures[name], others.figures[name])
    np.testing.assert_array_equal(cases.running, others.running)


def as_cases(result: Result, like: Cases) -> Cases:
    """A single study, as if every case had come to it."""
    figures = {name: np.broadcast_to(value, like.figures[name].shape) for name, value in figures_of(result).items()}
    return Cases(result.name, figures, np.broadcast_to(result.cash.running, like.running.shape))


def ranks(values: Array) -> Array:
    """Place of each value among all, for values without ties."""
    return np.argsort(np.argsort(values)).astype(float)


@pytest.fixture(scope="module")
def rich() -> Study:
    """The study of the house with ranges on every side."""
    return finsolar.study(house(RICH))


@pytest.fixture(scope="module")
def cases(rich: Study) -> Simulation:
    """All its cases."""
    return simulated(rich)


@pytest.fixture(scope="module")
def paper() -> Study:
    """A house without a bill that costs between 3000 and 4000, twice."""
    lines = [{"item": name, "category": "other", "cost": TWO} for name in ("Works", "Fence")]
    return finsolar.study(house(changed(LEDGER, {"costs": lines})))


def again(base: Study, **settings: Any) -> Simulation:
    """The cases of the same study with other settings of its draws."""
    scenario = base.scenario
    other = scenario.model_copy(update={"study": scenario.study.model_copy(update=settings)})
    return simulated(study(other.read_from(scenario.origin), reuse=base))


def test_any_case_alone_comes_to_the_same(rich: Study, cases: Simulation) -> None:
    """Taken at random and run from the first hour on, with its values as the only ones."""
    dice = np.random.default_rng(11)
    missing = 0
    for _ in range(4):
        replicate, draw = dice.integers(REPLICATES), dice.integers(cases.draws)
        values = cases.values[replicate, draw]
        alone = study(
            rich.scenario, {path: float(values[k]) for k, each in enumerate(cases.drawn) for path in each.paths}
        )
        assert any(award.amounts.any() for award in alone.results[0].awards)
        for result, found in zip(alone.results, cases.alternatives, strict=True):
            assert result.name == found.name
            for name, figure in figures_of(result).items():
                kept = found.figures[name][replicate, draw]
                assert kept == pytest.approx(float(figure), rel=1e-9, abs=1e-9, nan_ok=True), (name, result.name)
                missing += math.isnan(kept)
            np.testing.assert_allclose(found.running[replicate, draw], result.cash.running, rtol=1e-9, atol=1e-9)
    assert missing > 0


def test_ranges_of_no_width_are_the_study_of_plain_numbers_in_every_case(cases: Simulation) -> None:
    """Bit by bit: no case differs from the house with numbers in the place of ranges, nor from any other case."""
    single = finsolar.study(house(narrowed(RICH, to_range=False)))
    narrow = simulated(finsolar.study(house(narrowed(RICH, to_range=True))))
    assert len(narrow.drawn) == len(cases.drawn) == 29
    for result, found in zip(single.results, narrow.alternatives, strict=True):
        assert_same(found, as_cases(result, found))
    assert np.ptp(narrow.values, axis=(0, 1)).max() == 0


def test_the_same_seed_draws_the_same_and_another_others(paper: Study) -> None:
    """Seed 0 is a seed like any other."""
    first = simulated(paper)
    assert first.seed == paper.scenario.study.seed == 1
    by_seed = {seed: again(paper, seed=seed) for seed in (0, 1, 2, 2**32 - 1)}
    np.testing.assert_array_equal(by_seed[1].values, first.values)
    assert_same(by_seed[1].alternatives[0], first.alternatives[0])
    np.testing.assert_array_equal(again(paper, seed=0).values, by_seed[0].values)
    for one, other in combinations(by_seed.values(), 2):
        assert not np.any(one.values == other.values)
        assert not np.any(one.alternatives[0].figures["npv"] == other.alternatives[0].figures["npv"])


def test_replicates_are_scrambled_apart(cases: Simulation) -> None:
    assert cases.values.shape == (REPLICATES, 64 // REPLICATES, len(cases.drawn))
    for k in range(1, REPLICATES):
        assert not np.any(cases.values[k] == cases.values[k - 1])


def test_the_pieces_do_not_show(rich: Study, cases: Simulation, monkeypatch: pytest.MonkeyPatch) -> None:
    """The eight cases of a replicate at once, or in pieces of three, of which the last has two; each piece is told."""
    told: list[tuple[int, int]] = []
    monkeypatch.setattr(simulation, "_CHUNK", 3)
    found = simulate(rich, lambda done, of: told.append((done, of)))
    assert found is not None
    for one, other in zip(found.alternatives, cases.alternatives, strict=True):
        assert_same(one, other)
    assert told == [(min(3 * k, 64), 64) for k in range(1, 23)]


def test_every_draw_keeps_to_its_range(cases: Simulation) -> None:
    """To both sides of its middle; a bell to four standard deviations; a life to what its field holds."""
    for k, each in enumerate(cases.drawn):
        values, (first, last) = cases.values[..., k], (each.range.values[0], each.range.values[-1])
        if each.range.kind == "mean, sd":
            first, last = first - 4 * last, first + 4 * last
        if each.range.kind == "characteristic, shape":
            first, last = each.low, each.high
        assert first <= values.min() < each.range.central < values.max() <= last, each.name


def test_a_range_taken_over_is_one_number_in_all_its_places(rich: Study, cases: Simulation) -> None:
    """The rise of the tariff and of what each alternative pays for, in every case."""
    picked = chosen(cases.drawn, cases.values[0])
    several = [each for each in cases.drawn if len(each.paths) > 1]
    assert {"tariff.rise", "purchase.contingency", "costs[1].per_kw"} <= {each.name for each in several}
    for each in several:
        for path in each.paths:
            np.testing.assert_array_equal(picked[path], picked[each.paths[0]])
    settled = study(rich.scenario, picked, reuse=rich).settled
    assert settled.tariff is not None
    for plan in settled.alternatives:
        assert plan.tariff is not None
        np.testing.assert_array_equal(plan.tariff.rise, settled.tariff.rise)
    assert settled.tariff.rise.shape == (cases.draws, 1)


def test_two_ranges_written_apart_are_two_numbers(paper: Study) -> None:
    """Alike in words, and yet independent."""
    found = simulated(paper)
    assert [each.name for each in found.drawn] == ["costs[1].cost", "costs[2].cost"]
    one, other = found.values[..., 0].ravel(), found.values[..., 1].ravel()
    assert not np.any(one == other)
    assert abs(np.corrcoef(one, other)[0, 1]) < 0.05


def test_each_replicate_fills_every_range_evenly(paper: Study) -> None:
    """One case in each of as many equal slices as it has draws."""
    found = simulated(paper)
    slices = np.sort((found.values - 3000) / 1000 * found.draws, axis=1).astype(int)
    np.testing.assert_array_equal(
        slices, np.broadcast_to(np.arange(found.draws)[None, :, None], (REPLICATES, found.draws, 2))
    )


def test_the_order_of_cost_lines_moves_nothing_but_the_draws(rich: Study) -> None:
    """The ranges change places; every figure stays within its error."""
    turned = again(finsolar.study(house(RICH | {"costs": RICH["costs"][::-1]})), draws=128)
    straight = again(rich, draws=128)
    names, others = ([each.name for each in found.drawn] for found in (straight, turned))
    moved = str.maketrans({"1": "3", "3": "1"})
    assert names != others
    assert sorted(others) == sorted(name.translate(moved) if name.startswith("costs") else name for name in names)
    for one, other in zip(turned.alternatives, straight.alternatives, strict=True):
        for name in ("npv", "first_year_saving", "lcoe"):
            a, b = summarise(one.figures[name]), summarise(other.figures[name])
            for figure in ("mean", "p10", "p50", "p90"):
                error = "error" if figure == "mean" else f"{figure}_error"
                within = 5 * math.hypot(getattr(a, error), getattr(b, error))
                assert getattr(a, figure) == pytest.approx(getattr(b, figure), abs=within), (name, figure)


# --- net present value of uncertain years: F1 with half its spread, I13 ---

OUTLAY, MEAN, SD, RATE = 10_000.0, 4_000.0, 1_000.0, 0.10
CUT = math.sqrt(1 - 8 * math.exp(-8) / math.sqrt(2 * math.pi) / math.erf(4 / math.sqrt(2)))
"""What is left of a bell's standard deviation that is cut off at four of them."""


def hillier(rank: float) -> Simulation:
    """An outlay, and four uncertain years that go together in rank as told."""
    years = (1, 2, 3, 4)
    flows = [
        {"item": f"Year {t}", "category": "other", "cost": {"mean": MEAN, "sd": SD}, "in_years": [t]} for t in years
    ]
    ties = [[f"stay.upkeep[{i}].cost", f"stay.upkeep[{j}].cost", rank] for i in years for j in years if i < j]
    costs = [{"item": "Works", "category": "other", "cost": OUTLAY}]
    return of_ledger({"costs": costs, "stay": {"upkeep": flows}, "together": ties})


@pytest.mark.parametrize(("rank", "sd"), [(0.0, 3187.7522 / 2), (1.0, 6339.7309 / 2)])
def test_spread_of_uncertain_years_is_hilliers(rank: float, sd: float) -> None:
    """F1, halved so that no year falls below zero. Source: Hillier, Management Science 9 (1963); recomputed apart."""
    npv = hillier(rank).alternatives[0].figures["npv"]
    found = summarise(npv)
    assert found.mean == pytest.approx(2679.4618, abs=max(5 * found.error, 0.01))
    assert found.error < 5
    assert float(npv.std()) == pytest.approx(sd * CUT, rel=0.01)
    assert float((npv < 0).mean()) == pytest.approx(math.erfc(2679.4618 / sd / math.sqrt(2)) / 2, abs=0.01)


def test_the_closer_years_go_together_the_wider_the_spread() -> None:
    """I13: independent, positively related, perfectly related."""
    spreads = [float(hillier(rank).alternatives[0].figures["npv"].std()) for rank in (0.0, 0.3, 0.7, 1.0)]
    assert spreads == sorted(spreads) and spreads[0] < 0.55 * spreads[-1]


# --- ties ---


@pytest.mark.parametrize("rank", [-1.0, -0.6, 0.3, 0.8, 1.0])
def test_ranges_go_together_in_the_rank_that_is_stated(rank: float) -> None:
    """Whatever their laws, and however many places hold them; a third range stays free."""
    costs = [
        {"item": "Works", "category": "other", "cost": {"low": 3000, "likely": 3100, "high": 6000}},
        {"item": "Fence", "category": "other", "cost": even(500, 900)},
    ]
    found = of_ledger(
        {
            "costs": costs,
            "alternatives": [{"name": "One"}, {"name": "Other"}],
            "tariff": {"rise": {"mean": "2%", "sd": "1%"}},
            "together": [["tariff.rise", "costs[1].cost", rank]],
        }
    )
    rise, works, fence = (ranks(found.values[..., k].ravel()) for k in range(3))
    assert [each.name for each in found.drawn] == ["tariff.rise", "costs[1].cost", "costs[2].cost"]
    assert np.corrcoef(rise, works)[0, 1] == pytest.approx(rank, abs=1e-9 if abs(rank) == 1 else 0.03)
    assert np.corrcoef(rise, fence)[0, 1] == pytest.approx(0, abs=0.03)


@pytest.mark.parametrize(
    ("together", "words"),
    [
        ([["costs[1].price", "costs[2].cost", 0.5]], "names 'costs[1].price', no range that is drawn"),
        ([["weather.brightness", "costs[2].cost", 0.5]], "names 'weather.brightness', no range that is drawn"),
        ([["costs[1].cost", "costs[1].cost", 0.5]], "a number always goes with itself"),
        ([["costs[1].cost", "costs[2].cost", 0.5], ["costs[2].cost", "costs[1].cost", 0.5]], "is stated twice"),
        (
            [
                ["costs[1].cost", "costs[2].cost", 0.9],
                ["costs[1].cost", "costs[3].cost", 0.9],
                ["costs[2].cost", "costs[3].cost", -0.9],
            ],
            "costs[1].cost with costs[2].cost 0.9, costs[1].cost with costs[3].cost 0.9, costs[2].cost with "
            "costs[3].cost -0.9: cannot all hold",
        ),
    ],
)
def test_ties_that_cannot_be_are_refused_at_their_line(paper: Study, together: list[Any], words: str) -> None:
    lines = [{"item": name, "category": "other", "cost": TWO} for name in ("Works", "Fence", "Gate")]
    scenario = house(changed(LEDGER, {"costs": lines, "together": together}))
    with pytest.raises(finsolar.ScenarioError) as refused:
        simulate(study(scenario, reuse=paper))
    [problem] = refused.value.problems
    assert words in problem.what
    assert problem.field.startswith("together") and problem.file == "house.yaml"
    assert problem.line >= scenario.origin.places["together"][0] > 1
    assert problem.mend


def test_the_tie_that_would_be_possible_is_accepted(paper: Study) -> None:
    """The mend that a refusal names: with it the three do go together."""
    lines = [{"item": name, "category": "other", "cost": TWO} for name in ("Works", "Fence", "Gate")]
    pairs = [("costs[1].cost", "costs[2].cost", 0.9), ("costs[1].cost", "costs[3].cost", 0.9)]
    last = ("costs[2].cost", "costs[3].cost")

    def tied(rank: float) -> Simulation:
        together = [list(pair) for pair in (*pairs, (*last, rank))]
        return simulated(study(house(changed(LEDGER, {"costs": lines, "together": together})), reuse=paper))

    with pytest.raises(finsolar.ScenarioError) as refused:
        tied(-0.9)
    nearest = float(refused.value.problems[0].mend.rpartition(" is ")[2])
    found = tied(nearest)
    fence, gate = (ranks(found.values[..., k].ravel()) for k in (1, 2))
    assert np.corrcoef(fence, gate)[0, 1] == pytest.approx(nearest, abs=0.03)
    with pytest.raises(finsolar.ScenarioError):
        tied(nearest - 0.01)


def test_without_a_range_nothing_is_simulated() -> None:
    assert simulate(finsolar.study(house({}))) is None


def test_ties_without_a_range_are_refused_all_the_same() -> None:
    with pytest.raises(finsolar.ScenarioError, match="no range that is drawn"):
        simulate(finsolar.study(house({"together": [["tariff.rise", "study.inflation", 0.5]]})))

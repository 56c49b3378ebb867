"""The order of alternatives, worked by hand and by plain loops: places, ties, and why two orders differ."""

from __future__ import annotations

from typing import Any

import numpy as np
import oracle_comparison as slow
import pytest
from hypothesis import given
from hypothesis import strategies as st
from oracle_figures import payback

from finsolar.money.compare import Contender
from finsolar.money.ranking import Ranking, Turned, places, ranking


def contender(name: str, net: Any, *, rate: Any = 0.05, investment: Any = None) -> Contender:
    """An alternative known by its flows; what is invested is that of year 0 unless said."""
    net = np.asarray(net, dtype=float)
    invested = np.where(np.arange(net.shape[-1]) == 0, net, 0.0) if investment is None else np.asarray(investment)
    return Contender(
        name=name,
        net=net,
        operation=net - invested,
        investment=invested,
        rate=np.asarray(rate, dtype=float),
        net_cost=-net[..., 0],
        own_hours=np.zeros(()),
        hour_worth=np.asarray(np.nan),
        terms=(),
    )


def standing(found: Ranking) -> list[tuple[str, int, float | None]]:
    """Names with their places by NPV and by payback."""
    return [
        (place.name, int(place.by_npv), None if np.isnan(place.by_payback) else float(place.by_payback))
        for place in found.order
    ]


def why(*contenders: Contender) -> Turned:
    """What explains two orders that differ."""
    found = ranking(contenders).turned
    assert found is not None
    return found


def test_places_are_one_more_than_what_is_better() -> None:
    """At 10 %: C 7.44, A 4.13, B 2.07, staying 0, D -21.49; back after 1.67 (A, B), 1.77 (C), never (D)."""
    flows = {"D": [-100, 50, 40], "A": [-100, 60, 60], "B": [-50, 30, 30], "C": [-100, 0, 130]}
    found = ranking([contender(name, net, rate=0.1) for name, net in flows.items()])

    assert standing(found) == [("C", 1, 3), ("A", 2, 1), ("B", 3, 1), ("stay as you are", 4, None), ("D", 5, None)]
    assert [place.stay for place in found.order] == [False, False, False, True, False]
    assert [float(place.npv) for place in found.order] == pytest.approx(
        [130 / 1.21 - 100, 60 / 1.1 + 60 / 1.21 - 100, 30 / 1.1 + 30 / 1.21 - 50, 0, 50 / 1.1 + 40 / 1.21 - 100]
    )
    assert [float(place.simple_payback) for place in found.order] == pytest.approx(
        [1 + 100 / 130, 1 + 40 / 60, 1 + 20 / 30, np.nan, np.nan], nan_ok=True
    )


def test_those_closer_than_half_a_cent_share_a_place() -> None:
    found = places(np.array([3.0, 1.0, 1.004, np.nan, 1.006]), 0.005)
    assert found.tolist() == pytest.approx([4, 1, 1, np.nan, 2], nan_ok=True)
    two = ranking([contender("A", [-100, 60, 60]), contender("B", [-100, 60, 60])])
    assert standing(two)[:2] == [("A", 1, 1), ("B", 1, 1)]
    assert two.turned is None


def test_what_is_worth_nothing_ties_with_staying() -> None:
    found = ranking([contender("A", [-100, 105])])
    assert [(name, by_npv) for name, by_npv, _ in standing(found)] == [("A", 1), ("stay as you are", 1)]


def test_orders_that_agree_have_nothing_to_explain() -> None:
    assert ranking([contender("A", [-100, 80, 80]), contender("B", [-100, 70, 70])]).turned is None
    never = [contender("A", [-100, 50, 40]), contender("B", [-100, 50, 30])]
    assert ranking(never).turned is None


def test_the_quicker_one_laid_out_less() -> None:
    """Running totals: -100, -40, 20, 80 against -300, -160, -20, 120: ahead from year 3 on, by 40."""
    found = why(contender("small", [-100, 60, 60, 60]), contender("large", [-300, 140, 140, 140]))

    assert (found.richer, found.quicker, found.cause) == ("large", "small", "smaller outlay")
    assert (found.less_outlay, found.at_the_end, found.ahead_from) == (200.0, 40.0, 3)
    assert found.lead == pytest.approx(-200 + 80 / 1.05 + 80 / 1.05**2 + 80 / 1.05**3)
    assert found.later is None


def test_a_renewal_falls_after_the_payback_of_the_quicker_one() -> None:
    """70 in year 3 are worth 60.5 at 5 %, and the lead of the other is 42.3: without them there were none."""
    quicker = contender("quick", [-100, 60, 60, -10, 60], investment=[-100.0, 0, 0, -70, 0])
    found = why(quicker, contender("rich", [-100, 50, 60, 50, 60]))

    assert (found.richer, found.quicker, found.cause) == ("rich", "quick", "later outlay")
    assert found.later is not None
    assert (found.later.year, found.later.amount, found.later.others) == (3, 70.0, 0.0)
    # One of 10 is worth 8.6, which is no lead of 16.4.
    small = contender("quick", [-100, 60, 60, 20, 60], investment=[-100.0, 0, 0, -10, 0])
    assert why(small, contender("rich", [-100, 50, 60, 50, 60])).cause == "later earnings"
    # A renewal that both have explains nothing.
    shared = contender("rich", [-100, 50, 60, -20, 130], investment=[-100.0, 0, 0, -70, 0])
    assert why(quicker, shared).cause == "later earnings"
    # Nor does one within the year in which the running total comes back to zero: the payback has seen it.
    within = contender("quick", [-100, 60, 50, 10], investment=[-100.0, 0, -30, 0])
    assert why(within, contender("rich", [-100, 50, 45, 40])).cause == "later earnings"


def test_a_renewal_set_the_richer_one_back() -> None:
    """Back after 1.5 years, below zero again in year 3 by a renewal of 80, back for good after 3.4."""
    richer = contender("rich", [-100, 80, 40, -60, 90, 90], investment=[-100.0, 0, 0, -80, 0, 0])
    found = why(contender("quick", [-100, 55, 55, 10, 10, 10]), richer)

    assert (found.richer, found.cause, found.at_the_end, found.ahead_from) == ("rich", "set back", 100.0, 4)
    assert found.later is not None
    assert (found.later.year, found.later.amount) == (3, 80.0)
    assert found.first_payback == pytest.approx(1.5)
    # What takes it below zero need not be a renewal: then it is all that is paid more than comes in.
    running = contender("rich", [-100, 80, 40, -60, 90, 90])
    assert why(contender("quick", [-100, 55, 55, 10, 10, 10]), running).later.amount == 60.0  # type: ignore[union-attr]


def test_the_richer_one_earns_later() -> None:
    """The same outlay; running totals part by 0, -20, -20, 20 and 60."""
    found = why(contender("quick", [-100, 60, 50, 10, 10]), contender("rich", [-100, 40, 50, 50, 50]))
    assert (found.cause, found.less_outlay, found.ahead_from, found.at_the_end) == ("later earnings", 0.0, 3, 60.0)


def test_a_smaller_outlay_that_does_not_matter_is_no_reason() -> None:
    """Had it laid out 10 more, the quicker one were back after 1.91 years, still before the other after 2.2."""
    found = why(contender("quick", [-90, 55, 60, 10, 10]), contender("rich", [-100, 40, 50, 50, 70]))
    assert (found.cause, found.less_outlay) == ("later earnings", 10.0)


def test_discounting_alone_turns_the_order() -> None:
    """At 10 % the one that ends with 10 less is worth 20.75 against 18.41; at none it would be behind."""
    two = {"quick": [-100, 60, 50, 30], "rich": [-10, 3, 3, 34]}
    found = why(*(contender(name, net, rate=0.1) for name, net in two.items()))

    assert (found.richer, found.cause, found.ahead_from, found.at_the_end) == ("rich", "discounting", None, -10.0)
    assert ranking([contender(name, net, rate=0.0) for name, net in two.items()]).turned is None


def test_one_that_never_comes_back_may_be_worth_more() -> None:
    """It ends 5 short, but the 95 that it pays in year 3 are worth 71.4 at 10 %."""
    found = why(contender("quick", [-100, 60, 60, 0], rate=0.1), contender("rich", [-10, 100, 0, -95], rate=0.1))
    assert (found.richer, found.cause, found.at_the_end) == ("rich", "discounting", -25.0)


def test_the_best_by_npv_is_explained_against_the_quickest() -> None:
    found = why(
        contender("middle", [-200, 105, 105, 105]),
        contender("large", [-300, 145, 145, 145]),
        contender("small", [-100, 60, 60, 60]),
    )
    assert (found.richer, found.quicker) == ("large", "small")


def test_cases_side_by_side_are_ranked_each_by_itself() -> None:
    nets = {"A": [[-100, 60, 60], [-100, 50, 40]], "B": [[-90, 50, 50], [-90, 60, 60]]}
    rates = np.array([0.05, 0.1])
    found = ranking([contender(name, net, rate=rates) for name, net in nets.items()])

    assert found.turned is None
    for case in range(2):
        alone = {
            p.name: p for p in ranking([contender(n, net[case], rate=rates[case]) for n, net in nets.items()]).order
        }
        for place in found.order:
            for figure in ("npv", "by_npv", "simple_payback", "by_payback"):
                many = np.broadcast_to(getattr(place, figure), (2,))[case]
                assert many == pytest.approx(float(getattr(alone[place.name], figure)), nan_ok=True), (
                    place.name,
                    figure,
                )


MONEY = st.integers(-60, 120).map(float)
OUTLAYS = st.integers(-400, 20).map(float)


@st.composite
def nets(draw: st.DrawFn) -> dict[str, tuple[list[float], list[float]]]:
    """Draw two to four alternatives, each with its net and what of it is invested."""
    years = draw(st.integers(2, 7))
    found = {}
    for name in "ABCD"[: draw(st.integers(2, 4))]:
        outlay = draw(OUTLAYS)
        running = draw(st.lists(MONEY, min_size=years, max_size=years))
        later = draw(st.lists(st.sampled_from((0.0, 0.0, 0.0, -80.0, 50.0)), min_size=years, max_size=years))
        found[name] = ([outlay, *(a + b for a, b in zip(running, later, strict=True))], [outlay, *later])
    return found


@given(drawn=nets(), rate=st.sampled_from((0.0, 0.03, 0.08, 0.2)))
def test_whatever_is_said_of_two_orders_is_so(drawn: dict[str, tuple[list[float], list[float]]], rate: float) -> None:
    """Places by counting, and every fact of the reason by walking the years."""
    found = ranking([contender(n, net, rate=rate, investment=inv) for n, (net, inv) in drawn.items()])
    rows = {name: net for name, (net, _) in drawn.items()}
    wanted = slow.ranked(rows, rate)
    for place in found.order:
        told = wanted[place.name]
        assert float(place.npv) == pytest.approx(told["npv"], abs=1e-9)
        assert int(place.by_npv) == told["by_npv"]
        assert (None if np.isnan(place.by_payback) else int(place.by_payback)) == told["by_payback"]
    assert [int(place.by_npv) for place in found.order] == sorted(int(place.by_npv) for place in found.order)

    known = slow.turned(wanted)
    assert (found.turned is None) == (not known)
    if found.turned is None:
        return
    one = found.turned
    assert (one.richer, one.quicker) in known
    assert wanted[one.richer]["by_npv"] == min(wanted[richer]["by_npv"] for richer, _ in known)
    rich, quick = rows[one.richer], rows[one.quicker]
    back = wanted[one.quicker]["simple_payback"]
    assert one.lead == pytest.approx(wanted[one.richer]["npv"] - wanted[one.quicker]["npv"], abs=1e-9)
    assert one.at_the_end == pytest.approx(sum(rich) - sum(quick), abs=1e-9)
    assert one.less_outlay == pytest.approx(quick[0] - rich[0])
    assert one.ahead_from == slow.ahead_from(rich, quick)
    assert (one.cause == "discounting") == (sum(rich) <= sum(quick))
    if one.cause == "smaller outlay":
        assert one.less_outlay > 0
        as_dear = payback([quick[0] - one.less_outlay, *quick[1:]])[1]
        assert as_dear is None or as_dear >= wanted[one.richer]["simple_payback"] - 1e-3
    elif one.cause == "set back":
        assert one.later is not None
        assert payback(rich)[0] == pytest.approx(one.first_payback) and one.first_payback <= back + 1e-3
        assert sum(rich[: one.later.year]) >= 0 > sum(rich[: one.later.year + 1])
    elif one.cause == "later outlay":
        assert one.later is not None
        invested = {name: inv for name, (_, inv) in drawn.items()}
        after = [k for k in range(len(quick)) if k - 1 >= back - 1e-9]
        assert one.later.year in after
        assert one.later.amount == pytest.approx(-sum(min(invested[one.quicker][k], 0) for k in after))
        assert one.later.others == pytest.approx(-sum(min(invested[one.richer][k], 0) for k in after))
        spared = {
            name: sum(
                (flow - (min(invested[name][k], 0) if k in after else 0)) / (1 + rate) ** k
                for k, flow in enumerate(rows[name])
            )
            for name in (one.richer, one.quicker)
        }
        assert spared[one.quicker] >= spared[one.richer] - 1e-2

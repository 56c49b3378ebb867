"""What if the date slips: the awards month by month agree with the rules asked on that day alone."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

import pytest
from drawn_rules import loan_worth_at
from hypothesis import given, settings
from hypothesis import strategies as st
from invented import BILL, award, awards, counts, house, line, needs, rule

from finsolar.incentives.facts import House
from finsolar.incentives.law import EVENTS, FALLBACK, Rule
from finsolar.incentives.rulebook import load_rules
from finsolar.incentives.slip import AHEAD, BACK, Slip, slip

START = date(2026, 6, 15)
CHANGE = date(2026, 9, 10)
CREDIT = rule("tax credit", share={date(2020, 1, 1): 0.3, CHANGE: "ended"})
REBATE = rule("upfront rebate", "town/rebate", fixed=400.0)


def slipped(rules: Sequence[Rule], of: House, years: int = 6) -> Slip:
    """Return the awards over the days."""
    return slip(rules, of, BILL, [], years)


def received(rules: Sequence[Rule], of: House, years: int = 6) -> dict[str, float]:
    """Return what each rule gives to a house as it stands, at face value."""
    return {name: float(one.amounts.sum() + one.worth) for name, one in awards(rules, of, years=years).items()}


def test_one_change_is_one_cliff_on_its_own_day() -> None:
    """The credit ends on 10 September: the last month with it, the first without, and the day between."""
    found = slipped([CREDIT, REBATE], house(START))
    (cliff,) = found.cliffs

    assert (cliff.rule_id, cliff.day, cliff.event_day, cliff.event) == (
        CREDIT.id,
        CHANGE,
        CHANGE,
        "installation completed",
    )
    assert (cliff.before, cliff.after) == (7_500, 0)
    assert (cliff.total_before, cliff.total_after) == (7_900, 400)
    assert found.next is cliff
    assert found.days == [date(2026, month, 15) for month in range(5, 11)]
    assert found.by_rule[CREDIT.id].tolist() == [7_500] * 4 + [0] * 2
    assert found.totals.tolist() == [7_900] * 4 + [400] * 2


def test_a_change_that_has_passed_is_not_the_next() -> None:
    """It is among the cliffs and nothing is ahead."""
    found = slipped([CREDIT], house(date(2026, 11, 15)))

    assert ([cliff.day for cliff in found.cliffs], found.next) == ([CHANGE], None)
    assert found.days[0] < CHANGE < found.days[-1]


def test_on_the_day_of_the_change_itself_it_is_behind() -> None:
    """The house already stands in the new state."""
    assert slipped([CREDIT], house(CHANGE)).next is None
    assert slipped([CREDIT], house(CHANGE - timedelta(days=1))).next is not None


def test_where_nothing_changes_the_months_around_the_day_are_shown() -> None:
    """Half a year back and a year ahead, in months."""
    found = slipped([REBATE], house(START))

    assert (found.days[0], found.days[-1], len(found.days)) == (date(2025, 12, 15), date(2027, 6, 15), 19)
    assert set(found.totals) == {400.0}
    assert (found.cliffs, found.next) == ([], None)


@pytest.mark.parametrize("event", [event for event in EVENTS if event != "new year"])
@pytest.mark.parametrize("told", [True, False])
def test_a_change_comes_when_the_rules_own_event_meets_it(event: str, told: bool) -> None:
    """A contract forty days before service meets the change forty days of service later; or what stands for it does."""
    days = {"in service": START, "installation completed": START - timedelta(days=10)}
    ahead = {"in service": 0, "installation completed": 10}.get(event, 40 if told else 10)
    if not told and FALLBACK.get(event) == "in service":
        ahead = 0
    if told and event in FALLBACK:
        days[event] = START - timedelta(days=40)
    moving = rule("upfront rebate", fixed={date(2020, 1, 1): 400.0, CHANGE: 900.0}, event=event)
    (cliff,) = slipped([moving], house(days=days)).cliffs

    assert (cliff.event_day, cliff.day) == (CHANGE, CHANGE + timedelta(days=ahead))
    assert (cliff.before, cliff.after) == (400, 900)


@pytest.mark.parametrize(
    ("change", "day"),
    [
        (date(2027, 1, 1), date(2027, 1, 1)),
        (date(2026, 9, 10), date(2027, 1, 1)),
        (date(2028, 2, 29), date(2029, 1, 1)),
    ],
    ids=str,
)
def test_a_rule_by_tax_year_changes_with_the_year(change: date, day: date) -> None:
    """What changes within a year is met on the next 1 January."""
    yearly = rule("upfront rebate", fixed={date(2020, 1, 1): 400.0, change: 900.0}, event="new year")
    (cliff,) = slipped([yearly], house(START)).cliffs

    assert (cliff.day, cliff.event_day, cliff.before, cliff.after) == (day, day, 400, 900)
    told = {moved: received([yearly], house(day + timedelta(days=moved)))["town/one"] for moved in (-1, 0)}
    assert told == {-1: 400, 0: 900}


def test_two_changes_within_one_tax_year_are_one_cliff() -> None:
    """Neither is told twice."""
    yearly = rule(
        "upfront rebate",
        fixed={date(2020, 1, 1): 400.0, date(2026, 8, 1): 600.0, date(2026, 10, 1): 900.0},
        event="new year",
    )

    assert [(cliff.before, cliff.after) for cliff in slipped([yearly], house(START)).cliffs] == [(400, 900)]


def test_conditions_and_lines_make_cliffs_too() -> None:
    """A condition is asked from a day to a day; a line counts from a day on."""
    asked = rule(
        "upfront rebate",
        fixed=400.0,
        conditions=(needs("off grid", since=date(2026, 8, 1), until=date(2026, 10, 31)),),
    )
    lines = rule(
        "tax credit", "town/b", share=0.1, lines=(counts("modules"), counts("battery", since=date(2026, 9, 1)))
    )
    found = slipped([asked, lines], house(START))

    assert [(cliff.rule_id, cliff.day, cliff.before, cliff.after) for cliff in found.cliffs] == [
        ("town/one", date(2026, 8, 1), 400, 0),
        ("town/b", date(2026, 9, 1), pytest.approx(1_260), pytest.approx(2_000)),
        ("town/one", date(2026, 11, 1), 0, 400),
    ]


def test_a_change_that_moves_another_rule_shows_in_the_totals() -> None:
    """The rebate ends, and the credit it lowered rises."""
    rebate = rule("upfront rebate", "town/rebate", fixed={date(2020, 1, 1): 1_000.0, CHANGE: "ended"})
    credit = rule("tax credit", share=0.3, terms={"lowered_by": ("price reductions",)})
    (cliff,) = slipped([rebate, credit], house(START)).cliffs

    assert (cliff.rule_id, cliff.before, cliff.after) == ("town/rebate", 1_000, 0)
    assert (cliff.total_before, cliff.total_after) == (pytest.approx(8_200), pytest.approx(7_500))


def test_changes_far_away_are_left_out() -> None:
    """More than two years back or four ahead."""
    near = rule("upfront rebate", fixed={date(2020, 1, 1): 400.0, date(2024, 6, 15): 500.0, date(2030, 6, 15): 600.0})
    far = rule("upfront rebate", fixed={date(2020, 1, 1): 400.0, date(2024, 6, 14): 500.0, date(2030, 6, 16): 600.0})

    assert (BACK, AHEAD) == (24, 48)
    assert [cliff.day for cliff in slipped([near], house(START)).cliffs] == [date(2024, 6, 15), date(2030, 6, 15)]
    assert slipped([far], house(START)).cliffs == []


@pytest.mark.parametrize("start", [date(2028, 2, 29), date(2027, 3, 31), date(2026, 12, 31)], ids=str)
def test_days_that_not_every_month_has(start: date) -> None:
    """The last of a shorter month stands in, and no month is left out."""
    ends = rule("tax credit", share={date(2020, 1, 1): 0.3, date(2029, 1, 1): "ended"})
    yearly = rule("upfront rebate", "town/b", fixed={date(2020, 1, 1): 1.0, date(2028, 2, 29): 2.0}, event="new year")
    found = slipped([ends, yearly], house(start))

    assert start in found.days
    months = [12 * day.year + day.month for day in found.days]
    assert months == list(range(months[0], months[0] + len(months)))
    assert all(day.day in {start.day, 28, 29, 30} for day in found.days)


def test_a_house_moved_later_keeps_the_distance_of_its_days() -> None:
    """Every event moves, by the same number of days, over a leap day too."""
    told = house(days={"in service": date(2028, 2, 29), "contract": date(2027, 12, 31)})
    moved = told.later(366)

    assert set(moved.days) == set(told.days)
    assert {moved.days[event] - day for event, day in told.days.items()} == {timedelta(days=366)}
    assert told.later(0).days == told.days
    assert told.later(5).later(-5).days == told.days
    assert told.day("new year") == date(2028, 1, 1) and moved.day("new year") == date(2029, 1, 1)


PLACES = [
    ("US", "MA"),
    ("US", "SC"),
    ("US", "HI"),
    ("US", "OR"),
    ("AU", None),
    ("DE", None),
    ("GB", None),
    ("CA", "ON"),
]


@pytest.mark.parametrize(("country", "region"), PLACES)
@settings(max_examples=6)
@given(start=st.dates(date(2016, 1, 1), date(2030, 12, 31)), lag=st.integers(0, 90))
def test_every_figure_of_a_slip_is_that_of_the_rules_asked_on_that_day(
    country: str, region: str | None, start: date, lag: int
) -> None:
    """The law of a place: the study's own day, each month, and both sides of each cliff."""
    rules = load_rules(country, region)
    claims = {one.id: {"confirmed": True, "funds": True, "kw": 3.0, "price": [35.0], "zone": "3"} for one in rules}
    told = house(
        days={"in service": start, "installation completed": start - timedelta(days=lag)},
        currency=rules[0].currency,
        loan_worth=loan_worth_at(0.06),
        claims=claims,
    )
    found = slipped(rules, told)

    own = found.days.index(start)
    assert found.totals[own] == pytest.approx(sum(received(rules, told).values()))
    for place in {0, own, len(found.days) - 1}:
        on = received(rules, told.later((found.days[place] - start).days))
        assert {name: values[place] for name, values in found.by_rule.items()} == pytest.approx(on)
    assert found.totals == pytest.approx(sum(found.by_rule.values()))
    for cliff in found.cliffs:
        moved = (cliff.day - start).days
        eve, day = received(rules, told.later(moved - 1)), received(rules, told.later(moved))
        assert (cliff.before, cliff.after) == (pytest.approx(eve[cliff.rule_id]), pytest.approx(day[cliff.rule_id]))
        assert cliff.before != cliff.after
        assert cliff.total_before == pytest.approx(sum(eve.values()))
        assert cliff.total_after == pytest.approx(sum(day.values()))
        assert found.days[0] <= cliff.day <= found.days[-1]
        assert cliff.event_day == told.later(moved).day(cliff.event)
    ahead = [cliff for cliff in found.cliffs if cliff.day > start]
    assert found.next is (ahead[0] if ahead else None)
    assert [cliff.day for cliff in found.cliffs] == sorted(cliff.day for cliff in found.cliffs)


def test_between_two_cliffs_nothing_jumps() -> None:
    """Day by day over the changes of a place, the awards move only on the days that are told."""
    rules = load_rules("US", "MA")
    start = date(2025, 12, 1)
    told = house(start, claims={"us/ma/battery-demand-response": {"kw": 3.0, "confirmed": True}})
    cliffs = {cliff.day for cliff in slipped(rules, told).cliffs}
    seen = {start + timedelta(days=moved): sum(received(rules, told.later(moved)).values()) for moved in range(120)}
    jumps = {day for day, total in seen.items() if abs(total - seen.get(day - timedelta(days=1), total)) > 0.005}

    assert jumps and jumps <= cliffs


def test_a_slip_of_a_house_without_lines_is_flat() -> None:
    """No costs, no share of them."""
    found = slip([CREDIT], house(START), [line("roof", 5_000)], [], 6)

    assert not found.totals.any() and found.cliffs == []
    assert award(CREDIT, house(START), [line("roof", 5_000)]).status == "refused"

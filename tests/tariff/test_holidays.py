"""Public holidays on the calendar of the study; dates known from the rules that make them."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from finsolar.energy.clock import CALENDAR_YEAR, RULE_YEAR, Clock, wall_clock
from finsolar.tariff import holidays
from finsolar.tariff.holidays import holiday_mask, holidays_of

TORONTO = wall_clock("America/Toronto", -5.0)


def days_on(mask, clock):
    """(month, weekday) of each holiday's noon, and how many steps it has."""
    noon = mask & (clock.hour == 12)
    noon &= np.arange(len(mask)) % clock.per_hour == 0
    return list(zip((clock.month[noon] + 1).tolist(), clock.weekday[noon].tolist(), strict=True))


def test_the_rule_year_has_the_calendar_of_every_year_of_the_study():
    for month, day in ((1, 1), (2, 28), (3, 1), (12, 31)):
        assert date(CALENDAR_YEAR, month, day).weekday() == date(RULE_YEAR, month, day).weekday()


def test_holidays_of_ontario_in_the_fixed_calendar():
    """Third Monday of February, Monday before 25 May, first of September, second of October; Easter on 1 April."""
    assert days_on(holiday_mask("CA", "ON", TORONTO), TORONTO) == [
        (1, 0),
        (2, 0),
        (3, 4),
        (5, 0),
        (7, 6),
        (9, 0),
        (10, 0),
        (12, 1),
        (12, 2),
    ]


@pytest.mark.parametrize("per_hour", [1, 4])
@pytest.mark.parametrize(
    ("zone", "offset"),
    [
        ("America/Toronto", -5.0),
        ("America/Toronto", -8.0),
        ("America/Toronto", 1.5),
        (None, 2.0),
        ("Atlantic/Azores", -1.0),
        ("America/Havana", -5.0),
        ("America/Santiago", -4.0),
        ("Australia/Lord_Howe", 10.5),
    ],
)
def test_every_hour_equals_its_date_on_the_wall(zone, offset, per_hour):
    """Beside a loop over real moments of the rule year; clocks that change at midnight among them."""
    clock = wall_clock(zone, offset, per_hour)
    free = {(day.month, day.day) for day in holidays_of("US", "NC", [RULE_YEAR])}
    start = datetime(RULE_YEAR, 1, 1, tzinfo=UTC) - timedelta(hours=offset)
    expected = []
    for hour in range(8760):
        moment = start + timedelta(hours=hour)
        wall = moment.astimezone(ZoneInfo(zone)) if zone else moment + timedelta(hours=offset)
        expected += [(wall.month, wall.day) in free] * per_hour
    assert holiday_mask("US", "NC", clock).tolist() == expected


def test_a_made_up_clock_of_standard_time():
    clock = Clock(month=TORONTO.month, weekday=np.arange(8760) // 24 % 7, hour=np.arange(8760) % 24)
    mask = holiday_mask("CA", "ON", clock, ["Boxing Day"])
    assert np.flatnonzero(mask).tolist() == list(range(359 * 24, 360 * 24))


def test_a_holiday_made_by_law_since_counts():
    """19 June, a federal holiday of the United States from 2021."""
    assert date(RULE_YEAR, 6, 19) in holidays_of("US", None, [RULE_YEAR])
    assert date(CALENDAR_YEAR, 6, 19) not in holidays_of("US", None, [CALENDAR_YEAR])


def test_names_leave_only_those_listed_whatever_their_case():
    mask = holiday_mask("CA", "ON", TORONTO, ["CHRISTMAS day", "New Year’s Day", " good Friday "])
    assert days_on(mask, TORONTO) == [(1, 0), (3, 4), (12, 1)]
    assert not holiday_mask("CA", "ON", TORONTO, []).any()


def test_every_name_listed_is_the_whole_list():
    names = list(holidays_of("CA", "ON", [RULE_YEAR]).values())
    assert np.array_equal(holiday_mask("CA", "ON", TORONTO, names), holiday_mask("CA", "ON", TORONTO))


def test_a_day_off_in_lieu_belongs_to_its_holiday():
    """11 November lies on a Sunday in the fixed calendar, so Monday is off."""
    clock = wall_clock("America/New_York", -5.0)
    assert days_on(holiday_mask("US", "NC", clock, ["veterans day"]), clock) == [(11, 6), (11, 0)]


def test_two_holidays_on_one_day_are_found_by_either_name():
    """Czechia keeps its restoration day on 1 January."""
    clock = wall_clock("Europe/Prague", 1.0)
    both = holidays_of("CZ", None, [RULE_YEAR])[date(RULE_YEAR, 1, 1)]
    assert len(both.split("; ")) == 2
    for name in both.split("; "):
        assert days_on(holiday_mask("CZ", None, clock, [name]), clock) == [(1, 0)]


@pytest.mark.parametrize("language", ["de_DE", "fr_FR", "C"])
def test_names_do_not_hang_on_the_language_of_the_machine(monkeypatch, language):
    monkeypatch.setenv("LANGUAGE", language)
    assert holidays_of("DE", "BY", [2024])[date(2024, 10, 3)] == "German Unity Day"
    assert holidays_of("CA", "ON", [2024])[date(2024, 9, 2)] == "Labour Day"


def test_a_region_has_its_own_days():
    corpus_christi = date(2024, 5, 30)
    assert corpus_christi in holidays_of("DE", "BY", [2024])
    assert corpus_christi not in holidays_of("DE", "BE", [2024])
    assert corpus_christi not in holidays_of("DE", None, [2024])


def test_only_the_years_asked_for_in_their_order():
    days = list(holidays_of("US", None, [2023, 2021]))
    assert {day.year for day in days} == {2021, 2023}
    assert days == sorted(days)


def test_refuses_a_country_a_region_or_a_name_it_does_not_know():
    with pytest.raises(ValueError, match="'ZZ': write a code of two letters"):
        holidays_of("ZZ", None, [2024])
    with pytest.raises(ValueError, match=r"'XX' of CA; known: AB, BC, .*ON"):
        holidays_of("CA", "XX", [2024])
    with pytest.raises(ValueError, match="'XX' of EE; known: none"):
        holidays_of("EE", "XX", [2024])
    with pytest.raises(ValueError, match=r"called Midsummer Feast; known: Boxing Day, .*Victoria Day"):
        holiday_mask("CA", "ON", TORONTO, ["Boxing Day", "Midsummer Feast"])


def test_refuses_a_country_whose_holidays_of_that_year_nobody_knows(monkeypatch):
    monkeypatch.setattr(holidays, "holidays_of", lambda country, region, years: {})
    with pytest.raises(ValueError, match="no public holidays of CA are known"):
        holiday_mask("CA", "ON", TORONTO)

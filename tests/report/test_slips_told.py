"""What if the date slips, told: sentences, courses and the chart from made-up days."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from finsolar.report import slip_chart
from finsolar.report.words import slips

Plain = dict[str, Any]


def cliff(day: str, before: float, after: float, **changed: Any) -> Plain:
    """The Lantern credit changes, and nothing else is granted."""
    plain: Plain = {
        "in_service": day, "rule": "lantern/credit", "title": "Lantern credit", "event": "in service", "event_day": day,
        "known": True, "before": before, "after": after, "total_before": before, "total_after": after,
    }  # fmt: skip
    return plain | changed


def plan(name: str, planned: float, *cliffs: Plain, day: str = "2027-06-01") -> Plain:
    """An alternative that is switched on in June 2027 and receives ``planned``, with the days of changes around it."""
    steps = {"2027-05-01": planned, "2027-06-01": planned, "2028-01-01": planned, "2028-02-01": planned}
    for one in cliffs:
        steps |= {start: one["after"] for start in steps if start >= one["in_service"]}
    return {
        "name": name,
        "in_service": day,
        "incentives": [{"amounts": [planned, 0.0], "worth": 0.0}],
        "slip": {
            "days": [{"in_service": start, "total": total, "by_rule": {}} for start, total in steps.items()],
            "cliffs": list(cliffs),
            "next": next((one for one in cliffs if one["in_service"] > day), None),
        },
    }


def study_of(*plans: Plain) -> Plain:
    """As much of a study as slips are told from."""
    return {"settings": {"currency": "USD", "years": 1}, "alternatives": list(plans)}


@pytest.mark.parametrize(
    ("plans", "told"),
    [
        (
            [plan("Own", 0), plan("Firm", 3000, cliff("2028-01-01", 3000, 0))],
            "Switched on 1 January 2028 or later, “Firm” would receive $3,000 less in incentives (Lantern credit).",
        ),
        (
            [plan("Own", 100, cliff("2028-01-01", 100, 350)), plan("Firm", 100, cliff("2028-01-01", 100, 350))],
            "Switched on 1 January 2028 or later, every alternative would receive $250 more in incentives "
            "(Lantern credit).",
        ),
        (
            [plan("Own", 2000, cliff("2028-01-01", 2000, 0)), plan("Firm", 3000, cliff("2028-01-01", 3000, 0))],
            "Switched on 1 January 2028 or later, “Own” would receive $2,000 less in incentives and “Firm” $3,000 less "
            "(Lantern credit).",
        ),
        (
            [plan("Own", 2000, cliff("2029-01-01", 2000, 0)), plan("Firm", 3000, cliff("2028-07-01", 3000, 900))],
            "Switched on 1 July 2028 or later, “Firm” would receive $2,100 less in incentives (Lantern credit).",
        ),
        (
            [plan("Firm", 3000, cliff("2028-01-15", 3000, 0, event="installation completed", event_day="2028-01-01"))],
            "Switched on 15 January 2028 or later, “Firm” would receive $3,000 less in incentives (Lantern credit, by "
            "its installation completed on 1 January 2028).",
        ),
        (
            [plan("Firm", 3000, cliff("2028-01-01", 3000, 0, known=False))],
            "Switched on 1 January 2028 or later, “Firm” would have $3,000 less to count on: what the law says from "
            "then on is not known here (Lantern credit).",
        ),
        # Against the plan, not against the day before: until then the award had drifted to 2,950.
        (
            [plan("Firm", 3000, cliff("2028-01-01", 2950, 1000))],
            "Switched on 1 January 2028 or later, “Firm” would receive $2,000 less in incentives (Lantern credit).",
        ),
    ],
    ids=["a loss", "a gain", "two losses", "the earlier one", "another day decides", "law not known", "a drift"],
)
def test_the_next_change_is_one_sentence(plans: list[Plain], told: str) -> None:
    """Amounts and days as worked by hand from the made-up cliffs."""
    assert slips.next_change(study_of(*plans)) == [told]
    assert slips.reading(study_of(*plans)) == told


def test_changes_of_two_rules_that_cancel_are_no_news() -> None:
    """One rule gives 500 less and another 500 more on the same day: the sum stays."""
    both = {"total_before": 900.0, "total_after": 900.0}
    down, up = cliff("2028-01-01", 500, 0, **both), cliff("2028-01-01", 0, 500, title="Meadow credit", **both)

    assert slips.next_change(study_of(plan("Firm", 900, down, up))) == []


def test_a_change_behind_is_told_where_none_is_ahead() -> None:
    """What the day before it would have brought, against the plan; the planned day itself is no change ahead."""
    plain = study_of(plan("Own", 0, cliff("2026-01-01", 2000, 0)), plan("Firm", 0, cliff("2026-01-01", 3000, 0)))

    assert slips.next_change(plain) == []
    assert slips.reading(plain) == (
        "No change is known within 4 years ahead. Switched on by 31 December 2025, “Own” would have received $2,000 "
        "more in incentives and “Firm” $3,000 more (Lantern credit)."
    )
    assert slips.next_change(study_of(plan("Own", 0, cliff("2027-06-01", 50, 0)))) == []


def test_a_study_whose_slip_was_not_looked_for_says_nothing() -> None:
    """As for the cases of a draw."""
    plain = study_of({"name": "Roof", "in_service": "2027-06-01", "incentives": [], "slip": None})

    assert slips.next_change(plain) == []
    assert (slips.reading(plain), slips.courses(plain), slips.cliff_rows(plain)) == ("", [], [])
    assert slip_chart.awards_by_day(plain) is None


def test_courses_step_at_the_day_of_the_change_and_alternatives_alike_share_one() -> None:
    """Between two months the line steps on the day itself."""
    change = cliff("2028-01-15", 3000, 0)
    plain = study_of(plan("Firm", 3000, change), plan("Own", 0), plan("Firm on credit", 3000, change))

    firm, own = slips.courses(plain)

    assert (firm.names, own.names) == (["Firm", "Firm on credit"], ["Own"])
    assert firm.total(date(2028, 1, 14)) == 3000
    assert firm.total(date(2028, 1, 15)) == 0
    assert firm.total(date(2027, 6, 1)) == 3000
    assert own.total(date(2028, 2, 1)) == 0


def test_the_chart_holds_courses_and_marks_the_days() -> None:
    """A step line and a mark of the planned day for each course, a dashed line and a label for each change."""
    change = cliff("2028-01-15", 3000, 0)
    plain = study_of(plan("Firm", 3000, change), plan("Own", 0))

    chart = slip_chart.awards_by_day(plain)

    assert chart is not None
    lines = [trace for trace in chart.data if trace["mode"] == "lines"]
    assert [trace["name"] for trace in lines] == ["Firm", "Own"]
    assert all(trace["line"]["shape"] == "hv" for trace in lines)
    assert len({trace["line"]["dash"] for trace in lines}) == 2
    at = dict(zip(lines[0]["x"], lines[0]["y"], strict=True))
    assert (at["2028-01-01"], at["2028-01-15"]) == (3000, 0)
    dashed = [shape["x0"] for shape in chart.layout["shapes"] if shape["line"]["dash"] == "dash"]
    solid = [shape["x0"] for shape in chart.layout["shapes"] if shape["line"]["dash"] == "solid"]
    assert (dashed, solid) == (["2028-01-15"], ["2027-06-01"])
    assert [note["text"] for note in chart.layout["annotations"]] == ["15 January 2028<br>Lantern credit", "as planned"]
    assert ["2028-01-15", "$0", "$0"] in chart.table.rows and ["2027-06-01", "$3,000", "$0"] in chart.table.rows
    [cliffs] = chart.more
    assert cliffs.rows == [["2028-01-15", "Lantern credit", "in service, 2028-01-15", "“Firm”", "$3,000.00", "$0.00"]]
    assert "Firm: $3,000 on the planned day, 2027-06-01." in chart.alt
    assert "2028-01-15, Lantern credit" in chart.alt


def test_no_chart_where_nothing_changes() -> None:
    """Words say so instead."""
    assert slip_chart.awards_by_day(study_of(plan("Own", 0), plan("Firm", 500))) is None
    assert "24 months earlier or 48 months later" in slips.nothing_changes()


def test_titles_that_begin_alike_are_told_apart_and_hold_no_markup() -> None:
    """A label keeps beginning and end of a title; one from a scenario is escaped."""
    first = cliff("2027-09-01", 30, 20, title="Certificates for all sorts of solar panels")
    second = cliff("2028-01-15", 20, 0, title="Certificates for <b>all</b> sorts of batteries")

    chart = slip_chart.awards_by_day(study_of(plan("Firm", 30, first, second)))

    assert chart is not None
    texts = [note["text"].partition("<br>")[2] for note in chart.layout["annotations"][:2]]
    assert texts == ["Certificates…solar panels", "Certificates…of batteries"]
    third = cliff("2028-01-15", 20, 0, title="<b>Bold</b>")
    chart = slip_chart.awards_by_day(study_of(plan("Firm", 30, third)))
    assert chart is not None
    assert chart.layout["annotations"][0]["text"] == "15 January 2028<br>&lt;b&gt;Bold&lt;/b&gt;"

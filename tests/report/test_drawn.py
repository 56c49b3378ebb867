"""What is said of the bill in the drawer: whether the tariff is believed, and what is planted and must be found."""

from __future__ import annotations

import re
from datetime import date, timedelta
from decimal import Decimal

import pytest

from finsolar.report.words.drawn import drawer_table, verdict
from finsolar.scenario.schema import PastBill
from finsolar.tariff.drawer import Drawer, Rebilled
from finsolar.tariff.rounding import cents

KWH = [1310.0, 1180.0, 960.0, 640.0, 520.0, 610.0, 980.0, 1220.0, 830.0, 470.0, 590.0, 1090.0]
FIRST = [date(2024, month, 1) for month in range(1, 13)] + [date(2025, 1, 1)]


def told(plain: str) -> str:
    """Words without the signs that only keep a line together."""
    return plain.replace("\N{WORD JOINER}", "").replace("\N{NO-BREAK SPACE}", " ")


def drawn(
    billed: list[float],
    computed: list[float],
    kwh: list[float] = KWH,
    metered: list[float | None] | None = None,
    unknown: tuple[str, ...] = (),
) -> Drawer:
    """A drawer of monthly bills of 2024, with what was billed and what was computed."""
    bills = []
    for k, (paid, found) in enumerate(zip(billed, computed, strict=True)):
        first, last = FIRST[k], FIRST[k + 1] - timedelta(days=1)
        read = None if metered is None else metered[k]
        bills.append(
            Rebilled(
                bill=PastBill(first_day=first, last_day=last, kwh=kwh[k], amount=paid),
                days=(last - first).days + 1,
                lines=(("energy", cents(found)),),
                computed=cents(found),
                by_meter=read is not None,
                metered_kwh=read,
            )
        )
    return Drawer(tuple(bills), unknown)


def plain_tariff(kwh: list[float] = KWH) -> list[float]:
    """What the scenario's tariff makes of each bill: 12 a month and 0.17 a kWh."""
    return [12 + 0.17 * each for each in kwh]


def said(drawer: Drawer) -> str:
    """The verdict in one line."""
    return told(" ".join(verdict(drawer, "USD")))


@pytest.mark.parametrize("size", [0.021, 0.004, 0.15, -0.012])
def test_a_missing_rider_is_named_with_its_size(size: float) -> None:
    """The bills hold a rider, or a discount, by the kWh that the scenario does not."""
    drawer = drawn([paid + size * kwh for paid, kwh in zip(plain_tariff(), KWH, strict=True)], plain_tariff())

    found = re.search(r": a (rider|discount) of about \$([\d.]+) a kWh would explain it\.", said(drawer))

    assert found is not None, said(drawer)
    assert found[1] == ("rider" if size > 0 else "discount")
    assert float(found[2]) == pytest.approx(abs(size), abs=0.0001)


@pytest.mark.parametrize("share", [0.08, 0.25, -0.05])
def test_a_missing_tax_is_named_with_its_size(share: float) -> None:
    """A share of the whole bill, the fixed charge among it."""
    drawer = drawn([paid * (1 + share) for paid in plain_tariff()], plain_tariff())

    found = re.search(r"(tax or rider|discount) in per cent of about ([\d.]+) % on the whole bill", said(drawer))

    assert found is not None, said(drawer)
    assert found[1] == ("tax or rider" if share > 0 else "discount")
    assert float(found[2]) == pytest.approx(abs(share) * 100, abs=0.1)


@pytest.mark.parametrize("charge", [18.0, -9.5])
def test_a_fixed_charge_is_named_with_its_size(charge: float) -> None:
    """Months of 29, 30 and 31 days bear the same charge, so its size is told to about 2 %."""
    drawer = drawn([paid + charge for paid in plain_tariff()], plain_tariff())

    found = re.search(r"a fixed charge that is (missing|too high), about \$([\d.]+) a month", said(drawer))

    assert found is not None, said(drawer)
    assert found[1] == ("missing" if charge > 0 else "too high")
    assert float(found[2]) == pytest.approx(abs(charge), rel=0.02)


@pytest.mark.parametrize("adds", [0.06, 0.2])
@pytest.mark.parametrize("end", [600.0, 900.0])
def test_a_missing_tier_is_named(adds: float, end: float) -> None:
    """Only the kWh beyond its end cost more."""
    drawer = drawn([paid + adds * max(kwh - end, 0) for paid, kwh in zip(plain_tariff(), KWH, strict=True)],
                   plain_tariff())  # fmt: skip

    assert "grows faster than the kWh, as with a tier" in said(drawer)


def test_what_no_single_thing_explains_is_not_explained() -> None:
    """A dear summer alone: neither a rider nor a tax nor a charge, and no growth with the kWh."""
    extra = [0, 0, 0, 55, 60, 70, 0, 0, 0, 40, 0, 0]

    words = said(drawn([paid + more for paid, more in zip(plain_tariff(), extra, strict=True)], plain_tariff()))

    assert "no single rider, tax or charge explains it" in words
    assert "about" not in words


@pytest.mark.parametrize("share", [0.0, 0.0199, -0.0199])
def test_up_to_two_per_cent_the_tariff_is_believed(share: float) -> None:
    """In all; and nothing is explained that need not be."""
    paid = [1000.0] * 3

    words = verdict(drawn(paid, [each * (1 + share) for each in paid]), "USD")

    assert told(words[0]) == f"The tariff reproduces these bills to {abs(share) * 100:.1f} %."
    assert "Single bills" not in " ".join(words)


@pytest.mark.parametrize(("share", "shown"), [(0.021, "2.1 %"), (-0.021, "−2.1 %")])
def test_beyond_two_per_cent_it_is_not(share: float, shown: str) -> None:
    """The sign says whether too much was computed or too little."""
    words = told(verdict(drawn([1000.0] * 3, [1000 * (1 + share)] * 3), "USD")[0])

    assert words.startswith(f"Off by {shown}, more than 2 %: ")


def test_errors_that_cancel_are_told() -> None:
    """A tenth too much and a tenth too little come to nothing in all."""
    words = said(drawn([100.0, 100.0, 100.0], [110.0, 90.0, 100.0]))

    assert words.startswith("The tariff reproduces these bills to 0.0 %. Single bills are off by up to 10.0 %")


def test_two_bills_are_too_few_to_explain() -> None:
    """Any two points lie on a line."""
    assert "with three bills or more" in said(drawn([100.0, 120.0], [80.0, 90.0]))


def test_nothing_billed_is_nothing_compared() -> None:
    """No division by zero."""
    drawer = drawn([0.0, 0.0, 0.0], [10.0, 10.0, 10.0])

    assert verdict(drawer, "USD") == ["Nothing was billed, so nothing can be compared."]
    assert drawer_table(drawer, "USD")[-1].endswith("$30.00")


def test_bills_without_kwh_or_without_a_computed_amount_do_not_break_the_words() -> None:
    """An empty house, and a tariff that asks for nothing."""
    empty = [0.0, 0.0, 0.0]

    assert "a fixed charge that is missing" in said(drawn([12.0, 12.0, 12.0], empty, empty))
    assert "a month, would explain it" in said(drawn([12.0, 12.0, 12.0], empty, empty, metered=[3.0, 0.0, None]))
    assert "Off by" in said(drawn([12.0, 300.0, 40.0, 150.0], [2.0] * 4, [0.0, 900.0, 0.0, 500.0]))


def test_where_the_hours_come_from_and_what_is_not_known_is_said() -> None:
    """Average weeks, a meter that read something else, a demand that no bill states."""
    paid = [100.0, 110.0, 120.0]
    kwh = [500.0, 600.0, 700.0]

    words = said(drawn(paid, paid, kwh, [500.0, 540.0, None], ("the demand",)))

    assert "Not known from the bills: the demand." in words
    assert "The hours of 1 of 3 bills are those of an average week" in words
    assert "In 1 of 2 bills the meter's file holds other kWh than the bill, by up to 10.0 %" in words
    alone = said(drawn(paid, paid, kwh, [500.0, 600.0, 700.0]))
    assert alone == "The tariff reproduces these bills to 0.0 %."


def test_on_a_narrow_terminal_each_row_takes_two_lines() -> None:
    """The same words in the same order, and no line is too long."""
    drawer = drawn([100.0, 200.0], [98.5, 204.5], [400.0, 1200.0])
    wide, narrow = drawer_table(drawer, "USD", 76), drawer_table(drawer, "USD", 58)

    assert max(map(len, narrow)) <= 58 < max(map(len, wide)) <= 76
    assert len(narrow) == 2 * len(wide) == 8
    assert " ".join(narrow).split() == " ".join(wide).split()


def test_the_table_lines_up_and_adds_up() -> None:
    """By hand: 300 billed, 303 computed, 1.0 % in all; two bills, 60 days."""
    lines = [told(line) for line in drawer_table(drawn([100.0, 200.0], [98.5, 204.5], [400.0, 1200.0]), "USD")]

    assert lines[0].split() == ["bill", "days", "kWh", "billed", "computed", "difference"]
    assert lines[1].split() == ["2024-01-01", "to", "2024-01-31", "31", "400", "$100.00", "$98.50", "−$1.50", "−1.5",
                                "%"]  # fmt: skip
    assert lines[-1].split() == ["all", "60", "1,600", "$300.00", "$303.00", "$3.00", "1.0", "%"]
    assert len({len(line) for line in lines[1:]}) == 1
    assert sum(Decimal(line.split()[6].strip("$")) for line in lines[1:-1]) == Decimal("303.00")


def test_bills_of_an_empty_house_are_told_without_kwh() -> None:
    """Charges that no rider, tax or fixed charge makes: nothing is read off kWh that are not there."""
    drawer = drawn([12.0, 90.0, 12.0], [12.0, 12.0, 40.0], kwh=[0.0, 0.0, 0.0])

    assert "no bill has any kWh" in said(drawer)

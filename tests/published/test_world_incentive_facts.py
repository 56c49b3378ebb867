"""Worked cases of incentives in Britain, Australia and Germany, each with its source beside the numbers.

`known` says how the expected figure reached us: `published` (printed by an authority), `formula` (worked out from a
published formula), `rule` (our own arithmetic from the cited rule, done without the code under test). The oracles at
the end are in decimal numbers, one case at a time. Facts as of November 2026.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import ROUND_HALF_UP, Decimal
from math import floor

import numpy as np
import pytest

from finsolar.incentives.awards import assess
from finsolar.incentives.facts import Award, Claimed, EligibleLine, House
from finsolar.incentives.rulebook import load_rules

PANELS, BATTERY = "au/small-scale-certificates", "au/battery-certificates"
REGULATOR = "Australia, Clean Energy Regulator: entitlement page and table of battery factors"
TARIFF = "Germany, EEG 2023 §§ 48, 49 and 53"
OWN_LABOUR = {"contractor": False, "licensed installer": False, "accredited installer": False}
BRITAIN = "United Kingdom, VATA 1994 Sch. 8 Group 23; Notice 708/6; HMRC forum answer on supply without installation"


def ask(
    rule_id: str,
    day: date,
    *,
    lines: Iterable[EligibleLine] = (),
    facts: Mapping[str, bool] | None = None,
    kw: float = 6.0,
    kwh: float = 0.0,
    exported: float = 0.0,
    generation: float = 0.0,
    export_is_paid: bool = False,
    years: int = 1,
    claim: Claimed | None = None,
) -> Award:
    """Return what one rule says to a house that buys its system from an accredited contractor, all done on `day`."""
    [rule] = [rule for rule in load_rules(rule_id.split("/", maxsplit=1)[0]) if rule.id == rule_id]
    house = House(
        days={"installation completed": day, "in service": day},
        facts={
            "buys the system": True,
            "lives there": True,
            "contractor": True,
            "licensed installer": True,
            "accredited installer": True,
            "grid connection": True,
            "solar": kw > 0,
            "battery": kwh > 0,
            **(facts or {}),
        },
        numbers={"solar kw": np.array(kw), "battery kwh": np.array(kwh)},
        generation=np.full(years, generation),
        exported=np.full(years, exported),
        export_is_paid=export_is_paid,
        claims={} if claim is None else {rule_id: claim},
    )
    [award] = assess([rule], house, list(lines), [], years=years)
    return award


def bill(**costs: tuple[float, float]) -> list[EligibleLine]:
    """Return cost lines, each of a category with its cost and the tax on it."""
    return [EligibleLine(name, name, np.array(cost), np.array(tax)) for name, (cost, tax) in costs.items()]


def certificates(rule_id: str, day: date, *, kw: float = 6.0, kwh: float = 0.0, zone: str | None = None) -> float:
    """Return how many certificates are granted: their worth at a price of one."""
    lines = bill(modules=(100_000, 0), battery=(100_000, 0))
    award = ask(rule_id, day, kw=kw, kwh=kwh, lines=lines, claim=Claimed(price=np.ones(1), zone=zone))
    assert award.status == ("granted" if award.amounts.any() else "refused"), award.reasons
    return float(award.amounts.sum())


@dataclass(frozen=True)
class Count:
    """A number of certificates, and where it comes from."""

    id: str
    source: str
    known: str
    day: date
    expected: int
    kw: float = 6.0
    kwh: float = 0.0
    zone: str | None = None

    def counted(self) -> float:
        """Return what finsolar counts."""
        rule_id = BATTERY if self.kwh else PANELS
        return certificates(rule_id, self.day, kw=self.kw, kwh=self.kwh, zone=self.zone)


COUNTS = [
    Count("T27 2025, 54.73", REGULATOR, "rule", date(2025, 12, 31), 54, kw=6.6, zone="3"),
    Count("T27 2026, 45.61", REGULATOR, "rule", date(2026, 1, 1), 45, kw=6.6, zone="3"),
    Count("T27 2030, 9.12", REGULATOR, "rule", date(2030, 12, 31), 9, kw=6.6, zone="3"),
    Count("T28 2025, 125.55", REGULATOR, "rule, factor from memory", date(2025, 12, 31), 125, kwh=13.5),
    Count("T28 January 2026, 113.4", REGULATOR, "rule", date(2026, 1, 1), 113, kwh=13.5),
    Count("T28 June 2026, 91.8", REGULATOR, "rule", date(2026, 6, 1), 91, kwh=13.5),
    Count("T29 20 kWh, weighted 17.6", REGULATOR, "rule", date(2026, 6, 1), 119, kwh=20),
    Count("T29 40 kWh, weighted 24.2", REGULATOR, "rule", date(2026, 6, 1), 164, kwh=40),
    Count("T29 60 kWh, weighted 25.7", REGULATOR, "rule", date(2026, 6, 1), 174, kwh=60),
    Count("T29 40 kWh before the tiers", REGULATOR, "rule", date(2026, 1, 1), 336, kwh=40),
    Count("T29 the last day before the tiers", REGULATOR, "rule", date(2026, 4, 30), 336, kwh=40),
]


@pytest.mark.parametrize("case", COUNTS, ids=lambda case: case.id)
def test_certificates_are_counted_as_published(case: Count) -> None:
    assert case.counted() == case.expected, (case.source, case.known)


# Germany, section 48: what is paid before the 0.4 ct of section 53 go off, by band of kW, for systems from
# 30 July 2022; from 1 February 2024 on 1 % less each half-year (section 49).
APPLIED = {
    "de/surplus-feed-in": (("10", "8.6"), ("40", "7.5"), ("100", "6.2")),
    "de/full-feed-in": (("10", "13.4"), ("100", "11.3")),
}

# First and last day of commissioning, half-years, ct for each band of the surplus, ct for each band of full feed-in,
# and how the row is known. Source: the Federal Network Agency's published rates and EEG 2023 sections 48, 49 and 53.
PUBLISHED = [
    (date(2022, 7, 30), date(2024, 1, 31), 0, "8.20 7.10 5.80", "13.00 10.90", "published"),
    (date(2024, 2, 1), date(2024, 7, 31), 1, "8.11 7.03 5.74", "12.87 10.79", "formula"),
    (date(2024, 8, 1), date(2025, 1, 31), 2, "8.03 6.95 5.68", "12.73 10.68", "formula"),
    (date(2025, 2, 1), date(2025, 7, 31), 3, "7.94 6.88 5.62", "12.60 10.56", "formula"),
    (date(2025, 8, 1), date(2026, 1, 31), 4, "7.86 6.80 5.56", "12.47 10.45", "published"),
    (date(2026, 2, 1), date(2026, 7, 31), 5, "7.78 6.73 5.50", "12.34 10.35", "published"),
    (date(2026, 8, 1), date(2027, 1, 31), 6, "7.70 6.66 5.44", "12.22 10.24", "formula"),
]


def fixed_tariff(base: str, half_years: int) -> Decimal:
    """Return ct for a kWh after so many half-years: rounded once, from the base, and 0.4 ct less."""
    stepped = Decimal(base) * Decimal("0.99") ** half_years
    return stepped.quantize(Decimal("0.01"), ROUND_HALF_UP) - Decimal("0.40")


def paid_per_kwh(rule_id: str, kw: Decimal, half_years: int) -> Decimal:
    """Return EUR for a kWh of a system of `kw`, each band of its power at that band's tariff."""
    paid, below = Decimal(0), Decimal(0)
    for up_to, base in APPLIED[rule_id]:
        in_band = max(min(kw, Decimal(up_to)) - below, Decimal(0))
        paid, below = paid + in_band * fixed_tariff(base, half_years), Decimal(up_to)
    return paid / kw / 100


def tariff(rule_id: str, day: date, kw: float) -> float:
    """Return EUR for a kWh that finsolar pays in the first year, from 1,000 kWh made and fed in."""
    award = ask(rule_id, day, kw=kw, exported=1_000, generation=1_000, claim=Claimed(confirmed=True))
    assert award.status == "granted", award.reasons
    return float(award.amounts[..., 1]) / 1_000


@pytest.mark.parametrize("row", PUBLISHED, ids=lambda row: f"n = {row[2]}, {row[5]}")
def test_german_tariffs_are_those_of_the_table(row: tuple[date, date, int, str, str, str]) -> None:
    first, last, _, surplus, full, known = row
    rules = {rule.id: rule for rule in load_rules("DE")}
    for rule_id, printed in (("de/surplus-feed-in", surplus), ("de/full-feed-in", full)):
        for day in (first, last):
            bands = rules[rule_id].leading.value_at(day).bands
            assert [f"{100 * band.value:.2f}" for band in bands] == printed.split(), (TARIFF, known)
            # A system within the first band is paid that band's rate.
            assert tariff(rule_id, day, 9.9) == pytest.approx(float(printed.split()[0]) / 100, abs=1e-12)


@pytest.mark.parametrize("row", PUBLISHED, ids=lambda row: f"n = {row[2]}, {row[5]}")
@pytest.mark.parametrize("rule_id", APPLIED)
def test_german_tariffs_follow_the_formula_of_the_law(rule_id: str, row: tuple[date, date, int, str, str, str]) -> None:
    first, last, half_years, *_ = row
    for kw in ("0.6", "9.99", "10", "10.01", "25", "30", "40", "41.5", "99.9", "100"):
        expected = float(paid_per_kwh(rule_id, Decimal(kw), half_years))
        for day in (first, last):
            assert tariff(rule_id, day, float(kw)) == pytest.approx(expected, rel=1e-12), (TARIFF, kw)


def test_rounding_at_every_step_would_drift() -> None:
    # EEG 2023 § 49: each step starts from the unrounded value. The authority's rate for the band from 10 to 40 kW in
    # August 2025 is 6.80 ct; rounding all four steps would have made it 6.82 ct.
    stepped = Decimal("7.5")
    for _ in range(4):
        stepped = (stepped * Decimal("0.99")).quantize(Decimal("0.01"), ROUND_HALF_UP)
    assert stepped - Decimal("0.40") == Decimal("6.82")
    # 40 kW: a quarter at the first band's 7.86 ct, the rest at 6.80 ct.
    expected = 0.25 * 0.0786 + 0.75 * 0.0680
    assert tariff("de/surplus-feed-in", date(2025, 8, 1), 40) == pytest.approx(expected, abs=1e-12)


def test_t30_bands_are_weighted_by_power() -> None:
    # (10 x 8.2 + 5 x 7.1) / 15 = 7.8333 ct; an official page prints about 7.8 for 15 kW in 2022.
    paid = tariff("de/surplus-feed-in", date(2022, 12, 1), 15)
    assert paid == pytest.approx(0.117500 / 1.5, abs=1e-12)
    assert f"{100 * paid:.1f}" == "7.8"


def test_the_german_term_is_twenty_years_and_the_rest_of_the_first() -> None:
    # EEG 2023: commissioned on 1 July 2025, the payment ends on 31 December 2045: 184 days of 365 beyond 20 years.
    award = ask("de/surplus-feed-in", date(2025, 7, 1), kw=8, exported=1_000, years=25)
    yearly = award.amounts[..., 1:]
    assert yearly[:20] == pytest.approx(np.full(20, 79.4))
    assert yearly[20] == pytest.approx(79.4 * 184 / 365)
    assert not yearly[21:].any()


@pytest.mark.parametrize(
    ("exported", "export_is_paid", "status", "paid"),
    [
        (10_000, False, "granted", 1_247),
        (9_900, False, "granted", 1_247),
        (9_899, False, "refused", 0),
        (4_000, False, "refused", 0),
        (10_000, True, "refused", 0),
    ],
)
def test_full_feed_in_stands_beside_no_use_at_home_and_no_price(
    exported: float, export_is_paid: bool, status: str, paid: float
) -> None:
    # EEG 2023 § 48: the higher rate is for systems that feed in everything, so a kWh used at home, or sold by the
    # tariff, is not paid again. Up to 10 kW in August 2025 12.47 ct, published; that 1 % may stay behind is ours.
    award = ask(
        "de/full-feed-in",
        date(2025, 8, 1),
        kw=9,
        generation=10_000,
        exported=exported,
        export_is_paid=export_is_paid,
        claim=Claimed(confirmed=True),
    )
    assert award.status == status
    assert float(award.amounts.sum()) == pytest.approx(paid)
    assert any("everything the system makes is fed in" in reason for reason in award.reasons) is (status == "refused")


def test_full_feed_in_is_chosen_and_not_assumed() -> None:
    # EEG 2023 § 48 as commonly read (from memory): the grid operator must be told.
    answers = [None, Claimed(confirmed=False)]
    awards = [
        ask("de/full-feed-in", date(2025, 8, 1), kw=9, generation=9_000, exported=9_000, claim=claim)
        for claim in answers
    ]
    assert [award.status for award in awards] == ["unknown", "refused"]
    assert not any(award.amounts.any() for award in awards)


def test_what_germany_pays_from_february_2027_is_not_guessed() -> None:
    # An end of the fixed tariff for new systems is announced and was not verified as enacted.
    for rule_id in APPLIED:
        award = ask(rule_id, date(2027, 2, 1), exported=1_000, generation=1_000, claim=Claimed(confirmed=True))
        assert award.status == "unknown"
        assert not award.amounts.any()


@dataclass(frozen=True)
class Job:
    """A British job at 20 % before relief, and what it costs in all."""

    id: str
    day: date
    labour: float
    own_labour: bool
    expected: float

    def total(self) -> float:
        """Return price, tax and relief in one sum; parts are 6,000 before tax."""
        lines = bill(modules=(6_000, 1_200), labour=(self.labour, 0.2 * self.labour))
        facts = {"contractor": not self.own_labour, "licensed installer": False, "accredited installer": False}
        award = ask("gb/energy-saving-materials-vat", self.day, lines=lines, facts=facts)
        assert award.status == ("refused" if self.own_labour else "granted"), award.reasons
        return sum(float(line.cost + line.sales_tax) for line in lines) - float(award.amounts.sum())


JOBS = [
    Job("T31 (a) supplied and installed", date(2026, 11, 2), 3_000, False, 9_000),
    Job("T31 (b) own labour, parts alone", date(2026, 11, 2), 0, True, 7_200),
    Job("the last day at 0 %", date(2027, 3, 31), 3_000, False, 9_000),
    Job("T32 supplied and installed at 5 %", date(2027, 5, 15), 3_000, False, 9_450),
]


@pytest.mark.parametrize("job", JOBS, ids=lambda job: job.id)
def test_british_jobs_cost_what_the_rule_says(job: Job) -> None:
    assert job.total() == pytest.approx(job.expected, abs=1e-9), BRITAIN


def test_british_batteries_alone_are_relieved_from_february_2024() -> None:
    # SI 2024/24 art. 3: from 1 February 2024 also without panels; before that only together with them.
    def relief(day: date, kw: float) -> float:
        award = ask("gb/energy-saving-materials-vat", day, lines=bill(battery=(5_000, 1_000)), kw=kw, kwh=8)
        return float(award.amounts.sum())

    assert [relief(date(2024, 1, 31), 0), relief(date(2024, 2, 1), 0)] == [0, 1_000]
    assert relief(date(2024, 1, 31), 4) == 1_000


def test_germany_spares_goods_alone_where_britain_does_not() -> None:
    # UStG § 12(3): the supply of the goods is enough; Notice 708/6: supply and installation.
    day = date(2026, 11, 2)
    german = ask("de/photovoltaic-vat", day, lines=bill(modules=(6_000, 1_140)), facts=OWN_LABOUR)
    british = ask("gb/energy-saving-materials-vat", day, lines=bill(modules=(6_000, 1_200)), facts=OWN_LABOUR)
    assert [float(award.amounts.sum()) for award in (german, british)] == [1_140, 0]


ZONES = {"1": "1.622", "2": "1.536", "3": "1.382", "4": "1.185"}

# First day of the electrical certificate, certificates per weighted kWh. Source: the regulator's table as transcribed
# in 2026; 9.3 from memory.
FACTORS = [
    (date(2025, 7, 1), "9.3"),
    (date(2026, 1, 1), "8.4"),
    (date(2026, 5, 1), "6.8"),
    (date(2027, 1, 1), "5.7"),
    (date(2027, 7, 1), "5.2"),
    (date(2028, 1, 1), "4.6"),
    (date(2028, 7, 1), "4.1"),
    (date(2029, 1, 1), "3.6"),
    (date(2029, 7, 1), "3.1"),
    (date(2030, 1, 1), "2.6"),
    (date(2030, 7, 1), "2.1"),
]


def weighted(kwh: Decimal, day: date) -> Decimal:
    """Return the kWh that count: all of the first 50, and from May 2026 less of what lies above 14 and 28."""
    counted = min(kwh, Decimal(50))
    if day < date(2026, 5, 1):
        return counted
    second = max(min(counted, Decimal(28)) - 14, Decimal(0))
    third = max(counted - 28, Decimal(0))
    return min(counted, Decimal(14)) + second * Decimal("0.6") + third * Decimal("0.15")


@pytest.mark.parametrize("year", range(2025, 2031))
def test_panel_certificates_match_exact_arithmetic(year: int) -> None:
    # floor(kW x zone rating x (2031 - year)), rounded down once. Source: as REGULATOR.
    for zone, rating in ZONES.items():
        for kw in ("1.5", "2.5", "5", "6.6", "9.99", "10", "12.5", "25", "50", "99.5", "100"):
            expected = floor(Decimal(kw) * Decimal(rating) * (2031 - year))
            for day in (date(year, 1, 1), date(year, 12, 31)):
                assert certificates(PANELS, day, kw=float(kw), zone=zone) == expected, (zone, kw, day)


@pytest.mark.parametrize(("first", "factor"), FACTORS, ids=lambda value: str(value))
def test_battery_certificates_match_exact_arithmetic(first: date, factor: str) -> None:
    # floor(weighted kWh x factor), rounded down once. Source: as REGULATOR.
    later = [day for day, _ in FACTORS if day > first]
    last = (later[0] if later else date(2031, 1, 1)) - timedelta(days=1)
    sizes = ("5", "6.5", "10", "13.5", "14", "14.1", "20", "27.5", "28", "28.4", "40", "49.9", "50", "60", "100")
    for kwh in sizes:
        for day in (first, last):
            expected = floor(weighted(Decimal(kwh), day) * Decimal(factor))
            assert certificates(BATTERY, day, kwh=float(kwh)) == expected, (kwh, day)


@pytest.mark.parametrize("rule_id", [PANELS, BATTERY])
def test_australian_certificates_end_with_2030_and_need_an_accredited_installer(rule_id: str) -> None:
    # Clean Energy Regulator: the scheme ends on 31 December 2030; unlicensed own labour earns no certificates.
    claim = Claimed(price=np.ones(1), zone="3")
    lines = bill(modules=(9_000, 0), battery=(9_000, 0))
    late = ask(rule_id, date(2031, 1, 1), kwh=10, lines=lines, claim=claim)
    unskilled = ask(rule_id, date(2026, 6, 1), kwh=10, lines=lines, claim=claim, facts=OWN_LABOUR)
    assert [award.status for award in (late, unskilled)] == ["refused", "refused"]
    assert not late.amounts.any()
    assert not unskilled.amounts.any()

"""The load test on paper: what the appliances on backup ask of what carries them, circuit by circuit.

The sums are those of `backup_watts`, taken for every hour of the day and every month in which appliances may run, the
worst of them told: what runs in winter alone never meets what runs in summer alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from finsolar.energy.appliances import Appliance, backup_watts
from finsolar.scenario.schema import Generator, System

CARRIED, LEFT_OFF, ADDED, TOO_MUCH = "carried", "left off", "can be added", "does not fit"
"""What becomes of a circuit: on the panel and carried or too much for it; off it and room for it or none."""

USUAL = (Appliance("Washing machine", 300.0), Appliance("Coffee maker", 1100.0), Appliance("Space heater", 1500.0))
"""What people switch on next, in that order, with their watts; common practice, no source."""


@dataclass(frozen=True)
class Rating:
    """What carries the house without the grid, watts: for long, and for the seconds of a start.

    ``of`` names the part whose limit it is; ``stated`` tells whether a short-time rating was stated, else it is taken
    to be no more than what is carried for long.
    """

    watts: float
    short_time_watts: float
    of: str
    stated: bool


@dataclass(frozen=True)
class Asked:
    """What appliances on backup ask, watts.

    ``steady`` the mean draw over a day of their dearest month; ``running`` all that may run in one hour at once, in the
    worst hour; ``starting`` the same while the largest of them starts.
    """

    steady: float
    running: float
    starting: float

    def fits(self, rating: Rating) -> bool:
        """Whether both ratings are enough; a limit met exactly is enough."""
        return self.running <= rating.watts * (1 + 1e-9) and self.starting <= rating.short_time_watts * (1 + 1e-9)


@dataclass(frozen=True)
class Circuit:
    """One line of the test, in its order.

    ``watts`` of all its units running, ``start_watts`` that one of them takes beyond while it starts; ``verdict`` as in
    the words above; ``running`` and ``starting`` watts of all that is carried so far with this one. ``in_worst_hour`` :
    it is among what is on backup and runs in its worst hour, ``in_worst_hour_of_what_fits`` the same of all that fit.
    ``usual`` where it is not the household's own.
    """

    name: str
    watts: float
    start_watts: float
    verdict: str
    running: float
    starting: float
    in_worst_hour: bool
    in_worst_hour_of_what_fits: bool
    usual: bool


def rating_of(system: System, generator: Generator | None, fuel_ready: bool) -> Rating | None:
    """What carries a house apart from the grid; None where nothing does.

    A battery with an inverter of its own is its own limit; one that shares the inverter of the modules has both. A
    larger generator carries instead, off the grid always, else where fuel lies ready for it (``fuel_ready``).
    """
    found = None
    battery = system.battery
    if battery != "none":
        out, inverter = battery.limits[1], system.inverter
        forming = inverter if battery.coupling == "dc" else battery
        limits = [(out, "battery")] + [(inverter.kw, "inverter")] * (battery.coupling == "dc")
        kw, of = min(limits)
        short = kw if forming.short_time_kw is None else max(forming.short_time_kw, kw)
        found = Rating(kw * 1000.0, short * 1000.0, of, forming.short_time_kw is not None)
    if generator is not None and (fuel_ready or system.operation == "off grid"):
        watts = generator.kw * 1000.0
        if found is None or watts > found.watts:
            found = Rating(watts, max(watts, 0.0 if found is None else found.short_time_watts), "generator", False)
    return found


def asked(appliances: Sequence[Appliance]) -> Asked:
    """What is on backup of some appliances asks of what carries it; nothing on backup asks nothing.

    With no hours and months stated: running = sum of watts, starting = running + the largest (starting watts - watts).
    """
    kept = [each for each in appliances if each.on_backup > 0 and each.count > 0]
    steady = max(
        sum(each.kwh_a_day * each.on_backup for each in kept if month in each.in_months) for month in range(12)
    )
    sums = [backup_watts(together) for together in _together(kept)]
    return Asked(steady * 1000.0 / 24.0, max(running for running, _ in sums), max(starting for _, starting in sums))


def _together(appliances: Sequence[Appliance]) -> list[list[Appliance]]:
    """Those that may run together, for every hour of the day in every month, each such company once."""
    found = {
        tuple(month in each.in_months and hour in each.between_hours for each in appliances)
        for month in range(12)
        for hour in range(24)
    }
    return [[each for each, runs in zip(appliances, those, strict=True) if runs] for those in sorted(found)]


def _worst_company(appliances: Sequence[Appliance]) -> list[int]:
    """The identities of those that run in the worst hour."""
    worst = max(_together(appliances), key=lambda together: backup_watts(together)[0])
    return [id(each) for each in worst]


def circuits(appliances: Sequence[Appliance], rating: Rating) -> list[Circuit]:
    """Every circuit in the order of the list: what is on backup first, then what might be added.

    Each stays on the panel as long as it fits beside those before it. Where nothing is left to add, `USUAL` stands in.
    """
    on = [each for each in appliances if each.on_backup > 0 and each.count > 0]
    off = [_the_others(each) for each in appliances if each.on_backup < 1 and each.count > 0]
    usual = [] if off else [replace(each, on_backup=1.0) for each in USUAL]
    lines = [*on, *off, *usual]
    carried: list[Appliance] = []
    sums = []
    for each in lines:
        now = asked([*carried, each])
        sums.append(now)
        if now.fits(rating):
            carried.append(each)
    worst, worst_that_fits = _worst_company(on), _worst_company(carried)
    return [
        Circuit(
            name=each.name,
            watts=each.watts * each.count * each.on_backup,
            start_watts=each.starting - each.watts,
            verdict=_verdict(place < len(on), now.fits(rating)),
            running=now.running,
            starting=now.starting,
            in_worst_hour=id(each) in worst,
            in_worst_hour_of_what_fits=id(each) in worst_that_fits,
            usual=bool(usual) and place >= len(on),
        )
        for place, (each, now) in enumerate(zip(lines, sums, strict=True))
    ]


def _the_others(appliance: Appliance) -> Appliance:
    """What of an appliance is not on backup, as if it were."""
    name = f"{appliance.name}, the others" if appliance.on_backup > 0 else appliance.name
    return replace(appliance, on_backup=1.0 - appliance.on_backup, name=name)


def _verdict(on_backup: bool, fits: bool) -> str:
    if on_backup:
        return CARRIED if fits else LEFT_OFF
    return ADDED if fits else TOO_MUCH

"""A generator: the supply of a house without a grid."""

from __future__ import annotations

from pydantic import model_validator

from finsolar.scenario.blocks import Block, default
from finsolar.scenario.numbers import Amount, FixedPositive, FixedShare, Rise, fault


class Generator(Block):
    """A generator: the supply of a house without a grid.

    It makes up what sun and battery cannot give. With ``start_at`` it starts once the battery has fallen to that share
    of its capacity, serves the house and charges with what power it has left, until ``stop_at`` is reached. ``rise``
    is that of the fuel; the upkeep by the hour rises with inflation.
    """

    kw: FixedPositive
    fuel_price: Amount
    litres_per_kwh: Amount = default(0.246, "Skarstein and Uhlen's diesel curve, from memory")
    idle_litres_per_kw: Amount = default(0.08415, "the same curve: litres an hour for each rated kW")
    upkeep_per_hour: Amount = default(0.0, "no upkeep by the hour was stated")
    rise: Rise
    start_at: FixedShare | None = default(None, "it makes up what sun and battery cannot give, and does not charge")
    stop_at: FixedShare = default(0.8, "common practice, no source: the last fifth of a charge goes slowly")

    @model_validator(mode="after")
    def _starts_below_its_stop(self) -> Generator:
        if self.start_at is not None and self.start_at >= self.stop_at:
            what = f"starts at {self.start_at:.0%} and stops at {self.stop_at:.0%} of the battery"
            raise fault("generator-levels", what, "let start_at be lower than stop_at")
        return self

    @model_validator(mode="after")
    def _stops_only_if_it_charges(self) -> Generator:
        if self.start_at is None and "stop_at" in self.model_fields_set:
            what, mend = "says where it stops, but not where it starts", "add start_at, or remove stop_at"
            raise fault("generator-levels", what, mend)
        return self

    @property
    def moot(self) -> frozenset[str]:
        """Where it stops, unless it charges."""
        return frozenset({"stop_at"}) if self.start_at is None else frozenset()

"""Room 3, prices: flows in, bills out.

In: :class:`~finsolar.energy.flows.Flows` by month and price period, and the tariff of the scenario.
Out: a :class:`~finsolar.tariff.bills.Bill`, money by component, ``(..., years, 12)``.

hours      which price and which demand window holds in each step; holidays knows the holidays
prices     the tariff of a scenario as arrays by year and bill
bills      every component of a bill; blocks, demand and settle hold the arithmetic of three of them
drawer     past bills worked out again by the same function; rounding to whole cents
fuel       what a generator burns and wears
"""

"""Room 3, prices: flows in, bills out.

In: :class:`~finsolar.energy.flows.Flows` by month and price period, and the tariff of the scenario.
Out: a :class:`~finsolar.tariff.bills.Bill`, money by component, ``(..., years, 12)``.

prices     the tariff of a scenario as arrays by year
bills      fixed charge, energy, export under each scheme
fuel       what a generator burns and wears
"""

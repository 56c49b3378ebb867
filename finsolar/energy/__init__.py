"""Room 2, energy: from weather, load and equipment to the kilowatt-hours a bill is made of.

In: a scenario's sources, sizes and limits. Out: :class:`~finsolar.energy.flows.Flows`, kWh imported and exported by
year, month and price period, with the energy totals beside them. Steps are left-labelled, from 1 January 00:00 local
standard time; every function but the sun's takes leading case axes.

sources        what a scenario's weather, load and production lead to
weather        a typical year; weather_files reads one, sun_hours makes one of twelve monthly numbers
clock          local standard time to wall clock
sun            roof and inverter
load           months and a shape to hours; standard_load the published profile, appliances a list
readings       a meter's readings, put in order; meter makes them a year, zones knows its clock
meter_csv      readings from CSV, with meter_layout and stamps; green_button from XML, with espi and dst_rule
battery        the greedy rule; dispatch by the clock, and beside a generator that charges
orders         what a battery is told for each step
balance        sun, load, battery and supply in every step
fade           ageing, replacement and warranty; generator: fuel
house          one house over all its years
flows, bins    the steps summed by month and price period
bound          the year that perfect foresight would make
"""

"""Energy: from weather, load and equipment to the kilowatt-hours a bill is made of.

In come plain numbers and arrays: a weather year, the load by month, the size and the limits of the equipment.
Out go `Flows`: kWh imported and exported by year, month and price period, with the energy totals beside them.
The modules follow the energy: `weather` (a typical year), `clock` (local standard time to wall clock), `sun`
(roof and inverter), `load` (the house), `battery` (the greedy rule), `fade` (ageing), `generator` (fuel) and
`flows` (the hour-by-hour balance, summed by period). Hours are left-labelled, from 1 January 00:00 local
standard time; every function but the sun's takes leading case axes.
"""

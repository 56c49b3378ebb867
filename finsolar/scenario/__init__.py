"""Room 1, what the household writes.

In: a YAML file. Out: a :class:`~finsolar.scenario.schema.Scenario`, complete and checked, or a
:class:`~finsolar.scenario.problems.ScenarioError` that holds every fault with its line.

nodes       YAML text to a tree that remembers lines
inheriting  what alternatives take over from the top and from one another
reading     validation, and its faults as messages with lines
schema      the whole scenario; its blocks stand in
            place, usage, tariff, generator, equipment, outlay and claims, on what blocks gives them all
numbers     rates, amounts and ranges; settling ranges to values
rises       a yearly rise, or a path of rises, as a price index
hours       months, days and hours as words
names       stations and load shapes that may be named
stated      what a scenario states, in words
assumed     what a scenario left out, and why the default stands
starter     the commented file of ``finsolar new``
problems    faults and how they are printed
"""

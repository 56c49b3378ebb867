"""Incentives: dated law in, awards out.

`rules/<country>/[<region>/]*.yaml` holds the law as data, one rule a file, each value with the day it
starts and its reference.

Reading: `law` defines the records; `rulefile` reads one rule with `ruleparts`, `rulevalues` and `ruleterms` and checks
it with `rulechecks`; `rulebook` finds the rules of a place, `own_rules` adds those a scenario brings along.
Deciding: `facts` holds what a household tells and what it is answered, `household` tells it from a scenario; `awards`
weighs one rule after another in the order of `order`, with `weighing` for what all kinds share, `conditions`, `basis`,
`purchase` and `yearly` for the arithmetic of each kind, `streams` for its pure functions and `wording` for the reasons.
`slip` asks what becomes of it if the date moves. To add a rule, add a file.
"""

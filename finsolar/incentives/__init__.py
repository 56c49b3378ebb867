"""Incentives: dated law in, awards out.

`rules/<country>/[<region>/]*.yaml` holds the law as data, one rule a file, each value with the day it
starts and its reference. `law` defines the records, `rulefile` reads and checks one file, `rulebook` finds
the files of a place; `facts` holds what a household tells and what it is answered; `awards` decides, with
`basis` for the costs that count and `wording` for the reasons. To add a rule, add a file; to add a kind of
rule, name its parameters in `law.KINDS` and its arithmetic in `awards`.
"""

"""Room 6, the same path for many cases.

In: a :class:`~finsolar.study.Study`. Out: the same study with what other values of its inputs would do to it.
Nothing is worked out a second way: columns ``(cases, 1)`` stand where numbers stood.

rises         how NPV and payback move with the yearly price rise
price_history how prices rose before now, by country
break_even    at which price and at which rise an alternative breaks even or draws level
"""

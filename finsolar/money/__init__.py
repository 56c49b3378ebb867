"""Money: from yearly flows to the figures a household decides by.

In come bills, costs, awards and loans as arrays, out go cash-flow lines (..., years + 1) and figures (...).
Money to the household is positive; time 0 is the day the system is switched on and is never discounted. The
kernels are `rates` (real and nominal, annuities), `loan` (level monthly payments), `metrics` (present value,
payback, rates of return, ratios, levelised cost) and `roots` (the search behind the rates of return);
`costs`, `cashflow`, `compare` and `appraisal` put them to work on a scenario. Every kernel takes leading case
axes: a single study is a batch of one.
"""

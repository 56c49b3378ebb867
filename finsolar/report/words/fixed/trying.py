"""What the section in which numbers are tried says whatever was found."""

from __future__ import annotations

NO_SCRIPT = (
    "Trying other numbers needs the page’s script, which is switched off here; everything else can be read without it."
)
HOW = (
    "Move a number, and the answer follows. What is moved moves for all alternatives alike: every line of the purchase "
    "price, the price of everything that supplies the house, and the discount rate, which is what the money would "
    "earn elsewhere."
)
ANSWER_FOR = "The answer for"
BACK = "Back to the scenario’s own numbers"
TABLE = "The alternatives at these numbers"
CAPTION = "The alternatives at these numbers; savings and NPV are against staying as you are"
HEAD = ("Net cost", "Saving in year 1", "NPV", "Payback, for good", "IRR")
WHAT_STAYS = (
    "Likely ranges and chances belong to the scenario’s own numbers and do not move, nor does anything else on this "
    "page. Every figure here was worked out beforehand, by the same engine as the whole study, at each combination of "
    "these stops."
)

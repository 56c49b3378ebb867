"""What the lender's summary says whatever was found."""

from __future__ import annotations

TABLE = "The alternatives as a lender reads them"
CAPTION = "The alternatives as a lender reads them; saving and NPV are against staying as the house is"

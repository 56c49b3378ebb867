"""Figures of merit in a workbook: formulas over the cash flow, with their workings in rows of their own."""

from __future__ import annotations

from typing import Any

from finsolar.money import cashflow as cf
from finsolar.money.energy_cost import BATTERY
from finsolar.report.words.terms import METRIC_ROWS
from finsolar.report.workbook.cells import FIXED_FILL, ID, PALE, Formula, Line, Place, Sheet, address, quoted
from finsolar.report.workbook.energy import battery_row, energy_rows
from finsolar.report.workbook.plan import PlanSheet
from finsolar.report.workbook.rates import search

NEVER, NONE, ASK = "never", "none", "study it again"
"""What stands where a figure does not exist, and where formulas cannot tell it."""

_TRACE = "1E-12"  # of all that moves: what rounding leaves of a zero
HEADS = ("Figure", "Here", "id", "As studied", "Difference", "")


class Figures:
    """The figures of one alternative."""

    def __init__(self, of: PlanSheet, metrics: dict[str, Any]) -> None:
        self.of, self.sheet, self.years, self.metrics = of, of.sheet, of.years, metrics
        self.inflation = of.inputs.ref("study.inflation")
        self.formulas: dict[str, str] = {}

    def work(self) -> None:
        """Write the workings below the cash flow, and keep the formulas of the figures."""
        sheet, of = self.sheet, self.of
        sheet.heading("Workings of the figures")
        sheet.head_of_years("Row", "")
        money = self.sheet.book.money
        d, n, discount = "discount_rate", self.years, of.inputs.discount
        net, factors = of.net.span(0, n), discount.span(0, n)
        real = of.inputs.deflator
        deflated = sheet.line("Net in the money of the first day",
                              lambda year: Formula(f"{of.net.at(year)}*{real.at(year)}"))  # fmt: skip
        self._paybacks("simple", of.net)
        self._paybacks("real_simple", deflated)
        self._paybacks("discounted", of.discounted)
        found = self.formulas
        npv = found["npv"] = f"SUMPRODUCT({net},{factors})"
        found["annual_value"] = f"({npv})/({_annuity(d, n)})"
        i = self.inflation
        rate = sheet.figure("Discount rate beyond inflation", Formula(f"({d}-{i})/(1+{i})"), form="0.0000%")
        found["real_annual_value"] = f"({npv})/({_annuity(rate, n)})"
        trace = sheet.figure("What counts as rounding", Formula(f"{_TRACE}*SUMPRODUCT(ABS({net}))"), form="0.0E+00")
        self._irr(trace)
        come = sheet.figure("Worth of what comes in",
                            Formula(f"SUMPRODUCT(({net}>{trace})*{net}*{factors})"), form=money)  # fmt: skip
        goes = sheet.figure("Worth of what goes out",
                            Formula(f"-SUMPRODUCT(({net}<-{trace})*{net}*{factors})"), form=money)  # fmt: skip
        found["mirr"] = f'IF(OR({come}<=0,{goes}<=0),"{NONE}",(1+{d})*({come}/{goes})^(1/{n})-1)'
        self._sir()
        found["airr"] = f'IF(ISNUMBER(@sir@),IF(@sir@>=0,(1+{d})*@sir@^(1/{n})-1,"{NONE}"),"{NONE}")'
        for key in ("irr", "mirr", "airr"):
            found[f"real_{key}"] = f"IF(ISNUMBER(@{key}@),(@{key}@-{i})/(1+{i}),@{key}@)"
        self._energy()

    def _paybacks(self, name: str, of: Line) -> None:
        """The rows of one payback: the running total with traces as zero, and when it climbs to zero."""
        sheet, n = self.sheet, self.years
        trace = sheet.figure(f"Rounding of the {name.replace('_', ' ')} payback",
                             Formula(f"{_TRACE}*SUMPRODUCT(ABS({of.span(0, n)}))"), form="0.0E+00")  # fmt: skip
        total = sheet.line("Running total",
                           lambda year: Formula(f"IF(ABS(SUM({of.span(0, year)}))<={trace},0,SUM({of.span(0, year)}))")
                           )  # fmt: skip

        def climbs(year: int) -> Formula:
            if year == 0:
                return Formula(f'IF({total.at(0)}>=0,0,"")')
            before, after = total.at(year - 1), total.at(year)
            return Formula(f'IF(AND({before}<0,{after}>=0),{year - 1}-{before}/({after}-{before}),"")')

        times = sheet.line("Back at zero after, years", climbs, form="0.00").span(0, n)
        self.formulas[f"{name}_payback"] = f'IF(COUNT({times})=0,"{NEVER}",MIN({times}))'
        self.formulas[f"{name}_payback_lasting"] = f'IF({total.at(n)}<0,"{NEVER}",MAX({times}))'

    def _signs(self, what: str, of: Line, trace: str) -> str:
        """How often a row changes sign, zeros left out: a cell."""
        sheet, n, row = self.sheet, self.years, self.sheet.row
        before = Line(sheet.name, row)

        def sign(year: int) -> Formula:
            last = before.at(year - 1) if year else "0"
            return Formula(f"IF(ABS({of.at(year)})>{trace},SIGN({of.at(year)}),{last})")

        signs = sheet.line(f"Sign of the {what}", sign, form="0")
        changes = f"SUMPRODUCT(({signs.span(1, n)}*{signs.span(0, n - 1)}<0)*1)"
        return sheet.figure(f"Changes of sign of the {what}", Formula(changes), form="0")

    def _irr(self, trace: str) -> None:
        sheet, of, n = self.sheet, self.of, self.years
        self.changes = self._signs("net", of.net, trace)
        row = sheet.row
        signs = sheet.line(
            "Sign of the first money",
            lambda year: Formula(
                (f"IF({Line(sheet.name, row).at(year - 1)}<>0,{Line(sheet.name, row).at(year - 1)}," if year else "(")
                + f"IF(ABS({of.net.at(year)})>{trace},SIGN({of.net.at(year)}),0))"
            ),
            form="0",
        )
        # The first money that moves, at some rate: where its sign first is no longer zero.
        shifted = f"({signs.span(1, n)}<>0)*({signs.span(0, n - 1)}=0)*{of.net.span(1, n)}"
        later = f"SUMPRODUCT({shifted}*(1+@rate@)^-{of.inputs.years.span(1, n)})"
        first_money = f"IF({signs.at(0)}<>0,{of.net.at(0)},{later})"
        self._search = (of.net, of.inputs.years, first_money)
        self._first = signs.at(n)

    def search(self) -> None:
        """Write the search for the IRR, which is long and stands last."""
        rate, sure = search(self.sheet, *self._search)
        studied = self.metrics["irr"]
        known = f'"{NONE}"' if studied is None else repr(studied)
        told = f'IF(as_studied,{known},"{ASK}")'
        self.formulas["irr"] = f'IF(OR({self._first}>=0,{self.changes}=0),"{NONE}",IF({sure},{rate},{told}))'

    def _sir(self) -> None:
        sheet, of, n = self.sheet, self.of, self.years
        factors = of.inputs.discount.span(0, n)
        saved = sheet.line("Operation", of.sum_of(cf.OPERATION))
        laid = sheet.line("Investment", of.sum_of(cf.INVESTMENT))
        self.investment = laid
        worth = [sheet.figure(what, Formula(f"{sign}SUMPRODUCT({row.span(0, n)},{factors})"), form=sheet.book.money)
                 for what, sign, row in (("Worth of the savings", "", saved), ("Worth of the investment", "-", laid))
                 ]  # fmt: skip
        trace = f"{_TRACE}*(SUMPRODUCT(ABS({saved.span(0, n)}))+SUMPRODUCT(ABS({laid.span(0, n)})))"
        self.formulas["sir"] = f'IF({worth[1]}<={trace},"{NONE}",{worth[0]}/{worth[1]})'

    def _energy(self) -> None:
        sheet, of, n = self.sheet, self.of, self.years
        discount, deflator = of.inputs.discount, of.inputs.deflator
        kwh = energy_rows(of)
        running = [of.lines[name] for name in cf.RUNNING if name in of.lines]
        avoided = of.lines["investment avoided"]
        costs = sheet.line(
            "Costs that energy is levelised over",
            lambda year: Formula(
                f"{avoided.at(year)}-{self.investment.at(year)}" + "".join(f"-{row.at(year)}" for row in running)
            ),
        )
        alone = costs
        names = {line.category for line in of.plan.costs} | {line.category for line in of.plan.upkeep}
        if BATTERY in names or of.rebates:
            battery = battery_row(of)
            alone = sheet.line("The same without the battery’s",
                               lambda year: Formula(f"{costs.at(year)}-{battery.at(year)}"))  # fmt: skip
        factors, inverse = discount.span(1, n), deflator.span(1, n)
        for key, money, energy in (("lcoe", costs, kwh["useful"]), ("lcoe_solar", alone, kwh["sun"])):
            worth = sheet.figure(f"Worth of the costs, {key}",
                                 Formula(f"SUMPRODUCT({money.span(0, n)},{discount.span(0, n)})"),
                                 form=sheet.book.money)  # fmt: skip
            for real, by in (("", factors), ("real_", f"{factors}/{inverse}")):
                sum_ = sheet.figure(f"kWh, discounted, {real}{key}",
                                    Formula(f"SUMPRODUCT({energy.span(1, n)}*{by})"), form="#,##0.00")  # fmt: skip
                self.formulas[real + key] = f'IF({sum_}>0,{worth}/{sum_},"{NONE}")'
        drawn = f"SUMPRODUCT({kwh['backup'].span(1, n)}*{of.inputs.index(None).span(1, n)}*{factors})"
        if of.inputs.known("household.backup_kwh"):
            drawn = f"{of.inputs.ref('household.backup_kwh')}*{drawn}"
        backup = sheet.figure("kWh of backup, discounted", Formula(drawn), form="#,##0.00")
        npv, self.without_worth = "@npv@", ""
        if cf.WORTH_OF_BACKUP in of.lines:
            flows = f"{of.net.span(0, n)}-{of.lines[cf.WORTH_OF_BACKUP].span(0, n)}"
            npv = sheet.figure("NPV without the worth of backup", Formula(f"SUMPRODUCT({flows},{discount.span(0, n)})"),
                               form=sheet.book.money)  # fmt: skip
            self.without_worth = npv
        self.formulas["backup_cost"] = f'IF(AND({backup}>0,{npv}<=0),-{npv}/{backup},"{NONE}")'

    def tell(self, row: int) -> dict[str, str]:
        """Write the figures from a row on, and name them; returns the cells by key."""
        sheet, book, n = self.sheet, self.sheet.book, self.of.i + 1
        rows = [*METRIC_ROWS, ("sign_changes", "Changes of sign of the net", "count")]
        self.formulas["sign_changes"] = self.changes
        cells = {key: f"{quoted(sheet.name)}!{address(row + k, 1)}" for k, (key, _, _) in enumerate(rows)}
        for k, (key, what, kind) in enumerate(rows):
            formula = self.formulas[key]
            for other, cell in cells.items():
                formula = formula.replace(f"@{other}@", cell)
            place = row + k
            form = form_of(sheet, kind)
            sheet.write(place, 0, what)
            sheet.write(place, 1, Formula(formula), num_format=form, align="right", bold=True)
            sheet.write(place, ID, f"{self.of.key}.metrics.{key}", font_color=PALE, font_size=8)
            studied = self.metrics[key]
            absent = NEVER if kind == "years" else NONE
            sheet.write(place, 3, absent if studied is None else float(studied), num_format=form, align="right",
                        bg_color=FIXED_FILL)  # fmt: skip
            here, before = address(place, 1), address(place, 3)
            differs = f'IF(AND(ISNUMBER({here}),ISNUMBER({before})),{here}-{before},IF({here}={before},0,"other"))'
            sheet.write(place, 4, Formula(differs), num_format=form, align="right", font_color=PALE)
            book.ids[f"{self.of.key}.metrics.{key}"] = Place(sheet.name, place, 1)
            book.define(f"{key}_{n}", sheet.name, place, 1)
        return cells


def form_of(sheet: Sheet, kind: str) -> str:
    """The number format of a kind of figure."""
    forms = {"money": sheet.book.money, "price": sheet.book.price, "years": '0.0" y"', "share": "0.00%",
             "ratio": "0.00", "count": "0"}  # fmt: skip
    return forms[kind]


def _annuity(rate: str, years: int) -> str:
    return f"IF({rate}=0,{years},(1-(1+{rate})^-{years})/{rate})"

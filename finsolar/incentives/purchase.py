"""Awards that belong to the purchase: credits, deductions, rebates, certificates deemed at once, sales-tax relief."""

import numpy as np

from finsolar.incentives.facts import Array, Award, EligibleLine, Step
from finsolar.incentives.law import MARGINAL, TAXES, Ended, Value
from finsolar.incentives.streams import capped_in_turn, certificates, over_bands, use_credit
from finsolar.incentives.weighing import Weighing
from finsolar.incentives.wording import about_use, in_words, money, number, percent, written

_NO_LIMIT = float("inf")


def tax_credit(w: Weighing) -> Award:
    """Grant a tax credit: its amount, cut by cap after cap, then used against the tax owed year by year.

    Not modelled: owners who share the cost, and costs spread over several years.
    """
    rule, shape, years = w.rule, w.shape, w.table.years
    potential, cut = _amount(w)
    potential, cut = _lifetime(w, potential, cut)
    w.ledger.append(Step("potential credit", potential))
    if not w.missing and not w.verdict.missing and not potential.any():
        return _nothing_left(w)
    tax = rule.against.value if rule.against is not None else "income tax"
    start = _arrives(w, 1)
    carry = 0.0 if rule.carry_forward is None else rule.carry_forward.value
    refund = _refund(w, potential)
    if refund is not None:
        met = np.broadcast_to(w.verdict.met, shape)
        w.table.upfront = w.table.upfront + (0.0 if w.missing or w.verdict.missing else refund * met)
        amounts = np.zeros((*shape, years + 1))
        # A cap on each year holds for what is paid out as well; the tax owed does not.
        most = np.full((*shape, years + 1 - start), w.number("yearly_cap", _NO_LIMIT))
        amounts[..., start:], left = use_credit(refund, most, carry)
        if rule.refundable is not None and not w.missing and not w.verdict.missing:
            w.reasons.append(
                f"{money(rule.currency, amounts[..., start])} comes with the return of year {start}. "
                f"{rule.refundable.because}"
            )
        return w.award(amounts, potential, cut=bool(cut.any() or left.any() or (refund < potential).any()))
    owed = w.table.tax_left.get(tax)
    if owed is None:
        because = "" if rule.refundable is None else rule.refundable.because
        w.missing.append(f"{because} How much that is depends on the tax: fill in {TAXES[tax]}.".strip())
        return w.award(np.zeros((*shape, years + 1)), potential)
    limit = _limit(w, owed, tax)
    first = max(start, 1)  # no return belongs to year 0
    used = np.zeros((*shape, years))
    used[..., first - 1 :], left = use_credit(potential, limit[..., first - 1 :], carry)
    outlives_study = first - 1 + carry >= years
    unused = left if outlives_study else np.zeros(shape)
    lost = left - unused
    carried = potential - used[..., 0] if carry else np.zeros(shape)
    amounts = w.by_year(used)
    if not w.missing and not w.verdict.missing:
        w.ledger += [
            Step("used in year 1", used[..., 0]),
            Step("carried to year 2", carried),
            Step("used in later years", used[..., 1:].sum(axis=-1)),
            Step("lost", lost),
            Step("unused at the end of the study", unused),
        ]
        w.reasons += about_use(rule, used, carried, lost, unused)
        met = np.broadcast_to(w.verdict.met, shape)
        w.table.tax_left[tax] = np.maximum(owed - used * met[..., None], 0.0)
        w.table.upfront = w.table.upfront + (potential - lost) * met
    return w.award(amounts, potential, cut=bool(cut.any() or left.any()), waiting=bool(unused.any()))


def tax_deduction(w: Weighing) -> Award:
    """Grant a deduction: shares of the basis over successive years, each cut by the cap, at the marginal rate."""
    rule, years = w.rule, w.table.years
    basis = w.find_basis()
    tax = rule.against.value if rule.against is not None else "income tax"
    marginal, owed = w.house.marginal.get(tax), w.table.tax_left.get(tax)
    deductions = np.zeros((*w.shape, years))
    cap = w.number("yearly_cap", _NO_LIMIT)
    clipped = np.zeros(w.shape)
    first = max(_arrives(w, 1), 1) - 1  # no return belongs to year 0
    for year, share in enumerate(w.entry.shares[: years - first], start=first):
        whole = basis.total * share
        deductions[..., year] = np.minimum(whole, cap)
        clipped = clipped + (whole - deductions[..., year])
    w.ledger += [
        Step("deducted from income", deductions.sum(axis=-1)),
        Step("cut by the yearly cap, and lost", 0.0 - clipped),
    ]
    if clipped.any():
        w.reasons.append(
            f"No more than {money(rule.currency, cap)} is deducted in a year: {money(rule.currency, clipped)} is cut "
            "off and lost."
        )
    if marginal is None:
        w.missing.append(f"What a deduction is worth depends on the rate of tax: fill in {MARGINAL[tax]}.")
        return w.award(np.zeros((*w.shape, years + 1)), np.zeros(w.shape))
    saved = deductions * np.asarray(marginal)[..., None]
    if owed is not None:
        saved = np.minimum(saved, owed)
    saved = capped_in_turn(saved, w.table.unpaid)
    w.ledger.append(Step("tax saved", saved.sum(axis=-1)))
    if not w.missing and not w.verdict.missing:
        met = np.broadcast_to(w.verdict.met, w.shape)
        w.table.upfront = w.table.upfront + saved.sum(axis=-1) * met
        if owed is not None:
            w.table.tax_left[tax] = np.maximum(owed - saved * met[..., None], 0.0)
        w.reasons.append(
            f"The deduction saves {money(rule.currency, saved[..., first])} with the return of year {first + 1} and "
            f"{money(rule.currency, saved.sum(axis=-1))} in all."
        )
    return w.award(w.by_year(saved), saved.sum(axis=-1), cut=bool(clipped.any()))


def upfront_rebate(w: Weighing) -> Award:
    """Grant a rebate: its amount, cut by cap after cap and by what it pays for."""
    potential, cut = _amount(w)
    uncut = potential
    potential = w.no_more_than_paid(potential)
    w.ledger.append(Step("rebate", potential))
    if not w.missing and not w.verdict.missing:
        if not potential.any():
            return _nothing_left(w)
        w.table.upfront = w.table.upfront + potential * np.broadcast_to(w.verdict.met, w.shape)
    start = _arrives(w, 0)
    amounts = np.zeros((*w.shape, w.table.years + 1))
    amounts[..., start] = potential
    when = "when the work is paid" if start == 0 else f"in year {start}"
    w.reasons.append(f"{money(w.rule.currency, potential)} comes {when}.")
    return w.award(amounts, potential, cut=bool(cut.any() or (potential < uncut).any()))


def deemed_certificates(w: Weighing) -> Award:
    """Grant certificates counted at once from the size: rounded down once, at the price the scenario tells."""
    rule, claim = w.rule, w.house.claimed(w.rule.id)
    size = np.zeros(w.shape) if rule.size is None else w.size(rule.size.value)
    counted = np.minimum(size, w.number("cap_size", _NO_LIMIT))
    weights = w.value("weights") or Value(w.day, 1.0, w.entry.source)
    zone = 1.0
    if rule.zones is not None:
        known = rule.zones.value
        if claim.zone in known:
            zone = known[str(claim.zone)]
        else:
            zone = 0.0  # no factor of another zone may stand in
            w.missing.append(
                f"{rule.zones.because} Write zone for {rule.id} under claims: {', '.join(known)}. "
                f"({rule.zones.source.reference})"
            )
    unit = "kWh" if rule.size is not None and rule.size.value == "battery kwh" else "kW"
    count = certificates(counted, weights.bands, w.entry.number, zone)
    price = w.value("price_each")
    told = None if claim.price is None else np.asarray(claim.price)[..., 0]
    each = np.asarray(price.number) if told is None and price is not None else told
    w.ledger += [
        Step("size", size, unit),
        Step("size that counts, weighted", over_bands(counted, weights.bands), unit),
        Step("certificates", count, "certificates"),
    ]
    w.reasons.append(f"{number(count)} certificates, rounded down once.")
    if each is None:
        w.missing.append(f"Certificates are sold at a market price: write price for {rule.id} under claims.")
        each = np.zeros(())
    fee = w.number("fee_each", 0.0)
    w.ledger.append(Step("price of one, less its fee", np.broadcast_to(each - fee, w.shape)))
    potential = w.no_more_than_paid(count * np.maximum(each - fee, 0.0))
    w.ledger.append(Step("worth of the certificates", potential))
    if not w.missing and not w.verdict.missing:
        if not potential.any():
            return _nothing_left(w)
        w.table.upfront = w.table.upfront + potential * np.broadcast_to(w.verdict.met, w.shape)
    amounts = np.zeros((*w.shape, w.table.years + 1))
    amounts[..., _arrives(w, 0)] = potential
    return w.award(amounts, potential)


def sales_tax_relief(w: Weighing) -> Award:
    """Spare sales tax on the lines that count: what was stated, less the rate that is left.

    The lines on the table bear the lower tax from here on, so that no credit is reckoned on tax that is not paid.
    """
    rule = w.rule
    basis = w.find_basis()
    spared = np.zeros(w.shape)
    lines: list[EligibleLine] = []
    met = np.broadcast_to(w.verdict.met, w.shape)
    settled = not w.missing and not w.verdict.missing
    for line, counts in zip(w.table.lines, w.counts or [], strict=True):
        if rule.lead == "rate_left":
            off = np.maximum(line.sales_tax - w.entry.number * line.cost, 0.0)
        else:
            off = line.sales_tax * w.entry.number
        off = off * counts
        spared = spared + off
        after = line.sales_tax - off * met if settled else line.sales_tax
        lines.append(EligibleLine(line.item, line.category, line.cost, np.asarray(after)))
    spared = w.no_more_than_paid(spared)
    w.ledger.append(Step("tax spared", spared))
    if not basis.sales_tax.any() and basis.lines.any():
        w.missing.append(
            "The lines that count bear no sales tax in the scenario, so there is none to spare. If your prices hold no "
            "tax yet, state it: purchase.sales_tax, and purchase.services_tax for work."
        )
        settled = False
    if settled:
        w.table.lines = lines
        w.table.spared = w.table.spared + spared * met
        if not spared.any():
            return _nothing_left(w)
        w.reasons.append(f"{money(rule.currency, spared)} of tax is not charged.")
    amounts = np.zeros((*w.shape, w.table.years + 1))
    amounts[..., 0] = spared
    return w.award(amounts, spared)


def _arrives(w: Weighing, otherwise: int) -> int:
    """Return the year in which the first money comes, no later than the last one of the study."""
    term = w.rule.arrives_in_year
    return min(otherwise if term is None else term.value, w.table.years)


def _times(limit: Value, of: Array) -> Array:
    """Return a limit for each unit of something (...); without a limit there is none for zero units either."""
    return np.full(np.shape(of), _NO_LIMIT) if np.isinf(limit.number) else np.asarray(limit.number * of)


def _amount(w: Weighing) -> tuple[Array, Array]:
    """Return a credit or rebate (...) after its caps, and what they cut off; the working goes into the ledger."""
    rule, currency = w.rule, w.rule.currency
    total = np.zeros(w.shape)
    gross = np.zeros(w.shape)
    if rule.credit_of is not None:
        other = w.table.awards.get(rule.credit_of.value)
        w.basis = np.zeros(w.shape) if other is None else np.broadcast_to(other.potential, w.shape)
        w.ledger.append(Step("basis", w.basis))
        if other is not None and other.status == "unknown":
            w.missing.append(f"It is a share of another award, and that is not known: {other.title}.")
        w.reasons.append(f"{rule.credit_of.because} ({rule.credit_of.source.reference})")
    elif rule.lines:
        gross = w.find_basis().gross
    share = w.value("share")
    if share is not None:
        total = total + w.basis * share.number
        w.ledger.append(Step("share", np.full(w.shape, share.number), "share"))
        w.reasons.append(f"{percent(share.number)} of {money(currency, w.basis)} is {money(currency, total)}.")
    for name, size_name, unit in (("per_kw", "solar kw", "kW"), ("per_kwh", "battery kwh", "kWh")):
        rate = w.value(name)
        if rate is not None:
            size = w.size(size_name)
            part = over_bands(size, rate.bands)
            total = total + part
            w.ledger += [Step(f"size in {unit}", size, unit), Step(f"for its {unit}", part)]
            w.reasons.append(
                f"{in_words(name, rate, currency)} for each {unit} of {number(size)} is {money(currency, part)}."
            )
    fixed = w.value("fixed")
    if fixed is not None:
        total = total + fixed.number
        w.ledger.append(Step("fixed amount", np.full(w.shape, fixed.number)))
    whole = total
    caps: list[tuple[str, str, Array]] = []
    for name, size_name, unit in (("cap_per_kw", "solar kw", "kW"), ("cap_per_kwh", "battery kwh", "kWh")):
        limit = w.value(name)
        if limit is not None:
            caps.append((name, f"cap per {unit}", _times(limit, w.size(size_name))))
    cap = w.value("cap")
    if cap is not None:
        caps.append(("cap", "cap", np.asarray(cap.number)))
    part_of_cost = w.value("cap_share_of_cost")
    if part_of_cost is not None:
        caps.append(("cap_share_of_cost", "share of the cost", _times(part_of_cost, gross)))
    if rule.over_yearly_cap is not None and rule.over_yearly_cap.value == "lost":
        caps.append(("yearly_cap", "yearly cap", np.asarray(w.number("yearly_cap", _NO_LIMIT))))
    for name, label, most in caps:
        total = _cut(w, total, name, label, most)
    return total, whole - total


def _cut(w: Weighing, amount: Array, name: str, label: str, most: Array) -> Array:
    """Cut an amount (...) to `most` (...), with a line in the ledger and a sentence where it bites."""
    after = np.minimum(amount, most)
    off = amount - after
    w.ledger.append(Step(f"cut by the {label}", 0.0 - off))
    if off.any():
        limit = w.value(name)
        source = "" if limit is None else f" ({limit.source.reference})"
        w.reasons.append(
            f"The {label} is {money(w.rule.currency, most)}, so {money(w.rule.currency, off)} is cut off and lost."
            + source
        )
    return np.asarray(after)


def _lifetime(w: Weighing, potential: Array, cut: Array) -> tuple[Array, Array]:
    """Cut a credit (...) by what is left of its lifetime cap, and by what the household pays."""
    before = potential
    limit = w.value("lifetime_cap")
    if limit is not None:
        told = w.house.claimed(w.rule.id).used_before
        used = np.zeros(()) if told is None else np.asarray(told)
        if used.any() and np.isfinite(limit.number):
            whole = money(w.rule.currency, limit.number)
            w.reasons.append(f"{money(w.rule.currency, used)} of the lifetime cap of {whole} was used before.")
        label = "rest of the lifetime cap" if used.any() else "lifetime cap"
        potential = _cut(w, potential, "lifetime_cap", label, np.maximum(limit.number - used, 0.0))
    potential = w.no_more_than_paid(potential)
    return potential, cut + before - potential


def _refund(w: Weighing, potential: Array) -> Array | None:
    """Return what is paid out whatever tax is owed (...); None where the credit only lowers tax."""
    term = w.rule.refundable
    if term is None or term.value == "no":
        return None
    if term.value == "yes":
        return potential
    if not w.house.claimed(w.rule.id).refundable:
        share = percent(1.0 - w.rule.haircut)
        w.reasons.append(
            f"You may have {share} of it paid out instead: write refundable: true for {w.rule.id} under claims. "
            f"({term.source.reference})"
        )
        return None
    w.ledger.append(Step("given up for the refund", 0.0 - potential * w.rule.haircut))
    return np.asarray(potential * (1.0 - w.rule.haircut))


def _limit(w: Weighing, owed: Array, tax: str) -> Array:
    """Return the most each year can use of a credit (..., years): tax left, a share of the tax, a yearly cap."""
    limit = owed
    share = w.value("yearly_share_of_tax")
    if share is not None and np.isfinite(share.number):
        whole = np.broadcast_to(np.asarray(w.house.taxes[tax], dtype=np.float64), owed.shape)
        limit = np.minimum(limit, whole * share.number)
        w.reasons.append(f"No year takes more than {percent(share.number)} of its tax. ({share.source.reference})")
    cap = w.value("yearly_cap")
    if cap is not None and np.isfinite(cap.number):
        limit = np.minimum(limit, cap.number)
        term = w.rule.over_yearly_cap
        because = "" if term is None else f" {term.because}"
        w.reasons.append(
            f"No year takes more than {money(w.rule.currency, cap.number)}.{because} ({cap.source.reference})"
        )
    return limit


def _nothing_left(w: Weighing) -> Award:
    words = "No cost is left to take a share of; the reason stands beside each line."
    if not w.rule.lines:
        words = "It comes to nothing here."
    return w.refused(words)


def had_it_been(w: Weighing, ended: Ended, potential: Array) -> str:
    """Say what the same lines would have had on the last day of the rule."""
    what = "a potential credit" if w.rule.kind == "tax credit" else "an amount"
    return (
        f"With {w.rule.event} by {written(ended.eve)}, the same costs would have had a basis of "
        f"{money(w.rule.currency, w.basis)} and {what} of {money(w.rule.currency, potential)}."
    )

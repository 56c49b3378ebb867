"""What the kind of a rule demands of its fields taken together."""

from collections.abc import Collection, Iterator, Mapping
from datetime import date
from typing import Any

from finsolar.incentives.law import AMOUNTS, KINDS, Dated, Ended
from finsolar.incentives.ruleparts import Fault, Path
from finsolar.incentives.ruleterms import TERMS
from finsolar.incentives.rulevalues import LASTING, NO_LIMIT

_OF_COST = frozenset({"share", "cap_share_of_cost"})
"""Parameters that are a share of the cost, in the kinds that have amounts."""


def faults_of_kind(kind: str, stated: Collection[str], parsed: Mapping[str, Any]) -> Iterator[Fault]:
    """Yield what is wrong between the fields of a rule.

    `stated` names the fields that the file has, `parsed` holds those that could be read.
    """
    for name, sort in TERMS.items():
        if name in stated and kind not in sort.kinds:
            yield Fault((name,), f"is no term of this kind of rule, '{kind}'", "remove it, or change the kind")
        elif sort.needed and name not in stated and kind in sort.kinds:
            yield Fault((name,), f"is missing, and this kind of rule, '{kind}', needs it", f"add `{name}:`")
    parameters: Mapping[str, Dated] | None = parsed.get("parameters")
    if parameters is None:
        return
    leading = [name for name in KINDS[kind].leading if name in parameters]
    if leading:
        yield from _among_parameters(kind, leading, parameters)
        yield from _about_cost(kind, stated, parameters)
    else:
        names = " or ".join(f"`{name}:`" for name in KINDS[kind].leading)
        yield Fault(("parameters",), f"lacks what this kind of rule, '{kind}', grants", f"add {names}")
    if kind == "tax credit" and ("yearly_cap" in parameters) != ("over_yearly_cap" in stated):
        if "yearly_cap" in parameters:
            what = "is missing beside parameters.yearly_cap"
            yield Fault(("over_yearly_cap",), what, "say whether what passes the cap is carried or lost")
        else:
            yield Fault(("over_yearly_cap",), "has no use without parameters.yearly_cap", "remove it, or add the cap")


def _among_parameters(kind: str, leading: list[str], parameters: Mapping[str, Dated]) -> Iterator[Fault]:
    """Yield what is wrong between the parameters: two that grant the same, one that is needed, when limits hold."""
    lead = leading[0]
    if KINDS[kind].leading != AMOUNTS:
        for name in leading[1:]:
            yield Fault(("parameters", name), f"stands beside `{lead}:`, which says the same", "keep one of the two")
    for name in KINDS[kind].needed:
        if name not in parameters:
            what = f"is missing, and this kind of rule, '{kind}', needs it"
            yield Fault(("parameters", name), what, f"add `{name}:` to the parameters")
    first: date = parameters[lead].entries[0].start
    for name in LASTING.intersection(parameters):
        at: Path
        for entry in parameters[name].entries:
            if isinstance(entry, Ended):
                at = ("parameters", name, "values", str(entry.start), "value")
                yield Fault(at, "ends, which a limit does not", f"write '{NO_LIMIT}'")
        start = parameters[name].entries[0].start
        if start > first:
            at = ("parameters", name, "values", str(start))
            yield Fault(at, f"starts after `{lead}:` does ({first})", f"begin no later; '{NO_LIMIT}' where none held")


def _about_cost(kind: str, stated: Collection[str], parameters: Mapping[str, Dated]) -> Iterator[Fault]:
    """Yield what is wrong about the basis: lines for a share of the cost, or the credit of another rule."""
    of_credit = kind == "tax credit" and "credit_of" in stated
    if of_credit:
        if "share" not in parameters:
            yield Fault(("credit_of",), "has no use without parameters.share", "add the share of that credit")
        if "cap_share_of_cost" in parameters:
            at = ("parameters", "cap_share_of_cost")
            yield Fault(at, "has no use beside credit_of, which leaves the cost aside", "remove it")
    of_amounts = kind in {"tax credit", "upfront rebate"} and bool(_OF_COST.intersection(parameters))
    of_cost = not of_credit and (of_amounts or kind in {"tax deduction", "sales tax relief"})
    if of_cost and "lines" not in stated:
        yield Fault(("lines",), "is missing, and the rule goes by the cost", "say which categories of cost count")
    for name in () if of_cost else ("lines", "lowered_by"):
        if name in stated and (name not in TERMS or kind in TERMS[name].kinds):
            yield Fault((name,), "has no use, since the rule does not go by the cost", "remove it")

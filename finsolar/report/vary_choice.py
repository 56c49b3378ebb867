"""What the command line asks to be moved, from where to where; faults in the words of the fields themselves."""

from __future__ import annotations

from dataclasses import dataclass

from finsolar.results import Study
from finsolar.scenario.problems import Problem, ScenarioError, near, shown
from finsolar.scenario.schema import Scenario
from finsolar.uncertainty.inputs import input_of
from finsolar.uncertainty.vary import Axis, axis


@dataclass(frozen=True)
class Choice:
    """The words that were typed: an input with its ends, perhaps a second one, the alternative of a map."""

    moved: str
    low: str
    high: str
    steps: int
    against: str | None = None
    low2: str | None = None
    high2: str | None = None
    of: str | None = None


def chosen_alternative(scenario: Scenario, choice: Choice) -> None:
    """Raise ScenarioError for options of a second input that do not belong together, and an unknown alternative."""
    second = {"--from2": choice.low2, "--to2": choice.high2}
    faults = []
    for option, text in second.items():
        if choice.against is not None and text is None:
            faults.append(
                Problem(option, 0, "", "is missing", "say where the second number begins and ends", "missing")
            )
        elif choice.against is None and text is not None:
            faults.append(Problem(option, 0, "", "belongs to a second number", "name it by --against", "alone"))
    names = [plan.name for plan in scenario.alternatives]
    if choice.of is not None and choice.against is None:
        faults.append(Problem("--of", 0, "", "belongs to a map", "add --against; curves show all", "alone"))
    elif choice.of is not None and choice.of not in names:
        what = f"is {shown(choice.of)}, no alternative of this scenario"
        faults.append(Problem("--of", 0, "", what, near(choice.of, names), "unknown-alternative"))
    if faults:
        raise ScenarioError(faults)


def chosen_axes(base: Study, choice: Choice) -> list[Axis]:
    """The axes that were asked for; raises ScenarioError for names that are unknown and values that are not taken."""
    low, high = _value(choice.low), _value(choice.high)
    axes = [axis(input_of(base, choice.moved), low, high, choice.steps)]
    if choice.against is not None and choice.low2 is not None and choice.high2 is not None:
        ends = _value(choice.low2), _value(choice.high2)
        axes.append(axis(input_of(base, choice.against), *ends, choice.steps, ("--from2", "--to2")))
    return axes


def _value(text: str) -> float | str:
    """What was typed as a scenario would hold it: a number, or text such as 3%."""
    try:
        return float(text)
    except ValueError:
        return text.strip()

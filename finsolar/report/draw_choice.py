"""How many cases to draw, and by which seed, where the command line says it in the file's place."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import TypeAdapter, ValidationError

from finsolar.scenario.place import StudySettings
from finsolar.scenario.problems import Problem, ScenarioError, shown
from finsolar.scenario.schema import Scenario


def with_draws(scenario: Scenario, draws: str | None, seed: str | None) -> Scenario:
    """The scenario with the draws and the seed that were typed, as if its file said so.

    Raises ScenarioError, in the words of the fields, for what these would not take.
    """
    typed = {name: text for name, text in (("draws", draws), ("seed", seed)) if text is not None}
    if not typed:
        return scenario
    found: dict[str, Any] = {}
    problems = []
    for name, text in typed.items():
        field = StudySettings.model_fields[name]
        kind: Any = Annotated[field.annotation, *field.metadata]
        number: Any = int(text) if text.lstrip("+-").isdecimal() else text
        try:
            found[name] = TypeAdapter(kind).validate_python(number)
        except ValidationError as error:
            limits = error.errors()[0].get("ctx", {})
            what = limits.get("what", f"is {shown(number)}")
            mend = limits.get("mend", f"write a whole number from 0 to {2**32 - 1}")
            problems.append(Problem(f"--{name}", 0, "", what, mend, name))
    if problems:
        raise ScenarioError(problems)
    settings = scenario.study.model_copy(update=found)
    return scenario.model_copy(update={"study": settings}).read_from(scenario.origin)

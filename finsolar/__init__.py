"""finsolar: what solar, a battery and backup cost and earn for one house.

``read(path)`` gives a :class:`Scenario`, ``study(scenario)`` a :class:`Study`.
"""

from typing import TYPE_CHECKING, Any

# This module must stay light to import: it is loaded before `finsolar --help` can answer. It is imported at
# once, so that `finsolar.study` means the function and not the module of the same name.
from finsolar.results import Study
from finsolar.study import study

if TYPE_CHECKING:
    from finsolar.scenario.problems import ScenarioError
    from finsolar.scenario.reading import read
    from finsolar.scenario.schema import Scenario

__all__ = ["Scenario", "ScenarioError", "Study", "read", "study"]

_HOMES = {
    "Scenario": "finsolar.scenario.schema",
    "ScenarioError": "finsolar.scenario.problems",
    "read": "finsolar.scenario.reading",
}


def __getattr__(name: str) -> Any:
    """Import a public name when it is first used, so that the command line starts quickly."""
    from importlib import import_module

    if name in _HOMES:
        return getattr(import_module(_HOMES[name]), name)
    raise AttributeError(f"module 'finsolar' has no attribute {name!r}")

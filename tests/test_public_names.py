"""The public list is exact."""

from __future__ import annotations

import subprocess
import sys

import finsolar


def test_every_public_name_is_there() -> None:
    """Each name of the list can be had, and has a docstring."""
    assert sorted(finsolar.__all__) == ["Scenario", "ScenarioError", "Study", "read", "study"]
    for name in finsolar.__all__:
        assert getattr(finsolar, name).__doc__


def test_study_stays_the_function_in_whatever_order_things_are_imported() -> None:
    """The module of the same name must not take its place."""
    code = "import finsolar.study; from finsolar import study; assert callable(study); assert finsolar.study is study"
    subprocess.run([sys.executable, "-c", code], check=True)

"""What all tests share: where things lie, and the promise that nothing skips silently in CI."""

from __future__ import annotations

import os
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings

# Machines differ in speed, so no example has a deadline; in CI every run draws the same examples.
settings.register_profile("steady", deadline=None, derandomize=os.environ.get("CI") == "true")
settings.load_profile("steady")

ROOT = Path(__file__).parent.parent
SCENARIOS = sorted((ROOT / "scenarios").glob("*.yaml"))


def pytest_terminal_summary(terminalreporter: Any) -> None:
    """Name every skipped test once more where people look: at the end."""
    for report in terminalreporter.stats.get("skipped", []):
        terminalreporter.write_line(f"SKIPPED, not checked: {report.nodeid}")


@pytest.hookimpl(trylast=True)
def pytest_sessionfinish(session: pytest.Session) -> None:
    """Under CI=true a skipped test is a failed run."""
    reporter = session.config.pluginmanager.get_plugin("terminalreporter")
    if os.environ.get("CI") == "true" and reporter is not None and reporter.stats.get("skipped"):
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


@lru_cache
def plain_study(path: Path) -> dict[str, Any]:
    """The study of a demo scenario as the page shows it, in plain values; worked out once, with few draws."""
    import finsolar
    from finsolar.report.draw_choice import with_draws
    from finsolar.uncertainty.break_even import with_break_even
    from finsolar.uncertainty.rises import with_rise_sweep
    from finsolar.uncertainty.sunlight import with_sun_spread
    from finsolar.uncertainty.sureness import with_simulation
    from finsolar.uncertainty.what_matters import with_what_matters

    study = with_what_matters(with_simulation(finsolar.study(with_draws(finsolar.read(path), "64", None))))
    return with_sun_spread(with_break_even(with_rise_sweep(study))).to_json()


@pytest.fixture(params=SCENARIOS, ids=[path.stem for path in SCENARIOS])
def demo(request: pytest.FixtureRequest) -> Path:
    """Each demo scenario in turn."""
    path: Path = request.param
    return path


@pytest.fixture
def juniper() -> dict[str, Any]:
    """The study of Juniper Lane as plain values; not to be changed by a test."""
    return plain_study(ROOT / "scenarios" / "juniper-lane.yaml")


@pytest.fixture
def heron() -> dict[str, Any]:
    """The study of Heron Landing as plain values; not to be changed by a test."""
    return plain_study(ROOT / "scenarios" / "heron-landing.yaml")

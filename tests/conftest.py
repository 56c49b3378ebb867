"""What all tests share: where things lie, and the promise that nothing skips silently in CI."""

from __future__ import annotations

import os
import pickle
import re
import tempfile
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import settings

if TYPE_CHECKING:
    from finsolar.results import Study

# Machines differ in speed, so no example has a deadline; in CI every run draws the same examples.
settings.register_profile("steady", deadline=None, derandomize=os.environ.get("CI") == "true")
settings.load_profile("steady")

pytest_plugins = ("visits",)

ROOT = Path(__file__).parent.parent
SCENARIOS = sorted((ROOT / "scenarios").glob("*.yaml"))


def pytest_configure(config: pytest.Config) -> None:
    """Make a folder that all processes of one run share, gone after it."""
    if not hasattr(config, "workerinput"):
        shared = tempfile.TemporaryDirectory(prefix="finsolar-tests-")
        os.environ[SHARED] = shared.name
        config.add_cleanup(shared.cleanup)


SHARED = "FINSOLAR_TEST_SHARED"
"""The variable of the environment that names the folder of this run."""


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


@lru_cache(maxsize=2)  # every step of every year is large
def demo_study(path: Path) -> Study:
    """The study of a demo scenario alone, without draws or turning points."""
    import finsolar
    from finsolar.report.draw_choice import with_draws

    return finsolar.study(with_draws(finsolar.read(path), "64", None))


@lru_cache
def plain_study(path: Path) -> dict[str, Any]:
    """The study of a demo scenario as the page shows it, in plain values; worked out once, with few draws.

    Whichever process is first leaves it for the others: a file that is there is whole, since it is moved into place.
    """
    shared = Path(os.environ[SHARED]) / f"{path.stem}.pickle"
    if shared.exists():
        found: dict[str, Any] = pickle.loads(shared.read_bytes())
        return found
    found = _worked_out(path)
    own = shared.with_suffix(f".{os.getpid()}")
    own.write_bytes(pickle.dumps(found))
    own.replace(shared)
    return found


class _Silent:
    """Tells nobody what is being done."""

    def __call__(self, doing: str) -> None:
        pass

    def share(self, done: int, of: int) -> None:
        pass


def _worked_out(path: Path) -> dict[str, Any]:
    from finsolar.report.command import completed

    return completed(demo_study(path), _Silent()).to_json()


@lru_cache
def demo_page(path: Path) -> str:
    """The page of a demo scenario, written once in each process."""
    from finsolar.report.page import page

    return page(plain_study(path))


def bare(page: str) -> str:
    """A page without what only leads on from its words: the ids of figures, and the links of terms."""
    return re.sub(r'<a class="term"[^>]*>(.*?)</a>', r"\1", re.sub(r' data-id="[^"]*"', "", page), flags=re.S)


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

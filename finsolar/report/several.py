"""Several households in one run: each in a process of its own turn, then all of them side by side."""

from __future__ import annotations

import os
import signal
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol, TypeVar

from finsolar.report import command
from finsolar.report.command import Asked, Say
from finsolar.report.whose import mark_of
from finsolar.scenario.problems import Problem, ScenarioError

if TYPE_CHECKING:
    from finsolar.scenario.schema import Scenario

Plain = dict[str, Any]
Item = TypeVar("Item")
Made = TypeVar("Made")
Faults = tuple[Problem, ...]

_MOST = 8  # processes at once; each holds a few hundred MB


class Each(Protocol):
    """Does the same with each of some things, in whatever processes; the results come in their order."""

    def __call__(self, task: Callable[[Item], Made], items: Iterable[Item], /) -> Iterator[Made]:
        """Do it."""


@dataclass(frozen=True)
class Whole:
    """The results of a run as text; ``pages`` are those of the single households where there are several."""

    title: str
    page: str
    json: str | None
    csv: str | None
    xlsx: bytes | None
    pages: tuple[str, ...]
    lines: Callable[[int], list[str]]


@dataclass(frozen=True)
class Job:
    """One household to work out, the mark of its file and the name it goes by beside others."""

    scenario: Scenario
    mark: str
    asked: Asked
    name: str


@dataclass(frozen=True)
class Found:
    """One household worked out: its views, and what a page of several tells of it."""

    page: str
    json: str | None
    csv: str | None
    beside: Plain


def read_one(item: tuple[Path, Asked]) -> Scenario | Faults:
    """Read one scenario file, or tell its faults."""
    from finsolar.report.draw_choice import with_draws
    from finsolar.scenario.reading import read

    file, asked = item
    try:
        return with_draws(read(file), asked.draws, asked.seed)
    except ScenarioError as error:
        return error.problems


def work_out(job: Job) -> Found | Faults:
    """Work out one household, or tell what only its study finds at fault."""
    from finsolar.report.side_by_side import household

    try:
        views = command.views(job.scenario, job.mark, job.asked, _Silence())
    except ScenarioError as error:
        return error.problems
    return Found(views.page, views.json, views.csv, household(views.plain, job.name))


class _Silence:
    """Says nothing: a process beside others has no line of its own on the terminal."""

    def __call__(self, doing: str) -> None:
        """Pass over it."""

    def share(self, done: int, of: int) -> None:
        """Pass over it."""


def sorted_out(found: Iterable[Made | Faults]) -> tuple[list[Made], list[Problem]]:
    """What was made, and the faults of what was not."""
    made: list[Made] = []
    problems: list[Problem] = []
    for one in found:
        if isinstance(one, tuple):
            problems += one
        else:
            made.append(one)
    return made, problems


def same_names(files: Sequence[Path]) -> list[Problem]:
    """Files whose pages would have one name, and files that are named twice."""
    first: dict[str, Path] = {}
    problems = []
    for file in files:
        other = first.setdefault(file.stem.casefold(), file)
        if other is file:
            continue
        if other.resolve() == file.resolve():
            problems.append(Problem(str(file), 0, "", "is named twice", "name it once", "twice"))
        else:
            what = f"has the name of {other}, so that both pages would be reports/{file.stem}.html"
            problems.append(Problem(str(file), 0, "", what, "rename one of them", "same name"))
    return problems


def page_stem(files: Sequence[Path]) -> str:
    """The name of the page of a run, without its ending: its one scenario, or several beside one another."""
    stems = [file.stem for file in files]
    name = "-beside-".join(stems)
    if len(stems) > 3 or len(os.fsencode(name)) > 200:  # the name of a file has an end
        name = f"{stems[0][:40]}-and-{len(stems) - 1}-more" if len(stems) > 1 else name
    return name


def side_by_side(
    files: Sequence[Path], scenarios: Sequence[Scenario], page: Path, own: Sequence[Path], asked: Asked, each: Each,
    say: Say,
) -> Whole:  # fmt: skip
    """Work out every household; ``page`` : where the page of all is to lie, ``own`` : where that of each is."""
    from finsolar.report import side_by_side as side

    names = side.names_apart([one.title for one in scenarios], [file.stem for file in files])
    jobs = [
        Job(one, mark_of(file), asked, name) for one, file, name in zip(scenarios, files, names, strict=True)
    ]  # fmt: skip
    say(f"studying {len(jobs)} households")
    found, problems = sorted_out(_counted(each(work_out, jobs), len(jobs), say))
    if problems:
        raise ScenarioError(problems)
    mark, households = mark_of(*files), [one.beside for one in found]
    links = [side.link(page, path) for path in own]
    return Whole(
        title=side.title_of(names),
        page=side.side_page(households, links, mark),
        json=side.as_json([one.json for one in found if one.json is not None], names, mark) if asked.json else None,
        csv=side.as_csv([one.csv for one in found if one.csv is not None], names, mark) if asked.csv else None,
        xlsx=None,
        pages=tuple(one.page for one in found),
        lines=lambda width: side.terminal(households, width),
    )


def _counted(found: Iterable[Made], of: int, say: Say) -> Iterator[Made]:
    for done, one in enumerate(found, 1):
        say.share(done, of)
        yield one


@contextmanager
def workers(count: int, processes: int | None = None) -> Iterator[Each]:
    """Ways to do the same ``count`` times: in so many processes as there are cores to go round, or in this one.

    When what is done in them is of no use any more, by a fault or by the keyboard, they end at once.
    """
    wanted = min(count, _cores(), _MOST) if processes is None else processes
    if wanted < 2:
        yield map
        return
    from concurrent.futures import ProcessPoolExecutor
    from concurrent.futures.process import BrokenProcessPool
    from multiprocessing import active_children, get_context

    others = set(active_children())
    pool = ProcessPoolExecutor(wanted, mp_context=get_context("spawn"))

    def each(task: Callable[[Item], Made], items: Iterable[Item], /) -> Iterator[Made]:
        with _no_stop_inherited():
            return pool.map(task, items)

    try:
        yield each
    except BaseException as error:
        for child in set(active_children()) - others:
            child.terminate()
        if isinstance(error, BrokenProcessPool):
            what, mend = "a process of this run was ended from outside", "free some memory, or name fewer files at once"
            raise ScenarioError([Problem("finsolar report", 0, "", what, mend, "ended")]) from None
        raise
    finally:
        pool.shutdown(cancel_futures=True)


@contextmanager
def _no_stop_inherited() -> Iterator[None]:
    """Processes that are started here leave Ctrl-C to this one, which ends them."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _cores() -> int:
    """How many cores this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1

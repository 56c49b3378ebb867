"""One run of ``finsolar report``: from scenario files to the results beside them, all of them or none."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from finsolar.report import command, several
from finsolar.report.command import Asked, Say
from finsolar.report.files import refuse_clashes, write_all
from finsolar.report.printing import NotPrintedError, paper_of, printed
from finsolar.report.readers import page_of
from finsolar.report.whose import Target, mark_of, refuse_others, signature
from finsolar.scenario.named_files import named_files
from finsolar.scenario.problems import Problem, ScenarioError

if TYPE_CHECKING:
    from finsolar.scenario.schema import Scenario


@dataclass(frozen=True)
class Places:
    """Where results go, as typed; ``replace`` : also where another scenario's are."""

    out: Path | None = None
    json: Path | None = None
    csv: Path | None = None
    xlsx: Path | None = None
    pdf: Path | None = None
    paper: str | None = None
    replace: bool = False


@dataclass(frozen=True)
class Done:
    """What a run came to: its page, all files it wrote, what the terminal is told; ``unprinted`` : why no PDF."""

    page: Path
    written: tuple[Path, ...]
    lines: tuple[str, ...]
    unprinted: str | None


def run(files: Sequence[Path], places: Places, asked: Asked, say: Say, width: int) -> Done:
    """Work out one household, or several and hold them side by side, and write every result.

    Raises :class:`ScenarioError` with all that is wrong; then nothing has been written.
    """
    with several.workers(len(files)) as each:
        scenarios = _read(files, places, asked, each, say)
        mark = mark_of(*files)
        side = len(files) > 1
        alone = [Path("reports") / page_of(file.stem, asked.reader) for file in files]
        page = places.out or (Path("reports") / page_of(several.page_stem(files), asked.reader) if side else alone[0])
        own = alone if side else []
        targets = [Target(path, None, mark_of(file)) for path, file in zip(own, files, strict=False)]
        named = ((page, "--out"), (places.json, "--json"), (places.csv, "--csv"), (places.xlsx, "--xlsx"),
                 (places.pdf, "--pdf"))  # fmt: skip
        targets += [Target(path, option, mark) for path, option in named if path is not None]
        read = zip(files, scenarios, strict=True)
        refuse_clashes([target.path for target in targets], {file: named_files(one) for file, one in read})
        if not places.replace:
            refuse_others(targets)
        paper = paper_of(places.paper, [one.place.country for one in scenarios])
        if side:
            found = several.side_by_side(files, scenarios, page, own, asked, each, say)
        else:
            found = _alone(scenarios[0], mark, asked, say)
    unprinted, pdf = None, None
    if places.pdf is not None:
        say("printing the page")
        try:
            pdf = printed(found.page, paper) + signature(mark, found.title)
        except NotPrintedError as error:
            unprinted = str(error)
    whole = ((page, found.page), (places.json, found.json), (places.csv, found.csv), (places.xlsx, found.xlsx),
             (places.pdf, pdf))  # fmt: skip
    contents: dict[Path, str | bytes] = dict(zip(own, found.pages, strict=True))
    contents |= {path: content for path, content in whole if path is not None and content is not None}
    say("writing the files")
    write_all(contents)
    return Done(page, tuple(contents), tuple(found.lines(width)), unprinted)


def _alone(scenario: Scenario, mark: str, asked: Asked, say: Say) -> several.Whole:
    """The results of one household."""
    views = command.views(scenario, mark, asked, say)
    return several.Whole(
        title=scenario.title,
        page=views.page,
        json=views.json,
        csv=views.csv,
        xlsx=views.xlsx,
        pages=(),
        lines=lambda width: command.told(views.plain, width),
    )


def _read(files: Sequence[Path], places: Places, asked: Asked, each: several.Each, say: Say) -> list[Scenario]:
    """Every scenario; raises :class:`ScenarioError` with the faults of all files and of what was asked for."""
    say("reading the scenario" if len(files) == 1 else "reading the scenarios")
    scenarios, problems = several.sorted_out(each(several.read_one, [(file, asked) for file in files]))
    problems += several.same_names(files)
    if places.paper is not None and places.pdf is None:
        problems.append(Problem("--paper", 0, "", "has nothing to be printed on it", "add --pdf OUT", "paper"))
    if places.xlsx is not None and len(files) > 1:
        mend = "ask for it with one FILE at a time"
        problems.append(Problem("--xlsx", 0, "", "a workbook holds one household", mend, "several"))
    if problems:
        raise ScenarioError(problems)
    return scenarios

"""Writing files so that a run that fails leaves the old ones whole."""

from __future__ import annotations

import contextlib
import os
import tempfile
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path

from finsolar.scenario.problems import Problem, ScenarioError


def refuse_clashes(targets: Iterable[Path], scenarios: Mapping[Path, Mapping[Path, str]]) -> None:
    """Raise :class:`ScenarioError` if a result would land in another one, in a scenario, or in a file that one names.

    ``scenarios`` are the files of the run, each with the files that it names and the field that names each.
    """
    alone = len(scenarios) == 1
    taken = {source: "the scenario itself" if alone else f"the scenario {source}" for source in scenarios}
    for source, named in scenarios.items():
        whose = "" if alone else f" of {source}"
        taken |= {path: f"the file of {field}{whose}" for path, field in named.items()}
    for target in targets:
        held = next((what for path, what in taken.items() if same(path, target)), None)
        if held is not None:
            what = f"would overwrite {held}"
            raise ScenarioError([Problem(str(target), 0, "", what, "choose another place for it", "clash")])
        taken[target] = "another result of the same run"


def same(one: Path, other: Path) -> bool:
    """Whether two paths lead to one file, be it there yet or not."""
    if os.path.realpath(one) == os.path.realpath(other):  # which takes a link that leads to itself, too
        return True
    try:
        return one.samefile(other)  # a link, or a name in other letters where the disk does not tell them apart
    except OSError:
        return False


def write_all(contents: Mapping[Path, str | bytes]) -> None:
    """Write every file beside its place, and move them there once all are written; text in UTF-8.

    Folders on the way are made. Raises :class:`ScenarioError` if one of them cannot be written; then no old file has
    changed, unless a move fails after others, as on a disk that breaks off.
    """
    spares: dict[Path, Path] = {}
    made: list[Path] = []
    try:
        for path, content in contents.items():
            with _told_of(path):
                made += _folders_made(path.parent)
                _write_beside(path, content, spares)
        for path, spare in list(spares.items()):
            with _told_of(path):
                spare.replace(path)
            del spares[path]
        made.clear()
    finally:
        for left in spares.values():
            with contextlib.suppress(OSError):
                left.unlink()
        for folder in reversed(made):
            with contextlib.suppress(OSError):
                folder.rmdir()


@contextlib.contextmanager
def _told_of(path: Path) -> Iterator[None]:
    """Tell what the system says against writing a file as a problem of that file."""
    try:
        yield
    except OSError as error:
        what = f"cannot be written ({error.strerror or 'unknown reason'})"
        raise ScenarioError([Problem(str(path), 0, "", what, "choose another place for it", "unwritable")]) from None


def _folders_made(folder: Path) -> list[Path]:
    """Make a folder and those above it that are missing; the ones that were, outermost first."""
    missing = [one for one in (folder, *folder.parents) if not one.exists()][::-1]
    folder.mkdir(parents=True, exist_ok=True)
    return missing


def _write_beside(path: Path, content: str | bytes, spares: dict[Path, Path]) -> None:
    """Write what is to stand at ``path`` into a spare file in the same folder, entered into ``spares``."""
    if path.is_dir():
        raise IsADirectoryError(21, "it is a folder")
    if path.is_symlink() or (path.exists() and not path.is_file()):
        # Moving a file into its place would put an end to the link or the device.
        raise OSError(22, "it is a link or no ordinary file")
    handle, spare = tempfile.mkstemp(dir=path.parent, prefix=".", suffix=".part")
    spares[path] = Path(spare)
    with os.fdopen(handle, "wb") as file:
        file.write(content.encode() if isinstance(content, str) else content)
    Path(spare).chmod(0o666 & ~_umask())


def _umask() -> int:
    """The mask that an ordinary new file would get; the temporary file was made for the owner alone."""
    mask = os.umask(0)
    os.umask(mask)
    return mask

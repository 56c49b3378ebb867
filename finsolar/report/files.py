"""Writing files so that a run that fails leaves the old one whole."""

from __future__ import annotations

import contextlib
import os
import tempfile
from collections.abc import Iterable, Mapping
from pathlib import Path

from finsolar.scenario.problems import Problem, ScenarioError


def refuse_clashes(targets: Iterable[Path], source: Path, named: Mapping[Path, str]) -> None:
    """Raise :class:`ScenarioError` if a result would land in another one, in the scenario, or in a file it names.

    ``named`` holds those files, each with the field that names it.
    """
    taken = {source: "the scenario itself"}
    taken |= {path: f"the file of {field}" for path, field in named.items()}
    for target in targets:
        held = next((what for path, what in taken.items() if _same(path, target)), None)
        if held is not None:
            what = f"would overwrite {held}"
            raise ScenarioError([Problem(str(target), 0, "", what, "choose another place for it", "clash")])
        taken[target] = "another result of the same run"


def _same(one: Path, other: Path) -> bool:
    """Whether two paths lead to one file, be it there yet or not."""
    if one.resolve() == other.resolve():
        return True
    try:
        return one.samefile(other)  # a link, or a name in other letters where the disk does not tell them apart
    except OSError:
        return False


def write_whole(path: Path, content: str | bytes) -> None:
    """Write a file beside its place and move it there in one step; text in UTF-8.

    Folders on the way are made. Raises :class:`ScenarioError` if the file cannot be written; then nothing has
    changed.
    """
    spare: str | None = None
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        if path.is_dir():
            raise IsADirectoryError(21, "it is a folder")
        if path.is_symlink() or (path.exists() and not path.is_file()):
            # Moving a file into its place would put an end to the link or the device.
            raise OSError(22, "it is a link or no ordinary file")
        handle, spare = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
        with os.fdopen(handle, "wb") as file:
            file.write(content.encode() if isinstance(content, str) else content)
        Path(spare).chmod(0o666 & ~_umask())
        Path(spare).replace(path)
        spare = None
    except OSError as error:
        what = f"cannot be written ({error.strerror or 'unknown reason'})"
        raise ScenarioError([Problem(str(path), 0, "", what, "choose another place for it", "unwritable")]) from None
    finally:
        if spare is not None:
            with contextlib.suppress(OSError):
                Path(spare).unlink()


def _umask() -> int:
    """The mask that an ordinary new file would get; the temporary file was made for the owner alone."""
    mask = os.umask(0)
    os.umask(mask)
    return mask

"""The commented scenario that ``finsolar new`` writes."""

from __future__ import annotations

from pathlib import Path

from finsolar.scenario.problems import Problem, ScenarioError


def starter_text() -> str:
    """The text of a scenario that explains every field and is itself a valid one."""
    return Path(__file__).with_name("starter.yaml").read_text(encoding="utf-8")


def write_starter(path: str | Path) -> None:
    """Write the starting scenario to a new file.

    Raises
    ------
    ScenarioError
        If something of that name is there already, its folder is missing, or it cannot be written. Nothing that
        was there before is touched.
    """

    def fail(what: str, mend: str, code: str) -> ScenarioError:
        return ScenarioError([Problem(str(path), 0, "", what, mend, code)])

    text = starter_text()
    try:
        # Mode x leaves no moment between looking and writing in which another file could appear.
        with Path(path).open("x", encoding="utf-8", newline="\n") as file:
            file.write(text)
    except FileExistsError:
        raise fail("exists already", "choose another name", "exists") from None
    except (FileNotFoundError, NotADirectoryError):
        raise fail("its folder does not exist", "make the folder first, or choose another", "no-folder") from None
    except OSError as error:
        reason = error.strerror or "unknown reason"
        raise fail(f"cannot be written ({reason})", "choose another place for it", "unwritable") from None
    except ValueError:
        raise fail("is no name that a file can have", "choose another name", "unwritable") from None

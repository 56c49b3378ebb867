"""What is wrong with a file, said so that its writer can mend it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches


@dataclass(frozen=True, order=True)
class Problem:
    """One fault: where it stands, what is wrong there, and how to mend it.

    ``code`` is a stable word for programs; people read the rest. ``line`` counts from 1; 0 means
    the fault belongs to no line (a file that is missing, say). ``picture`` may show below it which
    hours are meant.
    """

    file: str
    line: int
    field: str
    what: str
    mend: str
    code: str = "invalid"
    picture: str = ""

    def __str__(self) -> str:
        # Long names are cut by themselves, so that the end of the message is not.
        file = printable(self.file, 300)
        place = f"{file}:{self.line}" if self.line else file
        subject = f"{printable(self.field, 200)}: " if self.field else ""
        return printable(f"{place}: {subject}{self.what}; {self.mend}")


class ScenarioError(Exception):
    """All faults found in one pass over a scenario, in the order of its lines."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(sorted(set(problems)))
        super().__init__("\n".join(str(problem) for problem in self.problems))


def near(name: str, known: Iterable[str]) -> str:
    """Words that lead from a wrong name to the right one: the nearest known names, or all of them."""
    names = sorted(known)
    spelled = {n.lower(): n for n in names}
    # A name that is off by a letter leaves no doubt, so that a second one would only confuse.
    close = get_close_matches(name.lower(), spelled, n=1, cutoff=0.9) or get_close_matches(name.lower(), spelled, n=2)
    if close:
        return "did you mean " + " or ".join(f"'{spelled[n]}'" for n in close) + "?"
    if not names:
        return "remove it"
    return "known here: " + ", ".join(names)


def harmless(sign: str) -> bool:
    """Whether a sign neither steers a terminal, nor breaks a line, nor turns the direction of writing."""
    # The two joiners are invisible, yet many scripts and most emoji of people cannot be written without them.
    return sign.isprintable() or sign in "\N{ZERO WIDTH JOINER}\N{ZERO WIDTH NON-JOINER}"


def printable(text: str, longest: int = 1000) -> str:
    """Text from a file made fit for one line of a terminal: no control signs, no endless lines.

    Each sign that is not :func:`harmless` is replaced by ``\\N{REPLACEMENT CHARACTER}``.
    """
    kept = "".join(c if harmless(c) else "\N{REPLACEMENT CHARACTER}" for c in text)
    return kept if len(kept) <= longest else kept[: longest - 1] + "…"


def shown(value: object, longest: int = 40) -> str:
    """A value from the file as a short quotation for a message."""
    if isinstance(value, dict | list):
        return "a block of fields" if isinstance(value, dict) else "a list"
    if isinstance(value, bool):
        return "true" if value else "false"
    return f"'{printable(value, longest)}'" if isinstance(value, str) else printable(str(value), longest)

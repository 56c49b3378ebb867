"""The page on paper: what stands in the margins of a sheet, and a PDF made by a browser that is installed."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterable
from pathlib import Path

from finsolar.scenario.problems import Problem, ScenarioError, printable, shown

BROWSERS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome", "msedge",
            "microsoft-edge")  # fmt: skip
"""Programs that print a page by the same words; the first that is on the path is taken."""

PAPERS = {"A4": "210mm 297mm", "Letter": "8.5in 11in"}
_LETTER = frozenset({"BZ", "CA", "CL", "CO", "CR", "GT", "MX", "NI", "PA", "PH", "PR", "SV", "US", "VE"})
"""Countries that write on Letter: Unicode CLDR, supplemental measurement data, paper sizes; from memory."""

_PATIENCE = 120  # seconds; far more than it takes


class NotPrintedError(Exception):
    """Why there is no PDF, in words for the household."""


def margins(title: str) -> str:
    """The style rules that put a page's title above each sheet, and below it which sheet of how many it is."""
    return (
        f'@page {{ @top-left {{ content: "{_in_css(printable(title, 90))}" }}'
        ' @bottom-right { content: counter(page) " of " counter(pages) } }\n'
    )


def _in_css(text: str) -> str:
    """Text as a string of a style sheet may hold it: every sign but letters, digits and spaces by its number."""
    return "".join(sign if sign.isascii() and (sign.isalnum() or sign == " ") else f"\\{ord(sign):x} " for sign in text)


def paper_of(typed: str | None, countries: Iterable[str]) -> str:
    """The paper to print on: the one that was typed, else the one that is usual in the first of the countries."""
    if typed is None:
        return "Letter" if next(iter(countries), "") in _LETTER else "A4"
    for name in PAPERS:
        if typed.lower() == name.lower():
            return name
    raise ScenarioError([Problem("--paper", 0, "", f"is {shown(typed)}", "write A4 or Letter", "paper")])


def printed(page: str, paper: str) -> bytes:
    """A page as a PDF on ``paper``, made by a browser that is installed, without a network.

    Raises :class:`NotPrintedError` where none is, or where it fails.
    """
    program = next(filter(None, map(shutil.which, BROWSERS)), None)
    if program is None:
        raise NotPrintedError(f"no browser to print with is on the path ({', '.join(BROWSERS[:3])}, ...)")
    # A profile of its own: neither the household's tabs nor its add-ons have a say in the PDF.
    with tempfile.TemporaryDirectory(prefix="finsolar-pdf-", ignore_cleanup_errors=True) as folder:
        source, target = Path(folder) / "page.html", Path(folder) / "page.pdf"
        source.write_text(_for_paper(page, paper), encoding="utf-8")
        words = [
            program,
            "--headless",
            "--disable-gpu",
            "--no-first-run",
            "--no-default-browser-check",
            "--disable-extensions",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
            "--host-resolver-rules=MAP * ~NOTFOUND",  # the page asks for nothing; so may nothing else
            f"--user-data-dir={folder}/profile",
            "--no-pdf-header-footer",
            f"--print-to-pdf={target}",
        ]
        if getattr(os, "geteuid", lambda: 1)() == 0:
            # A browser refuses to run as root with its sandbox, and in a container there may be nobody else; what
            # it opens here is our own page, which may run our own scripts alone.
            words.append("--no-sandbox")
        try:
            run = subprocess.run(
                [*words, source.as_uri()], capture_output=True, stdin=subprocess.DEVNULL, timeout=_PATIENCE, check=False
            )
        except subprocess.TimeoutExpired:
            raise NotPrintedError(f"{program} had not printed it after {_PATIENCE} seconds") from None
        except OSError as error:
            raise NotPrintedError(f"{program} does not start ({error.strerror or 'unknown reason'})") from None
        if run.returncode or not target.is_file():
            raise NotPrintedError(f"{program} did not print it (exit code {run.returncode})")
        return target.read_bytes()


def _for_paper(page: str, paper: str) -> str:
    """A page that is to be printed at once: on that paper, its drawing script unpacked, which would take time there."""
    from finsolar.report.page import unpacked

    return unpacked(page).replace("</style>", f"@page {{ size: {PAPERS[paper]} }}\n</style>", 1)

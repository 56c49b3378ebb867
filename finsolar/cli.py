"""The command line. Nothing heavy is imported at the top, so that help comes at once."""

from __future__ import annotations

import shutil
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated

import typer

app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="Does it pay? Solar, batteries and backup for one house, from one readable scenario file.",
)

Replace = Annotated[bool, typer.Option("--replace", help="Also overwrite what was made from another scenario.")]
ScenarioFile = Annotated[Path, typer.Argument(metavar="FILE", help="A scenario file.", show_default=False)]


@app.command()
def report(
    files: Annotated[
        list[Path], typer.Argument(metavar="FILE", help="A scenario file, or several.", show_default=False)
    ],
    out: Annotated[
        Path | None,
        typer.Option(metavar="PAGE", help="Where the page goes; reports/<scenario>.html if not said."),
    ] = None,
    json_out: Annotated[
        Path | None, typer.Option("--json", metavar="OUT", help="Write the whole study as JSON too.")
    ] = None,
    csv_out: Annotated[
        Path | None,
        typer.Option("--csv", metavar="OUT", help="Write the whole study as CSV too, one number a row."),
    ] = None,
    xlsx_out: Annotated[
        Path | None,
        typer.Option("--xlsx", metavar="OUT", help="Write a workbook too, its cash flow and figures as formulas."),
    ] = None,
    pdf_out: Annotated[
        Path | None, typer.Option("--pdf", metavar="OUT", help="Print the page as PDF too, by an installed browser.")
    ] = None,
    paper: Annotated[
        str | None,
        typer.Option(metavar="SIZE", help="Paper of the PDF, A4 or Letter; what is usual in the country if not said."),
    ] = None,
    bound: Annotated[
        bool, typer.Option("--bound", help="Also say what share of the best possible saving each operation reaches.")
    ] = False,
    draws: Annotated[
        str | None,
        typer.Option(metavar="N", help="Cases to draw of the ranges, instead of study.draws; a power of two."),
    ] = None,
    seed: Annotated[
        str | None,
        typer.Option(metavar="N", help="Seed of the draws, instead of study.seed; the same seed draws the same."),
    ] = None,
    reader: Annotated[
        str | None,
        typer.Option("--for", metavar="READER", help="Whom the page is for, household or lender; both if not said."),
    ] = None,
    replace: Replace = False,
    show: Annotated[bool, typer.Option("--open", help="Open the page in the browser once it is written.")] = False,
) -> None:
    """Study a scenario, or several side by side: write the pages and print a short table."""
    with _plain_errors(), _progress() as say:
        say("reading the scenario")
        from finsolar.report.command import Asked
        from finsolar.report.readers import reader_of
        from finsolar.report.run import Places, run

        places = Places(out, json_out, csv_out, xlsx_out, pdf_out, paper, replace)
        wanted = (json_out is not None, csv_out is not None, xlsx_out is not None)
        asked = Asked(draws, seed, bound, *wanted, reader=reader_of(reader))
        done = run(files, places, asked, say, shutil.get_terminal_size((120, 24)).columns)
    for line in done.lines:
        typer.echo(line)
    for path in done.written:
        typer.echo(f"written: {path}")
    typer.echo("Law changes; a tax adviser decides on incentives. Cautions on wiring, roofs and loans: in the page.")
    if show:
        _open(done.page)
    if done.unprinted is not None:
        typer.echo(f"{pdf_out}: not written: {done.unprinted}; open {done.page} and print it from there", err=True)
        raise typer.Exit(1)


@app.command()
def vary(
    file: ScenarioFile,
    moved: Annotated[
        str,
        typer.Argument(
            metavar="INPUT",
            help="A number by its path (tariff.rise, costs.Battery.cost), or: purchase price, price of energy, "
            "sun hours.",
            show_default=False,
        ),
    ],
    low: Annotated[str, typer.Option("--from", metavar="A", help="Where it begins, as in the file: 3% or 0.03.")],
    high: Annotated[str, typer.Option("--to", metavar="B", help="Where it ends.")],
    steps: Annotated[int, typer.Option(metavar="N", help="How many values, both ends included.")] = 9,
    against: Annotated[str | None, typer.Option(metavar="INPUT2", help="A second number, for a map over both.")] = None,
    low2: Annotated[str | None, typer.Option("--from2", metavar="A", help="Where the second begins.")] = None,
    high2: Annotated[str | None, typer.Option("--to2", metavar="B", help="Where the second ends.")] = None,
    of: Annotated[
        str | None, typer.Option(metavar="NAME", help="The alternative of a map; the best one if not said.")
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option(metavar="PAGE", help="Where the page goes; reports/<scenario>-varied.html if not said."),
    ] = None,
    json_out: Annotated[Path | None, typer.Option("--json", metavar="OUT", help="Write all of it as JSON too.")] = None,
    csv_out: Annotated[
        Path | None, typer.Option("--csv", metavar="OUT", help="Write all of it as CSV too, one number a row.")
    ] = None,
    replace: Replace = False,
) -> None:
    """Move one number of a scenario, or two: what becomes of the answer."""
    with _plain_errors(), _progress() as say:
        say("reading the scenario")
        from finsolar.report.files import refuse_clashes, write_all
        from finsolar.report.vary_choice import Choice, chosen_alternative, chosen_axes
        from finsolar.report.whose import Target, mark_of, marked, refuse_others
        from finsolar.scenario.named_files import named_files
        from finsolar.scenario.reading import read

        choice = Choice(moved, low, high, steps, against, low2, high2, of)
        scenario = read(file)
        chosen_alternative(scenario, choice)
        target = out or Path("reports") / f"{file.stem}-varied.html"
        mark = mark_of(file)
        places = ((target, "--out"), (json_out, "--json"), (csv_out, "--csv"))
        targets = [Target(path, option, mark) for path, option in places if path is not None]
        refuse_clashes([each.path for each in targets], {file: named_files(scenario)})
        if not replace:
            refuse_others(targets)
        say("running every hour of every year")
        from finsolar.report.command import as_json
        from finsolar.report.varied import as_csv, terminal, varied_as_plain
        from finsolar.report.varied_page import varied_page
        from finsolar.study import study
        from finsolar.uncertainty.vary import vary as every_value

        base = study(scenario)
        axes = chosen_axes(base, choice)
        say("studying one value after another")
        plain = marked(varied_as_plain(every_value(base, axes, say.share)), mark)
        say("writing the page")
        texts: dict[Path, str | bytes] = {target: varied_page(plain, of)}
        if json_out is not None:
            texts[json_out] = as_json(plain)
        if csv_out is not None:
            texts[csv_out] = as_csv(plain)
        write_all(texts)
    for line in terminal(plain, shutil.get_terminal_size((120, 24)).columns, of):
        typer.echo(line)
    for path in texts:
        typer.echo(f"written: {path}")


@app.command()
def check(file: ScenarioFile) -> None:
    """Check a scenario and list what it leaves to assumption."""
    with _plain_errors():
        import datetime as dt

        from finsolar.report.words.checked import checked
        from finsolar.scenario.reading import read

        text = checked(read(file), shutil.get_terminal_size((100, 24)).columns, today=dt.date.today())
    typer.echo(text)


@app.command()
def new(file: ScenarioFile) -> None:
    """Write a commented scenario to start from."""
    with _plain_errors():
        from finsolar.scenario.starter import write_starter

        write_starter(file)
    typer.echo(f"written: {file}")
    typer.echo(f"Change it to your house, then: finsolar check {file}; finsolar report {file}")


@app.command()
def incentives(
    rule: Annotated[
        str | None,
        typer.Argument(metavar="RULE", help="A rule to explain: its id, or a rule file.", show_default=False),
    ] = None,
    country: Annotated[
        str | None, typer.Option(metavar="CODE", help="Only the rules of this country, such as US.")
    ] = None,
    region: Annotated[
        str | None, typer.Option(metavar="CODE", help="With --country: the rules of this region too, such as NY.")
    ] = None,
    day: Annotated[
        str | None, typer.Option("--date", metavar="DAY", help="What the rules say on this day; today if not said.")
    ] = None,
    rules: Annotated[
        Path | None,
        typer.Option(metavar="PATH", help="Rules of your own instead: a rule file, or a folder of them."),
    ] = None,
) -> None:
    """List the incentive rules, or explain one."""
    import datetime as dt

    from finsolar.incentives.rulebook import RuleError
    from finsolar.report import rule_choice
    from finsolar.report.words.rules import explained, listing
    from finsolar.scenario.problems import printable

    today = dt.date.today()
    width = shutil.get_terminal_size((120, 24)).columns
    try:
        when = today if day is None else rule_choice.day_of(day)
        if rule is None:
            text = listing(rule_choice.chosen(country, region, rules), when, width)
        else:
            text = explained(rule_choice.one(rule, rules), when, today, width)
    except OSError as error:
        typer.echo(
            f"{printable(str(error.filename), 300)}: cannot be read; name a rule file, or a folder of them", err=True
        )
        raise typer.Exit(2) from None
    except (RuleError, LookupError, ValueError) as error:
        typer.echo(str(error.args[0] if isinstance(error, LookupError) else error), err=True)
        raise typer.Exit(2) from None
    typer.echo(text)


def _open(page: Path) -> None:
    """Show a page in the household's browser, or say where it lies."""
    import webbrowser

    try:
        opened = webbrowser.open(page.resolve().as_uri())
    except webbrowser.Error:
        opened = False
    if not opened:
        typer.echo(f"no browser was found to open it; open this file in one: {page.resolve()}")


@contextmanager
def _plain_errors() -> Iterator[None]:
    """Print what is wrong with a file, one fault a line, and leave with exit code 2; with 130 where it is stopped."""
    from finsolar.scenario.problems import ScenarioError

    try:
        yield
    except ScenarioError as error:
        for problem in error.problems:
            typer.echo(str(problem), err=True)
            if problem.picture:
                typer.echo(problem.picture, err=True)
        raise typer.Exit(2) from None
    except KeyboardInterrupt:
        typer.echo("stopped; no file is left half-written", err=True)
        raise typer.Exit(130) from None


@contextmanager
def _progress() -> Iterator[Progress]:
    """Say on a terminal what is being done; say nothing into a pipe."""
    progress = Progress(sys.stderr.isatty())
    try:
        yield progress
    finally:
        progress.clear()


class Progress:
    """One line on the terminal that tells what is being done, and goes away."""

    def __init__(self, wanted: bool) -> None:
        self.wanted = wanted
        self.doing, self.since = "", time.monotonic()

    def __call__(self, doing: str) -> None:
        """Show what is being done now."""
        self.doing, self.since = doing, time.monotonic()
        self._show(f"{doing} ...")

    def share(self, done: int, of: int) -> None:
        """Show how far that has come, once it has taken a second."""
        if time.monotonic() - self.since >= 1:
            bar = "#" * (20 * done // of)
            self._show(f"{self.doing} [{bar:.<20}] {done:,} of {of:,}")

    def _show(self, text: str) -> None:
        if self.wanted:
            sys.stderr.write(f"\r\033[K{text}")
            sys.stderr.flush()

    def clear(self) -> None:
        """Take the line away."""
        if self.wanted:
            sys.stderr.write("\r\033[K")
            sys.stderr.flush()


def main() -> None:
    """Run the command line."""
    app()


if __name__ == "__main__":
    main()

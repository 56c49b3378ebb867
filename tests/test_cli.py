"""The command line as a user types it."""

from __future__ import annotations

import contextlib
import csv
import io
import json
import os
import pty
import signal
import subprocess
import sys
from pathlib import Path
from typing import Any

import meter_samples
import pytest
from conftest import ROOT, SCENARIOS, plain_study
from small_house import Tree, house_text
from typer.testing import CliRunner, Result

from finsolar.cli import app
from finsolar.results import Study

JUNIPER = ROOT / "scenarios" / "juniper-lane.yaml"


def finsolar(*words: object, cwd: Path | None = None) -> Result:
    """Run the command from a folder, its output kept; a report with few draws where it states none."""
    few = ["--draws", 64] if words[:1] == ("report",) and len(words) > 1 and "--draws" not in words else []
    with contextlib.chdir(cwd or "."):
        run = CliRunner().invoke(app, [str(word) for word in [*words, *few]], env={"COLUMNS": "120"})
    if not isinstance(run.exception, SystemExit | None):
        raise run.exception  # a fault of ours, which nobody should see as a traceback
    return run


def in_its_own_process(*words: object, cwd: Path) -> subprocess.CompletedProcess[str]:
    """Run ``python`` with some words in an interpreter of its own, into pipes."""
    command = [sys.executable, *map(str, words)]
    env = {**os.environ, "COLUMNS": "120"}
    return subprocess.run(command, capture_output=True, text=True, cwd=cwd, env=env, check=False)


COMMANDS: dict[str, tuple[str, list[str]]] = {
    "report": (
        "Study a scenario, or several side by side",
        ["FILE...", "--out", "--json", "--csv", "--xlsx", "--pdf", "--paper", "--bound", "--draws", "--seed",
         "--replace", "--open"],
    ),
    "vary": (
        "Move one number of a scenario, or two",
        ["FILE", "INPUT", "--from", "--to", "--steps", "--against", "--from2", "--to2", "--of", "--out", "--json",
         "--csv", "--replace"],
    ),
    "check": ("Check a scenario", ["FILE"]),
    "new": ("Write a commented scenario", ["FILE"]),
    "incentives": ("List the incentive rules", ["[RULE]", "--country", "--region", "--date", "--rules"]),
}  # fmt: skip
"""What each command is for, and the words it takes."""


def test_help_names_every_command_and_what_it_is_for() -> None:
    """A command that is not told here, or told and not there, fails."""
    text = finsolar("--help").stdout

    assert text.startswith("Usage: ") and "Does it pay?" in text
    commands = text.partition("Commands:\n")[2].splitlines()
    named = {line.split()[0]: line for line in commands if line.startswith("  ") and line[2] != " "}
    assert set(named) == set(COMMANDS)
    for name, (purpose, _) in COMMANDS.items():
        assert purpose in named[name]


@pytest.mark.parametrize("command", COMMANDS)
def test_help_of_a_command_names_all_it_takes(command: str) -> None:
    """Lazy imports hide faults, so each help is asked for."""
    purpose, words = COMMANDS[command]

    run = finsolar(command, "--help")

    assert run.exit_code == 0
    usage, _, rest = run.stdout.partition("\n")
    files = [word.replace("{", "").replace("}", "") for word in usage.split()[3:]]
    assert files == ["[OPTIONS]", *(word for word in words if not word.startswith("--"))]
    assert purpose in rest
    told = {line.split()[0]: line for line in rest.partition("Options:\n")[2].splitlines() if line.startswith("  --")}
    assert set(told) >= {word for word in [*words, "--help"] if word.startswith("--")}
    assert all(len(line.split()) > 3 for line in told.values())  # what it takes, and what for


def test_without_a_word_the_help_is_shown() -> None:
    assert finsolar().output.startswith("Usage: ")


def test_the_package_itself_is_the_command(tmp_path: Path) -> None:
    """``python -m finsolar`` does what ``finsolar`` does."""
    run = in_its_own_process("-m", "finsolar", "new", "mine.yaml", cwd=tmp_path)

    assert (run.returncode, run.stderr) == (0, "")
    assert run.stdout.startswith("written: mine.yaml")
    assert (tmp_path / "mine.yaml").is_file()


def test_a_report_in_a_process_of_its_own_writes_its_page_and_says_nothing_of_its_progress(tmp_path: Path) -> None:
    """Into pipes: the table on standard output, nothing on the other."""
    (tmp_path / "house.yaml").write_text(house_text({"study": {"years": 2}}))

    run = in_its_own_process("-m", "finsolar.cli", "report", "house.yaml", cwd=tmp_path)

    assert (run.returncode, run.stderr) == (0, "")
    assert "payback" in run.stdout and "written: reports/house.html" in run.stdout
    assert (tmp_path / "reports" / "house.html").read_text().startswith("<!doctype html>")


def test_help_starts_without_the_slow_libraries() -> None:
    """A fresh interpreter that prints the help has loaded none of them."""
    code = (
        "import sys\n"
        "from finsolar.cli import app\n"
        "try:\n    app(['--help'])\nexcept SystemExit:\n    pass\n"
        "slow = {'pandas', 'plotly', 'scipy', 'pvlib', 'numpy', 'pydantic', 'jinja2', 'ruamel.yaml', 'rich'}\n"
        "print('loaded:', sorted(slow & set(sys.modules)))\n"
    )

    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert run.stdout.rstrip().endswith("loaded: []")


WORKED_OUT_BY_THE_COMMAND = {"juniper-lane", "kelp-point"}
"""A house on the grid with a loan, and one without a grid; of the others only the study itself is worked out anew."""


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_report_shows_the_same_figures_on_page_and_terminal_in_json_and_csv(
    path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One study, four views: NPV and net cost are the same in each, rounded only where people read.

    By default the page lands in reports/ under the scenario's name.
    """
    if path.stem not in WORKED_OUT_BY_THE_COMMAND:
        known = plain_study(path)
        monkeypatch.setattr(Study, "to_json", lambda _: known)
        for step in ("sureness.with_simulation", "what_matters.with_what_matters", "sunlight.with_sun_spread",
                     "break_even.with_break_even", "rises.with_rise_sweep",
                     "other_numbers.with_other_numbers"):  # fmt: skip
            monkeypatch.setattr(f"finsolar.uncertainty.{step}", lambda study, *_: study)

    run = finsolar("report", path, "--json", "out.json", "--csv", "out.csv", cwd=tmp_path)

    assert (run.exit_code, run.stderr) == (0, "")
    for figure in ("gross cost", "awards", "net cost", "saving, year 1", "payback", "discounted", "NPV", "IRR"):
        assert figure in run.stdout
    study = json.loads((tmp_path / "out.json").read_text())
    rows = list(csv.DictReader(io.StringIO((tmp_path / "out.csv").read_text())))
    page = (tmp_path / "reports" / f"{path.stem}.html").read_text().replace("\N{WORD JOINER}", "")
    assert page.startswith("<!doctype html>")
    for plan in study["alternatives"]:
        npv, net = plan["metrics"]["npv"], plan["costs"]["net"]
        in_csv = {
            (r["part"], r["item"]): r["value"] for r in rows if r["alternative"] == plan["name"] and not r["year"]
        }
        assert float(in_csv["metric", "npv"]) == npv
        assert float(in_csv["cost", "net"]) == net
        for amount in (npv, net):
            shown = f"{'−' if amount < 0 else ''}${abs(amount):,.0f}"
            assert shown in run.stdout
            assert shown in page


def test_a_narrow_terminal_gets_a_column_for_each_alternative(juniper: dict[str, object]) -> None:
    """The table turns round rather than wrap."""
    from finsolar.report.table import summary

    wide, narrow = summary(juniper, 200), summary(juniper, 60)

    assert len(wide.splitlines()) == 1 + 3
    assert len(narrow.splitlines()) == 1 + 8
    assert sorted(wide.split()) == sorted(narrow.split())


def test_a_fault_is_one_line_with_exit_code_two_and_leaves_the_old_page(tmp_path: Path) -> None:
    """Nothing is overwritten when the scenario does not read."""
    (tmp_path / "reports").mkdir()
    old = tmp_path / "reports" / "house.html"
    old.write_text("old")
    (tmp_path / "house.yaml").write_text(JUNIPER.read_text().replace("discount_rate: 5%", "discount_rate: 5"))

    run = finsolar("report", "house.yaml", cwd=tmp_path)

    assert (run.exit_code, run.stdout) == (2, "")
    assert run.stderr == "house.yaml:13: study.discount_rate: is 5; a rate is meant; write 5% or 0.05\n"
    assert old.read_text() == "old"


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    """No traceback, and the way to start one."""
    run = finsolar("check", "nothing.yaml", cwd=tmp_path)

    assert run.exit_code == 2
    assert run.stderr.startswith("nothing.yaml: no such file;")
    assert "Traceback" not in run.stderr


def test_a_place_that_cannot_be_written_is_named_and_nothing_is_left_behind(tmp_path: Path) -> None:
    """The page's name is a folder: exit 2, and no part of a file beside it."""
    (tmp_path / "taken.html").mkdir()
    (tmp_path / "house.yaml").write_text(house_text({"study": {"years": 2}}))

    run = finsolar("report", "house.yaml", "--out", "taken.html", cwd=tmp_path)

    assert run.exit_code == 2
    assert run.stderr.startswith("taken.html: cannot be written")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["house.yaml", "taken.html"]


@pytest.mark.parametrize(
    "words", [["--out", "house.yaml"], ["--json", "x", "--csv", "x"], ["--out", "a.html", "--json", "./a.html"]]
)
def test_no_result_overwrites_the_scenario_or_another_result(words: list[str], tmp_path: Path) -> None:
    """A slip in the names costs no file."""
    (tmp_path / "house.yaml").write_text(JUNIPER.read_text())

    run = finsolar("report", "house.yaml", *words, cwd=tmp_path)

    assert run.exit_code == 2
    assert "would overwrite" in run.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["house.yaml"]
    assert (tmp_path / "house.yaml").read_text() == JUNIPER.read_text()


INPUTS: Tree = {
    "household": {"load": {"monthly_kwh": None, "shape": None, "file": "data/meter.csv"}},
    "weather": {"file": "data/sun.epw"},
    "tariff": {"later": [{"from_year": 3, "hourly_prices": {"file": "data/prices.csv"}}]},
    "alternatives": [{"name": "Roof"}, {"name": "Record", "system": {"production": "data/roof.csv"}}],
}


@pytest.mark.parametrize("option", ["--out", "--json", "--csv"])
@pytest.mark.parametrize(
    ("name", "field"),
    [
        ("meter.csv", "household.load.file"),
        ("sun.epw", "weather.file"),
        ("prices.csv", "tariff.later[1].hourly_prices.file"),
        ("roof.csv", "alternatives[2].system.production"),
    ],
)
def test_no_result_overwrites_a_file_the_scenario_names(option: str, name: str, field: str, tmp_path: Path) -> None:
    """Refused before anything is run, by whatever way the file is reached; every file stays as it was."""
    home = tmp_path / "home"
    (home / "data").mkdir(parents=True)
    (home / "house.yaml").write_text(house_text(INPUTS))
    held = home / "data" / name
    held.write_text("kept")
    (tmp_path / "link.txt").symlink_to(held)
    (tmp_path / "hard.txt").hardlink_to(held)

    for target in (f"home/data/{name}", f"home/../home/data/{name}", "link.txt", "hard.txt", held):
        run = CliRunner().invoke(app, ["report", str(home / "house.yaml"), option, str(tmp_path / target)])

        assert run.exit_code == 2, target
        assert f"would overwrite the file of {field}; choose another place for it" in run.output
    assert held.read_text() == "kept"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["hard.txt", "home", "link.txt"]
    assert not Path("reports/house.html").exists()


def test_new_writes_a_scenario_that_passes_check_and_report(tmp_path: Path) -> None:
    """The starter is a scenario that works."""
    made = finsolar("new", "mine.yaml", cwd=tmp_path)
    checked = finsolar("check", "mine.yaml", cwd=tmp_path)
    reported = finsolar("report", "mine.yaml", cwd=tmp_path)
    again = finsolar("new", "mine.yaml", cwd=tmp_path)

    assert (made.exit_code, checked.exit_code, reported.exit_code) == (0, 0, 0), reported.stderr
    assert "reads well" in checked.stdout
    assert again.exit_code == 2
    assert "mine.yaml" in again.stderr


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_check_tells_each_demo_household(path: Path, tmp_path: Path) -> None:
    """From any folder: the files a scenario names are found beside it."""
    run = finsolar("check", path, cwd=tmp_path)

    assert (run.exit_code, run.stderr) == (0, "")
    assert "reads well" in run.stdout and "Left out of the file, so assumed:" in run.stdout
    assert "  alternatives  " in run.stdout and "\n  sun           " in run.stdout
    assert max(map(len, run.stdout.splitlines())) <= 120


def test_check_lists_what_was_assumed_and_why() -> None:
    """Every default that the scenario relies on stands there with its reason."""
    run = finsolar("check", JUNIPER)

    assert run.exit_code == 0
    assert "system.battery.round_trip" in run.stdout
    assert "median of nearly 2000 measured rates" in run.stdout
    assert "system.battery.reserve" not in run.stdout  # stated in the file


METERED: Tree = {"household": {"load": {"monthly_kwh": None, "shape": None, "file": "meter.csv"}}}
GREEN_BUTTON: Tree = {"household": {"load": {"monthly_kwh": None, "shape": None, "file": "feed.xml"}}}
PRODUCED: Tree = {"system": {"arrays": None, "production": "production.csv"}}
WEATHER: Tree = {"weather": {"file": "sun.epw"}}


def files_of_a_house(folder: Path) -> None:
    """A made-up meter with five hours missing, the same as a feed with export, and a record of production."""
    lines = meter_samples.year_lines()
    meter_samples.write_csv(folder / "meter.csv", [*lines[:4000], *lines[4005:]])
    starts = meter_samples.starts_of(meter_samples.NEW_YORK, "2018-01-01", "2019-01-01")
    exported = [
        meter_samples.kind(2, flowDirection=19),
        meter_samples.meter(2, 2),
        meter_samples.block(2, [meter_samples.reading(s, 3600, 100) for s in starts], starts[0]),
    ]
    (folder / "feed.xml").write_text(meter_samples.year_feed(starts, [500] * len(starts), *exported))
    hours = ["kWh", *("0.5" if 8 <= hour % 24 < 16 else "0" for hour in range(8760))]
    (folder / "production.csv").write_text("\n".join(hours) + "\n")


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        (METERED, ["from meter.csv", "gaps: 5 hours filled", "clock changes: 2018-03-11 has 23 hours"]),
        (GREEN_BUTTON, ["from feed.xml", "use: 4,380 kWh a year, 12.0 a day", "fed in: 876 kWh"]),
        (PRODUCED, ["1,460 kWh in the first year, from production.csv"]),
    ],
    ids=["meter with gaps", "Green Button", "own production"],
)
def test_check_and_report_read_the_files_of_a_house(changes: Tree, words: list[str], tmp_path: Path) -> None:
    """Named in the scenario beside them, whatever folder the command runs in."""
    home = tmp_path / "home"
    home.mkdir()
    files_of_a_house(home)
    (home / "house.yaml").write_text(house_text({"study": {"years": 2}, **changes}))
    checked = finsolar("check", "home/house.yaml", cwd=tmp_path)
    reported = finsolar("report", "home/house.yaml", "--out", "page.html", cwd=tmp_path)

    assert (checked.exit_code, checked.stderr) == (0, "")
    for told in words:
        assert told in checked.stdout
    assert (reported.exit_code, reported.stderr) == (0, "")


@pytest.mark.parametrize(
    ("changes", "spoil", "line", "words"),
    [
        (METERED, ("meter.csv", None), "house.yaml:{file}: household.load.file: names meter.csv, and there is no such",
         "the scenario's own folder"),
        (METERED, ("meter.csv", "Timestamp,Usage (kWh)\n2018-01-01 00:00,lots\n"), "meter.csv:2: ", "'lots'"),
        (METERED, ("meter.csv", ""), "meter.csv: ", ""),
        (METERED, ("meter.csv", "\x00\x01\x02" * 99), "meter.csv", ""),
        (METERED, ("meter.csv", "Timestamp,Usage (kWh)\n2018-01-01 00:00,1\n2018-01-01 01:00,1\n"), "meter.csv: ",
         "less than a year"),
        (GREEN_BUTTON, ("feed.xml", None), "house.yaml:{file}: household.load.file: names feed.xml", "no such file"),
        (GREEN_BUTTON, ("feed.xml", "<feed><entry>"), "feed.xml", ""),
        (GREEN_BUTTON, ("feed.xml", "no markup at all"), "feed.xml", ""),
        (PRODUCED, ("production.csv", None), "house.yaml:{production}: system.production: names production.csv",
         "no such file"),
        (PRODUCED, ("production.csv", "kWh\n1\n2\n"), "production.csv", ""),
        (WEATHER, ("sun.epw", None), "house.yaml:{file}: weather.file: names sun.epw", "no such file"),
        (WEATHER, ("sun.epw", "LOCATION,nowhere\n"), "sun.epw", ""),
    ],
    ids=["no meter file", "no number", "empty meter", "binary meter", "short meter", "no feed", "cut feed",
         "no markup", "no production", "short production", "no weather file", "broken weather"],
)  # fmt: skip
@pytest.mark.parametrize("command", ["check", "report"])
def test_a_file_that_cannot_be_used_is_one_clear_line(
    command: str,
    changes: Tree,
    spoil: tuple[str, str | None],
    line: str,
    words: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """On standard error, with exit code 2, nothing on standard output and no page."""
    files_of_a_house(tmp_path)
    name, content = spoil
    (tmp_path / name).unlink(missing_ok=True)
    if content is not None:
        (tmp_path / name).write_text(content)
    text = house_text(changes)
    (tmp_path / "house.yaml").write_text(text)
    places = {
        field: next((i for i, row in enumerate(text.splitlines(), 1) if f'"{field}"' in row), 0)
        for field in ("file", "production")
    }
    monkeypatch.chdir(tmp_path)

    run = CliRunner().invoke(app, [command, "house.yaml"])

    assert (run.exit_code, run.stdout) == (2, "")
    assert isinstance(run.exception, SystemExit)  # no fault of ours
    assert run.stderr.count("\n") == 1 and run.stderr.removesuffix("\n").isprintable()
    assert run.stderr.startswith(line.format(**places)), run.stderr
    assert words in run.stderr and "; " in run.stderr
    assert not (tmp_path / "reports").exists()


HOLIDAYS: Tree = {"holidays": {"names": ["Labor Day"]}}


@pytest.mark.parametrize("command", ["check", "report"])
@pytest.mark.parametrize(
    ("changes", "field", "said"),
    [
        ({"tariff": {"holidays": {"names": ["Labor Day", "Labour Day"]}}}, '"Labour Day"',
         "tariff.holidays.names[2]: is 'Labour Day', no public holiday there; did you mean 'Labor Day'?"),
        ({"tariff": {"holidays": {"names": ["Feast of the Well"]}}}, '"Feast of the Well"',
         "tariff.holidays.names[1]: is 'Feast of the Well', no public holiday there; known here: Christmas Day, "),
        ({"place": {"region": "QX"}, "tariff": HOLIDAYS}, '"region"',
         "place.region: is 'QX', whose public holidays are not known; write another code, or remove holidays"),
        ({"place": {"country": "ZZ", "region": None}, "tariff": HOLIDAYS}, '"country"',
         "place.country: is 'ZZ', whose public holidays are not known; write another code, or remove holidays"),
        ({"alternatives": [{"name": "Roof"}, {"name": "Own", "tariff": {"holidays": {"names": ["Yule"]}}}]}, '"Yule"',
         "alternatives[2].tariff.holidays.names[1]: is 'Yule', no public holiday there; "),
        ({"tariff": {"later": [{"from_year": 3, "holidays": {"names": ["Yule"]}}]}}, '"Yule"',
         "tariff.later[1].holidays.names[1]: is 'Yule', no public holiday there; "),
    ],
    ids=["misspelt", "unknown", "region", "country", "in an alternative", "in a later tariff"],
)  # fmt: skip
def test_a_holiday_that_nobody_knows_is_one_clear_line(
    command: str, changes: Tree, field: str, said: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """At the line where it stands, once though alternatives inherit it, with exit code 2 and no page."""
    text = house_text(changes)
    (tmp_path / "house.yaml").write_text(text)
    (line,) = (i for i, row in enumerate(text.splitlines(), 1) if field in row)
    monkeypatch.chdir(tmp_path)

    run = CliRunner().invoke(app, [command, "house.yaml"])

    assert isinstance(run.exception, SystemExit)  # no fault of ours
    assert (run.exit_code, run.stdout) == (2, "")
    assert run.stderr.startswith(f"house.yaml:{line}: {said}"), run.stderr
    assert "observed" not in run.stderr
    assert run.stderr.count("\n") == 1 and run.stderr.removesuffix("\n").isprintable()
    assert not (tmp_path / "reports").exists()


def test_a_place_whose_holidays_nobody_knows_is_fine_where_no_tariff_asks() -> None:
    """Most tariffs price a holiday like any other day."""
    from finsolar.scenario.reading import from_text
    from finsolar.tariff.hours import refuse_unknown_holidays

    refuse_unknown_holidays(from_text(house_text({"place": {"country": "ZZ", "region": "QX"}})))


@pytest.mark.parametrize(
    ("periods", "sign", "month", "row"),
    [
        ([{"name": "peak", "price": 0.3, "months": "jun-aug", "days": "mon-fri", "hours": "15-19"},
          {"name": "late", "price": 0.2, "months": "jul-dec", "hours": "18-22"}, {"name": "rest", "price": 0.1}],
         "2", "jul", "..................2....."),
        ([{"name": "peak", "price": 0.3, "days": "mon-fri"},
          {"name": "off", "price": 0.1, "days": "sat-sun", "hours": "0-20"},
          {"name": "late", "price": 0.1, "months": "jan-apr", "days": "sat-sun", "hours": "20-24"}],
         "?", "may", "....................????"),
    ],
    ids=["overlap", "gap"],
)  # fmt: skip
@pytest.mark.parametrize("command", ["check", "report"])
def test_hours_priced_twice_or_never_are_shown_in_a_little_week(
    command: str, periods: list[Tree], sign: str, month: str, row: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Below the message, on standard error: the first month that is wrong, with each wrong hour marked."""
    (tmp_path / "house.yaml").write_text(house_text({"tariff": {"energy": periods}}))
    monkeypatch.chdir(tmp_path)

    run = CliRunner().invoke(app, [command, "house.yaml"])

    message, head, *week = run.stderr.splitlines()
    assert (run.exit_code, run.stdout) == (2, "")
    assert message.startswith("house.yaml:") and "tariff.energy: " in message and "; " in message
    assert head == f"  {month}  0     6     12    18"
    assert [line[:7] for line in week] == [f"  {day}  " for day in ("mon", "tue", "wed", "thu", "fri", "sat", "sun")]
    weekend = sign == "?"
    assert [line[7:] for line in week] == ["." * 24 if weekend else row] * 5 + [row if weekend else "." * 24] * 2


def test_check_and_report_tell_of_the_bill_in_the_drawer(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The bills hold 0.03 a kWh that the tariff does not; each is listed, and what is missing is named."""
    used = [(1, 31, 820), (2, 28, 700), (3, 31, 655), (4, 30, 610)]
    bills = [
        {"first_day": f"2025-{month:02d}-01", "last_day": f"2025-{month:02d}-{days}", "kwh": kwh,
         "amount": round(9 + 0.15 * kwh, 2)} for month, days, kwh in used
    ]  # fmt: skip
    changes: Tree = {"study": {"years": 2}, "tariff": {"monthly_charge": 9, "energy": 0.12}}
    (tmp_path / "house.yaml").write_text(house_text({**changes, "household": {"past_bills": bills}}))
    monkeypatch.chdir(tmp_path)

    checked = CliRunner().invoke(app, ["check", "house.yaml"], env={"COLUMNS": "100"})
    reported = CliRunner().invoke(app, ["report", "house.yaml", "--out", "p.html"])

    assert (checked.exit_code, reported.exit_code) == (0, 0)
    text = " ".join(checked.stdout.replace("\N{WORD JOINER}", "").split())
    assert "The bill in the drawer: bill days kWh billed computed difference" in text
    assert "2025-02-01 to 2025-02-28 28 700 $114.00 $93.00 −$21.00 −18.4 %" in text
    assert "a rider of about $0.0300 a kWh would explain it." in text
    page = (tmp_path / "p.html").read_text()
    assert "a rider of about $0.0300 a kWh would explain it." in page and "The bill in the drawer" in page


def test_the_bound_is_told_where_it_is_asked_for(tmp_path: Path) -> None:
    """In the terminal, on the page, in JSON and CSV, under the name of perfect foresight (P-09)."""
    plans = [
        {"name": "Roof"},
        {"name": "Bare", "system": {"battery": "none"}},
        {"name": "Metered", "tariff": {"energy": 0.2, "export": {"scheme": "net metering"}, "rise": "1%"}},
        {"name": "Far", "system": {"operation": "off grid"}},
    ]
    (tmp_path / "house.yaml").write_text(house_text({"study": {"years": 2}, "alternatives": plans}))
    outputs = ["--out", "p.html", "--json", "o.json", "--csv", "o.csv"]

    run = finsolar("report", "house.yaml", "--bound", *outputs, cwd=tmp_path)

    assert (run.exit_code, run.stderr) == (0, "")
    lines = [line for line in run.stdout.splitlines() if line.startswith("Against perfect foresight: ")]
    page = (tmp_path / "p.html").read_text()
    found = {plan["name"]: plan["bound"] for plan in json.loads((tmp_path / "o.json").read_text())["alternatives"]}
    assert len(lines) == 4
    assert f"“Roof” reaches {found['Roof']['share'] * 100:.0f} % of the best possible saving" in lines[0]
    for name, why in (("Bare", "no battery"), ("Metered", "bank of kWh"), ("Far", "on the grid")):
        assert why in found[name]["why_not"]
        assert any(f"“{name}”: no bound, since {found[name]['why_not']}." in line for line in lines)
    assert "Against perfect foresight" in page
    for line in lines:
        assert f"<li>{line.removeprefix('Against perfect foresight: ')}</li>" in page
    rows = list(csv.DictReader(io.StringIO((tmp_path / "o.csv").read_text())))
    shares = [row["value"] for row in rows if (row["part"], row["item"]) == ("bound", "share")]
    assert shares == [str(found["Roof"]["share"]), "", "", ""]

    plain = finsolar("report", "house.yaml", *outputs, cwd=tmp_path)

    assert plain.exit_code == 0
    assert "perfect foresight" not in plain.stdout + (tmp_path / "p.html").read_text()
    assert "bound" not in {row["part"] for row in csv.DictReader(io.StringIO((tmp_path / "o.csv").read_text()))}


def test_progress_shows_on_a_terminal(tmp_path: Path) -> None:
    """Standard error is a terminal here: the run says what it does, and wipes it away."""
    (tmp_path / "house.yaml").write_text(house_text({"study": {"years": 2}}))
    ours, theirs = pty.openpty()
    with subprocess.Popen(
        [sys.executable, "-m", "finsolar.cli", "report", "house.yaml"],
        stdout=subprocess.DEVNULL,
        stderr=theirs,
        cwd=tmp_path,
    ) as run:
        os.close(theirs)
        seen = b""
        while True:
            try:
                chunk = os.read(ours, 4096)
            except OSError:  # the far side has closed
                break
            if not chunk:
                break
            seen += chunk
    os.close(ours)

    assert run.returncode == 0
    assert b"running every hour" in seen
    assert seen.endswith(b"\r\x1b[K")


DRAWN: Tree = {
    "study": {"years": 3},
    "tariff": {"rise": {"from": "0%", "to": "6%"}},
}


def test_the_same_seed_draws_the_same_and_the_command_line_goes_before_the_file(tmp_path: Path) -> None:
    """Byte for byte in JSON and CSV, in another process too, and another seed draws others; the table tells of it."""
    (tmp_path / "house.yaml").write_text(house_text(DRAWN))
    order = ["report", "house.yaml", "--json", "o.json", "--csv", "o.csv"]

    def written() -> tuple[bytes, bytes]:
        return (tmp_path / "o.json").read_bytes(), (tmp_path / "o.csv").read_bytes()

    def drawn(*words: str) -> tuple[tuple[bytes, bytes], dict[str, Any], str]:
        run = finsolar(*order, *words, cwd=tmp_path)
        assert (run.exit_code, run.stderr) == (0, "")
        return written(), json.loads(written()[0])["uncertainty"], run.stdout

    first, other = (drawn("--draws", "64", "--seed", seed) for seed in ("0", "9"))
    again = in_its_own_process("-m", "finsolar.cli", *order, "--draws", "64", "--seed", "0", cwd=tmp_path)

    assert again.returncode == 0
    assert first[0] == written()
    assert (first[1]["draws"], first[1]["seed"], other[1]["seed"]) == (64, 0, 9)
    assert first[1]["alternatives"] != other[1]["alternatives"]
    assert "futures drawn from the ranges of the scenario" in first[2]
    file = DRAWN | {"study": {"years": 3, "draws": 64, "seed": 9}}
    (tmp_path / "house.yaml").write_text(house_text(file))
    assert drawn()[1] == other[1]


def test_draws_that_cannot_be_are_told_in_a_line_and_nothing_is_written(tmp_path: Path) -> None:
    """Both faults at once, exit code 2."""
    run = finsolar("report", JUNIPER, "--draws", "100", "--seed", "-4", cwd=tmp_path)

    assert (run.exit_code, run.stdout) == (2, "")
    assert run.stderr.splitlines() == [
        "--draws: is 100, no power of two, which the even points need; write 64 or 128",
        "--seed: is -4; write a whole number from 0 to 4294967295",
    ]
    assert list(tmp_path.iterdir()) == []


def test_a_stop_by_the_keyboard_is_one_line_and_leaves_the_old_page(tmp_path: Path) -> None:
    """Exit code 130, as shells know it, and no part of a file."""
    old = tmp_path / "page.html"
    old.write_text("old")
    ours, theirs = pty.openpty()
    command = [sys.executable, "-m", "finsolar.cli", "report", str(JUNIPER), "--out", str(old), "--replace"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=theirs, cwd=tmp_path) as run:
        os.close(theirs)
        seen = b""
        while b"running every hour" not in seen:
            seen += os.read(ours, 4096)
        run.send_signal(signal.SIGINT)
        told = b""
        with contextlib.suppress(OSError):  # the far side has closed
            while chunk := os.read(ours, 4096):
                told += chunk
        assert run.stdout is not None and run.stdout.read() == b""
    os.close(ours)

    assert run.returncode == 130
    assert told.rpartition(b"\x1b[K")[2] == b"stopped; no file is left half-written\r\n"
    assert [path.name for path in tmp_path.iterdir()] == ["page.html"] and old.read_text() == "old"


def test_how_far_the_draws_are_shows_once_it_takes_a_second(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A bar with its count on a terminal, nothing before a second and nothing in a pipe."""
    from finsolar.cli import Progress

    now = [10.0]
    monkeypatch.setattr("finsolar.cli.time.monotonic", lambda: now[0])
    shown, silent = Progress(True), Progress(False)
    for each in (shown, silent):
        each("drawing cases")
        each.share(512, 4096)
    assert capsys.readouterr().err == "\r\x1b[Kdrawing cases ..."
    now[0] = 11.5
    shown.share(1024, 4096)
    silent.share(1024, 4096)
    assert capsys.readouterr().err == "\r\x1b[Kdrawing cases [#####...............] 1,024 of 4,096"


MOVING: Tree = {
    "study": {"in_service": "2025-06-01", "years": 3},
    "household": {"income_tax": 900, "owner_occupied": True},
    "alternatives": [{"name": "Roof"}, {"name": "Own hands", "own_hours": 40, "own_hour_worth": 10}],
}


def test_report_tells_awards_and_the_next_change_as_the_page_and_the_json_do(tmp_path: Path) -> None:
    """By hand: 30 % of 9,000 is 2,700, which three years of 900 use up; from 2026 on there is none."""
    (tmp_path / "house.yaml").write_text(house_text(MOVING))

    run = finsolar("report", "house.yaml", "--json", "out.json", "--out", "p.html", cwd=tmp_path)

    assert (run.exit_code, run.stderr) == (0, "")
    lines = run.stdout.splitlines()
    start = lines.index("Incentives")
    assert lines[start - 2] == (
        "“Own hands” costs the same as “Roof” after awards: its 40 own hours earn nothing. At $10.00 that an hour is "
        "worth to you it does not pay to do it yourself rather than to hire."
    )
    assert lines[start - 1].startswith(
        "With its 40 own hours set at $10.00 each, $400 in all, the NPV of “Own hands” is "
    )
    assert lines[start + 1] == "  Roof, Own hands"
    assert lines[start + 2].startswith(
        "    granted         $2,700, years 1 to 3  Federal residential clean energy credit"
    )
    assert lines[start + 3].startswith("    1 refused: ")
    told = (
        "Switched on 1 January 2026 or later, every alternative would receive $2,700 less in incentives (Federal "
        "residential clean energy credit)."
    )
    assert told in lines
    page = (tmp_path / "p.html").read_text()
    assert f'<p class="answer">{told}</p>' in page and "What if the date slips?" in page
    for plan in json.loads((tmp_path / "out.json").read_text())["alternatives"]:
        coming = plan["slip"]["next"]
        assert (coming["in_service"], coming["before"], coming["after"]) == ("2026-01-01", 2700.0, 0.0)
        assert (coming["event"], coming["known"]) == ("installation completed", True)


def test_incentives_lists_every_rule_and_what_it_says_on_a_day() -> None:
    """The same list for a day before and after the end of a rule; a country narrows it."""
    before = finsolar("incentives", "--date", "2025-12-31")
    after = finsolar("incentives", "--date", "2026-01-01", "--country", "us")

    assert (before.exit_code, before.stderr, after.exit_code) == (0, "", 0)
    assert "us/residential-clean-energy-credit: Federal residential clean energy credit\n" in before.stdout
    assert "30% of the basis" in before.stdout and "2026-01-01   2026-11-01  seen" in before.stdout
    assert "ended 31 December 2025" in after.stdout
    assert "de/" in before.stdout and "de/" not in after.stdout and "us/hi/" not in after.stdout
    assert max(map(len, before.stdout.splitlines())) <= 120


def test_incentives_explains_one_rule_by_its_id_or_its_file(tmp_path: Path) -> None:
    """A shipped one and one of one's own, with the cautions at the end."""
    own = ROOT / "tests" / "incentives" / "lantern-county-battery-credit.yaml"
    shipped = finsolar("incentives", "us/residential-clean-energy-credit", "--date", "2025-05-01")
    mine = finsolar("incentives", own, cwd=tmp_path)
    chosen = finsolar("incentives", own.stem, "--rules", own.parent / own.name, cwd=tmp_path)

    for run in (shipped, mine, chosen):
        assert (run.exit_code, run.stderr) == (0, "")
        assert "Law changes" in run.stdout and "tax adviser" in run.stdout
    assert "On 1 May 2025: 30% of the basis. The next change is on 1 January 2026." in shipped.stdout
    assert "Pub. L. 119-21 s. 70506; seen" in shipped.stdout
    assert mine.stdout == chosen.stdout


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["us/residential-clean-energy-credt"], "there is no rule 'us/residential-clean-energy-credt'; did you mean"),
        (["--country", "ZZ"], "--country: no rule of 'ZZ' is known here; known: AU, CA, DE, GB, US"),
        (["--country", "US", "--region", "QX"], "--region: no rule of 'QX' itself is known here; known: AZ, "),
        (["--region", "NY"], "--region: a region belongs to a country; add --country"),
        (["--date", "2026-02-30"], "--date: '2026-02-30' is no day; write one such as 2026-09-01"),
        (["nothing.yaml"], "nothing.yaml: no such file; "),
        (["--rules", "nothing"], "nothing: no such file; "),
        (["--rules", "."], ".: is a folder without a .yaml file; "),
        (["--rules", "x.yaml", "--country", "US"], "--rules: rules of your own are listed whatever their place"),
        (["x" * 300 + ".yaml"], "x" * 299 + "…: cannot be read as text; name a rule file"),
        (["--rules", "x" * 300], "x" * 300 + ": cannot be read; name a rule file, or a folder of them"),
        (["any", "--rules", "x" * 5_000], "x" * 299 + "…: cannot be read; name a rule file, or a folder of them"),
        (["a\x1b[31mb"], "there is no rule 'a\N{REPLACEMENT CHARACTER}[31mb'; "),
    ],
)
def test_incentives_answers_a_slip_with_one_clear_line(words: list[str], said: str, tmp_path: Path) -> None:
    """On standard error, with exit code 2 and nothing on standard output."""
    run = finsolar("incentives", *words, cwd=tmp_path)

    assert (run.exit_code, run.stdout) == (2, "")
    assert run.stderr.startswith(said), run.stderr
    assert run.stderr.count("\n") == 1


@pytest.mark.parametrize("command", ["check", "report"])
def test_rules_and_claims_that_cannot_be_used_are_refused_by_check_and_report(
    command: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One line each on standard error, with exit code 2 and no page."""
    for changes, said in (
        ({"rules": ["nope"]}, ": rules[1]: names 'nope', which is not there; "),
        ({"rules": ["x" * 300]}, "…', which cannot be read as text; name another"),
        ({"claims": {"us/zz": {"funds": True}}}, ": claims.us/zz: is 'us/zz', no rule of this place; "),
    ):
        (tmp_path / "house.yaml").write_text(house_text(changes))
        monkeypatch.chdir(tmp_path)

        run = CliRunner().invoke(app, [command, "house.yaml"])

        assert isinstance(run.exception, SystemExit)  # no fault of ours
        assert (run.exit_code, run.stdout) == (2, "")
        assert run.stderr.startswith("house.yaml:") and said in run.stderr, run.stderr
        assert run.stderr.count("\n") == 1 and run.stderr.removesuffix("\n").isprintable()
    assert not (tmp_path / "reports").exists()


def test_incentives_tells_every_fault_of_a_rule_file(tmp_path: Path) -> None:
    """Each at its file and line, without a traceback."""
    (tmp_path / "mine.yaml").write_text("title: Mine\nkind: gift\ncurrency: USD\n")

    for words in (["mine.yaml"], ["--rules", "."]):
        run = finsolar("incentives", *words, cwd=tmp_path)

        assert (run.exit_code, run.stdout) == (2, "")
        assert "mine.yaml:2: kind: " in run.stderr
        assert run.stderr.count("\n") > 1 and "Traceback" not in run.stderr

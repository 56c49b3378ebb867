"""The shipped rules against the parameter tables of an independent public tax calculator, read and never run.

The wheel of policyengine-us is fetched with pip into a cache folder, and a few of its YAML tables are read as text.
Its licence is the GNU AGPL v3: so it is never imported, installed or bundled, and nothing of it lies in this
repository; what is compared are dates and rates of the law.

Two ways of it are not ours. A rule that has ended has the value 0 there. And before the first entry of a table it
fills backwards, which no law does: earlier days are not compared.
"""

import hashlib
import os
import subprocess
import sys
import tempfile
import zipfile
from collections.abc import Iterable, Iterator, Mapping
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from ruamel.yaml import YAML

from finsolar.incentives.law import Ended, Value
from finsolar.incentives.rulebook import find_rule

REQUIREMENT = "policyengine-us==2.68.0"
WHEEL = "policyengine_us-2.68.0-py3-none-any.whl"
SHA256 = "aa19471d7a0c68030adec76547099f7a621362620820e39db6bc7ad4ab43963a"

FEDERAL, NEW_YORK = "us/residential-clean-energy-credit", "us/ny/solar-equipment-credit"
TABLES = "policyengine_us/parameters/gov"
FEDERAL_TABLES = f"{TABLES}/irs/credits/residential_clean_energy"
NEW_YORK_TABLES = f"{TABLES}/states/ny/tax/income/credits/solar_energy_systems_equipment"

Table = Mapping[date, Any]


def cache_folder() -> Path:
    """Return where the wheel is kept between runs: FINSOLAR_TEST_CACHE, or the user's cache folder."""
    told = os.environ.get("FINSOLAR_TEST_CACHE")
    if told:
        return Path(told)
    return Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "finsolar-tests"


def is_whole(path: Path) -> bool:
    """Return whether the file is there and is the very one that was pinned."""
    if not path.is_file():
        return False
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest() == SHA256


def fetched(path: Path) -> str | None:
    """Fetch the wheel to `path`, trying twice; None if it is there now, else the last line of what pip said.

    It is fetched into a folder of its own and then moved into place in one step, so that two test processes at
    once never see half a file.
    """
    said = ""
    for _ in range(2):
        with tempfile.TemporaryDirectory(dir=path.parent) as folder:
            # It is read only, so which Python it asks for does not matter.
            order = [sys.executable, "-m", "pip", "download", "--no-deps", "--only-binary", ":all:"]
            order += ["--ignore-requires-python", "--disable-pip-version-check", "--retries", "1", "--timeout", "15"]
            order += ["--quiet", "--dest", folder, REQUIREMENT]
            done = subprocess.run(order, capture_output=True, text=True, check=False)
            got = Path(folder) / WHEEL
            if is_whole(got):
                got.replace(path)
                return None
            said = done.stderr.strip().rpartition("\n")[-1] or "nothing; the file is not the one pinned"
    return said


@pytest.fixture(scope="module")
def wheel() -> Iterator[zipfile.ZipFile]:
    """The wheel, from the cache or fetched. Only a run offline and outside CI may go on without it, and says so."""
    path = cache_folder() / WHEEL
    path.parent.mkdir(parents=True, exist_ok=True)
    said = None if is_whole(path) else fetched(path)
    if said is not None:
        words = f"{REQUIREMENT} could not be fetched, so the rules were not held against it. pip said: {said}"
        if os.environ.get("CI") == "true":
            pytest.fail(words)
        pytest.skip(words)
    with zipfile.ZipFile(path) as archive:
        yield archive


def table(wheel: zipfile.ZipFile, path: str) -> Table:
    """Return the dated values of one parameter file of the wheel."""
    found = YAML(typ="safe").load(wheel.read(path).decode("utf-8"))["values"]
    assert found
    assert all(type(day) is date for day in found)
    return {day: found[day] for day in sorted(found)}


def in_table(found: Table, day: date) -> Any:
    """Return the entry in force on a day; KeyError before the first, which is not filled backwards."""
    return found[max((first for first in found if first <= day), default=day)]


def in_rule(rule_id: str, parameter: str, day: date) -> float:
    """Return what a shipped rule says on a day, zero once it has ended."""
    entry = find_rule(rule_id).parameters[parameter].at(day)
    assert isinstance(entry, Value | Ended), f"{rule_id} has no answer on {day}"
    return 0.0 if isinstance(entry, Ended) else entry.number


def days_around(found: Table, rule_id: str, parameter: str) -> list[date]:
    """Return every day from the first of the table on at which either of the two changes, and the day before it."""
    changes = {entry.start for entry in find_rule(rule_id).parameters[parameter].entries} | set(found)
    first = min(found)
    near: Iterable[date] = (day - timedelta(days=back) for day in changes for back in (0, 1))
    return sorted({day for day in near if day >= first})


def test_the_federal_share_is_that_of_the_table_on_every_day_of_change(wheel: zipfile.ZipFile) -> None:
    found = table(wheel, f"{FEDERAL_TABLES}/applicable_percentage.yaml")
    days = days_around(found, FEDERAL, "share")
    assert {
        date(2019, 12, 31),
        date(2020, 1, 1),
        date(2021, 12, 31),
        date(2022, 1, 1),
        date(2025, 12, 31),
        date(2026, 1, 1),
    } <= set(days)
    assert days[0] == date(2017, 1, 1)
    far = [date(year, 7, 1) for year in range(2017, 2040)]
    assert {day: in_rule(FEDERAL, "share", day) for day in (*days, *far)} == {
        day: in_table(found, day) for day in (*days, *far)
    }


def test_a_battery_counts_from_the_year_in_which_it_enters_the_table(wheel: zipfile.ZipFile) -> None:
    found = table(wheel, f"{FEDERAL_TABLES}/elements.yaml")
    item = "qualified_battery_storage_technology_expenditures"
    test = find_rule(FEDERAL).line_test("battery")
    assert test is not None
    assert test.since == min(day for day, items in found.items() if item in items)
    assert test.since > min(found)
    # Solar electric is in the table from its beginning on, and never leaves it.
    assert all("solar_electric_property_expenditures" in items for items in found.values())


@pytest.mark.parametrize(("parameter", "name"), [("share", "rate.yaml"), ("cap", "cap.yaml")])
def test_rate_and_cap_of_new_york_are_those_of_the_tables(wheel: zipfile.ZipFile, parameter: str, name: str) -> None:
    found = table(wheel, f"{NEW_YORK_TABLES}/{name}")
    days = days_around(found, NEW_YORK, parameter)
    days += [date(year, 7, 1) for year in range(2006, 2040)]
    assert date(2006, 1, 1) in days
    assert {day: in_rule(NEW_YORK, parameter, day) for day in days} == {day: in_table(found, day) for day in days}

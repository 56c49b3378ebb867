"""How fast finsolar is, as ratios to a named baseline in the same run on the same machine.

Run: python tests/benchmarks/ratios.py
Each figure is the best of a few runs, baseline and work in turn, so that a busy machine strikes both alike.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import numpy_financial as npf
import pandas as pd
import pyxirr
from numpy.typing import NDArray

from finsolar.energy.battery import Battery, store
from finsolar.energy.bound import cheapest_year
from finsolar.energy.dispatch import scheduled, with_generator
from finsolar.money.metrics import internal_rates, present_value
from finsolar.report.several import _cores as several_cores
from finsolar.results import Study
from finsolar.scenario.reading import from_text
from finsolar.study import moves_energy, study
from finsolar.uncertainty.columns import chosen, count, values_of
from finsolar.uncertainty.draws import points
from finsolar.uncertainty.ranges import ranges_of
from finsolar.uncertainty.simulation import cases_of, compared, in_pieces
from finsolar.uncertainty.surface import Surface, surface

Array = NDArray[np.float64]
ROOT = Path(__file__).parents[2]
RANDOM = np.random.default_rng(7)


def best(work: Callable[[], object], runs: int = 5) -> float:
    """The shortest of a few runs, s."""
    found = []
    for _ in range(runs):
        start = time.perf_counter()
        work()
        found.append(time.perf_counter() - start)
    return min(found)


def told(work: str, baseline: str, slow: float, fast: float) -> None:
    """One line: the work, its baseline, and how many times quicker it is."""
    print(f"{work:<58} {slow / fast:8.1f} x  {baseline}")


def greedy_loop(net: list[float], ceiling: list[float], power: float, each_way: float) -> float:
    """The greedy rule hour by hour in plain Python, for one case; the energy charged, kWh."""
    stored = charged = 0.0
    for hour, surplus in enumerate(net):
        full = ceiling[hour // 8760]
        stored = min(stored, full)
        if surplus >= 0:
            charge = min(surplus, power, (full - stored) / each_way)
            stored += charge * each_way
            charged += charge
        else:
            stored -= min(-surplus, power, stored * each_way) / each_way
    return charged


def dispatch() -> None:
    """Battery dispatch against the plain loop; both must charge the same energy."""
    years = 25
    hours = np.arange(years * 8760)
    sun = np.maximum(0, np.sin((hours % 24 - 6) / 12 * np.pi)) * 6
    net = (sun * RANDOM.uniform(0.2, 1, hours.size) - RANDOM.uniform(0.3, 2, hours.size)).reshape(years, 8760)
    ceiling = 10 * (1 - 0.02 * np.arange(years))
    each_way = 0.95

    def run(cases: Array) -> float:
        return float(store(cases, 0.0, ceiling, 5.0, 5.0, each_way, each_way, 0.0).charge.sum())

    flat, limits = net.ravel().tolist(), ceiling.tolist()
    assert abs(run(net) - greedy_loop(flat, limits, 5.0, each_way)) < 1e-6
    loop = best(lambda: greedy_loop(flat, limits, 5.0, each_way), 3)
    quick = best(lambda: run(net))
    told("dispatch of 25 years, hourly, one case", "plain Python loop over hours", loop, quick)
    frame = pd.DataFrame({"net": flat[:8760]})
    rows = best(lambda: greedy_loop([row["net"] for _, row in frame.iterrows()], limits, 5.0, each_way), 1) * years
    told("the same", "loop over pandas iterrows", rows, quick)
    many = net * RANDOM.uniform(0.7, 1.3, (100, 1, 1))
    told("dispatch of 2,500 case-years", "the same loop, 100 times", 100 * loop, best(lambda: run(many), 2))


def other_operations() -> None:
    """The rules that walk step by step, each against the same rule in plain Python; both must charge the same."""
    years, each_way, power, room = 25, 0.95, 5.0, 10.0
    hours = np.arange(years * 8760)
    sun = np.maximum(0, np.sin((hours % 24 - 6) / 12 * np.pi)) * 4
    net = (sun * RANDOM.uniform(0.2, 1, hours.size) - RANDOM.uniform(0.3, 2, hours.size)).reshape(years, 8760)
    keep = np.where(np.isin(np.arange(8760) % 24, range(16, 21)), 0.0, 0.5)
    target = np.where(np.arange(8760) % 24 < 6, 0.4, 0.0)
    surplus, deficit = np.maximum(net, 0.0), np.maximum(-net, 0.0)

    def by_the_clock() -> float:
        did = scheduled(surplus, deficit, keep, target, room, 0.1, power, power, power, each_way, each_way, 1.0)
        return float((did.charge + did.from_fallback).sum())

    flat, told_keep, told_target = net.ravel().tolist(), keep.tolist(), target.tolist()

    def loop() -> float:
        stored, charged = 1.0, 0.0
        for step, balance in enumerate(flat):
            aim = told_target[step % 8760] * room
            floor = max(told_keep[step % 8760] * room, aim, 0.1 * room)
            charge = min(max(balance, 0.0), power, (room - stored) / each_way)
            bought = min(power - charge, max(aim - stored - each_way * charge, 0.0) / each_way)
            drawn = min(max(-balance, 0.0), power, max(stored - floor, 0.0) * each_way)
            stored += each_way * (charge + bought) - drawn / each_way
            charged += charge + bought
        return charged

    assert abs(by_the_clock() - loop()) < 1e-6
    slow = best(loop, 3)
    told("battery by the clock, 25 years, one case", "plain Python loop over hours", slow, best(by_the_clock, 3))

    def beside_a_generator() -> float:
        did = with_generator(net, 1.0, room, 0.2, 0.7, 3.0, power, power, each_way, each_way, 1.0)
        return float(did.generator.sum())

    def generator_loop() -> float:
        stored, made, on = 1.0, 0.0, False
        for balance in flat:
            sun, need = max(balance, 0.0), max(-balance, 0.0)
            on = on or stored <= 0.2 * room or need > min(power, (stored - 1.0) * each_way)
            served = min(need, 3.0) if on else 0.0
            charge = min(sun, power, (room - stored) / each_way)
            extra = min(power - charge, 3.0 - served, max(0.7 * room - stored - each_way * charge, 0.0) / each_way)
            extra = extra if on else 0.0
            drawn = min(need - served, power, (stored - 1.0) * each_way)
            stored += each_way * (charge + extra) - drawn / each_way
            made += served + extra
            on = on and stored < 0.7 * room - 1e-10
        return made

    assert abs(beside_a_generator() - generator_loop()) < 1e-3
    slow = best(generator_loop, 3)
    told(
        "battery beside a generator, 25 years, one case", "the like in plain Python", slow, best(beside_a_generator, 3)
    )


def foresight() -> None:
    """The linear programme of one year, against one whole study of that year."""
    hours = np.arange(8760)
    sun = np.maximum(0, np.sin((hours % 24 - 6) / 12 * np.pi)) * RANDOM.uniform(0.5, 5, 365).repeat(24)
    use = RANDOM.uniform(0.3, 2, 8760)
    buy = np.where(np.isin(hours % 24, range(16, 21)), 0.4, 0.15)
    unit = Battery(np.array([10.0]), 0.1, 5.0, 5.0, 0.95, 0.95)
    seconds = best(lambda: cheapest_year(sun, use, buy, 0.05 + 0 * buy, unit, grid_charging=True), 2)
    fine = best(lambda: cheapest_year(*(np.repeat(x, 4) for x in (sun / 4, use / 4, buy, 0.05 + 0 * buy)), unit,
                                      grid_charging=True, step_hours=0.25), 1)  # fmt: skip
    print(f"{'the bound of one year in quarter hours, against hours':<58} {fine / seconds:8.1f} x  as long")


def figures_of_merit() -> None:
    """Internal rates and NPV of 100,000 series; the loops run on a share of them and are scaled up."""
    flows = RANDOM.uniform(500, 1500, (100_000, 31))
    flows[:, 0] = -RANDOM.uniform(8_000, 20_000, 100_000)
    ours = best(lambda: internal_rates(flows), 3)
    few, more = flows[:500], flows[:20_000]
    loop = best(lambda: [npf.irr(row) for row in few], 2) * 200
    told("IRR of 100,000 series of 31 flows", "loop of numpy-financial", loop, ours)
    loop = best(lambda: [pyxirr.irr(row) for row in more], 2) * 5
    told("the same", "loop of pyxirr", loop, ours)
    ours = best(lambda: present_value(flows, 0.05))
    loop = best(lambda: [npf.npv(0.05, row) for row in few], 3) * 200
    told("NPV of 100,000 series of 31 flows", "loop of numpy-financial", loop, ours)


def many_cases() -> None:
    """Every case of a study whose sun and use are uncertain, against each of them hour by hour; 64 are compared."""
    text = (ROOT / "scenarios" / "juniper-lane.yaml").read_text(encoding="utf-8")
    for plain, ranged in (
        ("weather: greensboro", "weather: {station: greensboro, brightness: {mean: 98%, sd: 3%, yearly_sd: 3%}}"),
        ("    growth: 0.5%", "    level: {low: 90%, likely: 100%, high: 115%}"),
    ):
        assert plain in text
        text = text.replace(plain, ranged)
    base = study(from_text(text))
    drawn = ranges_of(base.scenario)
    values = values_of(drawn, points(16_384, count(drawn), 7))[:10_000]
    hours = tuple(each for each in drawn if moves_energy(base.scenario, each.paths[0]))

    def exact(some: Array) -> list[Study]:
        return [study(base.scenario, chosen(drawn, case[None])) for case in some]

    def quick() -> Surface:
        found = surface(base, hours)
        for _ in in_pieces(base, drawn, found, values):
            pass
        return found

    each = best(lambda: exact(values[:4]), 3) / 4
    told("10,000 cases of 25 years, 3 alternatives each", "every case hour by hour", len(values) * each, best(quick, 1))
    some = values[RANDOM.choice(len(values), 64, replace=False)]
    off = compared(cases_of(base, drawn, quick(), some), exact(some))
    share, gross = 100 * off.bill, max(float(result.gross) for result in base.results)
    print(f"{'  the worst of 64 of them is off by':<58} {share:8.3f} %  of the bill of staying as you are")
    print(f"{'  and its NPV by':<58} {100 * off.npv / gross:8.3f} %  of the outlay")


# What a process held at most is asked of itself: what its parent is told counts the parent's own memory too.
_HELD = """
import sys
from finsolar.cli import app
try:
    app(sys.argv[1:])
finally:
    print(next(line for line in open("/proc/self/status") if line.startswith("VmHWM")))
"""


def command_line() -> None:
    """Start-up and a whole study, in interpreters of their own."""

    def python(*words: str) -> float:
        return best(lambda: subprocess.run([sys.executable, *words], check=True, capture_output=True, cwd=ROOT), 3)

    bare, helped = python("-c", "pass"), python("-m", "finsolar.cli", "--help")
    print(f"{'finsolar --help beyond a bare Python start':<58} {1000 * (helped - bare):8.0f} ms")
    imports = python("-c", "import numpy, pandas, pvlib.irradiance, pvlib.solarposition")
    with tempfile.TemporaryDirectory() as folder:
        out = str(Path(folder) / "page.html")
        report = ("-m", "finsolar.cli", "report", "scenarios/juniper-lane.yaml", "--out", out, "--draws")
        few, many = python(*report, "64"), python(*report, "8192")
        once = subprocess.run(
            [sys.executable, "-c", _HELD, *report[2:], "8192"], check=True, capture_output=True, cwd=ROOT
        )
        held = int(once.stdout.split()[-2]) / 1024
        size = Path(out).stat().st_size / 1e6
    for draws, whole in ((64, few), (8192, many)):
        work = f"whole study: 3 alternatives, 25 years, {draws:,} draws, page"
        print(f"{work:<58} {whole / imports:8.1f} x  as long as importing numpy, pandas and pvlib alone")
    print(f"{'  the most memory that the latter held':<58} {held:8.0f} MB")
    print(f"{'size of the page':<58} {size:8.2f} MB")


_FIRST_CHART = """
new MutationObserver(function (_, seen) {
  if (!document.querySelector(".main-svg .points path, .main-svg .js-line, .main-svg .point path")) return;
  window.firstChart = performance.now();
  seen.disconnect();
}).observe(document, { childList: true, subtree: true });
"""
"""Notes in a page when the first marks of a chart stand in it, ms from the start of its loading."""


def the_page() -> None:
    """Writing the page and drawing its first chart, against plotly's own writer with eight of the same figures."""
    import plotly.graph_objects as go
    from playwright.sync_api import sync_playwright

    from finsolar.report.command import whole_study
    from finsolar.report.draw_choice import with_draws
    from finsolar.report.page import _charts, page
    from finsolar.scenario.reading import read

    class Silence:
        def __call__(self, doing: str) -> None:
            pass

        def share(self, done: int, of: int) -> None:
            pass

    scenario = with_draws(read(ROOT / "scenarios" / "juniper-lane.yaml"), "64", None)
    plain = whole_study(scenario, Silence()).to_json()
    charts = list(_charts(plain).values())[:8]

    def plotlys_own() -> str:
        drawn = [go.Figure(data=chart.data, layout=chart.layout) for chart in charts]
        parts = [one.to_html(full_html=False, include_plotlyjs=i == 0) for i, one in enumerate(drawn)]
        return f"<!doctype html><meta charset=utf-8>{''.join(parts)}"

    texts = {"the page": page(plain), "plotly's own writer": plotlys_own()}
    told("writing the page", "plotly's own writer, 8 figures", best(plotlys_own, 3), best(lambda: page(plain), 5))
    print(f"{'  writing it takes':<58} {1000 * best(lambda: page(plain), 5):8.0f} ms")
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as play:
        browser = play.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        for name, text in texts.items():
            file = Path(folder) / "page.html"
            file.write_text(text, encoding="utf-8")
            seconds = []
            for _ in range(5):
                tab = browser.new_page(viewport={"width": 1200, "height": 900})
                tab.add_init_script(_FIRST_CHART)
                tab.goto(file.as_uri())
                tab.wait_for_function("window.firstChart")
                seconds.append(tab.evaluate("window.firstChart") / 1000)
                tab.close()
            print(f"{f'first chart of {name}':<58} {min(seconds):8.2f} s   {len(text.encode()) / 1e6:.2f} MB")
        browser.close()


_SOME_CORES = """
import sys
from finsolar.report import several
if __name__ == "__main__":
    cores = int(sys.argv.pop(1))
    several._cores = lambda: cores
    from finsolar.cli import main
    main()
"""


def many_households() -> None:
    """Forty households in as many processes as there are cores, against all of them in one."""
    text = (ROOT / "scenarios" / "juniper-lane.yaml").read_text(encoding="utf-8")
    with tempfile.TemporaryDirectory() as folder:
        names = [f"house-{i}.yaml" for i in range(40)]
        for name in names:
            (Path(folder) / name).write_text(text, encoding="utf-8")

        def seconds(cores: int) -> float:
            words = [sys.executable, "-c", _SOME_CORES, str(cores), "report", *names, "--draws", "64"]
            return best(lambda: subprocess.run(words, check=True, capture_output=True, cwd=folder), 1)

        cores = several_cores()
        told(f"40 households on {cores} cores", "one process", seconds(1), seconds(cores))


if __name__ == "__main__":
    dispatch()
    other_operations()
    foresight()
    figures_of_merit()
    many_cases()
    command_line()
    the_page()
    many_households()

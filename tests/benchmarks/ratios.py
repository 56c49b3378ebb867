"""How fast finsolar is, as ratios to a named baseline in the same run on the same machine.

Run: python tests/benchmarks/ratios.py
Each figure is the best of a few runs, baseline and work in turn, so that a busy machine strikes both alike.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import numpy_financial as npf
import pyxirr
from numpy.typing import NDArray

from finsolar.energy.battery import store
from finsolar.money.metrics import internal_rates, present_value

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
    told("dispatch of 25 years, hourly, one case", "plain Python loop over hours", loop, best(lambda: run(net)))
    many = net * RANDOM.uniform(0.7, 1.3, (100, 1, 1))
    told("dispatch of 2,500 case-years", "the same loop, 100 times", 100 * loop, best(lambda: run(many), 2))


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


def command_line() -> None:
    """Start-up and a whole study, in interpreters of their own."""

    def python(*words: str) -> float:
        return best(lambda: subprocess.run([sys.executable, *words], check=True, capture_output=True, cwd=ROOT), 3)

    bare, helped = python("-c", "pass"), python("-m", "finsolar.cli", "--help")
    print(f"{'finsolar --help beyond a bare Python start':<58} {1000 * (helped - bare):8.0f} ms")
    imports = python("-c", "import numpy, pandas, pvlib.irradiance, pvlib.solarposition")
    with tempfile.TemporaryDirectory() as folder:
        out = str(Path(folder) / "page.html")
        whole = python("-m", "finsolar.cli", "report", "scenarios/juniper-lane.yaml", "--out", out)
        size = Path(out).stat().st_size / 1e6
    told(
        "whole study: 3 alternatives, 25 years, page written", "importing numpy, pandas and pvlib alone", imports, whole
    )
    print(f"{'size of the page':<58} {size:8.2f} MB")


if __name__ == "__main__":
    dispatch()
    figures_of_merit()
    command_line()

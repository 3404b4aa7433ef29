"""A program run to its end on given threads, and what that cost.

This file and `bench_peers.py` load no library: a child's peak memory is never reported as less than
its parent's.
"""

import os
import subprocess
import sys
import time
from dataclasses import dataclass

THREADS = ["RAYON_NUM_THREADS", "OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "GDAL_NUM_THREADS"]


@dataclass
class Cost:
    """Seconds of processor and clock, peak MB; `inner` are those that the program says of its work alone."""

    cpu: float
    wall: float
    peak_mb: float
    inner_cpu: float | None
    inner_wall: float | None

    def scaled(self, factor, fixed):
        """What it would cost on `factor` times the cells, where `fixed` does not grow with them."""
        rest = lambda whole, part: part + max(whole - part, 0) * factor
        cpu, wall = rest(self.cpu, fixed.cpu), rest(self.wall, fixed.wall)
        inner_cpu = rest(self.inner_cpu, fixed.inner_cpu)
        return Cost(cpu, wall, self.peak_mb, inner_cpu, None)


def measure(command, threads=1):
    """Runs a command once. It may print a line `cpu_s X wall_s Y` about its work alone."""
    environment = {**os.environ, **dict.fromkeys(THREADS, str(threads))}
    start = time.perf_counter()
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment)
    said = process.stdout.read()
    _, status, usage = os.wait4(process.pid, 0)
    wall = time.perf_counter() - start
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode != 0:
        sys.exit(f"{' '.join(command)}: ended with {process.returncode}")
    inner = next((line.split() for line in said.splitlines() if line.startswith("cpu_s")), None)
    inner_cpu, inner_wall = (float(inner[1]), float(inner[3])) if inner else (None, None)
    return Cost(usage.ru_utime + usage.ru_stime, wall, usage.ru_maxrss * 1024 / 1e6, inner_cpu, inner_wall)


def cheapest(costs):
    return min(costs, key=lambda cost: cost.cpu if cost.inner_cpu is None else cost.inner_cpu)


def output(command):
    return subprocess.run(command, check=True, capture_output=True, text=True).stdout.strip()

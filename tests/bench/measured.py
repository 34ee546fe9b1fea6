"""What is measured and how: CPU time, since the machine may be shared; ratios from measurements that take turns."""

from __future__ import annotations

import os
import platform
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path
from statistics import median
from tempfile import NamedTemporaryFile, TemporaryFile

import numpy as np

from linesim.scenario import is_compiled

TREE = Path(__file__).parents[2]
BIRCHWATER, TINY = (TREE / "scenarios" / f"{name}.yaml" for name in ("birchwater", "tiny"))


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table."""

    what: str
    figure: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Used:
    """What a command used: CPU seconds with all its processes, seconds by the wall, the largest of its processes."""

    cpu: float
    wall: float
    largest_mb: float
    out: str


def command(*words: object) -> Used:
    """A command of linesim in a process of its own. Raises RuntimeError where it fails."""
    return python("-m", "linesim", *words)


# The system counts what a process holds at the moment at which it starts another one as held by that, too: so a small
# process starts the one that is measured, and says what that and its own held at most.
STARTER = """
import resource, subprocess, sys
code = subprocess.call([sys.executable, *sys.argv[2:]])
open(sys.argv[1], "w").write(str(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss))
sys.exit(code)
"""


def python(*words: object) -> Used:
    """Python in a process of its own."""
    begun = time.monotonic()
    with TemporaryFile() as out, TemporaryFile() as err, NamedTemporaryFile("r") as most:
        process = subprocess.Popen([sys.executable, "-S", "-c", STARTER, most.name, *map(str, words)], stdout=out,
                                   stderr=err, env={**os.environ, "PYTHONPATH": str(TREE)})
        _, status, usage = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
        texts = []
        for file in (out, err):
            file.seek(0)
            texts.append(file.read().decode())
        largest = int(most.read() or 0)
    if process.returncode:
        raise RuntimeError(f"{words} ended with {process.returncode}: {texts[1]}")
    return Used(usage.ru_utime + usage.ru_stime, time.monotonic() - begun, largest / 1024, texts[0])


def cpu(act: Callable[[], object]) -> float:
    """CPU seconds of this process."""
    begun = time.process_time()
    act()
    return time.process_time() - begun


def in_turns(acts: Sequence[Callable[[], float]], rounds: int) -> list[float]:
    """The median of what each gives, taking turns, so that a slow minute of the machine falls on all of them."""
    found = [[act() for act in acts] for _ in range(rounds)]
    return [median(row[n] for row in found) for n in range(len(acts))]


def exponent(sizes: Sequence[float], seconds: Sequence[float]) -> float:
    """b of the line a + b log size through log seconds, by least squares: 1 is linear."""
    return float(np.polyfit(np.log(sizes), np.log(seconds), 1)[0])


def machine() -> str:
    """The machine and the libraries, in words."""
    model = next((line.partition(":")[2].strip() for line in Path("/proc/cpuinfo").read_text().splitlines()
                  if line.startswith("model name")), platform.machine())
    memory = os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES") / 2 ** 30
    libraries = ", ".join(f"{name} {version(name)}" for name in ("simpy", "numpy"))
    return (f"{os.cpu_count()} cores ({model}), {memory:.0f} GB, {platform.system()}, Python "
            f"{platform.python_version()}, {libraries}; "
            f"floor {'compiled' if is_compiled() else 'from its source'}; load {os.getloadavg()[1]:.0f}")

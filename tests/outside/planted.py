"""Plants mistakes in a copy of the project, one place each, and shows that at least one outside check fails for each.

    python tests/outside/planted.py [WORDS_OF_A_MISTAKE]

Prints the mistake and the first check that catches it; ends with 1 if one is caught by none.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from shutil import copytree, ignore_patterns
from tempfile import TemporaryDirectory
from typing import NamedTuple

ROOT = Path(__file__).parents[2]
LONGEST = 900  # seconds; a mistake that makes a run endless is noticed, too

# carries out the proofs with the named ones first and stops at the first check that does not hold
RUNNER = """
import sys
from linesim.questions.proof.registry import proofs
listed = [proof for _, proof in proofs()]
for proof in sorted(listed, key=lambda proof: proof.name not in sys.argv[1:]):
    try:
        for check in proof.checks():
            if not check.holds:
                print(f"{check.name}: expected {check.expected:.6g}, got {check.got:.6g}")
                sys.exit(1)
    except Exception as error:
        print(f"{proof.name}: {type(error).__name__}: {str(error)[:80]}")
        sys.exit(1)
"""


class Mistake(NamedTuple):
    """What is wrong, where, and the proof that should notice it (tried first; the others count as well)."""

    what: str
    file: str
    before: str
    after: str
    first: str


MISTAKES = (
    Mistake("one place more in a buffer", "line/traffic.py",
            "return len(self.parked) + len(self.coming_to_park) < self.plan.parking",
            "return len(self.parked) + len(self.coming_to_park) <= self.plan.parking",
            "recursion of 3 places, parking 0"),
    Mistake("blocking before service: a dock is entered only if the place beyond has one free", "line/traffic.py",
            "            if place.has_dock and not place.is_awaited:\n",
            "            beyond = self.places[place.index + 1:place.index + 2]\n"
            "            if place.has_dock and not place.is_awaited and (\n"
            "                    not beyond or beyond[0].has_dock or beyond[0].has_parking):\n",
            "recursion of 3 places, parking 0"),
    Mistake("mean used as mu of a lognormal", "scenario/laws.py",
            "return mean * math.exp(sigma * _normal_inverse(u) - half)",
            "return mean * math.exp(sigma * _normal_inverse(u))", "lognormal hours"),
    Mistake("mean used as rate of an exponential", "scenario/laws.py", "return -parts[0] * math.log1p(-u)",
            "return -math.log1p(-u) / parts[0]", "M/M/1"),
    Mistake("shift end losing a minute", "scenario/calendar.py",
            "start, end = max(self.instant(day, a), 0.0), self.instant(day, b)",
            "start, end = max(self.instant(day, a), 0.0), self.instant(day, b - (b == blocks[-1][1]))",
            "shifts and cures"),
    Mistake("holiday ignored", "scenario/calendar.py",
            " and day not in self.scenario.calendar.closed", "", "work days"),
    Mistake("squawk repeated on the next flight instead of redrawn", "line/flight.py",
            '("squawk", unit.name, unit.flights, n)', '("squawk", unit.name, n)', "flights"),
    Mistake("count of squawks repeated on the next flight", "line/flight.py",
            'floor.luck.uniform("squawk count", unit.name, unit.flights)',
            'floor.luck.uniform("squawk count", unit.name)',
            "flights"),
    Mistake("crew leaked: one of a crew of two or more does not come back", "line/people.py",
            "free = duty.free + (job.own if job.lent else job.people)",
            "free = duty.free + (job.own if job.lent else job.people) - (job.people > 1)", "crews"),
    Mistake("priority reversed", "line/people.py", "for job in sorted(waiting, key=waiting.__getitem__) if",
            "for job in sorted(waiting, key=waiting.__getitem__, reverse=True) if", "priorities"),
    Mistake("promise key reversed", "line/job.py", "return (unit.promise, -unit.rank, self.minor",
            "return (-unit.promise, -unit.rank, self.minor", "priorities"),
    Mistake("Wright for Crawford", "scenario/hours.py", "factor = (unit / base_unit) ** b",
            "factor = _wright(unit, b) / _wright(base_unit, b)", "learning"),
    Mistake("weather as an availability factor: each day by itself", "scenario/daylight.py",
            "chance = chances[key][0 if n == 0 else 1 if good[-1] else 2]", "chance = chances[key][0]", "weather gate"),
    Mistake("crew not growing", "line/people.py", "join = min(duty.free - kept.get(duty, 0), job.most - job.people)",
            "join = 0", "crews"),
    Mistake("travelled hours multiplied at every move", "line/pulse.py",
            "            if not job.travelled and not job.bought_off:\n", "            if not job.bought_off:\n",
            "travelled work"),
    Mistake("cure paused at night", "line/job.py", "            ends = now + job.elapsed\n",
            "            ends = floor.calendar.reference.finish(now, job.elapsed)\n", "shifts and cures"),
    Mistake("draw keyed by place in the order book instead of name", "line/work.py",
            "luck.four(f\"package/{unit.name}/{plan.name}/{repeat}\")",
            "luck.four(f\"package/{unit.order}/{plan.name}/{repeat}\")", "draws by name"),
    Mistake("work repeated instead of drawn anew when an aircraft goes back", "line/work.py",
            "luck.four(f\"package/{unit.name}/{plan.name}/{repeat}\")",
            "luck.four(f\"package/{unit.name}/{plan.name}/0\")", "feedback"),
    Mistake("launch cap one too high", "line/launch.py", "return len(here) >= self.most",
            "return len(here) > self.most",
            "best case with a launch cap"),
    Mistake("a place out of service loses what was done", "line/people.py",
            "            job.left = max(left, 0.0)\n", "            job.left = job.left\n", "place out of service"),
    Mistake("an interval with the normal point instead of Student's t", "measures/estimates.py",
            "half = _t_value(len(runs) - 1, level) *", "half = _t_value(10**9, level) *", "means and differences"),
    Mistake("variance over n instead of n - 1", "measures/estimates.py",
            "float(runs.std(ddof=1)) / math.sqrt(len(runs))", "float(runs.std()) / math.sqrt(len(runs))",
            "means and differences"),
    Mistake("coverage of ranks counted one run too far", "measures/estimates.py",
            "return Ranks(int(lows[best]), int(highs[best]), float(coverages[best]))",
            "return Ranks(int(lows[best]) + 1, int(highs[best]), float(coverages[best]))", "percentile ranks"),
    Mistake("civil twilight taken at 12 degrees", "scenario/daylight.py", "CIVIL_TWILIGHT_DEPRESSION = 6.0",
            "CIVIL_TWILIGHT_DEPRESSION = 12.0", "sun"),
)


def copy_of_project(folder: Path) -> Path:
    """The package and its scenarios, to be spoiled."""
    for name in ("linesim", "scenarios"):
        copytree(ROOT / name, folder / name, ignore=ignore_patterns("__pycache__"))
    return folder


def caught_by(folder: Path, first: str) -> str | None:
    """What the first failing check says; None if all hold."""
    environment = {**os.environ, "PYTHONPATH": str(folder), "PYTHONDONTWRITEBYTECODE": "1"}
    try:
        done = subprocess.run([sys.executable, "-c", RUNNER, first], cwd=folder, env=environment, capture_output=True,
                              text=True, timeout=LONGEST)
    except subprocess.TimeoutExpired:
        return "the runs do not end"
    if done.returncode == 0:
        return None
    return (done.stdout or done.stderr).strip().splitlines()[-1]


def plant(mistake: Mistake) -> str | None:
    """Plant one mistake in a fresh copy; what catches it."""
    with TemporaryDirectory() as name:
        folder = copy_of_project(Path(name))
        file = folder / "linesim" / mistake.file
        text = file.read_text(encoding="utf-8")
        if text.count(mistake.before) != 1:
            raise SystemExit(f"{mistake.what}: its place stands {text.count(mistake.before)} times in {mistake.file}")
        file.write_text(text.replace(mistake.before, mistake.after), encoding="utf-8")
        return caught_by(folder, mistake.first)


def main(words: str = "") -> int:
    """Plant all mistakes, or those whose name holds the words."""
    missed = 0
    for mistake in (one for one in MISTAKES if words in one.what):
        found = plant(mistake)
        missed += found is None
        print(f"{'caught' if found else 'MISSED':<8}{mistake.what}\n        {found or 'by none'}", flush=True)
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))

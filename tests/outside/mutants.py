"""Changes one line of line/ or measures/ at a time, at random places, and counts how many are noticed.

    python tests/outside/mutants.py N [SEED] [RESULT.jsonl] [SHARE]

A mutant is a copy of the project with one of the changes of `one_line_changes.py`, drawn evenly from all of them. It
is caught if an outside check, a worked example or a test of conservation fails, or if a run does not end. The textbook
model of `tests/oracle` and all other tests are not asked.
Only the stages that carry out the changed statement are done, the cheap ones first, and of the proofs with luck only
the shorter ones, so that a mutant takes seconds: the share that is caught is a lower bound.
A result file is added to, and what stands in it is not done again. SHARE, such as 1/2, does every second one of them.
`python tests/outside/mutants.py again RESULT.jsonl` tries those once more that were not caught. Needs `coverage`.
"""

from __future__ import annotations

import contextlib
import io
import json
import os
import resource
import signal
import sys
import time
from collections.abc import Callable, Iterator
from functools import lru_cache, partial
from pathlib import Path
from shutil import copytree, ignore_patterns
from tempfile import TemporaryDirectory
from typing import Any

sys.path.insert(0, str(Path(__file__).parent))
from one_line_changes import FOLDERS, Mutant, changed, drawn, function_at, statement_at

ROOT = Path(__file__).parents[2]
MORE = 4.0  # seconds that a stage may take beyond those of the first round, which is watched and slow
MEMORY = 3 * 2**30  # bytes
BESIDE = 2  # processes of the first round
LONG = 0.8  # seconds of a proof with luck that is left out
QUICK = ("-m", "not slow")
TESTS: dict[str, tuple[str, ...]] = {  # what is carried out by pytest, in order
    "a worked example": ("tests/floor",),
    "batches": ("tests/outside/test_batches.py",),
    "mixed plants": ("tests/outside/test_mixed_plants.py",),
    "recomputed": ("tests/outside/test_recomputed.py",),
    "audit": ("tests/outside/test_audit.py",),
    "conservation": ("tests/line/test_demo.py", "tests/line/test_oracles.py"),
    "account of hours": ("tests/measures/test_run.py", "-k", "account or paid or worked or law or shares or sum"),
    "libraries": ("tests/outside/test_libraries.py", "-k", "not ciw")}
OPTIONS = ("-p", "no:cacheprovider", "-p", "no:xdist")
NOT_CAUGHT = ("survived", "not reached")
Lines = dict[str, dict[str, list[int]]]  # stage: file of line/ or measures/: lines that it carries out
FRESH = ("linesim.line", "linesim.measures", "linesim.questions", "linesim.show")  # read anew for each mutant


def tried(folder: Path, mutant: Mutant, lines: Lines, seconds: dict[str, float]) -> str:
    """What catches a mutant; "survived" if nothing does, "not reached" if nothing carries out its statement."""
    file = folder / "linesim" / mutant.file
    text = file.read_text(encoding="utf-8")
    inside = statement_at(text, mutant.line) if function_at(text, mutant.line) else set()
    stages = [stage for stage, of in lines.items() if not inside or inside.intersection(of.get(mutant.file, ()))]
    if not stages:
        return "not reached"
    file.write_text(changed(text, mutant), encoding="utf-8")
    try:
        return str(in_a_child(lambda: _stages(folder, {stage: seconds[stage] for stage in stages}), MEMORY)())
    finally:
        file.write_text(text, encoding="utf-8")


def in_a_child(work: Callable[[], Any], memory: int = resource.RLIM_INFINITY) -> Callable[[], Any]:
    """Work carried out in a process of its own, which may take so many bytes. The answer waits for its end."""
    read, write = os.pipe()
    child = os.fork()
    if not child:
        os.setsid()
        resource.setrlimit(resource.RLIMIT_AS, (memory, memory))
        os.close(read)
        try:
            found = work()
        except BaseException as error:  # an import that fails is noticed, too
            found = f"{type(error).__name__}: {str(error)[:80]}"
        with os.fdopen(write, "w") as pipe:
            pipe.write(json.dumps(found))
        os._exit(0)
    os.close(write)

    def answer() -> Any:
        with os.fdopen(read) as told:
            text = told.read()
        os.waitpid(child, 0)
        return json.loads(text) if text else "the runs do not end"

    return answer


def _stages(folder: Path, stages: dict[str, float]) -> str:
    """The stages one after the other, with the seconds that each may take, up to the first that fails."""
    os.chdir(folder)
    with _silent():
        for name, stage in _all_stages():
            if name in stages:
                signal.setitimer(signal.ITIMER_PROF, stages[name] + MORE)
                if found := stage():
                    return found
    return "survived"


@contextlib.contextmanager
def _silent() -> Iterator[None]:
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
        yield


def _first_round(folder: Path) -> dict[str, Any]:
    """Each stage in a process of its own, since some keep runs for others."""
    os.chdir(folder)
    listed, found = list(_all_stages()), {}
    for n in range(0, len(listed), BESIDE):
        answers = [(name, in_a_child(partial(_watched, folder, stage))) for name, stage in listed[n:n + BESIDE]]
        found.update({name: answer() for name, answer in answers})
    return found


def _watched(folder: Path, stage: Callable[[], str]) -> dict[str, Any]:
    """What a stage finds, the lines that it carries out and the seconds that it takes."""
    from coverage import Coverage

    watch = Coverage(data_file=None, config_file=False, source=[str(folder / "linesim" / name) for name in FOLDERS])
    begun = time.process_time()
    with _silent(), watch.collect():
        found = stage()
    data = watch.get_data()
    return {"found": found, "seconds": time.process_time() - begun,
            "lines": {str(Path(file).relative_to(folder / "linesim")): data.lines(file)
                      for file in data.measured_files()}}


def _all_stages() -> Iterator[tuple[str, Callable[[], str]]]:
    import pytest

    def tests(what: str, *words: str) -> tuple[str, Callable[[], str]]:
        return what, lambda: what if pytest.main(["-q", "-x", *OPTIONS, *QUICK, *words]) else ""

    from linesim.questions.proof.registry import BY_HAND, proofs

    listed = [(part == BY_HAND, proof) for part, proof in proofs()]
    yield from (_of_proof(proof) for by_hand, proof in listed if by_hand)
    yield from (tests(name, *words) for name, words in TESTS.items())
    yield from (_of_proof(proof) for by_hand, proof in listed if not by_hand)


def _of_proof(proof: Any) -> tuple[str, Callable[[], str]]:
    return proof.name, lambda: next((check.name for check in proof.checks() if not check.holds), "")


def copied(to: Path) -> None:
    """A copy of the project, read as far as no mutant changes it."""
    for kept in ("linesim", "scenarios", "tests"):
        copytree(ROOT / kept, to / kept, ignore=ignore_patterns("__pycache__"))
    (to / "pyproject.toml").write_bytes((ROOT / "pyproject.toml").read_bytes())
    sys.path.insert(0, str(to))
    sys.dont_write_bytecode = True
    import numpy
    import pandas
    import pytest
    import scipy.sparse.linalg
    import scipy.special
    import simpy

    from linesim.scenario import changing, reading

    assert all((changing, numpy, pandas, pytest, scipy, simpy))
    reading.read_scenario = lru_cache(maxsize=None)(reading.read_scenario)
    for file in ("birchwater", "birchwater-hard-year", "birchwater-pulse"):
        reading.read_scenario(to / "scenarios" / f"{file}.yaml")
    for name in [name for name in sys.modules if name.startswith(FRESH)]:
        del sys.modules[name]


def base_of(folder: Path, file: Path) -> dict[str, Any]:
    """What each stage carries out and the seconds it takes, with nothing changed; kept in a file."""
    if not file.is_file():
        stages = in_a_child(lambda: _first_round(folder))()
        wrong = stages if isinstance(stages, str) else [(name, of) for name, of in stages.items()
                                                        if isinstance(of, str) or of["found"]]
        if wrong:
            raise SystemExit(f"the checks must hold before anything is changed: {wrong}"[:300])
        seconds = {name: of["seconds"] for name, of in stages.items()}
        lines = {name: of["lines"] for name, of in stages.items() if seconds[name] <= LONG or name in TESTS}
        file.write_text(json.dumps({"seconds": seconds, "lines": lines}), encoding="utf-8")
    return dict(json.loads(file.read_text(encoding="utf-8")))


def main(count: str, seed: str = "1", result: str = "", share: str = "1/1") -> None:
    """Try the mutants one after the other and write down each."""
    if count == "again":
        result, out = seed, Path(seed).resolve().with_suffix(".again.jsonl")
        rows = [json.loads(line) for line in Path(seed).read_text(encoding="utf-8").splitlines()]
        chosen = [Mutant(*row["mutant"]) for row in rows if row["caught by"] in NOT_CAUGHT]
    else:
        out = Path(result or os.devnull).resolve()
        first, every = map(int, share.split("/"))
        chosen = drawn(ROOT, int(count), int(seed))[first - 1::every]
    done = [json.loads(line) for line in out.read_text(encoding="utf-8").splitlines()] if out.is_file() else []
    seen = {tuple(row["mutant"]) for row in done}
    with TemporaryDirectory() as name:
        folder = Path(name).resolve()
        copied(folder)
        base = base_of(folder, out.with_suffix(".base") if out.suffix else folder / "base")
        for mutant in (one for one in chosen if tuple(one) not in seen):
            text = (folder / "linesim" / mutant.file).read_text(encoding="utf-8").splitlines()[mutant.line - 1]
            found = tried(folder, mutant, base["lines"], base["seconds"])
            row = {"mutant": list(mutant), "text": text.strip(), "caught by": found}
            print(f"{found[:60]:<62}{mutant.file}:{mutant.line} {mutant.after!r:<10} {text.strip()[:90]}",
                  flush=True)
            with out.open("a", encoding="utf-8") as file:
                file.write(json.dumps(row) + "\n")


if __name__ == "__main__":
    main(*sys.argv[1:])

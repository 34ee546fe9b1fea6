"""Changes one line of line/ or measures/ at a time, at random places, and counts how many are noticed.

    python tests/outside/mutants.py N [SEED] [RESULT.jsonl] [SHARE]

A mutant is a copy of the project with one operator, comparison, condition, constant or call of min and max turned into
another. It is caught if an outside check, a worked example or a test of conservation fails, or if a run does not end.
Places are drawn evenly from all that can be changed. Left out are only what no number can depend on: annotations,
asserts, decorators (how much is remembered), words (strings put together, messages of errors), `line/cautions.py`,
which makes sentences, and what only hands runs on to other machines or to a compiler. Only the stages that call the
changed function are carried out, the cheap ones first, and of the proofs with luck only the shorter ones, so that a
mutant takes seconds: the share that is caught is a lower bound.
A result file is added to, and what stands in it is not done again. SHARE, such as 1/2, does every second one of them.
`python tests/outside/mutants.py again RESULT.jsonl` tries those once more that were not caught.
"""

from __future__ import annotations

import ast
import contextlib
import io
import json
import os
import random
import resource
import signal
import sys
import time
from collections.abc import Callable, Iterator
from cProfile import Profile
from functools import lru_cache
from pathlib import Path
from shutil import copytree, ignore_patterns
from tempfile import TemporaryDirectory
from types import CodeType
from typing import Any, NamedTuple

ROOT = Path(__file__).parents[2]
FOLDERS = ("line", "measures")
MORE = 4.0  # seconds that a stage may take beyond those of the first round, which is watched and slow
MEMORY = 3 * 2**30  # bytes
BESIDE = 9  # processes of the first round
LONG = 0.8  # seconds of a proof with luck that is left out
NO_NUMBERS = ("line/cautions.py", "line/cluster.py", "line/cluster_fault.py", "line/compiled.py")
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
TEXTBOOK = "the textbook model"
OPTIONS = ("-p", "no:cacheprovider", "-p", "no:xdist")
NOT_CAUGHT = ("survived", "not reached")
LAST_TESTS: dict[str, tuple[str, ...]] = {TEXTBOOK: ("tests/oracle", "-k", "not 4 and not 5 and not 6 and not 7")}
OPERATORS = {ast.Add: ("+", "-"), ast.Sub: ("-", "+"), ast.Mult: ("*", "/"), ast.Div: ("/", "*"),
             ast.FloorDiv: ("//", "/"), ast.Mod: ("%", "*"), ast.Pow: ("**", "*"), ast.BitAnd: ("&", "|"),
             ast.BitOr: ("|", "&")}
COMPARISONS = {ast.Lt: ("<", "<="), ast.LtE: ("<=", "<"), ast.Gt: (">", ">="), ast.GtE: (">=", ">"),
               ast.Eq: ("==", "!="), ast.NotEq: ("!=", "=="), ast.Is: ("is", "is not"), ast.IsNot: ("is not", "is"),
               ast.In: ("in", "not in"), ast.NotIn: ("not in", "in")}
Called = dict[str, list[str]]  # stage: functions of line/ and measures/ that it calls, as file:first line
FRESH = ("linesim.line", "linesim.measures", "linesim.questions", "linesim.show")  # read anew for each mutant


class Mutant(NamedTuple):
    """A span of a line that is written otherwise."""

    file: str
    line: int
    begin: int
    end: int
    after: str


def mutants_of(file: Path, name: str) -> Iterator[Mutant]:
    """All places of a file that can be changed."""
    text = file.read_text(encoding="utf-8")
    lines = text.splitlines()
    tree = ast.parse(text)
    left_out = {id(part) for node in ast.walk(tree) for part in _not_run(node)}
    for node in ast.walk(tree):
        if id(node) not in left_out:
            yield from (Mutant(name, *span) for span in _changes(node, lines))


def _not_run(node: ast.AST) -> Iterator[ast.AST]:
    """Parts that no number depends on: annotations, imports for types only, asserts, decorators, words."""
    hints = [getattr(node, name, None) for name in ("annotation", "returns")]
    hints += getattr(node, "decorator_list", [])
    if isinstance(node, ast.Assert | ast.JoinedStr | ast.Raise):
        hints.append(node)
    if isinstance(node, ast.If) and isinstance(node.test, ast.Name) and node.test.id == "TYPE_CHECKING":
        hints.append(node)
    for hint in hints:
        if hint is not None:
            yield from ast.walk(hint)


def _changes(node: ast.AST, lines: list[str]) -> Iterator[tuple[int, int, int, str]]:
    if isinstance(node, ast.BinOp) and type(node.op) in OPERATORS:
        yield from _between(node.left, node.right, lines, *OPERATORS[type(node.op)])
    elif isinstance(node, ast.AugAssign) and type(node.op) in OPERATORS:
        before, after = OPERATORS[type(node.op)]
        yield from _between(node.target, node.value, lines, before + "=", after + "=")
    elif isinstance(node, ast.Compare) and len(node.ops) == 1:
        yield from _between(node.left, node.comparators[0], lines, *COMPARISONS[type(node.ops[0])])
    elif isinstance(node, ast.BoolOp):
        words = ("and", "or") if isinstance(node.op, ast.And) else ("or", "and")
        yield from _between(node.values[0], node.values[1], lines, *words)
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not | ast.USub):
        yield node.lineno, node.col_offset, node.col_offset + (3 if isinstance(node.op, ast.Not) else 1), ""
    elif isinstance(node, ast.Constant) and type(node.value) in (int, float, bool):
        after = str(not node.value) if isinstance(node.value, bool) else repr(node.value + 1)
        yield node.lineno, node.col_offset, node.end_col_offset or 0, after
    elif isinstance(node, ast.Name) and node.id in ("min", "max"):
        yield node.lineno, node.col_offset, node.end_col_offset or 0, "max" if node.id == "min" else "min"
    elif isinstance(node, ast.Continue | ast.Break):
        after = "break" if isinstance(node, ast.Continue) else "pass"
        yield node.lineno, node.col_offset, node.end_col_offset or 0, after
    elif isinstance(node, ast.IfExp | ast.If | ast.While) and node.test.lineno == node.test.end_lineno:
        text = lines[node.test.lineno - 1].encode()[node.test.col_offset:node.test.end_col_offset].decode()
        yield node.test.lineno, node.test.col_offset, node.test.end_col_offset or 0, f"(not ({text}))"


def _between(left: ast.expr, right: ast.expr, lines: list[str], before: str,
             after: str) -> Iterator[tuple[int, int, int, str]]:
    if left.end_lineno != right.lineno or left.end_col_offset is None:
        return
    gap = lines[right.lineno - 1].encode()[left.end_col_offset:right.col_offset].decode()
    at = gap.find(before)
    if at >= 0:
        yield right.lineno, left.end_col_offset + at, left.end_col_offset + at + len(before), after


def drawn(root: Path, count: int, seed: int) -> list[Mutant]:
    """So many mutants, evenly from all places of both folders."""
    every = [mutant for folder in FOLDERS for file in sorted((root / "linesim" / folder).glob("*.py"))
             if f"{folder}/{file.name}" not in NO_NUMBERS for mutant in mutants_of(file, f"{folder}/{file.name}")]
    return random.Random(seed).sample(sorted(every), count)


def changed(text: str, mutant: Mutant) -> str:
    """The text of a file with the mutant in it."""
    lines = text.splitlines(keepends=True)
    line = lines[mutant.line - 1].encode()
    lines[mutant.line - 1] = (line[:mutant.begin] + mutant.after.encode() + line[mutant.end:]).decode()
    return "".join(lines)


def tried(folder: Path, mutant: Mutant, called: Called, seconds: dict[str, float]) -> str:
    """What catches a mutant; "survived" if nothing does, "not reached" if nothing calls its function."""
    file = folder / "linesim" / mutant.file
    text = file.read_text(encoding="utf-8")
    inside = function_at(text, mutant.line)
    stages = [stage for stage, of in called.items() if inside is None or f"{mutant.file}:{inside}" in of]
    if not stages:
        return "not reached"
    file.write_text(changed(text, mutant), encoding="utf-8")
    try:
        return str(in_a_child(folder, {stage: seconds[stage] for stage in stages})()["found"])
    finally:
        file.write_text(text, encoding="utf-8")


def function_at(text: str, line: int) -> int | None:
    """First line of the innermost function that a line stands in; None outside of all, as its head does."""
    found = None
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef) and node.body[0].lineno <= line <= (node.end_lineno or 0):
            first = min([node.lineno, *(one.lineno for one in node.decorator_list)])
            found = first if found is None else max(found, first)
    return found


def in_a_child(folder: Path, stages: dict[str, float] | None, share: tuple[int, int] = (0, 1)) -> Callable[[], Any]:
    """Carry out the stages, with the seconds that each takes, in a process of its own; if none are named a share of all
    of them, and what each calls. The answer waits for its end."""
    read, write = os.pipe()
    child = os.fork()
    if not child:
        os.setsid()
        if stages is not None:
            resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
        os.close(read)
        try:
            found = _stages(folder, stages, share)
        except BaseException as error:  # an import that fails is noticed, too
            found = {"found": f"{type(error).__name__}: {str(error)[:80]}"}
        with os.fdopen(write, "w") as answer:
            answer.write(json.dumps(found))
        os._exit(0)
    os.close(write)

    def answer() -> Any:
        with os.fdopen(read) as told:
            text = told.read()
        os.waitpid(child, 0)
        return json.loads(text) if text else {"found": "the runs do not end"}

    return answer


def _stages(folder: Path, stages: dict[str, float] | None, share: tuple[int, int]) -> dict[str, Any]:
    """The stages one after the other, up to the first that fails."""
    os.chdir(folder)
    called, seconds = {}, {}
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
        for n, (name, stage) in enumerate(_all_stages()):
            if n % share[1] != share[0] or (stages is not None and name not in stages):
                continue
            profile, begun = Profile(), time.process_time()
            if stages is not None:
                signal.setitimer(signal.ITIMER_PROF, stages[name] + MORE)
            found = profile.runcall(stage) if stages is None else stage()
            codes = [entry.code for entry in profile.getstats() if isinstance(entry.code, CodeType)]
            called[name] = sorted({f"{Path(code.co_filename).parent.name}/{Path(code.co_filename).name}:"
                                   f"{code.co_firstlineno}" for code in codes if str(folder) in code.co_filename})
            seconds[name] = time.process_time() - begun
            if found:
                return {"found": found}
    return {"found": "survived", "called": called, "seconds": seconds}


def _all_stages() -> Iterator[tuple[str, Callable[[], str]]]:
    import pytest

    def tests(what: str, *words: str) -> tuple[str, Callable[[], str]]:
        return what, lambda: what if pytest.main(["-q", "-x", *OPTIONS, *QUICK, *words]) else ""

    from linesim.questions.proof.registry import BY_HAND, proofs

    listed = [(part == BY_HAND, proof) for part, proof in proofs()]
    yield from (_of_proof(proof) for by_hand, proof in listed if by_hand)
    yield from (tests(name, *words) for name, words in TESTS.items())
    yield from (_of_proof(proof) for by_hand, proof in listed if not by_hand)
    yield from (tests(name, *words) for name, words in LAST_TESTS.items())


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
    """What each stage calls and the seconds it takes, with nothing changed; kept in a file."""
    if not file.is_file():
        parts = [answer() for answer in [in_a_child(folder, None, (n, BESIDE)) for n in range(BESIDE)]]
        for part in parts:
            if part["found"] != "survived":
                raise SystemExit(f"the checks must hold before anything is changed: {part['found']}")
        base = {key: {name: of for part in parts for name, of in part[key].items()} for key in ("called", "seconds")}
        long = [name for name, took in base["seconds"].items() if took > LONG and name not in {**TESTS, **LAST_TESTS}]
        base["called"] = {name: of for name, of in base["called"].items() if name not in long}
        file.write_text(json.dumps(base), encoding="utf-8")
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
            found = tried(folder, mutant, base["called"], base["seconds"])
            row = {"mutant": list(mutant), "text": text.strip(), "caught by": found}
            print(f"{found[:60]:<62}{mutant.file}:{mutant.line} {mutant.after!r:<10} {text.strip()[:90]}",
                  flush=True)
            with out.open("a", encoding="utf-8") as file:
                file.write(json.dumps(row) + "\n")


if __name__ == "__main__":
    main(*sys.argv[1:])

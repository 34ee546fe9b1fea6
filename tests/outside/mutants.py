"""Changes one line of line/ or measures/ at a time, at random places, and counts how many are noticed.

    python tests/outside/mutants.py N [SEED] [RESULT.jsonl]

A mutant is a copy of the project with one operator, comparison, condition, constant or call of min and max turned into
another. It is caught if an outside check, a worked example or a test of conservation fails, or if a run does not end.
Places are drawn evenly from all that can be changed; none is left out for being hard. Only the stages that call the
changed function are carried out, and of the proofs with luck only the shorter ones, so that a mutant takes seconds: the
share that is caught is a lower bound. A result file is added to, and what stands in it is not done again.
"""

from __future__ import annotations

import ast
import contextlib
import io
import json
import os
import random
import signal
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from shutil import copytree, ignore_patterns
from tempfile import TemporaryDirectory
from types import CodeType
from typing import Any, NamedTuple

ROOT = Path(__file__).parents[2]
FOLDERS = ("line", "measures")
LONGEST = 600  # seconds of one mutant
LONG = ("line", "Erlang", "docks", "ramp-up", "M/", "E2/", "priorities", "network like")  # left out: see above
CONSERVED = ("tests/line/test_oracles.py", "tests/line/test_demo.py")
CONSERVATION = "nothing_is_lost or sum or in_is_out or no_place or no_more"
OPERATORS = {ast.Add: ("+", "-"), ast.Sub: ("-", "+"), ast.Mult: ("*", "/"), ast.Div: ("/", "*"),
             ast.FloorDiv: ("//", "/"), ast.Mod: ("%", "*"), ast.Pow: ("**", "*"), ast.BitAnd: ("&", "|"),
             ast.BitOr: ("|", "&")}
COMPARISONS = {ast.Lt: ("<", "<="), ast.LtE: ("<=", "<"), ast.Gt: (">", ">="), ast.GtE: (">=", ">"),
               ast.Eq: ("==", "!="), ast.NotEq: ("!=", "=="), ast.Is: ("is", "is not"), ast.IsNot: ("is not", "is"),
               ast.In: ("in", "not in"), ast.NotIn: ("not in", "in")}
Called = dict[str, set[str]]  # stage: functions of line/ and measures/ that it calls, as file:first line


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
    """Parts that are never carried out: annotations, and imports for types only."""
    hints = [getattr(node, name, None) for name in ("annotation", "returns")]
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
             for mutant in mutants_of(file, f"{folder}/{file.name}")]
    return random.Random(seed).sample(sorted(every), count)


def changed(text: str, mutant: Mutant) -> str:
    """The text of a file with the mutant in it."""
    lines = text.splitlines(keepends=True)
    line = lines[mutant.line - 1].encode()
    lines[mutant.line - 1] = (line[:mutant.begin] + mutant.after.encode() + line[mutant.end:]).decode()
    return "".join(lines)


def tried(folder: Path, mutant: Mutant, called: Called) -> str:
    """What catches a mutant; "survived" if nothing does, "not reached" if nothing calls its function."""
    file = folder / "linesim" / mutant.file
    text = file.read_text(encoding="utf-8")
    inside = function_at(text, mutant.line)
    stages = [stage for stage, of in called.items() if inside is None or f"{mutant.file}:{inside}" in of]
    if not stages:
        return "not reached"
    file.write_text(changed(text, mutant), encoding="utf-8")
    try:
        return str(in_a_child(folder, stages)["found"])
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


def in_a_child(folder: Path, stages: list[str] | None) -> dict[str, Any]:
    """Carry out the stages in a process of its own; all of them, and what each calls, if none are named."""
    read, write = os.pipe()
    child = os.fork()
    if not child:
        signal.alarm(LONGEST)
        os.close(read)
        try:
            found = _stages(folder, stages)
        except BaseException as error:  # an import that fails is noticed, too
            found = {"found": f"{type(error).__name__}: {str(error)[:80]}"}
        with os.fdopen(write, "w") as answer:
            answer.write(json.dumps(found))
        os._exit(0)
    os.close(write)
    with os.fdopen(read) as answer:
        text = answer.read()
    os.waitpid(child, 0)
    return dict(json.loads(text)) if text else {"found": "the runs do not end"}


def _stages(folder: Path, stages: list[str] | None) -> dict[str, Any]:
    """Worked examples, checks without luck, conservation, then all other checks; the first that fails."""
    os.chdir(folder)
    sys.path.insert(0, str(folder))
    sys.dont_write_bytecode = True
    called: dict[str, list[str]] = {}
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
        for name, stage in _all_stages():
            if stages is not None and name not in stages:
                continue
            codes: set[CodeType] = set()
            if stages is None:
                sys.setprofile(lambda frame, event, _, codes=codes: codes.add(frame.f_code))
            found = stage()
            sys.setprofile(None)
            called[name] = sorted(f"{Path(code.co_filename).parent.name}/{Path(code.co_filename).name}:"
                                  f"{code.co_firstlineno}" for code in codes if str(folder) in code.co_filename)
            if found:
                return {"found": found}
    return {"found": "survived", "called": called}


def _all_stages() -> Iterator[tuple[str, Callable[[], str]]]:
    import pytest

    def tests(what: str, *words: str) -> Callable[[], str]:
        return lambda: what if pytest.main(["-q", "-x", "-p", "no:cacheprovider", "-p", "no:xdist", *words]) else ""

    yield "examples", tests("a worked example", "tests/floor")
    from linesim.questions.proof.registry import PARTS

    for part, proofs in PARTS.items():
        if part == "networks":
            yield "conservation", tests("conservation", *CONSERVED, "-k", CONSERVATION)
        for proof in (one for one in proofs if not (one.slow or one.name.startswith(LONG))):
            yield proof.name, lambda proof=proof: next(
                (check.name for check in proof.checks() if not check.holds), "")


def main(count: str, seed: str = "1", result: str = "") -> None:
    """Try the mutants one after the other and write down each."""
    import numpy
    import pandas
    import pydantic
    import pytest
    import scipy.sparse.linalg
    import scipy.special
    import simpy

    assert all((numpy, pandas, pydantic, pytest, scipy, simpy))  # read once, before the processes part
    out = Path(result).resolve() if result else None
    done = [json.loads(line) for line in out.read_text().splitlines()] if out and out.exists() else []
    seen = {tuple(row["mutant"]) for row in done}
    with TemporaryDirectory() as name:
        folder = Path(name).resolve()
        for kept in ("linesim", "scenarios", "tests"):
            copytree(ROOT / kept, folder / kept, ignore=ignore_patterns("__pycache__"))
        (folder / "pyproject.toml").write_bytes((ROOT / "pyproject.toml").read_bytes())
        base = in_a_child(folder, None)
        if base["found"] != "survived":
            raise SystemExit(f"the checks must hold before anything is changed: {base['found']}")
        called = {stage: set(of) for stage, of in base["called"].items()}
        for mutant in drawn(folder, int(count), int(seed)):
            if tuple(mutant) in seen:
                continue
            text = (folder / "linesim" / mutant.file).read_text(encoding="utf-8").splitlines()[mutant.line - 1]
            row = {"mutant": list(mutant), "text": text.strip(), "caught by": tried(folder, mutant, called)}
            print(f"{row['caught by'][:60]:<62}{mutant.file}:{mutant.line} {mutant.after!r:<10} {text.strip()[:90]}",
                  flush=True)
            if out:
                with out.open("a", encoding="utf-8") as file:
                    file.write(json.dumps(row) + "\n")


if __name__ == "__main__":
    main(*sys.argv[1:])

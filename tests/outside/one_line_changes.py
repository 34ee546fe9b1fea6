"""The changes of one line that a mutant may have: what they are, and all places where they can be made.

One operator, comparison, condition, constant or call of min and max is turned into another, or one statement is dropped
(statement deletion: Deng, Offutt and Li 2013). A comparison by size is there with its bound moved (`<` to `<=`) and
reversed (`<` to `>=`). Left out by rule is only what no number can depend on: annotations, asserts and `strict` of
zip, decorators (how much is remembered), words (strings put together, messages of errors), `line/cautions.py`, which
makes sentences, what only hands runs on to other machines or to a compiler, and the moved bound where one side is a
draw (equality has chance 0). Statements are not dropped where that stops every run at once: the first value of a name,
the attributes that `__init__` sets, the return at the end of a function.
"""

from __future__ import annotations

import ast
import random
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

FOLDERS = ("line", "measures")
NO_NUMBERS = ("line/cautions.py", "line/cluster.py", "line/cluster_fault.py", "line/compiled.py")
OPERATORS = {ast.Add: ("+", "-"), ast.Sub: ("-", "+"), ast.Mult: ("*", "/"), ast.Div: ("/", "*"),
             ast.FloorDiv: ("//", "/"), ast.Mod: ("%", "*"), ast.Pow: ("**", "*"), ast.BitAnd: ("&", "|"),
             ast.BitOr: ("|", "&")}
COMPARISONS: dict[type[ast.cmpop], tuple[str, ...]] = {
    ast.Lt: ("<", ">=", "<="), ast.LtE: ("<=", ">", "<"), ast.Gt: (">", "<=", ">="), ast.GtE: (">=", "<", ">"),
    ast.Eq: ("==", "!="), ast.NotEq: ("!=", "=="), ast.Is: ("is", "is not"), ast.IsNot: ("is not", "is"),
    ast.In: ("in", "not in"), ast.NotIn: ("not in", "in")}  # reversed, then the bound moved
DRAWS = ("uniform", "first", "four", "eight", "year", "dates")  # of luck
Span = tuple[int, int, int, str]  # line, begin, end, what stands there instead


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
    functions = [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)]
    by_luck = {id(node) for function in functions for node in _beside_draws(function)}
    for node in ast.walk(tree):
        if id(node) not in left_out:
            yield from (Mutant(name, *span) for span in _changes(node, lines, id(node) in by_luck))
    for function in functions:
        yield from (Mutant(name, *_all_of(one, "pass")) for one in _droppable(function)
                    if id(one) not in left_out and one.lineno == one.end_lineno)


def _not_run(node: ast.AST) -> Iterator[ast.AST]:
    """Parts that no number depends on: annotations, imports for types only, asserts, decorators, words."""
    hints = [getattr(node, "annotation", None), getattr(node, "returns", None), *getattr(node, "decorator_list", [])]
    if isinstance(node, ast.Assert | ast.JoinedStr | ast.Raise):
        hints.append(node)
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "zip":
        hints += node.keywords
    if isinstance(node, ast.If) and isinstance(node.test, ast.Name) and node.test.id == "TYPE_CHECKING":
        hints.append(node)
    for hint in hints:
        if hint is not None:
            yield from ast.walk(hint)


def _beside_draws(function: ast.FunctionDef) -> Iterator[ast.AST]:
    """Comparisons with a draw: a call of luck, or a name that stands for one."""
    given = {one.arg for one in function.args.args if one.arg in ("uniform", "uniforms")}
    taken = {name.id for node in ast.walk(function) if isinstance(node, ast.Assign) and _is_draw(node.value, set())
             for target in node.targets for name in ast.walk(target) if isinstance(name, ast.Name)}
    for node in ast.walk(function):
        sides = (node.left, *node.comparators) if isinstance(node, ast.Compare) else ()
        if any(_is_draw(one, given | taken) for one in sides):
            yield node


def _is_draw(node: ast.expr, names: set[str]) -> bool:
    if isinstance(node, ast.Subscript):
        node = node.value
    if isinstance(node, ast.Name):
        return node.id in names
    return (isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr in DRAWS
            and ast.unparse(node.func.value).endswith("luck"))


def _droppable(function: ast.FunctionDef) -> Iterator[ast.stmt]:
    """Statements of a function without which it may still go on."""
    stored: dict[str, int] = {}  # name: first line on which it has a value
    for node in ast.walk(function):
        if isinstance(node, ast.arg) or (isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store)):
            name = node.arg if isinstance(node, ast.arg) else node.id
            stored[name] = min(node.lineno, stored.get(name, node.lineno))
    yields = sum(isinstance(node, ast.Yield | ast.YieldFrom) for node in ast.walk(function))
    for above in ast.walk(function):
        for one in _blocks(above):
            if _may_go(one, above, function.name, stored, yields > 1):
                yield one


def _blocks(above: ast.AST) -> list[ast.stmt]:
    """Statements right under another."""
    blocks = [getattr(above, part, None) for part in ("body", "orelse", "finalbody")]
    return [one for block in blocks if isinstance(block, list) for one in block]


def _may_go(one: ast.stmt, above: ast.AST, function: str, stored: dict[str, int], several_yields: bool) -> bool:
    if isinstance(one, ast.Expr):
        return isinstance(one.value, ast.Call) or (several_yields and isinstance(one.value, ast.Yield | ast.YieldFrom))
    if isinstance(one, ast.Assign | ast.AnnAssign) and one.value is not None:
        targets = one.targets if isinstance(one, ast.Assign) else [one.target]
        names = [node.id for target in targets for node in ast.walk(target)
                 if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store)]
        first = function == "__init__" and any(isinstance(target, ast.Attribute) for target in targets)
        return not first and all(stored[name] < one.lineno for name in names)
    if isinstance(one, ast.Return):
        return isinstance(above, ast.If)
    return isinstance(one, ast.AugAssign | ast.Delete | ast.Continue | ast.Break)


def _changes(node: ast.AST, lines: list[str], by_luck: bool) -> Iterator[Span]:
    if isinstance(node, ast.BinOp) and type(node.op) in OPERATORS:
        yield from _between(node.left, node.right, lines, *OPERATORS[type(node.op)])
    elif isinstance(node, ast.AugAssign) and type(node.op) in OPERATORS:
        before, after = OPERATORS[type(node.op)]
        yield from _between(node.target, node.value, lines, before + "=", after + "=")
    elif isinstance(node, ast.Compare):
        for left, op, right in zip((node.left, *node.comparators), node.ops, node.comparators, strict=False):
            before, *others = COMPARISONS[type(op)]
            for after in others[:1] if by_luck else others:
                yield from _between(left, right, lines, before, after)
    elif isinstance(node, ast.BoolOp):
        words = ("and", "or") if isinstance(node.op, ast.And) else ("or", "and")
        yield from _between(node.values[0], node.values[1], lines, *words)
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not | ast.USub):
        yield node.lineno, node.col_offset, node.col_offset + (3 if isinstance(node.op, ast.Not) else 1), ""
    elif isinstance(node, ast.Constant) and isinstance(node.value, int | float):
        yield _all_of(node, str(not node.value) if isinstance(node.value, bool) else repr(node.value + 1))
    elif isinstance(node, ast.Name) and node.id in ("min", "max"):
        yield _all_of(node, "max" if node.id == "min" else "min")
    elif isinstance(node, ast.Continue):
        yield _all_of(node, "break")
    elif isinstance(node, ast.IfExp | ast.If | ast.While) and not _turned_already(node.test):
        text = lines[node.test.lineno - 1].encode()[node.test.col_offset:node.test.end_col_offset].decode()
        yield _all_of(node.test, f"(not ({text}))")


def _all_of(node: ast.expr | ast.stmt, after: str) -> Span:
    return node.lineno, node.col_offset, node.end_col_offset or 0, after


def _turned_already(test: ast.expr) -> bool:
    """Whether a condition is reversed by another change; or is too long for this one."""
    one = isinstance(test, ast.Compare) and len(test.ops) == 1
    return one or isinstance(test, ast.UnaryOp) or test.lineno != test.end_lineno


def _between(left: ast.expr, right: ast.expr, lines: list[str], before: str,
             after: str) -> Iterator[Span]:
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
    return random.Random(seed).sample(sorted(set(every)), count)


def changed(text: str, mutant: Mutant) -> str:
    """The text of a file with the mutant in it."""
    lines = text.splitlines(keepends=True)
    line = lines[mutant.line - 1].encode()
    lines[mutant.line - 1] = (line[:mutant.begin] + mutant.after.encode() + line[mutant.end:]).decode()
    return "".join(lines)


def statement_at(text: str, line: int) -> set[int]:
    """Lines of the innermost statement that a line stands in; of one with a block under it only its head."""
    found: set[int] = set()
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.stmt):
            of = set(range(node.lineno, min([one.lineno for one in _blocks(node)], default=(node.end_lineno or 0) + 1)))
            found = of if line in of and (not found or len(of) <= len(found)) else found
    return found


def function_at(text: str, line: int) -> int | None:
    """First line of the innermost function that a line stands in; None outside of all, as its head does."""
    found = None
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef) and node.body[0].lineno <= line <= (node.end_lineno or 0):
            first = min([node.lineno, *(one.lineno for one in node.decorator_list)])
            found = first if found is None else max(found, first)
    return found

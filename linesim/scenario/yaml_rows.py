"""Adds entries to the lists of a YAML text, and takes entries and fields out; all else stays as the planner wrote it.

A comment on the lines of what is taken out goes with it; every other one stays. What would change any other value is
refused.
"""

from __future__ import annotations

from copy import deepcopy
from typing import Any

from .paths import put
from .tree import Path_, read_tree, value_at
from .written import key_written, written
from .yaml_text import CannotKeep, Node, as_read, composed, end_of, found_at, is_empty, kept, with_value

LONGEST_LINE = 120


def with_entries(text: str, path: Path_, at: int, entries: list[Any]) -> str:
    """The text with entries put into a list, the first of them as number `at`; a list that is left out is begun.

    Raises CannotKeep, or ValueError for a value that no file can hold.
    """
    wanted = read_tree(text, "").values
    there = value_at(path, wanted)
    if there is not None and not isinstance(there, list):
        raise CannotKeep("no list stands there")
    if not 0 <= at <= len(there or ()):
        raise CannotKeep(f"the list has {len(there or ())} entries")
    holder, key, node = found_at(composed(text), path)
    if not there:
        new = _begun(text, path, holder, key, node, entries)
    elif node.flow_style:
        new = _into_brackets(text, node, at, entries)
    else:
        new = _into_lines(text, node, at, entries)
    put(wanted, path, [*(there or ())[:at], *map(as_read, entries), *(there or ())[at:]])
    return kept(text, new, wanted)


def without(text: str, path: Path_) -> str:
    """The text without a list entry or a field; raises CannotKeep, LookupError where nothing stands there."""
    holder, _, node = found_at(composed(text), path)
    if node is None:
        raise LookupError("nothing stands there")
    parts = [(key.start_mark.index, _end_of_field(key, value, text)) for key, value in holder.value] \
        if holder.id == "mapping" else [(entry.start_mark.index, end_of(entry, text)) for entry in holder.value]
    number = path[-1] if isinstance(path[-1], int) else [key.value for key, _ in holder.value].index(path[-1])
    if holder.flow_style:
        new, first, last = _out_of_brackets(text, parts, number)
    else:
        new, first, last = _out_of_lines(text, path, holder, parts[number])
    wanted = deepcopy(read_tree(text, "").values)
    del value_at(path[:-1], wanted)[path[-1]]
    return kept(text, new, wanted, (first, last))


# adding ---------------------------------------------------------------------------------------------------------
def _newline(text: str) -> str:
    return "\r\n" if "\r\n" in text else "\n"


def _begun(text: str, path: Path_, holder: Node, key: Node, node: Node, entries: list[Any]) -> str:
    """A list that had no entries; in a section written in lines it is written in lines, too."""
    if holder.id != "mapping" or holder.flow_style or (node is not None and not (is_empty(node) or node.flow_style)):
        return with_value(text, path, entries)
    newline, indent = _newline(text), " " * holder.value[0][0].start_mark.column
    lines = "".join(f"{indent}  - {written(entry)}{newline}" for entry in entries)
    if key is None:
        at = text.find("\n", end_of(holder, text)) + 1 or len(text)
        before = "" if text[:at].endswith("\n") else newline
        return f"{text[:at]}{before}{indent}{key_written(path[-1])}:{newline}{lines}{text[at:]}"
    colon = text.index(":", key.end_mark.index) + 1
    last = colon if is_empty(node) else end_of(node, text)
    stop = text.find("\n", last) + 1 or len(text)
    rest = text[last:stop].rstrip("\r\n")
    return f"{text[:colon]}{rest}{newline}{lines}{text[stop:]}"


def _into_lines(text: str, node: Node, at: int, entries: list[Any]) -> str:
    newline, column, like = _newline(text), node.start_mark.column, node.value[min(at, len(node.value) - 1)]
    lines = "".join(_entry(entry, column, like, newline) for entry in entries)
    if at == 0:
        dash = text.rindex("-", 0, node.value[0].start_mark.index)
        start = text.rfind("\n", 0, dash) + 1
        if text[start:dash].strip():
            raise CannotKeep("the first entry of this list does not begin a line; put another before it by hand")
        return text[:start] + lines + text[start:]
    stop = text.find("\n", end_of(node.value[at - 1], text)) + 1
    if not stop:
        return f"{text}{newline}{lines.removesuffix(newline)}"
    return text[:stop] + lines + text[stop:]


def _entry(entry: Any, column: int, like: Node, newline: str) -> str:
    """A list entry as lines, in the form of the one beside it: on one line, or a field a line."""
    indent = " " * column
    if like.id != "mapping" or like.flow_style or not isinstance(entry, dict) or not entry:
        return f"{indent}- {written(entry)}{newline}"
    dash = "-" + " " * max(1, like.value[0][0].start_mark.column - column - 1)
    fields = [f"{key_written(name)}: {written(value)}" for name, value in entry.items()]
    begun = [indent + dash, *[" " * (column + len(dash))] * (len(fields) - 1)]
    return "".join(f"{start}{field}{newline}" for start, field in zip(begun, fields, strict=True))


def _into_brackets(text: str, node: Node, at: int, entries: list[Any]) -> str:
    if at == 0:
        start = node.value[0].start_mark.index
        return text[:start] + "".join(f"{written(entry)}, " for entry in entries) + text[start:]
    here = end_of(node.value[at - 1], text)
    added, line = "", here - text.rfind("\n", 0, here) - 1
    in_lines = "\n" in text[node.start_mark.index:end_of(node, text)]
    start = text.rfind("\n", 0, node.value[-1].start_mark.index) + 1
    indent = len(text[start:]) - len(text[start:].lstrip(" "))
    for entry in entries:
        new = written(entry)
        if in_lines and line + len(new) + 3 > LONGEST_LINE:
            added, line = f"{added},{_newline(text)}{' ' * indent}{new}", indent + len(new)
        else:
            added, line = f"{added}, {new}", line + len(new) + 2
    return text[:here] + added + text[here:]


# taking out -----------------------------------------------------------------------------------------------------
def _end_of_field(key: Node, value: Node, text: str) -> int:
    return text.index(":", key.end_mark.index) + 1 if is_empty(value) else end_of(value, text)


def _out_of_lines(text: str, path: Path_, holder: Node, part: tuple[int, int]) -> tuple[str, int, int]:
    """Without the lines of an entry or field; the last one of a section leaves it empty, not away."""
    begin = part[0] if holder.id == "mapping" else text.rindex("-", 0, part[0] + 1)
    start = text.rfind("\n", 0, begin) + 1
    stop = text.find("\n", part[1]) + 1 or len(text)
    if text[start:begin].strip():
        raise CannotKeep("it does not begin a line of its own; take it out by hand")
    new = text[:start] + text[stop:]
    if len(holder.value) == 1:
        if len(path) < 2:
            raise CannotKeep("nothing would be left of the file")
        _, key, _ = found_at(composed(text), path[:-1])
        if key is None:
            raise CannotKeep("it is all that its entry says; take the entry out")
        colon = text.index(":", key.end_mark.index) + 1
        new = new[:colon] + (" {}" if holder.id == "mapping" else " []") + new[colon:]
    return new, start, stop


def _out_of_brackets(text: str, parts: list[tuple[int, int]], number: int) -> tuple[str, int, int]:
    start, end = parts[number]
    if number + 1 == len(parts):
        if not number:
            stop = _comma(text, end) + 1 or end
            return text[:start] + text[stop:], start, stop
        comma = _comma(text, parts[number - 1][1])
        if not text[comma + 1:start].strip():
            return text[:comma] + text[end:], comma, end
        return text[:comma] + text[comma + 1:start] + text[end:], start, end
    comma, following = _comma(text, end), parts[number + 1][0]
    line = text.rfind("\n", 0, start) + 1
    if "\n" not in text[comma:following]:
        return text[:start] + text[following:], start, following
    if text[line:start].strip():  # others stand before it on the line, and the next one on a line of its own
        first = start - (len(text[:start]) - len(text[:start].rstrip(" ")))
        return text[:first] + text[comma + 1:], first, comma + 1
    stop = text.index("\n", comma) + 1
    return text[:line] + text[stop:], line, stop


def _comma(text: str, at: int) -> int:
    """The comma behind an entry, comments between them apart; -1 where the brackets close first."""
    while at < len(text) and text[at] not in ",]}":
        at = (text.find("\n", at) if text[at] == "#" else at) + 1
    return at if text[at:at + 1] == "," else -1

"""Changes one value in the text of a YAML file and leaves every other character as the planner wrote it.

The text is edited at the marks of the exact reader rather than written anew, so layout, quoting and order cannot be
lost. What would lose a comment, or change any other value, is refused.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.error import YAMLError

from .faults import ScenarioFaults
from .paths import put
from .quick import quick_nodes
from .tree import Path_, read_tree
from .written import key_written, written

Node = Any  # of the reader: a scalar, a list or a mapping, with its marks
_COMMENT = re.compile(r"(?:^|(?<=\s))#.*$", re.MULTILINE)
_BESIDE = re.compile(r"(  +)#")


class CannotKeep(Exception):
    """The value cannot be changed without touching what stands around it."""


def with_value(text: str, path: Path_, value: Any) -> str:
    """The text with a value put at a path; raises CannotKeep, or ValueError for a value that no file can hold."""
    root = composed(text)
    holder, key, node = found_at(root, path)
    if node is None:
        new = _with_field(text, holder, path[-1], value)
    else:
        new = _replaced(text, holder, key, node, value)
    wanted = read_tree(text, "").values
    put(wanted, path, as_read(value))
    return kept(text, new, wanted)


def as_read(value: Any) -> Any:
    """A value as the reader finds it once it is written."""
    return read_tree(f"x: {written(value)}", "").values["x"]


def kept(text: str, new: str, wanted: Any, without: tuple[int, int] = (0, 0)) -> str:
    """The new text, if it says just what was asked for and holds every comment of the old one but those between two
    characters, which are taken out."""
    try:
        found, comments = read_tree(new, "").values, comments_of(new)
    except (YAMLError, ScenarioFaults):
        found, comments = None, ()
    if found != wanted:
        raise CannotKeep("it cannot be changed here without touching what stands around it; change it by hand")
    first, last = without
    if comments != tuple(comment for at, comment in comments_at(text) if not first <= at < last):
        raise CannotKeep("a comment stands inside what would be replaced; change its fields one by one, or by hand")
    return new


@lru_cache(maxsize=2)  # a text is looked at before and after a change, and again before the next one
def composed(text: str) -> Any:
    """The nodes of a text, with their marks."""
    quickly = quick_nodes(text)
    return YAML(typ="safe", pure=True).compose(text) if quickly is None else quickly


@lru_cache(maxsize=2)
def comments_at(text: str) -> tuple[tuple[int, str], ...]:
    """All comments of a text, in order, with the number of the character at which each begins."""
    letters = list(text)
    for first, last in _scalars(composed(text), text):
        letters[first:last] = ["\n" if letter == "\n" else "x" for letter in letters[first:last]]
    return tuple((found.start(), found.group().rstrip()) for found in _COMMENT.finditer("".join(letters)))


def comments_of(text: str) -> tuple[str, ...]:
    """All comments of a text, in order."""
    return tuple(comment for _, comment in comments_at(text))


def _scalars(node: Node, text: str) -> list[tuple[int, int]]:
    if node.id == "scalar":
        return [(node.start_mark.index, end_of(node, text))]
    inner = [part for pair in node.value for part in pair] if node.id == "mapping" else node.value
    return [span for part in inner for span in _scalars(part, text)]


def found_at(node: Node, path: Path_) -> tuple[Node, Node, Node]:
    """What holds the last step of a path, the node of its name (none in a list), and its value (None: not there)."""
    holder, key, found = node, None, node
    for step in path:
        holder, key = found, None
        if isinstance(step, int):
            found = holder.value[step]
        elif holder.id == "mapping":
            key, found = next((pair for pair in holder.value if pair[0].value == step), (None, None))
        else:
            raise CannotKeep("its section is not written in this file")
    return holder, key, found


def is_empty(node: Node) -> bool:
    """Whether a field says nothing behind its colon."""
    return node.id == "scalar" and node.value == "" and not node.style


def end_of(node: Node, text: str) -> int:
    """Where the written value really ends: the reader's mark of a block lies at what comes next."""
    if node.id == "scalar":
        if node.style not in ("|", ">"):
            return int(node.end_mark.index)
        return len(text[:node.end_mark.index].rstrip())
    if node.flow_style or not node.value:
        return int(node.end_mark.index)
    last = node.value[-1]
    if node.id == "mapping":
        name, last = last
        if is_empty(last):
            return text.index(":", name.end_mark.index) + 1
    return end_of(last, text)


def _replaced(text: str, holder: Node, key: Node, node: Node, value: Any) -> str:
    first, last = node.start_mark.index, end_of(node, text)
    new = written(value, node.style or "" if node.id == "scalar" else "")
    if key is None:
        if is_empty(node):
            raise CannotKeep("an empty list entry is to be filled by hand")
        return _joined(text, first, last, new)
    colon = text.index(":", key.end_mark.index) + 1
    if is_empty(node):
        return _joined(text, colon, colon, f" {new}")
    if node.id == "scalar" or node.flow_style:
        return _joined(text, first, last, new)
    rest = text[colon:text.find("\n", colon)].rstrip("\r")  # a block of lines: the line of its name stays
    return f"{text[:colon]} {new}{rest}{text[last:]}"


def _joined(text: str, first: int, last: int, new: str) -> str:
    """A comment at the end of the line keeps its column where there is room."""
    beside = _BESIDE.match(text, last)
    if beside and "\n" not in text[first:last]:
        blanks = max(2, len(beside[1]) - len(new) + last - first)
        return text[:first] + new + " " * blanks + text[last + len(beside[1]):]
    return text[:first] + new + text[last:]


def _with_field(text: str, holder: Node, name: Any, value: Any) -> str:
    """A new field behind the last one of its section."""
    field = f"{key_written(name)}: {written(value)}"
    if holder.flow_style:
        if not holder.value:
            first = holder.start_mark.index
            return text[:first] + "{" + field + "}" + text[holder.end_mark.index:]
        last_name, last = holder.value[-1]
        at = text.index(":", last_name.end_mark.index) + 1 if is_empty(last) else end_of(last, text)
        return f"{text[:at]}, {field}{text[at:]}"
    newline = "\r\n" if "\r\n" in text else "\n"
    indent = " " * holder.value[0][0].start_mark.column
    at = text.find("\n", end_of(holder, text)) + 1
    if not at:
        return f"{text}{newline}{indent}{field}"
    return f"{text[:at]}{indent}{field}{newline}{text[at:]}"


def with_section(text: str, name: str, field_name: str, value: Any) -> str:
    """The text with a new section at its end that holds one field."""
    newline = "\r\n" if "\r\n" in text else "\n"
    field = f"  {key_written(field_name)}: {written(value)}"
    new = text + ("" if text.endswith("\n") else newline) + f"{name}:{newline}{field}{newline}"
    return kept(text, new, {**read_tree(text, "").values, name: {field_name: as_read(value)}})

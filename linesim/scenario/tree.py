"""A YAML file read as plain values with the line and column of each: no tags, anchors or aliases, bounded in size."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError
from ruamel.yaml.events import AliasEvent, NodeEvent
from ruamel.yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

from .faults import Fault, ScenarioFaults

MOST_BYTES = 1_000_000
MOST_DEPTH = 12
Path_ = tuple[Any, ...]  # keys and list places from the top of the file
Marks = dict[Path_, tuple[int, int]]

_INT = re.compile(r"[-+]?\d+$")
_FLOAT = re.compile(r"[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?$")
_WORDS = {"true": True, "false": False, "null": None, "~": None, "": None}


def read_text(path: Path) -> str:
    """Text of a scenario file; raises ScenarioFaults where it is missing, too large or not text."""
    def refuse(message: str) -> ScenarioFaults:
        return ScenarioFaults(str(path), [Fault(str(path), 1, 1, "", message)])

    try:
        if path.stat().st_size > MOST_BYTES:
            raise refuse(f"the file has {path.stat().st_size:,} bytes; at most {MOST_BYTES:,} are read. "
                         "Long tables may stand in a CSV file beside it")
        return path.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        raise refuse("the file is not UTF-8 text") from None
    except OSError as error:
        raise refuse(f"cannot be read: {error.strerror or error}") from None


def read_tree(text: str, file: str) -> tuple[dict[str, Any], Marks]:
    """Plain values of a YAML text, and the place of each; raises ScenarioFaults."""
    faults: list[Fault] = []
    node = _compose(text, file)
    marks: Marks = {}
    if not isinstance(node, MappingNode):
        raise ScenarioFaults(file, [Fault(file, 1, 1, "", "a scenario is a list of fields `name: value`")])
    value = _plain(node, (), marks, faults, file)
    if faults:
        raise ScenarioFaults(file, faults)
    return value, marks


def _compose(text: str, file: str) -> Node | None:
    yaml = YAML(typ="safe", pure=True)
    try:
        depth = 0
        for event in yaml.parse(text):
            mark = event.start_mark
            if isinstance(event, AliasEvent) or (isinstance(event, NodeEvent) and event.anchor):
                raise _refuse(file, mark, "anchors and aliases are not read: write the value out")
            if getattr(event, "tag", None) is not None and getattr(event, "implicit", (True,)) not in (True, None):
                implicit = getattr(event, "implicit", None)
                if implicit is False or implicit == (False, False):
                    raise _refuse(file, mark, "tags are not read: write plain values")
            depth += _step(event)
            if depth > MOST_DEPTH:
                raise _refuse(file, mark, f"nested deeper than {MOST_DEPTH} levels")
        return YAML(typ="safe", pure=True).compose(text)
    except MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        raise _refuse(file, mark, f"not readable as YAML: {error.problem or error.context}") from None
    except YAMLError as error:
        raise ScenarioFaults(file, [Fault(file, 1, 1, "", f"not readable as YAML: {str(error).splitlines()[0]}")]
                             ) from None


def _step(event: Any) -> int:
    name = type(event).__name__
    if name in ("MappingStartEvent", "SequenceStartEvent"):
        return 1
    return -1 if name in ("MappingEndEvent", "SequenceEndEvent") else 0


def _refuse(file: str, mark: Any, message: str) -> ScenarioFaults:
    line, column = (mark.line + 1, mark.column + 1) if mark is not None else (1, 1)
    return ScenarioFaults(file, [Fault(file, line, column, "", message)])


def _plain(node: Node, path: Path_, marks: Marks, faults: list[Fault], file: str) -> Any:
    marks[path] = (node.start_mark.line + 1, node.start_mark.column + 1)
    if isinstance(node, ScalarNode):
        return _scalar(node)
    if isinstance(node, SequenceNode):
        return [_plain(item, (*path, n), marks, faults, file) for n, item in enumerate(node.value)]
    values: dict[Any, Any] = {}
    for key_node, item in node.value:
        key = _scalar(key_node) if isinstance(key_node, ScalarNode) else None
        line, column = key_node.start_mark.line + 1, key_node.start_mark.column + 1
        if key is None or key_node.value == "<<":
            faults.append(Fault(file, line, column, "", "a field's name must be plain text"))
            continue
        key = key_node.value
        if key in values:
            faults.append(Fault(file, line, column, "", f"{key!r} is given twice"))
        values[key] = _plain(item, (*path, key), marks, faults, file)
        marks[(*path, key)] = (line, column)
    return values


def _scalar(node: ScalarNode) -> Any:
    text = node.value
    if node.style in ("'", '"', "|", ">"):
        return text
    if text in _WORDS:
        return _WORDS[text]
    if _INT.match(text):
        return int(text)
    return float(text) if _FLOAT.match(text) else text

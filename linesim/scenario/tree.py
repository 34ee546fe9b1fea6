"""A YAML file read as plain values with the line and column of each: no tags, anchors or aliases, bounded in size."""

from __future__ import annotations

import math
import re
from collections import deque
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError
from ruamel.yaml.reader import ReaderError

from .faults import Fault, ScenarioFaults
from .quick import NotSure, quick_events

MOST_BYTES = 1_000_000
MOST_DEPTH = 12
MOST_DIGITS = 18  # longer whole numbers lie beyond what any field holds
Path_ = tuple[Any, ...]  # keys and list places from the top of the file
Marks = dict[Path_, tuple[int, int]]
Cell = tuple[Any, int, int]  # what a table's cell holds, its line and column

_INT = re.compile(r"[-+]?[0-9]+")
_FLOAT = re.compile(r"[-+]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][-+]?[0-9]+)?")
_VALUES = ("ScalarEvent", "MappingStartEvent", "SequenceStartEvent", "AliasEvent")
_ENDS = ("MappingEndEvent", "SequenceEndEvent")
STEP = re.compile(r"[-+]([0-9]+\.?[0-9]*|\.[0-9]+)")  # a number with its sign, which a change takes as a step
_WORDS = {"true": True, "false": False, "null": None, "~": None, "": None}


class Unread:
    """Stands for a value that could not be read and is a fault already."""


@dataclass
class Source:
    """Values of one file and its tables, where each of them stands, and the faults found so far."""

    file: str
    values: Any = None
    marks: Marks = field(default_factory=dict)
    files: dict[Path_, tuple[str, str]] = field(default_factory=dict)  # table and sheet by the place that it fills
    faults: list[Fault] = field(default_factory=list)
    signed: dict[Path_, str] = field(default_factory=dict)  # numbers that are written with a sign
    unread: list[Path_] = field(default_factory=list)      # places whose table could not be read

    def add(self, path: Path_, message: str, mark: Path_ | None = None) -> None:
        """Add a fault at the place of a path, marked there or at another one."""
        self.faults.append(self.fault_at(path, message, mark))

    def fault_at(self, path: Path_, message: str, mark: Path_ | None = None) -> Fault:
        """A fault at the place of a path, marked there or at another one."""
        line, column, (file, sheet) = self._mark(path if mark is None else mark)
        return Fault(file, line, column, place_of(path, self.values), message, sheet, path)

    def add_at(self, line: int, column: int, message: str) -> None:
        """Add a fault of the text itself."""
        self.faults.append(Fault(self.file, line, column, "", message))

    def _mark(self, path: Path_) -> tuple[int, int, tuple[str, str]]:
        above = [path[:n] for n in range(len(path), -1, -1)]
        file = next((self.files[part] for part in above if part in self.files), (self.file, ""))
        return (*next((self.marks[part] for part in above if part in self.marks), (1, 1)), file)


def value_at(path: Path_, values: Any) -> Any:
    """The value at a place; None where there is none."""
    for step in path:
        inside = step in values if isinstance(values, dict) else (
            isinstance(values, list) and isinstance(step, int) and step < len(values))
        values = values[step] if inside else None
    return values


def place_of(path: Path_, values: Any) -> str:
    """The place by name: list entries by their id, serial or name."""
    words: list[str] = []
    for n, step in enumerate(path):
        if not isinstance(step, int) or not words:
            words.append(str(step)[:80])
            continue
        entry = value_at(path[:n + 1], values)
        named = (entry.get(key) for key in ("id", "serial", "name", "item")) if isinstance(entry, dict) else ()
        words[-1] += f" {next((str(name)[:80] for name in named if isinstance(name, str | int)), f'entry {step + 1}')}"
    return ", ".join(words)


def read_text(path: Path) -> str:
    """Text of a scenario file; raises ScenarioFaults where it is missing, too large or not text."""
    def refuse(message: str) -> ScenarioFaults:
        return ScenarioFaults(str(path), [Fault(str(path), 1, 1, "", message)])

    try:
        if path.stat().st_size > MOST_BYTES:
            raise refuse(f"the file has {path.stat().st_size:,} bytes; at most {MOST_BYTES:,} are read. "
                         "Long tables may stand in a CSV or XLSX file beside it")
        if path.exists() and not path.is_file():
            raise refuse("cannot be read: it is no file")
        return path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        raise refuse("the file is not UTF-8 text") from None
    except (OSError, ValueError) as error:
        raise refuse(f"cannot be read: {getattr(error, 'strerror', None) or error}") from None


def read_tree(text: str, file: str) -> Source:
    """Plain values of a YAML text with the place of each; raises ScenarioFaults where it cannot be read at all."""
    if len(text) > MOST_BYTES:
        raise ScenarioFaults(file, [Fault(file, 1, 1, "", f"the text has over {MOST_BYTES:,} characters")])
    quickly = quick_events(text)
    if quickly is not None:
        with suppress(NotSure, ScenarioFaults):
            return _tree(quickly, file)
    try:
        return _tree(YAML(typ="safe", pure=True).parse(text), file)
    except MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        raise _refuse(file, mark, f"not readable as YAML: {error.problem or error.context}") from None
    except ReaderError as error:
        at = error.position
        said = f"not readable as YAML: the character {text[at:at + 1]!r} may not stand in it"
        line, column = text.count("\n", 0, at) + 1, at - text.rfind("\n", 0, at)
        raise ScenarioFaults(file, [Fault(file, line, column, "", said)]) from None
    except (YAMLError, ValueError, RecursionError) as error:
        said = (str(error).splitlines() or ["it is not understood"])[0]
        raise ScenarioFaults(file, [Fault(file, 1, 1, "", f"not readable as YAML: {said}")]) from None


def _tree(events: Iterator[Any], file: str) -> Source:
    source, steps = Source(file), _checked(events, file)
    first = next(steps, None)
    if _name(first) != "MappingStartEvent":
        found = "another kind of value"
        if first is None or (_name(first) == "ScalarEvent" and first.value == "" and not first.style):
            found = "nothing"
        deque(steps, maxlen=0)  # what cannot be read at all is said first
        said = f"a scenario is a list of fields `name: value`; found {found}"
        raise ScenarioFaults(file, [Fault(file, 1, 1, "", said)])
    source.values = _plain(first, steps, (), source)
    deque(steps, maxlen=0)
    return source


def _name(event: Any) -> str:
    return type(event).__name__


def _checked(events: Iterator[Any], file: str) -> Iterator[Any]:
    """Begins and ends of values; what may not stand in a file is refused where it is met."""
    depth = documents = 0
    for event in events:
        name = _name(event)
        if name == "DocumentStartEvent":
            documents += 1
            if documents > 1:
                raise _refuse(file, event.start_mark, "not readable as YAML: a second document begins here")
            continue
        if name not in _VALUES and name not in _ENDS:
            continue
        if name == "AliasEvent" or getattr(event, "anchor", None):
            raise _refuse(file, event.start_mark, "anchors and aliases are not read: write the value out")
        if getattr(event, "tag", None) is not None:
            raise _refuse(file, event.start_mark, "tags are not read: write plain values")
        depth += -1 if name in _ENDS else name != "ScalarEvent"
        if depth > MOST_DEPTH:
            raise _refuse(file, event.start_mark, f"nested deeper than {MOST_DEPTH} levels")
        yield event


def _refuse(file: str, mark: Any, message: str) -> ScenarioFaults:
    line, column = (mark.line + 1, mark.column + 1) if mark is not None else (1, 1)
    return ScenarioFaults(file, [Fault(file, line, column, "", message)])


def _plain(event: Any, steps: Iterator[Any], path: Path_, source: Source) -> Any:
    """The value that begins with an event; the events that belong to it are used up."""
    mark = event.start_mark
    source.marks[path] = (mark.line + 1, mark.column + 1)
    name = _name(event)
    if name == "ScalarEvent":
        if event.value[:1] in ("+", "-") and not event.style and STEP.fullmatch(event.value):
            source.signed[path] = event.value
        return _scalar(event, source)
    if name == "SequenceStartEvent":
        entries: list[Any] = []
        for inner in steps:
            if _name(inner) in _ENDS:
                return entries
            entries.append(_plain(inner, steps, (*path, len(entries)), source))
    return _fields(steps, path, source)


def _fields(steps: Iterator[Any], path: Path_, source: Source) -> dict[Any, Any]:
    values: dict[Any, Any] = {}
    for event in steps:
        if _name(event) in _ENDS:
            break
        at = event.start_mark.line + 1, event.start_mark.column + 1
        plain = _name(event) == "ScalarEvent" and (event.style in ("'", '"') or event.value not in _WORDS)
        if not plain or event.value == "<<":
            source.add_at(*at, "a field's name must be plain text")
            _plain(event, steps, (), Source(source.file))
            _plain(next(steps), steps, (), Source(source.file))
            continue
        key = event.value
        if key in values:
            source.add_at(*at, f"{key[:80]!r} is given twice")
        values[key] = _plain(next(steps), steps, (*path, key), source)
        source.marks[(*path, key)] = at
    return values


def _scalar(node: Any, source: Source) -> Any:
    if node.style in ("'", '"', "|", ">"):
        return node.value
    if node.value in _WORDS:
        return _WORDS[node.value]
    found = number_in(node.value)
    if isinstance(found, Unread):
        source.add_at(node.start_mark.line + 1, node.start_mark.column + 1, too_long(node.value))
    return node.value if found is None else found


def number_in(text: str) -> int | float | Unread | None:
    """The number that a text says; None where it says none, Unread where it is too long or too large."""
    if _INT.fullmatch(text):
        return int(text) if len(text.lstrip("+-")) <= MOST_DIGITS else Unread()
    if not _FLOAT.fullmatch(text):
        return None
    return float(text) if len(text) <= 40 and math.isfinite(float(text)) else Unread()


def too_long(text: str) -> str:
    """What is wrong with such a number."""
    shown = text if len(text) <= 24 else f"{text[:12]}... of {len(text):,} characters"
    return f"a number too long or too large: at most {MOST_DIGITS} digits are read, found {shown}"

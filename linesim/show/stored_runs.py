"""Runs as bytes, and back, exactly: the form of the files in which finished runs wait until they are answered from.

One line of JSON (the head: what made the runs, their numbers, SHA-256 of the rest), then a zstd frame that holds all
arrays, one after another from the widest kind of number to the narrowest, little-endian, and behind them the runs as
JSON. In that JSON an array is [kind of number, byte at which it starts, shape]. Nothing in a file is ever executed: it
is read against the declared fields of a run, and a file that does not fit them is refused.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import fields, is_dataclass
from functools import lru_cache
from sys import intern
from types import UnionType
from typing import Any, Union, get_args, get_origin, get_type_hints

import numpy as np

from ..measures.run import RunNumbers

FORM = 1  # number of this form: another where what is described above changes
MOST_BYTES = 1 << 33


class NotRuns(ValueError):
    """Bytes that are not runs in this form, or not as they were written."""


def packed(runs: Sequence[RunNumbers], head: Mapping[str, Any]) -> bytes:
    """Runs as the content of a file; `head` says what made them."""
    found: dict[str, list[np.ndarray[Any, Any]]] = {}
    _gather(runs, found)
    kinds = sorted(found, key=lambda kind: (-np.dtype(kind).itemsize, kind))
    start, byte = {}, 0
    for kind in kinds:
        start[kind] = byte
        byte += sum(array.nbytes for array in found[kind])
    arrays = [array.tobytes() for kind in kinds for array in found[kind]]
    content = b"".join([*arrays, json.dumps(_as_json(runs, start), separators=(",", ":")).encode()])
    from pyarrow import Codec

    rest: bytes = Codec("zstd", compression_level=1).compress(content, asbytes=True)
    first = {**head, "runs": [run.run for run in runs], "arrays, bytes": byte, "bytes": len(content),
             "sha256": hashlib.sha256(rest).hexdigest()}
    return json.dumps(first).encode() + b"\n" + rest


def head_of(content: bytes) -> dict[str, Any]:
    """The head of a file, once the rest is known to be as it was written; raises NotRuns."""
    line, _, rest = content.partition(b"\n")
    try:
        head = json.loads(line)
        whole = head["sha256"] == hashlib.sha256(rest).hexdigest()
        _value(list[int], head["runs"], bytearray())
    except (ValueError, TypeError, KeyError):
        raise NotRuns("its first line cannot be read") from None
    if not whole:
        raise NotRuns("its checksum differs")
    return dict(head)


def unpacked(content: bytes) -> list[RunNumbers]:
    """The runs of a file; raises NotRuns."""
    from pyarrow import Codec

    head, rest = head_of(content), content[content.index(b"\n") + 1:]
    try:
        if not 0 <= head["arrays, bytes"] <= head["bytes"] <= MOST_BYTES:
            raise NotRuns("its sizes make no sense")
        # A bytearray, so that the arrays may be written to, as those of a run just done may.
        whole = bytearray(Codec("zstd").decompress(rest, head["bytes"]))
        tree = json.loads(whole[head["arrays, bytes"]:])
        runs = [_value(RunNumbers, one, whole) for one in tree]
    except (ValueError, TypeError, KeyError, MemoryError, OSError) as error:
        raise NotRuns(f"its runs cannot be read ({error})") from None
    if [run.run for run in runs] != head["runs"]:
        raise NotRuns("it holds other runs than it says")
    return runs


# writing -------------------------------------------------------------------------------------------------------------
def _gather(value: Any, found: dict[str, list[np.ndarray[Any, Any]]]) -> None:
    """All arrays, by kind of number, in the order in which `_as_json` meets them."""
    if isinstance(value, np.ndarray):
        little = np.ascontiguousarray(value, dtype=value.dtype.newbyteorder("<"))
        if little.dtype.kind not in "biuf":
            raise TypeError(f"an array of {little.dtype} cannot be stored")
        found.setdefault(little.dtype.str, []).append(little)
    elif is_dataclass(value):
        for field in fields(value):
            _gather(getattr(value, field.name), found)
    elif isinstance(value, dict):
        for item in value.values():
            _gather(item, found)
    elif isinstance(value, list | tuple):
        for item in value:
            _gather(item, found)


def _as_json(value: Any, start: dict[str, int]) -> Any:
    if isinstance(value, np.ndarray):
        kind = value.dtype.newbyteorder("<").str
        begin = start[kind]
        start[kind] += value.nbytes
        return [kind, begin, list(value.shape)]
    if isinstance(value, np.generic):
        return value.item()
    if is_dataclass(value):
        return {field.name: _as_json(getattr(value, field.name), start) for field in fields(value)}
    if isinstance(value, dict):
        return {key: _as_json(item, start) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_as_json(item, start) for item in value]
    return value


# reading -------------------------------------------------------------------------------------------------------------
@lru_cache(maxsize=256)
def _fields(declared: type) -> dict[str, Any]:
    hints = get_type_hints(declared)
    return {field.name: hints[field.name] for field in fields(declared)}


def _value(hint: Any, tree: Any, arrays: bytearray) -> Any:
    """A value of the declared type; raises TypeError, ValueError or KeyError where the tree does not fit it."""
    if get_origin(hint) in (Union, UnionType):
        hint = _one_of(get_args(hint), tree)
    kind = get_origin(hint) or hint
    if kind is np.ndarray:
        return _array(tree, arrays)
    if is_dataclass(kind) and isinstance(kind, type):
        declared = _fields(kind)
        if set(tree) != set(declared):
            raise TypeError(f"fields {sorted(set(tree) ^ set(declared))}")
        return kind(**{name: _value(of, tree[name], arrays) for name, of in declared.items()})
    if kind in _GROUPS and isinstance(tree, dict if kind is dict else list):
        return _GROUPS[kind](get_args(hint), tree, arrays)
    return _plain(hint, tree)


def _one_of(hints: tuple[Any, ...], tree: Any) -> Any:
    """The one member of a union that the tree fits; raises ValueError."""
    hint, = (hint for hint in hints if _fits(get_origin(hint) or hint, tree))
    return hint


def _fits(kind: Any, tree: Any) -> bool:
    if tree is None or kind is type(None):
        return tree is None and kind is type(None)
    return isinstance(tree, list) == (kind in (np.ndarray, list, tuple))


def _array(tree: Any, arrays: bytearray) -> np.ndarray[Any, Any]:
    kind, begin, shape = tree
    if not isinstance(kind, str) or np.dtype(kind).kind not in "biuf" or not all(size >= 0 for size in shape):
        raise TypeError(f"an array of {kind} and {shape}")
    found: np.ndarray[Any, Any] = np.ndarray(shape, np.dtype(kind), arrays, begin)
    return found


def _tuple(of: tuple[Any, ...], tree: list[Any], arrays: bytearray) -> tuple[Any, ...]:
    hints = [of[0]] * len(tree) if of[1:] == (...,) else of
    return tuple(_value(hint, item, arrays) for hint, item in zip(hints, tree, strict=True))


_GROUPS: dict[Any, Callable[[tuple[Any, ...], Any, bytearray], Any]] = {
    dict: lambda of, tree, arrays: {intern(key): _value(of[1], item, arrays) for key, item in tree.items()},
    list: lambda of, tree, arrays: [_value(of[0], item, arrays) for item in tree],
    tuple: _tuple}


def _plain(hint: Any, tree: Any) -> Any:
    if tree is None and hint in (None, type(None)):
        return None
    if hint not in (int, float, str, bool) or not isinstance(tree, (int, float) if hint is float else hint):
        raise TypeError(f"{str(tree)[:40]!r} is no {getattr(hint, '__name__', hint)}")
    return tree

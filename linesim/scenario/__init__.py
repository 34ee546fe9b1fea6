"""What the plant is and what is asked of it: declarations, calendar, spreads, reading and its faults.

The clocks and the floor may stand compiled beside their source (`linesim compile`): what is compiled is
used as long as it was made from just this source by just this Python, and else passed over; so it is with
LINESIM_FLOOR=source in the environment.
"""

from __future__ import annotations

import hashlib
import os
import sys
from functools import cache
from importlib.machinery import EXTENSION_SUFFIXES
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

PACKAGE = Path(__file__).parents[1]
COMPILED = PACKAGE / "compiled_code"
STOREYS = ("scenario", "line", "measures")  # of which something is compiled
CHOICE = "LINESIM_FLOOR"
GROUP = "linesim_floor"
LIBRARY = f"{GROUP}__mypyc{EXTENSION_SUFFIXES[0]}"  # what all compiled files share


@cache
def folder_of_this_source() -> Path:
    """Where the compiled code of the source as it stands now belongs."""
    digest = hashlib.sha256(EXTENSION_SUFFIXES[0].encode())
    for file in sorted(file for storey in STOREYS for file in PACKAGE.glob(f"{storey}/*.py")):
        digest.update(file.name.encode() + b"\0" + file.read_bytes())
    return COMPILED / digest.hexdigest()[:16]


def use_what_is_compiled(storey: str, path: list[str]) -> None:
    """Look for the modules of a storey among the compiled ones first, if they are of this source."""
    if not COMPILED.exists() or os.environ.get(CHOICE) == "source":
        return
    folder = folder_of_this_source()
    name = LIBRARY.removesuffix(EXTENSION_SUFFIXES[0])
    if name not in sys.modules:
        spec = spec_from_file_location(name, folder / LIBRARY) if (folder / LIBRARY).exists() else None
        if spec is None or spec.loader is None:
            return
        sys.modules[name] = module_from_spec(spec)
        spec.loader.exec_module(sys.modules[name])
    path.insert(0, str(folder / storey))


def is_compiled() -> bool:
    """Whether compiled code is in use."""
    return LIBRARY.removesuffix(EXTENSION_SUFFIXES[0]) in sys.modules


use_what_is_compiled("scenario", __path__)

"""The command line: `linesim check FILE` and `linesim run FILE`. Heavy libraries are imported by the command."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence

EXIT_FAULTS = 2
EXIT_STOPPED = 130


def parser() -> argparse.ArgumentParser:
    """All commands and their options."""
    top = argparse.ArgumentParser(
        prog="linesim", description="What rate can the line hold, what stops it, and what date may be promised? "
        "A planning aid: it approves no work, airworthiness, paint, flight or people.")
    verbs = top.add_subparsers(dest="verb", required=True, metavar="COMMAND")
    check = verbs.add_parser("check", help="faults and cautions of a scenario file")
    check.add_argument("file", metavar="FILE")
    check.add_argument("--json", action="store_true", help="the same as JSON")
    run = verbs.add_parser("run", help="run a scenario and print the answer")
    run.add_argument("file", metavar="FILE")
    run.add_argument("--runs", type=int, metavar="N", help="number of runs (the file's, unless given)")
    run.add_argument("--seed", type=int, metavar="S", help="seed of all luck (the file's, unless given)")
    run.add_argument("--jobs", type=int, default=0, metavar="J", help="processes (all cores, unless given)")
    run.add_argument("--only", type=int, metavar="K", help="only run number K, counted from 0")
    run.add_argument("--out", metavar="FOLDER", help="where the run folder goes (results/, unless given)")
    run.add_argument("--json", action="store_true", help="the same numbers as JSON")
    return top


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; 0 done, 2 faults in the file or the options, 130 stopped."""
    given = parser().parse_args(arguments)
    from ..scenario.faults import ScenarioFaults

    try:
        if given.verb == "check":
            from .checking import check_file

            return check_file(given.file, as_json=given.json)
        from .running import run_file

        for name, least in (("runs", 1), ("seed", 0), ("only", 0), ("jobs", 0)):
            value = getattr(given, name)
            if value is not None and value < least:
                print(f"--{name} must be {least} or more, found {value}", file=sys.stderr)
                return EXIT_FAULTS
        return run_file(given.file, runs=given.runs, seed=given.seed, jobs=given.jobs, only=given.only,
                        out=given.out, as_json=given.json)
    except ScenarioFaults as faults:
        print(faults, file=sys.stderr)
        return EXIT_FAULTS
    except BrokenPipeError:  # the reader of the output has gone
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return EXIT_STOPPED
    except KeyboardInterrupt:
        print("Stopped before the first runs were done; nothing is kept.", file=sys.stderr)
        return EXIT_STOPPED

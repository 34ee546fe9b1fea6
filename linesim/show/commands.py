"""The command line: `linesim check FILE`, `change`, `run` and others. Heavy libraries are imported by the command."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence
from errno import ENOSPC

from .. import __version__

EXIT_FAILED, EXIT_FAULTS = 1, 2
EXIT_STOPPED = 130
# of the options that are numbers: what lies beyond is a slip of the pen
LIMITS = {"runs": (1, 10**6), "seed": (0, 10**15), "only": (0, 10**6), "jobs": (0, 1000), "run": (0, 10**6),
          "at_least": (0, 10**6), "days": (1, 60)}


def parser() -> argparse.ArgumentParser:
    """All commands and their options."""
    top = argparse.ArgumentParser(
        prog="linesim", description="What rate can the line hold, what stops it, and what date may be promised? "
        "A planning aid: it approves no work, airworthiness, paint, flight or people.")
    top.add_argument("--version", action="version", version=f"linesim {__version__}")
    verbs = top.add_subparsers(dest="verb", metavar="COMMAND")
    new = verbs.add_parser("new", help="write a scenario file to begin with")
    new.add_argument("file", metavar="FILE")
    new.add_argument("--like", choices=("birchwater", "pulse", "textbook"),
                     help="a copy of a shipped scenario, with the files it needs")
    check = verbs.add_parser("check", help="faults and cautions of a scenario file")
    check.add_argument("file", metavar="FILE")
    check.add_argument("--json", action="store_true", help="the same as JSON")
    run = verbs.add_parser("run", help="run a scenario and print the answer")
    run.add_argument("file", metavar="FILE")
    run.add_argument("--runs", type=int, metavar="N", help="number of runs (the file's, unless given)")
    run.add_argument("--seed", type=int, metavar="S", help="seed of all luck (the file's, unless given)")
    run.add_argument("--jobs", type=int, default=0, metavar="J", help="processes (all cores, unless given)")
    run.add_argument("--until-precision", type=float, metavar="P", help="run until the mean number of deliveries is "
                     "known to within P aircraft (95 %% interval); --runs is then the most (10000, unless given)")
    _cluster(run)
    run.add_argument("--only", type=int, metavar="K", help="only run number K, counted from 0")
    run.add_argument("--out", metavar="FOLDER", help="where the run folder goes (results/, unless given)")
    run.add_argument("--no-report", action="store_true", help="write no page, figures, workbook and spreadsheet tables")
    run.add_argument("--json", action="store_true", help="the same numbers as JSON")
    compare = verbs.add_parser("compare", help="compare scenarios on the same luck")
    compare.add_argument("files", nargs="+", metavar="FILE", help="the first is what the others are held against")
    compare.add_argument("--with", dest="named", action="append", default=[], metavar="NAME",
                         help="a comparison that the first file declares; all of them, if nothing else is given")
    compare.add_argument("--change", dest="changes", action="append", default=[], metavar="PATH=VALUE",
                         help="the first file with this changed; given several times, all together are one scenario")
    compare.add_argument("--runs", type=int, metavar="N", help="runs of each (the first file's number, unless given)")
    compare.add_argument("--seed", type=int, metavar="S", help="seed of all luck (the first file's, unless given)")
    compare.add_argument("--jobs", type=int, default=0, metavar="J", help="processes (all cores, unless given)")
    _cluster(compare)
    compare.add_argument("--out", metavar="FOLDER", help="where the runs are kept (results/, unless given)")
    _until_precision(compare)
    compare.add_argument("--picture", metavar="FILE.svg|.png", help="draw the differences into this file")
    compare.add_argument("--page", metavar="FILE.html", help="write the answer as a page to print or send")
    compare.add_argument("--json", action="store_true", help="the same numbers as JSON")
    rate = verbs.add_parser("rate", help="what rate the line can hold, when it breaks and what breaks first")
    rate.add_argument("file", metavar="FILE")
    rate.add_argument("--takts", metavar="LIST", help="takts in work days, as 5,4.5,4 or 5-3.5 or '4.5 then 4 from "
                      "2027-05-03' (the plans of the file, unless given; takts about its own, if it has none)")
    _runs_of_several(rate)
    crew = verbs.add_parser("crew", help="how many people of a trade, and the smallest crew that keeps a target")
    crew.add_argument("file", metavar="FILE")
    crew.add_argument("--trade", dest="trades", action="append", default=[], metavar="TRADE", help="as FLM, or "
                      "FLM.evening for a shift; given several times, all combinations are tried")
    crew.add_argument("--people", action="append", default=[], metavar="LIST", help="people to try of that trade, as "
                      "2-5 or 2,4")
    crew.add_argument("--target", metavar="TEXT", help="what 8 in 10 runs are to keep: 'days <= 15' (of 8 in 10 "
                      "aircraft), 'deliveries >= 48', 'waiting <= 2' (jobs)")
    crew.add_argument("--from", dest="days_from", metavar="POSITION", help="where the days begin (the first place at "
                      "which the trade works, unless given)")
    crew.add_argument("--settle", action="store_true", help="run on until the choice is wrong in at most 1 of 20")
    _runs_of_several(crew)
    quarters = verbs.add_parser("quarters", help="deliveries, revenue and cash by quarter")
    quarters.add_argument("file", metavar="FILE")
    quarters.add_argument("--model", metavar="MODEL", help="count only aircraft of this model; money stays that of "
                          "all")
    quarters.add_argument("--at-least", type=int, metavar="N", help="the chance of N aircraft in the window (of all "
                          "that are promised in it, unless given)")
    _runs_and_picture(quarters)
    _cluster(quarters)
    dates = verbs.add_parser("dates", help="when each aircraft delivers, and what may be promised")
    dates.add_argument("file", metavar="FILE")
    dates.add_argument("--serial", metavar="SERIAL", help="only this aircraft, with all that it loses days to")
    dates.add_argument("--new", action="store_true", help="the date that may be promised for a new order in the next "
                       "open launch slot")
    dates.add_argument("--model", metavar="MODEL", help="model of the new order (the most ordered one, unless given)")
    dates.add_argument("--log", action="store_true", help="add these dates to the log of forecasts")
    _runs_and_picture(dates)
    _cluster(dates)
    soon = verbs.add_parser("next", help="what moves, flies and is handed over in the next work days, who is short")
    soon.add_argument("file", metavar="FILE")
    soon.add_argument("--days", type=int, default=10, metavar="N", help="work days to look at (10, unless given)")
    soon.add_argument("--decide", action="store_true", help="try what may be decided today: hold the next launch, who "
                      "helps whom, overtime on Saturdays")
    soon.add_argument("--swap", nargs=2, metavar=("SERIAL", "SERIAL"), help="two orders change places in the order "
                      "book: try it")
    soon.add_argument("--recover", metavar="SERIAL", help="the cheapest permitted changes that deliver this aircraft")
    soon.add_argument("--by", metavar="DATE", help="by this date")
    _runs_and_picture(soon)
    soon.add_argument("--page", metavar="FILE.html", help="write the answer as a page to print or send")
    soon.add_argument("--log", action="store_true", help="add the dates of all aircraft to the log of forecasts (the "
                      "runs of the whole scenario are done for it)")
    log = verbs.add_parser("log", help="what was forecast, what has moved since, and how it came out")
    log.add_argument("file", metavar="FILE|FOLDER", help="a scenario file, a log, or a folder with one log")
    log.add_argument("--actual", metavar="FILE.csv", help="actual deliveries, serial,delivered: scores the forecasts")
    log.add_argument("--out", metavar="FOLDER", help="where the log is kept (results/, unless given)")
    log.add_argument("--json", action="store_true", help="the same numbers as JSON")
    late = verbs.add_parser("late", help="where the days go, and what a permitted change gives")
    late.add_argument("file", metavar="FILE")
    late.add_argument("--serial", metavar="SERIAL", help="only what this aircraft loses")
    _runs_of_several(late)
    buys = verbs.add_parser("buys", help="which change buys most, and what then")
    buys.add_argument("file", metavar="FILE")
    buys.add_argument("--by", choices=("deliveries", "days", "money"), default="deliveries", help="what is to be "
                      "gained (deliveries, unless given); days are those of flow")
    _runs_and_picture(buys)
    _cluster(buys)
    buys.add_argument("--page", metavar="FILE.html", help="write the answer as a page to print or send")
    story = verbs.add_parser("story", help="tell the life of one aircraft in one run")
    story.add_argument("file", metavar="FILE")
    story.add_argument("serial", metavar="SERIAL")
    story.add_argument("--run", type=int, default=0, metavar="K", help="run number K, counted from 0 (0, unless given)")
    story.add_argument("--seed", type=int, metavar="S", help="seed of all luck (the file's, unless given)")
    story.add_argument("--json", action="store_true", help="the same numbers as JSON")
    story.add_argument("--picture", metavar="FILE.svg|.png", help="draw it into this file")
    report = verbs.add_parser("report", help="write the report of a run folder anew")
    report.add_argument("folder", metavar="FOLDER")
    front = verbs.add_parser("app", help="open the pages: the questions, the floor and the plant, in a browser")
    front.add_argument("file", nargs="?", metavar="FILE", help="a scenario to choose from, beside those shipped")
    front.add_argument("--out", metavar="FOLDER", help="where the runs are kept (results/, unless given)")
    front.add_argument("--port", type=int, default=8501, metavar="P", help="port on this machine (8501, unless given)")
    proof = verbs.add_parser("proof", help="hold the engine against values from outside and print the table")
    proof.add_argument("--all", dest="slow", action="store_true", help="the slow part too (some minutes)")
    proof.add_argument("--jobs", type=int, default=0, metavar="J", help="processes (all cores, unless given)")
    proof.add_argument("--out", metavar="FILE.json", help="keep the table in this file")
    proof.add_argument("--json", action="store_true", help="the same table as JSON")
    language = verbs.add_parser("language", help="the fields of a scenario file, each with its unit and an example")
    language.add_argument("name", nargs="?", metavar="SECTION_OR_FIELD", help="only this part")
    language.add_argument("--schema", action="store_true", help="the JSON Schema, for completion in an editor")
    change = verbs.add_parser("change", help="change values of a scenario file; comments and layout stay")
    change.add_argument("file", metavar="FILE")
    change.add_argument("changes", nargs="+", metavar="PATH=VALUE", help="as in positions.PB.docks=2, or, from what "
                        "stands there, trades.FLM.people.day=+1; put it in quotes where your shell needs them")
    change.add_argument("--to", metavar="NEWFILE", help="write the changed file under this name; FILE stays as it is")
    compiling = verbs.add_parser("compile", help="compile the floor: runs take about half the time, with the same "
                                 "records")
    compiling.add_argument("--remove", action="store_true", help="use the source again")
    return top


def _runs_and_picture(verb: argparse.ArgumentParser) -> None:
    """Options of the questions that are answered from the runs of one scenario."""
    verb.add_argument("--runs", type=int, metavar="N", help="number of runs (the file's, unless given)")
    verb.add_argument("--seed", type=int, metavar="S", help="seed of all luck (the file's, unless given)")
    verb.add_argument("--jobs", type=int, default=0, metavar="J", help="processes (all cores, unless given)")
    verb.add_argument("--out", metavar="FOLDER", help="where the runs are kept (results/, unless given)")
    verb.add_argument("--json", action="store_true", help="the same numbers as JSON")
    verb.add_argument("--picture", metavar="FILE.svg|.png", help="draw it into this file")


def _runs_of_several(verb: argparse.ArgumentParser) -> None:
    """Options of the questions that try several scenarios."""
    _runs_and_picture(verb)
    _cluster(verb)
    _until_precision(verb)
    verb.add_argument("--page", metavar="FILE.html", help="write the answer as a page to print or send")


def _cluster(verb: argparse.ArgumentParser) -> None:
    verb.add_argument("--cluster", metavar="ADDRESS", help="do the runs on the workers of a dask.distributed cluster, "
                      "as tcp://127.0.0.1:8786, instead of on this machine")


def _until_precision(verb: argparse.ArgumentParser) -> None:
    verb.add_argument("--until-precision", type=float, metavar="P", help="run each until its mean number of deliveries "
                      "is known to within P aircraft; --runs is then the most")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; 0 done, 2 faults in the file or the options, 130 stopped."""
    given = parser().parse_args(arguments)
    if given.verb is None:
        parser().print_help(sys.stderr)
        return EXIT_FAULTS
    try:
        code = _carried_out(given)
        sys.stdout.flush()
        return code
    except BrokenPipeError:  # the reader of the output has gone
        _close_the_output()
        return EXIT_STOPPED
    except OSError as error:
        if error.errno != ENOSPC or error.filename is not None:
            raise
        print(f"The answer cannot be written out: {error.strerror}", file=sys.stderr)
        _close_the_output()
        return EXIT_FAULTS


def _close_the_output() -> None:
    """What is still to be written goes nowhere, without another message at the end."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _carried_out(given: argparse.Namespace) -> int:
    from ..line.cluster_fault import ClusterFault
    from ..scenario.faults import ScenarioFaults
    from .whole_files import FolderRefused

    try:
        if given.verb == "new":
            from .starting import new_file

            return new_file(given.file, given.like)
        if given.verb == "check":
            from .checking import check_file

            return check_file(given.file, as_json=given.json)
        if given.verb == "compile":
            from ..line.compiled import compile_floor

            return compile_floor(remove=given.remove)
        if given.verb == "language":
            from .language import print_language

            return print_language(given.name, schema=given.schema)
        if given.verb == "report":
            from .reporting import report_folder

            return report_folder(given.folder)
        if given.verb == "change":
            from .changing import change_scenario

            return change_scenario(given.file, given.changes, given.to)
        if getattr(given, "cluster", None) is not None and given.jobs:
            print("--jobs is for this machine, --cluster for others: leave out one of them", file=sys.stderr)
            return EXIT_FAULTS
        for name, (least, most) in LIMITS.items():
            value = getattr(given, name, None)
            if value is not None and not least <= value <= most:
                print(f"--{name.replace('_', '-')} must be {least} to {most}, found {value}", file=sys.stderr)
                return EXIT_FAULTS
        if given.verb == "app":
            from .opening import serve

            return serve(given.file, out=given.out, port=given.port)
        if given.verb == "proof":
            from .proving import prove

            return prove(slow=given.slow, jobs=given.jobs, out=given.out, as_json=given.json)
        if given.verb == "compare":
            from .comparing import compare_files

            return compare_files(given.files, with_named=given.named, changes=given.changes, runs=given.runs,
                                 seed=given.seed, jobs=given.jobs, out=given.out, as_json=given.json,
                                 until_precision=given.until_precision, picture=given.picture, page=given.page,
                                 cluster=given.cluster)
        if given.verb == "rate":
            from .rating import rate_of_file

            return rate_of_file(given.file, takts=given.takts, runs=given.runs, until_precision=given.until_precision,
                                seed=given.seed, jobs=given.jobs, out=given.out, as_json=given.json,
                                picture=given.picture, page=given.page, cluster=given.cluster)
        if given.verb == "crew":
            from .crewing import crew_of_file

            return crew_of_file(given.file, trades=given.trades, people=given.people, target=given.target,
                                days_from=given.days_from, settle=given.settle, runs=given.runs,
                                until_precision=given.until_precision, seed=given.seed, jobs=given.jobs, out=given.out,
                                as_json=given.json, picture=given.picture, page=given.page, cluster=given.cluster)
        if given.verb == "quarters":
            from .quartering import quarters_of_file

            return quarters_of_file(given.file, model=given.model, at_least=given.at_least, runs=given.runs,
                                    seed=given.seed, jobs=given.jobs, out=given.out, as_json=given.json,
                                    picture=given.picture, cluster=given.cluster)
        if given.verb == "dates":
            from .dating import dates_of_file

            if given.model is not None and not given.new:
                print("--model is the model of a new order: give --new, too", file=sys.stderr)
                return EXIT_FAULTS
            return dates_of_file(given.file, serial=given.serial, new=given.new, model=given.model, number=given.runs,
                                 seed=given.seed, jobs=given.jobs, out=given.out, as_json=given.json,
                                 picture=given.picture, log=given.log, cluster=given.cluster)
        if given.verb == "log":
            from .forecast_logging import log_of

            return log_of(given.file, actual=given.actual, out=given.out, as_json=given.json)
        if given.verb == "next":
            from .ten_days import Asked, next_of_file

            asked = Asked(given.days, given.decide, tuple(given.swap) if given.swap else None, given.recover, given.by,
                          given.log)
            return next_of_file(given.file, asked, runs=given.runs, seed=given.seed, jobs=given.jobs, out=given.out,
                                as_json=given.json, picture=given.picture, page=given.page)
        if given.verb == "late":
            from .late import late_of_file

            return late_of_file(given.file, serial=given.serial, runs=given.runs,
                                until_precision=given.until_precision, seed=given.seed, jobs=given.jobs, out=given.out,
                                as_json=given.json, picture=given.picture, page=given.page, cluster=given.cluster)
        if given.verb == "buys":
            from .buying import buys_of_file

            return buys_of_file(given.file, by=given.by, runs=given.runs, seed=given.seed, jobs=given.jobs,
                                out=given.out, as_json=given.json, picture=given.picture, page=given.page,
                                cluster=given.cluster)
        if given.verb == "story":
            from .story import story_file

            return story_file(given.file, given.serial, run=given.run, seed=given.seed, as_json=given.json,
                              picture=given.picture)
        return _run(given)
    except (ScenarioFaults, FolderRefused, ClusterFault) as faults:
        print(faults, file=sys.stderr)
        return EXIT_FAULTS
    except Exception as error:
        from .failed_run import RunFailed, said_of

        if not isinstance(error, RunFailed):
            raise
        print(said_of(error, given.files[0] if given.verb == "compare" else given.file), file=sys.stderr)
        return EXIT_FAILED
    except KeyboardInterrupt:
        print("Stopped at once. What a run folder holds is kept; the same command goes on from there.", file=sys.stderr)
        return EXIT_STOPPED


def _run(given: argparse.Namespace) -> int:
    from ..questions.enough import LEAST

    precision, wrong = given.until_precision, ""
    if precision is not None and not 0 < precision < float("inf"):
        wrong = f"--until-precision must be above 0 (aircraft), found {precision:g}"
    elif precision is not None and given.only is not None:
        wrong = "--only runs a single run, which has no precision: leave out --only or --until-precision"
    elif given.only is not None and given.runs is not None:
        wrong = "--only runs a single run: leave out --only or --runs"
    elif precision is not None and given.runs is not None and given.runs < LEAST:
        wrong = f"--runs must be {LEAST} or more with --until-precision, found {given.runs}"
    if wrong:
        print(wrong, file=sys.stderr)
        return EXIT_FAULTS
    from .running import run_file

    return run_file(given.file, runs=given.runs, seed=given.seed, jobs=given.jobs, only=given.only, out=given.out,
                    as_json=given.json, until_precision=precision, report=not given.no_report, cluster=given.cluster)

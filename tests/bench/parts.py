"""The parts of the table; each can be measured by itself."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

from linesim.line.desk import run_chunk
from linesim.line.floor import Floor
from linesim.line.sheet import Sheet
from linesim.measures.run import RunNumbers, numbers_of
from linesim.questions.rate_plans import plans_to_try, takts_from
from linesim.questions.without_luck import without_common_luck
from linesim.scenario.acted_on import acted_on
from linesim.scenario.reading import read_scenario
from linesim.scenario.scenario import Scenario
from linesim.show.run_folder import RunFolder

from . import plants, reference
from .measured import BIRCHWATER, TINY, Row, Used, command, cpu, exponent, in_turns

LEAN = reference.LEAN
EVENTS = 8          # events a package at most, or the textbook would be a straw man
THOUSAND_PARTS = 0.115      # CPU seconds, likewise
HUGE = 10_000       # runs


def demo() -> Iterator[Row]:
    """One run of the demo."""
    scenario = acted_on(read_scenario(BIRCHWATER))
    sheet = Sheet(scenario)
    alone, whole = in_turns([lambda: cpu(lambda: run_chunk(sheet, 1, [LEAN], _nothing)),
                             lambda: cpu(lambda: run_chunk(sheet, 1, [LEAN], numbers_of))], 7)
    done, = run_chunk(sheet, 1, [LEAN], numbers_of)
    events = events_of(sheet)
    aircraft = len(done.delivered)
    yield Row("demo, CPU per run with its records", f"{1000 * alone:.0f} ms")
    yield Row("demo, CPU per run with the numbers read off it", f"{1000 * whole:.0f} ms")
    yield Row("demo, events per run", f"{events:,}",
              f"{events / aircraft:.0f} for each of {aircraft} delivered aircraft")
    yield Row("demo, the sheet that all runs share", f"{1000 * cpu(lambda: Sheet(scenario)):.0f} ms")


def _nothing(_sheet: object, _records: object) -> None:
    return None


def events_of(sheet: Sheet) -> int:
    """Entries of the queue in a run."""
    one = Floor(sheet, 1, LEAN)
    one.run()
    return next(one.env._eid)


def line() -> Iterator[Row]:
    """The first tenth of the reference line beside textbook SimPy, Ciw and salabim, taking turns."""
    sheet, hours = reference.sheet_of(17), 17 * 24.0
    ours, alone, textbook, ciw, salabim = in_turns([
        lambda: reference.by_linesim(sheet).a_thousand, lambda: reference.engine_alone(sheet).a_thousand,
        lambda: reference.by_textbook(1, hours).a_thousand, lambda: reference.by_ciw(1, hours).a_thousand,
        lambda: reference.by_salabim(1, hours).a_thousand], 3)
    events = (one := reference.by_textbook(1, hours)).events / one.visits
    honest = "honest" if events <= EVENTS and textbook <= THOUSAND_PARTS else "NOT as quick as it should be"
    yield Row("reference line, textbook SimPy, CPU s per 1,000 parts", f"{textbook:.3f}",
              f"{events:.1f} events a package; {honest}")
    yield Row("reference line, linesim with records", f"{alone:.3f}", f"{textbook / alone:.2f} x as quick as textbook")
    yield Row("reference line, linesim with numbers", f"{ours:.3f}", f"{textbook / ours:.2f} x as quick as textbook")
    yield Row("reference line, Ciw", f"{ciw:.3f}", f"linesim with records is {ciw / alone:.2f} x as quick")
    yield Row("reference line, salabim", f"{salabim:.3f}", f"linesim with records is {salabim / alone:.2f} x as quick")


def whole_line() -> Iterator[Row]:
    """All 20,000 parts of it."""
    sheet = reference.sheet_of(None)
    ours, textbook = in_turns([lambda: reference.by_linesim(sheet).a_thousand,
                               lambda: reference.by_textbook(1).a_thousand], 3)
    yield Row("reference line, 20,000 parts, linesim with numbers, CPU s per 1,000 parts", f"{ours:.3f}",
              f"textbook SimPy {textbook:.3f}")


def start() -> Iterator[Row]:
    """What a command costs before it does anything."""
    with TemporaryDirectory() as out:
        for name, words in (("--version", ["--version"]), ("check of the demo", ["check", BIRCHWATER]),
                            ("run of the smallest plant, 1 run",
                             ["run", TINY, "--runs", 1, "--jobs", 1, "--no-report", "--out", out])):
            used = in_turns([lambda words=words: command(*words).cpu], 3)  # type: ignore[misc]
            yield Row(f"start, {name}", f"{used[0]:.2f} s", "CPU")


def runs(number: int = 200) -> Iterator[Row]:
    """All of `linesim run` of the demo on two cores, and asked again."""
    with TemporaryDirectory() as out:
        words = ["run", BIRCHWATER, "--runs", number, "--jobs", 2, "--no-report", "--json", "--out", out]
        before, first, after = _textbook(), command(*words), _textbook()
        yield _used(f"{number:,} runs of the demo, 2 processes", first)
        textbook = (before + after) / 2
        yield Row("their wall over the CPU of 1,000 parts by textbook SimPy", f"{first.wall / textbook:.0f}",
                  f"{textbook:.3f} s here")
        yield _used(f"the same {number:,} runs asked for again", command(*words))


def _textbook() -> float:
    return in_turns([lambda: reference.by_textbook(1, 17 * 24.0).a_thousand], 5)[0]


def thousand() -> Iterator[Row]:
    """As `runs`, with 1,000."""
    yield from runs(1000)


def _used(what: str, used: Used) -> Row:
    return Row(what, f"{used.wall:.1f} s", f"CPU {used.cpu:.1f} s, largest process {used.largest_mb:.0f} MB")


def again() -> Iterator[Row]:
    """A question that was asked before."""
    with TemporaryDirectory() as out:
        words = ["rate", BIRCHWATER, "--takts", "5,4.5", "--runs", 30, "--jobs", 2, "--json", "--out", out]
        first, second = command(*words), command(*words)
        assert first.out == second.out
        yield _used("linesim rate, two takts, 30 runs each", first)
        yield _used("the same question again", second)


def growth() -> Iterator[Row]:
    """How CPU grows: fitted exponents, 1 is linear."""
    with TemporaryDirectory() as folder:
        def years(horizon: float, aircraft: int) -> Callable[[], float]:
            sheet = Sheet(read_scenario(plants.over_years(Path(folder), horizon, aircraft)))
            return lambda: cpu(lambda: run_chunk(sheet, 1, [LEAN], numbers_of))

        sizes = (1.5, 3.0, 6.0)
        yield _grows("aircraft and horizon together", sizes, [years(one, round(50 * one)) for one in sizes])
        yield _grows("horizon, same 50 aircraft", sizes, [years(one, 50) for one in sizes])
    many = (60, 120, 240)
    yield _grows("packages of 12 places, same hours", many, [_run_of(plants.of_places(12, one)) for one in many])
    sheet = Sheet(acted_on(read_scenario(TINY)))
    numbers = (100, 200, 400)
    yield _grows("runs", numbers, [lambda n=n: cpu(lambda: run_chunk(sheet, 1, range(25, 25 + n), numbers_of))
                                   for n in numbers])  # type: ignore[misc]


def _run_of(scenario: Scenario) -> Callable[[], float]:
    sheet = Sheet(scenario)
    return lambda: cpu(lambda: run_chunk(sheet, 1, [LEAN], numbers_of))


def _grows(what: str, sizes: tuple[float, ...], acts: list[Callable[[], float]]) -> Row:
    seconds = in_turns(acts, 3)
    return Row(f"growth with {what}", f"exponent {exponent(sizes, seconds):.2f}", ", ".join(
        f"{size:g}: {1000 * one:.0f} ms" for size, one in zip(sizes, seconds, strict=True)))


def large() -> Iterator[Row]:
    """Plants far larger than the demo."""
    with TemporaryDirectory() as folder:
        for scenario in (read_scenario(plants.over_years(Path(folder), 10, 700)), plants.of_places(60, 1000)):
            sheet = Sheet(scenario)
            found: list[RunNumbers] = []
            seconds = cpu(lambda sheet=sheet, found=found:  # type: ignore[misc]
                          found.extend(run_chunk(sheet, 1, [LEAN], numbers_of)))
            yield Row(f"{scenario.name}, one run", f"{seconds:.1f} s", f"CPU; {len(found[0].delivered)} delivered")


def memory(number: int = HUGE) -> Iterator[Row]:
    """Answers from many kept runs of the demo: 25 runs, put away again and again under other numbers, stand for all but
    the first 25, of which every segment is kept."""
    scenario = read_scenario(BIRCHWATER)
    plan, = plans_to_try(scenario, takts_from("4.5"))
    sheet = Sheet(acted_on(scenario))
    first, done = (run_chunk(sheet, scenario.seed, range(begin, begin + 25), numbers_of) for begin in (0, LEAN))
    with TemporaryDirectory() as out:
        fill(Path(out), plan.scenario, scenario.seed, done, number, first)
        yield _kept("rate", number, out, "--takts", "4.5")
    plain = without_common_luck(scenario)
    with TemporaryDirectory() as out:
        for one in (scenario, *([plain] if plain else [])):
            fill(Path(out), one, scenario.seed, done, number, first)
        yield _kept("run", number, out)


def _kept(question: str, number: int, out: str, *words: object) -> Row:
    used = command(question, BIRCHWATER, *words, "--runs", number, "--jobs", 1, "--json", "--out", out)
    report = ", with report, workbook and tables" if question == "run" else ""
    return Row(f"{question} from {number:,} kept runs{report}, largest process", f"{used.largest_mb:.0f} MB",
               f"CPU {used.cpu:.0f} s")


def fill(out: Path, scenario: Scenario, seed: int, done: list[RunNumbers], number: int,
         first: Sequence[RunNumbers] = ()) -> None:
    """Put runs away under the numbers 0 to `number` - 1: the `first`, and copies of others."""
    with RunFolder(out, "birchwater", scenario, seed) as folder:
        folder.put(first)
        for begin in range(len(first), number, len(done)):
            folder.put([_copy(run, begin + n, begin // len(done)) for n, run in enumerate(done)])


def _copy(run: RunNumbers, number: int, later: int) -> RunNumbers:
    """The same run by another number, in which all is delivered at other minutes: no two runs share their moments."""
    return replace(run, run=number, delivered={
        serial: f"{at[:-2]}{(int(at[-2:]) + later) % 60:02d}" for serial, at in run.delivered.items()})


PARTS: dict[str, Callable[[], Iterator[Row]]] = {
    "demo": demo, "line": line, "start": start, "runs": runs, "again": again, "growth": growth, "large": large,
    "memory": memory, "whole-line": whole_line, "thousand": thousand}
LONG = ("memory", "whole-line", "thousand")

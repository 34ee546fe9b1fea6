"""Compile the floor for more speed: `linesim compile`, and `linesim compile --remove` to undo it.

For those who have a C compiler and `pip install 'linesim[compiled]'`. The records stay the same to the last digit,
which is looked at on the starter plant before the compiled code is used. After any change of the source it is passed
over until it is made again.
"""

from __future__ import annotations

import os
import pickle
import subprocess
import sys
import sysconfig
from pathlib import Path
from shutil import rmtree, which
from tempfile import TemporaryDirectory
from typing import Any

from ..scenario import COMPILED, GROUP, LIBRARY, PACKAGE, folder_of_this_source

AS_THEY_ARE = ("__init__", "cluster", "cluster_fault", "compiled", "desk", "records", "runs",
               "sheet")  # nothing to gain, handed on, or copied
BESIDE = ("scenario/clock.py", "scenario/laws.py", "measures/chain.py")  # what is as busy as the floor
RUNS = 3
LOOKED_AT = """
[mypy]
ignore_missing_imports = true
[mypy-linesim.show.*,linesim.questions.*,distributed.*]
follow_imports = skip
"""  # what the compiler reads besides: not the storeys above, which take twice as long as the floor to be understood


def compile_floor(*, remove: bool, level: str = "2") -> int:
    """The command; 2: not possible here, 1: compiled and not used, because the records differ. `level`: how hard the C
    compiler tries, "0" to "3"."""
    rmtree(COMPILED, ignore_errors=True)
    if COMPILED.exists():
        print(f"{COMPILED} could not be removed; is a run going on?", file=sys.stderr)
        return 2
    if remove:
        print("The source is used again.")
        return 0
    try:
        import mypyc  # noqa: F401
        import setuptools  # noqa: F401
    except ImportError as error:
        print(f"{error.name} is not installed; pip install 'linesim[compiled]' installs it", file=sys.stderr)
        return 2
    if missing := _missing_for_c():
        print(f"{missing}; the source is used, which is slower and gives the same numbers.", file=sys.stderr)
        return 2
    return _compile_and_compare(level)


def _missing_for_c() -> str:
    """What this machine lacks for compiling C, as far as it can be told beforehand."""
    compiler = (sysconfig.get_config_var("CC") or "").split()  # Windows has none of its own here
    if compiler and which(compiler[0]) is None:
        return f"There is no C compiler here ({compiler[0]})"
    if not Path(sysconfig.get_path("include"), "Python.h").exists():
        return "Python's header files are not installed here (on Debian: python3-dev)"
    return ""


def _compile_and_compare(level: str) -> int:
    plain = _records_of_a_new_process()
    if isinstance(plain, str):
        print(f"The starter plant cannot be run: {plain}", file=sys.stderr)
        return 2
    print("Compiling the floor takes half a minute, or twice that.", flush=True)
    with TemporaryDirectory(dir=PACKAGE, prefix="compiling_") as work:
        built = Path(work, "built")
        made = _in_a_new_process(f"build({str(built)!r}, {work!r}, {level!r})")
        if made.returncode:
            said = (made.stdout + made.stderr).decode(errors="replace")
            print(f"The floor could not be compiled; the source is used as before.\n{said[-2000:]}", file=sys.stderr)
            return 2
        COMPILED.mkdir()
        (built / LIBRARY).rename(built / "linesim" / LIBRARY)
        (built / "linesim").rename(folder_of_this_source())
    if _records_of_a_new_process() != plain:
        rmtree(COMPILED, ignore_errors=True)
        print("The compiled floor gives other records; the source is used as before.", file=sys.stderr)
        return 1
    print(f"Compiled; {RUNS} runs of the starter plant give the same records. It is used from now on.")
    return 0


def build(built: str, work: str, level: str) -> None:
    """Compile the files of this folder; `built` is laid out like the folder that holds the package."""
    from concurrent.futures import ThreadPoolExecutor
    from itertools import chain

    from mypyc.build import mypycify
    from setuptools import setup
    from setuptools.command.build_ext import build_ext

    class OnAllCores(build_ext):
        """The C files of the one library at a time on each core; by itself it takes them one after another."""

        def build_extension(self, ext: Any) -> None:
            one_by_one = self.compiler.compile

            def side_by_side(sources: list[str], *args: Any, **options: Any) -> list[str]:
                with ThreadPoolExecutor(os.cpu_count()) as cores:
                    return list(chain(*cores.map(lambda source: one_by_one([source], *args, **options), sources)))

            self.compiler.compile = side_by_side
            try:
                super().build_extension(ext)
            finally:
                self.compiler.compile = one_by_one

    os.chdir(PACKAGE.parent)  # the compiler names modules by their paths from here
    files = [file for file in sorted(PACKAGE.glob("line/*.py")) if file.stem not in AS_THEY_ARE]
    names = [str(file.relative_to(PACKAGE.parent)) for file in (*files, *(PACKAGE / name for name in BESIDE))]
    settings = Path(work, "looked_at.ini")
    settings.write_text(LOOKED_AT, encoding="utf-8")
    modules = mypycify([f"--config-file={settings}", f"--cache-dir={os.devnull}", *names], opt_level=level,
                       debug_level="0", group_name=GROUP, target_dir=work, multi_file=True)  # one file: twice as long
    if sys.platform != "win32":  # a product and a sum are rounded one after the other, as in the source
        for module in modules:
            module.extra_compile_args.append("-ffp-contract=off")
    setup(name="linesim", packages=[], ext_modules=modules, cmdclass={"build_ext": OnAllCores},
          script_args=["-q", "build_ext", "--build-lib", built, "--build-temp", work])


def write_records() -> None:
    """All records of some runs of the starter plant, to the standard output."""
    from ..scenario.reading import read_scenario
    from .floor import run_once
    from .sheet import Sheet

    scenario = read_scenario(PACKAGE / "scenario" / "starter.yaml")
    sheet = Sheet(scenario)
    pickle.dump([run_once(sheet, scenario.seed, number) for number in range(RUNS)], sys.stdout.buffer)


def _records_of_a_new_process() -> Any:
    """The records as they are compared: by value, to the last digit."""
    done = _in_a_new_process("write_records()")
    return pickle.loads(done.stdout) if done.returncode == 0 else f"failed: {done.stderr!r}"


def _in_a_new_process(what: str) -> subprocess.CompletedProcess[bytes]:
    """Call something of this file where nothing of the floor is loaded yet."""
    path = os.pathsep.join((str(PACKAGE.parent), os.environ.get("PYTHONPATH", "")))
    return subprocess.run([sys.executable, "-c", f"from linesim.line.compiled import *; {what}"],
                          env={**os.environ, "PYTHONPATH": path}, capture_output=True, check=False)

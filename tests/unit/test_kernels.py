"""Machine code of kernels: made once, found again, made anew when its sources change, tidied up."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from ullage.kernels import _with_parts, compiled, is_kernel
from ullage.machine import entry, keep_latest
from ullage.plant.chance import STREAM_STEP, drawn, uniform

ROOT = Path(__file__).parents[2]


def say(code: str, cache: Path, package: Path = ROOT / "src") -> str:
    """What a new process prints whose machine code is kept in a directory."""
    settings = dict(os.environ, PYTHONPATH=str(package), XDG_CACHE_HOME=str(cache))
    settings.pop("NUMBA_CACHE_DIR", None)
    command = [sys.executable, "-c", f"from ullage.kernels import *; from ullage.plant.chance import *; {code}"]
    return subprocess.run(command, env=settings, capture_output=True, text=True, check=True).stdout.strip()


def test_only_marked_functions_are_compiled() -> None:
    """A function that is no kernel may do what machine code cannot, and would be compiled to something else."""
    assert is_kernel(drawn)
    assert not is_kernel(is_kernel)
    with pytest.raises(TypeError, match="is not a kernel"):
        compiled(is_kernel)


def test_machine_code_is_found_again(tmp_path: Path) -> None:
    """A person who is told of a wait that does not come, or waits unwarned, stops believing what is said."""
    assert say("print(is_kept(uniform))", tmp_path) == "False"
    assert say("print(compiled(uniform)(7, 5), is_kept(uniform), is_kept(drawn))", tmp_path) == (
        f"{uniform(7, 5)} True False"
    )
    assert say("print(is_kept(uniform), compiled(uniform)(7, 5))", tmp_path) == f"True {uniform(7, 5)}"


def test_machine_code_is_made_anew_when_a_callee_or_a_constant_changes(tmp_path: Path) -> None:
    """A simulation that runs the code of yesterday proves what is no longer true."""
    package = tmp_path / "src"
    shutil.copytree(ROOT / "src" / "ullage", package / "ullage", ignore=shutil.ignore_patterns("__pycache__"))
    before = say("print(compiled(stream)(7, 2, 1))", tmp_path, package)
    chance, codes = (package / "ullage" / "plant" / name for name in ("chance.py", "codes.py"))
    text = chance.read_text("utf8")
    written = f"STREAM_STEP = 0x{STREAM_STEP:X}"
    assert written in text
    chance.write_text(text.replace(written, f"STREAM_STEP = 0x{STREAM_STEP + 2:X}"), "utf8")
    assert say("print(is_kept(stream))", tmp_path, package) == "False"
    after = say("print(compiled(stream)(7, 2, 1))", tmp_path, package)
    codes.write_text(codes.read_text("utf8") + "\nNEW = 1\n", "utf8")
    assert say("print(is_kept(stream))", tmp_path, package) == "False", "a file of constants only"
    assert after != before


def test_only_the_latest_machine_code_stays(tmp_path: Path) -> None:
    """Each change of a source leaves megabytes behind that nothing will ever read again."""
    places = [tmp_path / f"{i:016x}" for i in range(10)]
    for i, place in enumerate(places):
        place.mkdir()
        (place / "code.nbc").touch()
        os.utime(place, (i, i))
    (tmp_path / "notes").mkdir()
    keep_latest(places[0], 3)
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted(
        [*(place.name for place in (places[0], *places[8:])), "notes"]
    )


def test_beside_a_place_of_ones_own_nothing_is_removed(tmp_path: Path) -> None:
    """What a person keeps beside a directory they chose is theirs."""
    mine = tmp_path / "0123456789abcdef"
    mine.mkdir()
    keep_latest(tmp_path / "chosen", 0)
    assert mine.is_dir()


def test_one_variant_for_all_numbers(tmp_path: Path) -> None:
    """A variant for every literal number would double the wait for machine code."""
    twin = compiled(drawn)
    twin(1, 2)
    assert len(twin.overloads) == 1
    anew = entry(_with_parts(uniform), str(tmp_path))
    anew(1, 2)
    assert len(anew.py_func.__globals__["drawn"].overloads) == 1

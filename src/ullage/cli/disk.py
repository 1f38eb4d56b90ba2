"""Reading what a person names and writing where a person says, with a remedy for each way it can fail."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path

from ullage.cli.speak import Misuse
from ullage.findings import nearest

BYTES_LIMIT = 1_000_000
"""No file that a person writes is larger; one byte more is read, so that the reader of the file can say so."""


def read(path: Path, what: str) -> bytes:
    """Read a file that a person named.

    Parameters
    ----------
    path : Path
        As given.
    what : str
        What it should be: ``rig file``, ``scenario``.

    Raises
    ------
    Misuse
        When it is missing, a directory, no regular file or not readable.
    """
    try:
        if path.is_dir():
            raise Misuse(f"{path} is a directory", f"name the {what} in it{_in(path)}")
        if path.exists() and not path.is_file():
            raise Misuse(f"{path} is not a regular file", f"name a {what} on disk")
        with path.open("rb") as file:
            return file.read(BYTES_LIMIT + 1)
    except FileNotFoundError:
        raise Misuse(f"there is no {what} {path}", _similar(path)) from None
    except PermissionError:
        raise Misuse(f"{path} may not be read", f"give yourself the right to read the {what}") from None
    except (OSError, ValueError) as fault:
        raise Misuse(f"{_shown(path)} cannot be read ({_reason(fault)})", f"name a {what} that can be") from None


def prepare(directory: Path) -> None:
    """Make sure of a directory to write into, before any long work is done for it.

    Raises
    ------
    Misuse
        When it cannot be made or written to.
    """
    try:
        directory.mkdir(parents=True, exist_ok=True)
    except (FileExistsError, NotADirectoryError):
        raise Misuse(f"{directory} is a file, or lies below one", "name a directory after --out") from None
    except (OSError, ValueError) as fault:
        raise Misuse(
            f"{_shown(directory)} cannot be made ({_reason(fault)})", "name another directory after --out"
        ) from None
    if not os.access(directory, os.W_OK | os.X_OK):
        raise Misuse(f"{directory} may not be written to", "name another directory after --out")


def write(directory: Path, files: Mapping[str, bytes]) -> list[Path]:
    """Write files into a directory, each whole or not at all; their paths in order.

    Raises
    ------
    Misuse
        When the disk refuses.
    """
    paths = []
    for name, content in files.items():
        path = directory / name
        half = path.with_name(path.name + ".part")
        try:
            half.write_bytes(content)
            half.replace(path)
        except OSError as fault:
            raise Misuse(f"{path} cannot be written ({_reason(fault)})", "name another directory after --out") from None
        paths.append(path)
    return paths


def _reason(fault: Exception) -> str:
    return (fault.strerror if isinstance(fault, OSError) and fault.strerror else str(fault)).lower()[:80]


def _shown(path: Path) -> str:
    return ascii(str(path))[1:-1][:80]


def _in(directory: Path) -> str:
    try:
        first = next(iter(sorted(directory.glob("*.yaml"))), None)
    except OSError:
        return ""
    return f", such as {first}" if first else ""


def _similar(path: Path) -> str:
    try:
        near = nearest(path.name, (other.name for other in path.parent.iterdir() if other.is_file()))
    except OSError:
        near = ""
    return f"did you mean {path.with_name(near)}?" if near else "give the path of a file that exists"

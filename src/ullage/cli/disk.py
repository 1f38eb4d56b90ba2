"""Reading what a person names and writing where a person says, with a remedy for each way it can fail."""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from hashlib import sha256
from itertools import count
from pathlib import Path

import typer

from ullage.cli.speak import Misuse, say
from ullage.findings import nearest

BYTES_LIMIT = 1_000_000
"""No file that a person writes is larger; one byte more is read, so that the reader of the file can say so."""

MANIFEST = ".ullage-written.json"
"""The list of what was written into a directory, so that nothing else is ever removed from it."""


def path(text: str | Path) -> Path:
    """A path as a person gave it.

    Raises
    ------
    BadParameter
        When it is empty: as a path that would be the working directory.
    """
    if not str(text):
        raise typer.BadParameter("it is empty")
    return Path(text)


def read(path: Path, what: str, most: int = BYTES_LIMIT) -> bytes:
    """Read a file that a person named.

    Parameters
    ----------
    path : Path
        As given.
    what : str
        What it should be: ``rig file``, ``scenario``, ``story``.
    most : int
        At most so many bytes, and one more.

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
            return file.read(most + 1)
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


def write(directory: Path, files: Mapping[str, bytes], verb: str) -> list[Path]:
    """Write files into a directory, each whole or not at all, and clear away what the same verb left there before.

    What is cleared away is known from the list `MANIFEST`: only files that stand in it and have not
    been changed since. A file of somebody else's that has the name of a new one is kept beside it.

    Parameters
    ----------
    directory : Path
        An existing one.
    files : mapping
        Content by name.
    verb : str
        Whose files these are: another verb may write into the same directory.

    Returns
    -------
    list of Path
        Where they are, in order.

    Raises
    ------
    Misuse
        When the disk refuses.
    """
    listed = _listed(directory)
    before, now = listed.get(verb, {}), {name: sha256(content).hexdigest() for name, content in files.items()}
    path = directory / MANIFEST
    try:
        _write(path, _manifest({**listed, verb: {**now, **before}}))
        for name, content in files.items():
            path = directory / name
            if path.is_file() and _sum(path) not in (before.get(name), now[name]):
                _keep(path)
            _write(path, content)
        for name in before.keys() - now.keys():
            path = directory / name
            if path.is_file() and not path.is_symlink() and _sum(path) == before[name]:
                path.unlink()
        path = directory / MANIFEST
        _write(path, _manifest({**listed, verb: now}))
    except OSError as fault:
        raise Misuse(f"{path} cannot be written ({_reason(fault)})", "name another directory after --out") from None
    return [directory / name for name in files]


def _write(path: Path, content: bytes) -> None:
    half = path.with_name(path.name + ".part")
    try:
        half.write_bytes(content)
        half.replace(path)
    except OSError:
        half.unlink(missing_ok=True)
        raise


def _keep(path: Path) -> None:
    """Move a file that is not ours out of the way, to the first free name beside it."""
    names = (path.with_name(f"{path.name}.kept{n or ''}") for n in count())
    kept = next(name for name in names if not name.exists())
    path.replace(kept)
    say(f"{path} is not of an earlier run, or was changed since: kept as {kept.name}", to_error=True)


def _listed(directory: Path) -> dict[str, dict[str, str]]:
    """Names and checksums of the files that each verb left in a directory; none where the list is no such list."""
    try:
        listed = json.loads((directory / MANIFEST).read_bytes())["files"]
        return {
            str(verb): {str(n): str(s) for n, s in names.items() if Path(n).name == n} for verb, names in listed.items()
        }
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return {}


def _manifest(files: Mapping[str, Mapping[str, str]]) -> bytes:
    return (json.dumps({"format": "ullage written 1", "files": files}, indent=1) + "\n").encode()


def _sum(path: Path) -> str:
    return sha256(path.read_bytes()).hexdigest()


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

"""``ullage certify``: certificates that a proof wrote, checked by code that had no part in it."""

from __future__ import annotations

import gzip
import json
import re
import zlib
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from ullage.cli import check, disk, speak

if TYPE_CHECKING:
    from ullage.verdict.certificates import Notary

SUFFIX = ".proof.gz"

BYTES_LIMIT = 64 << 20
"""A certificate is at most so large, packed; and unpacked at most sixteen times that."""

CertificatePaths = Annotated[
    list[Path],
    typer.Argument(
        metavar="CERTIFICATE...",
        help="Certificates that ullage prove --certificates wrote, or the directory they are in.",
        show_default=False,
        parser=disk.path,
    ),
]


def certify(
    rig: check.RigPath,
    certificates: CertificatePaths,
    units: check.Units = "metric",
    json: check.Json = False,
) -> None:
    """Check certificates of a proof against the rig, by code that had no part in the proof."""
    from ullage.verdict.certificates import Notary

    text = disk.read(rig, "rig file")
    ready = check.must_run(rig, text, json, units)
    notary, told = Notary(ready.examined), []
    for path in _files(certificates):
        told.append(_checked(notary, _unpacked(path).splitlines(), str(path)))
        if not json:
            _tell(told[-1])
    if json:
        document = {"format": "ullage certificates 1", "rig": ready.rig.rig, "program": ready.program.hash}
        speak.say_json({**document, "certificates": told})
    raise typer.Exit(0 if all(one["holds"] for one in told) else 1)


def _files(paths: Sequence[Path]) -> Iterator[Path]:
    """The certificates that are named, and those in each directory that is named."""
    for path in paths:
        if path.is_dir():
            found = sorted(path.glob(f"*{SUFFIX}"))
            if not found:
                raise speak.Misuse(f"there is no certificate in {path}", "let ullage prove --certificates write them")
            yield from found
        else:
            yield path


def name_of(number: int, lines: Sequence[str]) -> str:
    """The name of a certificate's file: which it is, what must never be, with which faults."""
    head = json.loads(lines[0])
    words = " ".join((head["statement"], head["about"], *head["faults"]))
    return f"{number:02d}-{re.sub('[^a-z0-9]+', '-', words.lower()).strip('-')[:80]}{SUFFIX}"


def packed(lines: Sequence[str]) -> bytes:
    """A certificate as it lies in its file."""
    return gzip.compress(("\n".join(lines) + "\n").encode(), mtime=0)


def _checked(notary: Notary, lines: list[str], file: str) -> dict[str, Any]:
    """What came of checking one certificate, as JSON (docs/output.md describes it)."""
    from ullage.prove.checker import Refused

    told = {"statement": "", "about": "", "faults": [], "holds": False, "layer": "", "boxes": 0, "arrivals": 0}
    try:
        checked = notary.check(lines)
    except Refused as refused:
        return {**told, "reason": str(refused), "file": file}
    said = {of: checked.head[of] for of in ("statement", "about", "faults", "layer")}
    counts = {"boxes": checked.boxes, "arrivals": checked.arrivals}
    return {**told, **said, **counts, "holds": True, "reason": "", "file": file}


def _tell(one: dict[str, Any]) -> None:
    of = f" ({one['about']})" if one["about"] else ""
    under = f", with {' and '.join(one['faults'])}" if one["faults"] else ""
    if one["holds"]:
        held = f"cannot be ({one['layer']}); {one['boxes']:,} boxes, {one['arrivals']:,} arrivals held"
        speak.say(f"{one['statement']}{of}{under}: {held}")
        speak.say(f"  {one['file']}")
    else:
        speak.say(f"{one['file']}: {speak.ink('refused', 'fault')}: {one['reason']}")


def _unpacked(path: Path) -> str:
    content = disk.read(path, "certificate", BYTES_LIMIT)
    try:
        if content[:2] == b"\x1f\x8b":
            with gzip.open(path) as file:
                content = file.read(16 * BYTES_LIMIT)
        return content.decode()
    except (OSError, EOFError, UnicodeDecodeError, zlib.error):
        raise speak.Misuse(f"{path} is no certificate", f"name a file that ends in {SUFFIX}") from None

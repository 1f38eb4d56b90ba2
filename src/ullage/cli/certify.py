"""``ullage certify``: the whole of a proof written to a file, and checked by code that had no part in it."""

from __future__ import annotations

import gzip
import re
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from ullage.cli import check, disk, speak
from ullage.cli.draw import Out

if TYPE_CHECKING:
    from ullage.plant.faults import Fault
    from ullage.verdict.certificates import Notary

SUFFIX = ".proof.gz"

BYTES_LIMIT = 64 << 20
"""A certificate is at most so large, packed; and unpacked at most sixteen times that."""


def certify(
    rig: check.RigPath,
    only: Annotated[
        str, typer.Option("--only", metavar="TEXT", help="Only what has this in it, such as 'belly'.")
    ] = "",
    fault: Annotated[
        list[str] | None, typer.Option("--fault", metavar="FAULT", help="What may be wrong; else nothing is.")
    ] = None,
    certificate: Annotated[
        Path | None, typer.Option("--check", metavar="FILE", help="Check this certificate against the rig instead.")
    ] = None,
    out: Out = Path("out/certify"),
    units: check.Units = "metric",
    json: check.Json = False,
) -> None:
    """Write certificates of what is proved, each checked before it is written; or check one."""
    from ullage.verdict.certificates import Notary

    text = disk.read(rig, "rig file")
    ready = check.must_run(rig, text, json, units)
    notary, files = Notary(ready.examined), dict[str, bytes]()
    if certificate is not None:
        told = [_checked(notary, _unpacked(certificate).splitlines(), str(certificate))]
    else:
        disk.prepare(out)
        told = list(_written(notary, only, _faults(ready, fault or []), files))
        paths = disk.write(out, files, "certify")
        for one, path in zip((one for one in told if one["file"]), paths, strict=True):
            one["file"] = str(path)
    if json:
        document = {"format": "ullage certificates 1", "rig": ready.rig.rig, "program": ready.program.hash}
        speak.say_json({**document, "certificates": told})
    else:
        for one in told:
            _tell(one)
    raise typer.Exit(0 if all(one["holds"] for one in told) else 1)


def _written(notary: Notary, only: str, faults: list[Fault], files: dict[str, bytes]) -> Iterator[dict[str, Any]]:
    """Certificates of all that is asked for, added to the files, and what came of each."""
    from ullage.verdict.properties import Asked

    never = [one for one in notary.properties if one.asked is not Asked.SOMETIMES]
    asked = [one for one in never if only.lower() in one.text.lower() and not (faults and one.healthy_only)]
    if not asked:
        texts = "; ".join(one.text for one in never)
        raise speak.Misuse(f"nothing that is asked has '{only[:60]}' in it", f"it is one of: {texts}")
    for one in asked:
        certificates = notary.certify(one, faults)
        if certificates is None:
            yield _told(one.text, list(map(str, faults)), reason="it is not proved")
        for lines in certificates or ():
            told = _checked(notary, lines, "")
            words = " ".join((told["statement"], told["about"], *told["faults"]))
            told["file"] = f"{len(files) + 1:02d}-{re.sub('[^a-z0-9]+', '-', words.lower()).strip('-')[:80]}{SUFFIX}"
            files[told["file"]] = gzip.compress(("\n".join(lines) + "\n").encode(), mtime=0)
            yield told


def _faults(ready: check.Runnable, texts: list[str]) -> list[Fault]:
    from ullage.plant.faults import FaultError, read_fault

    try:
        return [read_fault(ready.rig, text) for text in texts]
    except FaultError as fault:
        raise speak.Misuse(f"--fault: {fault.what}", fault.expected) from None


def _checked(notary: Notary, lines: list[str], file: str) -> dict[str, Any]:
    """What came of checking one certificate."""
    from ullage.prove.checker import Refused

    try:
        checked = notary.check(lines)
    except Refused as refused:
        return _told("", [], reason=str(refused), file=file)
    head = checked.head
    return _told(
        head["statement"], head["faults"], head["about"], head["layer"], checked.boxes, checked.arrivals, file=file
    )


def _told(
    statement: str,
    faults: list[str],
    about: str = "",
    layer: str = "",
    boxes: int = 0,
    arrivals: int = 0,
    reason: str = "",
    file: str = "",
) -> dict[str, Any]:
    """One certificate as JSON (docs/output.md describes it)."""
    return {
        "statement": statement,
        "about": about,
        "faults": faults,
        "holds": not reason,
        "layer": layer,
        "boxes": boxes,
        "arrivals": arrivals,
        "reason": reason,
        "file": file,
    }


def _tell(one: dict[str, Any]) -> None:
    of = f" ({one['about']})" if one["about"] else ""
    under = f", with {' and '.join(one['faults'])}" if one["faults"] else ""
    what = f"{one['statement'] or one['file']}{of}{under}"
    if one["holds"]:
        speak.say(f"{what}: cannot be ({one['layer']}); {one['boxes']:,} boxes, {one['arrivals']:,} arrivals held")
        speak.say(f"  {one['file']}")
    else:
        speak.say(f"{what}: {'refused: ' if one['file'] else ''}{one['reason']}")


def _unpacked(path: Path) -> str:
    content = disk.read(path, "certificate", BYTES_LIMIT)
    try:
        if content[:2] == b"\x1f\x8b":
            with gzip.open(path) as file:
                content = file.read(16 * BYTES_LIMIT)
        return content.decode()
    except (OSError, EOFError, UnicodeDecodeError, zlib.error):
        raise speak.Misuse(f"{path} is no certificate", f"name a file that ends in {SUFFIX}") from None

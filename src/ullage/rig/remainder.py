"""What else is wrong with a file of which some parts could not be read.

A person wants all faults at once. So the parts that could not be read are left out, and names and
guards of the rest are looked at; what is found only because a part was left out is not told.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from pydantic import ValidationError

from ullage.findings import FINDINGS_LIMIT, Finding, nearest
from ullage.rig.check_references import reference_findings
from ullage.rig.law import read_law
from ullage.rig.model import Rig
from ullage.rig.names import KINDS, name_findings
from ullage.rig.text import Path, Places

_COME_OF_MISSING = ("N207", "N210", "S402")

TRIALS = 3
"""Leaving out a part can show a fault that it hid; after so many rounds the rest is let be."""


def remainder_findings(tree: dict[str, Any], faults: Sequence[Path], places: Places) -> tuple[Finding, ...]:
    """Findings on names and guards of the parts that can be read.

    Parameters
    ----------
    tree : dict
        Content of the file.
    faults : sequence of Path
        Where the models found faults; with more of them than are ever shown, nothing else is looked for.
    places : Places
        Of the file.
    """
    if len(faults) > FINDINGS_LIMIT:
        return ()
    rest: dict[str, Any] = {"rig": "rest", **tree}
    missing: set[str] = set()
    for _ in range(TRIALS):
        for path in faults:
            if path == ("rig",):
                rest["rig"] = "rest"
            elif len(path) == 1 and _is_group(str(path[0]), tree):
                return ()
            else:
                missing |= _leave_out(rest, path)
        try:
            rig = Rig.model_validate(rest)
        except ValidationError as again:
            faults = [tuple(fault["loc"]) for fault in again.errors(include_url=False, include_context=False)]
            continue
        found = [*name_findings(rig, places), *reference_findings(rig, places), *read_law(rig, places)[1]]
        return tuple(_nearer(finding, missing) for finding in found if not _from_missing(finding, missing))
    return ()


def _is_group(key: str, tree: dict[str, Any]) -> bool:
    """Whether a key holds a whole group of parts, perhaps under a mistyped name: nearly all else hangs on them."""
    groups = (*KINDS, "lines")
    return key in groups or nearest(key, groups) in set(groups) - set(tree)


def _leave_out(rest: dict[str, Any], path: Path) -> set[str]:
    """Take the part that holds a fault out; its names."""
    group, name = path[0], path[1] if len(path) > 1 else ""
    content = rest.get(str(group))
    if isinstance(content, dict) and name in content and group in KINDS:
        rest[str(group)] = {other: part for other, part in content.items() if other != name}
        return {str(name)}
    rest.pop(str(group), None)
    return {"handset"} if group == "handset" else set()


def _from_missing(finding: Finding, missing: set[str]) -> bool:
    """Whether a finding may come of a part that was left out, or of a line that was."""
    return finding.code in _COME_OF_MISSING or any(f"'{name}" in finding.what for name in missing)


def _nearer(finding: Finding, missing: set[str]) -> Finding:
    """The finding with a part that was left out as the nearest name, where it is nearer."""
    if finding.code not in ("N200", "N203") or not finding.near:
        return finding
    return replace(finding, near=nearest(finding.what.split("'")[1], {finding.near, *missing}))

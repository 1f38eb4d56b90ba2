"""Everything that can be found wrong with a rig without reckoning its flows."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from itertools import chain, islice

from ullage.findings import FINDINGS_LIMIT, Finding, in_order
from ullage.rig.check_burden import burden_findings
from ullage.rig.check_charts import chart_findings
from ullage.rig.check_demands import demand_findings
from ullage.rig.check_plumbing import plumbing_findings
from ullage.rig.check_pumps import pump_findings
from ullage.rig.check_references import reference_findings
from ullage.rig.check_signals import signal_findings
from ullage.rig.check_supply import supply_findings
from ullage.rig.check_tanks import tank_findings
from ullage.rig.model import Rig
from ullage.rig.names import name_findings
from ullage.rig.text import Places
from ullage.rig.view import View

LOOKS = (
    tank_findings,
    plumbing_findings,
    pump_findings,
    signal_findings,
    demand_findings,
    chart_findings,
    supply_findings,
    burden_findings,
)
"""What is looked at in a rig whose names are in order."""


def check(view: View, unclear: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Check a rig.

    Parameters
    ----------
    view : View
        The rig with its law.
    unclear : tuple of Finding
        What of its guards is unclear, see `ullage.rig.view.view_of`.

    Returns
    -------
    tuple of Finding
        In no order, nothing accepted yet; the unclear among them. While names are in disorder,
        what is built on them is not looked at.
    """
    names = chain(name_findings(view.rig, view.places), reference_findings(view.rig, view.places))
    findings = list(islice(names, FINDINGS_LIMIT))
    if not findings:
        findings.extend(islice(chain.from_iterable(look(view) for look in LOOKS), FINDINGS_LIMIT))
    if max(len(findings), len(unclear)) >= FINDINGS_LIMIT:
        what = f"there are more than {FINDINGS_LIMIT} findings"
        findings.append(Finding("R126", view.places.value(), what, "these mended first"))
    return (*findings, *unclear)


def accepted(rig: Rig, findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Mark the cautions that a person accepts in the rig file with the reason, and sort all."""
    reasons = {(accept.finding, accept.on): accept.why for accept in rig.accepts}

    def marked(finding: Finding) -> Finding:
        reason = reasons.get((finding.code, finding.on)) or reasons.get((finding.code, ""), "")
        return replace(finding, accepted=reason) if reason and finding.entry.level == "caution" else finding

    return in_order(marked(finding) for finding in findings)


def pointless(rig: Rig, findings: Iterable[Finding], places: Places) -> tuple[Finding, ...]:
    """Findings about acceptances that match no caution, once everything has been looked at (code N212)."""
    found = {(f.code, on) for f in findings if f.entry.level == "caution" for on in (f.on, "")}
    told = []
    for at, accept in enumerate(rig.accepts):
        if (accept.finding, accept.on) not in found:
            on = f" on '{accept.on}'" if accept.on else ""
            what = f"{accept.finding}{on} is accepted, but nothing of the kind is found"
            told.append(Finding("N212", places.value("accepts", at, "finding"), what, on=accept.on))
    return tuple(told)

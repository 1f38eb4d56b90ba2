"""Certificates of what is PROVED: written for a verdict, and checked against a rig by a way of their own."""

from __future__ import annotations

from collections.abc import Sequence

from ullage.control.check import Examined
from ullage.plant.faults import Fault, FaultError, read_fault
from ullage.prove.certificate import Claim, against, certificate_of
from ullage.prove.charts import TooLarge
from ullage.prove.checker import Checked, Refused, check
from ullage.prove.harms import Harm, NotFollowed
from ullage.prove.prover import LAYERS, Prover
from ullage.prove.search import End, Search
from ullage.verdict.properties import Property, properties_of


class Notary:
    """Writes certificates for one rig, and checks them.

    Parameters
    ----------
    examined : Examined
        A rig that was checked and compiled.
    prover : Prover, optional
        One that knows the rig already.
    """

    def __init__(self, examined: Examined, prover: Prover | None = None) -> None:
        assert examined.rig, "only a sound rig is asked about"
        assert examined.law, "as above"
        assert examined.program, "as above"
        self.rig, self.program = examined.rig, examined.program
        self.properties = properties_of(examined.rig, examined.law)
        self.prover = prover or Prover(examined.rig, examined.program)

    def certify(self, asked: Property, faults: Sequence[Fault]) -> list[list[str]] | None:
        """Certificates of a property under some faults, one for each tank or pump, as lines.

        None where it is not proved, or a person stopped the prover.

        The searches are made again: a prover keeps none, hundreds of them would fill the memory.
        """
        certificates = []
        try:
            harms = self.prover.harms(asked.statement)
        except NotFollowed:
            return None
        for harm in harms:
            found = self.prover.find(harm, faults)
            if not found.proved:
                return None
            search = Search(self.prover.plan(harm, len(found.layers) - 1, faults))
            end = search.run(self.prover.watch)
            if end is End.STOPPED:
                return None
            assert end is End.CLOSED, "the same search ends the same"
            certificates.append(list(certificate_of(search, self._claim(asked.text, harm, faults, found.rests_on))))
        return certificates

    def check(self, lines: Sequence[str]) -> Checked:
        """Check a certificate, then hold its tables against this rig and work out its rates anew.

        Raises
        ------
        Refused
            When it does not prove what it says, or not of this rig.
        """
        checked = check(lines)
        head = checked.head
        harm, faults = self._harm(head["statement"], head["about"]), self._faults(head["faults"])
        claim = self._claim(head["statement"], harm, faults, head["layer"])
        reason = f"there is no layer of protection '{head['layer']}'"
        for layer in (n for n, (name, _) in enumerate(LAYERS) if name == head["layer"]):
            try:
                reason = against(lines, claim, self.prover.plan(harm, layer, faults))
            except TooLarge:
                reason = "its sequences have too many states"
            if not reason:
                break
        if not self.prover.settled:
            reason = reason or "the solver did not settle every flow that its rates rest on"
        if reason:
            raise Refused(reason)
        return checked

    def _claim(self, text: str, harm: Harm, faults: Sequence[Fault], layer: str) -> Claim:
        return Claim(self.rig.rig, self.program.hash, text, harm.about, tuple(map(str, faults)), layer)

    def _harm(self, text: str, about: str) -> Harm:
        for asked in self.properties:
            if asked.text == text:
                try:
                    harms = self.prover.harms(asked.statement)
                except NotFollowed:
                    harms = []
                for harm in harms:
                    if harm.about == about:
                        return harm
        raise Refused(f"nothing that is asked of this rig is '{text}'{about and f' of {about}'}")

    def _faults(self, texts: Sequence[str]) -> list[Fault]:
        try:
            return [read_fault(self.rig, text) for text in texts]
        except FaultError as fault:
            raise Refused(f"it is about a fault that this rig cannot have: {fault.what}") from None

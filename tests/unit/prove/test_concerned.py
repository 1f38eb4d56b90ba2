"""Which faults a question has to be asked with."""

from __future__ import annotations

from tests.shipped import EXAMPLES
from ullage.control.check import examine
from ullage.plant.faults import CHECK_LEAKING, HOSE_BURST, WRONG_HOSE, single_faults
from ullage.prove.prover import Prover


def test_the_whole_catalogue_at_once_is_looked_at_fault_by_fault() -> None:
    """Twenty faults of the flows at once are a million sets of them: the question would never begin."""
    path = EXAMPLES / "rigs" / "bothy.yaml"
    examined = examine(path.read_bytes(), path.name)
    assert examined.rig is not None
    assert examined.law is not None
    assert examined.program is not None
    prover = Prover(examined.rig, examined.program)
    statement = next(wish.statement for wish in examined.law.never if "overflow" in wish.text)
    (harm,) = prover.harms(statement)
    faults = list(single_faults(examined.rig))
    flows = [fault for fault in faults if fault.kind in (CHECK_LEAKING, HOSE_BURST, WRONG_HOSE)]
    assert len(flows) > 3
    together = prover.concerned(harm, faults)
    assert set(faults) > together
    alone = {fault for fault in faults if prover.concerned(harm, [fault])}
    assert together >= alone
    assert {"cistern_level stuck", "cistern jerrycan"} <= {str(fault) for fault in alone}

"""`ullage certify`: certificates written, checked, and refused."""

from __future__ import annotations

import gzip
from pathlib import Path

import pytest

from tests.unit.cli.conftest import ROOT, Call
from tests.unit.cli.documents import Certificates
from ullage.cli import certify
from ullage.control.check import examine
from ullage.plant.faults import read_fault
from ullage.verdict.certificates import Notary
from ullage.verdict.properties import properties_of
from ullage.verdict.verdicts import Inquiry

BOTHY = ROOT / "examples" / "rigs" / "bothy.yaml"
CRUMB = ROOT / "examples" / "rigs" / "crumb.yaml"


@pytest.fixture
def proved(ullage: Call, tmp_path: Path) -> Path:
    """The certificate that a proof of Bothy's cistern wrote."""
    out = tmp_path / "proved"
    only = ("--only", "cistern reaches its overflow", "--faults", "none", "--effort", "little", "--jobs", 1)
    answer = ullage("prove", BOTHY, *only, "--certificates", "--out", out)
    assert answer.code == 0, answer.err
    (path,) = out.glob("*.proof.gz")
    assert f"ullage certify {BOTHY} {out}\n" in answer.out
    return path


def test_what_a_proof_wrote_is_accepted(ullage: Call, proved: Path) -> None:
    """A proof on paper is worth what somebody else can make of it."""
    answer = ullage("certify", BOTHY, proved, "--json")
    assert answer.code == 0, answer.err
    (one,) = Certificates.model_validate_json(answer.out).certificates
    assert (one.holds, one.faults, one.layer, one.file) == (True, [], "interlocks", str(proved))
    assert 0 < one.boxes < one.arrivals
    told = ullage("certify", BOTHY, proved.parent)
    assert "cistern reaches its overflow: cannot be (interlocks)" in told.out
    empty = ullage("certify", BOTHY, ROOT / "examples")
    assert (empty.code, "there is no certificate in" in empty.err) == (2, True)


def test_one_of_another_rig_or_bent_is_refused(ullage: Call, proved: Path, tmp_path: Path) -> None:
    """The proof of a neighbour's plumbing keeps nobody's floor dry."""
    other = ullage("certify", CRUMB, proved)
    assert (other.code, "refused: " in other.out) == (1, True)
    bent = tmp_path / "bent.proof.gz"
    lines = gzip.decompress(proved.read_bytes()).decode().splitlines()
    bent.write_bytes(gzip.compress("\n".join(lines[:-1]).encode()))
    refused = ullage("certify", BOTHY, proved, bent, "--json")
    assert refused.code == 1
    sound, told = Certificates.model_validate_json(refused.out).certificates
    assert (sound.holds, told.holds) == (True, False)
    assert "boxes, and has" in told.reason
    bent.write_bytes(proved.read_bytes()[:-20])
    assert ullage("certify", BOTHY, bent).code == 2


def test_each_set_of_faults_has_a_certificate_of_its_own() -> None:
    """The proof of a healthy rig says nothing of one whose sender hangs."""
    examined = examine(BOTHY.read_bytes(), "bothy.yaml")
    assert examined.rig is not None
    assert examined.law is not None
    inquiry = Inquiry(BOTHY.read_bytes(), examined)
    asked = next(one for one in properties_of(examined.rig, examined.law) if one.text.startswith("cistern"))
    stuck, dry = (read_fault(examined.rig, f"cistern_{text}") for text in ("level stuck", "float stuck dry"))
    (lines,) = inquiry.certify(asked, (stuck,)) or ()
    assert "cistern-level-stuck" in certify.name_of(1, lines)
    notary = Notary(examined)
    assert notary.check(lines).head["faults"] == ["cistern_level stuck"]
    assert inquiry.certify(asked, (stuck, dry)) is None, "what is not proved gets no certificate"

"""`ullage certify`: certificates written, checked, and refused."""

from __future__ import annotations

import gzip
from pathlib import Path

from tests.unit.cli.conftest import ROOT, Call
from tests.unit.cli.documents import Certificates

BOTHY = ROOT / "examples" / "rigs" / "bothy.yaml"
CRUMB = ROOT / "examples" / "rigs" / "crumb.yaml"
ONLY = ("--only", "cistern reaches its overflow")


def test_what_is_written_is_accepted_again(ullage: Call, tmp_path: Path) -> None:
    """A proof on paper is worth what somebody else can make of it."""
    wrote = ullage("certify", BOTHY, *ONLY, "--fault", "cistern_level stuck", "--out", tmp_path, "--json")
    assert wrote.code == 0, wrote.err
    (one,) = Certificates.model_validate_json(wrote.out).certificates
    assert (one.holds, one.faults, one.layer) == (True, ["cistern_level stuck"], "interlocks")
    again = ullage("certify", BOTHY, "--check", one.file, "--json")
    assert again.code == 0
    assert Certificates.model_validate_json(again.out).certificates == [one]
    told = ullage("certify", BOTHY, "--check", one.file)
    assert "cistern reaches its overflow, with cistern_level stuck: cannot be (interlocks)" in told.out


def test_one_of_another_rig_or_bent_is_refused(ullage: Call, tmp_path: Path) -> None:
    """The proof of a neighbour's plumbing keeps nobody's floor dry."""
    wrote = ullage("certify", BOTHY, *ONLY, "--out", tmp_path, "--json")
    (one,) = Certificates.model_validate_json(wrote.out).certificates
    other = ullage("certify", CRUMB, "--check", one.file)
    assert (other.code, "refused: " in other.out) == (1, True)
    bent = tmp_path / "bent.proof.gz"
    lines = gzip.decompress(Path(one.file).read_bytes()).decode().splitlines()
    bent.write_bytes(gzip.compress("\n".join(lines[:-1]).encode()))
    refused = ullage("certify", BOTHY, "--check", bent, "--json")
    assert refused.code == 1
    (told,) = Certificates.model_validate_json(refused.out).certificates
    assert not told.holds
    assert "boxes, and has" in told.reason
    bent.write_bytes(Path(one.file).read_bytes()[:-20])
    assert ullage("certify", BOTHY, "--check", bent).code == 2


def test_what_is_not_proved_gets_no_certificate(ullage: Call, tmp_path: Path) -> None:
    """A file beside the others is taken for a proof, whatever is in it."""
    out = tmp_path / "out"
    both = ("--fault", "cistern_level stuck", "--fault", "cistern_float stuck dry")
    answer = ullage("certify", BOTHY, *ONLY, *both, "--out", out)
    assert answer.code == 1
    assert "with cistern_level stuck and cistern_float stuck dry: it is not proved" in answer.out
    assert not list(out.glob("*.gz"))
    wrong = ullage("certify", BOTHY, "--fault", "kettle stuck", "--out", out)
    assert (wrong.code, "no part of this rig" in wrong.err) == (2, True)

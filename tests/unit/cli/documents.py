"""The JSON documents that the commands print and write, field by field.

`docs/output.md` describes them to people; both are held to what is really printed.
"""

from __future__ import annotations

import types
import typing
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field


class Document(BaseModel):
    """No field more, no field less, and no text where a number belongs."""

    model_config = ConfigDict(extra="forbid", strict=True)


class FoundOne(Document):
    code: str = Field(pattern=r"^[RNPSIMBL]\d{3}$")
    level: Literal["fault", "caution"]
    title: str
    file: str
    line: int
    column: int
    what: str
    expected: str
    near: str
    on: str
    accepted: str
    remedy: str


class Harm(Document):
    ms: int
    volume: float | None
    seconds: float | None


class ReplayPrinted(Document):
    format: Literal["ullage replay 1"]
    rig: str
    program: str
    statement: str
    same: bool
    stored: Harm
    replayed: Harm | None
    differs_at_ms: int
    files: list[str]


class Check(Document):
    format: Literal["ullage check 1"]
    file: str
    rig: str | None
    program: str | None
    refused: bool
    faults: int
    cautions: int
    accepted: int
    findings: list[FoundOne]
    not_shown: int


class Findings(Document):
    format: Literal["ullage findings 1"]
    findings: list[FoundOne]


class OutcomeOne(Document):
    name: str
    value: float
    unit: Literal["m3", "s", "C", "1"]
    group: Literal["harm", "water", "work", "alarm"]
    bad: bool


class TankOne(Document):
    name: str
    start: float
    least: float
    most: float
    end: float


class ExpectationOne(Document):
    text: str
    kept: bool
    because: str


class Run(Document):
    format: Literal["ullage run 1"]
    rig: str
    scenario: str
    fine: bool
    harmed: bool
    seconds: float
    seed: int
    faults: list[str]
    program: str = Field(pattern=r"^[0-9a-f]{64}$")
    scans_evaluated: int
    records_lost: int
    outcomes: list[OutcomeOne]
    tanks: list[TankOne]
    expectations: list[ExpectationOne]


class RunPrinted(Run):
    files: list[str]


class ChartOne(Document):
    sequence: str
    file: str


class DrawingOne(Document):
    view: Literal["side", "plan", "flow"]
    file: str


class Drawings(Document):
    format: Literal["ullage drawings 1"]
    rig: str
    drawings: list[DrawingOne]
    charts: list[ChartOne]


class CodeOne(Document):
    code: str
    level: Literal["fault", "caution"]
    title: str
    why: str
    remedy: str


class Code(CodeOne):
    format: Literal["ullage code 1"]


class Codes(Document):
    format: Literal["ullage codes 1"]
    codes: list[CodeOne]


class Misuse(Document):
    format: Literal["ullage misuse 1"]
    what: str
    remedy: str


class Fault(Document):
    format: Literal["ullage fault 1"]
    what: str
    place: str
    text: str


class Written(Document):
    format: Literal["ullage written 1"]
    files: dict[str, dict[str, str]]


class UnderOne(Document):
    faults: Literal["health", "single fault", "common cause", "pair of faults"]
    count: int
    proved: dict[Literal["wet", "wired", "interlocks", "sequences"], int]
    refuted: int
    by_itself: int
    undecided: int


class NeverOne(Document):
    text: str
    asked: Literal["the rig says never", "asked of every rig", "allowed, but told"]
    least_ms: int | None
    under: list[UnderOne]


class SometimesOne(Document):
    text: str
    verdict: Literal["PROVED", "UNDECIDED"]


class AdviceOne(Document):
    change: str
    rests_on: Literal["", "wet", "wired", "interlocks", "sequences"]
    tried: int
    all_tried: bool


class NotProvedOne(Document):
    text: str
    asked: str
    verdict: Literal["REFUTED", "UNDECIDED"]
    by_itself: bool
    faults: list[str]
    told: str
    holds: str
    file: str
    advice: AdviceOne | None


class Verdicts(Document):
    format: Literal["ullage verdicts 1"]
    rig: str
    program: str
    worst: Literal["PROVED", "REFUTED", "UNDECIDED"]
    stopped: bool
    questions: int
    searched: int
    states: int
    never: list[NeverOne]
    sometimes: list[SometimesOne]
    not_proved: list[NotProvedOne]


class VerdictsPrinted(Verdicts):
    files: list[str]


class CertificateOne(Document):
    statement: str
    about: str
    faults: list[str]
    holds: bool
    layer: str
    boxes: int
    arrivals: int
    reason: str
    file: str


class Certificates(Document):
    format: Literal["ullage certificates 1"]
    rig: str
    program: str
    certificates: list[CertificateOne]


class Demo(Document):
    format: Literal["ullage demo 1"]
    runs: list[RunPrinted]
    proofs: list[VerdictsPrinted]


class JudgementOne(Document):
    code: str = Field(pattern=r"^[A-Z]\d{2}$")
    on: str
    grade: Literal["PASS", "LOOK", "STOP"]
    because: str
    title: str
    limit: str
    source: str
    remedy: str
    caution: str
    missing: list[str]


class SectionOne(Document):
    name: str
    title: str
    judgements: list[JudgementOne]
    matter: list[dict[str, object]]
    assumed: list[str]
    cautions: list[str]


class Reviewed(Document):
    format: Literal["ullage review 1"]
    rig: str
    counts: dict[str, int]
    missing: list[str]
    sections: list[SectionOne]


class LimitTold(Document):
    format: Literal["ullage limit 1"]
    code: str
    title: str
    limit: str
    source: str
    remedy: str
    caution: str


DOCUMENTS: tuple[type[Document], ...] = (
    Check, Findings, Run, ReplayPrinted, Verdicts, Certificates, Demo, Drawings, Code, Codes, Misuse, Fault, Written,
    Reviewed, LimitTold
)  # fmt: skip
"""All documents with a format of their own."""


def format_of(document: type[Document]) -> str:
    """Name and version of a document."""
    (name,) = typing.get_args(document.model_fields["format"].annotation)
    return str(name)


def paths(document: type[BaseModel], head: str = "") -> set[str]:
    """Every field as a path: ``findings[].code``."""
    found: set[str] = set()
    for name, field in document.model_fields.items():
        inner = typing.get_args(field.annotation)
        origin = typing.get_origin(field.annotation)
        kinds = inner if origin is types.UnionType else (field.annotation,)
        tables = [kind for kind in kinds if isinstance(kind, type) and issubclass(kind, BaseModel)]
        if tables:
            found |= paths(tables[0], f"{head}{name}.")
        elif origin is list and isinstance(inner[0], type) and issubclass(inner[0], BaseModel):
            found |= paths(inner[0], f"{head}{name}[].")
        elif origin is list:
            found.add(f"{head}{name}[]")
        else:
            assert origin in (None, Literal, types.UnionType, dict), name
            found.add(head + name)
    return found

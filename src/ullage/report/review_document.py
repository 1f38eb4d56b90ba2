"""The design review as JSON: everything in SI, each figure beside the dimension of its column."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from ullage.review.judgement import GRADES, Judgement
from ullage.review.matter import Bars, Curves, Section, Steps, Table
from ullage.review.sections import Review


def document(review: Review) -> dict[str, Any]:
    """The whole review (docs/output.md describes it)."""
    return {
        "rig": review.rig,
        "counts": {grade: review.count(grade) for grade in GRADES},
        "missing": list(review.missing),
        "sections": [_section(section) for section in review.sections],
    }


def _section(section: Section) -> dict[str, Any]:
    return {
        "name": section.name,
        "title": section.title,
        "judgements": [_judgement(one) for one in section.judgements],
        "matter": [_matter(one) for one in section.matter],
        "assumed": list(section.assumed),
        "cautions": list(section.cautions),
    }


def _judgement(one: Judgement) -> dict[str, Any]:
    limit = {name: text for name, text in asdict(one.limit).items() if name != "code"}
    return {"code": one.code, "on": one.on, "grade": one.grade, "because": one.because, **limit} | {
        "missing": list(one.missing)
    }


def _matter(matter: Table | Bars | Curves | Steps) -> dict[str, Any]:
    return {"is": type(matter).__name__.lower(), **asdict(matter)}

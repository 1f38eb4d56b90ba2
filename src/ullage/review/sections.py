"""The design review of a rig: all its sections, in order."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from ullage.review import cold, electric, upkeep, weights
from ullage.review.judgement import GRADES, Grade, Judgement
from ullage.review.matter import Section
from ullage.rig.view import View

SECTIONS: dict[str, Callable[[View], Section]] = {
    "electric": electric.section,
    "weights": weights.section,
    "cold": cold.section,
    "upkeep": upkeep.section,
}
"""What makes each section, by its name, in order."""


@dataclass(frozen=True, slots=True)
class Review:
    """The design review of a rig.

    Attributes
    ----------
    rig : str
        Name of the rig.
    sections : tuple of Section
    """

    rig: str
    sections: tuple[Section, ...]

    @property
    def judgements(self) -> tuple[Judgement, ...]:
        """All of them, the gravest first, else in order."""
        found = (one for section in self.sections for one in section.judgements)
        return tuple(sorted(found, key=lambda one: GRADES.index(one.grade)))

    def count(self, grade: Grade) -> int:
        """How many judgements come to a grade."""
        return sum(one.grade == grade for one in self.judgements)

    @property
    def missing(self) -> tuple[str, ...]:
        """Fields of the rig file that are not given and without which something stays open, each once."""
        return tuple(dict.fromkeys(field for one in self.judgements for field in one.missing))


def review(view: View, names: tuple[str, ...] = tuple(SECTIONS)) -> Review:
    """Review a rig.

    Parameters
    ----------
    view : View
        Of a rig that is not refused.
    names : tuple of str
        The sections that are wished, of `SECTIONS`.
    """
    return Review(view.rig.rig, tuple(SECTIONS[name](view) for name in names))

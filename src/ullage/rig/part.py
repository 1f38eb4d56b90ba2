"""What every part of a rig is: frozen, named, and nothing undeclared."""

from __future__ import annotations

from functools import cached_property
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

Name = Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]{0,39}$")]
"""Names of parts, sequences, steps: lower case, digits and underscores."""


class Part(BaseModel):
    """Base of all parts: frozen, nothing undeclared."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, defer_build=True, arbitrary_types_allowed=True, ignored_types=(cached_property,)
    )

"""The working of a figure: its formula, what went into it, and where that comes from."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True)
class Working:
    """How one figure of the estimate comes about.

    `figure` is its path in the estimate (`price.total`, `power.house.screen.drop`); `inputs` maps a symbol to its
    value with the unit in the symbol (`current [A]`); `sources` are ids of `sources.SOURCES`.
    """

    figure: str
    formula: str
    inputs: Mapping[str, Any] = field(default_factory=dict)
    sources: tuple[str, ...] = ()

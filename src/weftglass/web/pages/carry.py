"""Facts of 'Out and in': how much would be written out, and whether anything can be loaded in."""

from __future__ import annotations

from dataclasses import dataclass

from weftglass.web.door import FormFault


@dataclass(frozen=True)
class CarryFacts:
    """How many pieces stand on the shelf in words, whether it is empty, and what was wrong with a file."""

    count: str
    empty: bool
    fault: FormFault | None

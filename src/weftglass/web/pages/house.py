"""Facts of the pages that belong to the whole house."""

from __future__ import annotations

from dataclasses import dataclass

from weftglass.web.door import FormFault


@dataclass(frozen=True)
class SignatureFacts:
    """Where to go once the name is given, and what was wrong with it."""

    back: str
    fault: FormFault | None


@dataclass(frozen=True)
class TextFacts:
    """A page that only says something."""

"""Facts of the pages that belong to the whole house."""

from __future__ import annotations

from typing import Any

from weftglass.web.door import FormFault


def signature_facts(back: str, fault: FormFault | None) -> dict[str, Any]:
    """Facts of the signature page: where to go afterwards and what was wrong with the name."""
    return {"back": back, "fault": fault}

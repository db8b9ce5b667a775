"""Where things are found: one function an address, so that no page spells one out twice."""

from __future__ import annotations

from urllib.parse import quote

from weftglass.records import View


def piece_address(piece: str) -> str:
    """
    Address of a piece's catalogue entry.

    Examples
    --------
    >>> piece_address("p-017")
    '/piece/p-017'
    """
    return f"/piece/{quote(piece, safe='')}"


def bench_address(view: View) -> str:
    """Address of the workbench for a view."""
    return f"{piece_address(view.piece)}/bench/{quote(view.id, safe='')}"


def photo_address(photo: str, size: str) -> str:
    """Address of a photograph by its hash: ``small``, ``large``, ``whole`` or ``original``."""
    return f"/photograph/{photo}/{size}"


def form_address(form: str) -> str:
    """Address of a form's page."""
    return f"/forms/{quote(form, safe='')}"


def finding_address(finding: str) -> str:
    """Address of a finding computed again."""
    return f"/soundness/{quote(finding, safe='')}"


def condition_address(piece: str) -> str:
    """Address of a piece's condition record."""
    return f"{piece_address(piece)}/condition"


def community_address(community: str) -> str:
    """Address of a community's page."""
    return f"/communities/{quote(community, safe='')}"

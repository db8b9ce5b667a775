"""Forms that were not weighed exactly."""

from __future__ import annotations

import numpy as np

from weftglass.evidence import Outline
from weftglass.inside.bank import FormBank
from weftglass.inside.posterior import posterior

from .conftest import laid_over, piece, plain_form


def test_forms_left_behind_never_lead_those_weighed_exactly() -> None:
    """A glance may flatter a form of which little is seen; the better look at others stands above it."""
    heights, radii = np.linspace(180.0, 280.0, 11), np.linspace(30.0, 46.0, 9)
    bank = FormBank.of([plain_form(f"{h:.0f}-{r:.0f}", h, r) for h in heights for r in radii])
    seen = laid_over(bank.forms[40], 3.0)
    cropped = Outline.of(seen.points, sd_mm=0.4, scale_sd=0.03, hidden=[(0.0, 90.0)])
    found = posterior(piece(cropped), bank)
    behind = np.setdiff1d(np.arange(len(bank)), found.survivors)
    assert len(behind) > 0
    assert found.log_likelihood[behind].max() <= found.log_likelihood[found.survivors].min()
    assert int(found.probability.argmax()) in found.survivors

"""What holds while a collection is served."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from threadpoolctl import threadpool_info

from weftglass.web import server


def threads() -> set[int]:
    """How many threads each library of linear algebra would use."""
    return {int(one["num_threads"]) for one in threadpool_info() if one["user_api"] == "blas"}


def test_linear_algebra_keeps_to_one_thread_while_serving(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """So that an answer's many small products do not wait for one another; afterwards all is as before."""
    np.linalg.cholesky(np.eye(3))
    before, seen = threads(), []

    def run(app: Any, **_: object) -> None:
        seen.append(threads())
        app.state.collection.close()

    monkeypatch.setattr(server.uvicorn, "run", run)
    monkeypatch.setattr(server, "_warm", lambda collection: None)
    server.run_server(tmp_path / "shelf")
    assert seen == [{1}]
    assert threads() == before

"""Promises about the project itself: its public names, its examples, its lock file, its documents."""

from __future__ import annotations

import doctest
import importlib
import pkgutil
import re
import tomllib
from pathlib import Path

import pytest

import weftglass

ROOT = Path(__file__).parents[1]
PUBLIC = [
    "Answer",
    "CabinetError",
    "Candidate",
    "ChangedMeanwhile",
    "Covering",
    "Evidence",
    "Form",
    "FormLibrary",
    "InputError",
    "Measurement",
    "NextLook",
    "Outline",
    "Profile",
    "Section",
    "Sighting",
    "WeftglassError",
    "identify",
    "read_evidence",
]
MODULES = sorted(
    module.name
    for module in pkgutil.walk_packages(weftglass.__path__, "weftglass.")
    if ".migrations" not in module.name and not module.name.endswith("__main__")
)


def test_public_names_are_these_and_no_more() -> None:
    """Other people's notebooks rely on them; at most twenty."""
    assert sorted(weftglass.__all__) == PUBLIC
    assert len(PUBLIC) <= 20
    assert all(hasattr(weftglass, name) for name in PUBLIC)


@pytest.mark.parametrize("name", ["weftglass", *MODULES])
def test_examples_in_docstrings_hold(name: str) -> None:
    """Every doctest of the package runs and gives what it says."""
    module = importlib.import_module(name)
    assert module.__doc__, "every module says in its first line which question it answers"
    result = doctest.testmod(module, optionflags=doctest.NORMALIZE_WHITESPACE)
    assert result.failed == 0


def test_lock_file_is_hashed_and_names_no_registry() -> None:
    """Every requirement is pinned with hashes; no address, index option or path stands in it."""
    text = (ROOT / "requirements.txt").read_text(encoding="utf-8")
    assert not re.search(r"://|--(extra-)?index-url|--find-links|--trusted-host|file:|@ /", text)
    pinned = [line for line in text.splitlines() if re.match(r"^[a-z0-9]", line)]
    assert len(pinned) > 20
    assert all("==" in line for line in pinned)
    assert text.count("--hash=sha256:") >= len(pinned)


def test_lock_file_covers_every_requirement() -> None:
    """What pyproject asks for is locked."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    wanted = [*project["project"]["dependencies"], *project["dependency-groups"]["dev"]]
    locked = {line.split("==")[0] for line in (ROOT / "requirements.txt").read_text().splitlines() if "==" in line}
    names = {re.match(r"[A-Za-z0-9_.-]+", item).group().lower() for item in wanted}  # type: ignore[union-attr]
    assert names <= locked


@pytest.mark.parametrize(
    "document", sorted(p.relative_to(ROOT).as_posix() for p in (*ROOT.glob("*.md"), *ROOT.glob("docs/**/*.md")))
)
def test_links_between_documents_lead_somewhere(document: str) -> None:
    """A relative link names a file that is there."""
    text = (ROOT / document).read_text(encoding="utf-8")
    for target in re.findall(r"\]\(([^)#\s]+)", text):
        if "://" not in target:
            assert (ROOT / document).parent.joinpath(target).exists(), target

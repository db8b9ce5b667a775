"""What holds for every test: none of them times anything, and what several can share is made once."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from weftglass.cabinet import Cabinet

settings.register_profile("unhurried", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("unhurried")


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Tests that share what their module makes go to one worker together, so that it is made once."""
    for item in items:
        shared = getattr(item, "_fixtureinfo", None)
        made = [] if shared is None else [given[-1] for given in shared.name2fixturedefs.values() if given]
        if any(fixture.scope == "module" for fixture in made):
            item.add_marker(pytest.mark.xdist_group(item.nodeid.partition("::")[0]))


@pytest.fixture(scope="session")
def empty_collection(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Folder of a new collection; what a new one costs is paid once, others are copied from it."""
    folder = tmp_path_factory.mktemp("empty") / "collection"
    Cabinet.open(folder).close()
    return folder


@pytest.fixture
def new_collection(empty_collection: Path, tmp_path: Path) -> Callable[[str], Path]:
    """Makes folders of new collections: takes a name, gives the folder."""

    def made(name: str) -> Path:
        return Path(shutil.copytree(empty_collection, tmp_path / name))

    return made

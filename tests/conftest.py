"""What holds for every test: none of them times anything, and what several can share is made once."""

from __future__ import annotations

import pickle
import shutil
from collections.abc import Callable, Iterator, Sequence
from hashlib import sha256
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from weftglass.cabinet import Cabinet
from weftglass.cabinet.photo_files import write_whole
from weftglass.desk import outlines
from weftglass.photos import Photograph, Silhouette, trace_outline

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


@pytest.fixture(scope="session", autouse=True)
def traced_once(tmp_path_factory: pytest.TempPathFactory, worker_id: str) -> Iterator[None]:
    """
    The desk traces each photograph once in all tests, on whichever worker: the outline follows from its pixels alone.

    The tests of `photos` call the tracing itself.
    """
    base = tmp_path_factory.getbasetemp()
    kept = (base if worker_id == "master" else base.parent) / "traced"
    kept.mkdir(exist_ok=True)

    def traced(photo: Photograph, *, box: Sequence[float] | None = None) -> Silhouette:
        told = (photo.pixels.shape, None if box is None else tuple(box))
        place = kept / sha256(repr(told).encode() + photo.pixels.tobytes()).hexdigest()
        if not place.exists():
            write_whole(place, pickle.dumps(trace_outline(photo, box=box)))
        found: Silhouette = pickle.loads(place.read_bytes())
        return found

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(outlines, "trace_outline", traced)
        yield


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

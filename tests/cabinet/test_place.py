"""Network folders are recognised."""

from __future__ import annotations

from pathlib import Path

import pytest

from weftglass.cabinet.place import network_kind

MOUNTS = """\
22 1 8:1 / / rw,relatime shared:1 - ext4 /dev/sda1 rw
40 22 0:40 / /shares/club\\040house rw shared:9 - nfs4 server:/club rw
41 40 0:41 / /shares/club\\040house/own rw - ext4 /dev/sdb1 rw
"""


@pytest.mark.parametrize(
    ("folder", "kind"),
    [
        ("/home/mira/coast", None),
        ("/shares/club house/coast", "nfs4"),
        ("/shares/club house/own/coast", None),
        ("/shares/club", None),
    ],
)
def test_folder_is_judged_by_the_nearest_mount(tmp_path: Path, folder: str, kind: str | None) -> None:
    """The deepest mount point above a folder says what it lies on."""
    mounts = tmp_path / "mountinfo"
    mounts.write_text(MOUNTS)
    assert network_kind(Path(folder), mounts) == kind


def test_unknown_system_gives_no_warning(tmp_path: Path) -> None:
    """Where the system does not say, nothing is claimed."""
    assert network_kind(tmp_path, tmp_path / "none") is None

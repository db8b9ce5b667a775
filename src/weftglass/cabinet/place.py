"""Whether a folder lies where a database with a write-ahead log is safe."""

from __future__ import annotations

from pathlib import Path

MOUNTS = Path("/proc/self/mountinfo")
NETWORK = ("nfs", "cifs", "smb", "9p", "afs", "ceph", "fuse.sshfs", "fuse.rclone", "davfs", "glusterfs")


def network_kind(folder: Path, mounts: Path = MOUNTS) -> str | None:
    """
    The kind of network file system a folder lies on; None on a local disk, or where the system does not say.

    SQLite's write-ahead log needs memory shared between the processes that use it, which no network file system gives
    (SQLite documentation, "Write-Ahead Logging", section 1).
    """
    try:
        lines = mounts.read_text(encoding="utf-8", errors="replace").splitlines()
    except OSError:
        return None
    place = folder.resolve()
    best, kind = Path(), ""
    for line in lines:
        before, _, after = line.partition(" - ")
        fields, kinds = before.split(" "), after.split(" ")
        if len(fields) < 5:
            continue
        point = Path(fields[4].replace("\\040", " "))
        if place.is_relative_to(point) and len(point.parts) >= len(best.parts):
            best, kind = point, kinds[0]
    return kind if kind.startswith(NETWORK) else None

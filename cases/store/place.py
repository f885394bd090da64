"""Where the store lies, and on what it can't."""

from __future__ import annotations

import os
from pathlib import Path

from cases.base.faults import CaseError, Fault

NAME = "record.sqlite"
SHARES = {
    "nfs", "nfs4", "cifs", "smb2", "smb3", "smbfs", "afpfs", "webdav", "davfs", "afs", "ncpfs",
    "ceph", "glusterfs", "lustre", "beegfs", "fuse.sshfs", "fuse.rclone", "fuse.glusterfs",
    "fuse.davfs2", "fuse.curlftpfs", "fuse.gvfsd-fuse",
}  # fmt: skip
"""File systems of shares, as systems name them."""


def usual_place() -> Path:
    """The store where none is named: in the user's folder for data."""
    from platformdirs import user_data_path

    return user_data_path("hoopclock", appauthor=False) / NAME


def require_own_disk(path: Path) -> None:
    """Refuse a store on a network share.

    What two machines lock there one doesn't always see of the other, and a store that both write to
    is lost (the SQLite project says so of its own files).

    Raises
    ------
    CaseError
        Naming the share.
    """
    import psutil

    folder = Path(os.path.realpath(path)).parent
    if str(folder).startswith("\\\\"):
        raise _on_share(path, str(folder), "a share of the network")
    mounts = {Path(of.mountpoint): of for of in psutil.disk_partitions(all=True)}
    mount = next((mounts[at] for at in (folder, *folder.parents) if at in mounts), None)
    if mount and (mount.fstype.lower() in SHARES or "remote" in mount.opts.split(",")):
        raise _on_share(path, mount.mountpoint, mount.fstype or "remote")


def _on_share(path: Path, where: str, kind: str) -> CaseError:
    text = (
        f"{where} is on the network ({kind}). Two machines can't be kept from writing a store "
        "there at once, and lines could be lost. Keep it on a disk of one machine, and put copies "
        "on the share with: hoopclock record backup FILE"
    )
    return CaseError("record", [Fault("--store", text, f'"{path}"')])

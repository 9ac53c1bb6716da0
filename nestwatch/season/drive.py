"""Whether a folder lies on a network drive, as far as the system tells.

SQLite's locks are not to be trusted there: "file locking logic is buggy in many network filesystem
implementations" (sqlite.org/faq.html, question 5; quoted from memory). Folders that a program copies to a
cloud behind one's back cannot be recognised.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

_KINDS = """9p afpfs afs ceph cifs davfs fuse.davfs2 fuse.glusterfs fuse.rclone fuse.sshfs gfs2 lustre ncpfs
nfs nfs4 smb2 smb3 smbfs virtiofs webdav"""
NETWORK = frozenset(_KINDS.split())
"""Kinds of file system that reach another computer, by the names Linux and macOS give them."""

_REMOTE = 4  # DRIVE_REMOTE of the Windows call GetDriveTypeW


def network_note(folder: Path) -> str | None:
    """One line where `folder` is on a network drive, None where it is not or the system does not tell."""
    kind = network_kind(folder.resolve())
    if kind is None:
        return None
    return (
        f"{folder} seems to be on a network drive ({kind}, says the system): two computers writing at once "
        "can damage the record there. Enter from one computer only, or move the site's folder to its disk."
    )


def network_kind(folder: Path) -> str | None:
    """What kind of network drive `folder` (absolute) is on; None for a local or an unknown one."""
    if sys.platform == "win32":
        return _windows_kind(folder)
    kind = kind_in(_mounts(), folder)
    return kind if kind in NETWORK else None


def kind_in(mounts: str, folder: Path) -> str | None:
    """The file system's kind for `folder`, from the text of /proc/mounts or of macOS's `mount`."""
    best: tuple[int, str | None] = (-1, None)
    for place, kind in _entries(mounts):
        if Path(place) in (folder, *folder.parents) and len(place) > best[0]:
            best = (len(place), kind)
    return best[1]


def _entries(mounts: str) -> list[tuple[str, str]]:
    """(mount point, kind) of every line."""
    mac = re.findall(r"^.* on (/.*) \((\w+)[,)].*$", mounts, re.MULTILINE)
    if mac:
        return mac
    split = [line.split() for line in mounts.splitlines()]
    return [(_unescaped(parts[1]), parts[2]) for parts in split if len(parts) > 2]


def _unescaped(place: str) -> str:
    """/proc/mounts writes a space as \\040."""
    return re.sub(r"\\([0-7]{3})", lambda found: chr(int(found[1], 8)), place)


def _mounts() -> str:
    """The system's list of mounted file systems, "" where it cannot be had."""
    try:
        if sys.platform == "darwin":
            return subprocess.run(
                ["/sbin/mount"], capture_output=True, text=True, timeout=5, check=False
            ).stdout
        return Path("/proc/self/mounts").read_text(encoding="utf-8", errors="replace")
    except (OSError, subprocess.SubprocessError):
        return ""


def _windows_kind(folder: Path) -> str | None:
    if folder.drive.startswith("\\\\"):
        return "a shared folder"
    import ctypes

    kind = getattr(ctypes, "windll").kernel32.GetDriveTypeW(folder.drive + os.sep)  # noqa: B009
    return "a mapped drive" if kind == _REMOTE else None

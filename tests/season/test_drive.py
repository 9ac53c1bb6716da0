"""Network drives, told from what systems print (man 5 proc, man 8 mount)."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from nestwatch.season import drive
from nestwatch.season.drive import kind_in, network_note

LINUX = """\
/dev/sda2 / ext4 rw,relatime 0 0
proc /proc proc rw 0 0
//nas/turtles /mnt/our\\040nas cifs rw,vers=3.1.1 0 0
nas:/pens /home/keeper/pens nfs4 rw 0 0
"""
MAC = """\
/dev/disk3s1s1 on / (apfs, sealed, local, read-only, journaled)
//keeper@nas._smb._tcp.local/pens on /Volumes/pens (smbfs, nodev, nosuid, mounted by keeper)
"""


@pytest.mark.parametrize(
    ("mounts", "folder", "kind"),
    [
        (LINUX, "/home/keeper/site", "ext4"),
        (LINUX, "/home/keeper/pens/2026", "nfs4"),
        (LINUX, "/home/keeper/pens2", "ext4"),
        (LINUX, "/mnt/our nas/site", "cifs"),
        (MAC, "/Volumes/pens/site", "smbfs"),
        (MAC, "/Users/keeper", "apfs"),
        ("", "/anywhere", None),
    ],
)
def test_the_kind_of_the_nearest_mount(mounts: str, folder: str, kind: str | None) -> None:
    assert kind_in(mounts, Path(folder)) == kind


def test_a_note_only_on_a_network_drive(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.setattr(drive, "_mounts", lambda: "server:/ / nfs4 rw 0 0\n")
    assert f"{tmp_path} seems to be on a network drive (nfs4, says the system)" in str(network_note(tmp_path))
    monkeypatch.setattr(drive, "_mounts", lambda: "/dev/sda1 / ext4 rw 0 0\n")
    assert network_note(tmp_path) is None

"""The changed file takes the old one's place: all of it or nothing, and only if the old one is still as it was read."""

from __future__ import annotations

import os
import secrets
from contextlib import suppress
from pathlib import Path

from tarebook.car.editing.checked import Edited
from tarebook.car.editing.refusals import EditRefused


def write_edited(path: str | Path, edited: Edited) -> None:
    """Write the edited text to the file that was read; a link is followed to its target.

    Raises EditRefused if the file has changed since, or cannot be written; what was there is then as it was.
    """
    if edited.after.content == edited.before.content:
        return
    try:
        _replace(Path(path).resolve(strict=True), edited)
    except OSError as error:
        reason = error.strerror or error
        raise EditRefused(f"{path} cannot be written: {reason}. What was there is as it was.") from None


def _replace(target: Path, edited: Edited) -> None:
    beside = target.with_name(f".{target.name}.{secrets.token_hex(8)}.part")
    folder = _open_folder(target.parent)
    try:
        new = os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o600)
        try:
            _fill(new, edited.after.content, target.stat())
            beside.chmod(target.stat().st_mode & 0o7777)
            _lock(folder)
            if target.read_bytes() != edited.before.content:
                raise EditRefused(
                    f"{edited.before.name} was changed by somebody else meanwhile, so nothing was written: try again."
                )
            beside.replace(target)
        except BaseException:
            with suppress(OSError):
                beside.unlink()
            raise
        if folder is not None:
            with suppress(OSError):  # the new file is in its place; some disks cannot be told to keep a folder
                os.fsync(folder)
    finally:
        if folder is not None:
            os.close(folder)


def _fill(new: int, content: bytes, old: os.stat_result) -> None:
    """Write the content, give it the owner of the old file if that may be, and see it onto the disk."""
    with open(new, "wb") as file:
        file.write(content)
        file.flush()
        if hasattr(os, "fchown"):
            with suppress(OSError):
                os.fchown(new, old.st_uid, old.st_gid)
        os.fsync(new)


def _open_folder(folder: Path) -> int | None:
    """The folder, opened to be locked and kept; None where folders cannot be opened."""
    with suppress(OSError):
        return os.open(folder, os.O_RDONLY | getattr(os, "O_DIRECTORY", 0))
    return None


def _lock(folder: int | None) -> None:
    """From here on another command waits until this one has its file in place (the lock goes with the folder)."""
    if folder is None:
        return
    with suppress(ImportError, OSError):
        import fcntl

        fcntl.flock(folder, fcntl.LOCK_EX)

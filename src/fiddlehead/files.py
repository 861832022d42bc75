"""The one place that writes files: whole or not at all (temporary name, then rename)."""

from __future__ import annotations

import hashlib
import os
import tempfile
from collections.abc import Callable
from pathlib import Path

from fiddlehead.errors import StoreError


def write_whole(path: Path, fill: Callable[[Path], object]) -> Path:
    """Let ``fill`` write a temporary file beside ``path``, then rename it into place.

    Parameters
    ----------
    path : final place; its folder is made when missing
    fill : writes the given temporary path (same suffix as ``path``)

    Raises
    ------
    StoreError : the folder cannot be written; an older file at ``path`` is left as it was
    """
    temporary: Path | None = None
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=".writing-", suffix=path.suffix)
        os.close(handle)
        temporary = Path(name)
        fill(temporary)
        temporary.chmod(0o644)
        temporary.replace(path)
    except OSError as error:
        raise StoreError(
            f"cannot write: {error.strerror or error}",
            where=str(path),
            remedy="Choose a folder you may write to, with space left; nothing was changed.",
        ) from error
    finally:
        if temporary is not None:
            temporary.unlink(missing_ok=True)
    return path


def write_text(path: Path, text: str) -> Path:
    """Write ``text`` (UTF-8) to ``path``, whole or not at all."""
    return write_whole(path, lambda temporary: temporary.write_text(text, encoding="utf-8"))


def write_bytes(path: Path, data: bytes) -> Path:
    """Write ``data`` to ``path``, whole or not at all."""
    return write_whole(path, lambda temporary: temporary.write_bytes(data))


def write_folder(path: Path, fill: Callable[[Path], object], *, ours: str) -> Path:
    """Let ``fill`` write files into a new folder, then put that folder in the place of ``path``.

    The older folder is kept until the new one is whole, so an error loses nothing.

    Parameters
    ----------
    path : final place
    fill : writes into the given folder
    ours : name of a file that marks an older folder as one of these; any other is left alone

    Raises
    ------
    StoreError : the place cannot be written, or holds something else
    """
    if path.exists() and not (path / ours).is_file() and any(path.iterdir()):
        raise StoreError(
            "this folder holds other things; it was left as it is",
            where=str(path),
            remedy="Choose another folder for the results.",
        )
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=path.parent, prefix=".writing-") as room:
            fresh, old = Path(room) / "fresh", Path(room) / "old"
            fresh.mkdir()
            fill(fresh)
            if path.exists():
                path.rename(old)
            fresh.rename(path)
    except OSError as error:
        raise StoreError(
            f"cannot write: {error.strerror or error}",
            where=str(path),
            remedy="Choose a folder you may write to, with space left; nothing was changed.",
        ) from error
    return path


def sha256(path: Path) -> str:
    """Hexadecimal SHA-256 of a file's bytes."""
    return hashlib.sha256(path.read_bytes()).hexdigest()

"""Raw files kept as they came: read-only copies under their own fingerprint."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from fiddlehead.errors import StoreError
from fiddlehead.files import sha256, write_bytes

DIGITS = 12
"""Digits of the SHA-256 that head a copy's name."""


def keep_raw(folder: Path, paths: Iterable[Path]) -> dict[str, str]:
    """Copy each file into ``folder`` once, read-only; returns SHA-256 by name.

    A copy that is there already is checked against its fingerprint and left alone.

    Raises
    ------
    StoreError : a file cannot be read or copied, or an earlier copy was changed
    """
    hashes = {}
    for path in paths:
        try:
            digest = sha256(path)
        except OSError as error:
            raise StoreError(f"cannot read: {error.strerror or error}", where=str(path)) from error
        hashes[path.name] = digest
        copy = folder / f"{digest[:DIGITS]}-{path.name}"
        if copy.exists():
            if sha256(copy) != digest:
                raise StoreError(
                    "this raw copy is no longer what was measured",
                    where=str(copy),
                    found=sha256(copy)[:DIGITS],
                    allowed=digest[:DIGITS],
                    remedy="Take it away; the next run copies the file again.",
                )
            continue
        write_bytes(copy, path.read_bytes())
        copy.chmod(0o444)
    return hashes

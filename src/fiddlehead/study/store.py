"""Where a study's designs are kept: one SQLite file.

SQLite because it comes with Python, a commit survives ``kill -9`` and a power cut, and several
processes may write one file (a DuckDB file belongs to one writing process at a time; a Parquet
file is written once and not added to). Tables are handed on as Parquet and CSV. The file keeps a
rollback journal rather than a write-ahead log, so that it can be read in a read-only folder.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fiddlehead.errors import StoreError
from fiddlehead.study.evaluate import Outcome
from fiddlehead.study.space import Row

if TYPE_CHECKING:
    from pandas import DataFrame

FORMAT = 1
WAIT_S = 60.0
"""How long to wait for another process that is writing."""
_TABLES = """
create table if not exists study (
    name text primary key, content text not null, pattern_hash text not null
);
create table if not exists design (
    study text not null, key text not null, number integer not null, origin text not null,
    mesh text not null, row text not null, status text not null, found text not null,
    reason text not null, seconds real not null,
    primary key (study, key), unique (study, number)
);
create table if not exists note (
    study text not null, key text not null, content text not null, primary key (study, key)
);
"""


@dataclass(frozen=True)
class Entry:
    """One design as it goes into the store."""

    key: str
    origin: str
    """Who asked for it: sample, unsure, optimise, full mesh, scatter."""
    mesh: str
    row: Row
    outcome: Outcome


class Store:
    """The designs of any number of studies, in one file.

    Every call is one transaction: it happens whole or not at all. The same key of the same study
    is kept once.
    """

    def __init__(self, path: Path, *, write: bool = True) -> None:
        """Open or, to write, make a store.

        Raises
        ------
        StoreError : no such file, no right to write there, not a store
        """
        self.path = path
        if not write and not path.is_file():
            raise StoreError(
                "nothing was simulated yet", where=str(path), remedy="Run: fiddlehead explore"
            )
        with self._told():
            if write:
                path.parent.mkdir(parents=True, exist_ok=True)
            mode = "rwc" if write else "ro"
            place = path.resolve().as_uri() + f"?mode={mode}"
            self.connection = sqlite3.connect(place, uri=True, timeout=WAIT_S)
            if write:
                self._prepare()
            elif self._version() not in (0, FORMAT):
                raise StoreError("a store of another release", where=str(path))

    def _prepare(self) -> None:
        with self._writing():
            if self._version() not in (0, FORMAT):
                raise StoreError(
                    "a store of another release",
                    where=str(self.path),
                    remedy="Move it elsewhere; a new one is made.",
                )
            for statement in _TABLES.split(";"):
                self.connection.execute(statement)
            self.connection.execute(f"pragma user_version = {FORMAT}")

    def _version(self) -> int:
        return int(self.connection.execute("pragma user_version").fetchone()[0])

    def close(self) -> None:
        """Let go of the file."""
        self.connection.close()

    def __enter__(self) -> Store:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    @contextmanager
    def _told(self) -> Iterator[None]:
        """Troubles of the file in plain words."""
        try:
            yield
        except sqlite3.Error as error:
            raise StoreError(
                f"cannot use this store: {error}",
                where=str(self.path),
                remedy="Choose a folder you may write to, with space left. What was committed "
                "before is safe.",
            ) from error
        except OSError as error:
            raise StoreError(
                f"cannot use this store: {error.strerror or error}",
                where=str(self.path),
                remedy="Choose a folder you may write to.",
            ) from error

    @contextmanager
    def _writing(self) -> Iterator[None]:
        with self._told():
            self.connection.execute("begin immediate")
            try:
                yield
                self.connection.commit()
            except BaseException:
                self.connection.rollback()
                raise

    def begin(self, name: str, content: Mapping[str, Any], pattern_hash: str) -> None:
        """Enter a study, or make sure that the one of this name rests on the same pattern.

        ``content`` is what the study rests on and what it asks, as JSON; goals and sampling may
        change from run to run, the pattern may not.

        Raises
        ------
        StoreError : the project has changed since the study began; it tells what
        """
        with self._writing():
            known = self.connection.execute(
                "select content, pattern_hash from study where name = ?", (name,)
            ).fetchone()
            if known is not None and known[1] != pattern_hash:
                before = json.loads(known[0]).get("pattern", {})
                raise StoreError(
                    "the project has changed since this study began",
                    where=f"study {name!r} in {self.path}",
                    found=_changes(before, dict(content.get("pattern", {}))),
                    allowed="the design, material, print and rigs it began with",
                    remedy="Give the study another name ([study] name), undo the change, or begin "
                    "anew with --anew, which forgets its designs.",
                )
            self.connection.execute(
                "insert into study values (?, ?, ?) on conflict (name) do update set "
                "content = excluded.content",
                (name, json.dumps(dict(content)), pattern_hash),
            )

    def forget(self, name: str) -> None:
        """Remove a study and its designs."""
        with self._writing():
            self.connection.execute("delete from design where study = ?", (name,))
            self.connection.execute("delete from note where study = ?", (name,))
            self.connection.execute("delete from study where name = ?", (name,))

    def studies(self) -> dict[str, dict[str, Any]]:
        """Name and content of every study."""
        with self._told():
            found = self.connection.execute("select name, content from study").fetchall()
        return {name: json.loads(content) for name, content in found}

    def add(self, name: str, entries: Sequence[Entry]) -> None:
        """Keep designs, all or none; keys that are there already stay as they are.

        Raises
        ------
        StoreError : no space left, or the file cannot be written
        """
        with self._writing():
            top = self.connection.execute(
                "select coalesce(max(number), 0) from design where study = ?", (name,)
            ).fetchone()[0]
            for entry in entries:
                outcome = entry.outcome
                added = self.connection.execute(
                    "insert or ignore into design values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
                    (
                        name, entry.key, top + 1, entry.origin, entry.mesh,
                        json.dumps(dict(entry.row)), outcome.status,
                        json.dumps(dict(outcome.values)), outcome.reason, outcome.seconds,
                    ),
                ).rowcount  # fmt: skip
                top += added

    def outcomes(self, name: str, keys: Sequence[str]) -> dict[str, Outcome]:
        """What is known of some designs, by key."""
        wanted = set(keys)
        with self._told():
            rows = self.connection.execute(
                "select key, status, found, reason, seconds from design where study = ?", (name,)
            )
            return {
                key: Outcome(status, json.loads(found), reason, seconds)
                for key, status, found, reason, seconds in rows
                if key in wanted
            }

    def note(self, name: str, key: str) -> str | None:
        """Something else that was found out at some cost, such as derivatives; None if not."""
        with self._told():
            found = self.connection.execute(
                "select content from note where study = ? and key = ?", (name, key)
            ).fetchone()
        return None if found is None else str(found[0])

    def keep_note(self, name: str, key: str, content: str) -> None:
        """Keep it."""
        with self._writing():
            self.connection.execute(
                "insert or replace into note values (?, ?, ?)", (name, key, content)
            )

    def table(self, name: str) -> DataFrame:
        """All designs of a study: number, origin, mesh, status, reason, seconds, key, then a
        column for every variable and every quantity (NaN where there is none).

        Raises
        ------
        StoreError : no such study
        """
        import pandas as pd

        if name not in self.studies():
            raise StoreError(
                "no such study", where=str(self.path), found=name,
                allowed=", ".join(self.studies()) or "none yet", remedy="Run: fiddlehead explore",
            )  # fmt: skip
        with self._told():
            rows = self.connection.execute(
                "select number, origin, mesh, status, reason, seconds, key, row, found "
                "from design where study = ? order by number", (name,),
            ).fetchall()  # fmt: skip
        own = ("number", "origin", "mesh", "status", "reason", "seconds", "key")
        found = [json.loads("[" + ",".join(row[7:9]) + "]") for row in rows]
        frame = pd.DataFrame([row[:7] for row in rows], columns=list(own))
        # concat keeps the order: variables, then quantities
        return pd.concat(
            [frame, pd.DataFrame([f[0] for f in found]), pd.DataFrame([f[1] for f in found])],
            axis=1,
        )


def _changes(before: Mapping[str, Any], after: Mapping[str, Any], inside: str = "") -> str:
    """The entries that differ, the first few of them."""
    told: list[str] = []
    for name in dict.fromkeys([*before, *after]):
        old, new = before.get(name), after.get(name)
        if isinstance(old, Mapping) and isinstance(new, Mapping):
            told += [part for part in [_changes(old, new, f"{inside}{name}.")] if part]
        elif old != new:
            told.append(f"{inside}{name} was {old}, is {new}")
    return "; ".join(told[:4])

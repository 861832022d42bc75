"""Tables of a study in open formats: Parquet and CSV."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from fiddlehead.files import write_text, write_whole

if TYPE_CHECKING:
    from pandas import DataFrame


def write_frame(folder: Path, name: str, frame: DataFrame) -> tuple[Path, Path]:
    """Write a table as ``name.parquet`` (Apache Parquet) and ``name.csv`` (RFC 4180).

    Raises
    ------
    StoreError : the folder cannot be written
    """
    parquet = write_whole(
        folder / f"{name}.parquet", lambda place: frame.to_parquet(place, index=False)
    )
    csv = write_text(
        folder / f"{name}.csv", frame.to_csv(index=False, lineterminator="\n", float_format="%.9g")
    )
    return parquet, csv

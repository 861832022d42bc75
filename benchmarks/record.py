"""Where and with what a benchmark ran, and its table as CSV below that."""

from __future__ import annotations

import csv
import io
import os
import platform
import subprocess
from collections.abc import Sequence
from datetime import datetime
from importlib import metadata
from pathlib import Path
from typing import Any

from fiddlehead import __version__
from fiddlehead.files import write_text

ROOT = Path(__file__).parents[1]
RESULTS = Path(__file__).parent / "results"


def processor() -> str:
    """The processor's own name, cores usable by this process, and memory."""
    name = platform.processor() or platform.machine()
    information = Path("/proc/cpuinfo")
    if information.exists():
        models = [ln for ln in information.read_text().splitlines() if ln.startswith("model name")]
        name = models[0].split(":", 1)[1].strip() if models else name
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
    memory = os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES") / 2**30
    return f"{name}; {cores} cores; {memory:.0f} GiB"


def commit() -> str:
    """The commit that was measured, ``+`` behind it when files differ from it."""
    found = subprocess.run(
        ["git", "describe", "--always", "--dirty=+", "--exclude=*"],
        cwd=ROOT, capture_output=True, text=True, check=False,
    )  # fmt: skip
    return found.stdout.strip() or "unknown"


def load_average() -> float:
    """Programs that wanted to run during the last minute; more than the cores means company."""
    return round(os.getloadavg()[0], 2)


def version(package: str) -> str:
    """Installed version of a package, or ``missing``."""
    try:
        return metadata.version(package)
    except metadata.PackageNotFoundError:
        return "missing"


def write_table(path: Path, rows: Sequence[dict[str, Any]], packages: Sequence[str]) -> Path:
    """Write rows as CSV; cells that a row lacks stay empty.

    Lines above that begin with ``#`` tell date, commit, machine and versions of ``packages``.
    """
    named = [f"{name} {version(name)}" for name in packages]
    note = {
        "date": datetime.now().astimezone().isoformat(timespec="seconds"),
        "fiddlehead": f"{__version__}, commit {commit()}",
        "machine": processor(),
        "system": f"{platform.system()} {platform.release()}; Python {platform.python_version()}",
        "versions": ", ".join(named),
    }
    text = io.StringIO()
    text.writelines(f"# {key}: {value}\n" for key, value in note.items())
    columns = dict.fromkeys(key for row in rows for key in row)
    writer = csv.DictWriter(text, list(columns), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return write_text(path, text.getvalue())


def kept(path: Path) -> list[dict[str, str]]:
    """Rows of an earlier run's table; none if there is no such file."""
    if not path.exists():
        return []
    lines = [line for line in path.read_text().splitlines() if not line.startswith("#")]
    return list(csv.DictReader(lines))

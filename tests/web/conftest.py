"""A served workbench on a small project, shared by the tests of one file where they only read."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from fiddlehead.files import write_text
from fiddlehead.web.workbench import Workbench
from tests.cli.command import SMALL
from tests.web.made_up import made_up_project, stand_in
from tests.web.served import Served, served


def begin(folder: Path) -> None:
    """The beginning of a project."""
    write_text(folder / "fiddlehead.toml", SMALL)


@pytest.fixture
def workbench(tmp_path: Path) -> Workbench:
    folder = made_up_project(tmp_path / "small")
    return Workbench(folder, stand_in(tmp_path), {"new": begin})


@pytest.fixture
def site(workbench: Workbench) -> Iterator[Served]:
    with served(workbench) as running:
        yield running


@pytest.fixture
def elsewhere(workbench: Workbench) -> Iterator[Callable[[], Served]]:
    with served(workbench, host="0.0.0.0") as running:
        yield running  # type: ignore[misc]

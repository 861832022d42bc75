"""A shell in an empty folder."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.command import Shell


@pytest.fixture
def shell(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Shell:
    monkeypatch.chdir(tmp_path)
    return Shell(tmp_path, capsys)

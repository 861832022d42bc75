"""What every command sets before it computes."""

from __future__ import annotations

import os

import pytest

from fiddlehead.cli.main import main


@pytest.mark.parametrize(("before", "after"), [(None, "1"), ("4", "4")])
def test_linear_algebra_gets_one_thread_unless_told(
    before: str | None, after: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("OPENBLAS_NUM_THREADS", raising=False)
    if before is not None:
        monkeypatch.setenv("OPENBLAS_NUM_THREADS", before)
    main(["--version"])
    assert os.environ["OPENBLAS_NUM_THREADS"] == after
    if before is None:
        monkeypatch.delenv("OPENBLAS_NUM_THREADS")

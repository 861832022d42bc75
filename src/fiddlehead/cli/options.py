"""Arguments that several verbs share."""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import date as calendar_date
from pathlib import Path
from typing import Any

import click

Command = Callable[..., Any]


def project_argument(command: Command) -> Command:
    """``[PROJECT]``: the project file or its folder; the current folder when left out."""
    return click.argument("project", type=click.Path(path_type=Path), default=Path())(command)


def day_option(name: str, says: str) -> Callable[[Command], Command]:
    """An option that takes a day, ISO 8601; ``""`` when left out."""
    return click.option(name, metavar="DAY", default=None, callback=_day, help=says)


def _day(context: click.Context, option: click.Parameter, value: str | None) -> str:
    if value is None:
        return ""
    try:
        return calendar_date.fromisoformat(value).isoformat()
    except ValueError:
        raise click.BadParameter("write a day as 2026-11-25", context, option) from None


def json_option(command: Command) -> Command:
    """``--json``"""
    return click.option(
        "--json",
        "machine",
        is_flag=True,
        help="One JSON document on standard output; progress on the error stream.",
    )(command)


def results_option(command: Command) -> Command:
    """``--results FOLDER``"""
    return click.option(
        "--results",
        type=click.Path(path_type=Path, file_okay=False),
        default=None,
        metavar="FOLDER",
        help="Where results go.  [default: results/ beside the project file]",
    )(command)


def _finite(context: click.Context, option: click.Parameter, value: float | None) -> float | None:
    if value is not None and not math.isfinite(value):
        raise click.BadParameter("not a finite number", context, option)
    return value


def pressure_option(command: Command) -> Command:
    """``--pressure-kpa``"""
    return click.option(
        "--pressure-kpa",
        type=click.FloatRange(min=0.0, min_open=True, max=1000.0),
        default=None,
        callback=_finite,
        help="Gauge pressure to go up to, instead of the project's working pressure.",
    )(command)


def mesh_option(command: Command) -> Command:
    """``--mesh NAME``"""
    return click.option(
        "--mesh",
        type=click.Choice(["draft", "preview", "standard", "fine"]),
        default=None,
        help="How finely the finger is divided, instead of the project's own mesh.",
    )(command)

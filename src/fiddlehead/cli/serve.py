"""``fiddlehead serve``: the workbench as a page in the browser."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import click

from fiddlehead.cli.codes import EXIT_CODES, OK
from fiddlehead.cli.output import Voice


@click.command()
@click.argument("folder", type=click.Path(path_type=Path, file_okay=False), default=Path())
@click.option("--port", type=click.IntRange(0, 65535), default=8710, show_default=True,
              help="Where to listen; 0 for any free port.")  # fmt: skip
@click.option(
    "--host",
    default="127.0.0.1",
    show_default=True,
    help="Address to listen on. Any but the loopback address lets other machines in, with a token.",
)
@click.option("--open/--no-open", "show", default=True, help="Open the page in the browser.")
@click.pass_context
def serve(context: click.Context, folder: Path, port: int, host: str, show: bool) -> int:
    """Open the workbench: the whole job on a page in your browser.

    FOLDER holds the project, or will hold it: the page offers to begin one. Everything stays on
    this machine. Work that was started from the page goes on when the page or this command ends;
    start it again to see how it stands.
    """
    from fiddlehead.errors import StoreError
    from fiddlehead.web.jobs import Tool
    from fiddlehead.web.server import serve as run
    from fiddlehead.web.workbench import Workbench

    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise StoreError(f"cannot make this folder: {error.strerror}", where=str(folder)) from error
    whole = context.find_root().command
    assert isinstance(whole, click.Group)
    tool = Tool(
        command=(sys.executable, "-m", "fiddlehead.cli.job"),
        flags=flags_of(whole),
        endings=EXIT_CODES,
    )
    voice = Voice()

    def ready(address: str, others: bool) -> None:
        voice.say(f"Workbench: {address}")
        if others:
            voice.say("Other machines can reach it with this link; keep the token to yourself.")
        voice.say("Ctrl-C ends it; jobs that run go on.")
        sys.stdout.flush()
        if show and (os.environ.get("DISPLAY") or sys.platform in ("win32", "darwin")):
            click.launch(address)

    workbench = Workbench(folder, tool, {"new": _new, "example": _example})
    try:
        run(workbench, host, port, ready)
    except KeyboardInterrupt:
        voice.say()
    return OK


def flags_of(group: click.Group, before: str = "") -> dict[str, frozenset[str]]:
    """Every verb (two words for one in a group) with the options it takes."""
    found: dict[str, frozenset[str]] = {}
    for name, command in group.commands.items():
        if isinstance(command, click.Group):
            found |= flags_of(command, f"{before}{name} ")
        else:
            options = (p for p in command.params if isinstance(p, click.Option))
            found[f"{before}{name}"] = frozenset(flag for o in options for flag in o.opts)
    return found


def _new(folder: Path) -> None:
    from fiddlehead.files import write_text
    from fiddlehead.project.example import example_text
    from fiddlehead.project.read import FILE_NAME

    write_text(folder / FILE_NAME, example_text(folder.resolve().name))


def _example(folder: Path) -> None:
    from fiddlehead.cli.demo import copy_example

    copy_example(folder)

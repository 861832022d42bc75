"""The ``fiddlehead`` command: verbs, exit codes, and what happens when something goes wrong.

No verb shows a traceback. Errors of ours are told in full; anything else becomes a crash file and
one line.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence

import click

from fiddlehead import __version__
from fiddlehead.cli.air import air
from fiddlehead.cli.base import base
from fiddlehead.cli.bend import bend
from fiddlehead.cli.block import block
from fiddlehead.cli.calibrate import calibrate
from fiddlehead.cli.check import check
from fiddlehead.cli.codes import CANCELLED, CRASHED, EXIT_CODES, OK, code_of
from fiddlehead.cli.compare import compare
from fiddlehead.cli.crash import write_crash_file
from fiddlehead.cli.demo import demo
from fiddlehead.cli.experiment import experiment
from fiddlehead.cli.explore import explore
from fiddlehead.cli.fit import fit
from fiddlehead.cli.grasp import grasp
from fiddlehead.cli.grasp_table import grasp_table
from fiddlehead.cli.handover import handover
from fiddlehead.cli.lateral import lateral
from fiddlehead.cli.measure import measure
from fiddlehead.cli.new import new
from fiddlehead.cli.optimise import optimise
from fiddlehead.cli.output import tell_failure
from fiddlehead.cli.pads import pads
from fiddlehead.cli.press import press
from fiddlehead.cli.printcheck import printcheck
from fiddlehead.cli.protocol import protocol
from fiddlehead.cli.rank import rank
from fiddlehead.cli.report import report
from fiddlehead.cli.serve import serve
from fiddlehead.cli.session import one_thread_per_block
from fiddlehead.cli.sheet import sheet
from fiddlehead.cli.solid import solid
from fiddlehead.cli.tolerance import tolerance
from fiddlehead.errors import FiddleheadError

EPILOG = "\b\nExit codes:\n" + "\n".join(
    f"  {code:>3}  {text}" for code, text in EXIT_CODES.items()
)


@click.group(
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 96},
    epilog=EPILOG,
)
@click.version_option(__version__, message="fiddlehead %(version)s")
def commands() -> None:
    """Design 3D-printed pneumatic soft grippers: test data in, bending and force out.

    \b
    A first round:
      fiddlehead demo                 the whole path on an invented example
      fiddlehead new my-gripper       a commented project file of your own
      fiddlehead check my-gripper     what is wrong or unwise in it
      fiddlehead bend my-gripper      bending angle over pressure
      fiddlehead block my-gripper     blocked force over pressure
      fiddlehead press my-gripper     grip force and contact pressure on objects
      fiddlehead pads my-gripper      by how much a pad lowers the contact pressure
      fiddlehead lateral my-gripper   lateral stiffness over pressure
      fiddlehead grasp my-gripper     will the fingers lift it, and is it unharmed
      fiddlehead serve my-gripper     all of it on a page in the browser
    """


for _verb in (
    new,
    check,
    fit,
    bend,
    block,
    press,
    pads,
    lateral,
    grasp,
    grasp_table,
    explore,
    rank,
    optimise,
    tolerance,
    solid,
    base,
    printcheck,
    sheet,
    experiment,
    air,
    handover,
    protocol,
    measure,
    compare,
    calibrate,
    report,
    demo,
    serve,
):
    commands.add_command(_verb)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command line and return its exit code (see ``codes``)."""
    words = list(sys.argv[1:] if arguments is None else arguments)
    one_thread_per_block()
    try:
        returned = commands.main(words, prog_name="fiddlehead", standalone_mode=False)
        return returned if isinstance(returned, int) else OK
    except click.ClickException as error:
        error.show()
        return error.exit_code
    except FiddleheadError as error:
        tell_failure(error, words)
        return code_of(error)
    except (KeyboardInterrupt, click.Abort):
        click.echo("Cancelled; nothing was changed.", err=True)
        return CANCELLED
    except BrokenPipeError:
        sys.stderr.close()
        return OK
    except Exception as error:
        place = write_crash_file(error, words)
        click.echo(
            f"fiddlehead stopped on something it did not expect ({type(error).__name__}). "
            f"Please send us {place}",
            err=True,
        )
        return CRASHED

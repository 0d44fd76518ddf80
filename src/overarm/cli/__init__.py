"""The command line: one file a command, each thin.

Exit codes: 0 an answer, 2 bad input, 3 a stop finding, 130 cancelled.
"""

from __future__ import annotations

import gc
import importlib.metadata
import os

import typer
from typer.core import TyperGroup

from overarm.cli.app import app as workbench
from overarm.cli.check import check
from overarm.cli.demo import demo
from overarm.cli.exits import BAD_INPUT_EXIT, CANCELLED_EXIT
from overarm.cli.fleet import fleet
from overarm.cli.learn import learn
from overarm.cli.logbook import logbook
from overarm.cli.measure import measure
from overarm.cli.new import new
from overarm.cli.odds import odds
from overarm.cli.pack import pack
from overarm.cli.plan import plan
from overarm.cli.rare import rare
from overarm.cli.readback import readback
from overarm.cli.review import review
from overarm.cli.selfcheck import selfcheck
from overarm.cli.settings import settings
from overarm.cli.sheet import sheet
from overarm.cli.traps import traps
from overarm.cli.trigger import trigger
from overarm.errors import InputError


class InOrder(TyperGroup):
    """Lists the logbook, which has commands of its own, after learn; typer would list it first."""

    def list_commands(self, ctx: typer.Context) -> list[str]:  # type: ignore[override]
        """Return the names of the commands in the order of the work."""
        names = [name for name in self.commands if name != "logbook"]
        after = names.index("learn") + 1
        return [*names[:after], "logbook", *names[after:]]


app = typer.Typer(
    cls=InOrder,
    name="overarm",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="Odds, findings and launch sheets for small electric aeroplanes that launch themselves.",
    epilog="Exit codes: 0 an answer, 2 bad input, 3 a stop finding, 130 cancelled.",
)
for command in (
    new,
    check,
    odds,
    rare,
    settings,
    traps,
    trigger,
    plan,
    fleet,
    measure,
    sheet,
    pack,
    demo,
    readback,
    review,
    learn,
):
    app.command()(command)
app.command(name="app")(workbench)
app.command()(selfcheck)
app.add_typer(logbook, name="logbook")


def _print_version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"overarm {importlib.metadata.version('overarm')}")
        raise typer.Exit


@app.callback()
def options(
    version: bool = typer.Option(
        False, "--version", callback=_print_version, is_eager=True, help="Print the version and end."
    ),
) -> None:
    """Take the options that stand before a command."""


def main() -> None:
    """Run the command line; turn bad input and cancelling into their exit codes.

    A command is a short process: searching it for dead cycles costs a tenth of its time and frees nothing.
    Its matrices are small: threads of linear algebra only wait for each other, longest on a busy machine,
    and the last digits of an answer would depend on how many there are.
    """
    gc.disable()
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # read when numpy is first imported
    os.environ.setdefault("OMP_WAIT_POLICY", "PASSIVE")  # a core without launches to fly is left to others
    try:
        app()
    except InputError as error:
        typer.echo(str(error), err=True)
        raise SystemExit(BAD_INPUT_EXIT) from None
    except KeyboardInterrupt:
        typer.echo("cancelled", err=True)
        raise SystemExit(CANCELLED_EXIT) from None
    except SystemExit as ended:
        # Ctrl-C in a command comes here: typer makes it an exit code, and says nothing.
        if isinstance(getattr(ended.__context__, "__cause__", None), KeyboardInterrupt):
            typer.echo("cancelled", err=True)
        raise

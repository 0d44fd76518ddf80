"""`overarm app`: the workbench, a server on this machine for a browser."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from overarm.app.serve import Started

PORT = 8246
NOTICE = (
    "Others in this network can reach the workbench now; without the token they get no answer. The code\n"
    "holds the token: show it to nobody else. The phone warns of the certificate, which nobody vouches for;\n"
    "compare its fingerprint (SHA-256) before you say yes:"
)
UNBOUNDED = "This system does not bound the memory of what reads files: open only those that you trust."


def app(
    port: Annotated[int, typer.Option(help="Port; 0 takes a free one.", min=0, max=65535)] = PORT,
    lan: Annotated[
        bool, typer.Option("--lan", help="For a phone in the same network too: https, with a code to scan.")
    ] = False,
    book: Annotated[
        str | None,
        typer.Option(
            help="File of the logbook, or a PostgreSQL URL; else OVERARM_BOOK, else in your data folder.",
            show_default=False,
        ),
    ] = None,
    no_browser: Annotated[bool, typer.Option("--no-browser", help="Open no browser.")] = False,
) -> None:
    """Start the workbench: all of this in a browser. For this machine alone, or with --lan for a phone."""
    from overarm.app.child.bounds import bounded
    from overarm.app.serve import Wanted, serve

    def tell(started: Started) -> None:
        typer.echo(f"Overarm workbench: {started.link(started.keys.token)}")
        if not bounded():
            typer.echo(UNBOUNDED)
        if started.certificate is not None:
            _tell_phone(started)
        typer.echo("Ctrl-C ends it.")
        if not no_browser:
            import webbrowser

            webbrowser.open(started.link(started.keys.one_time_token()))

    serve(Wanted(port, lan, _absolute(book)), tell)
    typer.echo("The workbench has ended.")


def _tell_phone(started: Started) -> None:
    from overarm.app.lan.certificate import fingerprint
    from overarm.app.lan.code import code_lines

    assert started.certificate is not None
    link = started.link(started.keys.token, started.address.names[1])
    typer.echo(f"\n{code_lines(link)}\n\nFor the phone: {link}\n\n{NOTICE}")
    typer.echo(f"{fingerprint(started.certificate)}\n")


def _absolute(book: str | None) -> str | None:
    """Return a place that holds in other folders too."""
    return book if book is None or "://" in book else str(Path(book).expanduser().resolve())

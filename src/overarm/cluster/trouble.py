"""What goes wrong between us and a cluster, in the words of a person."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import CancelledError
from contextlib import contextmanager

from overarm.errors import InputError, Problem

UNREADABLE = "Error during deserialization"  # so begins what a scheduler says that lacks a package


def _problem(message: str, cure: str, value: str = "") -> InputError:
    return InputError([Problem(message, cure, value=value)])


def missing_package() -> InputError:
    """Return what is said where the extra is not installed."""
    return _problem(
        "Flying on a cluster needs packages that are not installed",
        "Install the extra here and on every worker: pip install 'overarm[cluster]'; or leave out --cluster",
    )


def nobody_there(address: str) -> InputError:
    """Return what is said where no scheduler listens."""
    cure = (
        "Start one with `dask scheduler`, and give the address that it prints, such as tcp://10.0.0.5:8786; "
        "with certificates the address begins with tls://"
    )
    return _problem("No scheduler of a cluster answers there", cure, address)


def no_certificates(address: str) -> InputError:
    """Return what is said where an address asks for TLS and there are no certificates."""
    cure = (
        "Name ca-file, and cert and key of the client, under distributed.comm.tls in Dask's configuration, "
        "such as ~/.config/dask/tls.yaml"
    )
    return _problem("The address asks for certificates, and Dask's configuration names none", cure, address)


def no_worker(address: str, waited_s: float) -> InputError:
    """Return what is said where a scheduler has no workers."""
    cure = f"Start one with `dask worker {address}`, in an environment that has Overarm"
    return _problem(f"The scheduler has no worker, and none came in {waited_s:.0f} s", cure, address)


def all_gone(waited_s: float) -> InputError:
    """Return what is said where the last worker is lost and none comes back."""
    cure = "Start workers again, and the command; a fleet study then goes on where it was"
    return _problem(f"The cluster has lost its last worker, and none came in {waited_s:.0f} s", cure)


def silent(waited_s: float) -> InputError:
    """Return what is said where a worker does not even tell its version."""
    cure = "Look into the logs of the workers; end those that hang, and start the command again"
    return _problem(f"A worker of the cluster did not answer in {waited_s:.0f} s", cure)


def without_overarm(error: Exception) -> InputError:
    """Return what is said where a worker cannot even be asked for its version."""
    cure = "Install the same Overarm with its extra on every worker: pip install 'overarm[cluster]'"
    return _problem("A worker cannot run Overarm", cure, _first_line(error))


@contextmanager
def telling() -> Iterator[None]:
    """Turn what Dask raises inside the block into InputError."""
    from distributed import KilledWorker
    from distributed.comm.core import CommClosedError

    from overarm.cluster.tasks import OtherOverarmError

    try:
        yield
    except KilledWorker:
        cure = "Look into the log of the workers; mostly they lack memory: start fewer a machine"
        raise _problem("The same launches have cost several workers in a row", cure) from None
    except OtherOverarmError as error:
        cure = "Install the same Overarm on every worker and start it again"
        raise _problem("A worker flies with another Overarm", cure, f"code {error}") from None
    except (CommClosedError, CancelledError, OSError) as error:
        cure = "Start it again, and the command; a fleet study then goes on where it was"
        raise _problem("The cluster no longer answers", cure, _first_line(error)) from None
    except RuntimeError as error:
        if UNREADABLE not in str(error):
            raise
        cure = "Start the scheduler in an environment that has the same Overarm and the same packages"
        raise _problem("The scheduler cannot read what is to be flown", cure, _first_line(error)) from None


def _first_line(error: BaseException) -> str:
    return (str(error).splitlines() or [""])[0] or type(error).__name__

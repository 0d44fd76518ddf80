"""The whole guard around an application."""

from __future__ import annotations

from typing import NamedTuple

from overarm.app.guard.asgi import App
from overarm.app.guard.bodies import Bodies
from overarm.app.guard.headers import Headers
from overarm.app.guard.host import Hosts
from overarm.app.guard.origin import Origins
from overarm.app.guard.token import Keys, Tokens
from overarm.app.limits import Limits


class Address(NamedTuple):
    """Where the workbench is: http or https, its host names without port, and the port."""

    scheme: str
    names: tuple[str, ...]
    port: int

    @property
    def hosts(self) -> frozenset[str]:
        """Return what may stand in the header Host; a browser leaves out the usual port."""
        usual = {"http": 80, "https": 443}[self.scheme]
        with_port = {f"{name}:{self.port}" for name in self.names}
        return frozenset(with_port | (set(self.names) if self.port == usual else set()))

    @property
    def origins(self) -> frozenset[str]:
        """Return what may stand in the header Origin."""
        return frozenset(f"{self.scheme}://{host}" for host in self.hosts)

    def url(self, name: str = "") -> str:
        """Return the address under one of its names, the first if none is given."""
        return f"{self.scheme}://{name or self.names[0]}:{self.port}/"


def guarded(app: App, address: Address, keys: Keys, limits: Limits) -> App:
    """Return the application behind the guard."""
    inner = Tokens(Bodies(app, limits), keys)
    return Headers(Hosts(Origins(inner, address.origins), address.hosts))

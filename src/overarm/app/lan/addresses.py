"""The addresses of this machine in its local network."""

from __future__ import annotations

import contextlib
import ipaddress
import socket

# A datagram socket that is "connected" sends nothing, but the system picks the address that it would use.
# The targets are addresses for documentation (RFC 5737 and RFC 3849), where nobody is.
_TARGETS = ((socket.AF_INET, "192.0.2.1"), (socket.AF_INET6, "2001:db8::1"))


def lan_addresses() -> list[str]:
    """Return the addresses under which others in the network reach this machine, IPv4 first; maybe none."""
    found = []
    for family, target in _TARGETS:
        with contextlib.suppress(OSError), socket.socket(family, socket.SOCK_DGRAM) as probe:
            probe.connect((target, 9))
            found.append(str(probe.getsockname()[0]))
    with contextlib.suppress(OSError):
        found += [str(info[4][0]) for info in socket.getaddrinfo(socket.gethostname(), None)]
    return [address for address in dict.fromkeys(found) if _useful(address)]


def _useful(text: str) -> bool:
    """Return whether an address is one that others can open: not of this machine alone."""
    try:
        address = ipaddress.ip_address(text)
    except ValueError:
        return False
    return not (address.is_loopback or address.is_link_local or address.is_unspecified)


def in_url(address: str) -> str:
    """Return an address as it stands in a URL and in the header Host."""
    return f"[{address}]" if ":" in address else address

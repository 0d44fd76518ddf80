"""How large an archive may be before it is refused, so that a hostile one cannot fill a disk or a memory."""

from __future__ import annotations

from typing import NamedTuple

MIB = 2**20


class Limits(NamedTuple):
    """The most that an import takes. A book of a thousand launches is some 300 MiB of recordings."""

    archive_bytes: int = 4096 * MIB
    members: int = 100_000
    member_bytes: int = 256 * MIB  # unpacked
    total_bytes: int = 8192 * MIB  # unpacked
    ratio: int = 200  # unpacked over packed, of the whole, beyond the first 64 MiB
    manifest_bytes: int = 32 * MIB
    rows: int = 1_000_000
    row_bytes: int = 32 * MIB


LIMITS = Limits()
FREE_BYTES = 64 * MIB  # so much may be unpacked however small it was packed

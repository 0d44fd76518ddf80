"""A certificate of our own for the addresses of this machine: kept with its key, renewed in time.

Nobody vouches for it: the phone warns once and a person says yes. It keeps others in the network from
reading along, and browsers give motion sensors to https pages alone.
"""

from __future__ import annotations

import datetime as dt
import ipaddress
import os
from pathlib import Path
from typing import TYPE_CHECKING

from overarm.errors import InputError, Problem
from overarm.files import sync_folder

if TYPE_CHECKING:
    from cryptography import x509

FILE = "lan-certificate.pem"
# Browsers refuse more than 398 days (CA/Browser Forum, Baseline Requirements, 6.3.2).
VALID = dt.timedelta(days=397)
RENEW_BEFORE = dt.timedelta(days=30)
CLOCKS = dt.timedelta(days=1)  # that phones may be off


def certificate_for(addresses: list[str], folder: Path) -> Path:
    """Return the file with key and certificate for these addresses, made or renewed if need be.

    Raises InputError if it cannot be written.
    """
    file = folder / FILE
    if not _serves(file, addresses):
        try:
            _write_private(file, _made(addresses))
        except OSError as error:
            cure = "Give a data folder that can be written; XDG_DATA_HOME says where it is"
            problem = Problem(f"the certificate cannot be written: {error.strerror}", cure, str(file))
            raise InputError([problem]) from error
    return file


def fingerprint(file: Path) -> str:
    """Return the SHA-256 of a certificate, as a browser shows it."""
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes

    certificate = x509.load_pem_x509_certificate(file.read_bytes())
    return certificate.fingerprint(hashes.SHA256()).hex(":").upper()


def _serves(file: Path, addresses: list[str]) -> bool:
    """Return whether a certificate is there, whole, private, for all addresses, and good for a while."""
    from cryptography import x509
    from cryptography.hazmat.primitives.serialization import load_pem_private_key

    try:
        data = file.read_bytes()
        found = x509.load_pem_x509_certificate(data)
        key = load_pem_private_key(data, None)
        names = found.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    except (OSError, ValueError, x509.ExtensionNotFound):
        return False
    there = {str(address) for address in names.get_values_for_type(x509.IPAddress)}
    now = dt.datetime.now(dt.UTC)  # a clock that was set back makes one that is not good yet
    good = found.not_valid_before_utc <= now < found.not_valid_after_utc - RENEW_BEFORE
    private = file.stat().st_mode & 0o077 == 0
    return good and private and set(addresses) <= there and key.public_key() == found.public_key()


def _made(addresses: list[str]) -> bytes:
    """Return a new key (P-256) and a certificate that it signs itself."""
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes, serialization
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

    key = ec.generate_private_key(ec.SECP256R1())
    now = dt.datetime.now(dt.UTC)
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Overarm workbench")])
    names: list[x509.GeneralName] = [x509.DNSName("localhost")]
    names += [x509.IPAddress(ipaddress.ip_address(text)) for text in addresses]
    uses = x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH])
    certificate = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - CLOCKS)
        .not_valid_after(now - CLOCKS + VALID)
        .add_extension(x509.SubjectAlternativeName(names), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(uses, critical=False)
        .sign(key, hashes.SHA256())
    )
    plain = serialization.NoEncryption()
    pem, form = serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8
    return key.private_bytes(pem, form, plain) + certificate.public_bytes(pem)


def _write_private(file: Path, data: bytes) -> None:
    """Write a file that only its owner can read, whole or not at all."""
    part = file.with_name(f".{file.name}.{os.getpid()}")
    handle = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        part.replace(file)
        sync_folder(file.parent)
    finally:
        part.unlink(missing_ok=True)

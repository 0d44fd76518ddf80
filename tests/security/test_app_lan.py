"""The workbench for a phone: its certificate (RFC 5280), its code, and https on its addresses alone."""

from __future__ import annotations

import datetime as dt
import ssl
import stat
from pathlib import Path

import httpx
import pytest
from cryptography import x509

from overarm.app.lan import certificate as module
from overarm.app.lan.addresses import in_url, lan_addresses
from overarm.app.lan.certificate import certificate_for, fingerprint
from overarm.app.lan.code import code_lines
from tests.workbench import Server

ADDRESSES = ["127.0.0.1", "192.0.2.7"]


def test_the_certificate_is_private_whole_and_for_its_addresses(tmp_path: Path) -> None:
    file = certificate_for(ADDRESSES, tmp_path)
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    found = x509.load_pem_x509_certificate(file.read_bytes())
    names = found.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    assert {str(item) for item in names.get_values_for_type(x509.IPAddress)} == set(ADDRESSES)
    assert found.not_valid_after_utc - found.not_valid_before_utc <= dt.timedelta(days=398)
    assert not found.extensions.get_extension_for_class(x509.BasicConstraints).value.ca
    found.verify_directly_issued_by(found)
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(file)
    der = ssl.PEM_cert_to_DER_cert(file.read_text().partition("-----END PRIVATE KEY-----\n")[2])
    import hashlib

    assert fingerprint(file).replace(":", "").lower() == hashlib.sha256(der).hexdigest()


def test_it_is_kept_and_renewed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    first = certificate_for(ADDRESSES, tmp_path).read_bytes()
    assert certificate_for(ADDRESSES[:1], tmp_path).read_bytes() == first
    other = certificate_for([*ADDRESSES, "2001:db8::5"], tmp_path).read_bytes()
    assert other != first
    (tmp_path / module.FILE).write_bytes(other[: len(other) // 2])
    assert certificate_for(ADDRESSES, tmp_path).read_bytes() != other
    now = certificate_for(ADDRESSES, tmp_path).read_bytes()
    (tmp_path / module.FILE).chmod(0o644)  # somebody else may have read the key
    assert certificate_for(ADDRESSES, tmp_path).read_bytes() != now
    now = certificate_for(ADDRESSES, tmp_path).read_bytes()
    monkeypatch.setattr(module, "RENEW_BEFORE", dt.timedelta(days=396, hours=12))
    assert certificate_for(ADDRESSES, tmp_path).read_bytes() != now


def test_the_code_and_the_addresses() -> None:
    """A version 3 code or larger is at least 29 modules wide (ISO/IEC 18004, table 1)."""
    assert (
        max(len(line) for line in code_lines("https://192.0.2.7:8246/?token=" + "x" * 43).splitlines()) >= 29
    )
    assert in_url("2001:db8::5") == "[2001:db8::5]"
    assert "127.0.0.1" not in lan_addresses()


@pytest.mark.skipif(not lan_addresses(), reason="this machine has no address in a network")
def test_the_phone_is_served_over_https_alone(tmp_path: Path) -> None:
    server = Server(tmp_path, "--lan")
    try:
        port = server.base.rpartition(":")[2]
        assert server.base.startswith("https://")
        assert server.http.get("/api/about").status_code == 200
        assert all(cookie.secure for cookie in server.http.cookies.jar)
        name = in_url(lan_addresses()[0])
        head = {"cookie": "; ".join(f"{key}={value}" for key, value in server.http.cookies.items())}
        answer = httpx.get(f"https://{name}:{port}/api/about", headers=head, verify=False)
        assert answer.status_code == 200
        with pytest.raises(httpx.HTTPError):
            httpx.get(f"http://{name}:{port}/")
    finally:
        server.kill()

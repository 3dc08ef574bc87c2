"""The certificate that the page speaks https with: made on this machine for its own addresses, or the keeper's own.

A browser trusts a certificate whose signer it knows, and nobody signs for an address in a home network. So the page's
own is signed by itself: the browser warns once, and the keeper compares the fingerprint. It may sign nothing else
(basicConstraints, RFC 5280, section 4.2.1.9): a phone that is made to trust it trusts this page and nothing more.
"""

from __future__ import annotations

import datetime as dt
import ipaddress
import os
import ssl
from dataclasses import dataclass
from pathlib import Path

from swardmark.common.errors import UsageError, missing_extra
from swardmark.common.files import write_whole
from swardmark.door.passes import own_place

LASTS_DAYS, RENEW_DAYS = 390, 30
"""Browsers refuse server certificates of more than 398 days (CA/Browser Forum, baseline requirements 6.3.2)."""
CERTIFICATE_FILE, KEY_FILE = "page-certificate.pem", "page-key.pem"


@dataclass(frozen=True)
class Certificate:
    """Where certificate and key lie, and the certificate's SHA-256 fingerprint."""

    certificate: Path
    key: Path
    fingerprint: str
    is_own: bool = True


def own_certificate(address: str, *, place: Path | None = None) -> Certificate:
    """Return this machine's certificate for an address, made anew where there is none that still fits.

    Parameters
    ----------
    address : str
        This machine's numeric address in the home network; localhost and 127.0.0.1 are in it too.
    place : Path, optional
        Folder where it is kept; by default the user's own.

    Raises
    ------
    UsageError
        The library for certificates is not installed, or the folder cannot be written.
    """
    folder = place or own_place()
    certificate, key = folder / CERTIFICATE_FILE, folder / KEY_FILE
    try:
        if not _still_fits(certificate, key, address):
            _make(certificate, key, address)
        return Certificate(certificate, key, _fingerprint(certificate))
    except ImportError:
        instead = ", or serve without encryption: --plain"
        raise missing_extra("https needs cryptography", "page", where="--lan", instead=instead) from None


def given_certificate(certificate: Path, key: Path) -> Certificate:
    """Return the keeper's own certificate.

    Raises
    ------
    UsageError
        One of the files cannot be read, or they do not belong together.
    """
    try:
        ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(certificate, key, password=_no_password)
    except (OSError, ValueError) as error:
        what = f"certificate and key cannot be used ({getattr(error, 'reason', None) or error})"
        remedy = "Give a PEM certificate and its key without a password"
        raise UsageError(what, where="--certificate", remedy=remedy) from None
    return Certificate(certificate, key, "", is_own=False)


def _no_password() -> str:
    raise ValueError("the key has a password")


def _make(certificate: Path, key: Path, address: str) -> None:
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes, serialization
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

    own = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "swardmark page")])
    addresses = dict.fromkeys(("127.0.0.1", "::1", address))
    names = [x509.DNSName("localhost"), *(x509.IPAddress(ipaddress.ip_address(one)) for one in addresses)]
    now = dt.datetime.now(dt.UTC)
    made = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(own.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - dt.timedelta(days=1))
        .not_valid_after(now + dt.timedelta(days=LASTS_DAYS))
        .add_extension(x509.SubjectAlternativeName(names), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .sign(own, hashes.SHA256())
    )
    key.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    before = os.umask(0o077)
    try:
        plain = serialization.NoEncryption()
        form = serialization.PrivateFormat.PKCS8
        write_whole(key, own.private_bytes(serialization.Encoding.PEM, form, plain))
        write_whole(certificate, made.public_bytes(serialization.Encoding.PEM))
    finally:
        os.umask(before)


def _still_fits(certificate: Path, key: Path, address: str) -> bool:
    from cryptography import x509
    from cryptography.hazmat.primitives.serialization import load_pem_private_key

    try:
        made = x509.load_pem_x509_certificate(certificate.read_bytes())
        own = load_pem_private_key(key.read_bytes(), password=None)
        names = made.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
        known = names.get_values_for_type(x509.IPAddress)
    except (OSError, ValueError, TypeError, x509.ExtensionNotFound):
        return False
    left = made.not_valid_after_utc - dt.datetime.now(dt.UTC)
    fits = ipaddress.ip_address(address) in known and left > dt.timedelta(days=RENEW_DAYS)
    return fits and own.public_key() == made.public_key()


def _fingerprint(certificate: Path) -> str:
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes

    raw = x509.load_pem_x509_certificate(certificate.read_bytes()).fingerprint(hashes.SHA256())
    return raw.hex(":").upper()

"""A certificate of one's own, so that phones in the home network speak to slowfire encrypted."""

import ipaddress
import os
import socket
from datetime import UTC, datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from slowfire.errors import JournalError

FOLDER = "share"
CERTIFICATE, KEY = "certificate.pem", "key.pem"
LIFE = timedelta(days=397)  # phones refuse longer ones
RENEWED_BEFORE = timedelta(days=30)


def own_names() -> tuple[str, ...]:
    """Names and addresses of this machine in its network, the likeliest first."""
    found = []
    name = socket.gethostname().casefold()
    try:
        # no packet is sent: the system only chooses the way it would take
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as one:
            one.connect(("192.0.2.1", 9))
            found.append(one.getsockname()[0])
    except OSError:
        pass
    if name and name != "localhost":
        found += [name if "." in name else f"{name}.local", name]
    return tuple(dict.fromkeys(one for one in found if not one.startswith("127.")))


def certificate(folder: Path, names: tuple[str, ...], now: datetime | None = None) -> Path:
    """The certificate for these names, made anew if it is missing, old or for others.

    Parameters
    ----------
    folder : Path
        The data folder [-].
    names : tuple of str
        Host names and addresses [-].
    now : datetime or None
        The present; by the clock of this machine if None [-].

    Returns
    -------
    Path
        Of the certificate; the key lies beside it, for its owner alone.

    Raises
    ------
    JournalError
        If the folder cannot be written.
    """
    now = now or datetime.now(UTC)
    place = folder / FOLDER
    file = place / CERTIFICATE
    if _holds(file, place / KEY, names, now):
        return file
    key = ec.generate_private_key(ec.SECP256R1())
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "slowfire at home")])
    made = (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(subject)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(days=1))
        .not_valid_after(now + LIFE)
        .add_extension(x509.SubjectAlternativeName(_named(names)), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .sign(key, hashes.SHA256())
    )
    try:
        place.mkdir(parents=True, exist_ok=True)
        secret = key.private_bytes(
            serialization.Encoding.PEM,
            serialization.PrivateFormat.PKCS8,
            serialization.NoEncryption(),
        )
        _written(place / KEY, secret, 0o600)
        _written(file, made.public_bytes(serialization.Encoding.PEM), 0o644)
    except OSError as problem:
        raise JournalError(f"{place} cannot be written: {problem.strerror}.") from problem
    return file


def fingerprint(file: Path) -> str:
    """SHA-256 of a certificate, as a browser shows it, to compare by eye."""
    made = x509.load_pem_x509_certificate(file.read_bytes())
    return ":".join(f"{one:02X}" for one in made.fingerprint(hashes.SHA256()))


def _holds(file: Path, key: Path, names: tuple[str, ...], now: datetime) -> bool:
    if not file.exists() or not key.exists():
        return False
    try:
        made = x509.load_pem_x509_certificate(file.read_bytes())
        there = made.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    except (ValueError, OSError, x509.ExtensionNotFound):
        return False
    fresh = made.not_valid_after_utc - now > RENEWED_BEFORE
    return fresh and set(there) == set(_named(names))


def _named(names: tuple[str, ...]) -> list[x509.GeneralName]:
    found: list[x509.GeneralName] = []
    for one in dict.fromkeys((*names, "localhost", "127.0.0.1")):
        try:
            found.append(x509.IPAddress(ipaddress.ip_address(one)))
        except ValueError:
            found.append(x509.DNSName(one))
    return found


def _written(file: Path, content: bytes, mode: int) -> None:
    """Written whole and with its rights from the first byte on."""
    fresh = file.with_suffix(".new")
    fresh.unlink(missing_ok=True)
    with os.fdopen(os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_EXCL, mode), "wb") as opened:
        opened.write(content)
    os.replace(fresh, file)

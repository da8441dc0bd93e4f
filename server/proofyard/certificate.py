"""The certificate that `serve` is told to show, looked through before anything listens.

A browser says of a bad one no more than that the connection failed, and at the range nobody can look into it.

Errors
    UnfitCertificate  missing, unreadable, not of a pair, out of date, not for a server: in a sentence
"""

import os
import ssl
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from pathlib import Path
from urllib.parse import urlsplit

from proofyard.settings import Certificate

CERTIFICATE, KEY = "-----BEGIN CERTIFICATE-----", "PRIVATE KEY-----"
MOST_BYTES = 1_000_000
# OpenSSL's own numbers (x509_vfy.h: X509_V_ERR_CERT_NOT_YET_VALID, _CERT_HAS_EXPIRED, _INVALID_PURPOSE)
NOT_YET, EXPIRED, OTHER_PURPOSE = 9, 10, 26
NEAR_ITS_END = timedelta(days=30)


class UnfitCertificate(Exception):
    """Why no https can be had with these files, and what to do."""


def named_by(shown: Path | None, key: Path | None) -> Certificate | None:
    """The two files of the options --cert and --key; nothing where neither was given.

    Refuses
        UnfitCertificate  one without the other
    """
    if shown is None and key is None:
        return None
    if shown is None or key is None:
        raise UnfitCertificate("https needs both files: proofyard serve --cert FILE --key FILE")
    return Certificate(shown.expanduser().absolute(), key.expanduser().absolute())


def refuse_unfit(certificate: Certificate) -> None:
    """Read both files, see that they are a pair, and rehearse a connection in memory: OpenSSL judges dates and purpose.

    Whether phones trust who signed it can't be known here, and isn't asked.

    Refuses
        UnfitCertificate
    """
    _holds(certificate.shown, CERTIFICATE, "certificate", "--cert")
    _holds(certificate.key, KEY, "key", "--key")
    _refuse_open_key(certificate.key)
    _rehearse(_pair(certificate), certificate.shown)


def _holds(file: Path, mark: str, what: str, option: str) -> None:
    try:
        with file.open("rb") as opened:
            text = opened.read(MOST_BYTES).decode("ascii", "replace")
    except FileNotFoundError as error:
        raise UnfitCertificate(f"There is no file {file}. Name the {what} after {option}.") from error
    except OSError as error:
        raise UnfitCertificate(
            f"The {what} {file} can’t be read: {error.strerror or error}. Give your account the right to read it."
        ) from error
    if mark not in text:
        raise UnfitCertificate(f"{file} holds no {what} in PEM form (a line “{_line_of(what)}”). Name the {what} after {option}.")


def _line_of(what: str) -> str:
    return CERTIFICATE if what == "certificate" else f"-----BEGIN {KEY}"


def _refuse_open_key(key: Path) -> None:
    """Whoever reads the key can stand in for this laptop before every phone that trusts it."""
    if os.name != "nt" and key.stat().st_mode & 0o007:  # Windows has no such rights
        raise UnfitCertificate(f"Every account of this laptop may read or change the key {key}. Make it yours alone: chmod 600 {key}")


def _pair(certificate: Certificate) -> ssl.SSLContext:
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)

    def no_password() -> str:
        # Without this OpenSSL asks at the terminal, and a laptop that starts by itself waits for ever.
        raise UnfitCertificate(f"The key {certificate.key} is locked with a password. Name a copy without one, readable by you alone.")

    try:
        context.load_cert_chain(certificate.shown, certificate.key, password=no_password)
    except ssl.SSLError as error:
        if "MISMATCH" in (error.reason or ""):
            raise UnfitCertificate(
                f"{certificate.key} is not the key of the certificate {certificate.shown}. Name the two of one pair."
            ) from error
        raise UnfitCertificate(
            f"{certificate.shown} and {certificate.key} can’t be used ({error.reason or error}). They may be cut off; copy them again."
        ) from error
    return context


def https_with(certificate: Certificate) -> ssl.SSLContext:
    """How a server speaks https with this pair; see `refuse_unfit`."""
    return _pair(certificate)


def _rehearse(server: ssl.SSLContext, shown: Path) -> None:
    client = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    client.check_hostname = False  # phones come by several names and addresses
    client.verify_flags |= ssl.VERIFY_X509_PARTIAL_CHAIN  # who signed it is not asked
    client.load_verify_locations(shown)
    to_server, to_client = ssl.MemoryBIO(), ssl.MemoryBIO()
    ends = (client.wrap_bio(to_client, to_server), server.wrap_bio(to_server, to_client, server_side=True))
    for _ in range(4):  # two flights each way are enough for every version of TLS
        for end in ends:
            try:
                end.do_handshake()
            except ssl.SSLWantReadError:
                continue
            except ssl.SSLCertVerificationError as error:
                raise UnfitCertificate(_unfit(error, shown)) from error
            except ssl.SSLError as error:
                raise UnfitCertificate(f"No connection can be made with {shown} ({error.reason or error}). Have another made.") from error


def _unfit(error: ssl.SSLCertVerificationError, shown: Path) -> str:
    if error.verify_code == EXPIRED:
        return (
            f"The certificate {shown} has expired: no phone accepts it. Have a new one made, or look whether this laptop’s date is right."
        )
    if error.verify_code == NOT_YET:
        return f"The certificate {shown} is not valid yet. Look whether this laptop’s date is right."
    if error.verify_code == OTHER_PURPOSE:
        return f"The certificate {shown} was not made for a server. Have one made for “server authentication”."
    return f"Phones will refuse the certificate {shown}: {error.verify_message}."


@dataclass(frozen=True)
class Shown:
    """Whom a certificate names: addresses as their usual text, names in small letters."""

    names: frozenset[str]
    ends: datetime

    def covers_host(self, host: str) -> bool:
        """Whether a phone that came by this name or address, its port maybe with it, finds it in the certificate.

        `*.x` covers one label (RFC 6125).
        """
        said = host_name(host)
        return said in self.names or f"*.{said.partition('.')[2]}" in self.names


def host_name(host: str) -> str:
    """A host without its port: `[fe80::1]:8014`, `yard.local:8014`, `192.168.8.2`."""
    found = urlsplit(f"//{host}").hostname
    return (found or host).lower()


def shown_by(file: Path) -> Shown:
    """What the first certificate of a file in PEM form names.

    Refuses
        UnfitCertificate  none in it
    """
    from cryptography import x509

    try:
        found = x509.load_pem_x509_certificate(file.read_bytes())
        named = found.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    except x509.ExtensionNotFound:
        return Shown(frozenset(), found.not_valid_after_utc)
    except (OSError, ValueError) as error:
        raise UnfitCertificate(f"{file} holds no certificate that can be read.") from error
    names = {one.lower() for one in named.get_values_for_type(x509.DNSName)}
    return Shown(frozenset(names | {str(one) for one in named.get_values_for_type(x509.IPAddress)}), found.not_valid_after_utc)


def fingerprint_of(der: bytes) -> str:
    """SHA-256 of a certificate, in pairs, as phones show it."""
    return ":".join(f"{one:02X}" for one in sha256(der).digest())


def to_say_of(shown: Shown, offered: Iterable[str], *, now: datetime | None = None) -> list[str]:
    """What somebody should hear before the range: addresses that are offered and not named, and an end that is near."""
    said = []
    lacking = list(dict.fromkeys(host_name(one) for one in offered if not shown.covers_host(one)))
    if lacking:
        said.append(
            f"The certificate does not name {', '.join(lacking)}: a phone that comes that way is refused. Use an address that it names, "
            f"or make a certificate that names it too."
        )
    left = shown.ends - (now or datetime.now(UTC))
    if left < NEAR_ITS_END:
        when = f"{shown.ends.day} {shown.ends:%B %Y}"
        said.append(
            f"The certificate ended on {when}: no phone accepts it. Make a new one."
            if left <= timedelta()
            else f"The certificate ends on {when}. Make a new one before then, or phones that use https will be refused."
        )
    return said

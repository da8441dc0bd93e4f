"""`proofyard certify`: a certificate authority of the laptop's own, and the certificate that it signs for this laptop.

Phones show no https page of a laptop in a yard without a warning, since nobody whom they trust could have signed for it.
So the laptop makes who signs: an authority that its own phones are told to trust. Whoever holds the authority's key could
sign in any address's name. So the authority may sign for private addresses and for names ending in .local only, which is
written into it and which a phone keeps watch over; and its key is thrown away as soon as it has signed, or kept where
somebody says, away from the laptop, to sign again without a hand on any phone.

Errors
    NotCertified  a name that it may not sign for, a key that is not the authority's, files that can't be written
"""

import contextlib
import ipaddress
import os
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from proofyard.certificate import UnfitCertificate, fingerprint_of, shown_by
from proofyard.settings import Certificate, Settings

if TYPE_CHECKING:
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey

Address = ipaddress.IPv4Address | ipaddress.IPv6Address

# Private addresses (RFC 1918; RFC 4193 for IPv6), those that a device gives itself (RFC 3927, RFC 4291), and the device itself.
PRIVATE = ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "127.0.0.0/8", "fc00::/7", "fe80::/10", "::1/128")
NAMES_END_IN = ("local", "localhost")
ALWAYS = ("localhost", "127.0.0.1", "::1")  # the laptop's own browser
LASTS = timedelta(days=397)  # browsers take no longer one from a public authority; iPhones none above 825 days from any
KEPT_LASTS = timedelta(days=5 * 365)  # an authority whose key is kept
BEFORE = timedelta(days=1)  # a phone whose clock is behind takes it all the same
MOST_OF_A_NETWORK = 256
MOST_NAMES = 600
NAME = re.compile(r"(?!-)[a-z0-9-]{1,63}(?<!-)(\.(?!-)[a-z0-9-]{1,63}(?<!-))*")


class NotCertified(Exception):
    """Why no certificate was made, and what to do."""


@dataclass(frozen=True)
class Certified:
    """What was made: where it is, for which names and addresses, until when.

    left_out   addresses that this laptop has and that the authority may not sign for
    same       the authority is the one that phones know already
    """

    folder: Path
    names: tuple[str, ...]
    left_out: tuple[str, ...]
    ends: datetime
    fingerprint: str
    same: bool


def certify(
    folder: Path, *, has: Iterable[str], also: Sequence[str], key_file: Path | None = None, again: bool = False, now: datetime | None = None
) -> Certified:
    """Make a certificate for this laptop in the book's folder, and the authority that signs it unless its key was kept.

    has        names and addresses that this laptop answers to; those it may not sign for are left out
    also       further ones that somebody wants: a name ending in .local, an address, a network like 192.168.8.0/24
    key_file   where the authority's key is kept, or is to be; thrown away without it
    again      a new authority although phones may trust the one that is there

    Refuses
        NotCertified  nothing is changed
    """
    now = now or datetime.now(UTC)
    places = Settings(folder).own_https
    wanted = [*ALWAYS, *(one for each in also for one in _asked_for(each))]
    here = list(dict.fromkeys(one.lower().rstrip(".") for one in has))
    names = tuple(dict.fromkeys([*wanted, *(one for one in here if may_sign_for(one))]))
    if len(names) > MOST_NAMES:
        raise NotCertified(f"{len(names)} names and addresses are more than a phone should read. Name {MOST_NAMES} at most.")
    kept = _kept_key(key_file, folder)
    if kept is not None:
        key, signer = kept, _its_authority(places.authority, kept, now)
    else:
        _refuse_to_replace(places.pair, again=again, now=now)
        from cryptography.hazmat.primitives.asymmetric import ec

        key = ec.generate_private_key(ec.SECP256R1())
        signer = _authority(key, now, KEPT_LASTS if key_file else LASTS)
    own_key, leaf = _signed(key, signer, names, now)
    try:
        if kept is None and key_file is not None:
            _write_new(key_file.expanduser(), _pem_of(key))
        _write(places.authority, _der(signer))
        _write(places.pair.key, _pem_of(own_key))
        _write(places.pair.shown, _pem(leaf) + _pem(signer))
    except OSError as error:
        raise NotCertified(f"{error.filename} can’t be written: {error.strerror or error}. Nothing else was changed.") from error
    left_out = tuple(one for one in here if one not in names)
    return Certified(places.authority.parent, names, left_out, leaf.not_valid_after_utc, fingerprint_of(_der(signer)), kept is not None)


def in_words(made: Certified, key_file: Path | None) -> str:
    """What `certify` prints: for whom, until when, what to do next."""
    addresses = [one for one in made.left_out if _address(one) is not None]
    lines = [
        f"A certificate for this laptop, good until {made.ends.day} {made.ends:%B %Y}. It names:",
        f"  {', '.join(made.names[:12])}{f' and {len(made.names) - 12} more' if len(made.names) > 12 else ''}",
        *([f"Not {', '.join(addresses)}: the authority may sign for private addresses alone."] if addresses else []),
        f"It is in {made.folder}, where proofyard serve finds it.",
        "Phones that have other addresses in their network from now on: certify again, or name the network once with --for 192.168.8.0/24.",
        "",
    ]
    if made.same:
        lines.append("The authority is the same: phones that trust it need nothing.")
    else:
        lines += [
            "Each phone that shall use https must be told to trust the new authority. Start the server and open More, Phones, “https” on "
            "the laptop: the steps for each kind of phone stand there.",
            f"The authority’s fingerprint (SHA-256): {made.fingerprint}",
        ]
    if key_file is None:
        lines.append("The authority’s key was thrown away: nothing else can ever be signed with it.")
    else:
        lines.append(
            f"The authority’s key is in {key_file}. Whoever has it could read what those phones send to private addresses: "
            f"keep it off this laptop."
        )
    return "\n".join(lines)


def may_sign_for(name: str) -> bool:
    """Whether the authority's own limits allow this name or address."""
    address = _address(name)
    if address is not None:
        return any(address in network for network in map(ipaddress.ip_network, PRIVATE) if network.version == address.version)
    return NAME.fullmatch(name) is not None and len(name) <= 253 and name.rpartition(".")[2] in NAMES_END_IN


def _address(text: str) -> Address | None:
    with contextlib.suppress(ValueError):
        return ipaddress.ip_address(text.partition("%")[0])
    return None


def _asked_for(text: str) -> list[str]:
    """One name or address that somebody wants, or all addresses of a network."""
    said = text.strip().lower().rstrip(".")
    found = [said.partition("%")[0] if _address(said) else said]
    if "/" in said:
        try:
            network = ipaddress.ip_network(said, strict=False)
        except ValueError as error:
            raise NotCertified(f"“{text}” is not a network. Write it like 192.168.8.0/24.") from error
        if network.num_addresses > MOST_OF_A_NETWORK:
            raise NotCertified(f"“{text}” has {network.num_addresses} addresses; {MOST_OF_A_NETWORK} at most, for example 192.168.8.0/24.")
        found = [str(one) for one in network]
    if not all(map(may_sign_for, found)):
        raise NotCertified(
            f"“{text}” is not a private address or a name ending in .local, and the authority may sign for those alone: "
            f"a phone that trusts it must not be fooled about any other. Name another, or none."
        )
    return found


def _kept_key(file: Path | None, folder: Path) -> "EllipticCurvePrivateKey | None":
    """The authority's key out of the file where it is kept; nothing where there is no such file yet."""
    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey
    from cryptography.hazmat.primitives.serialization import load_pem_private_key

    if file is None:
        return None
    file = file.expanduser()
    if folder.resolve() in file.resolve().parents:
        raise NotCertified(f"{file} is in the book’s folder, beside what it signs. Keep the authority’s key elsewhere, best on a stick.")
    try:
        key = load_pem_private_key(file.read_bytes(), None)
    except FileNotFoundError:
        return None
    except OSError as error:
        raise NotCertified(f"{file} can’t be read: {error.strerror or error}.") from error
    except (ValueError, TypeError) as error:
        raise NotCertified(
            f"{file} holds no key that can be read. Name the file that certify wrote, or one that is not there yet."
        ) from error
    if not isinstance(key, EllipticCurvePrivateKey):
        raise NotCertified(f"{file} holds a key of another kind. Name the file that certify wrote.")
    return key


def _its_authority(file: Path, key: "EllipticCurvePrivateKey", now: datetime) -> "x509.Certificate":
    from cryptography import x509

    try:
        found = x509.load_der_x509_certificate(file.read_bytes())
    except (OSError, ValueError) as error:
        raise NotCertified(
            f"The authority of that key is not in {file}. Copy it there from where you keep it, or name a key file that is not there yet."
        ) from error
    if found.public_key() != key.public_key():
        raise NotCertified(f"That key is not the one of the authority {file}. Name the file that certify wrote for it.")
    if found.not_valid_after_utc <= now + BEFORE:
        raise NotCertified("That authority has come to its end. Move its key file away, then certify again: each phone needs the new one.")
    return found


def _refuse_to_replace(pair: Certificate, *, again: bool, now: datetime) -> None:
    """Phones that trust the authority that is there would have to be told to trust another one."""
    try:
        ends = shown_by(pair.shown).ends
    except UnfitCertificate:
        return
    if ends > now and not again:
        raise NotCertified(
            f"There is a certificate already, good until {ends.day} {ends:%B %Y}. A new one comes with a new authority, which each phone "
            f"must be told to trust. If the old one’s key was kept, name it: --authority-key FILE. To start afresh: proofyard certify --yes"
        )


def _authority(key: "EllipticCurvePrivateKey", now: datetime, lasts: timedelta) -> "x509.Certificate":
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes

    # The name is what somebody looks for in a phone's list to remove it; an iPhone shows none without a common name.
    name = x509.Name([x509.NameAttribute(x509.NameOID.COMMON_NAME, f"Proofyard on this laptop, made {now:%d %b %Y %H.%M}")])
    limits = [x509.DNSName(one) for one in NAMES_END_IN] + [x509.IPAddress(ipaddress.ip_network(one)) for one in PRIVATE]
    return (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - BEFORE)
        .not_valid_after(now - BEFORE + lasts)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage(signs=True), critical=True)
        .add_extension(x509.NameConstraints(permitted_subtrees=limits, excluded_subtrees=None), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .sign(key, hashes.SHA256())
    )


def _signed(
    key: "EllipticCurvePrivateKey", signer: "x509.Certificate", names: Sequence[str], now: datetime
) -> "tuple[EllipticCurvePrivateKey, x509.Certificate]":
    """A new key of the laptop's own, and the certificate for it."""
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes
    from cryptography.hazmat.primitives.asymmetric import ec

    own = ec.generate_private_key(ec.SECP256R1())
    found = [(one, _address(one)) for one in names]
    named: list[x509.GeneralName] = [x509.IPAddress(at) if at is not None else x509.DNSName(one) for one, at in found]
    leaf = (
        x509.CertificateBuilder()
        .subject_name(x509.Name([x509.NameAttribute(x509.NameOID.COMMON_NAME, "Proofyard")]))
        .issuer_name(signer.subject)
        .public_key(own.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - BEFORE)
        .not_valid_after(min(now - BEFORE + LASTS, signer.not_valid_after_utc))
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(signs=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([x509.oid.ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectAlternativeName(named), critical=False)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(own.public_key()), critical=False)
        .add_extension(x509.AuthorityKeyIdentifier.from_issuer_public_key(key.public_key()), critical=False)
        .sign(key, hashes.SHA256())
    )
    return own, leaf


def _usage(*, signs: bool) -> "x509.KeyUsage":
    from cryptography import x509

    return x509.KeyUsage(
        digital_signature=not signs,
        key_cert_sign=signs,
        crl_sign=signs,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        encipher_only=False,
        decipher_only=False,
    )


def _pem_of(key: "EllipticCurvePrivateKey") -> bytes:
    from cryptography.hazmat.primitives import serialization as to

    return key.private_bytes(to.Encoding.PEM, to.PrivateFormat.PKCS8, to.NoEncryption())


def _pem(certificate: "x509.Certificate") -> bytes:
    from cryptography.hazmat.primitives.serialization import Encoding

    return certificate.public_bytes(Encoding.PEM)


def _der(certificate: "x509.Certificate") -> bytes:
    from cryptography.hazmat.primitives.serialization import Encoding

    return certificate.public_bytes(Encoding.DER)


def _write_new(file: Path, content: bytes) -> None:
    with open(os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as opened:
        opened.write(content)


def _write(file: Path, content: bytes) -> None:
    """In the place of what was there, whole or not at all, and never readable by others."""
    file.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    part = file.with_name(f"{file.name}.part")
    part.unlink(missing_ok=True)
    _write_new(part, content)
    part.replace(file)

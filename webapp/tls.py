"""The workshop's own certificate authority and the server's certificate.

Phones give the camera, the microphone and offline work only to a page that came over trusted HTTPS. A workshop
network has no public name, so the server makes an authority of its own on first start. A phone that trusts it
must not be open to more than this workshop: the authority carries critical name constraints (RFC 5280, 4.2.1.10)
and can vouch for the workshop's names and for private addresses only.
"""

import datetime
import ipaddress
import os
import ssl
import stat
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

AUTHORITY_DAYS = 3650
# Phones refuse a certificate of a private authority that runs longer than 825 days; a year and a month is plenty.
SERVER_DAYS = 397
RENEW_DAYS = 30
# A phone whose clock is some days slow must still find the certificate valid.
BACKDATE = datetime.timedelta(days=7)

# RFC 1918 and the loopback network: addresses that mean nothing outside the house.
PRIVATE_NETWORKS = [ipaddress.ip_network(n) for n in ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "127.0.0.0/8")]


class NotSafe(Exception):
    """The certificates cannot be used as they are; the text says what to do."""


def now() -> datetime.datetime:
    """Return the time in UTC, to the second as certificates hold it."""
    return datetime.datetime.now(datetime.timezone.utc).replace(microsecond=0)


class Certificates:
    """The authority and the server's certificate in one folder that only its owner can read.

    authority.pem  key and certificate of the authority       server.pem  key, certificate and authority
    """

    def __init__(self, folder: Path):
        self.folder = Path(folder)
        self._authority_file = self.folder / "authority.pem"
        self.server_file = self.folder / "server.pem"

    def ensure(self, names: list, addresses: list, at: datetime.datetime = None) -> list:
        """Make what is missing, renew what runs out or no longer fits.

        Parameters:  names: DNS names of this server · addresses: its IPv4 addresses as text · at: the time
        Returns:     sentences about what was done, empty when nothing was
        Raises:      NotSafe for a key that others can read, or an authority that has run out
        """
        at = at or now()
        done = []
        _own_folder(self.folder)
        if not self._authority_file.exists():
            _write_private(self._authority_file, *_make_authority(names, addresses, at))
            done.append("Made this workshop's certificate authority.")
        key, authority = self._authority()
        if at >= authority.not_valid_after_utc:
            raise NotSafe(f"The certificate authority ran out on {authority.not_valid_after_utc:%Y-%m-%d}. Move "
                          f"{self._authority_file} away and start again; each phone then installs the new one.")
        allowed_names, allowed_addresses = _allowed(authority, names, addresses)
        if not self._fits(allowed_names, allowed_addresses, authority, at):
            leaf_key, leaf = _make_leaf(key, authority, allowed_names, allowed_addresses, at)
            _write_private(self.server_file, leaf_key, leaf, authority)
            done.append(f"Made the server's certificate, valid until {leaf.not_valid_after_utc:%Y-%m-%d}.")
        return done

    def context(self) -> ssl.SSLContext:
        """Return a fresh server context with the certificate as it is on disk now."""
        _check_private(self.server_file)
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        context.minimum_version = ssl.TLSVersion.TLSv1_2
        context.load_cert_chain(self.server_file)
        return context

    def authority_der(self) -> bytes:
        """Return the authority's certificate (never its key) in the form that phones install."""
        return self._authority()[1].public_bytes(serialization.Encoding.DER)

    def fingerprint(self) -> str:
        """Return the SHA-256 fingerprint of the authority's certificate in groups of four digits."""
        digits = self._authority()[1].fingerprint(hashes.SHA256()).hex().upper()
        return " ".join(digits[i:i + 4] for i in range(0, len(digits), 4))

    def authority_name(self) -> str:
        """Return the name under which a phone lists the authority."""
        return self._authority()[1].subject.get_attributes_for_oid(NameOID.COMMON_NAME)[0].value

    def days_left(self, at: datetime.datetime = None) -> int:
        """Return how many whole days the server's certificate is still valid."""
        return (self._leaf().not_valid_after_utc - (at or now())).days

    def left_out(self, names: list, addresses: list) -> list:
        """Return the names and addresses that the authority may not vouch for."""
        allowed_names, allowed_addresses = _allowed(self._authority()[1], names, addresses)
        return [n for n in names if n not in allowed_names] + [a for a in addresses if a not in allowed_addresses]

    def put_away(self) -> Path:
        """Move authority and certificate aside, for a server whose name changed; return where the authority is now."""
        kept = self._authority_file.with_suffix(f".{now():%Y%m%d%H%M%S}.old")
        os.replace(self._authority_file, kept)
        self.server_file.unlink(missing_ok=True)
        return kept

    def _authority(self):
        _check_private(self._authority_file)
        text = self._authority_file.read_bytes()
        return serialization.load_pem_private_key(text, None), x509.load_pem_x509_certificate(text)

    def _leaf(self):
        _check_private(self.server_file)
        return x509.load_pem_x509_certificate(self.server_file.read_bytes())

    def _fits(self, names, addresses, authority, at):
        if not self.server_file.exists():
            return False
        leaf = self._leaf()
        if leaf.not_valid_after_utc - at < datetime.timedelta(days=RENEW_DAYS):
            # A leaf never outlives its authority, so near that end a new one would be no better.
            return leaf.not_valid_after_utc == authority.not_valid_after_utc
        held = leaf.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
        return (leaf.issuer == authority.subject
                and set(held.get_values_for_type(x509.DNSName)) == set(names)
                and {str(a) for a in held.get_values_for_type(x509.IPAddress)} == set(addresses))


def _make_authority(names, addresses, at):
    key = ec.generate_private_key(ec.SECP256R1())
    # The serial keeps two authorities of one workshop apart in a phone's list.
    serial = x509.random_serial_number()
    name = x509.Name([x509.NameAttribute(NameOID.ORGANIZATION_NAME, "Spanwright"),
                      x509.NameAttribute(NameOID.COMMON_NAME, f"Spanwright workshop {serial % 10000:04d}")])
    networks = list(PRIVATE_NETWORKS)
    for address in addresses:
        if not _in_networks(address, networks):
            networks.append(ipaddress.ip_network(address))
    permitted = [x509.DNSName(n) for n in names] + [x509.IPAddress(n) for n in networks]
    builder = _certificate(name, name, key.public_key(), serial, at, at + datetime.timedelta(days=AUTHORITY_DAYS))
    builder = (builder
               .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
               .add_extension(_usage(key_cert_sign=True, crl_sign=True), critical=True)
               .add_extension(x509.NameConstraints(permitted, None), critical=True)
               .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False))
    return key, builder.sign(key, hashes.SHA256())


def _make_leaf(authority_key, authority, names, addresses, at):
    key = ec.generate_private_key(ec.SECP256R1())
    end = min(at + datetime.timedelta(days=SERVER_DAYS), authority.not_valid_after_utc)
    # The common name is no host name: old clients hold it against the constraints when it looks like one.
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Spanwright server")])
    held = [x509.DNSName(n) for n in names] + [x509.IPAddress(ipaddress.ip_address(a)) for a in addresses]
    issuer_id = authority.extensions.get_extension_for_class(x509.SubjectKeyIdentifier).value
    builder = _certificate(name, authority.subject, key.public_key(), x509.random_serial_number(), at, end)
    builder = (builder
               .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
               .add_extension(_usage(digital_signature=True), critical=True)
               .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
               .add_extension(x509.SubjectAlternativeName(held), critical=False)
               .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
               .add_extension(x509.AuthorityKeyIdentifier.from_issuer_subject_key_identifier(issuer_id),
                              critical=False))
    return key, builder.sign(authority_key, hashes.SHA256())


def _certificate(subject, issuer, public_key, serial, at, end):
    return (x509.CertificateBuilder().subject_name(subject).issuer_name(issuer).public_key(public_key)
            .serial_number(serial).not_valid_before(at - BACKDATE).not_valid_after(end))


def _usage(**wanted):
    every = dict.fromkeys(("digital_signature", "content_commitment", "key_encipherment", "data_encipherment",
                           "key_agreement", "key_cert_sign", "crl_sign", "encipher_only", "decipher_only"), False)
    return x509.KeyUsage(**(every | wanted))


def _allowed(authority, names, addresses):
    permitted = authority.extensions.get_extension_for_class(x509.NameConstraints).value.permitted_subtrees
    dns = [p.value for p in permitted if isinstance(p, x509.DNSName)]
    networks = [p.value for p in permitted if isinstance(p, x509.IPAddress)]
    return ([n for n in names if any(n == d or n.endswith("." + d) for d in dns)],
            [a for a in addresses if _in_networks(a, networks)])


def _in_networks(address, networks):
    return any(ipaddress.ip_address(address) in n for n in networks)


def _own_folder(folder):
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    _check_private(folder)


def _check_private(path):
    """A key that others may read is no key: refuse it rather than mend it, since it may be copied already."""
    if os.name != "posix":
        return
    held = path.stat()
    if held.st_uid != os.geteuid():
        raise NotSafe(f"{path} belongs to another user. Start the server as its owner, or give it away with chown.")
    mode = stat.S_IMODE(held.st_mode)
    if mode & 0o077:
        right = "700" if path.is_dir() else "600"
        raise NotSafe(f"Others on this machine can read {path} (mode {mode:o}), and it guards a private key. "
                      f"If nobody has, run: chmod {right} {path}. Otherwise move the folder away, so that new keys "
                      f"are made, and let each phone install the new authority.")


def _write_private(path, key, *certificates):
    """Write key and certificates as one file, so that a crash cannot leave a key beside the wrong certificate."""
    text = key.private_bytes(serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8,
                             serialization.NoEncryption())
    for certificate in certificates:
        text += certificate.public_bytes(serialization.Encoding.PEM)
    fresh = path.with_suffix(".new")
    fresh.unlink(missing_ok=True)
    with os.fdopen(os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as out:
        out.write(text)
        out.flush()
        os.fsync(out.fileno())
    os.replace(fresh, path)

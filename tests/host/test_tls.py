"""The workshop's authority, judged by two verifiers that are not ours: OpenSSL and cryptography's path validation."""

import datetime
import ipaddress
import os
import socket
import ssl
import subprocess
import threading

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509 import verification

from webapp import tls

NAMES = ["bay.example", "localhost"]
ADDRESSES = ["127.0.0.1", "192.168.7.20"]
DAY = datetime.timedelta(days=1)


@pytest.fixture
def certificates(tmp_path):
    made = tls.Certificates(tmp_path / "tls")
    made.ensure(NAMES, ADDRESSES)
    return made


def authority_of(certificates):
    return x509.load_der_x509_certificate(certificates.authority_der())


def leaf_of(certificates):
    return x509.load_pem_x509_certificate(certificates.server_file.read_bytes())


def foreign_leaf(certificates, *alternatives):
    """A leaf that the authority's stolen key could sign for anything: only the constraints stand in the way."""
    text = (certificates.folder / "authority.pem").read_bytes()
    key, authority = serialization.load_pem_private_key(text, None), x509.load_pem_x509_certificate(text)
    leaf_key, leaf = tls._make_leaf(key, authority, [a for a in alternatives if not a[0].isdigit()],
                                    [a for a in alternatives if a[0].isdigit()], tls.now())
    path = certificates.folder / "foreign.pem"
    tls._write_private(path, leaf_key, leaf, authority)
    return path, leaf


def verifier(certificates, subject, at=None):
    builder = verification.PolicyBuilder().store(verification.Store([authority_of(certificates)]))
    return builder.time(at or tls.now()).build_server_verifier(subject)


def connect(certificates, server_context, name):
    """One handshake over a socket pair between the server's context and a client that trusts the authority."""
    trusting = ssl.create_default_context(cadata=certificates.authority_der())
    # As strict as OpenSSL can be about the form of the chain (RFC 5280).
    trusting.verify_flags |= ssl.VERIFY_X509_STRICT
    ours, theirs = socket.socketpair()
    ours.settimeout(5)
    theirs.settimeout(5)

    def answer():
        try:
            with server_context.wrap_socket(ours, server_side=True) as served:
                served.sendall(b"here")
        except OSError:
            ours.close()

    server = threading.Thread(target=answer)
    server.start()
    try:
        with trusting.wrap_socket(theirs, server_hostname=name) as client:
            return client.recv(4)
    finally:
        theirs.close()
        server.join()


@pytest.mark.parametrize("name", NAMES + ADDRESSES)
def test_a_client_that_trusts_the_authority_connects_by_name_and_address(certificates, name):
    assert connect(certificates, certificates.context(), name) == b"here"


@pytest.mark.parametrize("name", ["other.example", "192.168.7.21"])
def test_a_client_refuses_a_name_that_the_certificate_does_not_hold(certificates, name):
    with pytest.raises(ssl.SSLCertVerificationError, match="mismatch"):
        connect(certificates, certificates.context(), name)


@pytest.mark.parametrize("name", ["bank.example", "8.8.8.8"])
def test_openssl_refuses_what_lies_outside_the_constraints(certificates, name):
    path, _ = foreign_leaf(certificates, name)
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(path)
    with pytest.raises(ssl.SSLCertVerificationError, match="permitted subtree violation"):
        connect(certificates, context, name)


def test_path_validation_of_cryptography_agrees(certificates):
    leaf = leaf_of(certificates)
    verifier(certificates, x509.DNSName("bay.example")).verify(leaf, [])
    verifier(certificates, x509.IPAddress(ipaddress.ip_address("192.168.7.20"))).verify(leaf, [])
    _, name = foreign_leaf(certificates, "bank.example")
    with pytest.raises(verification.VerificationError):
        verifier(certificates, x509.DNSName("bank.example")).verify(name, [])
    _, address = foreign_leaf(certificates, "8.8.8.8")
    with pytest.raises(verification.VerificationError):
        verifier(certificates, x509.IPAddress(ipaddress.ip_address("8.8.8.8"))).verify(address, [])


def test_path_validation_refuses_the_leaf_after_its_end(certificates):
    leaf = leaf_of(certificates)
    with pytest.raises(verification.VerificationError):
        verifier(certificates, x509.DNSName("bay.example"), leaf.not_valid_after_utc + DAY).verify(leaf, [])


def test_the_openssl_command_accepts_the_chain(certificates, tmp_path):
    # The same library as Python's ssl, but its own command with purpose and strict form asked for.
    authority = tmp_path / "authority.pem"
    authority.write_bytes(authority_of(certificates).public_bytes(serialization.Encoding.PEM))
    leaf = tmp_path / "leaf.pem"
    leaf.write_bytes(leaf_of(certificates).public_bytes(serialization.Encoding.PEM))
    command = ["openssl", "verify", "-x509_strict", "-purpose", "sslserver", "-CAfile", authority, leaf]
    answer = subprocess.run(command, capture_output=True, text=True)
    assert answer.returncode == 0, answer.stderr
    # Independent reading of the constraints' bytes.
    shown = subprocess.run(["openssl", "x509", "-in", authority, "-noout", "-text"], capture_output=True, text=True)
    assert "X509v3 Name Constraints: critical" in shown.stdout
    assert "pathlen:0" in shown.stdout
    assert "IP:192.168.0.0/255.255.0.0" in shown.stdout


def test_an_authority_below_ours_is_refused(certificates):
    # RFC 5280 4.2.1.9: path length 0 allows no further authority.
    text = (certificates.folder / "authority.pem").read_bytes()
    key, authority = serialization.load_pem_private_key(text, None), x509.load_pem_x509_certificate(text)
    below_key = ec.generate_private_key(ec.SECP256R1())
    subject = x509.Name([x509.NameAttribute(x509.NameOID.COMMON_NAME, "below")])
    end = tls.now() + 300 * DAY
    builder = tls._certificate(subject, authority.subject, below_key.public_key(), 77, tls.now(), end)
    identifier = x509.SubjectKeyIdentifier.from_public_key(below_key.public_key())
    issuer = x509.AuthorityKeyIdentifier.from_issuer_public_key(key.public_key())
    below = (builder.add_extension(x509.BasicConstraints(ca=True, path_length=None), critical=True)
             .add_extension(tls._usage(key_cert_sign=True), critical=True)
             .add_extension(identifier, critical=False).add_extension(issuer, critical=False)
             .sign(key, hashes.SHA256()))
    _, leaf = tls._make_leaf(below_key, below, ["bay.example"], [], tls.now())
    with pytest.raises(verification.VerificationError):
        verifier(certificates, x509.DNSName("bay.example")).verify(leaf, [below])


def test_lifetimes(certificates):
    # 825 days: the limit that phones put on certificates of private authorities (maker's published rule, from memory).
    leaf, authority = leaf_of(certificates), authority_of(certificates)
    assert leaf.not_valid_after_utc - leaf.not_valid_before_utc <= 825 * DAY
    assert authority.not_valid_after_utc - tls.now() > 3600 * DAY


def test_nothing_happens_while_all_is_well(certificates):
    before = certificates.server_file.read_bytes()
    assert certificates.ensure(NAMES, ADDRESSES) == []
    assert certificates.server_file.read_bytes() == before


@pytest.mark.parametrize("days, renewed", [(31, False), (29, True)])
def test_renewal_starts_thirty_days_before_the_end(certificates, days, renewed):
    before = leaf_of(certificates)
    authority = certificates.authority_der()
    certificates.ensure(NAMES, ADDRESSES, before.not_valid_after_utc - days * DAY)
    assert (leaf_of(certificates).serial_number != before.serial_number) == renewed
    assert certificates.authority_der() == authority


def test_a_new_address_gives_a_new_certificate_of_the_same_authority(certificates):
    authority = certificates.authority_der()
    certificates.ensure(NAMES, ["127.0.0.1", "10.1.2.3"])
    assert certificates.authority_der() == authority
    assert connect(certificates, certificates.context(), "10.1.2.3") == b"here"


def test_a_name_outside_the_constraints_is_named_and_left_out(certificates):
    names = NAMES + ["moved.example"]
    certificates.ensure(names, ADDRESSES)
    assert certificates.left_out(names, ADDRESSES) == ["moved.example"]
    certificates.put_away()
    certificates.ensure(names, ADDRESSES)
    assert certificates.left_out(names, ADDRESSES) == []


def test_a_leaf_never_outlives_its_authority_and_then_the_server_says_so(certificates):
    end = authority_of(certificates).not_valid_after_utc
    certificates.ensure(NAMES, ADDRESSES, end - 100 * DAY)
    assert leaf_of(certificates).not_valid_after_utc == end
    assert certificates.ensure(NAMES, ADDRESSES, end - 5 * DAY) == []
    with pytest.raises(tls.NotSafe, match="ran out"):
        certificates.ensure(NAMES, ADDRESSES, end + DAY)


def test_an_authority_for_an_address_that_is_not_private_allows_just_that_address(tmp_path):
    made = tls.Certificates(tmp_path / "tls")
    made.ensure(NAMES, ["203.0.113.9"])
    assert made.left_out([], ["203.0.113.9", "203.0.113.10"]) == ["203.0.113.10"]


@pytest.mark.skipif(os.name != "posix", reason="file modes are POSIX")
def test_keys_are_the_owners_alone(certificates):
    assert certificates.folder.stat().st_mode & 0o777 == 0o700
    for path in certificates.folder.iterdir():
        assert path.stat().st_mode & 0o777 == 0o600
    (certificates.folder / "authority.pem").chmod(0o640)
    with pytest.raises(tls.NotSafe, match="chmod 600"):
        certificates.ensure(NAMES, ADDRESSES)
    (certificates.folder / "authority.pem").chmod(0o600)
    certificates.folder.chmod(0o755)
    with pytest.raises(tls.NotSafe, match="chmod 700"):
        certificates.ensure(NAMES, ADDRESSES)


def test_a_crash_while_writing_leaves_the_old_certificate(certificates, monkeypatch):
    before = certificates.server_file.read_bytes()

    def crash(*_):
        raise OSError("power cut")

    monkeypatch.setattr(tls.os, "replace", crash)
    with pytest.raises(OSError, match="power cut"):
        certificates.ensure(NAMES, ["127.0.0.1", "10.9.9.9"])
    monkeypatch.undo()
    assert certificates.server_file.read_bytes() == before
    certificates.ensure(NAMES, ["127.0.0.1", "10.9.9.9"])
    assert connect(certificates, certificates.context(), "10.9.9.9") == b"here"


def test_what_is_handed_to_phones_holds_no_key(certificates):
    assert b"PRIVATE" not in certificates.authority_der()
    assert x509.load_der_x509_certificate(certificates.authority_der()).subject == authority_of(certificates).subject

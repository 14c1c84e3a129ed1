"""A certificate authority that lives for one test, and a mail server's certificate from it."""

import datetime
import ipaddress

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID


def named(name):
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)])


def certificate(subject, issuer, key, signing_key, extensions):
    now = datetime.datetime.now(datetime.timezone.utc)
    builder = (
        x509.CertificateBuilder()
        .subject_name(named(subject))
        .issuer_name(named(issuer))
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - datetime.timedelta(days=1))
        .not_valid_after(now + datetime.timedelta(days=7))
    )
    for extension, critical in extensions:
        builder = builder.add_extension(extension, critical)
    return builder.sign(signing_key, hashes.SHA256())


def make_certificates(folder):
    """Writes ca.pem, server.pem and server.key (for localhost and 127.0.0.1) into the folder."""
    ca_key, key = ec.generate_private_key(ec.SECP256R1()), ec.generate_private_key(ec.SECP256R1())
    usage = dict.fromkeys(
        ["content_commitment", "key_encipherment", "data_encipherment", "key_agreement", "encipher_only", "decipher_only"],
        False,
    )
    ca = certificate(
        "Wetside test authority",
        "Wetside test authority",
        ca_key,
        ca_key,
        [
            (x509.BasicConstraints(ca=True, path_length=0), True),
            (x509.KeyUsage(digital_signature=True, key_cert_sign=True, crl_sign=True, **usage), True),
            (x509.SubjectKeyIdentifier.from_public_key(ca_key.public_key()), False),
        ],
    )
    server = certificate(
        "localhost",
        "Wetside test authority",
        key,
        ca_key,
        [
            (x509.BasicConstraints(ca=False, path_length=None), True),
            (x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), False),
            (x509.AuthorityKeyIdentifier.from_issuer_public_key(ca_key.public_key()), False),
            (
                x509.SubjectAlternativeName(
                    [x509.DNSName("localhost"), x509.IPAddress(ipaddress.ip_address("127.0.0.1"))]
                ),
                False,
            ),
        ],
    )
    pem = serialization.Encoding.PEM
    (folder / "ca.pem").write_bytes(ca.public_bytes(pem))
    (folder / "server.pem").write_bytes(server.public_bytes(pem))
    private = key.private_bytes(pem, serialization.PrivateFormat.PKCS8, serialization.NoEncryption())
    (folder / "server.key").touch(mode=0o600)
    (folder / "server.key").write_bytes(private)

"""nginx on loopback with a certificate of its own, as it stands before a house that is reached from outside."""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from ipaddress import ip_address
from pathlib import Path

import pytest

from tests.roads.servers import needs, running

__all__ = ["NAME", "certificate", "nginx", "proxied"]

NAME = "localhost"
CONFIG = """
daemon off; worker_processes 1; pid {folder}/pid; error_log {folder}/errors;
events {{}}
http {{
    access_log off; gzip on; gzip_types text/calendar text/xml application/xml; gzip_min_length 1;
    client_body_temp_path {folder}/body; proxy_temp_path {folder}/proxy; fastcgi_temp_path {folder}/fastcgi;
    uwsgi_temp_path {folder}/uwsgi; scgi_temp_path {folder}/scgi;
    server {{ listen 127.0.0.1:{plain}; return 301 https://{name}:{port}$request_uri; }}
    server {{
        listen 127.0.0.1:{port} ssl; server_name {name};
        ssl_certificate {folder}/cert.pem; ssl_certificate_key {folder}/key.pem;
        location / {{
            proxy_pass http://127.0.0.1:{behind};
            proxy_set_header Host $http_host;
            proxy_set_header X-Forwarded-For $proxy_add_x_forwarded_for;
            proxy_set_header X-Forwarded-Proto $scheme;
        }}
    }}
}}
"""


def nginx() -> str:
    """Return the program, or skip the test with the reason that it is not installed."""
    found = shutil.which("nginx", path="/usr/sbin:/usr/local/sbin") or shutil.which("nginx")
    if found is None:
        pytest.skip("nginx is not installed")
    return found


def certificate(folder: Path) -> Path:
    """Write a certificate for this machine and its key into a folder, and return the certificate's file."""
    needs("cryptography")
    from cryptography import x509  # noqa: PLC0415 - comes with an extra
    from cryptography.hazmat.primitives import hashes, serialization  # noqa: PLC0415 - likewise
    from cryptography.hazmat.primitives.asymmetric import ec  # noqa: PLC0415 - likewise

    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(x509.NameOID.COMMON_NAME, NAME)])
    today = datetime.now(UTC)
    names = x509.SubjectAlternativeName([x509.DNSName(NAME), x509.IPAddress(ip_address("127.0.0.1"))])
    made = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(today - timedelta(days=1))
        .not_valid_after(today + timedelta(days=2))
        .add_extension(names, critical=False)
        .add_extension(x509.BasicConstraints(ca=True, path_length=None), critical=True)
        .sign(key, hashes.SHA256())
    )
    (folder / "key.pem").write_bytes(
        key.private_bytes(
            serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
        )
    )
    file = folder / "cert.pem"
    file.write_bytes(made.public_bytes(serialization.Encoding.PEM))
    return file


@contextmanager
def proxied(folder: Path, *, port: int, plain: int, behind: int) -> Iterator[None]:
    """Run nginx: https on one port, sent on from plain http on another, before a server on a third."""
    config = folder / "nginx.conf"
    config.write_text(CONFIG.format(folder=folder, name=NAME, port=port, plain=plain, behind=behind))
    words = [nginx(), "-p", str(folder), "-e", str(folder / "errors"), "-c", str(config)]
    tried = subprocess.run([*words, "-t"], capture_output=True, timeout=30, check=False)
    assert tried.returncode == 0, tried.stderr.decode()
    with running(words, plain):
        yield

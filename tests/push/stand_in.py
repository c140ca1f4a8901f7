"""A push service on this machine: HTTPS with its own certificate, answers as told, keeps what it was sent."""

import ssl
import threading
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from ipaddress import ip_address

import http_ece
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric.ec import SECP256R1, generate_private_key
from cryptography.x509.oid import NameOID

from curelog.push.base64url import encoded
from curelog.push.encryption import point


@dataclass
class Browser:
    """The side that may read: its key pair and secret, as a subscription."""

    key: object = field(default_factory=lambda: generate_private_key(SECP256R1()))
    auth: bytes = b"0123456789abcdef"

    @property
    def keys(self):
        return {"p256dh": encoded(point(self.key.public_key())), "auth": encoded(self.auth)}

    def read(self, body):
        return http_ece.decrypt(body, private_key=self.key, auth_secret=self.auth)


@dataclass
class Sent:
    path: str
    headers: dict
    body: bytes


class PushService:
    """`answers`: (status, headers) for the next requests; then 201."""

    def __init__(self, folder, name="localhost"):
        certificate = make_certificate(folder, name)
        self.received, self.answers, self.hooks = [], [], []
        service = self

        class Handler(BaseHTTPRequestHandler):
            def do_POST(self):
                body = self.rfile.read(int(self.headers["Content-Length"]))
                service.received.append(Sent(self.path, dict(self.headers), body))
                for hook in service.hooks:
                    hook(self)
                status, headers = service.answers.pop(0) if service.answers else (201, {})
                with suppress(OSError):  # the other side may have hung up
                    self.send_response(status)
                    for header in {"Content-Length": "0", **headers}.items():
                        self.send_header(*header)
                    self.end_headers()

            def log_message(self, *args):
                pass

        self.server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        self.server.daemon_threads = True
        tls = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        tls.load_cert_chain(certificate)
        self.server.socket = tls.wrap_socket(self.server.socket, server_side=True)
        self.context = ssl.create_default_context(cafile=certificate)
        threading.Thread(target=self.server.serve_forever, args=(0.02,), daemon=True).start()

    @property
    def endpoint(self):
        return f"https://localhost:{self.server.server_port}/push/abc"

    def close(self):
        self.server.shutdown()
        self.server.server_close()


def is_loopback(address):
    return address.is_loopback


def make_certificate(folder, name):
    key = generate_private_key(SECP256R1())
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)])
    now = datetime.now(UTC)
    names = x509.SubjectAlternativeName([x509.DNSName(name), x509.IPAddress(ip_address("127.0.0.1"))])
    built = (
        x509.CertificateBuilder(subject, subject, key.public_key(), x509.random_serial_number())
        .not_valid_before(now - timedelta(days=4000))
        .not_valid_after(now + timedelta(days=4000))
        .add_extension(names, critical=False)
        .sign(key, hashes.SHA256())
    )
    file = folder / "certificate.pem"
    private = key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    file.write_bytes(private + built.public_bytes(serialization.Encoding.PEM))
    return file

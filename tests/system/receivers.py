"""Servers that notices are sent to, on loopback alone: mail, web and one that misbehaves, with certificates of an
authority that is made when the test begins."""

import http.server
import socket
import ssl
import subprocess
import threading
import time
from email import message_from_bytes, policy

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, AuthResult

HOST = "127.0.0.1"


class Authority:
    """A certificate authority of its own, and one certificate for this machine."""

    def __init__(self, folder, name):
        self.dir = folder / name
        self.dir.mkdir()
        self.ca = self.dir / "ca.pem"
        self.cert, self.key = self.dir / "server.pem", self.dir / "server.key"
        curve = ["-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256", "-nodes"]
        self._openssl("req", "-x509", *curve, "-keyout", self.dir / "ca.key", "-out", self.ca, "-days", "2",
                      "-subj", f"/CN={name}", "-addext", "basicConstraints=critical,CA:TRUE",
                      "-addext", "keyUsage=critical,keyCertSign")
        self._openssl("req", *curve, "-keyout", self.key, "-out", self.dir / "server.csr", "-subj", "/CN=localhost")
        (self.dir / "names").write_text("subjectAltName=DNS:localhost,IP:127.0.0.1\n")
        self._openssl("x509", "-req", "-in", self.dir / "server.csr", "-CA", self.ca, "-CAkey", self.dir / "ca.key",
                      "-CAcreateserial", "-out", self.cert, "-days", "2", "-extfile", self.dir / "names")

    @staticmethod
    def _openssl(*words):
        subprocess.run(["openssl", *map(str, words)], check=True, capture_output=True, timeout=60)

    def context(self):
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        context.load_cert_chain(self.cert, self.key)
        return context


class Received:
    """What came in: (id, bytes, facts), guarded, because servers run on threads."""

    def __init__(self):
        self._lock = threading.Lock()
        self._all = []

    def add(self, *what):
        with self._lock:
            self._all.append(what)

    def all(self):
        with self._lock:
            return list(self._all)

    def clear(self):
        with self._lock:
            self._all.clear()


class MailHandler:
    def __init__(self, received, pause=0.0, rcpt=None, data=None):
        self.received, self.pause, self.rcpt, self.data = received, pause, rcpt, data

    async def handle_RCPT(self, server, session, envelope, address, options):
        if self.rcpt:
            return self.rcpt
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, server, session, envelope):
        time.sleep(self.pause)
        if self.data:
            return self.data
        mail = message_from_bytes(envelope.content, policy=policy.default)
        self.received.add(mail["Message-ID"], envelope.content,
                          {"mail": mail, "to": envelope.rcpt_tos, "from": envelope.mail_from,
                           "private": session.ssl is not None, "user": session.auth_data})
        return "250 OK"


class MailServer:
    """`security` as in the settings. Knows one user; without privacy anybody may hand in."""

    USER, PASSWORD = "maker", "a mail pass-word of the test"

    def __init__(self, authority, security, **manners):
        self.received = Received()

        def known(server, session, envelope, mechanism, auth):
            good = (auth.login, auth.password) == (self.USER.encode(), self.PASSWORD.encode())
            return AuthResult(success=good, handled=False, auth_data=auth.login.decode())

        context = authority.context() if authority else None
        options = {"authenticator": known, "auth_required": True}
        if security == "starttls":
            options.update(tls_context=context, require_starttls=True)
        elif security == "tls":
            options.update(auth_require_tls=False)
        else:
            options = {}

        class Served(Controller):
            def factory(self):
                return SMTP(self.handler, hostname="localhost", **options)

        self.controller = Served(MailHandler(self.received, **manners), hostname=HOST, port=free_port(),
                                 ssl_context=context if security == "tls" else None)
        self.controller.start()
        self.port = self.controller.port

    @classmethod
    def open_to_all(cls):
        return cls(None, "none")

    def end(self):
        self.controller.stop()


def free_port():
    with socket.socket() as probe:
        probe.bind((HOST, 0))
        return probe.getsockname()[1]


class WebServer:
    """Answers by the path: /200, /404, …; /slow answers after a while, /once-slow only the first time; /die breaks off."""

    SLOW = 4.0

    def __init__(self, context):
        received = self.received = Received()
        self.hook = None  # called with (path, id) after the body came and before the answer
        web = self

        class Handler(http.server.BaseHTTPRequestHandler):
            protocol_version = "HTTP/1.1"

            def do_POST(self):
                body = self.rfile.read(int(self.headers["Content-Length"]))
                received.add(self.headers["Idempotency-Key"], body, {"path": self.path, "headers": dict(self.headers)})
                if web.hook:
                    web.hook(self.path, self.headers["Idempotency-Key"])
                self.answer(sum(1 for _, _, facts in received.all() if facts["path"] == self.path))

            def answer(self, nth):
                word = self.path.rsplit("/", 1)[1]
                if word == "slow" or (word == "once-slow" and nth == 1):
                    time.sleep(web.SLOW)
                if word == "die":
                    self.wfile.write(b"HTTP/1.1 20")
                    self.wfile.flush()
                    self.close_connection = True
                    self.connection.shutdown(socket.SHUT_RDWR)
                    return
                code = int(word) if word.isdigit() else 200
                self.send_response(code)
                if 300 <= code < 400:
                    self.send_header("Location", "/200")
                self.send_header("Content-Length", "0")
                self.end_headers()

            def log_message(self, *_):
                pass

        class Server(http.server.ThreadingHTTPServer):
            daemon_threads = True

            def handle_error(self, request, client_address):
                pass

        self.server = Server((HOST, 0), Handler)
        if context:
            self.server.socket = context.wrap_socket(self.server.socket, server_side=True)
        self.port = self.server.server_address[1]
        threading.Thread(target=self.server.serve_forever, daemon=True).start()

    def end(self):
        self.server.shutdown()
        self.server.server_close()


class Misbehaved:
    """Accepts and then: `silent` says nothing, `dying` greets as a mail server and breaks off when the mail begins."""

    def __init__(self, manner):
        self.manner = manner
        self.heard = 0
        self.socket = socket.create_server((HOST, 0))
        self.port = self.socket.getsockname()[1]
        self.open = []
        threading.Thread(target=self._serve, daemon=True).start()

    def _serve(self):
        while True:
            try:
                connection, _ = self.socket.accept()
            except OSError:
                return
            self.heard += 1
            self.open.append(connection)
            if self.manner == "dying":
                threading.Thread(target=self._die, args=(connection,), daemon=True).start()

    @staticmethod
    def _die(connection):
        with connection, connection.makefile("rwb", buffering=0) as lines:
            lines.write(b"220 here\r\n")
            for line in lines:
                if line.upper().startswith(b"DATA"):
                    return
                lines.write(b"250 OK\r\n")

    def end(self):
        self.socket.close()
        for connection in self.open:
            connection.close()

#!/usr/bin/env python3
"""Every way out against real servers on loopback: well, slow, refusing, silent, dying half-way; secrets; a hung
courier beside a thousand readings."""

import hashlib
import hmac
import json
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import unittest
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))
import workshop  # noqa: E402
from workshop import PATIENCE, TOPIC, Workshop, eventually, program, rfc3339  # noqa: E402

try:
    from receivers import Authority, MailServer, Misbehaved, WebServer, free_port
except ImportError as missing:
    print(f"skipped: {missing}")
    sys.exit(workshop.SKIPPED)

SECRET = "what signs the test's notices"
READINGS = 1000


def mail_route(name, port, security, files, to=("maker@example.org",), limit=3, password="password"):
    login = f'user = "maker"\npassword_file = "{files[password]}"\n' if security != "none" else ""
    return (f'[[route]]\nid = "{name}"\nkind = "mail"\nhost = "localhost"\nport = {port}\nsecurity = "{security}"\n'
            f'{login}ca_file = "{files["ca"]}"\nfrom = "shop@example.org"\nto = {json.dumps(list(to))}\n'
            f'limit = "{limit} s"\ninstant = true\n')


def web_route(name, port, path, files, limit=3, scheme="https", ca="ca", secret="secret"):
    return (f'[[route]]\nid = "{name}"\nkind = "webhook"\nurl = "{scheme}://localhost:{port}/hush/{path}"\n'
            f'secret_file = "{files[secret]}"\nca_file = "{files[ca]}"\nlimit = "{limit} s"\ninstant = true\n')


class Deliveries(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.shop = shop = Workshop()
        cls.ends = []
        shop.dir.chmod(0o755)
        authority, stranger = Authority(shop.dir, "trusted"), Authority(shop.dir, "stranger")
        cls.files = {"ca": authority.ca, "stranger": stranger.ca}
        for name, text, mode in (("password", MailServer.PASSWORD, 0o600), ("wrong", "not the password", 0o600),
                                 ("open", MailServer.PASSWORD, 0o644), ("secret", SECRET, 0o400)):
            cls.files[name] = shop.dir / name
            cls.files[name].write_text(text + "\n")
            cls.files[name].chmod(mode)
        cls.mail = {
            "starttls": MailServer(authority, "starttls"), "tls": MailServer(authority, "tls"),
            "slow": MailServer(authority, "starttls", pause=1.0),
            "nobody": MailServer(authority, "starttls", rcpt="550 no such person"),
            "later": MailServer(authority, "starttls", data="451 try later"),
        }
        cls.web = WebServer(authority.context())
        cls.silent, cls.dying = Misbehaved("silent"), Misbehaved("dying")
        cls.ends += [*cls.mail.values(), cls.web, cls.silent, cls.dying]
        with shop.config.open("a") as settings:
            settings.write(cls.routes())
        shop.start()

    @classmethod
    def routes(cls):
        files, mail, web = cls.files, cls.mail, cls.web.port
        ways = [mail_route(name, server.port, "tls" if name == "tls" else "starttls", files)
                for name, server in mail.items()]
        ways += [
            mail_route("wrong-password", mail["starttls"].port, "starttls", files, password="wrong"),
            mail_route("open-password", mail["starttls"].port, "starttls", files, password="open"),
            mail_route("stranger-mail", mail["tls"].port, "tls", {**files, "ca": files["stranger"]}),
            mail_route("mail-gone", free_port(), "starttls", files),
            mail_route("mail-silent", cls.silent.port, "starttls", files, limit=1),
            mail_route("mail-dying", cls.dying.port, "none", files),
            web_route("web-gone", free_port(), "200", files),
            web_route("web-silent", cls.silent.port, "200", files, limit=1),
            web_route("stranger-web", web, "200", files, ca="stranger"),
            web_route("hung", cls.silent.port, "200", files, limit=120),
        ]
        ways += [web_route(f"web-{path}", web, path, files, limit=2)
                 for path in ("200", "204", "301", "404", "408", "429", "500", "die", "once-slow")]
        return "\n".join(ways)

    @classmethod
    def tearDownClass(cls):
        for each in cls.ends:
            each.end()
        cls.shop.__exit__()

    def tried(self, route, state, *words):
        done = self.shop.run("notices", "--test", route, "--json")
        answer = json.loads(done.stdout)
        self.assertEqual(answer["state"], state, answer)
        self.assertEqual(done.returncode, 0 if state == "sent" else 1)
        for word in words:
            self.assertIn(word, answer["error"])
        return answer

    def status_line(self, route):
        return next(line for line in self.shop.ask("status")["lines"] if line["part"] == f"route {route}")

    def test_mail_arrives_privately_with_our_login_and_reads_as_it_was_written(self):
        for route in ("starttls", "tls", "slow"):
            answer = self.tried(route, "sent")
            (name, raw, facts), = self.mail[route].received.all()
            mail = facts["mail"]
            self.assertEqual((facts["from"], facts["to"]), ("shop@example.org", ["maker@example.org"]))
            self.assertTrue(facts["private"] or route == "tls")
            self.assertEqual(facts["user"], "maker")
            self.assertEqual(mail["Subject"], f"Test of route {route} from Test workshop: this message needs nothing done")
            self.assertIn("setwell notices --test", mail.get_content())
            self.assertIn(answer["id"].replace("/", "."), name)
            self.assertEqual([line for line in raw.split(b"\r\n") if len(line) > 78], [])

    def test_mail_that_nobody_takes_is_given_up_or_tried_again_and_status_tells(self):
        self.tried("nobody", "given-up", "550")
        line = self.status_line("nobody")
        self.assertFalse(line["ok"])
        self.assertIn("given up", line["state"])
        self.assertIn("550", line["advice"])
        self.assertEqual(self.shop.run("status").returncode, 1)
        self.tried("later", "waiting", "451")
        self.assertIn("451", self.status_line("later")["advice"])

    def test_a_mail_server_that_is_not_there_silent_dying_or_somebody_else_keeps_the_mail_waiting(self):
        self.tried("mail-gone", "waiting", "localhost")
        self.tried("mail-silent", "waiting", "localhost")
        self.tried("mail-dying", "waiting", "localhost")
        self.tried("stranger-mail", "waiting", "certificate")
        self.tried("wrong-password", "waiting", "user and password")
        self.tried("open-password", "waiting", "chmod 600")
        self.assertFalse([name for name, _, _ in self.mail["starttls"].received.all() if "wrong-password" in name])

    def test_a_webhook_is_posted_as_json_with_its_signature_and_its_id(self):
        for path in ("200", "204"):
            answer = self.tried(f"web-{path}", "sent")
            posted = [each for each in self.web.received.all() if each[0] == answer["id"]]
            self.assertEqual(len(posted), 1)
            _, body, facts = posted[0]
            right = hmac.new(SECRET.encode(), body, hashlib.sha256).hexdigest()
            self.assertEqual(facts["headers"]["Setwell-Signature"], f"sha256={right}")
            self.assertEqual(facts["headers"]["Content-Type"], "application/json")
            self.assertEqual(json.loads(body)["id"], answer["id"])
            self.assertEqual(json.loads(body)["kind"], "test")

    def test_answers_of_a_web_server_decide_whether_it_is_tried_again(self):
        self.tried("web-404", "given-up", "404")
        for path in ("408", "429", "500"):
            self.tried(f"web-{path}", "waiting", path)
        self.tried("web-301", "waiting", "redirects are not followed")
        self.tried("web-die", "waiting", "localhost")
        self.tried("web-gone", "waiting", "localhost")
        self.tried("web-silent", "waiting", "localhost")
        self.tried("stranger-web", "waiting", "certificate")
        followed = [f for n, _, f in self.web.received.all() if "web-301" in n and not f["path"].endswith("/301")]
        self.assertEqual(followed, [])
        self.assertIn("given up", self.status_line("web-404")["state"])

    def test_an_answer_that_comes_too_late_is_a_repeat_with_one_id_and_the_same_bytes(self):
        answer = self.tried("web-once-slow", "waiting")

        def sent():
            return self.shop.run("notices", "--test", "web-once-slow").returncode == 0

        def posted():
            return [body for name, body, _ in self.web.received.all() if name == answer["id"]]
        eventually(lambda: len(posted()) == 2, "the second attempt")
        self.assertEqual(len(set(posted())), 1)
        self.assertTrue(sent())

    def test_a_route_that_is_not_there_is_not_found(self):
        done = self.shop.run("notices", "--test", "pigeon")
        self.assertEqual(done.returncode, 4)
        self.assertIn("starttls", done.stderr)

    def test_the_log_and_the_broker_take_a_test_too(self):
        self.tried("journal", "sent")
        self.assertIn("Test of route journal", self.shop.log())

    def test_a_thousand_readings_flow_while_a_courier_hangs(self):
        heard = self.silent.heard
        hanging = subprocess.Popen([str(workshop.BIN / "setwell"), "--socket", str(self.shop.socket), "notices", "--test",
                                    "hung"], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        try:
            eventually(lambda: self.silent.heard > heard, "the courier at the silent server")
            before = self.shop.ask("status")["taken"]
            begun = time.monotonic()
            at = time.time() - READINGS
            lines = "".join(json.dumps({"time": rfc3339(at + i), "temperature": 20 + i % 7 / 100, "humidity": 50}) + "\n"
                            for i in range(READINGS))
            subprocess.run([program("mosquitto_pub"), "-p", str(self.shop.broker.port), "-q", "1", "-t", TOPIC, "-l"],
                           input=lines, text=True, check=True, timeout=PATIENCE)
            eventually(lambda: self.shop.ask("status")["taken"] >= before + READINGS, "a thousand readings", 100)
            took = time.monotonic() - begun
            # Another route is not kept waiting either.
            self.tried("web-200", "sent")
            self.assertIsNone(hanging.poll(), "the courier did not hang that long")
            print(f"a thousand readings beside a hung courier: {took:.1f} s", file=sys.stderr)
        finally:
            hanging.kill()
            hanging.wait()

    def test_no_secret_is_ever_shown(self):
        self.tried("wrong-password", "waiting")
        self.tried("web-404", "given-up")
        shown = self.shop.log()
        for words in (("status",), ("status", "--json"), ("notices", "--all", "--json")):
            done = self.shop.run(*words)
            shown += done.stdout + done.stderr
        for secret in (MailServer.PASSWORD, "not the password", SECRET, "hush"):
            self.assertNotIn(secret, shown)

    def test_checking_the_settings_finds_a_secret_that_others_may_read(self):
        done = self.shop.failing("--check")
        self.assertEqual(done.returncode, 5)
        self.assertIn("route open-password", done.stdout)
        self.assertIn("chmod 600", done.stdout)
        self.assertNotIn(MailServer.PASSWORD, done.stdout)


class PrivateBroker(workshop.Broker):
    """A broker that speaks TLS alone, with the test's authority."""

    def __init__(self, folder):
        self.authority = Authority(folder, "broker-authority")
        folder.chmod(0o755)
        self.authority.dir.chmod(0o755)
        self.authority.key.chmod(0o644)
        super().__init__(folder)

    def settings(self):
        return (f"cafile {self.authority.ca}\ncertfile {self.authority.cert}\nkeyfile {self.authority.key}\n")

    def sub(self, topic, count):
        return subprocess.Popen([program("mosquitto_sub"), "-h", "localhost", "-p", str(self.port), "--cafile",
                                 str(self.authority.ca), "-q", "1", "-t", topic, "-C", str(count), "-W", str(PATIENCE)],
                                stdout=subprocess.PIPE, text=True)


class ByTheBroker(unittest.TestCase):
    def test_events_reach_a_private_broker_and_wait_for_one_that_is_silent_or_gone(self):
        folder = Path(tempfile.mkdtemp(prefix="setwell-broker-"))
        broker = PrivateBroker(folder)
        more = '[[route]]\nid = "house"\nkind = "mqtt"\ntopic = "told"\ninstant = true\n'
        shop = Workshop(more=more, broker=broker)
        text = shop.config.read_text().replace('host = "127.0.0.1"', f'host = "localhost"\ntls = true\nca_file = "{broker.authority.ca}"')
        shop.config.write_text(text)
        try:
            with shop:
                listener = broker.sub("told/event", 1)
                time.sleep(0.5)  # the listener says nothing when it has subscribed
                answer = shop.ask("notices", "--test", "house")
                self.assertEqual(answer["state"], "sent")
                event = json.loads(listener.communicate(timeout=PATIENCE)[0])
                self.assertEqual((event["id"], event["kind"]), (answer["id"], "test"))
                broker.process.send_signal(signal.SIGSTOP)
                done = shop.run("notices", "--test", "house", "--json")
                broker.process.send_signal(signal.SIGCONT)
                self.assertEqual(done.returncode, 1, done.stdout)
                eventually(lambda: shop.run("notices", "--test", "house").returncode == 0, "the broker well again")
                workshop.end(broker.process)
                gone = shop.run("notices", "--test", "house", "--json")
                self.assertEqual(json.loads(gone.stdout)["state"], "waiting")
                self.assertIn("no connection", json.loads(gone.stdout)["error"])
                broker.start()
                eventually(lambda: shop.run("notices", "--test", "house").returncode == 0, "the broker back")
        finally:
            broker.end()
            shutil.rmtree(folder, ignore_errors=True)


if __name__ == "__main__":
    workshop.main()

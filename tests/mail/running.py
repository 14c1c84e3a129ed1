"""Starting and stopping what the mail tests need: the mail server and Wetside itself."""

import json
import os
import pathlib
import socket
import subprocess
import sys
import time

HERE = pathlib.Path(__file__).resolve().parent


class MailServer:
    """tests/mail/mail_server.py as a process, with its control port."""

    def __init__(self, folder, tls="none", auth=None):
        command = [sys.executable, HERE / "mail_server.py", "--dir", folder, "--tls", tls]
        self.process = subprocess.Popen(
            [*map(str, command), *(["--auth", auth] if auth else [])], stdout=subprocess.PIPE, text=True
        )
        line = self.process.stdout.readline()
        if not line:
            raise RuntimeError("The mail server did not start.")
        ready = json.loads(line)
        self.port, self.ca = ready["port"], ready["ca"]
        self.control = socket.create_connection(("127.0.0.1", ready["control"]))
        self.answers = self.control.makefile()

    def tell(self, command):
        self.control.sendall(command.encode() + b"\n")
        answer = json.loads(self.answers.readline())
        if "error" in answer:
            raise RuntimeError(answer["error"])
        return answer

    def letters(self):
        return self.tell("letters")["letters"]

    def stop(self):
        self.control.sendall(b"quit\n")
        try:
            self.process.wait(10)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()
        self.answers.close()
        self.control.close()
        self.process.stdout.close()


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


class Wetside:
    """`wetside serve` as a process of its own, with its own data folder and log."""

    def __init__(self, program, folder, **settings):
        folder.mkdir(parents=True, exist_ok=True)
        self.port = free_port()
        self.url = f"http://127.0.0.1:{self.port}"
        self.log_path = folder / "log.txt"
        own = {
            "WETSIDE_DATA_DIR": str(folder),
            "WETSIDE_LISTEN": f"127.0.0.1:{self.port}",
            "WETSIDE_BASE_URL": self.url,
            "WETSIDE_MAIL_FROM": "darkroom@quillhaven.example",
        }
        kept = {k: v for k, v in os.environ.items() if not k.startswith("WETSIDE_") and k != "DATABASE_URL"}
        with self.log_path.open("ab") as log:
            self.process = subprocess.Popen(
                [program, "serve"], env=kept | own | settings, stdin=subprocess.DEVNULL, stdout=log, stderr=log
            )
        try:
            wait_until(lambda: f"{self.url} answers, whose log says:\n{self.log()}", self.answers, seconds=60)
        except BaseException:
            self.kill()
            raise

    def answers(self):
        if self.process.poll() is not None:
            raise RuntimeError(f"wetside serve ended at once:\n{self.log()}")
        try:
            with socket.create_connection(("127.0.0.1", self.port), timeout=2) as link:
                link.sendall(b"GET /readyz HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n")
                return b" 200 " in link.recv(64)
        except OSError:
            return False

    def log(self):
        return self.log_path.read_text(errors="replace")[-4000:]

    def kill(self):
        self.process.kill()
        self.process.wait()

    def stop(self):
        if self.process.poll() is None:
            self.process.terminate()
            try:
                self.process.wait(20)
            except subprocess.TimeoutExpired:
                self.kill()


def wait_until(what, holds, seconds, every=0.1):
    end = time.monotonic() + seconds
    while not holds():
        if time.monotonic() > end:
            said = what() if callable(what) else what
            raise AssertionError(f"Within {seconds} s this did not come about: {said}.")
        time.sleep(every)

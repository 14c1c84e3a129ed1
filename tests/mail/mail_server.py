#!/usr/bin/env python3
"""A real SMTP server on this machine that behaves as well or as badly as a test asks.

    mail_server.py --port N --control N --dir D --tls none|starttls|implicit --auth user:password

A port of 0 takes a free one. When it listens it prints one line of JSON:
{"port": ..., "control": ..., "ca": "D/ca.pem" or null, "letters": "D/letters.jsonl"}.
Each letter it takes becomes a line of JSON in letters.jsonl. It ends when its control
connection says so ("quit"), or on SIGTERM.

The control port (127.0.0.1) takes one command a line and answers each with a line of JSON:
    mode NAME [times=N] [to=ADDRESS]    how to behave, for the next N letters or until told
                                        otherwise, to everyone or to one recipient only
    count                               {"letters": taken, "tries": seen, "refused": turned away}
    letters                             {"letters": [...]}
    forget                              forgets the letters and counts so far
    quit
The modes are named in MODES below.
"""

import argparse
import asyncio
import email
import email.policy
import json
import logging
import pathlib
import signal
import ssl
import sys
import time
import warnings

from aiosmtpd.smtp import SMTP, AuthResult, LoginPassword

from certificates import make_certificates

MODES = {
    "accept": "takes every letter",
    "rcpt-4xx": "451 to RCPT TO",
    "rcpt-5xx": "550 to RCPT TO",
    "data-4xx": "452 after the letter was sent",
    "data-5xx": "554 after the letter was sent",
    "hang": "never answers after the letter was sent",
    "hang-greeting": "takes the connection and says nothing",
    "lose-reply": "keeps the letter, then hangs up without an answer",
    "refuse": "does not listen at all",
}
REPLIES = {
    "rcpt-4xx": "451 4.3.0 Try again later",
    "rcpt-5xx": "550 5.1.1 Nobody of that name here",
    "data-4xx": "452 4.2.2 No room just now",
    "data-5xx": "554 5.7.1 This letter is not wanted",
}


class Manner:
    """How the server behaves just now."""

    def __init__(self):
        self.set("accept")

    def set(self, name, times=None, to=None):
        self.name, self.times, self.to = name, times, to

    def for_letter(self, recipients, stage):
        """The mode for this letter, if it concerns this stage (rcpt or data); counts it down."""
        if self.to and self.to not in recipients:
            return "accept"
        if self.name.startswith("rcpt") != (stage == "rcpt"):
            return "accept"
        name = self.name
        if self.times is not None:
            self.times -= 1
            if self.times <= 0:
                self.set("accept")
        return name


class Postbox:
    """Takes letters and writes them down: aiosmtpd calls the handle_ methods."""

    def __init__(self, folder):
        self.path = folder / "letters.jsonl"
        self.manner = Manner()
        self.forget()

    def forget(self):
        self.letters, self.tries, self.refused = [], 0, 0
        self.path.write_text("")

    def reply(self, mode):
        self.refused += 1
        return REPLIES[mode]

    async def handle_RCPT(self, server, session, envelope, address, options):
        mode = self.manner.for_letter([address], "rcpt")
        if mode != "accept":
            self.tries += 1
            return self.reply(mode)
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, server, session, envelope):
        self.tries += 1
        mode = self.manner.for_letter(envelope.rcpt_tos, "data")
        if mode in REPLIES:
            return self.reply(mode)
        if mode == "hang":
            self.refused += 1
            await asyncio.sleep(3600)
        self.keep(server, session, envelope)
        if mode == "lose-reply":
            server.transport.abort()
            await asyncio.sleep(3600)
        return "250 OK, taken"

    def keep(self, server, session, envelope):
        message = email.message_from_bytes(envelope.content, policy=email.policy.default)
        letter = {
            "message_id": message["Message-ID"],
            "from": envelope.mail_from,
            "rcpt": envelope.rcpt_tos,
            "headers": [[name, str(value)] for name, value in message.items()],
            "text": text_of(message, "plain"),
            "html": text_of(message, "html"),
            "length": len(envelope.content),
            "tls": server.transport.get_extra_info("sslcontext") is not None,
            "signed_in": bool(session.authenticated),
            "time": time.time(),
        }
        self.letters.append(letter)
        with self.path.open("a") as lines:
            lines.write(json.dumps(letter) + "\n")


def text_of(message, kind):
    part = message.get_body(preferencelist=(kind,))
    return part.get_content() if part else None


class Mute(asyncio.Protocol):
    """A connection on which nothing is ever said."""


class MailServer:
    """Listens, stops listening and listens again on one port."""

    def __init__(self, options, postbox):
        self.options, self.postbox, self.listening = options, postbox, None
        self.port, self.tls, self.connections = options.port, None, set()
        if options.tls != "none":
            self.tls = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
            self.tls.load_cert_chain(options.dir / "server.pem", options.dir / "server.key")

    def connection(self):
        if self.postbox.manner.name == "hang-greeting":
            protocol = Mute()
        else:
            protocol = SMTP(self.postbox, **self.settings())
        made = protocol.connection_made

        def remembered(transport):
            self.connections.add(transport)
            made(transport)

        protocol.connection_made = remembered
        return protocol

    def settings(self):
        settings = {"hostname": "localhost", "enable_SMTPUTF8": True, "timeout": 600}
        if self.options.tls == "starttls":
            settings |= {"tls_context": self.tls, "require_starttls": True}
        if self.options.auth:
            settings |= {
                "authenticator": self.authenticate,
                "auth_required": True,
                "auth_require_tls": self.options.tls == "starttls",
            }
        return settings

    def authenticate(self, server, session, envelope, mechanism, given):
        user, _, password = self.options.auth.partition(":")
        known = isinstance(given, LoginPassword) and given == LoginPassword(user.encode(), password.encode())
        return AuthResult(success=known, handled=known)

    async def listen(self):
        if self.listening:
            return
        inner = self.tls if self.options.tls == "implicit" else None
        loop = asyncio.get_running_loop()
        self.listening = await loop.create_server(self.connection, "127.0.0.1", self.port, ssl=inner)
        self.port = self.listening.sockets[0].getsockname()[1]

    async def close(self):
        """Stops listening and cuts every connection, as a server that goes down does."""
        if self.listening:
            self.listening.close()
            self.listening = None
        self.hang_up()

    def hang_up(self):
        for transport in self.connections:
            # One that ended by itself is still remembered, and cannot be cut again.
            if not transport.is_closing():
                transport.abort()
        self.connections.clear()


async def obey(command, server, postbox):
    """Carries out one line from the control port; returns what to answer."""
    word, *rest = command.split()
    if word == "mode":
        name, settings = rest[0], dict(pair.split("=", 1) for pair in rest[1:])
        if name not in MODES:
            return {"error": f"There is no mode {name}. Modes: {', '.join(MODES)}."}
        before = postbox.manner.name
        times = int(settings["times"]) if "times" in settings else None
        postbox.manner.set(name, times, settings.get("to"))
        if name == "refuse":
            await server.close()
        else:
            await server.listen()
        if before.startswith("hang") or name == "hang-greeting":
            server.hang_up()
        return {"mode": name}
    if word == "count":
        return {"letters": len(postbox.letters), "tries": postbox.tries, "refused": postbox.refused}
    if word == "letters":
        return {"letters": postbox.letters}
    if word == "forget":
        postbox.forget()
        return {"letters": 0}
    return {"error": f"There is no command {word}."}


async def control(reader, writer, server, postbox, ended):
    while line := (await reader.readline()).decode().strip():
        if line == "quit":
            break
        try:
            answer = await obey(line, server, postbox)
        except (ValueError, IndexError) as fault:
            answer = {"error": f"{line!r} was not understood: {fault}"}
        writer.write(json.dumps(answer).encode() + b"\n")
        await writer.drain()
    writer.close()
    if line == "quit":
        ended.set()


async def serve(options):
    postbox, ended = Postbox(options.dir), asyncio.Event()
    server = MailServer(options, postbox)
    await server.listen()
    controls = await asyncio.start_server(
        lambda reader, writer: control(reader, writer, server, postbox, ended), "127.0.0.1", options.control, limit=2**20
    )
    for name in (signal.SIGTERM, signal.SIGINT):
        asyncio.get_running_loop().add_signal_handler(name, ended.set)
    ready = {
        "port": server.port,
        "control": controls.sockets[0].getsockname()[1],
        "ca": str(options.dir / "ca.pem") if server.tls else None,
        "letters": str(postbox.path),
    }
    print(json.dumps(ready), flush=True)
    await ended.wait()
    await server.close()


def main():
    # A password without TLS, on this machine only, is among what is tested.
    logging.getLogger("mail.log").setLevel(logging.ERROR)
    warnings.filterwarnings("ignore", module="aiosmtpd")
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--port", type=int, default=0)
    parser.add_argument("--control", type=int, default=0)
    parser.add_argument("--dir", type=pathlib.Path, required=True)
    parser.add_argument("--tls", choices=["none", "starttls", "implicit"], default="none")
    parser.add_argument("--auth", metavar="USER:PASSWORD")
    options = parser.parse_args()
    options.dir.mkdir(parents=True, exist_ok=True)
    if options.tls != "none":
        make_certificates(options.dir)
    asyncio.run(serve(options))


if __name__ == "__main__":
    sys.exit(main())

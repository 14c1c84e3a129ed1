"""The mail server of the tests itself, asked by Python's own SMTP client."""

import email.message
import pathlib
import smtplib
import ssl
import tempfile
import unittest

from running import MailServer

AUTH = "studio:saltmarsh"


def letter(number):
    message = email.message.EmailMessage()
    message["From"], message["To"] = "darkroom@quillhaven.example", "ana@quillhaven.example"
    message["Subject"], message["Message-ID"] = f"Letter {number}", f"<{number}@quillhaven.example>"
    message.set_content("The fixer is at its limit.")
    return message


class TheMailServer(unittest.TestCase):
    def start(self, tls="none", auth=None):
        folder = tempfile.TemporaryDirectory(prefix="wetside-mail.")
        self.addCleanup(folder.cleanup)
        server = MailServer(pathlib.Path(folder.name), tls, auth)
        self.addCleanup(server.stop)
        return server

    def client(self, server, **how):
        client = smtplib.SMTP("127.0.0.1", server.port, timeout=2, **how)
        self.addCleanup(client.close)
        return client

    def test_a_plain_letter_arrives_with_its_headers(self):
        server = self.start()
        self.client(server).send_message(letter(1))
        (kept,) = server.letters()
        self.assertEqual(kept["message_id"], "<1@quillhaven.example>")
        self.assertEqual(kept["rcpt"], ["ana@quillhaven.example"])
        self.assertIn("at its limit", kept["text"])
        self.assertFalse(kept["tls"] or kept["signed_in"])

    def test_starttls_and_a_password_are_demanded(self):
        server = self.start("starttls", AUTH)
        with self.assertRaises(smtplib.SMTPException):
            self.client(server).send_message(letter(1))
        client = self.client(server)
        client.starttls(context=ssl.create_default_context(cafile=server.ca))
        with self.assertRaises(smtplib.SMTPException):
            client.send_message(letter(2))
        client.login(*AUTH.split(":"))
        client.send_message(letter(3))
        (kept,) = server.letters()
        self.assertTrue(kept["tls"] and kept["signed_in"])

    def test_implicit_tls_and_both_ways_to_sign_in(self):
        server = self.start("implicit", AUTH)
        trusting = ssl.create_default_context(cafile=server.ca)
        for number, way in enumerate(["auth_plain", "auth_login"]):
            with smtplib.SMTP_SSL("127.0.0.1", server.port, context=trusting, timeout=2) as client:
                client.user, client.password = AUTH.split(":")
                client.ehlo()
                client.auth(way.removeprefix("auth_").upper(), getattr(client, way))
                client.send_message(letter(number))
        self.assertEqual(len(server.letters()), 2)

    def test_a_wrong_password_and_a_strange_authority_are_refused(self):
        server = self.start("implicit", AUTH)
        with self.assertRaises(ssl.SSLCertVerificationError):
            smtplib.SMTP_SSL("127.0.0.1", server.port, context=ssl.create_default_context(), timeout=2)
        trusting = ssl.create_default_context(cafile=server.ca)
        with smtplib.SMTP_SSL("127.0.0.1", server.port, context=trusting, timeout=2) as client:
            with self.assertRaises(smtplib.SMTPAuthenticationError):
                client.login("studio", "wrong")

    def test_refusals_come_at_the_stage_and_as_often_as_asked(self):
        server = self.start()
        for mode, code in [("rcpt-4xx", 451), ("rcpt-5xx", 550), ("data-4xx", 452), ("data-5xx", 554)]:
            with self.subTest(mode):
                server.tell(f"mode {mode} times=1")
                with self.assertRaises((smtplib.SMTPRecipientsRefused, smtplib.SMTPDataError)) as refused:
                    self.client(server).send_message(letter(mode))
                self.assertIn(str(code), str(refused.exception))
                self.client(server).send_message(letter(mode))
        self.assertEqual(server.tell("count"), {"letters": 4, "tries": 8, "refused": 4})

    def test_one_recipient_may_be_refused_alone(self):
        server = self.start()
        server.tell("mode rcpt-5xx to=gone@quillhaven.example")
        self.client(server).send_message(letter(1))
        with self.assertRaises(smtplib.SMTPRecipientsRefused):
            self.client(server).send_message(letter(2), to_addrs="gone@quillhaven.example")

    def test_it_hangs_and_is_well_again(self):
        server = self.start()
        for mode in ["hang", "hang-greeting"]:
            server.tell(f"mode {mode}")
            with self.subTest(mode), self.assertRaisesRegex(smtplib.SMTPServerDisconnected, "timed out"):
                self.client(server).send_message(letter(1))
        server.tell("mode accept")
        self.client(server).send_message(letter(2))
        self.assertEqual(len(server.letters()), 1)

    def test_it_stops_listening_and_comes_back_on_the_same_port(self):
        server = self.start()
        self.client(server).send_message(letter(1))
        server.tell("mode refuse")
        with self.assertRaises(ConnectionRefusedError):
            self.client(server)
        server.tell("mode accept")
        self.client(server).send_message(letter(2))
        self.assertEqual(len(server.letters()), 2)

    def test_a_lost_reply_leaves_the_letter_taken(self):
        server = self.start()
        server.tell("mode lose-reply times=1")
        with self.assertRaises(smtplib.SMTPServerDisconnected):
            self.client(server).send_message(letter(1))
        self.assertEqual(len(server.letters()), 1)


if __name__ == "__main__":
    unittest.main()

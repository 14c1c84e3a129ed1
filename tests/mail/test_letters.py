"""Letters of a running Wetside through a real mail server that is well, ill, and well again."""

import os
import pathlib
import tempfile
import unittest

from outbox import OnSqlite, Outbox
from running import MailServer, Wetside, wait_until

PROGRAM = os.environ["WETSIDE_BIN"]
AUTH = "studio:saltmarsh"


class Letters(unittest.TestCase):
    def start(self, tls="none", auth=None, password=None, trusted=True):
        """A mail server and a Wetside that uses it; returns the first and the outbox."""
        folder = tempfile.TemporaryDirectory(prefix="wetside-letters.")
        self.addCleanup(folder.cleanup)
        folder = pathlib.Path(folder.name)
        mail = MailServer(folder / "mail", tls, auth)
        self.addCleanup(mail.stop)
        who = f"{password or auth}@" if auth else ""
        scheme, query = {"none": ("smtp", ""), "starttls": ("smtp", "?tls=required"), "implicit": ("smtps", "")}[tls]
        settings = {"WETSIDE_SMTP_URL": f"{scheme}://{who}localhost:{mail.port}{query}"}
        if mail.ca and trusted:
            settings["WETSIDE_SMTP_CA_FILE"] = mail.ca
        studio = Wetside(PROGRAM, folder / "studio", **settings)
        self.addCleanup(studio.stop)
        (database,) = (folder / "studio").glob("*.db")
        return mail, Outbox(OnSqlite(database))

    def sees(self, outbox, name, state, tries, seconds=30):
        wait_until(
            lambda: f"{name} is {state} after {tries} tries (it is {outbox.state(name)})",
            lambda: outbox.state(name)[:2] == (state, tries),
            seconds,
        )
        return outbox.state(name)

    def test_a_letter_leaves_by_each_kind_of_connection(self):
        for tls, auth in [("none", None), ("none", AUTH), ("starttls", AUTH), ("implicit", AUTH)]:
            with self.subTest(tls=tls, auth=auth):
                mail, outbox = self.start(tls, auth)
                outbox.post("first")
                self.sees(outbox, "first", "sent", 1)
                (letter,) = mail.letters()
                self.assertEqual((letter["tls"], letter["signed_in"]), (tls != "none", auth is not None))

    def test_a_letter_has_all_that_a_letter_needs(self):
        mail, outbox = self.start()
        outbox.post("needed")
        outbox.post("optional", optional=True)
        self.sees(outbox, "needed", "sent", 1)
        self.sees(outbox, "optional", "sent", 1)
        by_id = {letter["message_id"]: letter for letter in mail.letters()}
        for name in ["needed", "optional"]:
            letter = by_id[f"<{name}@127.0.0.1>"]
            headers = dict(letter["headers"])
            self.assertEqual(headers["Subject"], "The fixer is near its limit")
            self.assertIn("Date", headers)
            self.assertEqual(headers["Auto-Submitted"], "auto-generated")
            self.assertEqual("List-Unsubscribe" in headers, name == "optional")
            self.assertIn("two rolls' worth", letter["text"])
            self.assertIn("<html", letter["html"])

    def test_no_password_goes_to_a_server_that_cannot_prove_its_name(self):
        for tls in ["starttls", "implicit"]:
            with self.subTest(tls):
                mail, outbox = self.start(tls, AUTH, trusted=False)
                outbox.post("first")
                said = self.sees(outbox, "first", "waiting", 1)[2]
                self.assertIn("certificate", said.lower())
                self.assertEqual(mail.tell("count")["tries"], 0)

    def test_a_wrong_password_loses_nothing(self):
        mail, outbox = self.start("starttls", AUTH, password="studio:wrong")
        outbox.post("first")
        wait_until("it was tried", lambda: outbox.state("first")[1] == 1, 30)
        state, _, said, _ = outbox.state("first")
        self.assertEqual(state, "waiting", "a password set right later must find its letters")
        self.assertIn("535", said)
        self.assertEqual(mail.letters(), [])

    def test_a_passing_refusal_is_tried_again_and_sent_once(self):
        mail, outbox = self.start()
        for mode, code in [("rcpt-4xx", "451"), ("data-4xx", "452")]:
            with self.subTest(mode):
                mail.tell(f"mode {mode}")
                outbox.post(mode)
                _, _, said, pause = self.sees(outbox, mode, "waiting", 1)
                self.assertIn(code, said)
                self.assertTrue(20 < pause <= 61, pause)
                outbox.let_time_pass()
                pause = self.sees(outbox, mode, "waiting", 2)[3]
                self.assertTrue(80 < pause <= 121, pause)
                mail.tell("mode accept")
                outbox.let_time_pass()
                self.sees(outbox, mode, "sent", 3)
        self.assertEqual(len(mail.letters()), 2)

    def test_a_final_refusal_is_parked_with_its_reason_and_holds_nobody_up(self):
        mail, outbox = self.start()
        mail.tell("mode rcpt-5xx to=gone@quillhaven.example")
        outbox.post("gone", to="gone@quillhaven.example")
        outbox.post("here")
        self.assertIn("550", self.sees(outbox, "gone", "parked", 1)[2])
        self.sees(outbox, "here", "sent", 1)
        mail.tell("mode data-5xx times=1")
        outbox.post("unwanted")
        self.assertIn("554", self.sees(outbox, "unwanted", "parked", 1)[2])

    def test_a_server_that_hangs_is_left_alone_until_it_is_well(self):
        mail, outbox = self.start()
        mail.tell("mode hang")
        outbox.post("first")
        self.sees(outbox, "first", "waiting", 1, seconds=60)
        mail.tell("mode accept")
        outbox.let_time_pass()
        self.sees(outbox, "first", "sent", 2)
        self.assertEqual(len(mail.letters()), 1)

    def test_a_server_that_is_down_gets_its_letters_when_it_is_back(self):
        mail, outbox = self.start()
        mail.tell("mode refuse")
        for number in range(3):
            outbox.post(f"letter-{number}")
        for number in range(3):
            self.sees(outbox, f"letter-{number}", "waiting", 1)
        mail.tell("mode accept")
        outbox.let_time_pass()
        for number in range(3):
            self.sees(outbox, f"letter-{number}", "sent", 2)
        self.assertEqual(len(mail.letters()), 3)

    def test_a_letter_whose_reply_was_lost_comes_again_under_the_same_name(self):
        mail, outbox = self.start()
        mail.tell("mode lose-reply times=1")
        outbox.post("first")
        self.sees(outbox, "first", "waiting", 1)
        outbox.let_time_pass()
        self.sees(outbox, "first", "sent", 2)
        self.assertEqual([letter["message_id"] for letter in mail.letters()], ["<first@127.0.0.1>"] * 2)


if __name__ == "__main__":
    unittest.main()

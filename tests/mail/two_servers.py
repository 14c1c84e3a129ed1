#!/usr/bin/env python3
"""Two servers, one PostgreSQL, one mail server, and much going wrong.

    TEST_POSTGRES_URL=postgres://... two_servers.py PROGRAM [LETTERS]

500 letters are queued; midway the mail server goes down and comes back, and later one of the
two servers is killed with -9. All 500 must arrive. A letter may come twice only if the kill fell
between sending and marking it: then once more, under the same Message-ID.
"""

import collections
import contextlib
import os
import pathlib
import sys
import tempfile
import time

from outbox import OnPostgres, Outbox
from running import MailServer, Wetside, wait_until


def run(program, letters, url, folder):
    with contextlib.ExitStack() as running:
        mail = MailServer(folder / "mail")
        running.callback(mail.stop)
        settings = {
            "DATABASE_URL": url,
            "WETSIDE_SMTP_URL": f"smtp://127.0.0.1:{mail.port}",
            "WETSIDE_SECRET_KEY_FILE": str(folder / "secret.key"),
        }
        servers = []
        for name in ("first", "second"):
            servers.append(Wetside(program, folder / name, **settings))
            running.callback(servers[-1].stop)
        try:
            story(servers, mail, Outbox(OnPostgres(url)), letters)
        except BaseException:
            for server in servers:
                print(server.log(), file=sys.stderr)
            raise


def story(servers, mail, outbox, letters):
    first, second = servers
    taken = lambda: mail.tell("count")["letters"]
    began = time.monotonic()
    outbox.post_many(letters)
    wait_until("a fifth of the letters arrived", lambda: taken() >= letters // 5, 120)

    mail.tell("mode refuse")
    wait_until("a letter was tried in vain", lambda: outbox.count("last_error IS NOT NULL") > 0, 60)
    down_at = taken()
    time.sleep(3)
    assert taken() == down_at, "A letter arrived while the mail server was down."
    mail.tell("mode accept")
    outbox.let_time_pass()
    print(f"The mail server was down after {down_at} letters; {outbox.count('sent_s IS NULL')} were still to send.")

    wait_until("the sending went on", lambda: taken() >= down_at + (letters - down_at) // 3, 120)
    first.kill()
    killed_at = taken()
    print(f"One server was killed after {killed_at} letters.")
    assert killed_at < letters, "The kill came too late to prove anything."

    def finish():
        outbox.let_time_pass()
        return outbox.count("sent_s IS NULL AND claimed_by IS NULL") == 0

    wait_until("the other server took what was free", finish, 180, every=0.5)
    # What is claimed now may be the living server's last few, for a moment, or the dead one's.
    time.sleep(3)
    left = outbox.count("sent_s IS NULL")
    assert left <= 5, f"{left} letters are stuck, more than one server holds at a time."
    outbox.let_claims_pass()
    wait_until("all letters are marked as sent", lambda: outbox.count("sent_s IS NULL") == 0, 60)

    verify(mail.letters(), letters)
    print(f"{left} letters were in the dead server's hands. All done in {time.monotonic() - began:.0f} s.")


def verify(arrived, letters):
    times = collections.Counter(letter["message_id"] for letter in arrived)
    expected = {f"<letter-{n}@127.0.0.1>" for n in range(1, letters + 1)}
    assert set(times) == expected, f"Lost or unknown: {sorted(set(times) ^ expected)[:10]}"
    repeated = {message_id for message_id, count in times.items() if count > 1}
    assert len(repeated) <= 1 and max(times.values()) <= 2, f"More repeats than one kill explains: {repeated}"
    recipients = {(letter["message_id"], *letter["rcpt"]) for letter in arrived}
    assert len(recipients) == letters, "One Message-ID went to two people."
    print(f"{len(times)} distinct Message-IDs arrived, {len(repeated)} of them twice, none was lost.")


def main():
    program, letters = os.path.abspath(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 500
    postgres = OnPostgres(os.environ["TEST_POSTGRES_URL"])
    url = postgres.new_database()
    try:
        with tempfile.TemporaryDirectory(prefix="wetside-two.") as folder:
            run(program, letters, url, pathlib.Path(folder))
    finally:
        postgres.drop(url)


if __name__ == "__main__":
    main()

#!/usr/bin/env python3
"""Reads the calendar feeds of a demonstration with a parser that has nothing to do with ours.

Books, cancels and renews as a member would, and looks at what the feed says of it.
Usage: feeds.py PROGRAM
"""

import datetime
import http.cookiejar
import json
import re
import sys
import urllib.error
import urllib.parse
import urllib.request

import icalendar

from demo import demonstration


class Browser:
    """Somebody who is signed in."""

    def __init__(self, url, person):
        self.url, self.person = url, person
        jar = urllib.request.HTTPCookieProcessor(http.cookiejar.CookieJar())
        self.opener = urllib.request.build_opener(jar)
        self.send("/sign-in", email=person["email"], password=person["password"])

    def send(self, path, **fields):
        data = urllib.parse.urlencode(fields).encode()
        request = urllib.request.Request(self.url + path, data, {"Sec-Fetch-Site": "same-origin"})
        with self.opener.open(request) as answer:
            return answer.read().decode()

    def get(self, path):
        with self.opener.open(self.url + path) as answer:
            return answer.read().decode()

    def address(self, heading):
        page = self.get("/calendar").split(heading, 1)[1]
        return re.search(r"<code>(http[^<]*\.ics)</code>", page).group(1)

    def api(self, path, method="GET", body=None):
        if not hasattr(self, "token"):
            self.token = ask(self.url + "/api/v1/tokens", "POST", {
                "email": self.person["email"], "password": self.person["password"], "label": "feed"})["token"]
        return ask(self.url + path, method, body, self.token)


def ask(url, method, body=None, token=None):
    headers = {"Content-Type": "application/json"}
    if token:
        headers["Authorization"] = f"Bearer {token}"
    data = json.dumps(body).encode() if body is not None else None
    with urllib.request.urlopen(urllib.request.Request(url, data, headers, method=method)) as answer:
        text = answer.read()
        return json.loads(text) if text else None


def feed(address):
    """The events of a feed by UID; every rule of the text is looked at on the way."""
    with urllib.request.urlopen(address) as answer:
        assert answer.headers["Content-Type"] == "text/calendar; charset=utf-8", answer.headers
        raw = answer.read()
    assert raw.endswith(b"\r\n"), "the last line is not ended"
    for line in raw[:-2].split(b"\r\n"):
        assert len(line) <= 75 and b"\n" not in line and b"\r" not in line, line
    calendars = icalendar.Calendar.from_ical(raw, multiple=True)
    assert len(calendars) == 1
    calendar = calendars[0]
    assert not calendar.errors, calendar.errors
    assert calendar["VERSION"] == "2.0" and calendar["PRODID"], calendar
    events = {}
    for event in calendar.walk("VEVENT"):
        assert not event.errors, event.errors
        for name in ("UID", "DTSTAMP", "DTSTART", "DTEND", "SEQUENCE", "STATUS", "SUMMARY"):
            assert name in event, f"{name} is missing in {event}"
        for name in ("DTSTAMP", "DTSTART", "DTEND", "CREATED", "LAST-MODIFIED"):
            value = event[name].dt
            assert isinstance(value, datetime.datetime), event
            assert value.utcoffset() == datetime.timedelta(0), f"{name} is not in UTC: {value}"
        assert event["DTSTART"].dt < event["DTEND"].dt, event
        assert event["STATUS"] in ("CONFIRMED", "CANCELLED"), event
        assert event["UID"] not in events, "one UID twice"
        events[str(event["UID"])] = event
    assert len(events) == len(calendar.walk("VEVENT"))
    return events


def free_time(member):
    """A free hour at the first sink, some days ahead."""
    sink = member.api("/api/v1/sinks")["items"][0]["id"]
    for ahead in range(5, 40):
        date = datetime.date.today() + datetime.timedelta(days=ahead)
        board = member.api(f"/api/v1/board?date={date}")
        if board["open"] and not any(s["bookings"] for s in board["sinks"] if s["id"] == sink):
            starts = datetime.datetime.fromisoformat(board["open"][0]["starts"])
            return sink, starts, starts + datetime.timedelta(hours=1)
    raise SystemExit("no free day in the demonstration")


def check(url, people):
    member, lead = (Browser(url, people[role]) for role in ("member", "lead"))
    member.send("/calendar/own")
    lead.send("/calendar/studio")
    own, studio = member.address("My bookings"), lead.address("The whole studio")
    before = feed(own)
    assert feed(studio), "the demonstration has bookings"

    note = "Bring gloves; spare reel, too.\n" + "Längst übers Zeilenende hinaus. " * 6
    sink, starts, ends = free_time(member)
    made = member.api("/api/v1/bookings", "POST", {
        "sink_id": sink, "starts": starts.isoformat(), "ends": ends.isoformat(), "purpose": note.strip()})
    after = feed(own)
    new = set(after) - set(before)
    assert len(new) == 1, new
    uid = new.pop()
    event = after[uid]
    assert f"-{made['id']}-" in uid
    assert (event["DTSTART"].dt, event["DTEND"].dt) == (starts, ends), event
    assert event["STATUS"] == "CONFIRMED" and event["SEQUENCE"] == 0, event
    assert str(event["DESCRIPTION"]) == note.strip(), event["DESCRIPTION"]
    assert uid in feed(studio) and "DESCRIPTION" not in feed(studio)[uid]

    member.api(f"/api/v1/bookings/{made['id']}", "DELETE")
    gone = feed(own)[uid]
    assert gone["STATUS"] == "CANCELLED" and gone["SEQUENCE"] > 0, gone
    assert gone["DTSTAMP"].dt >= event["DTSTAMP"].dt

    member.send("/calendar/own")
    assert member.address("My bookings") != own
    assert set(feed(member.address("My bookings"))) == set(after), "a renewed feed shows the same"
    for ended in (own, own[:-6] + "x" + own[-5:]):
        try:
            urllib.request.urlopen(ended)
            raise SystemExit(f"{ended} still opens")
        except urllib.error.HTTPError as e:
            assert e.code == 404, e.code
    print(f"{len(after)} entries of one's own and {len(feed(studio))} of the studio's were read; all is as RFC 5545 has it.")


def main(program):
    with demonstration(program) as (url, people, _folder):
        check(url, {p["role"]: p for p in reversed(people)})


if __name__ == "__main__":
    main(sys.argv[1])

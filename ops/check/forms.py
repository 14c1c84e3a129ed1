#!/usr/bin/env python3
"""Every form of every page, filled with what has broken programs before.

    ops/check/forms.py PROGRAM [EVERY]       EVERY: only every so manieth of the texts, in turn

Walks the demonstration's pages as nobody, newcomer, member and lead, gathers each form once, then
sends it with each field spoilt in turn and with all of them spoilt. An answer must be a page, a
redirect or a refusal in words: never a fault of the server, and never what was typed as markup.
"""
import collections
import http.client
import re
import sys
import uuid
from html.parser import HTMLParser
from urllib.parse import urlencode, urljoin, urlsplit

from demo import demonstration

MARK = "<script>alert(1)</script>"
TEXTS = [
    "", MARK + "{{ page }}{% x %}", "x" * 1000, "a\0b", "\u202egnirts", "\u05e9\u05dc\u05d5\u05dd",
    "Z\u0351\u036b\u0343a\u0300\u0301\u0302l", "' OR 1=1; --", "-9223372036854775809",
    "9" * 400, "NaN", "1e308", "0", "-1", "2026-02-30", "24:61", "\U0001f980" * 80,
]
NEVER = re.compile(r"/sign-out|/me/leave|/me/sessions")
KINDS_WITHOUT_TEXT = {"submit", "button", "image", "reset"}


class Page(HTMLParser):
    """The links and forms of a page."""

    def __init__(self):
        super().__init__()
        self.links, self.forms, self.form, self.area = set(), [], None, None

    def handle_starttag(self, tag, attrs):
        has = dict(attrs)
        name = has.get("name")
        if tag == "a" and has.get("href", "").startswith("/"):
            self.links.add(has["href"].split("#")[0])
        elif tag == "form":
            self.form = {"to": has.get("action"), "method": has.get("method", "get").lower(),
                         "parts": has.get("enctype", "").startswith("multipart"), "fields": {}, "files": set()}
            self.forms.append(self.form)
        elif self.form is None or not name:
            return
        elif tag == "input" and has.get("type") == "file":
            self.form["files"].add(name)
        elif tag in ("input", "button") and (has.get("type") not in KINDS_WITHOUT_TEXT or has.get("value")):
            self.form["fields"].setdefault(name, has.get("value") or "")
        elif tag == "select":
            self.form["fields"].setdefault(name, "")
            self.area = name
        elif tag == "textarea":
            self.form["fields"].setdefault(name, "")
        if tag == "option" and self.area and "selected" in has:
            self.form["fields"][self.area] = has.get("value") or ""

    def handle_endtag(self, tag):
        if tag == "form":
            self.form = None
        elif tag == "select":
            self.area = None


class Visitor:
    """A browser without a screen."""

    def __init__(self, url, person=None):
        at = urlsplit(url)
        self.line, self.cookies = http.client.HTTPConnection(at.hostname, at.port, timeout=60), {}
        if person:
            self.person = person
            self.sign_in()

    def sign_in(self):
        status, _, _ = self.send("POST", "/sign-in", urlencode(
            {"email": self.person["email"], "password": self.person["password"]}).encode())
        if status != 303:
            sys.exit(f"{self.person['email']} could not sign in: {status}")

    def answered(self, method, path, body, headers):
        """The answer; a line that was closed while it was idle is opened once more."""
        for last in (False, True):
            try:
                self.line.request(method, path, body, headers)
                answer = self.line.getresponse()
                return answer, answer.read()
            except (ConnectionError, http.client.RemoteDisconnected):
                self.line.close()
                if last:
                    raise

    def send(self, method, path, body=None, kind="application/x-www-form-urlencoded"):
        headers = {"Sec-Fetch-Site": "same-origin", "Accept": "text/html",
                   "Cookie": "; ".join(f"{k}={v}" for k, v in self.cookies.items())}
        if body is not None:
            headers["Content-Type"] = kind
        answer, text = self.answered(method, path, body, headers)
        for set_cookie in answer.headers.get_all("Set-Cookie") or []:
            name, _, value = set_cookie.split(";")[0].partition("=")
            self.cookies[name] = value
        return answer.status, answer.headers, text


def shape(path):
    """The address without what differs from thing to thing."""
    return re.sub(r"/(\d[\w-]*|[0-9A-Z]{6,})(?=/|$)", "/*", path.split("?")[0])


def gather(visitor, seen_shapes):
    """All forms that can be reached by links, each shape of address looked at twice at most."""
    forms, waiting, looked = {}, ["/"], {}
    while waiting:
        path = waiting.pop(0)
        key = shape(path)
        if looked.get(key, 0) >= 2 or NEVER.search(path) or "live" in path:
            continue
        looked[key] = looked.get(key, 0) + 1
        status, headers, text = visitor.send("GET", path)
        if status >= 500:
            tell_fault(f"GET {path}: {status}")
        if status != 200 or not (headers.get("Content-Type") or "").startswith("text/html"):
            continue
        page = Page()
        page.feed(text.decode())
        waiting.extend(sorted(page.links))
        for form in page.forms:
            to = urljoin(path, form["to"] or path)
            about = (form["method"], shape(to), tuple(sorted(form["fields"])))
            if about not in seen_shapes and not NEVER.search(to) and (form["fields"] or form["files"]):
                seen_shapes.add(about)
                forms[about] = dict(form, to=to)
    return list(forms.values())


FAULTS = []
STATUSES = collections.Counter()


def tell_fault(words):
    FAULTS.append(words)
    print("  FAULT", words, flush=True)


def multipart(fields, files, text):
    edge = uuid.uuid4().hex
    parts = [f'--{edge}\r\nContent-Disposition: form-data; name="{k}"\r\n\r\n{v}\r\n' for k, v in fields.items()]
    parts += [f'--{edge}\r\nContent-Disposition: form-data; name="{k}"; filename="a.csv"\r\n'
              f"Content-Type: text/csv\r\n\r\n{text}\r\n" for k in files]
    return ("".join(parts) + f"--{edge}--\r\n").encode(), f"multipart/form-data; boundary={edge}"


def send(visitor, form, fields, text):
    body, kind = urlencode(fields).encode(), "application/x-www-form-urlencoded"
    if form["parts"]:
        body, kind = multipart(fields, form["files"], text)
    if form["method"] == "get":
        status, headers, said = visitor.send("GET", f"{form['to'].split('?')[0]}?{urlencode(fields)}")
    else:
        status, headers, said = visitor.send("POST", form["to"], body, kind)
    STATUSES[status] += 1
    told = f"{form['method']} {form['to']} {({k: v[:30] for k, v in fields.items()})}"
    if status >= 500:
        tell_fault(f"{told}: {status}")
    if MARK.encode() in said:
        tell_fault(f"{told}: what was typed came back as markup")
    if status == 303 and "/sign-in" in (headers.get("Location") or "") and hasattr(visitor, "person"):
        visitor.sign_in()


def spoil(visitor, form, number, every):
    """Each field alone with some of the texts, all of them with each; gives how many were sent."""
    sent = 0
    for place, name in enumerate(form["fields"]):
        for step in range(max(4 // every, 1)):
            text = TEXTS[(number + place + 5 * step) % len(TEXTS)]
            send(visitor, form, dict(form["fields"], **{name: text}), text)
            sent += 1
    for text in TEXTS[number % every::every]:
        send(visitor, form, {name: text for name in form["fields"]}, text)
        sent += 1
    return sent


def main(program, every=1):
    with demonstration(program) as (url, everybody, _folder):
        people = {p["role"]: p for p in everybody}
        seen, work = set(), []
        for role in [None, "newcomer", "member", "lead"]:
            visitor = Visitor(url, people.get(role))
            work.append((role, visitor, gather(visitor, seen)))
        for role, visitor, forms in work:
            sent = sum(spoil(visitor, form, n, int(every)) for n, form in enumerate(forms))
            print(f"as {role or 'nobody'}: {len(forms)} forms, {sent} times", flush=True)
    print("answers:", ", ".join(f"{n} times {status}" for status, n in sorted(STATUSES.items())))
    if sum(len(forms) for _, _, forms in work) < 60:
        sys.exit("Fewer than 60 forms were found: the walk is broken")
    if FAULTS:
        sys.exit(f"{len(FAULTS)} faults")


if __name__ == "__main__":
    main(*sys.argv[1:])

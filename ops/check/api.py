#!/usr/bin/env python3
"""The JSON API against its own description: schemathesis as each role, bounded.

    ops/check/api.py PROGRAM
"""
import json
import os
import subprocess
import sys
import urllib.request

from demo import demonstration

CHECKS = "not_a_server_error,status_code_conformance,content_type_conformance,response_schema_conformance"


def token(url, person):
    body = {"email": person["email"], "password": person["password"], "label": "api check"}
    request = urllib.request.Request(
        url + "/api/v1/tokens", json.dumps(body).encode(), {"Content-Type": "application/json"})
    with urllib.request.urlopen(request) as answer:
        return json.load(answer)["token"]


def check(url, role, bearer):
    print(f"as {role}", flush=True)
    tool = os.path.join(os.path.dirname(sys.executable), "schemathesis")
    command = [tool, "run", url + "/api/v1/openapi.json", "--checks", CHECKS,
               "--max-examples", "60", "--phases", "examples,coverage,fuzzing", "--seed", "7",
               "--exclude-path", "/api/v1/tokens",
               "--header", f"Authorization: Bearer {bearer}", "--generation-database", "none"]
    return subprocess.run(command, stdin=subprocess.DEVNULL).returncode


def main(program):
    with demonstration(program) as (url, everybody, _folder):
        people = {p["role"]: p for p in everybody}
        failed = [role for role, person in people.items() if check(url, role, token(url, person)) != 0]
    if failed:
        sys.exit(f"The API does not do what it says, as: {', '.join(failed)}")


if __name__ == "__main__":
    main(sys.argv[1])

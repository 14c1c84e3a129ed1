#!/usr/bin/env python3
"""The JSON API against its own description: schemathesis as each role, bounded.

    ops/check/api.py PROGRAM
"""
import json
import os
import subprocess
import sys
import tempfile
import urllib.request

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
    with tempfile.TemporaryDirectory() as folder:
        env = dict(os.environ, DATABASE_URL="")
        server = subprocess.Popen([program, "demo", "--json", "--port", "0", "--keep", folder],
                                  stdout=subprocess.PIPE, text=True, env=env)
        try:
            said = json.loads(server.stdout.readline())
            people = {p["role"]: p for p in said["people"]}
            failed = [role for role, person in people.items()
                      if check(said["url"], role, token(said["url"], person)) != 0]
        finally:
            server.terminate()
            server.wait(timeout=30)
    if failed:
        sys.exit(f"The API does not do what it says, as: {', '.join(failed)}")


if __name__ == "__main__":
    main(sys.argv[1])

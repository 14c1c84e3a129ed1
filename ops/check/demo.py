"""The demonstration studio as a process, for the length of a check."""
import contextlib
import json
import os
import subprocess
import tempfile


@contextlib.contextmanager
def demonstration(program, **settings):
    """Gives its address, its people and its folder; it is stopped and removed afterwards."""
    with tempfile.TemporaryDirectory() as folder:
        env = dict(os.environ, DATABASE_URL="", **settings)
        server = subprocess.Popen([program, "demo", "--json", "--port", "0", "--keep", folder],
                                  stdout=subprocess.PIPE, text=True, env=env)
        try:
            said = json.loads(server.stdout.readline())
            yield said["url"], said["people"], folder
        finally:
            server.terminate()
            server.wait(timeout=30)

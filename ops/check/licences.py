#!/usr/bin/env python3
"""Checks the licence of every crate that is needed on this kind of machine, and which come twice.

A crate that goes into the program, or that builds it, must be under one of ALLOWED. One
that only the tests use may also be under one of ALLOWED_IN_TESTS. The advisory databases
are not looked at. Crates of which two versions are needed stand in TWICE, each as long as
those who need it have not agreed.
"""

import json
import re
import subprocess
import sys

ALLOWED = {
    "MIT",
    "Apache-2.0",
    "Apache-2.0 WITH LLVM-exception",
    "BSD-1-Clause",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "ISC",
    "Zlib",
    "0BSD",
    "Unicode-3.0",
    "PostgreSQL",
    "Unlicense",
    "CDLA-Permissive-2.0",
}
# Most are brought by two crates of others that have not met; base64 is ours to raise with lettre's.
TWICE = {
    "base64", "darling", "darling_core", "darling_macro", "lock_api", "parking_lot", "parking_lot_core",
    "phf", "phf_shared", "rand", "rand_core", "syn", "toml", "toml_datetime", "winnow",
}
ALLOWED_IN_TESTS = ALLOWED | {"MPL-2.0"}


def is_allowed(expression, allowed):
    """Whether an SPDX expression can be satisfied with the allowed licences alone.

    >>> is_allowed("MIT OR GPL-3.0-only", ALLOWED)
    True
    >>> is_allowed("MIT AND GPL-3.0-only", ALLOWED)
    False
    >>> is_allowed("(MIT OR Apache-2.0) AND Unicode-3.0", ALLOWED)
    True
    >>> is_allowed("Apache-2.0 WITH LLVM-exception OR GPL-2.0-only", ALLOWED)
    True
    >>> is_allowed("MIT/Apache-2.0", ALLOWED)
    True
    >>> is_allowed("GPL-3.0-only", ALLOWED_IN_TESTS), is_allowed("", ALLOWED)
    (False, False)
    >>> is_allowed("MPL-2.0", ALLOWED), is_allowed("MPL-2.0", ALLOWED_IN_TESTS)
    (False, True)
    """
    words = re.findall(r"[()]|[^\s()]+", (expression or "").replace("/", " OR "))

    def alternatives():
        answer = together()
        while words and words[0] == "OR":
            words.pop(0)
            other = together()
            answer = answer or other
        return answer

    def together():
        answer = one()
        while words and words[0] == "AND":
            words.pop(0)
            other = one()
            answer = answer and other
        return answer

    def one():
        if not words:
            return False
        word = words.pop(0)
        if word == "(":
            answer = alternatives()
            if words:
                words.pop(0)
            return answer
        if words and words[0] == "WITH":
            word = " ".join([word, words.pop(0), words.pop(0)])
        return word in allowed

    return alternatives() and not words


def reached(metadata, with_tests):
    """The ids of all packages that the project's own packages need."""
    nodes = {node["id"]: node for node in metadata["resolve"]["nodes"]}
    members = set(metadata["workspace_members"])
    seen, waiting = set(), list(members)
    while waiting:
        package = waiting.pop()
        if package in seen:
            continue
        seen.add(package)
        for dependency in nodes[package]["deps"]:
            kinds = {kind["kind"] for kind in dependency["dep_kinds"]}
            if kinds != {"dev"} or (with_tests and package in members):
                waiting.append(dependency["pkg"])
    return seen


def twice(packages, ids):
    """The names of which more than one version is needed."""
    names = [packages[package_id]["name"] for package_id in ids]
    return {name for name in names if names.count(name) > 1}


def output(*command):
    return subprocess.run(command, check=True, text=True, stdout=subprocess.PIPE).stdout


def main():
    host = re.search(r"^host: (.*)$", output("rustc", "-vV"), re.M).group(1)
    command = ["cargo", "metadata", "--format-version", "1", "--locked", "--all-features", "--filter-platform", host]
    metadata = json.loads(output(*command))
    packages = {package["id"]: package for package in metadata["packages"]}
    shipped = reached(metadata, with_tests=False)
    everything = reached(metadata, with_tests=True)
    refused = []
    for package_id in sorted(everything):
        package = packages[package_id]
        allowed = ALLOWED if package_id in shipped else ALLOWED_IN_TESTS
        if not is_allowed(package["license"], allowed):
            use = "goes into the program" if package_id in shipped else "is used by the tests"
            refused.append(f"{package['name']} {package['version']} {use}: {package['license'] or 'no licence named'}")
    for line in refused:
        print(line)
    print(f"{len(shipped)} crates in the program, {len(everything) - len(shipped)} more in the tests.")
    if len(shipped) < 2:
        sys.exit("That cannot be all: the list of dependencies was not understood.")
    found = twice(packages, shipped)
    print(f"{len(found)} of them in more than one version: {', '.join(sorted(found))}.")
    if found - TWICE:
        sys.exit(f"In more than one version now: {', '.join(sorted(found - TWICE))}. Bring them together, or name them in TWICE.")
    if TWICE - found:
        sys.exit(f"No longer twice: {', '.join(sorted(TWICE - found))}. Take them out of TWICE.")
    if refused:
        sys.exit("Choose another crate, or talk about the licence first (see ALLOWED in ops/check/licences.py).")


if __name__ == "__main__":
    main()

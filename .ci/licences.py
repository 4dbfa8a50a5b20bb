#!/usr/bin/env python3
"""Checks the licence of every dependency against a list of allowed ones."""

import json
import re
import subprocess
import sys

ALLOWED = {
    "0BSD", "Apache-2.0", "BSD-2-Clause", "BSD-3-Clause", "BSL-1.0", "CC0-1.0", "ISC", "MIT",
    "MIT-0", "MPL-2.0", "Unicode-3.0", "Unicode-DFS-2016", "Unlicense", "Zlib",
    # An exception only gives more freedom than the licence it is added to.
    "Apache-2.0 WITH LLVM-exception",
    # Licences of fonts only (the window's words): free to use and pass on with a program.
    "OFL-1.1", "Ubuntu-font-1.0",
}


def allowed(expression):
    """Whether an SPDX expression can be met with allowed licences alone; `/` is an old `OR`."""
    text = re.sub(r"\s*/\s*", " OR ", expression)
    tokens = re.findall(r"\(|\)|[^\s()]+", text)

    def either():
        ok = both()
        while tokens and tokens[0] == "OR":
            tokens.pop(0)
            ok = both() or ok
        return ok

    def both():
        ok = one()
        while tokens and tokens[0] == "AND":
            tokens.pop(0)
            ok = one() and ok
        return ok

    def one():
        if not tokens:
            raise ValueError(f"cannot read the licence {expression!r}")
        token = tokens.pop(0)
        if token == "(":
            ok = either()
            if not tokens or tokens.pop(0) != ")":
                raise ValueError(f"cannot read the licence {expression!r}")
            return ok
        if len(tokens) > 1 and tokens[0] == "WITH":
            tokens.pop(0)
            token = f"{token} WITH {tokens.pop(0)}"
        return token in ALLOWED

    ok = either()
    if tokens:
        raise ValueError(f"cannot read the licence {expression!r}")
    return ok


def main():
    assert allowed("MIT/Apache-2.0") and allowed("(MIT OR GPL-3.0) AND Unicode-3.0")
    assert not allowed("MIT AND GPL-3.0") and not allowed("GPL-3.0")
    done = subprocess.run(["cargo", "metadata", "--format-version", "1", "--locked"], check=True,
                          capture_output=True, text=True)
    packages = json.loads(done.stdout)["packages"]
    bad = []
    for package in packages:
        licence = package["license"]
        try:
            fine = licence is not None and allowed(licence)
        except ValueError:
            fine = False
        if not fine:
            bad.append(f"{package['name']} {package['version']}: {licence}")
    for line in bad:
        print(f"not allowed: {line}")
    print(f"{len(packages)} packages, {len(bad)} with a licence that is not allowed")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())

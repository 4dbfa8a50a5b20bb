#!/usr/bin/env python3
"""How well sketches are read, against published voices, analyses and note names.

Each file in `.ci/reading` but `common.py` is one subject and has a function
`rows(program, work)`. All figures are printed as one table beside their baselines; the program
fails where a figure is under its threshold.

    python .ci/reading_checks.py --program target/release/bandwright [--only lines chords]
"""

import argparse
import importlib
import sys
import tempfile
import time
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE / "reading"))


def subjects(only):
    names = sorted(p.stem for p in (HERE / "reading").glob("*.py") if p.stem != "common")
    unknown = [name for name in only if name not in names]
    if unknown:
        sys.exit(f"no subject {', '.join(unknown)}; there are {', '.join(names)}")
    return [importlib.import_module(n) for n in names if (not only or n in only)]


def show(rows):
    print(f"{'measure':34} {'on':44} {'ours':>7} {'floor':>7}  baseline")
    for row in rows:
        beside = f"{row.baseline} {row.theirs:.4f}" if row.theirs is not None else ""
        mark = "" if row.holds() else "  <-- under its floor"
        print(
            f"{row.measure:34} {row.pieces:44} {row.ours:7.4f} {row.at_least:7.4f}  {beside}{mark}"
        )


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--program", required=True)
    parser.add_argument("--only", nargs="*", default=[])
    args = parser.parse_args()
    program = str(Path(args.program).resolve())
    rows = []
    with tempfile.TemporaryDirectory() as work:
        for subject in subjects(args.only):
            if hasattr(subject, "rows"):
                start = time.time()
                rows.extend(subject.rows(program, work))
                print(f"{subject.__name__}: {time.time() - start:.0f} s", file=sys.stderr)
    show(rows)
    low = sum(not row.holds() for row in rows)
    print(f"reading checks: {len(rows) - low} passed, {low} failed")
    return 1 if low else 0


if __name__ == "__main__":
    sys.exit(main())

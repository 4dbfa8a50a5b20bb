#!/usr/bin/env python3
"""General MIDI fonts that are no part of the repository: are their notes brought to their level?

Runs the tests of a user's font with each font that is named, or that the system has. Debian has two that are free to
use and not ours to pass on: timgm6mb-soundfont (GPL-2) and fluid-soundfont-gm.

Usage: font_checks.py [FONT.sf2 ...]
"""

import os
import pathlib
import subprocess
import sys

PLACES = ["/usr/share/sounds/sf2", "/usr/share/soundfonts", "/usr/local/share/sounds/sf2"]
TEST = ["cargo", "test", "--test", "main", "user_font::real", "--", "--nocapture"]
# What a test says that has listened to a font.
HEARD = "beyond 2 dB"


def fonts(told):
    if told:
        return [pathlib.Path(t).resolve() for t in told]
    found = (f for p in PLACES for f in sorted(pathlib.Path(p).glob("*.sf2")))
    return sorted({f.resolve() for f in found})


def main():
    all_fonts = fonts(sys.argv[1:])
    if not all_fonts:
        print("NOT CHECKED: no font here (Debian: apt-get install timgm6mb-soundfont)")
        return 0
    wrong = 0
    for font in all_fonts:
        made = subprocess.run(
            TEST, env=dict(os.environ, BANDWRIGHT_FONT=str(font)), capture_output=True, text=True
        )
        lines = [l for l in made.stderr.splitlines() + made.stdout.splitlines() if l.strip()]
        heard = [l for l in lines if HEARD in l]
        good = made.returncode == 0 and bool(heard)
        wrong += not good
        print(f"{'ok' if good else 'WRONG'}: {font.name}: {'; '.join(heard) or lines[-1:]}")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())

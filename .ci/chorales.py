#!/usr/bin/env python3
"""Inner parts of fifty chorales: the program's against the composer's.

Fifty four-part chorales of the music21 corpus (BWV 352 to 438) are cut into beats of a quarter
note, and of each beat what the four voices sound at its start is kept: the slice. The program is
given the slices' soprano and bass as fixed lines of a clarinet and a baritone saxophone (an own
passage each), and each slice's chord, as the set of pitch classes that the four voices sound, in
close position. An alto and a tenor saxophone, which it writes, are the inner parts.

Compared are the same slices: the motion of the two inner parts in semitones, from slice to slice,
summed; and parallels, which are perfect fifths or octaves (unisons too) between any two of the
four parts in two slices in a row, both parts moving the same way. A beat in which a voice of the score
rests is no slice, and nothing is counted over it. So that motion is not saved by leaving things
out, tones of a slice that none of the four parts sounds and slices in which an inner part rests
are counted too: the composer has none, by the making of the slices. Where the scoring plan lets an
inner part play the bass or the tune, the slice is left out on both sides (one in twenty at most).

Nothing here shares code with the program.

Usage: chorales.py [--program target/release/bandwright] [--work target/ci/chorales]
                   [--count 50] [--style chorale] [--self-test]
"""

import argparse
import concurrent.futures
import itertools
import json
import os
import pathlib
import subprocess
import sys

import outside_checks as outside
from reading.common import TICKS, write_midi

ROOT = outside.ROOT
VELOCITY = 64
MOST_MOTION = 1.10
MOST_LEFT = 0.05
TIMEOUT = 120
BEAT = TICKS
PARTS = ("Clarinet", "Alto Sax", "Tenor Sax", "Baritone Sax")
INNER = (1, 2)
BAND = """name = "Clarinet and three saxophones"

[[part]]
name = "Clarinet"
instrument = "clarinet_bb"
players = { advanced = 1 }
remarks = { exposed = "may" }

[[part]]
name = "Alto Sax"
instrument = "sax_alto"
players = { advanced = 1 }

[[part]]
name = "Tenor Sax"
instrument = "sax_tenor"
players = { advanced = 1 }

[[part]]
name = "Baritone Sax"
instrument = "sax_baritone"
players = { advanced = 1 }
"""
TAGS = "".join(f'[[tag]]\nline = "{line}"\ntrack = "{track}"\n'
               for line, track in (("melody", "Tune"), ("harmony", "Chords"), ("bass", "Low")))


# ---------------------------------------------------------------- counting

def voice_motion(slices, voices):
    """Semitones that some voices move from slice to slice; None is a break."""
    pairs = [(a, b) for a, b in zip(slices, slices[1:]) if a and b]
    return sum(abs(b[v] - a[v]) for a, b in pairs for v in voices
               if a[v] is not None and b[v] is not None)


def parallels(slices):
    """Consecutive (fifths, octaves) between any two voices."""
    fifths = octaves = 0
    for a, b in zip(slices, slices[1:]):
        if not a or not b:
            continue
        for v, w in itertools.combinations(range(len(a)), 2):
            if None in (a[v], a[w], b[v], b[w]):
                continue
            if (b[v] - a[v]) * (b[w] - a[w]) <= 0:
                continue
            was, now = abs(a[v] - a[w]) % 12, abs(b[v] - b[w]) % 12
            fifths += was == now == 7
            octaves += was == now == 0
    return fifths, octaves


def least_motion(a, b):
    """The least motion between two lists of pitch classes of one size, by trying every pairing."""
    way = lambda x, y: abs((y - x + 6) % 12 - 6)
    return min(sum(way(x, y) for x, y in zip(a, p)) for p in itertools.permutations(b))


def missing(slices, given):
    """Tones of the given slices that nobody sounds."""
    out = 0
    for mine, score in zip(slices, given):
        if score:
            out += len({p % 12 for p in score} - {p % 12 for p in mine if p is not None})
    return out


def crossings(slices):
    """Voices under the next lower one."""
    return sum(s[v] < s[v + 1] for s in slices if s for v in range(len(s) - 1)
               if s[v] is not None and s[v + 1] is not None)


def self_test():
    assert voice_motion([(72, 67, 60, 48), (71, 67, 62, 43)], (1, 2)) == 2
    assert voice_motion([(72, 67, 60, 48), None, (71, 60, 62, 43)], (1, 2)) == 0
    assert parallels([(72, 67, 60, 48), (74, 69, 60, 50)]) == (1, 1)  # S-B octaves, A-B fifths
    assert parallels([(72, 67, 60, 48), (72, 67, 60, 48)]) == (0, 0)
    assert parallels([(72, 60), (60, 72)]) == (0, 0)  # contrary
    assert parallels([(67, 60), (72, 65)]) == (1, 0)
    assert parallels([(66, 60), (71, 65)]) == (0, 0)  # no perfect fifth
    assert least_motion((11, 2, 5), (0, 4, 0)) == 4
    assert missing([(72, 64, None, 48)], [(72, 64, 67, 48)]) == 1
    assert crossings([(72, 60, 64, 48), (72, 64, 60, 48)]) == 1


# ---------------------------------------------------------------- music in

def sounding(part, shift):
    """[(start, end, pitch)] in quarters, as fractions of the score."""
    from music21 import chord

    out = []
    for n in part.stripTies().flatten().notes:
        pitch = n.pitches[-1] if isinstance(n, chord.Chord) else n.pitch
        if n.quarterLength:
            out.append((n.offset + shift, n.offset + shift + n.quarterLength, pitch.midi))
    return out


def pickup(part):
    first = part.getElementsByClass("Measure").first()
    full, here = first.barDuration.quarterLength, first.duration.quarterLength
    return full - here if here < full else 0


def slices_of(score):
    """One slice a quarter: the pitches of soprano, alto, tenor and bass, or None."""
    shift = pickup(score.parts[0])
    rows = [sounding(p, shift) for p in score.parts]
    end = int(max(r[-1][1] for r in rows))
    at = lambda row, t: next((p for a, b, p in row if a <= t < b), None)
    out = []
    for t in range(end):
        now = tuple(at(row, t) for row in rows)
        out.append(None if None in now else now)
    return out


def chorales(count):
    out = []
    for name, score in outside.bach(range(352, 439)):
        if len(out) == count:
            break
        if len(score.parts) != 4:
            continue
        meter = score.recurse().getElementsByClass("TimeSignature").first()
        key = score.recurse().getElementsByClass("KeySignature").first()
        out.append((name, slices_of(score), meter.numerator, meter.denominator,
                    key.sharps if key else 0))
    return out


# ---------------------------------------------------------------- MIDI out

KEYS = ["Cb", "Gb", "Db", "Ab", "Eb", "Bb", "F", "C", "G", "D", "A", "E", "B", "F#", "C#"]


def write_sketch(path, slices, top, bottom, sharps):
    beats = [(i * BEAT, s) for i, s in enumerate(slices) if s]
    line = lambda v: [(at, BEAT, s[v], VELOCITY) for at, s in beats]
    chords = [(at, BEAT, 60 + c, VELOCITY) for at, s in beats for c in sorted({p % 12 for p in s})]
    # The arranger's own passages come last: outer parts, fixed.
    tracks = [("Tune", line(0)), ("Chords", chords), ("Low", line(3)),
              (PARTS[0], line(0)), (PARTS[3], line(3))]
    write_midi(path, tracks, (top, bottom), 750_000, KEYS[sharps + 7])


# ---------------------------------------------------------------- running

def voice(program, folder, piece, style):
    name, slices, top, bottom, sharps = piece
    sketch, out = folder / f"{name}.mid", folder / f"{name}.out.mid"
    answer = folder / f"{name}.json"
    answer.unlink(missing_ok=True)
    write_sketch(sketch, slices, top, bottom, sharps)
    more = ["--style", style] if style else []
    done = subprocess.run(
        [program, "voice", sketch, "--band", folder / "four.toml", "--tags", folder / "tags.toml",
         "--out", out, "--json", answer, "--force", *more],
        capture_output=True, text=True, timeout=TIMEOUT)
    if done.returncode != 0:
        raise SystemExit(f"{name}: status {done.returncode}: {done.stderr.strip()[-400:]}")
    return json.loads(answer.read_text())


def sounded(answer, slices):
    """The slices as the score and as the draft's four parts sound them, without those in which the
    scoring plan gave an inner part another role than harmony; and how many these are."""
    rows = {p["name"]: p["notes"] for p in answer["draft"]["parts"]}
    at = lambda name, t: next((n for n in rows[name]
                               if n["onset"] <= t < n["onset"] + n["duration"]), None)
    theirs, mine, left = [], [], 0
    for i, score in enumerate(slices):
        notes = [at(p, i * BEAT) for p in PARTS]
        own = all(n is None or n["role"] == "harmony" and not n["locked"]
                  for n in (notes[v] for v in INNER))
        left += score is not None and not own
        theirs.append(score if own else None)
        mine.append(tuple(n and n["pitch"] for n in notes) if score and own else None)
    return theirs, mine, left


def least_of_piece(mine):
    """The least motion that the pitch classes of the program's inner parts allow."""
    pairs = [(a, b) for a, b in zip(mine, mine[1:]) if a and b]
    return sum(least_motion([a[v] % 12 for v in INNER], [b[v] % 12 for v in INNER])
               for a, b in pairs if None not in a and None not in b)


def main():
    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    ask.add_argument("--program", type=pathlib.Path,
                     default=ROOT / "target" / "release" / "bandwright")
    ask.add_argument("--work", type=pathlib.Path, default=ROOT / "target" / "ci" / "chorales")
    ask.add_argument("--count", type=int, default=50)
    ask.add_argument("--style", default=None)
    ask.add_argument("--self-test", action="store_true", help="only the script's own counting")
    args = ask.parse_args()
    self_test()
    if args.self_test:
        return 0
    args.work.mkdir(parents=True, exist_ok=True)
    (args.work / "four.toml").write_text(BAND)
    (args.work / "tags.toml").write_text(TAGS)
    pieces = chorales(args.count)
    with concurrent.futures.ThreadPoolExecutor(os.cpu_count() or 1) as pool:
        one = lambda piece: voice(args.program.resolve(), args.work, piece, args.style)
        answers = list(pool.map(one, pieces))

    head = ("piece", "slices", "motion", "ours", "ratio", "5ths", "ours", "8ves", "ours",
            "missing", "rests", "crossed", "ours", "least")
    print("Inner parts: motion in semitones, parallels of all four parts; the composer's, ours")
    print("".join(f"{h:>8}" for h in head))
    total, faults, left_out = [0] * 12, [], 0
    for (name, slices, *_), answer in zip(pieces, answers):
        slices, mine, left = sounded(answer, slices)
        left_out += left
        outer = [(s[0], s[3]) for s in slices if s] == [(s[0], s[3]) for s in mine if s]
        if not outer:
            faults.append(f"{name}: soprano or bass is not as given")
        theirs, ours = voice_motion(slices, INNER), voice_motion(mine, INNER)
        least = least_of_piece(mine)
        if ours < least:
            faults.append(f"{name}: motion {ours} is under the least of its pitch classes {least}")
        (f, o), (mf, mo) = parallels(slices), parallels(mine)
        rests = sum(s[v] is None for s in mine if s for v in INNER)
        row = [sum(s is not None for s in slices), theirs, ours, f, mf, o, mo,
               missing(mine, slices), rests, crossings(slices), crossings(mine), least]
        total = [a + b for a, b in zip(total, row)]
        print_row(name, row)
    print_row("all", total)
    _, theirs, ours, f, mf, o, mo, gone, rests, *_ = total
    if ours > MOST_MOTION * theirs:
        faults.append(f"motion {ours} is over {MOST_MOTION} times the composer's {theirs}")
    if mf + mo > f + o:
        faults.append(f"{mf + mo} parallels, the composer has {f + o}")
    if left_out > MOST_LEFT * (total[0] + left_out):
        faults.append(f"{left_out} slices are left out")
    if rests:
        faults.append(f"an inner part rests in {rests} slices")
    for fault in faults:
        print(f"FAILED chorales: {fault}")
    print(f"{len(pieces)} chorales: motion {ours / max(1, theirs):.3f} of the composer's, parallels "
          f"{mf + mo} to {f + o}, {gone} tones missing, "
          f"{left_out} slices left out", flush=True)
    return 1 if faults else 0


def print_row(name, row):
    cells = [name, row[0], row[1], row[2], f"{row[2] / max(1, row[1]):.2f}", *row[3:]]
    print("".join(f"{c:>8}" for c in cells), flush=True)


if __name__ == "__main__":
    sys.exit(main())

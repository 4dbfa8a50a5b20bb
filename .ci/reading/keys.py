"""Keys against the corpora's own, on files without key signature.

- Folk tunes of music21 10.5.1 (ryansMammoth, oneills1850, airdsAirs; a seeded sample), by their
  `K:` fields: major and minor ones; modal ones by tonic.
- Chorales of the same package by their signature, with the mode that the last bass note tells.

The key of a piece is the one that holds longest. Right: share of pieces with the right key.
Weighted: 1 for the right key, 0.5 for a fifth off, 0.3 for the relative, 0.2 for the parallel key
(the MIREX evaluation of audio key detection). Baseline: Krumhansl & Schmuckler's correlation with
the profiles of Krumhansl & Kessler 1982 over the whole piece.
"""

import random
import re
import sys
from pathlib import Path

from common import Row, folder, read, tick, write_midi
from music21 import converter, corpus

KK = {
    "major": [6.35, 2.23, 3.48, 2.33, 4.38, 4.09, 2.52, 5.19, 2.39, 3.66, 2.29, 2.88],
    "minor": [6.33, 2.68, 3.52, 5.38, 2.60, 3.53, 2.54, 4.75, 3.98, 2.69, 3.34, 3.17],
}
STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
FIELD = re.compile(r"^K:\s*([A-G])([#b]?)\s*([A-Za-z]*)", re.M)


def field_key(text):
    """Tonic and mode of a tune's first `K:` field; None where it has none that is plain."""
    found = FIELD.search(text)
    if not found:
        return None
    tonic = (STEPS[found[1]] + {"#": 1, "b": -1, "": 0}[found[2]]) % 12
    mode = found[3].lower()[:3]
    mode = {"": "major", "maj": "major", "ion": "major", "m": "minor", "min": "minor"}.get(mode, mode)
    return tonic, {"aeo": "minor"}.get(mode, mode)


def tunes(seed, count):
    """(name, notes, meter, key) of so many folk tunes."""
    rng = random.Random(seed)
    texts = []
    for name in ("ryansMammoth", "oneills1850", "airdsAirs"):
        for path in sorted((Path(corpus.__file__).parent / name).glob("*.abc")):
            text = path.read_text(encoding="utf-8", errors="replace")
            texts += ["X:" + t for t in re.split(r"^X:", text, flags=re.M)[1:]]
    rng.shuffle(texts)
    done = 0
    for text in texts:
        key = field_key(text)
        if done == count:
            break
        if key is None or key[1] not in ("major", "minor", "dor", "mix"):
            continue
        try:
            score = converter.parse(text, format="abc")
            notes = [
                (tick(n.getOffsetInHierarchy(score)), tick(n.quarterLength), n.pitch.midi, 80)
                for n in score.recurse().notes
                if not n.isChord and n.quarterLength
            ]
            meter = score.recurse().getElementsByClass("TimeSignature").first()
        except Exception:  # not every tune of the collections can be read
            continue
        if len(notes) >= 16 and meter is not None:
            done += 1
            yield f"tune-{done}", notes, (meter.numerator, meter.denominator), key


def chorales(count):
    """(name, notes, meter, key) of so many chorales whose last bass note is a tonic of the
    signature."""
    done = 0
    for number in range(352, 439):
        if done == count:
            break
        score = corpus.parse(f"bach/bwv{number}.mxl")
        signature = score.recurse().getElementsByClass("KeySignature").first()
        if signature is None:
            continue
        notes = [
            (tick(n.getOffsetInHierarchy(score)), tick(n.quarterLength), n.pitch.midi, 80)
            for n in score.stripTies().recurse().notes
            if not n.isChord and n.quarterLength
        ]
        end = max(on + length for on, length, *_ in notes)
        last = min(p for on, length, p, _ in notes if on + length == end) % 12
        tonic = 7 * signature.sharps % 12
        key = {tonic: (tonic, "major"), (tonic + 9) % 12: ((tonic + 9) % 12, "minor")}.get(last)
        if key:
            done += 1
            meter = score.recurse().getElementsByClass("TimeSignature").first()
            yield f"bwv{number}", sorted(notes), (meter.numerator, meter.denominator), key


def correlation(a, b):
    ma, mb = sum(a) / 12, sum(b) / 12
    top = sum((x - ma) * (y - mb) for x, y in zip(a, b))
    below = (sum((x - ma) ** 2 for x in a) * sum((y - mb) ** 2 for y in b)) ** 0.5
    return top / below if below else 0.0


def krumhansl(notes):
    bag = [0] * 12
    for _, length, pitch, _ in notes:
        bag[pitch % 12] += length
    keys = [(t, m) for m in KK for t in range(12)]
    return max(keys, key=lambda k: correlation(bag, KK[k[1]][-k[0] :] + KK[k[1]][: -k[0]]))


def whole_key(answer, end):
    """The key that holds longest."""
    sums = {}
    keys = answer["keys"]
    for key, after in zip(keys, [k["tick"] for k in keys[1:]] + [end]):
        tonic = (7 * key["fifths"] - (3 if key["mode"] == "minor" else 0)) % 12
        name = (tonic, key["mode"])
        sums[name] = sums.get(name, 0) + max(0, after - key["tick"])
    return max(sums, key=sums.get)


def mirex(found, true):
    if found == true:
        return 1.0
    (t, m), (u, n) = found, true
    if m == n and (t - u) % 12 in (5, 7):
        return 0.5
    if m != n and (t - u) % 12 == (3 if m == "major" else 9):
        return 0.3
    return 0.2 if t == u else 0.0


def judge(program, place, pieces):
    """Lists of (true key, ours, Krumhansl's)."""
    found = []
    for name, notes, meter, key in pieces:
        path = place / f"{name}.mid"
        write_midi(path, [("tune", notes)], meter)
        end = max(on + length for on, length, *_ in notes)
        found.append((key, whole_key(read(program, path), end), krumhansl(notes), name))
    return found


# Floors, just under what was measured.
FLOORS = {
    "folk tunes in major": (0.943, 0.959),
    "folk tunes in minor": (0.928, 0.943),
    "40 chorales, no signature": (0.97, 0.983),
}


def table(found, on):
    def mean(value):
        return sum(value(f) for f in found) / max(1, len(found))

    base = "Krumhansl & Schmuckler"
    low, low_weighted = FLOORS[on]
    yield Row("key", on, mean(lambda f: f[1] == f[0]), low, base, mean(lambda f: f[2] == f[0]))
    ours, theirs = mean(lambda f: mirex(f[1], f[0])), mean(lambda f: mirex(f[2], f[0]))
    yield Row("key, weighted", on, ours, low_weighted, base, theirs)


def rows(program, work):
    place = folder(work, "keys")
    folk = judge(program, place, tunes(seed=3, count=300))
    plain = [f for f in folk if f[0][1] in ("major", "minor")]
    modal = [f for f in folk if f[0][1] not in ("major", "minor")]
    out = list(table([f for f in plain if f[0][1] == "major"], "folk tunes in major"))
    out += table([f for f in plain if f[0][1] == "minor"], "folk tunes in minor")
    ours = sum(f[1][0] == f[0][0] for f in modal) / max(1, len(modal))
    theirs = sum(f[2][0] == f[0][0] for f in modal) / max(1, len(modal))
    out.append(Row("tonic", f"{len(modal)} modal folk tunes", ours, 0.695, "Krumhansl & Schmuckler", theirs))
    out += table(judge(program, place, chorales(40)), "40 chorales, no signature")
    return out


if __name__ == "__main__":
    import tempfile

    with tempfile.TemporaryDirectory() as where:
        for line in rows(sys.argv[1], where):
            print(f"{line.measure:28} {line.pieces:30} {line.ours:.4f} {line.theirs or 0:.4f}")

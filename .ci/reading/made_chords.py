"""Made progressions of every kind of chord, so that the chords are known.

A piece: a key, a meter and a tune of music21's folk collections are drawn. Idioms (below, common
practice) follow one another, each chord two or four beats long, until sixteen bars are full. The
folk tune lends rhythm and contour: on beats four of five notes move to the nearest tone of the
chord, the others, and most between beats, to the nearest tone of the chord or the key. Below it the chords are played in one of
five textures: block, broken (eighths, or sixteenths where not all tones would sound), stride, pushed
(each chord an eighth early), held."""

import random
from pathlib import Path

from common import tick

KINDS = {
    "single": (0,),
    "fifth": (0, 7),
    "seventh_no_third": (0, 7, 10),
    "diminished_fifth": (0, 6),
    "major": (0, 4, 7),
    "minor": (0, 3, 7),
    "diminished": (0, 3, 6),
    "augmented": (0, 4, 8),
    "sus2": (0, 2, 7),
    "sus4": (0, 5, 7),
    "sixth": (0, 4, 7, 9),
    "minor6": (0, 3, 7, 9),
    "dominant7": (0, 4, 7, 10),
    "major7": (0, 4, 7, 11),
    "minor7": (0, 3, 7, 10),
    "half_diminished7": (0, 3, 6, 10),
    "diminished7": (0, 3, 6, 9),
    "minor_major7": (0, 3, 7, 11),
    "augmented7": (0, 4, 8, 10),
    "augmented_major7": (0, 4, 8, 11),
    "dominant7sus4": (0, 5, 7, 10),
    "dominant7flat5": (0, 4, 6, 10),
    "add9": (0, 2, 4, 7),
    "minor_add9": (0, 2, 3, 7),
    "dominant9": (0, 2, 4, 7, 10),
    "major9": (0, 2, 4, 7, 11),
    "minor9": (0, 2, 3, 7, 10),
    "dominant7flat9": (0, 1, 4, 7, 10),
    "dominant7sharp9": (0, 3, 4, 7, 10),
    "dominant7sharp11": (0, 4, 6, 7, 10),
    "altered": (0, 3, 4, 8, 10),
    "altered_flat9": (0, 1, 4, 8, 10),
    "major7sharp11": (0, 4, 6, 7, 11),
    "six_ninth": (0, 2, 4, 7, 9),
    "minor_six_ninth": (0, 2, 3, 7, 9),
    "dominant11": (0, 2, 5, 7, 10),
    "minor11": (0, 2, 3, 5, 7, 10),
    "dominant13": (0, 2, 4, 7, 9, 10),
}

# Idioms: (semitones above the tonic, kind, semitones of the bass above the root) a chord.
MAJOR = [
    [(0, "major", 0), (5, "major", 0), (7, "major", 0), (0, "major", 0)],
    [(0, "major", 0), (7, "major", 4), (9, "minor", 0), (5, "major", 0)],
    [(0, "major", 0), (9, "minor", 0), (2, "minor", 0), (7, "dominant7", 0)],
    [(2, "minor7", 0), (7, "dominant7", 0), (0, "major7", 0), (0, "sixth", 0)],
    [(2, "minor9", 0), (7, "dominant13", 0), (0, "major9", 0), (0, "six_ninth", 0)],
    [(4, "minor7", 0), (9, "dominant7flat9", 0), (2, "minor7", 0), (7, "dominant9", 0)],
    [(0, "major", 0), (4, "augmented_major7", 0), (9, "minor", 0), (2, "dominant7", 0)],
    [(0, "add9", 0), (7, "sus4", 0), (7, "major", 0), (9, "minor7", 0)],
    [(5, "major7", 0), (5, "minor6", 0), (0, "major", 7), (9, "dominant7", 0)],
    [(2, "minor7", 0), (7, "dominant7sus4", 0), (7, "dominant7", 0), (0, "add9", 0)],
    [(0, "major", 0), (0, "augmented", 0), (5, "major", 0), (5, "minor", 0)],
    [(0, "major", 0), (1, "diminished7", 0), (2, "minor7", 0), (7, "dominant7", 0)],
    [(7, "dominant7", 4), (0, "major", 0), (2, "dominant7", 6), (7, "major", 0)],
    [(0, "major", 4), (5, "major", 0), (2, "minor", 3), (7, "dominant7", 0)],
    [(11, "half_diminished7", 0), (0, "major", 0), (11, "diminished", 3), (0, "major", 4)],
    [(8, "dominant7", 0), (0, "major", 7), (7, "dominant7", 0), (0, "major", 0)],
    [(1, "major", 4), (7, "dominant7", 0), (0, "major", 0), (5, "major", 0)],
    [(0, "sus2", 0), (0, "major", 0), (5, "sus2", 0), (5, "major", 0)],
    [(0, "fifth", 0), (10, "fifth", 0), (5, "fifth", 0), (0, "fifth", 0)],
    [(10, "major", 0), (5, "major", 0), (0, "major", 0), (0, "major", 0)],
    [(2, "minor11", 0), (7, "dominant11", 0), (0, "major7sharp11", 0), (0, "major9", 0)],
    [(9, "dominant7sharp9", 0), (2, "minor9", 0), (7, "augmented7", 0), (0, "major9", 0)],
    [(2, "minor7", 0), (1, "dominant7sharp11", 0), (0, "major7", 0), (9, "altered", 0)],
    [(2, "dominant7flat5", 0), (7, "dominant7", 0), (0, "major", 0), (0, "dominant7", 0)],
    [(4, "altered_flat9", 0), (9, "minor7", 0), (2, "dominant9", 0), (7, "dominant7sus4", 0)],
    [(0, "major", 2), (5, "major", 7), (7, "dominant7", 10), (0, "major", 4)],
]
MINOR = [
    [(0, "minor", 0), (5, "minor", 0), (7, "major", 0), (0, "minor", 0)],
    [(0, "minor", 0), (10, "major", 0), (8, "major", 0), (7, "dominant7", 0)],
    [(2, "half_diminished7", 0), (7, "dominant7flat9", 0), (0, "minor6", 0), (0, "minor_major7", 0)],
    [(0, "minor", 0), (11, "diminished7", 0), (0, "minor", 3), (5, "minor", 0)],
    [(0, "minor9", 0), (5, "dominant9", 0), (0, "minor7", 0), (0, "minor_six_ninth", 0)],
    [(0, "minor_add9", 0), (8, "major7", 0), (3, "major", 0), (10, "sus4", 0)],
    [(2, "half_diminished7", 0), (7, "altered", 0), (0, "minor_major7", 0), (0, "minor6", 0)],
    [(8, "dominant7", 0), (7, "dominant7", 0), (0, "minor", 0), (0, "minor", 0)],
    [(8, "dominant7flat5", 0), (7, "major", 0), (0, "minor", 0), (1, "major", 4)],
    [(0, "minor", 0), (0, "minor_major7", 0), (0, "minor7", 0), (0, "minor6", 0)],
    [(5, "minor9", 0), (10, "dominant13", 0), (3, "major9", 0), (8, "major7sharp11", 0)],
    [(2, "diminished", 3), (7, "dominant7", 0), (0, "minor", 0), (7, "dominant7sharp9", 0)],
    [(0, "minor", 7), (7, "augmented7", 0), (0, "minor11", 0), (5, "dominant11", 0)],
    [(0, "minor7", 10), (5, "minor7", 0), (7, "altered_flat9", 0), (0, "minor_add9", 0)],
]
TEXTURES = ("block", "broken", "stride", "pushed", "held")
SCALES = {"major": (0, 2, 4, 5, 7, 9, 11), "minor": (0, 2, 3, 5, 7, 8, 10)}


def voiced(root, kind, bass):
    """A bass note (C2 to B2) and the other tones close together from about E3 up; the root is
    left out above if the bass has it and the chord is full."""
    low = 36 + bass % 12
    tones = [(root + a) % 12 for a in KINDS[kind]]
    upper = [t for t in tones if t != bass % 12] if len(tones) > 3 else tones
    high = sorted(52 + (t - 52) % 12 for t in upper)
    return low, high


def texture(name, chords, meter=(4, 4)):
    """Notes of an accompaniment for (start, end, root, kind, bass class) in ticks."""
    beat = tick(1)
    bar = tick(4 * meter[0] / meter[1])
    notes = []
    for number, (start, end, root, kind, bass) in enumerate(chords):
        low, high = voiced(root, kind, bass)
        if name == "held":
            notes += [(start, end - start, p, 70) for p in [low, *high]]
        elif name == "pushed":
            early = beat // 2 if number else 0
            late = beat // 2 if number + 1 < len(chords) else 0
            notes += [(start - early, end - late - start + early, p, 70) for p in [low, *high]]
        elif name == "block":
            for at in range(start, end, 2 * beat):
                long = min(2 * beat, end - at)
                notes += [(at, long, p, 70) for p in [low, *high]]
        elif name == "broken":
            order = [low, *high, *high[-2:0:-1]]
            step = beat // 2 if (end - start) // (beat // 2) > len(high) else beat // 4
            for i, at in enumerate(range(start, end, step)):
                notes.append((at, min(step, end - at), order[i % len(order)], 70))
        else:
            for i, at in enumerate(range(start, end, beat)):
                long = min(beat, end - at)
                on_beat = at % bar % (2 * beat) == 0 if meter[0] % 3 else at % bar == 0
                if on_beat or i == 0:
                    notes.append((at, long, low, 70))
                else:
                    notes += [(at, long, p, 70) for p in high]
    return notes


def sounded(name, chords):
    """The chords with the times at which they are played."""
    if name != "pushed":
        return chords
    half = tick(1) // 2
    starts = [c[0] - (half if number else 0) for number, c in enumerate(chords)]
    ends = starts[1:] + [chords[-1][1]]
    return [(s, e, *c[2:]) for s, e, c in zip(starts, ends, chords)]


def tunes():
    """Rhythms and contours of folk tunes: lists of (onset, length, pitch) in quarters."""
    from music21 import converter, corpus

    found = []
    for name in ("airdsAirs/book1.abc", "airdsAirs/book2.abc"):
        path = Path(corpus.__file__).parent / name
        text = path.read_text(encoding="utf-8", errors="replace")
        for piece in text.split("\n\n")[:60]:
            if "\nM:C" not in piece and "\nM:4/4" not in piece and "\nM: 4/4" not in piece:
                continue
            try:
                score = converter.parse(piece, format="abc")
            except Exception:
                continue
            notes = [
                (float(n.getOffsetInHierarchy(score)), float(n.quarterLength), n.pitch.midi)
                for n in score.recurse().notes
                if not n.isChord and n.quarterLength >= 0.25
            ]
            if len(notes) > 40:
                found.append(notes)
    return found


def nearest(pitch, classes):
    return min(range(pitch - 6, pitch + 7), key=lambda p: (p % 12 not in classes, abs(p - pitch)))


def progression(rng, tonic, mode, bars=16):
    idioms = MAJOR if mode == "major" else MINOR
    chords, at = [], 0
    while at < tick(4 * bars):
        length = tick(rng.choice((2, 2, 4)))
        for degree, kind, bass in rng.choice(idioms):
            root = (tonic + degree) % 12
            chords.append((at, at + length, root, kind, (root + bass) % 12))
            at += length
    return chords


def joined(chords):
    """Equal neighbours as one, which is how they are heard."""
    out = []
    for chord in chords:
        if out and out[-1][2:] == chord[2:]:
            out[-1] = (out[-1][0], *chord[1:])
        else:
            out.append(chord)
    return out


def tune_over(rng, chords, shape, tonic, mode):
    scale = {(tonic + s) % 12 for s in SCALES[mode]}
    middle = sorted(n[2] for n in shape)[len(shape) // 2]
    shift = 76 - middle
    notes, last = [], None
    start = int(shape[0][0] // 4) * 4
    for onset, length, pitch in shape:
        at = tick(onset - start)
        chord = next((c for c in chords if c[0] <= at < c[1]), None)
        if chord is None:
            break
        tones = {(chord[2] + a) % 12 for a in KINDS[chord[3]]}
        on_beat = at % tick(1) == 0
        classes = tones if rng.random() < (0.8 if on_beat else 0.3) else tones | scale
        new = nearest(pitch + shift, classes)
        if not (on_beat or last is None or abs(new - last) <= 2):
            new = nearest(pitch + shift, tones)
        notes.append((at, min(tick(length), chord[1] - at), new, 90))
        last = new
    return notes


def pieces(seed, count):
    """(name, tracks, truth, meter) of so many pieces."""
    rng = random.Random(seed)
    shapes = tunes()
    for number in range(count):
        tonic, mode = rng.randrange(12), rng.choice(("major", "major", "minor"))
        chords = joined(progression(rng, tonic, mode))
        name = TEXTURES[number % len(TEXTURES)]
        tune = tune_over(rng, chords, rng.choice(shapes), tonic, mode)
        below = texture(name, chords)
        truth = [c[:4] for c in sounded(name, chords)]
        yield f"made-{seed}-{number}-{name}", [("piano", sorted(tune + below))], truth, (4, 4)
